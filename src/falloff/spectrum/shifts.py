"""Lights as they are known, and how far apart two are: along the locus and across it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from falloff.errors import FalloffError, Fault
from falloff.spectrum.chromaticity import checked_xy
from falloff.spectrum.loci import (
    COOLEST_CCT_KELVIN,
    HOTTEST_CCT_KELVIN,
    Locus,
    xy_of_kelvin,
)
from falloff.spectrum.spectra import Spectrum, natural_spectrum, xy_of_spectrum
from falloff.spectrum.steering import steering_curve
from falloff.spectrum.temperature import ColourTemperature, cct_duv, xy_of_cct_duv
from falloff.units import Kelvin, Mired, mired_from_kelvin

Floats = NDArray[np.float64]
KnownBy = Literal["spectrum", "xy", "kelvin"]

# A full green or magenta gel: common practice, from memory, is 30 CC, a density of 0.30 at its
# peak. What that is in Duv hangs on the light: a density of 0.30 in a band 100 nm wide at 545 nm,
# or outside it, worked through by hand, gives 0.030 on D55 and 0.0193 on illuminant A (mean of
# plus and minus green); straight between and beyond in mired.
FULL_GREEN_CC: Final = 30.0
_FULL_GREEN_DUV: Final = ((181.8, 0.0300), (350.2, 0.0193))
_GREEN_MIRED_RANGE: Final = (60.0, 500.0)


@dataclass(frozen=True, slots=True, eq=False)
class LightColour:
    """The colour of a light, and how it is known: xy (2,), its CCT and Duv, its spectrum or None.

    Made by `light_of_spectrum`, `light_of_xy` and `light_of_kelvin`.
    """

    xy: Floats
    temperature: ColourTemperature
    known_by: KnownBy
    spectrum: Spectrum | None = None


@dataclass(frozen=True, slots=True)
class ColourShift:
    """How one light differs from another, on both axes.

    shift_mired: above nought where it is warmer; shift_duv: above nought where it is greener;
    green_share: the same in full green gels (negative: magenta); green_cc: in CC, 30 to a full gel.
    """

    shift_mired: Mired
    shift_duv: float
    green_share: float
    green_cc: float


def light_of_spectrum(spectrum: Spectrum) -> LightColour:
    """A light known by its spectrum."""
    xy = _read_only(xy_of_spectrum(spectrum))
    return LightColour(xy, cct_duv(xy), "spectrum", spectrum)


def light_of_xy(xy: ArrayLike) -> LightColour:
    """A light known by its CIE 1931 chromaticity (2,), as from a colour meter."""
    checked = _read_only(checked_xy(xy))
    return LightColour(checked, cct_duv(checked), "xy")


def light_of_kelvin(
    cct_kelvin: float, duv: float | None = None, *, locus: Locus = "auto"
) -> LightColour:
    """A light known by its kelvin, 1000 to 25000, and perhaps its Duv; without it, on a locus.

    Raises FalloffError outside the range. Its CCT is the kelvin as said; read back from its
    chromaticity the daylight locus is up to 0.15 % from its nominal temperature.
    """
    if duv is None:
        xy = xy_of_kelvin(cct_kelvin, locus=locus)
        duv = cct_duv(xy).duv
    else:
        xy = xy_of_cct_duv(cct_kelvin, duv)
    temperature = ColourTemperature(Kelvin(cct_kelvin), duv)
    return LightColour(_read_only(xy), temperature, "kelvin")


def assumed_spectrum(light: LightColour) -> Spectrum:
    """A light's spectrum, or one that it may have: a hot body or daylight drawn to its colour.

    Raises FalloffError for a light without spectrum and without colour temperature.
    """
    if light.spectrum is not None:
        return light.spectrum
    natural = natural_spectrum(1e6 / _mired_of(light))
    curve = steering_curve(natural, light.xy)
    return Spectrum(natural.relative * curve, natural.name, f"assumed from {light.known_by} alone")


def colour_shift(start: LightColour, end: LightColour) -> ColourShift:
    """How far the end is from the start; FalloffError where either has no colour temperature."""
    before, after = _mired_of(start), _mired_of(end)
    duv = end.temperature.duv - start.temperature.duv
    green = duv / full_green_duv(0.5 * (before + after))
    return ColourShift(Mired(after - before), duv, green, FULL_GREEN_CC * green)


def distance_from_balance(
    light: LightColour, balance_kelvin: float, *, tint_duv: float = 0.0
) -> ColourShift:
    """How a light will look to a camera: warmer or cooler, greener or more magenta than neutral.

    balance_kelvin: 1000 to 25000 K; tint_duv: what the camera's balance is moved towards green.
    Raises FalloffError outside the range and for a light without a colour temperature.
    """
    balance = light_of_kelvin(balance_kelvin)
    if tint_duv:
        balance = light_of_kelvin(balance_kelvin, balance.temperature.duv + tint_duv)
    return colour_shift(balance, light)


def shifted_kelvin(cct_kelvin: float, shift_mired: float) -> Kelvin:
    """The kelvin after a shift in mired, exact: 10⁶/(10⁶/T + shift).

    Raises FalloffError where that leaves 1000 to 25000 K.
    """
    mired = float(mired_from_kelvin(cct_kelvin)) + shift_mired
    if not 1e6 / HOTTEST_CCT_KELVIN <= mired <= 1e6 / COOLEST_CCT_KELVIN:
        raise FalloffError(
            Fault(
                "no colour temperature is left after that shift",
                where=f"{cct_kelvin:g} K and {shift_mired:+g} mired",
                expected=f"{1e6 / HOTTEST_CCT_KELVIN:g} to {1e6 / COOLEST_CCT_KELVIN:g} mired",
                found=f"{mired:.0f} mired",
                fix="a weaker gel, or a light that is nearer to what is wanted",
            )
        )
    return Kelvin(1e6 / mired)


def warmed(light: LightColour, shift_mired: float) -> LightColour:
    """A light after a shift along the locus by mired arithmetic, Duv as before; any spectrum goes.

    Raises FalloffError where it has no colour temperature or is left without.
    """
    kelvin = shifted_kelvin(1e6 / _mired_of(light), shift_mired)
    return light_of_kelvin(kelvin, light.temperature.duv)


def full_green_duv(colour_mired: float) -> float:
    """What a full green gel moves a light of this mired across the locus, Duv; a magenta one, −.

    Common practice (30 CC), from memory; the sums are ours, and real gels stray by a fifth.
    """
    (cool, high), (warm, low) = _FULL_GREEN_DUV
    mired = min(max(colour_mired, _GREEN_MIRED_RANGE[0]), _GREEN_MIRED_RANGE[1])
    return high + (low - high) * (mired - cool) / (warm - cool)


def _mired_of(light: LightColour) -> float:
    kelvin = light.temperature.cct_kelvin
    if kelvin is None:
        raise FalloffError(
            Fault(
                "this light is too strongly coloured to have a colour temperature",
                where="colour of light",
                expected="Duv from -0.05 to 0.05 and 1000 to 25000 K",
                found=f"x {light.xy[0]:.4f}, y {light.xy[1]:.4f}, Duv {light.temperature.duv:+.3f}",
                fix="give its spectrum, or put what is strongly coloured last",
            )
        )
    return float(mired_from_kelvin(kelvin))


def _read_only(values: Floats) -> Floats:
    copy = np.array(values, dtype=np.float64)
    copy.setflags(write=False)
    return copy
