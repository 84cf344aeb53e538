"""What a plan assumes and readings can tell: outputs, modifiers, reflectances, sky and sun."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from falloff.document import KitLight, SceneDocument
from falloff.kit.catalogue import spread_of
from falloff.record.materials import (
    LEAST_REFLECTANCE,
    MOST_REFLECTANCE,
    ODDS_SPREAD_STOPS,
    reflectance_of,
)
from falloff.record.outside import DaylightSaid
from falloff.record.records import Kind
from falloff.record.stood import Stood
from falloff.sources import SKY, SUN
from falloff.stage import dimming_of, light_now
from falloff.stage.dims import USUAL_OUTPUT_SPREAD_STOPS, section_of
from falloff.stage.kit_lights import kit_items
from falloff.stage.own_kit import own_file
from falloff.stage.places import Placer

# Source of these: common practice, no source.
MODIFIER_SPREAD_STOPS: Final = 1.0 / 3.0  # where the kit does not say


@dataclass(frozen=True, slots=True)
class Unknown:
    """One assumption as a number x: 0 as assumed, +1 a stop more; of a reflectance, of its odds.

    prior: its spread in x; sources: that it makes stronger; assumed: in `unit`; low, high: of x.
    """

    kind: Kind
    name: str
    prior: float
    assumed: float
    unit: str
    sources: tuple[str, ...] = ()
    low: float = -math.inf
    high: float = math.inf

    def value(self, x: float) -> float:
        """What it is at x, in its unit."""
        if x == 0.0:
            return self.assumed
        if self.kind != "reflectance":
            return float(self.assumed * 2.0**x)
        odds = self.assumed / (1.0 - self.assumed) * 2.0**x
        return float(odds / (1.0 + odds))

    def half_range_stops(self, x: float, spread_stops: float) -> float:
        """Half the way in stops between its values a spread of x (as x is) either side of x."""
        return 0.5 * math.log2(self.value(x + spread_stops) / self.value(x - spread_stops))


def unknowns_of(
    stood: Sequence[Stood], daylight: DaylightSaid | None, materials: Sequence[str]
) -> tuple[Unknown, ...]:
    """Every assumption that bears on the light of these, materials as they are ranked."""
    found = [*_outputs(stood)]
    if daylight is not None:
        skies = _of_kind(stood, SKY)
        if skies:
            found.append(
                Unknown("sky", "sky", daylight.sky_spread_stops, daylight.sky_value,
                        daylight.sky_unit, skies)
            )  # fmt: skip
        suns = _of_kind(stood, SUN)
        if suns and daylight.sun_lux > 0.0:
            found.append(
                Unknown("sun", "sun", daylight.sun_spread_stops, daylight.sun_lux, "lx", suns)
            )
    for name in materials:
        rho = reflectance_of(stood, name)
        odds = rho / (1.0 - rho)
        found.append(
            Unknown(
                "reflectance", name, ODDS_SPREAD_STOPS, rho, "",
                low=min(0.0, math.log2(_odds(LEAST_REFLECTANCE) / odds)),
                high=max(0.0, math.log2(_odds(MOST_REFLECTANCE) / odds)),
            )
        )  # fmt: skip
    return tuple(found)


def _odds(rho: float) -> float:
    return rho / (1.0 - rho)


def _of_kind(stood: Sequence[Stood], kind: int) -> tuple[str, ...]:
    names = (
        source.name
        for one in stood
        for source in one.layers.solution.stage.sources
        if source.kind == kind
    )
    return tuple(dict.fromkeys(names))


# Lights ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Outfit:
    """A light as it is used: the spread of its own output, and its modifiers with theirs."""

    name: str
    spread: float
    modifiers: dict[str, float]
    output_lm: float


def _outputs(stood: Sequence[Stood]) -> list[Unknown]:
    outfits: dict[str, _Outfit] = {}
    for one in stood:
        for source in one.layers.solution.stage.sources:
            if source.kind not in {SKY, SUN} and source.name not in outfits:
                outfits[source.name] = _outfit(one.document, source.name)
    users: dict[str, list[str]] = {}
    spreads: dict[str, float] = {}
    for outfit in outfits.values():
        for modifier, spread in outfit.modifiers.items():
            users.setdefault(modifier, []).append(outfit.name)
            spreads[modifier] = spread
    shared = {modifier: names for modifier, names in users.items() if len(names) > 1}
    found = []
    for outfit in outfits.values():
        own = [spread for name, spread in outfit.modifiers.items() if name not in shared]
        prior = math.hypot(outfit.spread, *own)
        found.append(Unknown("output", outfit.name, prior, outfit.output_lm, "lm", (outfit.name,)))
    found += [
        Unknown("modifier", modifier, spreads[modifier], 1.0, "", tuple(names))
        for modifier, names in shared.items()
    ]
    return found


def _outfit(document: SceneDocument, name: str) -> _Outfit:
    light = document.fixtures.get(name) or document.practicals[name]
    lumens = light_now(document, name).flux_lm
    if light.output is not None:
        return _Outfit(name, USUAL_OUTPUT_SPREAD_STOPS, {}, lumens)
    kit = light.light
    placer = Placer(document)
    spread = dimming_of(document, name).spread_stops or USUAL_OUTPUT_SPREAD_STOPS
    if not isinstance(kit, KitLight) or own_file(placer, kit) is not None:
        return _Outfit(name, spread, {}, lumens)
    _, modifiers = kit_items(placer, (section_of(document, name), name), kit)
    told = {one.name: spread_of(one, "beams") or MODIFIER_SPREAD_STOPS for one in modifiers}
    return _Outfit(name, spread, told, lumens)
