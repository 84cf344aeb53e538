"""Importance: what a unit of direct light on each element is worth to a reading's bounced part.

The same rows and reflectances as the solve, taken backwards: bounced = Σ importance · direct, for
any source, so that a source that changes costs a sum. A reading's own view of the elements is
found by rays gathered and by rays sent to every element, each counted where it is the surer.
Source: P. Christensen, "Adjoints and Importance in Rendering: An Overview", IEEE TVCG 9(3), 2003.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.stage import Probe
from falloff.transport.bounce import landing_of
from falloff.transport.direct import Receivers
from falloff.transport.gather import gather_lists
from falloff.transport.kernels_bounce import hot_rays
from falloff.transport.kernels_importance import settle_importance, share_gathered, share_sampled
from falloff.transport.kernels_sheets import dim_by_sheets
from falloff.transport.probes import spot_sights
from falloff.transport.sights import seen_albedo
from falloff.transport.tiles import RAYS_PER_TILE, over_tiles
from falloff.transport.trace import Solution, element_frames
from falloff.types import Float32Array, Float64Array

_GATHER_RAYS: Final = 16_384  # of each reading in all
_SENT_TO_EACH: Final = 2  # rays to each element from each reading
_SPOT_POINTS: Final = 64
_FROM_SKY: Final = False  # what comes off elements holds no pane
_MOST_TURNS: Final = 60
_CLOSE: Final = 1e-4  # of what is left out in the end


@dataclass(frozen=True, slots=True)
class Importance:
    """What direct light is worth to each probe: (p, 3, e), lux or cd/m² per lux on an element."""

    worth: Float32Array

    def bounced(self, direct: Float32Array) -> Float64Array:
        """Bounced part (p, 3) of every probe under white direct light (e,) on the elements."""
        return np.asarray(self.worth @ direct, np.float64)


def importance_of(solution: Solution, probes: tuple[Probe, ...]) -> Importance:
    """The importance of direct light to every probe."""
    surfaces = solution.stage.surfaces
    spots = element_frames(surfaces)
    spots[:-2, 7] = 1.0 / (surfaces.element_count * surfaces.element_area_m2)
    views = [_first_view(solution, probe, spots, seed=k) for k, probe in enumerate(probes)]
    backwards = _Backwards.of(solution)
    worth = np.zeros((len(probes), 3, solution.stage.surfaces.element_count), np.float32)

    def work(start: int, stop: int) -> None:
        for k in range(start, stop):
            worth[k] = backwards.settled(views[k])

    over_tiles(len(probes), 1, work)
    return Importance(worth)


# A reading's own view ------------------------------------------------------------------


def _first_view(
    solution: Solution, probe: Probe, spots: Float32Array, *, seed: int
) -> Float64Array:
    """Worth (3, e) of each element's radiosity to a probe that sees it straight.

    spots: as in `gathered_share`, every element as likely as any other to be sent a ray.
    """
    surfaces, seeds = solution.stage.surfaces, solution.budget.seed + 31 + 2 * seed
    receivers, by = _receivers(solution, probe)
    elements, dome = surfaces.element_count, probe.instrument == "dome"
    gather = _GATHER_RAYS // len(receivers.points)
    sent = 1 << math.ceil(math.log2(_SENT_TO_EACH * elements / len(receivers.points)))
    turned = np.zeros(len(receivers.points) * gather, np.bool_)
    lists = gather_lists(
        solution.stage, solution.scene, receivers, gather, seeds, dome=dome, turned=turned
    )
    found = np.zeros((3, elements + 2))
    share_gathered(lists, turned, spots, receivers.points, receivers.normals, by, dome, sent, found)
    _add_sent(solution, receivers, by, (gather, sent), spots, dome=dome, seed=seeds + 1, out=found)
    gain = 2.0 if dome else 1.0  # a dome gathers over the whole sphere
    return np.asarray(gain * found[:, :elements])


def _add_sent(
    solution: Solution,
    receivers: Receivers,
    by: Float64Array,
    rays: tuple[int, int],
    spots: Float32Array,
    *,
    dome: bool,
    seed: int,
    out: Float64Array,
) -> None:
    """Rays to every element alike; rays: how many are gathered and sent by each receiver."""
    surfaces, scene = solution.stage.surfaces, solution.scene
    gather, sent = rays
    count, elements = len(receivers.points), surfaces.element_count
    chance = np.full(elements, 1.0 / elements)
    which = np.arange(elements, dtype=np.int32)
    sending_m2 = surfaces.element_area_m2 * landing_of(surfaces)
    most = count * sent
    origins, directions = np.empty((most, 3), np.float32), np.empty((most, 3), np.float32)
    lengths, weights = np.empty(most, np.float32), np.empty(most, np.float32)
    slots, met = np.empty(most, np.int64), np.empty(most, np.int64)
    made = hot_rays(
        which, np.cumsum(chance), chance, surfaces.element_points, surfaces.element_normals,
        sending_m2, spots, gather, receivers.points, receivers.normals, receivers.alive,
        0, count, sent, dome, seed, origins, directions, lengths, weights, slots, met,
    )  # fmt: skip
    free = np.empty(made, np.int32)

    def work(start: int, stop: int) -> None:
        part = slice(start, stop)
        if len(scene.sheets):
            dim_by_sheets(
                stop - start, origins[part], directions[part], lengths[part], weights[part],
                scene.sheets, _FROM_SKY,
            )  # fmt: skip
        free[part] = scene.reaches(origins[part], directions[part], lengths[part])

    over_tiles(made, RAYS_PER_TILE, work)
    # Half the light that a dome is sent is counted by its gain already.
    share_sampled(made, free, weights, slots, met, 0.5 * by if dome else by, out)


def _receivers(solution: Solution, probe: Probe) -> tuple[Receivers, Float64Array]:
    """A probe's points, and what illuminance at each is worth to it (n, 3)."""
    if probe.instrument != "spot":
        point = probe.point.astype(np.float32)[None]
        normal = probe.normal.astype(np.float32)[None]
        return Receivers(point, normal, np.ones(1, np.bool_)), np.ones((1, 3))
    surfaces = solution.stage.surfaces
    sights = spot_sights(solution, probe, _SPOT_POINTS)
    albedo = seen_albedo(surfaces).astype(np.float64)[sights.material]
    by = sights.weight[:, None] * albedo / (math.pi * _SPOT_POINTS)
    return sights.receivers(len(surfaces.albedo)), by


# Backwards through every bounce -----------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Backwards:
    """What the solve knows of elements and patches, to be taken backwards."""

    solution: Solution
    albedo: Float32Array
    through: Float32Array
    grey: bool

    @classmethod
    def of(cls, solution: Solution) -> _Backwards:
        surfaces = solution.stage.surfaces
        material = surfaces.face_material[surfaces.element_face]
        gain = 1.0 / landing_of(surfaces)
        albedo = surfaces.albedo[material] * gain[:, None]
        through = surfaces.through[material] * gain[:, None]
        both = np.concatenate([albedo, through])
        return cls(solution, albedo, through, bool((both == both[:, :1]).all()))

    def settled(self, view: Float64Array) -> Float32Array:
        """The worth (3, e) of direct light, from that of radiosity in the first view (3, e)."""
        found = np.empty(view.shape, np.float32)
        for c in range(3):
            same = c > 0 and self.grey and np.array_equal(view[c], view[0])
            found[c] = found[0] if same else self._channel(view[c], c)
        return found

    def _channel(self, view: Float64Array, c: int) -> Float64Array:
        surfaces, rows = self.solution.stage.surfaces, self.solution.rows
        patches, elements = surfaces.patch_count, surfaces.element_count
        first_of_patch = surfaces.patch_first[:-1]
        partner = surfaces.element_partner
        straight = self._by_light(view, c)
        settled, sent = np.empty(patches), np.empty(elements + 2)
        settle_importance(
            rows.patch_ids,
            rows.ids,
            np.bincount(surfaces.element_patch, straight, patches),
            self.albedo[first_of_patch, c],
            self.through[first_of_patch, c],
            surfaces.element_patch[partner[first_of_patch]],
            rows.share,
            _CLOSE,
            _MOST_TURNS,
            np.empty(patches + 2),
            settled,
            sent,
        )
        return straight + self._by_light(sent[:elements], c)

    def _by_light(self, leaving: Float64Array, c: int) -> Float64Array:
        """Worth of light on elements, from that of what leaves them."""
        partner = self.solution.stage.surfaces.element_partner
        through = self.through[:, c] * leaving
        return np.asarray(self.albedo[:, c] * leaving + through[partner])
