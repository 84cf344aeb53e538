"""The scale of stops over and under middle grey that waveform and histogram are drawn on."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from falloff.camera.lettering import MINUS
from falloff.camera.settings import CameraSettings
from falloff.units import format_stops_tenths

# Whole stops drawn past each of the camera's limits, so that what is lost is seen as well.
_STOPS_PAST_LIMITS: Final = 2

# The greys of a drawn sheet, sRGB.
PAPER: Final = (24, 24, 24)
INK: Final = (222, 222, 222)
QUIET_INK: Final = (168, 168, 168)
_NO_BREAK: Final = "\u00a0"
_HATCHING: Final = 62
GRID: Final = 46
GREY_LINE: Final = 120
LIMIT_LINE: Final = 150


@dataclass(frozen=True, slots=True)
class StopsScale:
    """Whole stops from `low` to `high`, and how many pixels one of them takes."""

    low: int
    high: int
    stop_px: int

    @property
    def length_px(self) -> int:
        """Pixels from the low end to the high end."""
        return (self.high - self.low) * self.stop_px

    def from_low_px(self, stops: float) -> int:
        """The pixel of a level, counted from the low end."""
        return round((stops - self.low) * self.stop_px)

    def from_high_px(self, stops: float) -> int:
        """The pixel of a level, counted from the high end."""
        return self.length_px - self.from_low_px(stops)

    def marked(self, room_px: float) -> list[int]:
        """The whole stops that get a number, each of which needs so much room; 0 always does."""
        step = next((n for n in (1, 2, 3, 4, 6) if n * self.stop_px >= room_px), 8)
        return [n for n in range(self.low, self.high + 1) if n % step == 0]


def stops_scale(settings: CameraSettings, *, room_px: int, smallest_stop_px: int) -> StopsScale:
    """A scale past both limits of the camera, as near to the room as whole pixels a stop allow."""
    low = -math.ceil(settings.shadow_stops) - _STOPS_PAST_LIMITS
    high = math.ceil(settings.highlight_stops) + _STOPS_PAST_LIMITS
    return StopsScale(low, high, max(smallest_stop_px, room_px // (high - low)))


def hatch(area: NDArray[np.uint8], spacing_px: int, *, crossed: bool) -> None:
    """Draw slanted lines over an area (h, w) in place, one way or both."""
    row, column = np.ogrid[: area.shape[0], : area.shape[1]]
    lines = (row + column) % round(1.6 * spacing_px) < 1
    if crossed:
        lines = lines | ((row - column) % round(1.6 * spacing_px) < 1)
    area[lines] = np.maximum(area[lines], _HATCHING)


def whole(level: int) -> str:
    """A whole level with its sign and a true minus: "+2", "−1" or "0"."""
    return f"{level:+d}".replace("-", MINUS) if level else "0"


def signed(stops: float | None) -> str:
    """A level to a tenth of a stop with a true minus, "+1.3", "−0.4" or "0.0"; or "no light"."""
    level = -math.inf if stops is None else stops
    return format_stops_tenths(level).replace("-", MINUS)


def per_cent(share: float) -> str:
    """A share of the frame: "12 %", "0.3 %", "under 0.1 %" or "none"."""
    percent = 100.0 * share
    if percent <= 0.0:
        return "none"
    if percent < 0.1:
        return f"under 0.1{_NO_BREAK}%"
    return f"{percent:.1f}{_NO_BREAK}%" if percent < 9.95 else f"{percent:.0f}{_NO_BREAK}%"
