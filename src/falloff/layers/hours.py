"""Light layers whose daylight can be had at any hour: rays to the outside kept beside them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from falloff.layers.records import LightLayers
from falloff.sources import SKY
from falloff.transport import (
    HourLight,
    Importance,
    KeptElements,
    KeptProbes,
    SkyWorth,
    importance_of,
    keep_elements,
    keep_probes,
    sky_worths,
    sun_direct,
    sun_on_elements,
)
from falloff.types import Float32Array, Float64Array

_DAY_SUN_RAYS: Final = 4096  # that come in through all openings together


@dataclass(frozen=True, slots=True)
class HourLayers:
    """Layers of a stage with windows, and what any hour's readings need besides.

    worths: of every cell outside to every probe, by opening.
    """

    layers: LightLayers
    elements: KeptElements
    probes: tuple[KeptProbes, ...]
    importance: Importance
    worths: Mapping[int, SkyWorth]


@dataclass(frozen=True, slots=True)
class HourReadings:
    """Daylight at the probes at one hour, white at 100 %: (p, 3) of each source by its index.

    sun: the sun's direct light (e,) on the elements.
    """

    direct: Mapping[int, Float64Array]
    bounced: Mapping[int, Float64Array]
    sun: Float32Array


def keep_hours(layers: LightLayers) -> HourLayers:
    """Shoot once more the rays that go outside, and keep them."""
    solution, probes = layers.solution, layers.probes.probes
    elements, receivers = keep_elements(solution), keep_probes(solution, probes)
    importance = importance_of(solution, probes)
    worths = sky_worths(solution, elements, receivers, importance)
    return HourLayers(layers, elements, receivers, importance, worths)


def read_hour(kept: HourLayers, hour: HourLight) -> HourReadings:
    """What an hour's daylight brings to every probe; nothing is traced but the sun."""
    solution = kept.layers.solution
    count = len(kept.layers.probes.probes)
    direct: dict[int, Float64Array] = {}
    bounced: dict[int, Float64Array] = {}
    lit = np.zeros(solution.stage.surfaces.element_count, np.float32)
    for s, source in hour.sources.items():
        if source.kind == SKY:
            direct[s], bounced[s] = kept.worths[s].light(hour.luminance[s])
            continue
        lit = sun_on_elements(solution, source)
        direct[s] = sun_direct(solution, kept.probes, source, count)
        bounced[s] = kept.importance.bounced(lit)
    return HourReadings(direct, bounced, lit)


def read_whole(
    kept: HourLayers, hour: HourLight, shade: HourLight
) -> tuple[dict[int, Float64Array], dict[int, Float64Array], Float64Array, Float32Array]:
    """An hour's readings as a day needs them, with fewer sunrays.

    shade: the openings while the sun's disc is hidden. Returns the whole light (p, 3) of every
    source; that of the openings in shade; the sun's own straight light (p, 3); the sun's direct
    light (e,) on the elements.
    """
    solution = kept.layers.solution
    solution = replace(solution, budget=replace(solution.budget, beam_rays=_DAY_SUN_RAYS))
    whole: dict[int, Float64Array] = {}
    in_shade: dict[int, Float64Array] = {}
    straight = np.zeros((len(kept.layers.probes.probes), 3))
    lit = np.zeros(solution.stage.surfaces.element_count, np.float32)
    for s, source in hour.sources.items():
        if source.kind == SKY:
            luminances = (hour.luminance[s], shade.luminance[s])
            whole[s], in_shade[s] = kept.worths[s].lights(luminances)
        elif source.flux_lm > 0.0:
            lit = sun_on_elements(solution, source)
            straight = sun_direct(solution, kept.probes, source, len(straight))
            whole[s] = straight + kept.importance.bounced(lit)
        else:
            whole[s] = straight
    return whole, in_shade, straight, lit


def read_sky(kept: HourLayers, luminance: Mapping[int, Float32Array]) -> dict[int, Float64Array]:
    """Whole light (p, 3) of openings alone, under cells of these luminances."""
    return {s: kept.worths[s].lights((cells,))[0] for s, cells in luminance.items()}
