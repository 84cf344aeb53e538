"""How much light there is outside, and of what colour, by the word for the sky and the sun."""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import msgspec

from falloff.daylight.clear_sky import SOLAR_CONSTANT_W_M2, clear_light
from falloff.daylight.general import TRADITIONAL_OVERCAST
from falloff.daylight.place import MoonPlace, SunPlace
from falloff.daylight.refraction import lifted_rad
from falloff.daylight.sky_colour import SkyColours, sky_colours
from falloff.daylight.twilight import NIGHT_LUX, moonlight_lux, sun_twilight_lux
from falloff.errors import DaylightError, Fault

SKY_WORDS: Final = ("clear", "thin cloud", "broken cloud", "overcast")

# Under the lower of these altitudes (without air) the level is the twilight table's, over the
# higher one the clear sky's model; between them the logarithms of the sky's light are mixed.
_TABLE_UNDER_RAD: Final = math.radians(2.0)
_MODEL_OVER_RAD: Final = math.radians(10.0)
# Under this altitude a clouded sky keeps its ratio to the clear one.
_RATIO_UNDER_RAD: Final = math.radians(5.0)
# Over this altitude a sky is never darker than it was there: ours.
_LEAST_AT_RAD: Final = math.radians(3.0)
# Thick cloud lets through no more than this share, however hazy the air: ours.
_MOST_OVERCAST: Final = 0.8
_DISC_RAD: Final = math.radians(0.2666)  # half the sun's width
_HAZY_FROM: Final = 3.5  # turbidity from which a clear sky counts as that over a town


class OutsideLight(msgspec.Struct, frozen=True, kw_only=True):
    """What sun, sky and moon give outside.

    kind: of ISO 15469, 1 to 16, how the sky's light lies over it (in twilight as by day with the
    sun at the horizon); sky_horizontal_lux: on open level ground without the sun's disc, moonlight
    with it; sun_normal_lux: of the disc on a plane that faces it, 0 where it is not seen; sky_rgb,
    sun_rgb: linear working space, luminance 1; sky_kelvin, sun_kelvin: correlated colour
    temperature for telling people, 1000 to 25000; sky_low, sky_high, sun_low, sun_high: factors on
    the two levels between which real days lie, sun_low 0 where a cloud may hide it.
    """

    kind: int
    sky_horizontal_lux: float
    sun_normal_lux: float
    sky_rgb: tuple[float, float, float]
    sun_rgb: tuple[float, float, float]
    sky_kelvin: float
    sun_kelvin: float
    sky_low: float
    sky_high: float
    sun_low: float
    sun_high: float


class _Word(NamedTuple):
    """One word for the sky: which kind, what is left of the sun, and how far days lie apart.

    The kinds are chosen by their descriptions in ISO 15469; the spreads are ours, from memory of
    how far measured days lie apart.
    """

    kind: int
    sun_share: float
    sky_spread: tuple[float, float]
    sun_spread: tuple[float, float]


_WORDS: Final = {
    "clear": _Word(12, 1.0, (0.7, 1.4), (0.8, 1.15)),
    # A stop less sun: practice (from memory); what spreads about it is how thin the cloud is.
    "thin cloud": _Word(11, 0.5, (0.7, 1.4), (0.5, 1.6)),
    "broken cloud": _Word(10, 0.85, (0.6, 1.5), (0.0, 1.2)),
    "overcast": _Word(TRADITIONAL_OVERCAST, 0.0, (0.5, 2.0), (1.0, 1.0)),
}
# Of the light that a thin cloud takes from the sun, what comes down as sky after all: ours; the
# greater part, since such a cloud scatters forwards and takes nearly nothing.
COMES_BACK: Final = 0.6


def outside_light(
    word: str,
    sun: SunPlace,
    *,
    turbidity: float = 3.0,
    height_m: float = 0.0,
    moon: MoonPlace | None = None,
) -> OutsideLight:
    """What there is outside under one of `SKY_WORDS`, with the sun anywhere, day or night.

    turbidity: Linke's, 1 to 10, 2 for mountain air, 3 for the country, 5 for a hazy town;
    height_m: above the sea, −430 to 9000; moon: left out, there is none.
    Raises DaylightError for another word, turbidity or altitude.
    Sources: by day `clear_light`, clouded skies `cloudy_sky_lux`; low sun and night `twilight`.
    """
    _check(word, sun, turbidity)
    outside_share = 1.0 / sun.distance_au**2  # of the sun's strength at its mean distance
    air = _Clear(sun, turbidity, height_m, outside_share)
    said = _WORDS[word]
    sun_normal = said.sun_share * air.sun_normal_lux
    ratio = _level_ratio(word, sun, turbidity, height_m, outside_share)
    by_sun = max(0.0, ratio * air.level_lux - sun_normal * air.rise)
    moonlit = ratio * moonlight_lux(moon) if moon is not None else 0.0
    night = ratio * NIGHT_LUX
    colours: SkyColours = sky_colours(
        word,
        sun,
        turbidity=turbidity,
        height_m=height_m,
        clear=(air.sky_lux, air.direct_lux, _scattered(said) * air.direct_lux),
        night=(by_sun, moonlit, night),
    )
    hazy = word == "clear" and turbidity >= _HAZY_FROM
    return OutsideLight(
        kind=13 if hazy else said.kind,
        sky_horizontal_lux=by_sun + moonlit + night,
        sun_normal_lux=sun_normal,
        sky_rgb=colours.sky_rgb,
        sun_rgb=colours.sun_rgb,
        sky_kelvin=colours.sky_kelvin,
        sun_kelvin=colours.sun_kelvin,
        sky_low=said.sky_spread[0],
        sky_high=said.sky_spread[1],
        sun_low=said.sun_spread[0],
        sun_high=said.sun_spread[1],
    )


def cloudy_sky_lux(word: str, altitude_rad: float) -> float:
    """The sky without the sun on open ground under broken or thick cloud; altitude 0 to π/2.

    Source: Gillette, Pierpoint and Treado (1984), J. IES 13(4), the daylight availability of the
    Illuminating Engineering Society: 0.3 + 45 sin h klx partly cloudy, 0.3 + 21 sin h klx cloudy,
    from memory.
    """
    steep = 45_000.0 if word == "broken cloud" else 21_000.0
    return 300.0 + steep * max(0.0, math.sin(altitude_rad))


class _Clear:
    """The clear sky at one place of the sun: level on open ground, sun and sky apart, lx."""

    def __init__(
        self, sun: SunPlace, turbidity: float, height_m: float, outside_share: float
    ) -> None:
        outside_w_m2 = SOLAR_CONSTANT_W_M2 * outside_share
        model = clear_light(
            sun.altitude_rad, turbidity=turbidity, height_m=height_m, outside_w_m2=outside_w_m2
        )
        self.rise = max(0.0, math.sin(sun.altitude_rad))
        shown = min(1.0, max(0.0, 0.5 + 0.5 * sun.altitude_rad / _DISC_RAD))
        low = outside_share * _low_sky_lux(sun.geometric_rad)
        least = outside_share * _low_sky_lux(min(sun.geometric_rad, _LEAST_AT_RAD))
        weight = _smooth(sun.geometric_rad, _TABLE_UNDER_RAD, _MODEL_OVER_RAD)
        mixed = low ** (1.0 - weight) * model.sky_horizontal_lux**weight
        # In very clear air a higher sun would leave less in the sky than a lower one did.
        self.sky_lux = max(least, mixed)
        self.sun_normal_lux = shown * model.sun_normal_lux
        self.direct_lux = self.sun_normal_lux * self.rise
        self.level_lux = self.sky_lux + self.direct_lux


def _low_sky_lux(geometric_rad: float) -> float:
    """The clear sky without the disc, of a low or sunken sun, on open ground.

    The twilight table's level, less what the disc gives of it in usual air at the sea.
    """
    level = sun_twilight_lux(geometric_rad)
    altitude_rad = lifted_rad(geometric_rad)
    usual = clear_light(altitude_rad, turbidity=3.0, height_m=0.0, outside_w_m2=SOLAR_CONSTANT_W_M2)
    direct = usual.sun_normal_lux * max(0.0, math.sin(altitude_rad))
    return level * usual.sky_horizontal_lux / (usual.sky_horizontal_lux + direct)


def _smooth(value: float, low: float, high: float) -> float:
    """0 under low, 1 over high, and no corner between."""
    t = min(1.0, max(0.0, (value - low) / (high - low)))
    return t * t * (3.0 - 2.0 * t)


def _level_ratio(
    word: str, sun: SunPlace, turbidity: float, height_m: float, outside_share: float
) -> float:
    """All light on open ground under a word's sky over that under a clear one."""
    if word == "clear":
        return 1.0
    if sun.geometric_rad < _RATIO_UNDER_RAD:
        sun = msgspec.structs.replace(
            sun,
            altitude_rad=lifted_rad(_RATIO_UNDER_RAD, height_m=height_m),
            geometric_rad=_RATIO_UNDER_RAD,
        )
    air = _Clear(sun, turbidity, height_m, outside_share)
    kept = _WORDS[word].sun_share
    if word == "thin cloud":
        left = kept + _scattered(_WORDS[word])
        return float((air.sky_lux + left * air.direct_lux) / air.level_lux)
    sky = outside_share * cloudy_sky_lux(word, sun.altitude_rad)
    ratio = float((sky + kept * air.direct_lux) / air.level_lux)
    return min(_MOST_OVERCAST, ratio) if word == "overcast" else ratio


def _scattered(thin: _Word) -> float:
    """Share of the clear sun's light that a thin cloud brings down as sky."""
    return COMES_BACK * (1.0 - thin.sun_share)


def _check(word: str, sun: SunPlace, turbidity: float) -> None:
    if word not in SKY_WORDS:
        raise DaylightError(
            Fault(
                what="there is no such word for a sky",
                expected=", ".join(SKY_WORDS),
                found=repr(word),
                fix="take the nearest of these words",
            )
        )
    if not 1.0 <= turbidity <= 10.0:
        raise DaylightError(
            Fault(
                what="air is never that clear or that hazy",
                expected="a turbidity from 1 to 10",
                found=f"{turbidity:g}",
                fix="2 stands for mountain air, 3 for the country, 5 for a hazy town",
            )
        )
    good = all(abs(up) <= 0.5 * math.pi + 0.01 for up in (sun.altitude_rad, sun.geometric_rad))
    if not (good and 0.9 < sun.distance_au < 1.1):
        raise DaylightError(
            Fault(
                what="the sun cannot stand there",
                expected="altitudes from -90 to 90 deg, about 1 astronomical unit away",
                found=f"{math.degrees(sun.altitude_rad):g} deg, {sun.distance_au:g}",
                fix="take it from sun_place",
            )
        )
