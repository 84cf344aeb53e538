"""A smooth filter that takes one light to another chromaticity.

Its optical density is a sum of two plain shapes: one proportional to 1/λ, which by Wien's law is
what moves a hot body's light in mired, and a band in the green, which is what green and magenta
dyes do. It stands for a filter of which only the shift is known.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from falloff.errors import FalloffError, Fault
from falloff.spectrum.chromaticity import checked_xy, uv_from_xy, xy_from_xyz
from falloff.spectrum.loci import observer_table
from falloff.spectrum.spectra import Spectrum
from falloff.spectrum.tables import GRID_NM

Floats = NDArray[np.float64]

# The green band: 545 nm, 100 nm wide at half its height; from memory of such dyes, generic.
_GREEN_NM, _GREEN_WIDTH_NM = 545.0, 100.0
_SHAPES: Final = np.array(
    [
        560.0 / GRID_NM - 1.0,
        np.exp(-4.0 * np.log(2.0) * ((GRID_NM - _GREEN_NM) / _GREEN_WIDTH_NM) ** 2),
    ]
)
_MOST_STEPS: Final = 60
_CLOSE_UV: Final = 1e-10


def steering_curve(spectrum: Spectrum, to_xy: ArrayLike) -> Floats:
    """The smooth relative transmittance (471,), 1 at 560 nm, that gives a light the chromaticity.

    Solved by Newton's steps to 1e-10 in u, v. Raises FalloffError where no such filter is found:
    the two colours are too far apart, or the light has none of what is wanted.
    """
    wanted = checked_xy(to_xy)
    target = uv_from_xy(wanted)
    amounts = np.zeros(2)
    uv, slope = _at(spectrum, amounts)
    for _ in range(_MOST_STEPS):
        missing = target - uv
        away = float(np.hypot(*missing))
        if away < _CLOSE_UV:
            return _curve(amounts)
        step = np.linalg.lstsq(slope, missing, rcond=None)[0]
        step *= min(1.0, 3.0 / float(np.abs(step).max()))
        for _ in range(20):
            uv, slope = _at(spectrum, amounts + step)
            if np.hypot(*(target - uv)) < away:
                break
            step *= 0.5
        amounts = amounts + step
    raise FalloffError(
        Fault(
            "no smooth filter takes this light to that colour",
            where=spectrum.name,
            found=f"wanted x {wanted[0]:.4f}, y {wanted[1]:.4f}",
            fix="give the filter's own transmission curve",
        )
    )


def _curve(amounts: Floats) -> Floats:
    density = amounts @ (_SHAPES - _SHAPES[:, GRID_NM == 560.0])
    return np.asarray(np.exp(-density))


def _at(spectrum: Spectrum, amounts: Floats) -> tuple[Floats, Floats]:
    """u, v (2,) of the light through so much of each shape, and their slopes (2, 2)."""
    weighted = (spectrum.relative * _curve(amounts))[:, np.newaxis] * observer_table()[:, 1:]
    xyz = weighted.sum(axis=0)
    change = -(_SHAPES @ weighted)  # (shape, XYZ)
    uv = uv_from_xy(xy_from_xyz(xyz))
    # u = 4X/(X + 15Y + 3Z), v = 6Y/(the same)
    below = float(xyz @ (1.0, 15.0, 3.0))
    tops = change[:, :2] * (4.0, 6.0)
    slope = (tops - (change @ (1.0, 15.0, 3.0))[:, np.newaxis] * uv) / below
    return uv, slope.T
