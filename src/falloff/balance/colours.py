"""Colours that a light can be given besides its own: by its knob where it has one, or by gel."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final

import msgspec
import numpy as np

from falloff.balance.problem import KNOB_COSTS, LEAST_CHANNEL, ColourChoice, Mixing
from falloff.document import Fixture, Quantity, SceneDocument
from falloff.errors import FalloffError
from falloff.kit import Gel, list_items
from falloff.spectrum import cct_duv, light_of_kelvin
from falloff.stage import Dimming, LightNow, emitters_of, light_now
from falloff.types import Float64Array

_STEP_MIRED: Final = 30.0  # between the temperatures that a head between two colours is tried at
_MOST_STEPS: Final = 24
_GEL_COSTS: Final = 0.3  # of a target missed by its tolerance: gel must be cut and hung
_WHITE_FAMILIES: Final = ("warming", "cooling", "green")
_ACCENT: Final = "accent"
_ON_LINE: Final = 0.0005  # Duv within which a colour is told as a white, in kelvin
_KELVIN: Final = (1700.0, 20000.0)  # that such a one is told between


@dataclass(frozen=True, slots=True)
class ColoursWanted:
    """What colours targets ask for: whites, hues; mired: the least tolerance of a white."""

    white: bool
    hue: bool
    mired: float = 30.0

    @property
    def any(self) -> bool:
        """Whether any target asks for a colour."""
        return self.white or self.hue


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
    ways = [] if _mixes(document, name) else _ways(light, how, wanted)
    for told, costs, edits, changes in ways:
        try:
            then = _changed(document, name, changes)
        except FalloffError:  # gel on a light whose colour it cannot be told of
            continue
        if then.flux_lm > 0.0 and now.flux_lm > 0.0:
            found.append(ColourChoice(told, _against(now, then), costs, edits))
    return tuple(found)


def mixing_of(document: SceneDocument, name: str) -> Mixing | None:
    """A head that mixes colours, so that any mix may be chosen; None where it does not."""
    if not _mixes(document, name):
        return None
    emitters = emitters_of(document, name)
    assert emitters is not None
    now = light_now(document, name)
    own = _changed(document, name, {"colour": None, "duv": None, "xy": None})
    colour = np.maximum(np.asarray(now.colour, np.float64), LEAST_CHANNEL)

    def set_to(x: float, y: float) -> ColourChoice:
        told, edits, fields = _told_colour(round(x, 4), round(y, 4))
        then = _changed(document, name, fields)
        return ColourChoice(told, _against(now, then), KNOB_COSTS, edits)

    return Mixing(emitters / colour * (own.flux_lm / now.flux_lm), colour, set_to)


def _mixes(document: SceneDocument, name: str) -> bool:
    """Whether a light mixes colours, with no gel before it."""
    light = document.fixtures.get(name)
    if light is None or light.gels:
        return False
    return emitters_of(document, name) is not None


def _changed(document: SceneDocument, name: str, fields: dict[str, Any]) -> LightNow:
    """A fixture as it would be with other fields."""
    changed = msgspec.structs.replace(document.fixtures[name], **fields)
    whole = msgspec.structs.replace(document, fixtures={**document.fixtures, name: changed})
    return light_now(whole, name)


def _told_colour(x: float, y: float) -> tuple[str, tuple[tuple[str, str], ...], dict[str, Any]]:
    """A chromaticity in words, as edits of a light's entry, and as fields: in kelvin if it is."""
    kelvin, duv = cct_duv(np.array([x, y]))
    low, high = _KELVIN
    if kelvin is not None and low < kelvin < high:
        said = round(kelvin / 10.0) * 10.0
        if abs(duv - light_of_kelvin(said).temperature.duv) < _ON_LINE:
            return _told_kelvin(said)
    told = f"{{xy: [{x:.4f}, {y:.4f}]}}"
    fields: dict[str, Any] = {"colour": None, "duv": None, "xy": (x, y)}
    return f"at xy {x:.3f}, {y:.3f}", (("colour", told),), fields


def _told_kelvin(kelvin: float) -> tuple[str, tuple[tuple[str, str], ...], dict[str, Any]]:
    text = f"{kelvin:.0f} K"
    fields: dict[str, Any] = {"colour": Quantity(kelvin, text), "duv": None, "xy": None}
    return f"at {text}", (("colour", text),), fields


Way = tuple[str, float, tuple[tuple[str, str], ...], dict[str, Any]]


def _ways(light: Fixture, how: Dimming, wanted: ColoursWanted) -> list[Way]:
    """Each as words, costs, edits of the light's entry, and fields of its record."""
    found: list[Way] = []
    if wanted.white and how.low_kelvin < how.high_kelvin:
        cool, warm = 1e6 / how.high_kelvin, 1e6 / how.low_kelvin
        steps = math.ceil((warm - cool) / min(_STEP_MIRED, wanted.mired))
        for mired in np.linspace(cool, warm, min(steps, _MOST_STEPS) + 1):
            told, edits, fields = _told_kelvin(round(1e6 / float(mired) / 10.0) * 10.0)
            found.append((told, KNOB_COSTS, edits, fields))
    if light.gels:
        found.append(("without gels", _GEL_COSTS, (("gels", "[]"),), {"gels": ()}))
    for gel in list_items("gel"):
        assert isinstance(gel, Gel)
        if (wanted.white and gel.family in _WHITE_FAMILIES) or (
            wanted.hue and gel.family == _ACCENT
        ):
            edits = (("gels", f"[{gel.name}]"),)
            found.append((f"with {gel.name}", _GEL_COSTS, edits, {"gels": (gel.name,)}))
    return found


def _against(now: LightNow, then: LightNow) -> Float64Array:
    """What a light's layer in its present colour is times (3,) in another."""
    before = np.maximum(np.asarray(now.colour, np.float64), LEAST_CHANNEL)
    return np.asarray(then.colour, np.float64) / before * (then.flux_lm / now.flux_lm)
