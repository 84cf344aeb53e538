"""Any hour's daylight over one trace: the sky re-mixed from kept rays, the sun traced anew."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from falloff.sources import SKY, SUN, Source
from falloff.stage import Stage, View
from falloff.transport.bounce import element_light, settle
from falloff.transport.direct import Gloss, Receivers, direct_light
from falloff.transport.kept import (
    Keeping,
    KeptSky,
    evened,
    luminance_outside,
    shaded_outside,
    telling,
    unseen,
)
from falloff.transport.kernels_emission import seen_outside
from falloff.transport.sampling import morton_order
from falloff.transport.sights import camera_ways, empty_sights, look, read_sights, seen_coats
from falloff.transport.trace import Solution, find_hot
from falloff.transport.views import ViewTrace
from falloff.types import (
    BoolArray,
    Float32Array,
    Float64Array,
    Int32Array,
    IntArray,
    Uint16Array,
    Uint32Array,
)

NO_CELL: Final = 65_535  # the number of no cell


@dataclass(frozen=True, slots=True)
class HourLight:
    """Daylight at one moment: its sources by their index in a stage, and what cells shine with.

    luminance: by opening, of every cell outside as it is seen through it.
    """

    sources: Mapping[int, Source]
    luminance: Mapping[int, Float32Array]


@dataclass(frozen=True, slots=True)
class KeptElements:
    """Each opening's rays from the elements of a solution, by source."""

    skies: Mapping[int, KeptSky]


@dataclass(frozen=True, slots=True)
class KeptView:
    """A view's rays with each opening's rays from what they see, by source.

    outward: (k,) the camera rays that look outside; cells: (k,) at what; ways: (k, 3) unit.
    """

    trace: ViewTrace
    skies: Mapping[int, KeptSky]
    outward: IntArray
    cells: Uint16Array
    ways: Float32Array


def hour_light(
    stage: Stage, sources: tuple[Source, ...], cells: IntArray | None = None
) -> HourLight:
    """Daylight of these sources, which stand in a stage under the same names.

    Through every opening the same outside is seen, weakened by its panes. cells: of the sky, those
    that are looked at, all where None.
    """
    names = [one.name for one in stage.sources]
    by_index = {names.index(one.name): one for one in sources}
    for s, one in enumerate(stage.sources):
        if one.kind == SUN and s not in by_index:  # that hour's sky does not show it
            by_index[s] = replace(unseen(one), flux_lm=0.0)
    luminance: dict[int, Float32Array] = {}
    first: Source | None = None
    for s, one in by_index.items():
        if one.kind != SKY:
            continue
        if first is None or first.shape[14] <= 0.0:
            luminance[s], first, bright = luminance_outside(one, cells), one, s
        else:
            luminance[s] = luminance[bright] * np.float32(one.shape[14] / first.shape[14])
    return HourLight(by_index, luminance)


def hour_in_shade(
    hour: HourLight, stage: Stage, sources: tuple[Source, ...], behind: BoolArray
) -> HourLight:
    """The openings of an hour while the sun's disc is hidden.

    sources: so shining, by name; behind: the cells that the skyline hides, by `behind_skyline`.
    """
    names = [one.name for one in stage.sources]
    luminance = {}
    for source in sources:
        s = names.index(source.name)
        luminance[s] = shaded_outside(hour.luminance[s], source, behind)
    return HourLight({names.index(one.name): one for one in sources}, luminance)


def keep_elements(solution: Solution) -> KeptElements:
    """Shoot the rays of every opening from the elements once more, and keep them."""
    stage, budget = solution.stage, solution.budget
    exposed = solution.rows.exposed
    kept = {}
    for s in openings_in(stage):
        keeping = Keeping(exposed.size, exposed.shape[1])
        element_light(
            stage.surfaces,
            solution.scene,
            evened(stage.sources[s]),
            exposed,
            budget,
            keep=keeping,
        )
        kept[s] = keeping.done(np.ones(len(exposed), np.bool_))
    return KeptElements(kept)


def elements_at(solution: Solution, kept: KeptElements, hour: HourLight) -> dict[int, Float32Array]:
    """Direct light (e,) on the elements, lux, of each of an hour's sources."""
    return {
        s: kept.skies[s].light(hour.luminance[s])
        if source.kind == SKY
        else sun_on_elements(solution, source)
        for s, source in hour.sources.items()
    }


def sun_on_elements(solution: Solution, source: Source) -> Float32Array:
    """Direct sun (e,) on the elements, lux; nought while it does not shine."""
    surfaces = solution.stage.surfaces
    if source.flux_lm <= 0.0:
        return np.zeros(surfaces.element_count, np.float32)
    return element_light(surfaces, solution.scene, source, solution.rows.exposed, solution.budget)


def solution_at(solution: Solution, kept: KeptElements, hour: HourLight) -> Solution:
    """The solution with its daylight as it is at an hour."""
    rows = [hour.sources.get(s, one) for s, one in enumerate(solution.stage.sources)]
    stage = replace(solution.stage, sources=tuple(rows))
    direct, bounced = solution.direct.copy(), solution.bounced.copy()
    radiosity, hot = solution.radiosity.copy(), list(solution.hot)
    lit = elements_at(solution, kept, hour)
    for s, light in lit.items():
        direct[s] = light
    which = sorted(lit)
    bounced[which], radiosity[which] = settle(
        stage.surfaces, solution.rows, direct[which], solution.budget
    )
    spots = find_hot(radiosity[which], stage.surfaces, solution.budget)
    for s, one in zip(which, spots, strict=True):
        hot[s] = one
    return replace(
        solution, stage=stage, direct=direct, bounced=bounced, radiosity=radiosity, hot=tuple(hot)
    )


def keep_view(solution: Solution, trace: ViewTrace) -> KeptView:
    """Shoot the rays of every opening from what a view sees once more, and keep them."""
    stage, budget = solution.stage, solution.budget
    rays = _rays_a_pixel(trace)
    receivers = trace.sights.receivers(len(stage.surfaces.albedo))
    kept = {}
    for s in openings_in(stage):
        keeping = Keeping(len(receivers.points))
        direct_light(
            solution.scene,
            evened(stage.sources[s]),
            receivers,
            per_point=budget.shadow_rays,
            seed=budget.seed + 6,
            group=rays,
            stride=rays,
            gloss=_gloss(stage, trace),
            keep=keeping,
        )
        kept[s] = keeping.done(receivers.alive)
    size = (trace.width, trace.height)
    _, cells, _ = _outside(solution, trace.view, size, trace.order, rays)
    outward = np.flatnonzero(cells != NO_CELL)
    ways = camera_ways(trace.view, size, trace.order, rays, solution.budget)[outward]
    return KeptView(trace, kept, outward, cells[outward], ways)


def view_at(kept: KeptView, solution: Solution, hour: HourLight) -> ViewTrace:
    """A view's rays lit by a solution of `solution_at`: openings re-mixed, the sun traced."""
    trace, stage, budget = kept.trace, solution.stage, solution.budget
    direct, sheen = trace.direct.copy(), trace.sheen.copy()
    luminance = trace.sights.luminance.copy()
    rays = _rays_a_pixel(trace)
    for s, source in hour.sources.items():
        if source.kind == SKY:
            outside = hour.luminance[s]
            direct[s] = kept.skies[s].light(outside)
            if sheen.size:
                sheen[s] = kept.skies[s].sheen(outside)
            mine = trace.sights.seen[kept.outward] == s
            shown = np.empty(int(mine.sum()), np.float32)
            seen_outside(
                source.shape, source.table, kept.ways[mine], kept.cells[mine], outside, shown
            )
            luminance[kept.outward[mine]] = shown
            continue
        gloss = _gloss(stage, trace)
        direct[s] = 0.0
        if source.flux_lm > 0.0:
            direct[s] = direct_light(
                solution.scene,
                source,
                trace.sights.receivers(len(stage.surfaces.albedo)),
                per_point=budget.shadow_rays,
                seed=budget.seed + 6,
                group=rays,
                stride=rays,
                gloss=gloss,
            )
        if sheen.size:
            sheen[s] = 0.0 if gloss is None else gloss.out
    return replace(
        trace, direct=direct, sheen=sheen, sights=replace(trace.sights, luminance=luminance)
    )


def _outside(
    solution: Solution, view: View, size: tuple[int, int], order: Uint32Array, rays: int
) -> tuple[Int32Array, Uint16Array, Float32Array]:
    stage = solution.stage
    twins = tuple(telling(one) if one.kind == SKY else unseen(one) for one in stage.sources)
    sights = empty_sights(len(order) * rays)
    look(
        replace(stage, sources=twins),
        solution.scene,
        view,
        size,
        order,
        replace(solution.budget, view_rays=rays),
        sights,
    )
    outside = np.isin(sights.seen, openings_in(stage))
    cells = np.where(outside, sights.luminance, NO_CELL).astype(np.uint16)
    return np.where(outside, sights.seen, -1), cells, sights.weight


def sights_outside(
    solution: Solution, view: View, size: tuple[int, int], rays: int
) -> tuple[Int32Array, Uint16Array, Float64Array]:
    """What camera rays see of the outside: the opening, the cell, and how much each ray counts.

    Arrays of (width · height · rays,), the rays of a pixel together; −1 and NO_CELL for none.
    """
    seen, cells, weights = _outside(solution, view, size, morton_order(*size), rays)
    return seen, cells, weights.astype(np.float64)


def sun_on_grid(solution: Solution, sun: Source, points: Float32Array) -> Float32Array:
    """Direct sun (n,) lux on level planes at points (n, 3), by one ray each."""
    up = np.zeros_like(points)
    up[:, 2] = 1.0
    receivers = Receivers(points, up, np.ones(len(points), np.bool_))
    return direct_light(solution.scene, sun, receivers, per_point=1, seed=solution.budget.seed + 41)


def sun_reaches(solution: Solution, sun: Source, point: Float64Array) -> bool:
    """Whether the middle of the sun's disc is seen from a point (3,) in the room."""
    stage = replace(solution.stage, sources=(sun,))
    sights = empty_sights(1)
    surfaces = replace(stage.surfaces, face_source=np.full_like(stage.surfaces.face_source, -1))
    origin, way = (part.astype(np.float32)[None] for part in (point, sun.shape[:3]))
    read_sights(
        replace(stage, surfaces=surfaces), solution.scene, 1, origin, way, np.arange(1), sights
    )
    return bool(sights.seen[0] == 0 and sights.luminance[0] > 0.0)


def openings_in(stage: Stage) -> list[int]:
    """Which of a stage's sources are openings to the outside."""
    return [s for s, one in enumerate(stage.sources) if one.kind == SKY]


def _rays_a_pixel(trace: ViewTrace) -> int:
    return len(trace.sights.points) // len(trace.order)


def _gloss(stage: Stage, trace: ViewTrace) -> Gloss | None:
    if trace.sheen.size == 0:
        return None
    out = np.zeros(len(trace.sights.points), np.float32)
    eye = trace.view.eye.astype(np.float32)
    return Gloss(eye, trace.sights.material, seen_coats(stage.surfaces), out)
