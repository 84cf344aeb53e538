"""Readings at any hour over one trace: openings by kept rays, the sun by new ones, bounce by worth."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.sources import SKY
from falloff.stage import Probe
from falloff.transport.direct import Gloss, Receivers, direct_light
from falloff.transport.hours import HourLight, openings_in
from falloff.transport.importance import Importance
from falloff.transport.kept import Keeping, KeptSky, evened, telling
from falloff.transport.probes import spot_sights
from falloff.transport.sights import Sights, seen_albedo, seen_coats
from falloff.transport.trace import Solution
from falloff.types import Float32Array, Float64Array, IntArray, Uint16Array

_COPIES: Final = 4  # of each receptor, with rays of their own
_SPOT_SIGHTS: Final = 256
_SPOT_SHADOW_RAYS: Final = 16


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


def probes_direct(
    solution: Solution, kept: tuple[KeptProbes, ...], hour: HourLight, count: int
) -> dict[int, Float64Array]:
    """Direct light (count, 3) of an hour's sources at the probes, white; lux, spots cd/m²."""
    found = {s: np.zeros((count, 3)) for s in hour.sources}
    for group in kept:
        for s, source in hour.sources.items():
            gloss = None if group.spot is None else group.spot.gloss()
            own = np.zeros(len(group.rows))
            if source.kind == SKY:
                rays, outside = group.skies[s], hour.luminance[s]
                light = rays.light(outside)
                if group.spot is not None:
                    own = rays.sheen(outside).astype(np.float64)
                    seen = group.spot.sights.seen == s
                    own[seen] += outside[group.spot.cells[seen]]
            elif source.flux_lm <= 0.0:
                continue
            else:
                light = direct_light(
                    solution.scene,
                    source,
                    group.receivers,
                    per_point=group.per_point,
                    seed=solution.budget.seed + 10,
                    dome=group.dome,
                    gloss=gloss,
                )
                own = own if gloss is None else gloss.out.astype(np.float64)
            each = group.by * light[:, None]
            if group.spot is not None:
                each = each + (group.spot.share * own)[:, None]
            np.add.at(found[s], group.rows, each)
    return found


def probes_bounced(
    importance: Importance, elements: Mapping[int, Float32Array]
) -> dict[int, Float64Array]:
    """Bounced light (count, 3) at the probes of each source's direct light on the elements."""
    return {s: importance.bounced(light) for s, light in elements.items()}


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
    return KeptProbes(receivers, rows, by, _SPOT_SHADOW_RAYS, False, skies, spot)


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
