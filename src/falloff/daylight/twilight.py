"""Light on open ground from a low or sunken sun and from the moon, under a clear sky.

log10 E = l0 + l1 x + l2 x² + l3 x³, E in lx, x the altitude of the middle without air over 90°.
Source: Janiczek and DeYoung (1987), Computer Programs for Sun and Moon Illuminance, US Naval
Observatory Circular 171; its figures are from memory. They agree with 3.4 lx at the end of civil
twilight, 0.008 lx at that of nautical twilight and a quarter of a lux of full moon (tests).
"""

from __future__ import annotations

import functools
import math
from typing import Final

import numpy as np

from falloff.daylight.place import MoonPlace
from falloff.types import Float64Array

_Piece = tuple[float, tuple[float, float, float, float]]
# From which altitude (degrees) up to the next row's; the polynomial's coefficients.
_SUN: Final[tuple[_Piece, ...]] = (
    (20.0, (3.74, 3.97, -4.07, 1.47)),
    (5.0, (3.05, 13.28, -45.98, 64.33)),
    (-0.8, (2.88, 22.26, -207.64, 1034.30)),
    (-5.0, (2.88, 21.81, -258.11, -858.36)),
    (-12.0, (2.70, 12.17, -431.69, -1899.83)),
    (-18.0, (13.84, 262.72, 1447.42, 2797.93)),
)
_MOON: Final[tuple[_Piece, ...]] = (
    (20.0, (-1.95, 4.06, -4.24, 1.56)),
    (5.0, (-2.58, 12.58, -42.58, 59.06)),
    (-0.8, (-2.79, 24.27, -252.95, 1321.29)),
)
# Under the lowest row the light falls on at this slope of log10 E for each degree: ours.
_FADING: Final = 0.6
# From memory: a moonless clear night, stars and the glow of the air, 0.6 to 2 mlx.
NIGHT_LUX: Final = 0.001

_STEP_DEG: Final = 0.05
_TABLE_DEG: Final = np.arange(-90.0, 90.0 + 0.5 * _STEP_DEG, _STEP_DEG)
_SPREAD: Final = 13  # table rows over which the pieces are drawn into each other, 0.65°


def sun_twilight_lux(geometric_rad: float) -> float:
    """Of the sun, direct and by the sky, on open level ground; the altitude without air.

    −π/2 to π/2; meant for a sun under 20°. It never grows while the sun sinks: the pieces are
    drawn into each other by a running mean over 0.65°, which is ours.
    """
    return _read(_sun_table(), math.degrees(geometric_rad))


def moonlight_lux(moon: MoonPlace) -> float:
    """Of the moon, direct and by the sky, on open level ground under a clear sky."""
    full = _read(_moon_table(), math.degrees(moon.geometric_rad))
    phase_deg = math.degrees(moon.phase_rad)
    fading = 10.0 ** (-0.00868 * phase_deg - 2.2e-9 * phase_deg**4)
    return float(full * fading / moon.distance_over_mean**2)


def _read(table: Float64Array, altitude_deg: float) -> float:
    return float(10.0 ** np.interp(altitude_deg, _TABLE_DEG, table))


@functools.cache
def _sun_table() -> Float64Array:
    return _drawn_together(_SUN)


@functools.cache
def _moon_table() -> Float64Array:
    return _drawn_together(_MOON)


def _drawn_together(pieces: tuple[_Piece, ...]) -> Float64Array:
    """log10 of lx at the table's altitudes."""
    raw = np.array([_log_lux(pieces, float(h)) for h in _TABLE_DEG])
    reach = _SPREAD // 2
    padded = np.pad(raw, reach, mode="edge")
    smooth = np.convolve(padded, np.full(_SPREAD, 1.0 / _SPREAD), mode="valid")
    return np.asarray(np.maximum.accumulate(smooth))


def _log_lux(pieces: tuple[_Piece, ...], altitude_deg: float) -> float:
    for lowest_deg, (l0, l1, l2, l3) in pieces:
        if altitude_deg >= lowest_deg:
            x = altitude_deg / 90.0
            return l0 + x * (l1 + x * (l2 + x * l3))
    lowest_deg, _ = pieces[-1]
    return _log_lux(pieces, lowest_deg) - _FADING * (lowest_deg - altitude_deg)
