"""The histogram: how much of the frame is how light, in stops.

Bars of a sixth of a stop about middle grey and every sixth from it; up is the share of the frame.
Median and the levels that a twentieth of the frame lies under and over are marked in words, and
what lies past the camera's limits is told in per cent. docs/physics/waveform.md.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from falloff.camera.exposure import describe_key, describe_settings
from falloff.camera.lettering import Anchor, draw_words, with_words_below, words_width
from falloff.camera.levels import Levels, levels_of_stops, picture_stops
from falloff.camera.settings import CameraSettings
from falloff.camera.stops_scale import (
    GREY_LINE,
    GRID,
    INK,
    LIMIT_LINE,
    PAPER,
    QUIET_INK,
    StopsScale,
    hatch,
    per_cent,
    signed,
    stops_scale,
    whole,
)
from falloff.camera.view import Srgb8
from falloff.types import Float64Array

if TYPE_CHECKING:
    from PIL import Image

BARS_PER_STOP: Final = 6
_WIDTH_PX: Final = 960
_HEIGHT_PX: Final = 400
_TEXT_PX: Final = 15
_SMALLEST_STOP_PX: Final = 24
_BAR: Final = 196
_LEFT: Final[Anchor] = "left"
_RIGHT: Final[Anchor] = "right"
_MARK: Final = (112, 112, 112)
# The steps of the scale of shares, in per cent, of which the least that gives few enough is used.
_STEPS_PERCENT: Final = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 25.0)
_MOST_STEPS: Final = 6


@dataclass(frozen=True, slots=True)
class _Mark:
    """Words of a level, the share of them that stands left of it, the line that suits them."""

    words: str
    level_stops: float | None
    before: float
    line: int


@dataclass(frozen=True, slots=True)
class HistogramPlan:
    """Where things stand on a drawn histogram, in pixels from its upper left corner.

    left_px, top_px: the scale's low end, and the row of the greatest share that fits.
    height_px: from no share to the greatest. step_share, most_share: of the frame, 0 to 1.
    """

    scale: StopsScale
    left_px: int
    top_px: int
    height_px: int
    step_share: float
    most_share: float

    @property
    def bottom_px(self) -> int:
        """The row on which the bars stand."""
        return self.top_px + self.height_px

    @property
    def bar_px(self) -> int:
        """How wide a bar is, with the gap beside it."""
        return self.scale.stop_px // BARS_PER_STOP

    @property
    def sheet_px(self) -> int:
        """How wide the drawing is."""
        return self.left_px + self.scale.length_px + 3 * _TEXT_PX

    def column_of(self, stops: float) -> int:
        """The column of a level in stops over middle grey."""
        return self.left_px + self.scale.from_low_px(stops)

    def row_of(self, share: float) -> int:
        """The row of a share of the frame, held at the greatest that fits."""
        return self.bottom_px - round(min(share / self.most_share, 1.0) * self.height_px)


def draw_histogram(picture: NDArray[np.floating], settings: CameraSettings) -> Srgb8:
    """The luminance histogram of an exposed picture: (rows, columns, 3) sRGB.

    picture: (h, w, 3) linear working space, cd/m², of any size but none. Levels are of luminance
    before white balance, as in the stops map. Raises FalloffError for another shape and for
    light that is negative or not finite.
    """
    stops = picture_stops(picture, settings, where="draw_histogram")
    levels = levels_of_stops(stops, settings)
    plan, shares = _plan(stops, settings)
    sheet = np.full((plan.bottom_px + 1, plan.sheet_px), PAPER[0], dtype=np.uint8)
    _draw_scale(sheet, plan, settings)
    _draw_bars(sheet, plan, shares)
    return _with_words(sheet, plan, shares, levels, settings)


def histogram_shares(stops: Float64Array, scale: StopsScale) -> Float64Array:
    """The share of the frame in each bar, from the scale's low end to its high one; sum 1.

    stops: any shape. A bar reaches a twelfth of a stop to either side of its level; the first and
    last hold besides all that lies past the scale, the first what has no light.
    """
    bars = (scale.high - scale.low) * BARS_PER_STOP + 1
    place = np.rint((np.clip(stops, -1e3, 1e3) - scale.low) * BARS_PER_STOP)
    count = np.bincount(np.clip(place, 0, bars - 1).astype(np.intp).ravel(), minlength=bars)
    return np.asarray(count / stops.size)


def _plan(stops: Float64Array, settings: CameraSettings) -> tuple[HistogramPlan, Float64Array]:
    scale = stops_scale(settings, room_px=_WIDTH_PX, smallest_stop_px=_SMALLEST_STOP_PX)
    # A whole number of pixels a bar, so that no bar is wider than its neighbour.
    stop_px = BARS_PER_STOP * round(scale.stop_px / BARS_PER_STOP)
    scale = StopsScale(scale.low, scale.high, stop_px)
    shares = histogram_shares(stops, scale)
    # The bars at the ends gather much and are told in words: they may be cut off at the top.
    most = float(shares[1:-1].max()) or float(shares.max())
    step = next((s for s in _STEPS_PERCENT if s * _MOST_STEPS >= 100.0 * most), 25.0) / 100.0
    most = min(step * max(1, math.ceil(most / step - 1e-9)), 1.0)
    left = round(words_width("100 %", _TEXT_PX) + 1.4 * _TEXT_PX)
    return HistogramPlan(scale, left, round(6.0 * _TEXT_PX), _HEIGHT_PX, step, most), shares


def _draw_scale(sheet: NDArray[np.uint8], plan: HistogramPlan, settings: CameraSettings) -> None:
    rows = slice(plan.top_px, plan.bottom_px + 1)
    first, last = plan.left_px, plan.left_px + plan.scale.length_px
    over = plan.column_of(settings.highlight_stops)
    under = plan.column_of(-settings.shadow_stops)
    hatch(sheet[rows, over + 1 : last + 1], 9, crossed=True)
    hatch(sheet[rows, first:under], 9, crossed=False)
    for level in range(plan.scale.low, plan.scale.high + 1):
        sheet[rows, plan.column_of(level)] = GRID
    for index in range(_steps(plan) + 1):
        sheet[plan.row_of(index * plan.step_share), first : last + 1] = GRID
    sheet[rows, plan.column_of(0.0)] = GREY_LINE
    sheet[rows, over] = sheet[rows, under] = LIMIT_LINE
    sheet[plan.bottom_px, first : last + 1] = LIMIT_LINE


def _draw_bars(sheet: NDArray[np.uint8], plan: HistogramPlan, shares: Float64Array) -> None:
    half = plan.bar_px // 2
    for index, share in enumerate(shares):
        if share > 0.0:
            middle = plan.column_of(plan.scale.low + index / BARS_PER_STOP)
            # However small the share, a row of it is seen.
            top = min(plan.row_of(share), plan.bottom_px - 1)
            sheet[top : plan.bottom_px, middle - half : middle - half + plan.bar_px - 1] = _BAR


def _steps(plan: HistogramPlan) -> int:
    return round(plan.most_share / plan.step_share)


def _with_words(
    sheet: NDArray[np.uint8],
    plan: HistogramPlan,
    shares: Float64Array,
    levels: Levels,
    settings: CameraSettings,
) -> Srgb8:
    from PIL import Image

    height = sheet.shape[0] + round(1.9 * _TEXT_PX)
    image = Image.new("RGB", (sheet.shape[1], height), PAPER)
    image.paste(Image.fromarray(sheet.repeat(3).reshape(*sheet.shape, 3)), (0, 0))
    _letter_scales(image, plan)
    _letter_limits(image, plan, levels)
    _letter_ends(image, plan, shares)
    _mark_levels(image, plan, levels)
    what = (
        "share of the frame in each sixth of a stop over and under middle grey (18 % card at key)"
    )
    exposure = f"{describe_settings(settings)}, {describe_key(settings)}"
    sentences = ((what, INK), (exposure, QUIET_INK))
    return np.array(with_words_below(image, sentences, _TEXT_PX, paper=PAPER), dtype=np.uint8)


def _letter_scales(image: Image.Image, plan: HistogramPlan) -> None:
    drop = round(0.36 * _TEXT_PX)
    for level in plan.scale.marked(2.2 * _TEXT_PX):
        place = (float(plan.column_of(level)), plan.bottom_px + 1.3 * _TEXT_PX)
        draw_words(image, place, whole(level), _TEXT_PX, fill=INK, anchor="middle")
    for index in range(_steps(plan) + 1):
        share = index * plan.step_share
        place = (plan.left_px - 0.5 * _TEXT_PX, float(plan.row_of(share) + drop))
        draw_words(image, place, f"{100 * share:g} %", _TEXT_PX, fill=INK, anchor="right")


def _letter_limits(image: Image.Image, plan: HistogramPlan, levels: Levels) -> None:
    """The shares past the limits, above the ends of the scale."""
    row = plan.top_px - 4.6 * _TEXT_PX
    clipped = f"over the highlight limit: {per_cent(levels.clipped_share)}"
    dark = f"under the shadow limit: {per_cent(levels.dark_share)}"
    right = float(plan.left_px + plan.scale.length_px)
    draw_words(image, (right, row), clipped, _TEXT_PX, fill=INK, anchor="right")
    draw_words(image, (float(plan.left_px), row), dark, _TEXT_PX, fill=INK)


def _letter_ends(image: Image.Image, plan: HistogramPlan, shares: Float64Array) -> None:
    """The share of an end bar that is cut off at the top, beside it."""
    row = plan.top_px + 1.3 * _TEXT_PX
    for share, level, aside, anchor in (
        (float(shares[0]), plan.scale.low, plan.bar_px, _LEFT),
        (float(shares[-1]), plan.scale.high, -plan.bar_px, _RIGHT),
    ):
        if share > plan.most_share:
            place = (float(plan.column_of(level) + aside), row)
            draw_words(image, place, per_cent(share), _TEXT_PX, fill=INK, anchor=anchor)


def _mark_levels(image: Image.Image, plan: HistogramPlan, levels: Levels) -> None:
    """Median, 5 % and 95 %: a line down at each, and words above the scale that no line crosses."""
    from PIL import ImageDraw

    draw = ImageDraw.Draw(image)
    marks = (
        _Mark(_told("5 % of the frame under", levels.p5_stops), levels.p5_stops, 1.0, 0),
        _Mark(_told("5 % over", levels.p95_stops), levels.p95_stops, 0.0, 0),
        _Mark(_told("median", levels.median_stops), levels.median_stops, 0.5, 1),
    )
    taken: list[tuple[int, float, float]] = []
    words: list[tuple[float, float, _Mark]] = []
    for mark in marks:
        column = plan.column_of(_held(mark.level_stops, plan.scale))
        left, right = _span(mark, column, plan)
        line = next(
            n
            for n in range(mark.line, 4)
            if all(n != m or right + _TEXT_PX < a or b + _TEXT_PX < left for m, a, b in taken)
        )
        taken.append((line, left, right))
        row = plan.top_px - (0.7 + 1.3 * line) * _TEXT_PX
        words.append((left, row, mark))
        draw.line((column, row + 0.4 * _TEXT_PX, column, plan.bottom_px - 1), fill=_MARK, width=1)
    for left, row, mark in words:
        right = left + words_width(mark.words, _TEXT_PX)
        draw.rectangle((left - 3, row - _TEXT_PX, right + 3, row + 0.3 * _TEXT_PX), fill=PAPER)
        draw_words(image, (left, row), mark.words, _TEXT_PX, fill=INK)


def _told(words: str, level_stops: float | None) -> str:
    return f"{words}: no light" if level_stops is None else f"{words} {signed(level_stops)}"


def _held(level_stops: float | None, scale: StopsScale) -> float:
    level = scale.low if level_stops is None else level_stops
    return min(max(level, scale.low), scale.high)


def _span(mark: _Mark, column: int, plan: HistogramPlan) -> tuple[float, float]:
    """Left and right end of a mark's words: about its column, but not past the scale's ends."""
    width = words_width(mark.words, _TEXT_PX)
    aside = (0.5 - mark.before) * 0.8 * _TEXT_PX
    last = plan.left_px + plan.scale.length_px - width
    left = min(max(column - mark.before * width + aside, plan.left_px), last)
    return left, left + width
