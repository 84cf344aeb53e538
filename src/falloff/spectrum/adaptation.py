"""White balance: what the camera makes neutral."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from falloff.spectrum.chromaticity import checked_xy
from falloff.spectrum.loci import Locus, xy_of_kelvin
from falloff.spectrum.temperature import cct_duv, xy_of_cct_duv
from falloff.spectrum.working_space import (
    D65_XY,
    WORKING_FROM_XYZ,
    XYZ_FROM_WORKING,
    xyz_from_xy,
)

Floats = NDArray[np.float64]

# Lam, K. M. (1985), the "Bradford" cone responses from XYZ, as printed in ICC.1:2010, annex E.
BRADFORD_FROM_XYZ: Final = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)


def white_balance(balance_kelvin: float, *, locus: Locus = "auto", tint_duv: float = 0.0) -> Floats:
    """The (3, 3) working-space matrix that makes a source of this colour temperature neutral.

    Apply as `rgb @ matrix.T`. A neutral under that source keeps its luminance. balance_kelvin:
    1000 to 25000 K; tint_duv: how far the neutral light lies from the locus towards green, which
    takes green out of the picture; below nought, magenta. Raises FalloffError outside the range.
    Source: Bradford adaptation to D65, ICC.1:2010 annex E.
    """
    xy = xy_of_kelvin(balance_kelvin, locus=locus)
    if tint_duv:
        xy = xy_of_cct_duv(balance_kelvin, cct_duv(xy).duv + tint_duv)
    return white_balance_of_xy(xy)


def white_balance_of_xy(balance_xy: ArrayLike) -> Floats:
    """The (3, 3) working-space matrix that makes a light of this chromaticity (2,) neutral.

    For a balance taken on a white card: the card's measured x and y. Raises FalloffError where x
    and y are of no light. Source: as `white_balance`.
    """
    adaptation = bradford_adaptation(checked_xy(balance_xy), D65_XY)
    return WORKING_FROM_XYZ @ adaptation @ XYZ_FROM_WORKING


def bradford_adaptation(from_xy: ArrayLike, to_xy: ArrayLike) -> Floats:
    """The (3, 3) matrix that adapts XYZ from one white to another, whites of equal luminance.

    Source: ICC.1:2010, annex E (linear Bradford).
    """
    cones_from = BRADFORD_FROM_XYZ @ xyz_from_xy(from_xy)
    cones_to = BRADFORD_FROM_XYZ @ xyz_from_xy(to_xy)
    scaled = (cones_to / cones_from)[:, np.newaxis] * BRADFORD_FROM_XYZ
    return np.linalg.solve(BRADFORD_FROM_XYZ, scaled)
