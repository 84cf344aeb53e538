"""Spectra of sun and sky under a clear sky, by day, in twilight and by night.

The sun is a black body seen through the air: scattering by the air itself and by haze, and what
ozone takes. The sky is what was scattered. Water and oxygen, which take little of the visible,
are left out.
"""

from __future__ import annotations

import functools
import math
from typing import Final

import numpy as np

from falloff.daylight.clear_sky import air_mass
from falloff.daylight.refraction import air_share
from falloff.spectrum import GRID_NM, Spectrum, natural_spectrum, planckian
from falloff.types import Float64Array

# The black body that has the sun's colour outside the air: the colour temperature of the spectrum
# outside the air of ASTM G173-03 (computed, 5933 K). By all wavelengths the sun is one of 5772 K.
SUN_KELVIN: Final = 5930.0
_UM: Final = GRID_NM * 1e-3
# Ozone: ordinary amount in atm·cm, and absorption in its visible band per atm·cm, to base e.
# Source: after Bird and Riordan (1986), table 1, from memory, to some 5 %.
_OZONE_CM: Final = 0.30
_OZONE_NM: Final = (
    360, 440, 450, 460, 470, 480, 490, 500, 510, 520, 530, 540, 550, 570, 593, 610, 630, 656, 668,
    690, 710, 740, 760, 830,
)  # fmt: skip
_OZONE: Final = (
    0.0, 0.0, 0.003, 0.006, 0.009, 0.014, 0.021, 0.030, 0.040, 0.048, 0.063, 0.075, 0.085, 0.120,
    0.119, 0.120, 0.090, 0.065, 0.051, 0.028, 0.018, 0.010, 0.007, 0.0,
)  # fmt: skip
_OZONE_PER_CM: Final = np.interp(GRID_NM, _OZONE_NM, _OZONE)
_ALBEDO_GROUND: Final = 0.2  # of grass and paving, as elsewhere here
# In twilight the sky is lit by light that has gone far and flat through the ozone, which takes red
# and yellow. How many more times the layer is crossed with the sun 6° down is ours; it gives 10 000
# to 15 000 K then, as measured twilights have (from memory).
_DEEP_RAD: Final = math.radians(-6.0)
_DEEP_OZONE_MASS: Final = 9.0
_NIGHT_KELVIN: Final = 4500.0  # stars and the glow of the air together: from memory


def sun_spectrum(altitude_rad: float, *, turbidity: float, height_m: float) -> Spectrum:
    """The sun's disc seen at an altitude, −π/2 to π/2 (below 0 as at 0); turbidity 1 to 10.

    Sources: Rayleigh scattering 0.008735 λ^−4.08 (λ in µm) for each air mass, after Preetham,
    Shirley and Smits (1999), from memory; haze as λ^−1.3, Ångström's usual exponent, its depth by
    `_haze_depth`; ozone as in this module.
    """
    air = _Air(altitude_rad, turbidity, height_m)
    passed = _outside() * air.rayleigh * air.haze * air.ozone
    # Far red at the horizon of a hazy day: kept above what a float can hold.
    return Spectrum(passed / passed.max(), "sun through the air", "Rayleigh, haze and ozone")


def clear_sky_spectrum(
    altitude_rad: float, geometric_rad: float, *, turbidity: float, height_m: float
) -> Spectrum:
    """What open ground gets of a clear sky without the sun's disc, by day and in twilight.

    altitude_rad: of the sun as seen; geometric_rad: without air, which counts in twilight.
    Source: Bird and Riordan (1986), J. Climate Appl. Meteorol. 25(1), 87-97, from memory; twilight
    as this module says.
    """
    air = _Air(altitude_rad, turbidity, height_m)
    rise = max(math.sin(math.radians(0.5)), math.sin(altitude_rad))
    lit = _outside() * rise * air.ozone * air.swallowed
    by_air = lit * (1.0 - air.rayleigh**0.95) * 0.5
    forward, forward_mean = _forward(rise), _forward(1.0 / 1.8)
    by_haze = lit * air.rayleigh**1.5 * (1.0 - air.scattered) * forward
    direct = _outside() * rise * air.rayleigh * air.haze * air.ozone
    mean = _Air(math.asin(1.0 / 1.8), turbidity, height_m)
    back = mean.swallowed * (
        0.5 * (1.0 - mean.rayleigh) + (1.0 - forward_mean) * mean.rayleigh * (1.0 - mean.scattered)
    )
    again = (direct + by_air + by_haze) * back * _ALBEDO_GROUND / (1.0 - back * _ALBEDO_GROUND)
    blue = np.where(_UM <= 0.45, (_UM + 0.55) ** 1.8, 1.0)
    sunken = min(1.0, max(0.0, geometric_rad / _DEEP_RAD))
    deep = np.exp(-_OZONE_CM * _DEEP_OZONE_MASS * sunken * _OZONE_PER_CM)
    return Spectrum((by_air + by_haze + again) * blue * deep, "clear sky", "scattered sunlight")


def night_spectrum() -> Spectrum:
    """Stars and the glow of the air without sun and moon: a stand-in by temperature alone."""
    return natural_spectrum(_NIGHT_KELVIN)


def moonlit(spectrum: Spectrum) -> Spectrum:
    """Sunlight as the moon returns it, redder: source, from memory, an albedo that grows as λ."""
    return Spectrum(spectrum.relative * _UM, "moonlight", spectrum.source)


def clouded(spectrum: Spectrum) -> Spectrum:
    """Sun and sky after a thick cloud: a little bluer, so that by day it is near 6500 K.

    That figure for overcast days is from memory; the slope, λ^−0.6, is ours.
    """
    return Spectrum(spectrum.relative * (_UM / 0.56) ** -0.6, "overcast", spectrum.source)


class _Air:
    """Shares of each wavelength that pass the air towards a sun at an altitude as seen."""

    def __init__(self, altitude_rad: float, turbidity: float, height_m: float) -> None:
        mass = air_mass(altitude_rad)
        thick = _haze_depth(turbidity) * (_UM / 0.55) ** -1.3 * mass
        # Single-scattering albedo of haze over land: Bird and Riordan (1986), from memory.
        keeps = 0.945 * np.exp(-0.095 * np.log(_UM / 0.4) ** 2)
        self.rayleigh = np.exp(-0.008735 * _UM**-4.08 * mass * air_share(height_m))
        self.haze = np.exp(-thick)
        self.scattered = np.exp(-keeps * thick)
        self.swallowed = np.exp(-(1.0 - keeps) * thick)
        self.ozone = np.exp(-_OZONE_CM * _ozone_mass(altitude_rad) * _OZONE_PER_CM)


def _haze_depth(turbidity: float) -> float:
    """Optical depth of haze at 550 nm that makes a Linke turbidity, with 2 cm of water; 0.04 up.

    Source: Ineichen (2008), Solar Energy 82(11), 1095-1097, at sea level, from memory: T = 3.91
    e^0.689 τ + 0.376 ln w + 2.2. The least is ours, the cleanest air over land; with less
    the model, which scatters once, would make skies too blue.
    """
    return max(0.04, (turbidity - 2.2 - 0.376 * math.log(2.0)) / (3.91 * math.exp(0.689)))


def _forward(rise: float) -> float:
    """Share of haze's scattered light that goes on downwards, the sine of altitude given.

    Source: Bird and Riordan (1986), equations 12 to 15, asymmetry 0.65, from memory.
    """
    alg = math.log(1.0 - 0.65)
    first = alg * (1.459 + alg * (0.1595 + alg * 0.4129))
    second = alg * (0.0783 + alg * (-0.3824 - alg * 0.5874))
    return 1.0 - 0.5 * math.exp((first + second * rise) * rise)


def _ozone_mass(altitude_rad: float) -> float:
    """How many times the ozone layer, 22 km up, is crossed; Robinson (1966), from memory."""
    rise = max(0.0, math.sin(altitude_rad))
    return (1.0 + 22.0 / 6370.0) / math.sqrt(rise**2 + 2.0 * 22.0 / 6370.0)


@functools.cache
def _outside() -> Float64Array:
    return planckian(SUN_KELVIN).relative
