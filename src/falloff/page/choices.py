"""What a setup's settings can be set to, with the stops of light that each needs."""

from __future__ import annotations

import functools
import math
from typing import Any, Final

import numpy as np

from falloff.constants import LUMINANCE_WEIGHTS
from falloff.spectrum import SRGB_LINEAR_FROM_WORKING, white_balance

# T-stops as they are engraved, in thirds; ISO 517 lists the whole ones, the rest from memory.
_STOPS: Final = (
    1.0, 1.1, 1.3, 1.4, 1.6, 1.8, 2.0, 2.2, 2.5, 2.8, 3.2, 3.5, 4.0, 4.5, 5.0, 5.6, 6.3, 7.1, 8.0,
    9.0, 10.0, 11.0, 13.0, 14.0, 16.0, 18.0, 20.0, 22.0,
)  # fmt: skip
# Exposure indices in thirds of a stop, as ISO 12232 rounds them (from memory).
_ISO: Final = (
    50, 64, 80, 100, 125, 160, 200, 250, 320, 400, 500, 640, 800, 1000, 1250, 1600, 2000, 2500,
    3200, 4000, 5000, 6400, 8000, 10000, 12800, 16000, 20000, 25600,
)  # fmt: skip
# Neutral density as it is sold, by its density: common practice, no source.
_DENSITIES: Final = (0.0, 0.3, 0.6, 0.9, 1.2, 1.5, 1.8, 2.1)
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
            "stop": [[f"T{number:g}", stops_of_t_number(number)] for number in _STOPS],
            "iso": [[str(index), stops_of_iso(index)] for index in _ISO],
            "nd": [[_density(density), density / math.log10(2.0)] for density in _DENSITIES],
            "shutter": [[f"{angle:g} deg", stops_of_shutter(angle / 360.0)] for angle in _ANGLES],
        },
    }


def stops_of_t_number(t_number: float) -> float:
    """Stops of light that a T-number needs over T1: 2·log2 of it."""
    return 2.0 * math.log2(t_number)


def stops_of_iso(iso: float) -> float:
    """Stops of light that an exposure index needs over ISO 100."""
    return -math.log2(iso / 100.0)


def stops_of_shutter(open_share: float) -> float:
    """Stops of light that a shutter open for a share of the frame's time needs over an open one."""
    return -math.log2(open_share)


def _density(density: float) -> str:
    return f"ND {density:.1f}" if density else "0 stops"  # a bare number could be a factor


def _flat(matrix: np.ndarray) -> list[float]:
    return [float(value) for value in np.asarray(matrix).ravel()]
