"""Spectra of lights and what they add up to."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from falloff.errors import FalloffError, Fault
from falloff.spectrum.chromaticity import checked_xy, xy_from_xyz
from falloff.spectrum.loci import (
    COOLEST_CCT_KELVIN,
    DAYLIGHT_FROM_CCT_KELVIN,
    HOTTEST_CCT_KELVIN,
    SECOND_RADIATION_CONSTANT_M_K,
    observer_table,
    xy_of_kelvin,
)
from falloff.spectrum.tables import GRID_NM, daylight_components, illuminant_tables, on_grid
from falloff.spectrum.working_space import luminance, working_from_xyz

Floats = NDArray[np.float64]

# SI: luminous efficacy of 540 THz (555 nm) is 683 lm/W exactly.
GREATEST_EFFICACY: Final = 683.0
# CIE 015:2018: illuminant A is Planck's law at 2848 K with c2 = 1.435e-2, 2856 K with 1.4388e-2.
_A_KELVIN, _A_CONSTANT_M_K = 2848.0, 1.435e-2
# CODATA 2018, exact: 2 h c² in W·m²/sr, and Stefan and Boltzmann's constant in W/(m²·K⁴).
_FIRST_RADIATION_CONSTANT: Final = 1.191042972397188e-16
_STEFAN_BOLTZMANN: Final = 5.670374419e-8
_POINTS: Final = len(GRID_NM)


@dataclass(frozen=True, slots=True, eq=False)
class Spectrum:
    """Relative spectral power of a light: (471,), 360 to 830 nm in steps of 1 nm, any scale.

    name: for people; source: where its numbers are from. The array is made read-only. Raises
    FalloffError for another shape, a negative or infinite power, and for no light at all.
    """

    relative: Floats = field(repr=False)
    name: str = "spectrum"
    source: str = "as given"

    def __post_init__(self) -> None:
        values = np.array(self.relative, dtype=np.float64)
        good = values.shape == (_POINTS,) and np.all(np.isfinite(values)) and np.all(values >= 0.0)
        if not (good and values.max() > 0.0):
            raise FalloffError(
                Fault(
                    "this is no spectrum of a light",
                    where=self.name,
                    expected=f"{_POINTS} finite powers, none negative, some above nought",
                    found=f"shape {values.shape}, least {values.min(initial=0.0):g}",
                    fix="give points of wavelength and power to spectrum_from_points",
                )
            )
        values.setflags(write=False)
        object.__setattr__(self, "relative", values)


def spectrum_from_points(
    wavelength_nm: ArrayLike, relative: ArrayLike, *, name: str = "measured", source: str = "given"
) -> Spectrum:
    """A spectrum from points (n,) of wavelength, nm, and relative power, straight lines between.

    Ascending wavelengths; what lies beyond them counts as no light. Raises FalloffError unless
    there are two points or more, ascending, reaching at least from 400 to 700 nm.
    """
    waves = np.asarray(wavelength_nm, dtype=np.float64)
    powers = np.asarray(relative, dtype=np.float64)
    checked_points(waves, powers, name)
    return Spectrum(on_grid(waves, powers, beyond_is_nought=True), name, source)


def checked_points(wavelength_nm: Floats, values: Floats, name: str) -> None:
    """Refuse points that do not make a curve over the visible: FalloffError says which."""
    if wavelength_nm.ndim != 1 or wavelength_nm.shape != values.shape or len(wavelength_nm) < 2:
        found = f"{wavelength_nm.shape} wavelengths, {values.shape} values"
    elif not np.all(np.diff(wavelength_nm) > 0.0):
        found = "wavelengths that do not ascend"
    elif wavelength_nm[0] > 400.0 or wavelength_nm[-1] < 700.0:
        found = f"{wavelength_nm[0]:g} to {wavelength_nm[-1]:g} nm"
    else:
        return
    raise FalloffError(
        Fault(
            "these points make no curve over the visible light",
            where=name,
            expected="as many values as wavelengths, ascending, from 400 nm or less to 700 or more",
            found=found,
        )
    )


def planckian(cct_kelvin: float) -> Spectrum:
    """Planck's law at a temperature, scaled to 1 at 560 nm; 1000 to 25000 K, or FalloffError."""
    xy_of_kelvin(cct_kelvin, locus="planckian")  # refuses what is out of range
    curve = _planck(GRID_NM, cct_kelvin, SECOND_RADIATION_CONSTANT_M_K)
    scale = _planck(np.array([560.0]), cct_kelvin, SECOND_RADIATION_CONSTANT_M_K)[0]
    return Spectrum(curve / scale, f"Planckian {cct_kelvin:g} K", "Planck's law, CODATA 2018")


def daylight_phase(cct_kelvin: float) -> Spectrum:
    """CIE daylight D of a colour temperature, 4000 to 25000 K, or FalloffError.

    Source: CIE 015:2018, section 4.1.2: S0 + M1 S1 + M2 S2, M1 and M2 to three decimals.
    """
    x, y = xy_of_kelvin(cct_kelvin, locus="daylight")
    below = 0.0241 + 0.2562 * x - 0.7341 * y
    first = round((-1.3515 - 1.7703 * x + 5.9114 * y) / below, 3)
    second = round((0.0300 - 31.4424 * x + 30.0717 * y) / below, 3)
    curve = np.array([1.0, first, second]) @ daylight_components()
    return Spectrum(np.maximum(curve, 0.0), f"CIE daylight {cct_kelvin:g} K", "CIE 015:2018")


def natural_spectrum(cct_kelvin: float) -> Spectrum:
    """What a light known by its kelvin alone is taken for: Planck's to 4000 K, daylight from there.

    1000 to 25000 K, or FalloffError. The choice is ours; see `xy_of_kelvin` on "auto".
    """
    if cct_kelvin < DAYLIGHT_FROM_CCT_KELVIN:
        return planckian(cct_kelvin)
    return daylight_phase(cct_kelvin)


def illuminant(name: str) -> Spectrum:
    """A CIE standard illuminant: A, E, D50 to D75, FL1 to FL12, HP1, LED-B1 to LED-V2, LED-RGB1.

    Raises FalloffError for another name. Source: CIE 015:2018; D by their nominal temperature
    times 1.4388/1.4380.
    """
    tables = illuminant_tables()
    if name in tables:
        return Spectrum(tables[name], name, "CIE 015:2018")
    if name == "E":
        return Spectrum(np.ones(_POINTS), "E", "CIE 015:2018")
    if name == "A":
        return Spectrum(_planck(GRID_NM, _A_KELVIN, _A_CONSTANT_M_K), "A", "CIE 015:2018")
    if name in ("D50", "D55", "D65", "D75"):
        phase = daylight_phase(100.0 * float(name[1:]) * 1.4388 / 1.4380)
        return Spectrum(phase.relative, name, "CIE 015:2018")
    raise FalloffError(
        Fault(
            "no such illuminant",
            where="illuminant",
            expected="A, E, D50, D55, D65, D75 or one of " + ", ".join(tables),
            found=repr(name),
        )
    )


def xyz_of_spectrum(spectrum: Spectrum) -> Floats:
    """CIE XYZ (3,) of a spectrum, in its own scale. Source: CIE 015:2018, sums at 1 nm."""
    return np.asarray(spectrum.relative @ observer_table()[:, 1:])


def xy_of_spectrum(spectrum: Spectrum) -> Floats:
    """CIE 1931 chromaticity (2,) of a spectrum."""
    return xy_from_xyz(xyz_of_spectrum(spectrum))


def colour_of_spectrum(spectrum: Spectrum) -> Floats:
    """Linear working-space channels (3,) of a spectrum, luminance 1; see `colour_of_xy`."""
    return colour_of_xy(xy_of_spectrum(spectrum))


def colour_of_xy(xy: ArrayLike) -> Floats:
    """Linear working-space channels (3,) of a chromaticity (2,), luminance 1.

    A colour outside BT.2020 is drawn towards white until no channel is negative, hue kept. Raises
    FalloffError where x and y are of no light.
    """
    x, y = checked_xy(xy)
    rgb = working_from_xyz(np.array([x / y, 1.0, (1.0 - x - y) / y]))
    if rgb.min() < 0.0:
        rgb = 1.0 + (rgb - 1.0) / (1.0 - rgb.min())
        rgb = np.maximum(rgb, 0.0)
    return rgb / luminance(rgb)


def mixed(parts: list[tuple[Spectrum, float]], *, name: str = "mixed") -> Spectrum:
    """Lights added up, each with its share of luminous flux or illuminance (0 or more).

    Shares may be of any scale. Raises FalloffError where they are negative or all nought.
    """
    if any(not share >= 0.0 for _, share in parts) or not sum(share for _, share in parts) > 0.0:
        raise FalloffError(
            Fault(
                "lights cannot be mixed in these shares",
                where=name,
                expected="shares of light, none negative, not all nought",
                found=str([share for _, share in parts]),
            )
        )
    total = sum(share * one.relative / xyz_of_spectrum(one)[1] for one, share in parts)
    return Spectrum(np.asarray(total), name, "sum of " + ", ".join(one.name for one, _ in parts))


def through(spectrum: Spectrum, transmittance: ArrayLike, *, name: str = "") -> Spectrum:
    """The light after something that passes or returns a share (471,) of each wavelength."""
    passed = spectrum.relative * np.asarray(transmittance, dtype=np.float64)
    return Spectrum(passed, name or spectrum.name, spectrum.source)


def visible_efficacy_lm_per_w(
    spectrum: Spectrum, *, from_nm: float = 360.0, to_nm: float = 830.0
) -> float:
    """Luminous efficacy of the radiation between two wavelengths, lm/W: 683 ∫VS dλ / ∫S dλ.

    The range matters, since red beyond sight is paid for too; 360 to 830 nm at most.
    """
    within = (from_nm <= GRID_NM) & (to_nm >= GRID_NM)
    power = spectrum.relative[within]
    seen = np.trapezoid(power * observer_table()[within, 2])
    return float(GREATEST_EFFICACY * seen / np.trapezoid(power))


def planckian_luminance_nit(temperature_kelvin: float) -> float:
    """Luminance of a black body, cd/m²; temperature above 0 K. Source: Planck's law, 683 lm/W."""
    waves_m = GRID_NM * 1e-9
    radiance = _FIRST_RADIATION_CONSTANT * waves_m**-5
    radiance = radiance / np.expm1(SECOND_RADIATION_CONSTANT_M_K / (waves_m * temperature_kelvin))
    return float(GREATEST_EFFICACY * 1e-9 * (radiance @ observer_table()[:, 2]))


def planckian_efficacy_lm_per_w(temperature_kelvin: float) -> float:
    """Lumens from each watt that a black body radiates at all wavelengths, lm/W; above 0 K."""
    total = _STEFAN_BOLTZMANN * temperature_kelvin**4
    return math.pi * planckian_luminance_nit(temperature_kelvin) / total


def _planck(waves_nm: Floats, temperature_kelvin: float, constant_m_k: float) -> Floats:
    waves_m = waves_nm * 1e-9
    within_range = COOLEST_CCT_KELVIN <= temperature_kelvin <= HOTTEST_CCT_KELVIN
    assert within_range  # the callers checked it
    return (waves_nm / 560.0) ** -5 / np.expm1(constant_m_k / (waves_m * temperature_kelvin))
