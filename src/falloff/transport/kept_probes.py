"""Readings at any hour over one trace: openings by kept rays, the sun by new ones."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.sources import Source
from falloff.stage import Probe
from falloff.transport.direct import Gloss, Receivers, direct_light
from falloff.transport.hours import KeptElements, openings_in
from falloff.transport.importance import Importance
from falloff.transport.kept import Keeping, KeptSky, evened, telling
from falloff.transport.probes import spot_sights
from falloff.transport.sights import Sights, seen_albedo, seen_coats
from falloff.transport.trace import Solution
from falloff.types import Float32Array, Float64Array, IntArray, Uint16Array

_COPIES: Final = 4  # of each receptor, with rays of their own
_SPOT_SIGHTS: Final = 256
_SPOT_SHADOW_RAYS: Final = 8


@dataclass(frozen=True, slots=True)
class KeptProbes:
    """Some probes' receivers with each opening's rays from them.

    rows: (n,) the probe that each receiver belongs to; by: (n, 3) what its illuminance adds to
    that, and spots alone: what sheen and luminance seen add (n,), the cell outside that each looks
    at, and where from (3,).
    """

    receivers: Receivers
    rows: IntArray
    by: Float64Array
    per_point: int
    dome: bool
    skies: Mapping[int, KeptSky]
    spot: KeptSpot | None = None


@dataclass(frozen=True, slots=True)
class KeptSpot:
    """What a spot meter's rays see besides light on surfaces."""

    sights: Sights
    cells: Uint16Array
    share: Float64Array
    coats: Float32Array
    eye: Float32Array

    def gloss(self) -> Gloss:
        """Where sheen towards the meter is written."""
        out = np.zeros(len(self.share), np.float32)
        return Gloss(self.eye, self.sights.material, self.coats, out)


def keep_probes(solution: Solution, probes: tuple[Probe, ...]) -> tuple[KeptProbes, ...]:
    """Shoot the rays of every opening from the probes, and keep them."""
    groups = []
    for instrument in ("flat", "dome"):
        rows = [k for k, one in enumerate(probes) if one.instrument == instrument]
        if rows:
            groups.append(_receptors(solution, probes, rows, dome=instrument == "dome"))
    groups += [
        _spot(solution, probe, k) for k, probe in enumerate(probes) if probe.instrument == "spot"
    ]
    return tuple(groups)


@dataclass(frozen=True, slots=True)
class SkyWorth:
    """What the luminance of each cell outside is worth to each probe through one opening.

    cells: (m,) those that are seen at all; direct, bounced, and whole of both: (p, 3, m), white;
    lux per cd/m², of a spot a pure number.
    """

    cells: IntArray
    direct: Float32Array
    bounced: Float32Array
    whole: Float32Array

    def light(self, luminance: Float32Array) -> tuple[Float64Array, Float64Array]:
        """Direct and bounced light (p, 3) of every probe under cells of these luminances."""
        seen = luminance[self.cells]
        return np.asarray(self.direct @ seen, np.float64), np.asarray(
            self.bounced @ seen, np.float64
        )

    def lights(self, luminances: tuple[Float32Array, ...]) -> tuple[Float64Array, ...]:
        """Whole light (p, 3) of every probe under each of several outsides."""
        seen = np.stack([one[self.cells] for one in luminances], -1)
        return tuple(np.moveaxis((self.whole @ seen).astype(np.float64), -1, 0))


def sky_worths(
    solution: Solution,
    elements: KeptElements,
    probes: tuple[KeptProbes, ...],
    importance: Importance,
) -> dict[int, SkyWorth]:
    """The worth of every cell outside, by opening: what kept rays say, added up cell by cell."""
    found = {}
    count = len(importance.worth)
    for s in openings_in(solution.stage):
        kept = elements.skies[s]
        groups = [group.skies[s] for group in probes]
        spots = [
            group.spot.cells[group.spot.sights.seen == s]
            for group in probes
            if group.spot is not None
        ]
        cells = np.unique(np.concatenate([kept.cells, *(one.cells for one in groups), *spots]))
        place = np.zeros(65_536, np.int64)
        place[cells] = np.arange(len(cells))
        direct, bounced = (np.zeros((count, 3, len(cells)), np.float32) for _ in range(2))
        at = place[kept.cells]
        element = kept.owners % kept.count
        alive = kept.leads.ravel()[kept.owners] >= 0
        for p in range(count):
            for c in range(3):
                by = kept.weights * importance.worth[p, c][element] * alive
                bounced[p, c] = np.bincount(at, by, len(cells))
        for group, rays in zip(probes, groups, strict=True):
            _add_direct(group, rays, s, place, direct)
        found[s] = SkyWorth(cells, direct, bounced, direct + bounced)
    return found


def _add_direct(
    group: KeptProbes, rays: KeptSky, s: int, place: IntArray, direct: Float32Array
) -> None:
    """Add what the cells are worth to a group's probes by straight light."""
    size = direct.shape[2]
    at = place[rays.cells]
    for row in np.unique(group.rows):
        mine = np.flatnonzero((group.rows == row) & (rays.leads[0] >= 0))
        for c in range(3):
            by = _of_sums(rays, mine, group.by[mine, c])
            direct[row, c] += np.bincount(at, rays.weights * by[rays.owners], size)
            if group.spot is None:
                continue
            if rays.coats.size:
                coat = _of_sums(rays, mine, group.spot.share[mine])
                direct[row, c] += np.bincount(at, rays.coats * coat[rays.owners], size)
            seen = group.spot.sights.seen == s
            own = place[group.spot.cells[seen]]
            direct[row, c] += np.bincount(own, group.spot.share[seen], size)


def _of_sums(rays: KeptSky, mine: IntArray, by: Float64Array) -> Float64Array:
    """What each sum is worth where it stands for some receivers, each worth so much."""
    found = np.zeros(rays.leads.size)
    for way in rays.leads:
        found += np.bincount(way[mine], by, rays.leads.size)
    return found


def sun_direct(
    solution: Solution, kept: tuple[KeptProbes, ...], sun: Source, count: int
) -> Float64Array:
    """Direct sun (count, 3) at the probes, white; lux, spots cd/m²."""
    found = np.zeros((count, 3))
    if sun.flux_lm <= 0.0:
        return found
    for group in kept:
        gloss = None if group.spot is None else group.spot.gloss()
        light = direct_light(
            solution.scene,
            sun,
            group.receivers,
            per_point=group.per_point,
            seed=solution.budget.seed + 10,
            dome=group.dome,
            gloss=gloss,
        )
        each = group.by * light[:, None]
        if group.spot is not None and gloss is not None:
            each = each + (group.spot.share * gloss.out)[:, None]
        np.add.at(found, group.rows, each)
    return found


def _receptors(
    solution: Solution, probes: tuple[Probe, ...], rows: list[int], *, dome: bool
) -> KeptProbes:
    points = np.repeat(np.array([probes[k].point for k in rows], np.float32), _COPIES, axis=0)
    normals = np.repeat(np.array([probes[k].normal for k in rows], np.float32), _COPIES, axis=0)
    receivers = Receivers(points, normals, np.ones(len(points), np.bool_))
    per_point = solution.budget.reading_shadow_rays
    by = np.full((len(points), 3), 1.0 / _COPIES)
    skies = _kept(solution, receivers, per_point, dome=dome)
    return KeptProbes(receivers, np.repeat(rows, _COPIES), by, per_point, dome, skies)


def _spot(solution: Solution, probe: Probe, row: int) -> KeptProbes:
    surfaces = solution.stage.surfaces
    sights = spot_sights(solution, probe, _SPOT_SIGHTS)
    cells = spot_sights(solution, probe, _SPOT_SIGHTS, shown=telling).luminance.astype(np.uint16)
    share = sights.weight.astype(np.float64) / _SPOT_SIGHTS
    by = share[:, None] * seen_albedo(surfaces)[sights.material] / math.pi
    assert probe.eye is not None
    spot = KeptSpot(sights, cells, share, seen_coats(surfaces), probe.eye.astype(np.float32))
    receivers = sights.receivers(len(surfaces.albedo))
    skies = _kept(solution, receivers, _SPOT_SHADOW_RAYS, gloss=spot.gloss())
    rows = np.full(_SPOT_SIGHTS, row)
    return KeptProbes(
        receivers, rows, by, per_point=_SPOT_SHADOW_RAYS, dome=False, skies=skies, spot=spot
    )


def _kept(
    solution: Solution,
    receivers: Receivers,
    per_point: int,
    *,
    dome: bool = False,
    gloss: Gloss | None = None,
) -> dict[int, KeptSky]:
    kept = {}
    for s in openings_in(solution.stage):
        keeping = Keeping(len(receivers.points))
        direct_light(
            solution.scene,
            evened(solution.stage.sources[s]),
            receivers,
            per_point=per_point,
            seed=solution.budget.seed + 10,
            dome=dome,
            gloss=gloss,
            keep=keeping,
        )
        kept[s] = keeping.done(receivers.alive)
    return kept
