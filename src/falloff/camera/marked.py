"""What lenses, cameras and filters are marked with, and the stops of light that each needs."""

from __future__ import annotations

import math
from typing import Final

# T-stops as they are engraved, in thirds; ISO 517 lists the whole ones, the rest from memory.
T_NUMBERS_MARKED: Final = (
    1.0, 1.1, 1.3, 1.4, 1.6, 1.8, 2.0, 2.2, 2.5, 2.8, 3.2, 3.5, 4.0, 4.5, 5.0, 5.6, 6.3, 7.1, 8.0,
    9.0, 10.0, 11.0, 13.0, 14.0, 16.0, 18.0, 20.0, 22.0,
)  # fmt: skip
# Exposure indices in thirds of a stop, as ISO 12232 rounds them (from memory).
ISO_MARKED: Final = (
    50, 64, 80, 100, 125, 160, 200, 250, 320, 400, 500, 640, 800, 1000, 1250, 1600, 2000, 2500,
    3200, 4000, 5000, 6400, 8000, 10000, 12800, 16000, 20000, 25600,
)  # fmt: skip
# Neutral density as it is sold, by its density, a stop apart: common practice, no source.
ND_SOLD: Final = (0.0, 0.3, 0.6, 0.9, 1.2, 1.5, 1.8, 2.1, 2.4)


def stops_of_t_number(t_number: float) -> float:
    """Stops of light that a T-number needs over T1: 2·log2 of it; above 0."""
    return 2.0 * math.log2(t_number)


def stops_of_iso(iso: float) -> float:
    """Stops of light that an exposure index, above 0, needs over ISO 100."""
    return -math.log2(iso / 100.0)
