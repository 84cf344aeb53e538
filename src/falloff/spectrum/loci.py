"""The colour of a source known by its colour temperature alone.

Three loci: Planck's, CIE daylight, and "auto", which is Planck's up to 4000 K (tungsten, flame,
warm LED), daylight from 5000 K (daylight, daylight LED), and between the two a smooth passage.
"""

from __future__ import annotations

import functools
from importlib import resources
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from falloff.errors import FalloffError, Fault
from falloff.spectrum.chromaticity import uv_from_xy, xy_from_uv
from falloff.spectrum.working_space import luminance, working_from_xyz, xyz_from_xy

Locus = Literal["auto", "planckian", "daylight"]
Floats = NDArray[np.float64]

# Second radiation constant hc/k in m·K: exact since the SI of 2019 (CODATA 2018).
SECOND_RADIATION_CONSTANT_M_K: Final = 1.438776877e-2

COOLEST_CCT_KELVIN: Final = 1000.0
HOTTEST_CCT_KELVIN: Final = 25000.0
# The CIE daylight formula begins at 4000 K (CIE 015:2018, section 4.1.2).
DAYLIGHT_FROM_CCT_KELVIN: Final = 4000.0
# Where "auto" leaves Planck's locus and where it has reached daylight: our choice.
PASSAGE_CCT_KELVIN: Final = (4000.0, 5000.0)


def colour_of_kelvin(cct_kelvin: float, *, locus: Locus = "auto") -> Floats:
    """Linear working-space channels (3,) of a source of this colour temperature, luminance 1.

    cct_kelvin: 1000 to 25000 K ("daylight": 4000 to 25000 K). Colours below about 1100 K lie a
    hair outside BT.2020; their blue is set to nought, never negative. Raises FalloffError outside
    the range. Source: see `xy_of_kelvin`.
    """
    rgb = np.maximum(working_from_xyz(xyz_from_xy(xy_of_kelvin(cct_kelvin, locus=locus))), 0.0)
    return rgb / luminance(rgb)


def xy_of_kelvin(cct_kelvin: float, *, locus: Locus = "auto") -> Floats:
    """CIE 1931 chromaticity (2,) of this colour temperature on a locus.

    Raises FalloffError outside 1000 to 25000 K, below 4000 K for "daylight", and for another
    locus. Source: Planck's law with the CIE 1931 2° observer (CIE 015:2018), 360–830 nm at 1 nm;
    CIE daylight locus, CIE 015:2018 section 4.1.2. "auto" between 4000 and 5000 K: the two are
    mixed in CIE 1960 (u, v), where lines of equal colour temperature cross Planck's locus square,
    by a smooth step in mired; so it is continuous and so is its slope.
    """
    _check(cct_kelvin, locus)
    if locus == "planckian":
        return _planckian_xy(cct_kelvin)
    if locus == "daylight":
        return _daylight_xy(cct_kelvin)
    share = _daylight_share(cct_kelvin)
    if share <= 0.0:
        return _planckian_xy(cct_kelvin)
    if share >= 1.0:
        return _daylight_xy(cct_kelvin)
    planckian_uv = uv_from_xy(_planckian_xy(cct_kelvin))
    daylight_uv = uv_from_xy(_daylight_xy(cct_kelvin))
    return xy_from_uv(planckian_uv + share * (daylight_uv - planckian_uv))


@functools.cache
def observer_table() -> Floats:
    """The CIE 1931 2° observer as shipped: (471, 4) rows of wavelength in nm, x̄, ȳ, z̄."""
    data = resources.files("falloff.spectrum") / "data" / "cie_1931_2_degree.csv"
    with data.open(encoding="ascii") as lines:
        table = np.loadtxt(lines, delimiter=",", skiprows=1, dtype=np.float64)
    table.setflags(write=False)
    return table


def _planckian_xy(cct_kelvin: float) -> Floats:
    table = observer_table()
    # λ: wavelength, m. The scale of the spectrum does not matter to x and y.
    λ = table[:, 0] * 1e-9
    spectrum = λ**-5 / np.expm1(SECOND_RADIATION_CONSTANT_M_K / (λ * cct_kelvin))
    xyz = spectrum @ table[:, 1:]
    return np.asarray(xyz[:2] / xyz.sum())


def _daylight_xy(cct_kelvin: float) -> Floats:
    inverse = 1.0 / cct_kelvin
    if cct_kelvin <= 7000.0:
        coefficients = (-4.6070e9, 2.9678e6, 0.09911e3, 0.244063)
    else:
        coefficients = (-2.0064e9, 1.9018e6, 0.24748e3, 0.237040)
    x = float(np.polyval(coefficients, inverse))
    return np.array([x, -3.0 * x * x + 2.870 * x - 0.275])


def _daylight_share(cct_kelvin: float) -> float:
    start, end = (1e6 / limit for limit in PASSAGE_CCT_KELVIN)
    t = min(max((1e6 / cct_kelvin - start) / (end - start), 0.0), 1.0)
    return t * t * (3.0 - 2.0 * t)


def _check(cct_kelvin: float, locus: str) -> None:
    if locus not in ("auto", "planckian", "daylight"):
        raise FalloffError(
            Fault(
                "no such locus of colour temperatures",
                where="locus",
                expected="auto, planckian or daylight",
                found=repr(locus),
            )
        )
    coolest = DAYLIGHT_FROM_CCT_KELVIN if locus == "daylight" else COOLEST_CCT_KELVIN
    if not coolest <= cct_kelvin <= HOTTEST_CCT_KELVIN:
        raise FalloffError(
            Fault(
                "a colour temperature outside the range that we can turn into a colour",
                where="colour temperature",
                expected=f"{coolest:g} K to {HOTTEST_CCT_KELVIN:g} K",
                found=f"{cct_kelvin:g} K",
                fix="tungsten is near 3200 K, daylight near 5600 K; give strong colours as "
                "channels or a gel instead",
            )
        )
