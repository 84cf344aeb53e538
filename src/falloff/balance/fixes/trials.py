"""Trials: what a change makes of the light at the readings, without a trace from nothing.

What is only stronger or weaker is scaled. A body that stands elsewhere, or a front that is another,
has its own light traced anew over the old rows. A flat thing that is put up is two triangles that
give nothing back, beside all that stands; what it gives back after all is added by its form factor.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from falloff.balance.fixes.start import Start
from falloff.balance.problem import Problem
from falloff.document import Edit, SceneDocument
from falloff.errors import FalloffError
from falloff.rays import PartedScene
from falloff.sources import SKY, Source
from falloff.stage import Probe, Standing, stand
from falloff.stage.air import air_of
from falloff.stage.fronts import frame_of
from falloff.stage.guard import misplaced, oversize, prop_around, standing_inside
from falloff.stage.places import Placer
from falloff.transport import (
    Solution,
    held_solution,
    revise,
    settle_dragged,
    trace_probes,
)
from falloff.types import Float32Array, Float64Array

_HALF_M: Final = 0.003  # of a board's thickness
_PALE: Final = 0.5
_PARTS: Final = 3  # along each side of a board, that its light is told by
_NEAR_M: Final = 0.02
_BAR_ROUND_M: Final = 0.1  # round the bar of a frame


@dataclass(frozen=True, slots=True)
class Board:
    """A flat thing in place: its middle, the way its face looks, its sides (m)."""

    middle: Float64Array
    axis: Float64Array
    size_m: tuple[float, float]

    @property
    def edges(self) -> tuple[Float64Array, Float64Array, Float64Array]:
        """A corner and both edges, level first, as the stage hangs it."""
        level, rise = frame_of(self.axis)
        u, v = self.size_m[0] * level, self.size_m[1] * rise
        return np.asarray(self.middle - 0.5 * (u + v)), u, v

    @property
    def area_m2(self) -> float:
        """Of both its sides."""
        return 2.0 * self.size_m[0] * self.size_m[1]

    def hides(self, source: Float64Array, place: Float64Array) -> bool:
        """Whether the straight line from one point to another passes through it."""
        way = place - source
        across = float(way @ self.axis)
        if abs(across) < 1e-9:
            return False
        corner, u, v = self.edges
        at = float((corner - source) @ self.axis) / across
        spot = source + at * way - corner
        inside = 0.0 <= spot @ u <= u @ u and 0.0 <= spot @ v <= v @ v
        return bool(0.0 < at < 1.0 and inside)

    def corners(self) -> Float64Array:
        """Its four corners (4, 3)."""
        corner, u, v = self.edges
        return np.array([corner, corner + u, corner + u + v, corner + v])


# Stronger or weaker ----------------------------------------------------------------------


def scaled(start: Start, factors: Mapping[str, float | Float64Array]) -> Problem:
    """Sources with so many times their light, at all probes or at each (p,)."""
    light = start.direct + start.bounced
    for name, factor in factors.items():
        s = start.index(name)
        light[s] *= np.asarray(factor, np.float64).reshape(-1, 1)
    return start.with_light(light)


# Elsewhere, or another front -------------------------------------------------------------


def standing_after(start: Start, edits: Sequence[Edit], name: str) -> Standing | None:
    """Things as they stand after edits of one thing, by its name; None where it cannot stand so."""
    document = after(start, edits)
    if document is None:
        return None
    try:
        standing = stand(document, before=start.standing)
        return standing if _stands(standing, name) else None
    except FalloffError:
        return None


def _stands(standing: Standing, name: str) -> bool:
    """Whether one thing is clear of walls and of what is near it; all else stood before."""
    placer, bodies = Placer(standing.document), standing.stage.bodies
    mine = bodies[name]
    room, *others = standing.pieces
    near = [
        piece
        for piece in others
        if piece.name == name
        or (
            (bodies[piece.name].low <= mine.high).all()
            and (bodies[piece.name].high >= mine.low).all()
        )
    ]
    alone = [piece for piece in near if piece.name == name]
    faults = [*oversize(placer, [room, *alone]), *standing_inside(placer, [room, *near])]
    kind = placer.kind_of(name)
    if getattr(getattr(standing.document, kind)[name], "outside", False):
        faults += misplaced(placer)
    elif kind != "grip":
        spot = placer.origin(name)
        if prop_around(placer, spot) is not None:
            return False
        if not air_of(placer).encloses(spot):
            return False
    return not faults


def after(start: Start, edits: Sequence[Edit]) -> SceneDocument | None:
    """The scene after edits, as it stands in these setups; None where it has faults."""
    case = start.case
    try:
        return case.standing_in(case.edited(edits), case.setups[0])
    except FalloffError:
        return None


def light_elsewhere(start: Start, standing: Standing, name: str) -> Float64Array | None:
    """A fixture's own light (p, 3) where `standing` has it, in its colour; the others' is kept."""
    stage, s = standing.stage, start.index(name)
    if [one.name for one in stage.sources] != list(start.source_names):
        return None
    grasp = start.hold(name)
    if not grasp.fits(stage, name):
        return None
    aside = settle_dragged(held_solution(start.coarse, stage, grasp), s)
    return _own_light(aside, start.solution.stage.probes, s, stage.sources[s])


def light_of_front(start: Start, source: Source) -> Float64Array:
    """The light (p, 3) of another front in a source's place; the body that stands there stays."""
    s = start.index(source.name)
    old = start.solution.stage
    sources = tuple(source if k == s else one for k, one in enumerate(old.sources))
    aside = settle_dragged(replace(start.coarse, stage=replace(old, sources=sources)), s)
    return _own_light(aside, old.probes, s, source)


def _own_light(
    solution: Solution, probes: tuple[Probe, ...], s: int, source: Source
) -> Float64Array:
    direct, bounced = trace_probes(solution, probes, only=(s,)).mean()
    return np.asarray((direct[s] + bounced[s]) * np.asarray(source.colour, np.float64))


def with_row(start: Start, name: str, light: Float64Array) -> Problem:
    """The problem with other light (p, 3) of one source."""
    whole = start.direct + start.bounced
    whole[start.index(name)] = light
    return start.with_light(whole)


# Something put up ------------------------------------------------------------------------


def with_board(solution: Solution, board: Board) -> Solution:
    """The light with a board put up that gives nothing back; its bounce is not settled anew."""
    surfaces = solution.stage.surfaces
    corners = _two_sided(board)
    count, more = len(surfaces.corners), len(corners)
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    larger = replace(
        surfaces,
        corners=np.concatenate([surfaces.corners, corners]),
        corner_normals=np.concatenate([surfaces.corner_normals, normals[:, None].repeat(3, 1)]),
        triangle_face=np.concatenate(
            [surfaces.triangle_face, np.zeros(more, surfaces.triangle_face.dtype)]
        ),
        # The element past the last: it has no light.
        triangle_element=np.concatenate(
            [
                surfaces.triangle_element,
                np.full(more, surfaces.element_count, surfaces.triangle_element.dtype),
            ]
        ),
    )
    scene = PartedScene(
        solution.scene, larger.corners, span=(count, count + more), sheets=surfaces.sheets
    )
    return replace(solution, stage=replace(solution.stage, surfaces=larger), scene=scene)


def _two_sided(board: Board) -> Float32Array:
    a, b, c, d = board.corners()
    face = np.array([[a, b, c], [a, c, d]])
    back = face[:, ::-1]
    step = _HALF_M * board.axis
    return np.concatenate([face + step, back - step]).astype(np.float32)


def cut(start: Start, board: Board) -> Float64Array:
    """Every source's light (s, p, 3) with a black board in one's way, its bounce settled anew."""
    aside = _settled_beside(start, with_board(start.coarse, board))
    direct, bounced = trace_probes(aside, start.solution.stage.probes).mean()
    kept = kept_of_bounce(start, board.area_m2)
    return np.asarray((direct + kept * bounced) * start.colours[:, None, :])


def netted(start: Start, board: Board, gone: Float64Array, loss_stops: float) -> Float64Array:
    """Every source's light with a net there; gone: as `cut` has it with a solid in its place."""
    through = 2.0**-loss_stops
    bars_m2 = 2.0 * sum(board.size_m) * _BAR_ROUND_M
    whole = start.direct + kept_of_bounce(start, bars_m2) * start.bounced
    return np.asarray(through * whole + (1.0 - through) * gone)


def _settled_beside(start: Start, solution: Solution) -> Solution:
    """The same with its shadows on all surfaces, source by source, over the old rows."""
    for s in range(len(start.source_names)):
        solution = settle_dragged(solution, s)
    return solution


def board_up(start: Start, board: Board, reflectance: float) -> Problem:
    """Every source's light with a board beside somebody, that gives back so much of its own."""
    # What a black one takes is missed by the surfaces too; a white one gives most of it back.
    solution = with_board(start.coarse, board)
    if reflectance < _PALE:
        solution = _settled_beside(start, solution)
    probes = start.solution.stage.probes
    places, areas = _face_parts(board)
    spots = tuple(
        Probe(f"board {k}", "flat", place + 2.0 * _HALF_M * board.axis, board.axis)
        for k, place in enumerate(places)
    )
    direct, bounced = trace_probes(solution, (*probes, *spots)).mean()
    kept = kept_of_bounce(start, board.area_m2 * (1.0 - reflectance))
    light = (direct + kept * bounced) * start.colours[:, None, :]
    seen, falling = light[:, : len(probes)], light[:, len(probes) :]
    if reflectance > 0.0:
        seen = seen + given_back(solution, probes, board, (places, areas), reflectance * falling)
    return start.with_light(seen)


def kept_of_bounce(start: Start, takes_m2: float) -> float:
    """The share of the bounced light that is left where so many square metres more take it all.

    As in a room that is lit evenly by its bounce, where its level goes with one over all that takes
    light away, the sum of area times one less reflectance: M. F. Modest, "Radiative Heat Transfer",
    on the enclosure of one zone.
    """
    surfaces = start.solution.stage.surfaces
    area = surfaces.element_area_m2.astype(np.float64)
    albedo = surfaces.albedo[surfaces.face_material[surfaces.element_face]].mean(1)
    openings = sum(float(one.shape[12]) for one in start.solution.stage.sources if one.kind == SKY)
    taken = float((area * (1.0 - albedo)).sum()) + openings
    return float(taken / (taken + takes_m2))


def _face_parts(board: Board) -> tuple[Float64Array, Float64Array]:
    """Middles (n, 3) and areas (n,) of the parts of a board's face."""
    corner, u, v = board.edges
    at = (np.arange(_PARTS) + 0.5) / _PARTS
    middles = corner + at[:, None, None] * u + at[None, :, None] * v
    area = board.size_m[0] * board.size_m[1] / _PARTS**2
    return middles.reshape(-1, 3), np.full(_PARTS**2, area)


def given_back(
    solution: Solution,
    probes: tuple[Probe, ...],
    board: Board,
    parts: tuple[Float64Array, Float64Array],
    radiosity: Float64Array,
) -> Float64Array:
    """Light (s, p, 3) that a board's radiosity (s, n, 3) brings to receptors, straight.

    Each part as a small Lambert source; for spots, none is added.
    """
    places, areas = parts
    found = np.zeros((radiosity.shape[0], len(probes), 3))
    lifted = (places + 2.0 * _HALF_M * board.axis).astype(np.float32)
    for p, probe in enumerate(probes):
        if probe.instrument == "spot":
            continue
        away = lifted - probe.point
        far = np.linalg.norm(away, axis=1)
        way = away / np.maximum(far, _NEAR_M)[:, None]
        cosine = way @ probe.normal
        falls = 0.5 * (1.0 + cosine) if probe.instrument == "dome" else np.maximum(0.0, cosine)
        leaves = np.maximum(0.0, -(way @ board.axis))
        factor = falls * leaves * areas / (math.pi * np.maximum(far, _NEAR_M) ** 2)
        if factor.max() <= 0.0:
            continue
        origins = np.tile(probe.point.astype(np.float32), (len(places), 1))
        free = solution.scene.reaches(
            origins, way.astype(np.float32), (far - 1e-3).astype(np.float32)
        )
        found[:, p] = np.einsum("n,snc->sc", factor * (free < 0), radiosity)
    return found


# Another surface -------------------------------------------------------------------------


def surfaces_hung(start: Start, names: Sequence[str], reflectance: float) -> Problem | None:
    """Every source's light with whole surfaces, by their names, of another grey."""
    stage = start.solution.stage
    old = stage.surfaces
    faces = np.isin(old.face_name, [k for k, name in enumerate(old.names) if name in names])
    if not faces.any():
        return None
    material = old.face_material.copy()
    material[faces] = len(old.albedo)
    grey = np.full((1, 3), reflectance, np.float32)
    surfaces = replace(
        old,
        face_material=material,
        albedo=np.concatenate([old.albedo, grey]),
        through=np.concatenate([old.through, np.zeros_like(grey)]),
        landing=np.concatenate([old.landing, np.ones(1, np.float32)]),
        coats=np.concatenate([old.coats, np.array([[0.0, 1.0]], np.float32)]),
    )
    solution = revise(start.solution, replace(stage, surfaces=surfaces))
    direct, bounced = trace_probes(solution, stage.probes).mean()
    return start.with_light((direct + bounced) * start.colours[:, None, :])
