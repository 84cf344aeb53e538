"""Things that stand inside one another: people, cameras, lights, grip and props."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.document import Door
from falloff.errors import Fault
from falloff.kit import Figure, find_figure
from falloff.stage.doors import doorway_of, leaf_hole
from falloff.stage.inside import distance_m, points_inside
from falloff.stage.joinery import UP
from falloff.stage.places import Placer
from falloff.stage.records import Piece
from falloff.stage.shapes import holds, shape_in, to_own_frame
from falloff.types import Float64Array
from falloff.units import format_length

CLEAR_OF_LENS_M: Final = 0.10  # common practice, no source: a camera's body round its lens
_POINTS = 320  # of a thing's surface that are looked at
_HOLDERS: Final = ("props", "subjects", "fixtures", "grip")
# Of a thing that stands in another: how far under its skin it is looked at (m), and the share of
# it that may be held. Clothes, cushions and hands give way, so people may sink in a little; props
# are often put together of pieces let into one another.
_MAY_HOLD: Final = {
    ("subjects", "props"): (0.03, 0.20),
    ("subjects", "subjects"): (0.03, 0.02),
    ("subjects", "fixtures"): (0.02, 0.05),
    ("subjects", "grip"): (0.02, 0.05),
    ("fixtures", "props"): (0.01, 0.10),
    ("fixtures", "subjects"): (0.01, 0.02),
    ("fixtures", "fixtures"): (0.01, 0.10),
    ("grip", "props"): (0.0, 0.10),
    ("grip", "subjects"): (0.0, 0.02),
    ("grip", "fixtures"): (0.0, 0.10),
    ("practicals", "props"): (0.0, 0.60),
    ("practicals", "subjects"): (0.0, 0.60),
    ("props", "props"): (0.01, 0.25),
    ("props", "subjects"): (0.01, 0.50),
    ("props", "fixtures"): (0.01, 0.50),
}
# Brushes in a pot and stems in a vase stand in what the scene has as a solid.
_SLENDER_M = 0.1
_MOST_OF_SLENDER = 0.9


@dataclass(frozen=True, slots=True)
class _Thing:
    """A piece with the box around it and some of its surface's points and normals."""

    name: str
    kind: str
    low: Float64Array
    high: Float64Array
    corners: Float64Array
    points: Float64Array
    normals: Float64Array


def standing_inside(placer: Placer, pieces: list[Piece]) -> list[Fault]:
    """Faults of things that stand in others, beyond what cloth, cushions and joints allow.

    pieces: all of the scene, the room first. Points of faces, eyes and fronts are looked at by
    `prop_around`; this tells of bodies.
    """
    things = [_thing(placer, piece) for piece in pieces[1:]]
    faults: list[Fault] = []
    told: set[frozenset[str]] = set()
    for thing in things:
        for holder in things:
            pair = frozenset((thing.name, holder.name))
            allowed = _MAY_HOLD.get((thing.kind, holder.kind))
            if thing is holder or allowed is None or pair in told:
                continue
            most = _MOST_OF_SLENDER if _slender(thing) else allowed[1]
            if _held_share(thing, holder, allowed[0]) > most or _pierced(placer, thing, holder):
                told.add(pair)
                faults.append(_fault(placer, thing.kind, thing.name, holder.name))
    faults += _cameras(placer, things)
    return faults + _leaves(placer, things)


def prop_around(placer: Placer, point: Float64Array) -> str | None:
    """The prop that holds a point well inside its stuff, if any."""
    for name, prop in placer.document.props.items():
        own = to_own_frame(point, origin=placer.origin(name), turn_rad=prop.turn.si)
        if holds(shape_in(placer.document, name), own):
            return name
    return None


def _thing(placer: Placer, piece: Piece) -> _Thing:
    corners = piece.corners.astype(np.float64)
    flat = corners.reshape(-1, 3)
    points = piece.element_points.reshape(-1, 3).astype(np.float64)
    normals = piece.element_normals.reshape(-1, 3).astype(np.float64)
    weight = np.repeat(piece.element_area_m2.astype(np.float64), piece.element_points.shape[1])
    share = np.cumsum(weight) / weight.sum()
    picked = np.searchsorted(share, (np.arange(_POINTS) + 0.5) / _POINTS)
    return _Thing(
        piece.name,
        placer.kind_of(piece.name),
        flat.min(0),
        flat.max(0),
        corners,
        points[picked],
        normals[picked],
    )


def _held_share(thing: _Thing, holder: _Thing, under_m: float) -> float:
    """Share of a thing's surface, moved under its skin, that lies inside another."""
    if (thing.low > holder.high).any() or (thing.high < holder.low).any():
        return 0.0
    depth = min(under_m, 0.25 * float((thing.high - thing.low).min()))
    points = thing.points - depth * thing.normals
    near = ((points > holder.low) & (points < holder.high)).all(1)
    if not near.any():
        return 0.0
    return float(points_inside(points[near], holder.corners).sum()) / len(points)


def _pierced(placer: Placer, thing: _Thing, holder: _Thing) -> bool:
    """Whether a prop goes through a person's trunk or head, however thin it is."""
    if thing.kind != "subjects" or holder.kind != "props":
        return False
    points = spine(placer, thing.name)
    near = points[((points > holder.low) & (points < holder.high)).all(1)]
    return len(near) > 0 and bool(points_inside(near, holder.corners).any())


def spine(placer: Placer, name: str) -> Float64Array:
    """Points (n, 3) down the middle of a person from the head to the hips."""
    places = placer.subject(name)
    figure = find_figure(placer.document.subjects[name].figure)
    hips = placer.origin(name) + _hips_m(figure) * UP
    head = places.points["face"] - 0.09 * places.normals["face"]
    chest = places.points["chest"] - 0.10 * places.facing
    share = np.linspace(0.0, 1.0, 16)[:, None]
    return np.vstack([head + share * (chest - head), chest + share * (hips - chest)])


def _hips_m(figure: Figure) -> float:
    """Height of the middle of a figure's hips (m)."""
    if figure.seat_height_m > 0.0:
        return figure.seat_height_m + 0.12
    return 0.53 * figure.stature_m  # from memory: leg length over stature of adults


def _cameras(placer: Placer, things: list[_Thing]) -> list[Fault]:
    """Cameras inside people, lights and grip, and those that people or open furniture crowd."""
    faults = []
    for name in placer.document.cameras:
        eye = placer.origin(name)
        for thing in things:
            near = (
                (eye > thing.low - CLEAR_OF_LENS_M) & (eye < thing.high + CLEAR_OF_LENS_M)
            ).all()
            if thing.kind not in _HOLDERS or not near:
                continue
            held = _boxed(thing, eye) and bool(points_inside(eye[None], thing.corners)[0])
            if held:
                faults.append(_fault(placer, "cameras", name, thing.name))
            elif thing.kind == "subjects" or _hulled(placer, thing, eye):
                faults += _crowded(placer, name, thing, eye)
    return faults


def _hulled(placer: Placer, thing: _Thing, eye: Float64Array) -> bool:
    """Whether a point is in the box that goes round a prop, such as between its boards."""
    if thing.kind != "props":
        return False
    turn = placer.document.props[thing.name].turn.si
    own = to_own_frame(eye, origin=placer.origin(thing.name), turn_rad=turn)
    width, depth, height = shape_in(placer.document, thing.name).size_m
    return bool(abs(own[0]) < 0.5 * width and abs(own[1]) < 0.5 * depth and 0.0 < own[2] < height)


def _crowded(placer: Placer, name: str, thing: _Thing, eye: Float64Array) -> list[Fault]:
    gap = distance_m(eye, thing.corners)
    if gap >= CLEAR_OF_LENS_M:
        return []

    def said(length_m: float) -> str:
        return format_length(length_m, units=placer.document.units)

    return [
        placer.fault_at(
            ("cameras", name, "at"),
            what=f"{name} stands in {thing.name}: a camera has no room there",
            expected=f"{said(CLEAR_OF_LENS_M)} clear of it all round the lens",
            found=f"{said(gap)} clear",
            fix=f"move {name} or {thing.name}",
        )
    ]


def _leaves(placer: Placer, things: list[_Thing]) -> list[Fault]:
    """Doors whose open leaf would have to go through something."""
    faults = []
    for name, opening in placer.document.openings.items():
        if not isinstance(opening, Door) or opening.open.si <= 0.0 or opening.to is None:
            continue
        points = leaf_points(placer, name)
        for thing in things:
            if thing.kind == "practicals":
                continue
            near = points[((points > thing.low) & (points < thing.high)).all(1)]
            if len(near) and points_inside(near, thing.corners).sum() > 0.01 * len(points):
                faults.append(
                    placer.fault_at(
                        ("openings", name, "open"),
                        what=f"the leaf of {name}, open as it is, cuts into {thing.name}",
                        fix=f"open {name} less, or move {thing.name}",
                    )
                )
    return faults


def leaf_points(placer: Placer, name: str) -> Float64Array:
    """Points (n, 3) all over the middle of a door's leaf, its hinges' side left out."""
    leaf = leaf_hole(doorway_of(placer, name))
    along, up = np.meshgrid(
        np.linspace(0.05, 1.0, 20) * leaf.width_m, np.linspace(0.01, 0.99, 20) * leaf.height_m
    )
    spots = zip(along.ravel(), up.ravel(), strict=True)
    return np.array([leaf.at(a, 0.5 * leaf.depth_m, u) for a, u in spots])


def _slender(thing: _Thing) -> bool:
    """Whether a prop is a rod: narrow both ways across."""
    return thing.kind == "props" and float(np.sort(thing.high - thing.low)[1]) < _SLENDER_M


def _boxed(thing: _Thing, point: Float64Array) -> bool:
    return bool(((point > thing.low) & (point < thing.high)).all())


def _fault(placer: Placer, kind: str, name: str, holder: str) -> Fault:
    return placer.fault_at(
        (kind, name, "at"),
        what=f"{name} is inside {holder}",
        fix=f"move {name} or {holder}",
    )
