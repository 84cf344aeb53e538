"""Light layers whose daylight can be had at any hour: rays to the outside kept beside them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from falloff.layers.records import LightLayers
from falloff.transport import (
    HourLight,
    Importance,
    KeptElements,
    KeptProbes,
    elements_at,
    importance_of,
    keep_elements,
    keep_probes,
    probes_bounced,
    probes_direct,
)
from falloff.types import Float32Array, Float64Array


@dataclass(frozen=True, slots=True)
class HourLayers:
    """Layers of a stage with windows, and what any hour's readings need besides."""

    layers: LightLayers
    elements: KeptElements
    probes: tuple[KeptProbes, ...]
    importance: Importance


@dataclass(frozen=True, slots=True)
class HourReadings:
    """Daylight at the probes at one hour, white at 100 %: (p, 3) of each source by its index.

    elements: direct light (e,) on the elements.
    """

    direct: Mapping[int, Float64Array]
    bounced: Mapping[int, Float64Array]
    elements: Mapping[int, Float32Array]


def keep_hours(layers: LightLayers) -> HourLayers:
    """Shoot once more the rays that go outside, and keep them."""
    solution, probes = layers.solution, layers.probes.probes
    return HourLayers(
        layers,
        keep_elements(solution),
        keep_probes(solution, probes),
        importance_of(solution, probes),
    )


def read_hour(kept: HourLayers, hour: HourLight) -> HourReadings:
    """What an hour's daylight brings to every probe; nothing is traced but the sun."""
    solution = kept.layers.solution
    elements = elements_at(solution, kept.elements, hour)
    count = len(kept.layers.probes.probes)
    direct = probes_direct(solution, kept.probes, hour, count)
    return HourReadings(direct, probes_bounced(kept.importance, elements), elements)


def read_under(kept: HourLayers, luminance: Mapping[int, Float32Array]) -> dict[int, Float64Array]:
    """Whole light (p, 3) of openings alone, under cells of these luminances."""
    count = len(kept.layers.probes.probes)
    hour = HourLight({s: kept.layers.solution.stage.sources[s] for s in luminance}, luminance)
    solution = kept.layers.solution
    direct = probes_direct(solution, kept.probes, hour, count)
    bounced = probes_bounced(kept.importance, elements_at(solution, kept.elements, hour))
    return {s: np.asarray(direct[s] + bounced[s]) for s in luminance}
