"""What cannot be: things in walls, in one another or out of the room, faults told all at once."""

from __future__ import annotations

import numpy as np
import shapely

from falloff.document import Building, Door, reading_of
from falloff.errors import Fault
from falloff.stage.air import TOUCH_M, Air, air_of
from falloff.stage.overlaps import leaf_points, prop_around, standing_inside
from falloff.stage.places import Placer
from falloff.stage.records import Piece, Probe
from falloff.stage.suspicions import suspicious
from falloff.types import Float64Array
from falloff.units import format_length

__all__ = [
    "impossible",
    "misplaced",
    "oversize",
    "prop_around",
    "standing_inside",
    "suspicious",
    "unreadable",
]

_COVERED_M = 0.006  # a reading that has something this close before it is read under it
_TOUCHING_M2 = 5e-4  # within a centimetre of each other over more than 5 cm
_CLEAR_M = {"subjects": 0.15, "cameras": 0.02, "fixtures": 0.0, "practicals": 0.0}


def impossible(placer: Placer, pieces: list[Piece], probes: tuple[Probe, ...]) -> list[Fault]:
    """Every fault of a scene as it stands: places, sizes, bodies, readings and what is outside."""
    faults = misplaced(placer) + oversize(placer, pieces)
    told = {(fault.line, fault.column) for fault in faults}
    faults += [f for f in standing_inside(placer, pieces) if (f.line, f.column) not in told]
    return faults + unreadable(placer, probes) + _touching(placer) + _buildings(placer)


def misplaced(placer: Placer) -> list[Fault]:
    """Faults of all people, cameras and lights in walls, in props or outside the rooms."""
    air = air_of(placer)
    faults: list[Fault] = []
    for kind, clear in _CLEAR_M.items():
        for name, thing in getattr(placer.document, kind).items():
            if getattr(thing, "outside", False):
                faults += _not_outside(air, name)
                continue
            point = placer.origin(name)
            spot = shapely.Point(point[0], point[1])
            gap = air.plan.boundary.distance(spot)
            if not air.plan.contains(spot):
                faults.append(_outside(placer, kind, name, point))
            elif gap < clear:
                faults.append(
                    placer.fault_at(
                        (kind, name, "at"),
                        what=f"{name} stands too near a wall",
                        expected=f"a place {_said(placer, clear)} clear of every wall",
                        found=_said(placer, gap) + " clear",
                        fix=f"move {name} into the room",
                    )
                )
            elif kind == "cameras" and not air.holds(point[None])[0]:
                faults.append(_too_high(air, kind, name, point[None]))
            prop = prop_around(placer, point_of_body(placer, kind, name))
            if prop is not None:
                faults.append(
                    placer.fault_at(
                        (kind, name, "at"),
                        what=f"{name} is inside {prop}",
                        fix=f"move {name} or {prop}",
                    )
                )
    return faults


def oversize(placer: Placer, pieces: list[Piece]) -> list[Fault]:
    """Faults of all things that stick out of the rooms, and of leaves that open into walls."""
    air = air_of(placer)
    faults: list[Fault] = []
    for piece in pieces[1:]:  # the first is the rooms themselves
        kind = placer.kind_of(piece.name)
        thing = getattr(placer.document, kind)[piece.name]
        if getattr(thing, "outside", False):
            continue
        told = not air.plan.buffer(TOUCH_M).contains(shapely.Point(placer.origin(piece.name)[:2]))
        if told and kind in _CLEAR_M:
            continue
        corners = piece.corners.reshape(-1, 3).astype(np.float64)
        points = np.vstack([corners, piece.element_points.reshape(-1, 3).astype(np.float64)])
        out = points[~air.holds(points)]
        if not len(out):
            continue
        over_floor = air.in_plan(out)
        if not over_floor.all():
            faults.append(_through_wall(air, kind, piece.name, out[~over_floor]))
        if over_floor.any():
            faults.append(_too_high(air, kind, piece.name, corners, out[over_floor]))
    return faults + _leaves(air)


def unreadable(placer: Placer, probes: tuple[Probe, ...]) -> list[Fault]:
    """Faults of all readings outside the rooms or inside a prop."""
    air = air_of(placer)
    faults: dict[str, Fault] = {}
    for probe in probes:
        path = ("readings", reading_of(placer.document, probe.name) or probe.name, "at")
        if not air.holds(probe.point[None])[0]:
            faults[probe.name] = placer.fault_at(
                path,
                what=f"{probe.name} is read outside the room",
                expected="a place inside the room",
                found=_place(placer, probe.point),
                fix="a window is read from inside, with a spot or a receptor that faces it",
            )
            continue
        prop = prop_around(placer, probe.point)
        if prop is not None and probe.instrument != "spot":
            faults[probe.name] = placer.fault_at(
                path,
                what=f"{probe.name} is read inside {prop}",
                fix=f"read it on the surface, at: {{on: {prop}}}, or beside it",
            )
            continue
        over = prop_around(placer, probe.point + _COVERED_M * probe.normal)
        if over is not None and probe.instrument != "spot":
            faults[probe.name] = placer.fault_at(
                path,
                what=f"{probe.name} is read where {over} stands on it",
                fix=f"read it beside {over}",
            )
    return list(faults.values())


def point_of_body(placer: Placer, kind: str, name: str) -> Float64Array:
    """A point that no prop may hold: a person's face, a camera's eye, a light's front."""
    return placer.subject(name).points["face"] if kind == "subjects" else placer.origin(name)


# Rooms -----------------------------------------------------------------------------------


def _outside(placer: Placer, kind: str, name: str, point: Float64Array) -> Fault:
    thing = getattr(placer.document, kind)[name]
    start = getattr(thing.at, "from_name", None)
    move = f"move {name} into the room, or widen the room's floor"
    if start is not None:
        move = f"it is placed from {start}: move {start}, or bring {name} nearer to it"
    if kind == "fixtures":
        move += "; if it is meant to shine in through a window, add outside: true"
    return placer.fault_at(
        (kind, name, "at"),
        what=f"{name} stands outside the room",
        expected="a place inside the floor's outline",
        found=_place(placer, point),
        fix=move,
    )


def _not_outside(air: Air, name: str) -> list[Fault]:
    """Faults of a light that is said to stand outside."""
    placer = air.placer
    point = placer.origin(name)
    outside = placer.document.outside
    ground = -0.3 if outside is None else outside.ground_level.si
    path = ("fixtures", name, "at")
    if air.encloses(point):
        return [
            placer.fault_at(
                path,
                what=f"{name} is said to stand outside, but it stands in a room",
                expected="a place outside every room",
                found=_place(placer, point),
                fix=f"move {name} out, or take outside: true away",
            )
        ]
    if point[2] < ground:
        return [
            placer.fault_at(
                path,
                what=f"{name} is below the ground outside",
                expected=f"at least {_said(placer, ground)} up",
                found=_said(placer, float(point[2])),
                fix=f"lift {name}, or write a lower ground_level",
            )
        ]
    return []


def _through_wall(air: Air, kind: str, name: str, out: Float64Array) -> Fault:
    floors = shapely.union_all(list(air.floors.values()))
    some = out[:: len(out) // 50 + 1]
    gap = float(shapely.distance(floors, shapely.points(some[:, :2])).max())
    return air.placer.fault_at(
        (kind, name, "at"),
        what=f"{name} goes through a wall",
        expected="all of it inside the floor's outline",
        found=f"{_said(air.placer, gap)} of it outside",
        fix="move it or make it smaller",
    )


def _too_high(
    air: Air, kind: str, name: str, points: Float64Array, out: Float64Array | None = None
) -> Fault:
    """A fault of points above a ceiling or under the floor; out: those of them that are."""
    placer = air.placer
    out = points if out is None else out
    over = out[:, 2] - air.ceiling_m(out)
    worst = out[[int(np.argmax(over))]]
    height = float(air.ceiling_m(worst)[0])
    low, high = float(points[:, 2].min()), float(points[:, 2].max())
    if over.max() > 0.0:
        high = float(worst[0, 2])
    return placer.fault_at(
        (kind, name, "at"),
        what=f"{name} does not fit between floor and ceiling",
        expected=f"all of it between {_said(placer, 0.0)} and {_said(placer, height)}"
        + (" there" if any(placer.room(room).slope for room in air.floors) else ""),
        found=f"from {_said(placer, low)} to {_said(placer, high)}",
        fix="move it, make it smaller, or raise the ceiling",
    )


def _leaves(air: Air) -> list[Fault]:
    """Doors that cannot open as far as they are said to."""
    faults = []
    for name, opening in air.placer.document.openings.items():
        if not isinstance(opening, Door) or opening.open.si <= 0.0 or opening.to is None:
            continue
        if opening.to == "outside" and opening.swings == "out":
            continue
        if not air.holds(leaf_points(air.placer, name)).all():
            faults.append(
                air.placer.fault_at(
                    ("openings", name, "open"),
                    what=f"{name} cannot open so far: its leaf meets a wall or the ceiling",
                    found=opening.open.text,
                    fix="open it less, or let it swing the other way or on its other side",
                )
            )
    return faults


def _touching(placer: Placer) -> list[Fault]:
    """Faults of rooms with no wall between them: both their walls would lie in one place."""
    faults = []
    floors = list(air_of(placer).floors.items())
    for k, (name, floor) in enumerate(floors[1:], 1):
        for other, beside in floors[:k]:
            if floor.intersection(beside.buffer(TOUCH_M)).area > _TOUCHING_M2:
                faults.append(
                    placer.fault_at(
                        ("rooms", str(name), "floor"),
                        what=f"{name} touches {other or 'the room'}: no wall is left between them",
                        expected=f"at least {_said(placer, TOUCH_M)}, usually 10 to 20 cm",
                        fix="give floors on the inside of the walls, the wall's thickness apart",
                    )
                )
    return faults


def _buildings(placer: Placer) -> list[Fault]:
    """Faults of buildings outside that cut into a room."""
    outside = placer.document.outside
    if outside is None:
        return []
    faults = []
    air = air_of(placer)
    for name, building in outside.buildings.items():
        top = outside.ground_level.si + building.size[2].si
        for room, floor in air.floors.items():
            if top > 0.0 and _footprint(building).intersection(floor).area > 1e-6:
                faults.append(
                    placer.fault_at(
                        ("outside", "buildings", name, "at"),
                        what=f"{name} cuts into {room or 'the room'}",
                        expected="a place outside every room",
                        fix=f"move {name} away, or make it smaller",
                    )
                )
    return faults


def _footprint(building: Building) -> shapely.Polygon:
    half = np.array([0.5 * building.size[0].si, 0.5 * building.size[1].si])
    corners = half * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    cos, sin = np.cos(building.turn.si), np.sin(building.turn.si)
    middle = np.array([building.at[0].si, building.at[1].si])
    return shapely.Polygon(middle + corners @ np.array([[cos, sin], [-sin, cos]]))


def _said(placer: Placer, length_m: float) -> str:
    return format_length(length_m, units=placer.document.units)


def _place(placer: Placer, point: Float64Array) -> str:
    return "[" + ", ".join(_said(placer, float(part)) for part in point) + "]"
