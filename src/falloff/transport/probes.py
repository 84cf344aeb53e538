"""Readings' places: direct light and bounce with their standard errors, from replicates."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np

from falloff.constants import LUMINANCE_WEIGHTS
from falloff.sources import SKY, Source
from falloff.stage import Probe
from falloff.transport.direct import Gloss, Receivers, direct_light
from falloff.transport.gather import gather_lists, hot_light
from falloff.transport.kept import unseen
from falloff.transport.kernels_bounce import gather_views, gather_views_hot
from falloff.transport.sights import Sights, empty_sights, read_sights, seen_albedo, seen_coats
from falloff.transport.trace import Solution
from falloff.types import Float32Array, Float64Array, Uint16Array

_SPOT_HALF_ANGLE_RAD = math.radians(0.5)  # a one-degree spot meter
_SPOT_RAYS = 64
_SPOT_GATHER_RAYS = 64
_SPOT_HOT_RAYS = 16


@dataclass(frozen=True, slots=True)
class ProbeTrace:
    """Light at the probes, by replicate: lux for receptors, cd/m² for spots, at 100 % and white.

    direct: (s, p, 3, n); bounced: (s, p, 3, n); ids: each probe's gather list, flat, of n
    replicates one after another.
    """

    probes: tuple[Probe, ...]
    direct: Float64Array
    bounced: Float64Array
    ids: tuple[Uint16Array, ...]

    def mean(self) -> tuple[Float64Array, Float64Array]:
        """Direct and bounced light, (s, p, 3) each."""
        return self.direct.mean(-1), self.bounced.mean(-1)


def trace_probes(
    solution: Solution, probes: tuple[Probe, ...], *, only: tuple[int, ...] | None = None
) -> ProbeTrace:
    """Direct light and bounce at every probe, each replicate with samples of its own.

    only: the sources wanted, all where None; the light of others stays zero.
    """
    wanted = range(len(solution.stage.sources)) if only is None else only
    stage, budget = solution.stage, solution.budget
    count = budget.reading_replicates
    shape = (len(stage.sources), len(probes), 3, count)
    direct, bounced = np.zeros(shape), np.zeros(shape)
    ids: list[Uint16Array] = [np.empty(0, np.uint16)] * len(probes)
    for instrument in ("flat", "dome"):
        group = [k for k, probe in enumerate(probes) if probe.instrument == instrument]
        if group:
            _receptors(solution, probes, group, wanted, instrument == "dome", direct, bounced, ids)
    for k, probe in enumerate(probes):
        if probe.instrument == "spot":
            ids[k] = _spot(solution, probe, wanted, direct[:, k], bounced[:, k])
    return ProbeTrace(probes, direct, bounced, tuple(ids))


def _receptors(
    solution: Solution,
    probes: tuple[Probe, ...],
    group: list[int],
    wanted: Iterable[int],
    dome: bool,
    direct: Float64Array,
    bounced: Float64Array,
    ids: list[Uint16Array],
) -> None:
    """Flat and dome receptors; every replicate is a receiver of its own at the same point."""
    stage, budget = solution.stage, solution.budget
    copies = budget.reading_replicates
    points = np.repeat(np.array([probes[k].point for k in group], np.float32), copies, axis=0)
    normals = np.repeat(np.array([probes[k].normal for k in group], np.float32), copies, axis=0)
    receivers = Receivers(points, normals, np.ones(len(points), np.bool_))
    lists = gather_lists(
        stage, solution.scene, receivers, budget.reading_gather_rays, budget.seed + 9, dome=dome
    )
    # A dome gathers over the whole sphere: twice the mean radiosity (page on readings).
    gain = 2.0 if dome else 1.0
    for s in wanted:
        source = stage.sources[s]
        light = direct_light(
            solution.scene,
            source,
            receivers,
            per_point=budget.reading_shadow_rays,
            seed=budget.seed + 10,
            dome=dome,
        ).reshape(len(group), copies)
        direct[s][group] = light[:, None, :]
        gathered = gain * gathered_light(
            solution, s, receivers, lists, hot_rays=budget.hot_reading_rays, dome=dome
        )
        hot = solution.hot[s]
        if hot is not None:
            gathered += hot_light(
                solution,
                receivers,
                solution.radiosity[s],
                hot,
                per_point=budget.hot_reading_rays,
                gather_rays=budget.reading_gather_rays,
                seed=budget.seed + 11,
                dome=dome,
            )
        bounced[s][group] = gathered.reshape(len(group), copies, 3).transpose(0, 2, 1)
    for row, k in enumerate(group):
        ids[k] = lists[row * copies : (row + 1) * copies].reshape(-1)


def gathered_light(
    solution: Solution,
    s: int,
    receivers: Receivers,
    lists: Uint16Array,
    *,
    hot_rays: int,
    dome: bool = False,
) -> Float32Array:
    """Mean radiosity gathered by each receiver (r, 3); hot_rays: how many it has besides."""
    hot, radiosity = solution.hot[s], solution.radiosity[s]
    count = len(lists)
    out = np.empty((3, count), np.float32)
    ones, first = np.ones(1, np.float32), np.zeros(count, np.uint16)
    alike = np.ones(count, np.float32)
    cold = radiosity if hot is None else np.where(hot.marks, np.float32(0.0), radiosity)
    for c in range(3):
        gather_views(lists, 0, count, 1, cold[c], first, ones, alike, 1.0, out[c])
    if hot is not None:
        gather_views_hot(
            lists,
            0,
            count,
            1,
            hot.table,
            receivers.points,
            receivers.normals,
            dome,
            hot_rays,
            radiosity,
            first,
            np.ones((1, 3), np.float32),
            alike,
            1.0,
            out,
        )
    return out.T


def _spot(
    solution: Solution,
    probe: Probe,
    wanted: Iterable[int],
    direct: Float64Array,
    bounced: Float64Array,
) -> Uint16Array:
    """A spot reading: rays over a one-degree circle from the eye, each shaded as the camera's."""
    stage, budget = solution.stage, solution.budget
    copies = budget.reading_replicates
    sights = spot_sights(solution, probe, copies * _SPOT_RAYS)
    albedo = seen_albedo(stage.surfaces)
    weight = sights.weight[:, None].astype(np.float64)
    coats = seen_coats(stage.surfaces)
    assert probe.eye is not None
    eye = probe.eye.astype(np.float32)
    reflect = weight * albedo[sights.material] / math.pi
    receivers = sights.receivers(len(stage.surfaces.albedo))
    lists = gather_lists(stage, solution.scene, receivers, _SPOT_GATHER_RAYS, budget.seed + 12)
    for s in wanted:
        source = stage.sources[s]
        sheen = np.zeros(len(sights.points), np.float32)
        light = direct_light(
            solution.scene,
            source,
            receivers,
            per_point=16,
            seed=budget.seed + 13,
            gloss=Gloss(eye, sights.material, coats, sheen),
        ).astype(np.float64)
        own = np.where(sights.seen == s, sights.luminance * sights.weight, 0.0)
        shone = reflect * light[:, None] + own[:, None] + weight * sheen[:, None]
        gathered = gathered_light(solution, s, receivers, lists, hot_rays=_SPOT_HOT_RAYS)
        hot = solution.hot[s]
        if hot is not None:
            gathered = gathered + hot_light(
                solution,
                receivers,
                solution.radiosity[s],
                hot,
                per_point=_SPOT_HOT_RAYS,
                gather_rays=_SPOT_GATHER_RAYS,
                seed=budget.seed + 14,
            )
        direct[s] = shone.reshape(copies, _SPOT_RAYS, 3).mean(1).T
        bounced[s] = (reflect * gathered).reshape(copies, _SPOT_RAYS, 3).mean(1).T
    return lists.reshape(-1)


def spot_sights(
    solution: Solution,
    probe: Probe,
    count: int,
    *,
    shown: Callable[[Source], Source] | None = None,
) -> Sights:
    """What rays over a spot meter's circle see; count: a multiple of 64.

    shown: what openings are taken for, as `kept.telling`; the sun is not seen then.
    """
    assert probe.eye is not None
    axis = (probe.point - probe.eye) / np.linalg.norm(probe.point - probe.eye)
    helper = np.array([0.0, 0.0, 1.0]) if abs(axis[2]) < 0.9 else np.array([1.0, 0.0, 0.0])
    across = np.cross(helper, axis)
    across /= np.linalg.norm(across)
    rng = np.random.default_rng(solution.budget.seed)
    # Every replicate spreads its own rays evenly over the circle: a sunflower, turned at random.
    k = np.arange(count) % _SPOT_RAYS
    turn = np.repeat(rng.random(count // _SPOT_RAYS) * 2.0 * math.pi, _SPOT_RAYS)
    ring = np.tan(_SPOT_HALF_ANGLE_RAD) * np.sqrt((k + 0.5) / _SPOT_RAYS)
    angle = k * math.pi * (3.0 - math.sqrt(5.0)) + turn
    way = axis + ring[:, None] * (
        np.cos(angle)[:, None] * across + np.sin(angle)[:, None] * np.cross(axis, across)
    )
    directions = (way / np.linalg.norm(way, axis=1, keepdims=True)).astype(np.float32)
    origins = np.tile(probe.eye.astype(np.float32), (count, 1))
    sights = empty_sights(count)
    stage = solution.stage
    if shown is not None:
        sources = tuple(shown(one) if one.kind == SKY else unseen(one) for one in stage.sources)
        stage = replace(stage, sources=sources)
    read_sights(stage, solution.scene, count, origins, directions, np.arange(count), sights)
    return sights


def surface_shares(
    solution: Solution, trace: ProbeTrace, k: int, colour: Float64Array, s: int
) -> dict[str, float]:
    """Light of source s met by probe k's rays, by the surface it last left.

    colour: (3,) of the source times its dim. Values are mean radiosity in lux, for shares only.
    """
    surfaces = solution.stage.surfaces
    face_name = surfaces.face_name[surfaces.element_face]
    weights = np.array(LUMINANCE_WEIGHTS) * colour
    level = weights @ solution.radiosity[s].astype(np.float64)
    ids = trace.ids[k]
    met = ids[ids < surfaces.element_count]
    total = np.bincount(face_name[met], level[met], minlength=len(surfaces.names))
    per_name = total / max(1, ids.size)
    return {surfaces.names[n]: float(per_name[n]) for n in np.flatnonzero(per_name > 0.0)}
