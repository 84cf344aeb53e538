"""What a setup's settings can be set to, with the stops of light that each needs."""

from __future__ import annotations

import functools
import math
from typing import Any, Final

import numpy as np

from falloff.camera.marked import (
    ISO_MARKED,
    ND_SOLD,
    T_NUMBERS_MARKED,
    stops_of_iso,
    stops_of_t_number,
)
from falloff.constants import LUMINANCE_WEIGHTS
from falloff.spectrum import SRGB_LINEAR_FROM_WORKING, white_balance
from falloff.units import stops_from_density

# Shutter angles that crews set: common practice, no source.
_ANGLES: Final = (22.5, 45.0, 90.0, 120.0, 144.0, 150.0, 172.8, 180.0, 216.0, 270.0, 360.0)
_KELVINS: Final = tuple(range(2000, 12001, 100))


@functools.cache
def tables() -> dict[str, Any]:
    """The part of the tree that hangs on no scene."""
    return {
        "luminance": [float(weight) for weight in LUMINANCE_WEIGHTS],
        "srgb": _flat(SRGB_LINEAR_FROM_WORKING),
        "balances": {
            "kelvin": list(_KELVINS),
            "matrices": [_flat(white_balance(float(kelvin))) for kelvin in _KELVINS],
        },
        "choices": {
            "stop": [[f"T{number:g}", stops_of_t_number(number)] for number in T_NUMBERS_MARKED],
            "iso": [[str(index), stops_of_iso(index)] for index in ISO_MARKED],
            "nd": [[_density(one), float(stops_from_density(one))] for one in ND_SOLD],
            "shutter": [[f"{angle:g} deg", stops_of_shutter(angle / 360.0)] for angle in _ANGLES],
        },
    }


def stops_of_shutter(open_share: float) -> float:
    """Stops of light that a shutter open for a share of the frame's time needs over an open one."""
    return -math.log2(open_share)


def _density(density: float) -> str:
    return f"ND {density:.1f}" if density else "0 stops"  # a bare number could be a factor


def _flat(matrix: np.ndarray) -> list[float]:
    return [float(value) for value in np.asarray(matrix).ravel()]
