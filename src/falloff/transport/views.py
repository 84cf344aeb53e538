"""What a camera's rays see, and the light that comes off it: one gather over a solution."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from falloff.constants import LUMINANCE_WEIGHTS
from falloff.rays import RayScene
from falloff.stage import Stage, View
from falloff.transport.budget import Budget
from falloff.transport.change import Change, both_sheets, change_of
from falloff.transport.direct import Gloss, Renewal, direct_light
from falloff.transport.gather import gather_lists, hot_light, regather
from falloff.transport.kernels_bounce import (
    blend_rays,
    gather_views,
    gather_views_hot,
)
from falloff.transport.sampling import morton_order
from falloff.transport.sights import Sights, empty_sights, look, seen_albedo, seen_coats
from falloff.transport.tiles import over_tiles
from falloff.transport.trace import HotSpots, Progress, Solution, light_factor, silent
from falloff.types import BoolArray, Float32Array, Uint16Array, Uint32Array

_NO_DOME = False  # a pixel gathers as a flat receiver does


@dataclass(frozen=True, slots=True)
class ViewTrace:
    """A view's rays, kept: sights, gather lists (r, k) and direct light of each source (s, r).

    sheen: (s, r) luminance of coats by direct light (cd/m²), (s, 0) where nothing is glossy.
    """

    view: View
    width: int
    height: int
    order: Uint32Array
    sights: Sights
    ids: Uint16Array
    direct: Float32Array
    sheen: Float32Array


def trace_view(
    solution: Solution,
    view: View,
    *,
    width: int,
    height: int,
    part: Uint32Array | None = None,
    progress: Progress = silent,
) -> ViewTrace:
    """Shoot a view's rays, their gather rays and every source's shadow rays.

    part: the pixels wanted, from `morton_order`, all where None; pictures of others stay black.
    """
    stage, budget = solution.stage, solution.budget
    order = morton_order(width, height) if part is None else part
    sights = empty_sights(len(order) * budget.view_rays)
    look(stage, solution.scene, view, (width, height), order, budget, sights)
    progress("picture", 0.2)
    receivers = sights.receivers(len(stage.surfaces.albedo))
    ids = gather_lists(stage, solution.scene, receivers, budget.gather_rays, budget.seed + 5)
    progress("picture", 0.6)
    direct = np.empty((len(stage.sources), len(sights.points)), np.float32)
    sheen = _no_sheen(stage, len(sights.points))
    for s, source in enumerate(stage.sources):
        direct[s] = direct_light(
            solution.scene,
            source,
            receivers,
            per_point=budget.shadow_rays,
            seed=budget.seed + 6,
            group=budget.view_rays,
            stride=budget.view_rays,
            gloss=_gloss(stage, view, sights, sheen[s]),
        )
        progress("picture", 0.6 + 0.4 * (s + 1) / len(stage.sources))
    return ViewTrace(view, width, height, order, sights, ids, direct, sheen)


def retrace_view(before: ViewTrace, old: Solution, new: Solution, moved: str) -> ViewTrace:
    """The view after one body moved; only rays that it can touch are traced again."""
    stage, budget = new.stage, new.budget
    change = change_of(old.stage.bodies[moved], stage.bodies[moved], both_sheets(old.stage, stage))
    nothing = len(stage.surfaces.albedo)
    sights, renew = relook(before, stage, new.scene, budget, change)
    receivers = sights.receivers(nothing)
    ids = before.ids.copy()
    ids[renew] = stage.surfaces.element_count
    regather(stage, new.scene, receivers, ids, budget.seed + 5, change, renew)
    direct, sheen = np.empty_like(before.direct), before.sheen.copy()
    sheen[:, renew[: sheen.shape[1]]] = 0.0
    pixels = np.asarray(renew.reshape(-1, budget.view_rays).any(1))
    for s, source in enumerate(stage.sources):
        renewal = None
        if source.name != moved:
            renewal = Renewal(before.direct[s], change, pixels)
        else:
            sheen[s] = 0.0
        direct[s] = direct_light(
            new.scene,
            source,
            receivers,
            per_point=budget.shadow_rays,
            seed=budget.seed + 6,
            group=budget.view_rays,
            stride=budget.view_rays,
            renewal=renewal,
            gloss=_gloss(stage, before.view, sights, sheen[s]),
        )
    return replace(before, sights=sights, ids=ids, direct=direct, sheen=sheen)


def relight_view(before: ViewTrace, old: Solution, new: Solution) -> ViewTrace:
    """The view where surfaces stand as they did: sources that shine otherwise are traced again."""
    if not np.array_equal(old.stage.surfaces.sheets, new.stage.surfaces.sheets):
        return trace_view(new, before.view, width=before.width, height=before.height)
    seen = replace(before, direct=before.direct.copy(), sheen=before.sheen.copy())
    coats = np.array_equal(old.stage.surfaces.coats, new.stage.surfaces.coats)
    for s, (was, now) in enumerate(zip(old.stage.sources, new.stage.sources, strict=True)):
        factor = light_factor(was, now)
        if factor is None or not coats:
            traced = drag_view(seen, new, s)
            seen.direct[s] = traced.direct[s]
            seen.sheen[s] = traced.sheen[s]
        else:
            seen.direct[s] *= np.float32(factor)
            seen.sheen[s] *= np.float32(factor)
    sights, _ = relook(seen, new.stage, new.scene, new.budget, None)
    return replace(seen, sights=sights)


def seen_reflectance(trace: ViewTrace, stage: Stage) -> Float32Array:
    """Luminous reflectance (h, w) of what each pixel sees; NaN where light itself is seen.

    Mean over a pixel's rays, weighed by what glass and mirrors on the way pass.
    """
    pixels = len(trace.order)
    luminous = seen_albedo(stage.surfaces) @ np.array(LUMINANCE_WEIGHTS, np.float32)
    each = luminous[trace.sights.material] * trace.sights.weight
    each[trace.sights.seen >= 0] = np.nan
    found = each.reshape(pixels, -1).mean(1)
    found[~(found > 0.0)] = np.nan
    picture = np.full(trace.width * trace.height, np.nan, np.float32)
    picture[trace.order] = found
    return picture.reshape(trace.height, trace.width)


def drag_view(before: ViewTrace, solution: Solution, s: int) -> ViewTrace:
    """While fixture s is dragged: its shadow rays anew, all else as it was."""
    receivers = before.sights.receivers(len(solution.stage.surfaces.albedo))
    direct, sheen = before.direct.copy(), before.sheen.copy()
    sheen[s] = 0.0
    direct[s] = direct_light(
        solution.scene,
        solution.stage.sources[s],
        receivers,
        per_point=solution.budget.shadow_rays,
        seed=solution.budget.seed + 6,
        group=solution.budget.view_rays,
        stride=solution.budget.view_rays,
        gloss=_gloss(solution.stage, before.view, before.sights, sheen[s]),
    )
    return replace(before, direct=direct, sheen=sheen)


def _no_sheen(stage: Stage, rays: int) -> Float32Array:
    glossy = bool((stage.surfaces.coats[:, 0] > 0.0).any())
    return np.zeros((len(stage.sources), rays if glossy else 0), np.float32)


def _gloss(stage: Stage, view: View, sights: Sights, out: Float32Array) -> Gloss | None:
    """Where a view's sheen goes, None where nothing is glossy."""
    if out.size == 0:
        return None
    return Gloss(view.eye.astype(np.float32), sights.material, seen_coats(stage.surfaces), out)


def relook(
    before: ViewTrace, stage: Stage, scene: RayScene, budget: Budget, change: Change | None
) -> tuple[Sights, BoolArray]:
    """Sights after a move, all of them where it is None, and which of them may have changed."""
    sights = Sights(
        before.sights.points.copy(),
        before.sights.normals.copy(),
        before.sights.material.copy(),
        before.sights.seen.copy(),
        before.sights.luminance.copy(),
        before.sights.weight.copy(),
    )
    renew = np.zeros(len(sights.points), np.bool_)
    size = (before.width, before.height)
    look(stage, scene, before.view, size, before.order, budget, sights, change, renew)
    return sights, renew


def picture_direct(trace: ViewTrace, stage: Stage, s: int) -> Float32Array:
    """Luminance (h, w, 3) cd/m² of direct light of source s, its own face included."""
    albedo = seen_albedo(stage.surfaces)
    pixels = len(trace.order)
    rays = len(trace.sights.points) // pixels
    out = np.empty((pixels, 3), np.float32)

    def work(start: int, stop: int) -> None:
        blend_rays(
            start,
            stop,
            rays,
            trace.direct[s],
            trace.sights.material,
            albedo,
            trace.sights.weight,
            trace.sights.seen,
            trace.sights.luminance,
            s,
            out,
        )

    over_tiles(pixels, 16_384, work)
    if trace.sheen.size:
        coat = trace.sheen[s] * trace.sights.weight
        out += coat.reshape(pixels, rays).mean(1)[:, None]
    return _image(trace, out)


def picture_bounced(
    trace: ViewTrace, solution: Solution, radiosity: Float32Array, hot: HotSpots | None
) -> Float32Array:
    """Luminance (h, w, 3) cd/m² of light that bounced at least once, from radiosity (3, e + 2)."""
    stage, budget = solution.stage, solution.budget
    albedo = seen_albedo(stage.surfaces)
    pixels = len(trace.order)
    rays = len(trace.sights.points) // pixels
    out = np.empty((3, pixels), np.float32)
    scale = 1.0 / np.pi
    sampled = (
        None
        if hot is None
        else hot_light(
            solution,
            trace.sights.receivers(len(stage.surfaces.albedo)),
            radiosity,
            hot,
            per_point=budget.hot_view_rays,
            gather_rays=trace.ids.shape[1],
            seed=budget.seed + 8,
        )
    )
    cold = radiosity if hot is None else np.where(hot.marks, np.float32(0.0), radiosity)
    channels = np.ascontiguousarray(albedo.T)

    def work(start: int, stop: int) -> None:
        for c in range(3):  # one channel at a time: ten times as fast as three together
            gather_views(
                trace.ids,
                start,
                stop,
                rays,
                cold[c],
                trace.sights.material,
                channels[c],
                trace.sights.weight,
                scale,
                out[c],
            )
        if hot is not None:
            gather_views_hot(
                trace.ids,
                start,
                stop,
                rays,
                hot.table,
                trace.sights.points,
                trace.sights.normals,
                _NO_DOME,
                budget.hot_view_rays,
                radiosity,
                trace.sights.material,
                albedo,
                trace.sights.weight,
                scale,
                out,
            )

    over_tiles(pixels, 8_192, work)
    if sampled is not None:
        lit = sampled * albedo[trace.sights.material] * trace.sights.weight[:, None]
        out += lit.reshape(pixels, rays, 3).mean(1).T * np.float32(scale)
    return _image(trace, out.T)


def _image(trace: ViewTrace, pixels: Float32Array) -> Float32Array:
    picture = np.zeros((trace.width * trace.height, 3), np.float32)
    picture[trace.order] = pixels
    return picture.reshape(trace.height, trace.width, 3)
