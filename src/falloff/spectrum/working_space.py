"""The working space: linear ITU-R BT.2020 primaries, D65, scaled in cd/m² or lux."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from falloff.constants import LUMINANCE_WEIGHTS
from falloff.errors import FalloffError, Fault

Floats = NDArray[np.float64]

# ITU-R BT.2020-2 (2015), table 3: primaries and reference white (CIE 1931 x, y).
BT2020_PRIMARIES_XY: Final = ((0.708, 0.292), (0.170, 0.797), (0.131, 0.046))
# ITU-R BT.709-6 (2015), table 1; IEC 61966-2-1 (sRGB) has the same primaries and white.
BT709_PRIMARIES_XY: Final = ((0.640, 0.330), (0.300, 0.600), (0.150, 0.060))
D65_XY: Final = (0.3127, 0.3290)


def xyz_from_xy(xy: ArrayLike, *, luminance_nit: float = 1.0) -> Floats:
    """Tristimulus values (..., 3) of the chromaticities (..., 2) at one luminance.

    Valid for y > 0. Raises FalloffError otherwise. Source: CIE 015:2018, definition of x and y.
    """
    values = np.asarray(xy, dtype=np.float64)
    x, y = values[..., 0], values[..., 1]
    if not (np.all(np.isfinite(values)) and np.all(y > 0.0)):
        raise FalloffError(
            Fault(
                "a chromaticity needs finite x and y, with y above nought",
                where="xyz_from_xy",
                found=str(values.tolist()),
                fix="give CIE 1931 x and y, such as 0.3127 and 0.3290 for D65",
            )
        )
    return luminance_nit * np.stack([x / y, np.ones_like(y), (1.0 - x - y) / y], axis=-1)


def xyz_from_primaries(
    primaries_xy: tuple[tuple[float, float], ...], white_xy: tuple[float, float]
) -> Floats:
    """The (3, 3) matrix that takes linear channels of these primaries to CIE XYZ.

    The columns are the primaries, scaled so that (1, 1, 1) is the white at luminance 1.
    Source: SMPTE RP 177:1993, section 3.3 (from memory).
    """
    columns = xyz_from_xy(primaries_xy).T
    scale = np.linalg.solve(columns, xyz_from_xy(white_xy))
    return columns * scale


def _read_only(array: NDArray[np.floating]) -> Floats:
    values = np.asarray(array, dtype=np.float64)
    values.setflags(write=False)
    return values


XYZ_FROM_WORKING: Final = _read_only(xyz_from_primaries(BT2020_PRIMARIES_XY, D65_XY))
WORKING_FROM_XYZ: Final = _read_only(np.linalg.inv(XYZ_FROM_WORKING))
SRGB_LINEAR_FROM_WORKING: Final = _read_only(
    np.linalg.solve(xyz_from_primaries(BT709_PRIMARIES_XY, D65_XY), XYZ_FROM_WORKING)
)
_WEIGHTS: Final = _read_only(np.array(LUMINANCE_WEIGHTS))


def xyz_from_working(rgb: ArrayLike) -> Floats:
    """CIE XYZ (..., 3) of working-space colours (..., 3), in the same luminance unit."""
    return np.asarray(rgb) @ XYZ_FROM_WORKING.T


def working_from_xyz(xyz: ArrayLike) -> Floats:
    """Working-space colours (..., 3) of CIE XYZ (..., 3); out-of-gamut ones have a negative."""
    return np.asarray(xyz) @ WORKING_FROM_XYZ.T


def working_to_srgb_linear(rgb: ArrayLike) -> Floats:
    """Linear BT.709/sRGB channels (..., 3) of working-space colours (..., 3), not clipped."""
    return np.asarray(rgb) @ SRGB_LINEAR_FROM_WORKING.T


def luminance(rgb: ArrayLike) -> Floats:
    """The luminance-weighted sum (...) of working-space colours (..., 3): cd/m², lux or a ratio.

    Source: ITU-R BT.2020-2, table 3 (weights 0.2627, 0.6780, 0.0593).
    """
    values = np.asarray(rgb)
    weights = _WEIGHTS.astype(values.dtype) if values.dtype == np.float32 else _WEIGHTS
    result: Floats = values @ weights
    return result


def tint_to_reflectance(reflectance: float, tint: ArrayLike) -> Floats:
    """The three channel reflectances (3,) of a surface of one luminous reflectance and a tint.

    reflectance: luminous reflectance under D65, 0 to 1. tint: linear working-space channels (3,),
    none negative, of any scale; only their ratios count. The result has exactly that luminous
    reflectance; where the tint would need a channel above 1 its saturation is lowered, hue kept,
    until the greatest channel is 1. Raises FalloffError for a reflectance outside 0 to 1 and for
    a tint that is black, negative or not three numbers.
    """
    channels = _checked_tint(tint)
    if not 0.0 <= reflectance <= 1.0:
        raise FalloffError(
            Fault(
                "no surface returns more light than it gets, or less than none",
                where="reflectance",
                expected="0 to 1",
                found=f"{reflectance:g}",
                fix="write per cent as a fraction: 80 % is 0.8",
            )
        )
    full = channels * (reflectance / float(luminance(channels)))
    excess = float(full.max()) - reflectance
    room = 1.0 - reflectance
    keep = 1.0 if excess <= room else room / excess
    return np.clip(reflectance + keep * (full - reflectance), 0.0, 1.0)


def _checked_tint(tint: ArrayLike) -> Floats:
    channels = np.asarray(tint, dtype=np.float64)
    good = channels.shape == (3,) and np.all(np.isfinite(channels)) and np.all(channels >= 0.0)
    if not (good and channels.max() > 0.0):
        raise FalloffError(
            Fault(
                "a tint is three channels, none negative and not all nought",
                where="tint",
                expected="three numbers, such as 1, 0.9, 0.8",
                found=str(channels.tolist()),
                fix="give linear red, green and blue; only their ratios count",
            )
        )
    return channels
