"""trace(stage, budget) -> Solution: light settled on every surface, one column per source."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from falloff.rays import PartedScene, RayScene, without_span
from falloff.sources import SKY, Source
from falloff.stage import PANE, Stage, Surfaces
from falloff.transport.bounce import (
    Rows,
    element_light,
    fold_rows,
    landing_of,
    settle,
    trace_rows,
)
from falloff.transport.budget import Budget
from falloff.transport.change import both_sheets, change_of
from falloff.types import BoolArray, Float32Array, Float64Array, Uint16Array

Progress = Callable[[str, float], None]


def silent(_stage: str, _share: float) -> None:
    """Progress that tells nobody."""


@dataclass(frozen=True, slots=True)
class HotSpots:
    """Elements of one source's light that are too bright to be found by chance.

    marks: (e + 2,); elements, share (running sum), chance: (h,); table: (e + 2, 8) middle, normal,
    area and chance by area of each element, the chance 0 where it is not hot.
    """

    marks: BoolArray
    elements: np.ndarray
    share: np.ndarray
    chance: np.ndarray
    table: Float32Array


@dataclass(frozen=True, slots=True)
class Solution:
    """What a trace leaves: all in lux at 100 % of each source, white.

    direct: (s, e) on elements; bounced: (s, 3, p) on patches; radiosity: (s, 3, e + 2) of
    elements, the last two zero, for rays that land on a fabric by chance divided by that chance;
    hot: one per source, None where nothing is too bright.
    """

    stage: Stage
    budget: Budget
    scene: RayScene
    rows: Rows
    direct: Float32Array
    bounced: Float32Array
    radiosity: Float32Array
    hot: tuple[HotSpots | None, ...]


def trace(stage: Stage, budget: Budget, *, progress: Progress = silent) -> Solution:
    """Trace direct light and bounce of every source of a stage."""
    surfaces = stage.surfaces
    scene = RayScene(surfaces.corners, surfaces.sheets)
    progress("bounce", 0.0)
    rows = trace_rows(surfaces, scene, budget)
    direct = np.zeros((len(stage.sources), surfaces.element_count), np.float32)
    for s, source in enumerate(stage.sources):
        progress("bounce", 0.3 + 0.5 * s / len(stage.sources))
        direct[s] = element_light(surfaces, scene, source, rows.exposed, budget)
    progress("bounce", 0.8)
    solution = _settled(stage, budget, scene, rows, direct)
    progress("bounce", 1.0)
    return solution


def retrace(before: Solution, stage: Stage, moved: str) -> Solution:
    """The solution after one body moved; only what it can touch is traced again.

    stage: the same scene with `moved` elsewhere. Equals a new trace.
    """
    surfaces, budget = stage.surfaces, before.budget
    change = change_of(
        before.stage.bodies[moved], stage.bodies[moved], both_sheets(before.stage, stage)
    )
    scene = RayScene(surfaces.corners, surfaces.sheets)
    rows = trace_rows(surfaces, scene, budget, before.rows, change)
    turned = change.own_elements(surfaces.element_count)
    turned |= (rows.exposed != before.rows.exposed).any(1)
    direct = np.empty_like(before.direct)
    for s, source in enumerate(stage.sources):
        if source.name == moved:
            direct[s] = element_light(surfaces, scene, source, rows.exposed, budget)
        else:
            direct[s] = element_light(
                surfaces, scene, source, rows.exposed, budget, before.direct[s], change, turned
            )
    return _settled(stage, budget, scene, rows, direct)


def revise(before: Solution, stage: Stage) -> Solution:
    """The solution of a stage that may be another only in reflectances and in what shines.

    Where the surfaces stand as before, their rays are kept; a source that stands as before and is
    only stronger or weaker is scaled, any other is traced. Surfaces that moved are a new trace.
    """
    if not _same_surfaces(before.stage, stage):
        return trace(stage, before.budget)
    known = {source.name: s for s, source in enumerate(before.stage.sources)}
    alike = np.array_equal(before.stage.surfaces.sheets, stage.surfaces.sheets)
    scene = RayScene(stage.surfaces.corners, stage.surfaces.sheets) if not alike else before.scene
    direct = np.zeros((len(stage.sources), stage.surfaces.element_count), np.float32)
    for s, source in enumerate(stage.sources):
        old = known.get(source.name)
        factor = None if old is None else light_factor(before.stage.sources[old], source)
        if not alike and source.kind != SKY:  # a sky holds its own panes
            factor = None
        if old is not None and factor is not None:
            direct[s] = factor * before.direct[old]
        else:
            direct[s] = element_light(
                stage.surfaces, scene, source, before.rows.exposed, before.budget
            )
    return _settled(stage, before.budget, scene, before.rows, direct)


def _same_surfaces(a: Stage, b: Stage) -> bool:
    """Whether two stages are cut from the same surfaces, whatever these are made of."""
    return all(
        getattr(a.surfaces, part) is getattr(b.surfaces, part)
        or np.array_equal(getattr(a.surfaces, part), getattr(b.surfaces, part))
        for part in ("corners", "triangle_face", "element_points", "cell_element")
    ) and np.array_equal(_without_panes(a), _without_panes(b))


def _without_panes(stage: Stage) -> Float64Array:
    """Sheets without what panes pass, on which no ray of the bounce depends."""
    sheets = stage.surfaces.sheets.copy()
    sheets[sheets[:, 13] == PANE, 12] = 0.0
    return sheets


# Where in Source.shape the light stands that a source gives.
_LIGHT_AT = {SKY: (13, 14)}
_MOSTLY_AT = (13,)


def light_factor(old: Source, new: Source) -> float | None:
    """How much stronger a source became, if that is all that changed."""
    if old.kind != new.kind or not np.array_equal(old.table, new.table):
        return None
    light = np.zeros(old.shape.size, np.bool_)
    light[list(_LIGHT_AT.get(old.kind, _MOSTLY_AT))] = True
    first = int(np.argmax(light))
    if old.shape[first] <= 0.0 or not np.array_equal(old.shape[~light], new.shape[~light]):
        return None
    factor = float(new.shape[first] / old.shape[first])
    same = np.allclose(new.shape[light], factor * old.shape[light], rtol=1e-9, atol=0.0)
    return factor if same else None


@dataclass(frozen=True, slots=True)
class Grasp:
    """A body that a hand has taken hold of: the triangles it holds, and all others made ready."""

    name: str
    span: tuple[int, int]
    still: RayScene
    corners: Float32Array

    def fits(self, stage: Stage, name: str) -> bool:
        """Whether it is hold of this body among things that stand as they do in a stage."""
        corners, (first, last) = stage.surfaces.corners, self.span
        return (
            name == self.name
            and corners.shape == self.corners.shape
            and np.array_equal(corners[:first], self.corners[:first])
            and np.array_equal(corners[last:], self.corners[last:])
        )


def take_hold(stage: Stage, name: str) -> Grasp:
    """Make ready all that stays where it is while a body is dragged about."""
    first, last = stage.bodies[name].faces
    faces = stage.surfaces.triangle_face
    mine = np.flatnonzero((faces >= first) & (faces < last))
    span = (int(mine[0]), int(mine[-1]) + 1) if mine.size else (0, 0)
    corners = stage.surfaces.corners
    return Grasp(name, span, without_span(corners, span), corners)


def held_solution(before: Solution, stage: Stage, grasp: Grasp) -> Solution:
    """For a first glance while a body is dragged: it stands elsewhere, no bounce is settled yet."""
    surfaces = stage.surfaces
    scene = PartedScene(grasp.still, surfaces.corners, span=grasp.span, sheets=surfaces.sheets)
    return replace(before, stage=stage, scene=scene)


def drag_solution(before: Solution, stage: Stage, s: int) -> Solution:
    """While fixture s is dragged: its own light anew over the old rows; other sources as before."""
    scene = RayScene(stage.surfaces.corners, stage.surfaces.sheets)
    return settle_dragged(replace(before, stage=stage, scene=scene), s)


def settle_dragged(aside: Solution, s: int) -> Solution:
    """The bounce of source s over the rows as they were, where it stands in `aside` now."""
    surfaces, budget = aside.stage.surfaces, aside.budget
    direct, radiosity = aside.direct.copy(), aside.radiosity.copy()
    bounced = aside.bounced.copy()
    source = aside.stage.sources[s]
    direct[s] = element_light(surfaces, aside.scene, source, aside.rows.exposed, budget)
    bounced[s], radiosity[s] = (
        part[0] for part in settle(surfaces, aside.rows, direct[s][None], budget)
    )
    hot = list(aside.hot)
    (hot[s],) = find_hot(radiosity[s][None], surfaces, budget)
    return replace(aside, direct=direct, bounced=bounced, radiosity=radiosity, hot=tuple(hot))


def restored_solution(
    stage: Stage,
    budget: Budget,
    *,
    row_ids: Uint16Array,
    exposed: BoolArray,
    direct: Float32Array,
    bounced: Float32Array,
    radiosity: Float32Array,
) -> Solution:
    """A solution from arrays that were kept."""
    hot = find_hot(radiosity, stage.surfaces, budget)
    scene = RayScene(stage.surfaces.corners, stage.surfaces.sheets)
    rows = fold_rows(stage.surfaces, row_ids, exposed)
    return Solution(stage, budget, scene, rows, direct, bounced, radiosity, hot)


def _settled(
    stage: Stage, budget: Budget, scene: RayScene, rows: Rows, direct: Float32Array
) -> Solution:
    bounced, radiosity = settle(stage.surfaces, rows, direct, budget)
    hot = find_hot(radiosity, stage.surfaces, budget)
    return Solution(stage, budget, scene, rows, direct, bounced, radiosity, hot)


def find_hot(
    radiosity: Float32Array, surfaces: Surfaces, budget: Budget
) -> tuple[HotSpots | None, ...]:
    """For each source (s, 3, e + 2) the elements far over the mean, if together they matter."""
    area = surfaces.element_area_m2
    lands = landing_of(surfaces)
    frames: Float32Array | None = None
    found: list[HotSpots | None] = []
    for level in radiosity[:, :, : area.size].mean(1) * lands:
        elements, power = _far_over_mean(level, area, budget)
        if elements.size == 0:
            found.append(None)
            continue
        marks = np.zeros(area.size + 2, np.bool_)
        marks[elements] = True
        chance = power[elements].astype(np.float64)
        chance /= chance.sum()
        frames = element_frames(surfaces) if frames is None else frames
        table = frames.copy()
        table[elements, 7] = chance / area[elements]
        found.append(HotSpots(marks, elements.astype(np.int32), np.cumsum(chance), chance, table))
    return tuple(found)


def _far_over_mean(
    level: Float32Array, area: Float32Array, budget: Budget
) -> tuple[np.ndarray, Float32Array]:
    """The hot elements of one source, none where they hardly count, and what each sends out."""
    power = level * area
    total = float(power.sum())
    if total <= 0.0:
        return np.empty(0, np.int64), power
    elements = np.flatnonzero(level > budget.hot_times_mean * total / float(area.sum()))
    if float(power[elements].sum()) < budget.hot_share * total:
        return np.empty(0, np.int64), power
    return elements, power


def element_frames(surfaces: Surfaces) -> Float32Array:
    """Middle, normal and area of each element (e + 2, 8), the last column and two rows zero."""
    table = np.zeros((surfaces.element_count + 2, 8), np.float32)
    table[:-2, :3] = surfaces.element_points[:, :4].mean(1)  # one from each quarter
    facing = surfaces.element_normals[:, :4].mean(1)
    table[:-2, 3:6] = facing / np.maximum(1e-9, np.linalg.norm(facing, axis=1, keepdims=True))
    table[:-2, 6] = surfaces.element_area_m2
    return table
