"""Colour temperature and Duv of any light, and back to a chromaticity."""

from __future__ import annotations

import functools
import math
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from falloff.errors import FalloffError, Fault
from falloff.spectrum.chromaticity import checked_xy, uv_from_xy, xy_from_uv, xy_from_xyz
from falloff.spectrum.loci import (
    COOLEST_CCT_KELVIN,
    HOTTEST_CCT_KELVIN,
    SECOND_RADIATION_CONSTANT_M_K,
    observer_table,
)
from falloff.spectrum.spectra import Spectrum, xy_of_spectrum
from falloff.units import Kelvin

Floats = NDArray[np.float64]

# CIE 015:2018, section 9.4: farther from Planck's locus a colour temperature has no meaning.
FARTHEST_DUV: Final = 0.05
# The table reaches a little farther than answers do, in mired: 33333 K to 909 K, 1 mired apart.
_TABLE_MIRED: Final = np.arange(30.0, 1101.0, 1.0)
_STEP_MIRED: Final = 0.05  # for slopes; their error is far below the rounding of the observer


class ColourTemperature(NamedTuple):
    """CCT, kelvin, or None where there is none; and Duv, above nought on the green side.

    Duv: the distance from Planck's locus in CIE 1960 u, v, measured also where there is no CCT.
    """

    cct_kelvin: Kelvin | None
    duv: float


def cct_duv(light: ArrayLike | Spectrum) -> ColourTemperature:
    """Correlated colour temperature and Duv of a chromaticity (2,) or a spectrum.

    Valid from 1000 to 25000 K and |Duv| to 0.05; beyond either the CCT is None. Raises
    FalloffError where x and y are of no light. Source: CIE 015:2018, sections 9.4 and 9.5: the
    nearest point of Planck's locus in CIE 1960 u, v; Duv as in Ohno, Y. (2014), LEUKOS 10(1),
    47-55, whose table method this is, with steps of Newton's in place of his parabola.
    """
    xy = xy_of_spectrum(light) if isinstance(light, Spectrum) else checked_xy(light)
    uv = uv_from_xy(xy)
    away = np.hypot(*(_table_uv() - uv).T)
    start = float(_TABLE_MIRED[int(np.argmin(away))])
    mired = _nearest_mired(uv, start)
    place, slope, _ = _locus(mired)
    offset = uv - place
    duv = float(slope[0] * offset[1] - slope[1] * offset[0]) / math.hypot(*slope)
    kelvin = 1e6 / mired
    slack = 1.0 + 1e-6
    inside = COOLEST_CCT_KELVIN / slack <= kelvin <= HOTTEST_CCT_KELVIN * slack
    if not inside:
        duv = math.copysign(float(math.hypot(*offset)), duv)
    known = inside and abs(duv) <= FARTHEST_DUV
    return ColourTemperature(Kelvin(kelvin) if known else None, duv)


def xy_of_cct_duv(cct_kelvin: float, duv: float) -> Floats:
    """The chromaticity (2,) with this CCT and Duv: the inverse of `cct_duv`.

    cct_kelvin: 1000 to 25000 K; |duv| to 0.05. Raises FalloffError otherwise, and where no light
    has that colour. Source: as `cct_duv`.
    """
    inside = COOLEST_CCT_KELVIN <= cct_kelvin <= HOTTEST_CCT_KELVIN and abs(duv) <= FARTHEST_DUV
    if not inside:
        raise FalloffError(
            Fault(
                "no colour is told by this colour temperature and Duv",
                where="colour temperature and Duv",
                expected=f"{COOLEST_CCT_KELVIN:g} K to {HOTTEST_CCT_KELVIN:g} K, "
                f"Duv {-FARTHEST_DUV:g} to {FARTHEST_DUV:g}",
                found=f"{cct_kelvin:g} K, Duv {duv:g}",
                fix="give strong colours as x and y, or as a spectrum",
            )
        )
    place, slope, _ = _locus(1e6 / cct_kelvin)
    across = np.array([-slope[1], slope[0]]) / math.hypot(*slope)
    return checked_xy(xy_from_uv(place + duv * across))


def _nearest_mired(uv: Floats, start_mired: float) -> float:
    """Newton's steps to where the locus is nearest, held within the table."""
    mired = start_mired
    for _ in range(8):
        place, slope, bend = _locus(mired)
        offset = uv - place
        # Far inside the bend the second derivative may turn; then Gauss's step alone.
        below = float(slope @ slope - offset @ bend)
        below = below if below > 0.0 else float(slope @ slope)
        step = float(np.clip(offset @ slope / below, -20.0, 20.0))
        mired = float(np.clip(mired + step, _TABLE_MIRED[0], _TABLE_MIRED[-1]))
        if abs(step) < 1e-9:
            break
    return mired


def _locus(mired: float) -> tuple[Floats, Floats, Floats]:
    """Planck's locus in u, v at a mired, with its first and second derivative, each (2,)."""
    before, here, after = _planckian_uv(mired + np.array([-_STEP_MIRED, 0.0, _STEP_MIRED]))
    slope = (after - before) / (2.0 * _STEP_MIRED)
    bend = (after - 2.0 * here + before) / _STEP_MIRED**2
    return here, slope, bend


@functools.cache
def _table_uv() -> Floats:
    return _planckian_uv(_TABLE_MIRED)


def _planckian_uv(mired: Floats) -> Floats:
    """CIE 1960 u, v (n, 2) of Planck's law at mireds (n,)."""
    observer = observer_table()
    waves_m = observer[:, 0] * 1e-9
    exponent = np.outer(mired, SECOND_RADIATION_CONSTANT_M_K * 1e-6 / waves_m)
    # Divided by its value at 560 nm, so that cold bodies do not vanish.
    middle = (SECOND_RADIATION_CONSTANT_M_K * 1e-6 / 560e-9) * mired[:, np.newaxis]
    power = (waves_m / 560e-9) ** -5 * np.exp(middle - exponent) / -np.expm1(-exponent)
    return uv_from_xy(xy_from_xyz(power @ observer[:, 1:]))
