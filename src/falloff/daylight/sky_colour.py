"""Colours of sun and sky under each word for a sky, made from their spectra."""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from falloff.daylight.place import SunPlace
from falloff.daylight.sky_spectra import (
    clear_sky_spectrum,
    clouded,
    moonlit,
    night_spectrum,
    sun_spectrum,
)
from falloff.spectrum import Spectrum, cct_duv, colour_of_spectrum, mixed, xy_of_spectrum

COOLEST_TOLD_KELVIN: Final = 1000.0
HOTTEST_TOLD_KELVIN: Final = 25_000.0
# Share of blue sky that is seen between broken clouds: ours.
_BLUE_BETWEEN: Final = 0.4
_MOON_ALTITUDE_RAD: Final = math.radians(35.0)  # moonlight is coloured as by a moon this high


class SkyColours(NamedTuple):
    """Working-space colours of luminance 1, and what people are told of them, K."""

    sky_rgb: tuple[float, float, float]
    sun_rgb: tuple[float, float, float]
    sky_kelvin: float
    sun_kelvin: float


def sky_colours(
    word: str,
    sun: SunPlace,
    *,
    turbidity: float,
    height_m: float,
    clear: tuple[float, float, float],
    night: tuple[float, float, float],
) -> SkyColours:
    """Colours of the sky and of the sun.

    clear: what sky and sun's disc give on open ground under a clear sky, and what of the disc's a
    thin cloud brings down as sky, lx; night: what of the present sky's light is the sun's, the
    moon's and the night's own, lx.
    """
    disc = sun_spectrum(sun.altitude_rad, turbidity=turbidity, height_m=height_m)
    blue = clear_sky_spectrum(
        sun.altitude_rad, sun.geometric_rad, turbidity=turbidity, height_m=height_m
    )
    by_sun = _by_sun(word, blue, disc, clear)
    moon = moonlit(sun_spectrum(_MOON_ALTITUDE_RAD, turbidity=turbidity, height_m=height_m))
    sky = mixed([(by_sun, night[0]), (moon, night[1]), (night_spectrum(), night[2])], name="sky")
    return SkyColours(_rgb(sky), _rgb(disc), told_kelvin(sky), told_kelvin(disc))


def told_kelvin(spectrum: Spectrum) -> float:
    """Correlated colour temperature for telling people, held to 1000 to 25000 K."""
    found = cct_duv(spectrum).cct_kelvin
    if found is not None:
        return float(found)
    # Beyond the scale at one end: which, the chromaticity says.
    return HOTTEST_TOLD_KELVIN if xy_of_spectrum(spectrum)[0] < 1.0 / 3.0 else COOLEST_TOLD_KELVIN


def _by_sun(
    word: str, blue: Spectrum, disc: Spectrum, clear: tuple[float, float, float]
) -> Spectrum:
    """The sky's light as far as it is the sun's: blue sky, and sun and sky through cloud."""
    sky_lux, disc_lux, scattered_lux = clear
    if word == "clear":
        return blue
    together = mixed([(blue, sky_lux), (disc, disc_lux)], name="sun and sky")
    if word == "thin cloud":
        return mixed([(blue, sky_lux), (disc, scattered_lux)], name="sky in thin cloud")
    if word == "broken cloud":
        shares = [(blue, _BLUE_BETWEEN), (clouded(together), 1.0 - _BLUE_BETWEEN)]
        return mixed(shares, name="sky between clouds")
    return clouded(together)


def _rgb(spectrum: Spectrum) -> tuple[float, float, float]:
    red, green, blue = (float(value) for value in colour_of_spectrum(spectrum))
    return red, green, blue
