"""Colours that a light can be given besides its own: by its knob where it has one, or by gel."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final

import msgspec
import numpy as np

from falloff.balance.problem import ColourChoice
from falloff.document import Fixture, HueTarget, KitLight, Quantity, SceneDocument
from falloff.errors import FalloffError
from falloff.kit import Fixture as FixtureItem
from falloff.kit import Gel, list_items
from falloff.readings.colour import white_uv
from falloff.spectrum import xy_from_uv_1976
from falloff.stage import Dimming, LightNow, light_now
from falloff.types import Float64Array

_TEMPERATURES: Final = 9  # that a head between two colours is tried at
_GEL_COSTS: Final = 0.3  # of a target missed by its tolerance: gel must be cut and hung
_KNOB_COSTS: Final = 0.05
_WHITE_FAMILIES: Final = ("warming", "cooling", "green")
_ACCENT: Final = "accent"
_MIXING: Final = "LED RGBW"
_RADII: Final = (1.2, 2.0, 3.0)  # of the least saturation, that a head that mixes is tried at


@dataclass(frozen=True, slots=True)
class ColoursWanted:
    """What colours targets ask for: whites, hues, and the white balance they are judged by."""

    white: bool
    hues: tuple[HueTarget, ...]
    balance_kelvin: float | None

    @property
    def any(self) -> bool:
        """Whether any target asks for a colour."""
        return self.white or bool(self.hues)


def colours_of(
    document: SceneDocument, name: str, how: Dimming, wanted: ColoursWanted
) -> tuple[ColourChoice, ...]:
    """What a light can be given besides its own colour, for the colours that are wanted.

    A practical keeps its own: nobody gels what is in shot. how: as `dimming_of` tells of it.
    """
    light = document.fixtures.get(name)
    if light is None:
        return ()
    now = light_now(document, name)
    found: list[ColourChoice] = []
    for told, costs, edits, changes in _ways(light, how, wanted):
        changed = msgspec.structs.replace(light, **changes)
        whole = msgspec.structs.replace(document, fixtures={**document.fixtures, name: changed})
        try:
            then = light_now(whole, name)
        except FalloffError:  # gel on a light whose colour it cannot be told of
            continue
        if then.flux_lm > 0.0 and now.flux_lm > 0.0:
            found.append(ColourChoice(told, _against(now, then), costs, edits))
    return tuple(found)


Way = tuple[str, float, tuple[tuple[str, str], ...], dict[str, Any]]


def _ways(light: Fixture, how: Dimming, wanted: ColoursWanted) -> list[Way]:
    """Each as words, costs, edits of the light's entry, and fields of its record."""
    found: list[Way] = []
    if wanted.white and how.low_kelvin < how.high_kelvin:
        for mired in np.linspace(1e6 / how.high_kelvin, 1e6 / how.low_kelvin, _TEMPERATURES):
            kelvin = round(1e6 / float(mired) / 50.0) * 50.0
            text = f"{kelvin:.0f} K"
            fields: dict[str, Any] = {"colour": Quantity(kelvin, text), "duv": None, "xy": None}
            found.append((f"at {text}", _KNOB_COSTS, (("colour", text),), fields))
    if wanted.hues and _mixes(light):
        for target in wanted.hues:
            for x, y in _hue_points(target, wanted.balance_kelvin):
                told = f"{{xy: [{x:.4f}, {y:.4f}]}}"
                fields = {"colour": None, "duv": None, "xy": (x, y)}
                found.append((f"at xy {x:.3f}, {y:.3f}", _KNOB_COSTS, (("colour", told),), fields))
    if light.gels:
        found.append(("without gels", _GEL_COSTS, (("gels", "[]"),), {"gels": ()}))
    for gel in list_items("gel"):
        assert isinstance(gel, Gel)
        if (wanted.white and gel.family in _WHITE_FAMILIES) or (
            wanted.hues and gel.family == _ACCENT
        ):
            edits = (("gels", f"[{gel.name}]"),)
            found.append((f"with {gel.name}", _GEL_COSTS, edits, {"gels": (gel.name,)}))
    return found


def _against(now: LightNow, then: LightNow) -> Float64Array:
    """What a light's layer in its present colour is times (3,) in another."""
    before = np.maximum(np.asarray(now.colour, np.float64), 1e-9)
    return np.asarray(then.colour, np.float64) / before * (then.flux_lm / now.flux_lm)


def _mixes(light: Fixture) -> bool:
    """Whether a head mixes colours."""
    if not isinstance(light.light, KitLight):
        return False
    items = [one for one in list_items("fixture") if one.name == light.light.kit]
    return any(isinstance(one, FixtureItem) and one.family == _MIXING for one in items)


def _hue_points(target: HueTarget, balance_kelvin: float | None) -> list[tuple[float, float]]:
    """Chromaticities of the wanted hue, ever more saturated."""
    way = np.array([math.cos(target.hue.si), math.sin(target.hue.si)])
    points = [white_uv(balance_kelvin) + way * target.saturation / 13.0 * far for far in _RADII]
    return [(float(x), float(y)) for x, y in map(xy_from_uv_1976, points) if y > 0.0]
