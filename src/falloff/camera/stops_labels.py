"""Where the numbers of a stops map stand: on their lines, at spots, never on one another."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from falloff.camera.stops_field import LevelLine, local_range
from falloff.types import BoolArray, Float64Array

# A flat patch worth a number of its own: less than this many stops across.
_FLAT_STOPS: Final = 0.34
_MOST_SPOTS: Final = 12


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle about a centre, in pixels."""

    x: float
    y: float
    width: float
    height: float

    def meets(self, other: Box, gap: float) -> bool:
        """Whether the two are nearer than `gap` to one another."""
        apart_x = abs(self.x - other.x) - 0.5 * (self.width + other.width)
        apart_y = abs(self.y - other.y) - 0.5 * (self.height + other.height)
        return max(apart_x, apart_y) < gap

    def inside(self, width: float, height: float) -> bool:
        """Whether the box lies in a picture of this size, off its border."""
        half_x, half_y = 0.5 * self.width + 3.0, 0.5 * self.height + 3.0
        return half_x <= self.x <= width - half_x and half_y <= self.y <= height - half_y


@dataclass(slots=True)
class Sheet:
    """The picture as it fills up: its size in pixels, its lines and the boxes taken so far."""

    lines: BoolArray
    taken: list[Box] = field(default_factory=list)
    _sum: Float64Array | None = None

    @property
    def width(self) -> int:
        """Pixels across."""
        return int(self.lines.shape[1])

    @property
    def height(self) -> int:
        """Pixels down."""
        return int(self.lines.shape[0])

    def free(self, box: Box, gap: float) -> bool:
        """Whether the box lies in the picture and off every other."""
        if not box.inside(self.width, self.height):
            return False
        return not any(box.meets(other, gap) for other in self.taken)

    def line_pixels(self, box: Box) -> float:
        """How many pixels of lines the box would cover."""
        if self._sum is None:
            self._sum = np.pad(self.lines.astype(np.float64).cumsum(0).cumsum(1), ((1, 0), (1, 0)))
        left, right = self._ends(box.x, box.width, self.width)
        top, bottom = self._ends(box.y, box.height, self.height)
        total = self._sum
        return float(
            total[bottom, right] - total[top, right] - total[bottom, left] + total[top, left]
        )

    @staticmethod
    def _ends(middle: float, size: float, most: int) -> tuple[int, int]:
        low, high = np.clip(np.rint([middle - 0.5 * size, middle + 0.5 * size]), 0, most)
        return int(low), int(high)


def line_mask(lines: Iterable[LevelLine], shape: tuple[int, int]) -> BoolArray:
    """The pixels (h, w) that the lines pass through."""
    mask = np.zeros(shape, dtype=np.bool_)
    for line in lines:
        column, row = np.rint(line.points).astype(int).T
        mask[np.clip(row, 0, shape[0] - 1), np.clip(column, 0, shape[1] - 1)] = True
    return mask


def place_on_line(
    line: LevelLine, size_px: tuple[float, float], sheet: Sheet, *, spacing_px: float
) -> list[Box]:
    """Boxes for a line's number along it, about one every `spacing_px`; taken on the sheet.

    The best place covers least of other lines, lies on a straight and level run, and away from
    the line's ends. A line without a free place gets none.
    """
    count = max(1, round(line.length_px / spacing_px))
    placed: list[Box] = []
    for stretch in np.array_split(np.arange(len(line.points)), count):
        box = _best_on_stretch(
            line, stretch, size_px, sheet, [(b, 0.5 * spacing_px) for b in placed]
        )
        if box is not None:
            sheet.taken.append(box)
            placed.append(box)
    return placed


def _best_on_stretch(
    line: LevelLine,
    stretch: NDArray[np.intp],
    size_px: tuple[float, float],
    sheet: Sheet,
    away: list[tuple[Box, float]],
) -> Box | None:
    width, height = size_px
    best, least = None, np.inf
    step = max(1, len(stretch) // 24)
    for index in stretch[::step]:
        x, y = line.points[index]
        box = Box(float(x), float(y), width, height)
        if not sheet.free(box, gap=0.6 * height) or any(box.meets(b, gap) for b, gap in away):
            continue
        reach = max(3, int(width))
        ends = line.points[[max(index - reach, 0), min(index + reach, len(line.points) - 1)]]
        chord = float(np.hypot(*(ends[1] - ends[0])))
        # What a straight line through the box would cover, so that only foreign lines count.
        foreign = max(0.0, sheet.line_pixels(box) - width) / width
        bend = 1.0 - min(1.0, chord / (2.0 * reach))
        steep = abs(float(ends[1, 1] - ends[0, 1])) / max(chord, 1.0)
        middle = abs(index - stretch[len(stretch) // 2]) / max(len(stretch), 1)
        cost = 4.0 * foreign + bend + 0.3 * steep + 0.5 * middle
        if cost < least:
            best, least = box, cost
    return best


def place_spots(
    stops: Float64Array, barred: BoolArray, size_px: tuple[float, float], sheet: Sheet
) -> list[Box]:
    """Boxes for numbers in flat patches that no label speaks for; taken on the sheet.

    Each is put as far from other numbers as flat ground allows. barred: (h, w), no spot here.
    """
    width, height = size_px
    stride = max(4, round(height / 2))
    reach = max(3, round(height))
    flat = (local_range(stops, reach) < _FLAT_STOPS) & ~barred
    rows, columns = np.nonzero(flat[::stride, ::stride])
    points = np.stack([columns, rows], axis=1) * float(stride)
    points = points[[sheet.free(Box(x, y, width, height), 0.0) for x, y in points]]
    distance = np.full(len(points), np.inf)
    for box in sheet.taken:
        distance = np.minimum(distance, np.hypot(*(points - (box.x, box.y)).T))
    # The border pushes a little too, so that spots stand inside their patch.
    edge = np.min([*points.T, sheet.width - points[:, 0], sheet.height - points[:, 1]], axis=0)
    placed: list[Box] = []
    while len(placed) < _MOST_SPOTS and len(points):
        pick = int(np.argmax(np.minimum(distance, 3.0 * edge)))
        if min(distance[pick], 3.0 * edge[pick]) < max(1.6 * width, sheet.width / 12.0):
            break
        x, y = points[pick]
        box = Box(float(x), float(y), width, height)
        distance[pick] = -1.0
        if sheet.line_pixels(box) == 0.0 and sheet.free(box, 0.6 * height):
            sheet.taken.append(box)
            placed.append(box)
            distance = np.minimum(distance, np.hypot(*(points - (x, y)).T))
    return placed
