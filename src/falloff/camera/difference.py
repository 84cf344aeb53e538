"""Before and after: two exposed pictures side by side, and what changed between them in stops.

The change is of light, cd/m² against cd/m², whatever the two cameras' settings are; if the second
exposes differently that is told in words. What both pictures show as black has not changed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import msgspec
import numpy as np
from numpy.typing import NDArray

from falloff.camera.exposure import describe_settings, mid_grey_luminance_nit
from falloff.camera.frame import ExposedFrame
from falloff.camera.lettering import MINUS, Ink, draw_words, wrap_words
from falloff.camera.levels import picture_stops, shown
from falloff.camera.stops_field import LevelLine, _median_3x3, level_lines, smooth_stops
from falloff.camera.stops_labels import Box, Sheet, line_mask, place_on_line, place_spots
from falloff.camera.stops_map import (
    _dots,
    _padded,
    _paint_dots,
    _paint_lines,
    _paint_texts,
    _style,
)
from falloff.camera.stops_scale import INK, PAPER, QUIET_INK, per_cent, whole
from falloff.camera.stops_text import StopsText, text_size, thirds_text, whole_text
from falloff.camera.view import STOPS_BELOW_SHADOW_LIMIT, Srgb8
from falloff.errors import FalloffError, Fault
from falloff.types import Float64Array

if TYPE_CHECKING:
    from PIL import Image

# Changes over this count as seen: common practice, no source.
SEEN_STOPS: Final = 1.0 / 3.0
# Lines of change are drawn to this many stops either way.
_MOST_LINES: Final = 8
# A difference between the cameras' exposures under this is the rounding of marked stops.
EXPOSURE_TOLD_STOPS: Final = 0.05
# The grey of no change, and how far one stop moves it at first; it never gets to white or black.
_NO_CHANGE_GREY: Final = 116.0
_GREY_REACH: Final = 84.0
_STOPS_OF_REACH: Final = 2.0
# A picture under this is too small for lines and numbers; one of a narrow cell is enlarged.
_SMALLEST_MAP_PX: Final = (32, 160)
_SMALLEST_CELL_PX: Final = 240


class Change(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """How a second picture differs from a first, in stops of light, + where it is brighter.

    changed_share: of the frame, 0 to 1, changed by more than a third of a stop; brighter_share and
    darker_share are its two parts. median_stops, p5_stops, p95_stops: of the change over the
    frame. exposure_stops: how much more the second camera exposes, which the change leaves out.
    """

    changed_share: float
    brighter_share: float
    darker_share: float
    median_stops: float
    p5_stops: float
    p95_stops: float
    exposure_stops: float


def change_between(first: ExposedFrame, second: ExposedFrame) -> Change:
    """How the second picture differs from the first; both of one size.

    Each pixel's change is the middle one of the nine about it, so that grain is no change. Raises
    FalloffError for sizes that differ and as `levels_of`.
    """
    return _change(_median_3x3(difference_stops(first, second)), first, second)


def difference_stops(first: ExposedFrame, second: ExposedFrame) -> Float64Array:
    """The change of light from the first picture to the second (h, w) in stops; errors as above.

    Light that either camera would show as black counts as the darker of the two blacks.
    """
    if first.picture.shape != second.picture.shape:
        raise FalloffError(
            Fault(
                "pictures of two sizes cannot be set against one another",
                where="before and after",
                expected=f"the second as large as the first, {_size(first)}",
                found=_size(second),
                fix="make both pictures at one width, with cameras of one frame shape",
            )
        )
    black_nit = min(_black_nit(first), _black_nit(second))
    levels = []
    for frame in (first, second):
        stops = picture_stops(frame.picture, frame.settings, where="before and after")
        grey_nit = mid_grey_luminance_nit(frame.settings)
        levels.append(np.maximum(stops + math.log2(grey_nit), math.log2(black_nit)))
    return np.asarray(levels[1] - levels[0])


def before_after(first: ExposedFrame, second: ExposedFrame, *, labels: tuple[str, str]) -> Srgb8:
    """Two pictures with their settings, and below them a map and words of what changed.

    labels: what the pictures are, "before" and "after" or names of setups. The map is grey:
    lighter where the second is brighter, darker where it is darker, with lines and signed numbers
    at whole stops and spots in thirds as in the stops map. (rows, columns, 3) sRGB. Errors as
    `change_between`.
    """
    from PIL import Image

    difference = difference_stops(first, second)
    calm = _median_3x3(difference)
    change = _change(calm, first, second)
    plan = _plan(difference.shape)
    tops = [
        _captioned(frame, label, plan) for frame, label in ((first, labels[0]), (second, labels[1]))
    ]
    low = _difference_map(difference, calm, plan)
    words = _under(_key_of_greys(plan), _column_of_words(_sentences(change), plan))
    top = max(part.height for part in tops)
    bottom = max(low.height, words.height)
    width = 2 * plan.cell_px + 3 * plan.margin_px
    sheet = Image.new("RGB", (width, top + bottom + 3 * plan.margin_px), PAPER)
    second_x = plan.cell_px + 2 * plan.margin_px
    sheet.paste(tops[0], (plan.margin_px, plan.margin_px))
    sheet.paste(tops[1], (second_x, plan.margin_px))
    below = top + 2 * plan.margin_px
    sheet.paste(low, (plan.margin_px, below))
    sheet.paste(words, (second_x, below))
    return np.array(sheet, dtype=np.uint8)


@dataclass(frozen=True, slots=True)
class _Plan:
    """Sizes in pixels; `factor` is how much a small picture is enlarged."""

    cell_px: int
    factor: int
    margin_px: int
    text_px: int


def _plan(shape: tuple[int, ...]) -> _Plan:
    height, width = shape
    factor = max(1, min(_SMALLEST_CELL_PX // width, 3 * _SMALLEST_CELL_PX // height))
    cell = max(_SMALLEST_CELL_PX, width * factor)
    text = min(28, max(12, round(16 * math.sqrt(cell / 960.0))))
    return _Plan(cell, factor, text, text)


def _change(calm: Float64Array, first: ExposedFrame, second: ExposedFrame) -> Change:
    # Told to a hundredth of a thousandth, so that a third exactly is not more than a third.
    seen = SEEN_STOPS + 1e-5
    brighter, darker = float(np.mean(calm > seen)), float(np.mean(calm < -seen))
    low, median, high = (float(v) for v in np.percentile(calm, (5.0, 50.0, 95.0)))
    greys = [mid_grey_luminance_nit(frame.settings) for frame in (first, second)]
    return Change(
        changed_share=brighter + darker,
        brighter_share=brighter,
        darker_share=darker,
        median_stops=median,
        p5_stops=low,
        p95_stops=high,
        exposure_stops=math.log2(greys[0] / greys[1]),
    )


def _black_nit(frame: ExposedFrame) -> float:
    settings = frame.settings
    below = settings.shadow_stops + STOPS_BELOW_SHADOW_LIMIT
    return float(mid_grey_luminance_nit(settings) * 2.0**-below)


def _size(frame: ExposedFrame) -> str:
    height, width = frame.picture.shape[:2]
    return f"{width} × {height} pixels"


def _captioned(frame: ExposedFrame, label: str, plan: _Plan) -> Image.Image:
    """A developed picture with its label and its camera's settings below."""
    from PIL import Image

    height, width = frame.picture.shape[:2]
    picture = Image.fromarray(shown(frame.picture, frame.settings))
    if plan.factor > 1:
        size = (width * plan.factor, height * plan.factor)
        picture = picture.resize(size, Image.Resampling.NEAREST)
    words = _column_of_words(((label, INK), (describe_settings(frame.settings), QUIET_INK)), plan)
    cell = Image.new("RGB", (plan.cell_px, picture.height + words.height), PAPER)
    cell.paste(picture, (0, 0))
    cell.paste(words, (0, picture.height))
    return cell


def _column_of_words(paragraphs: tuple[tuple[str, Ink], ...], plan: _Plan) -> Image.Image:
    """Paragraphs one below the other, as wide as a cell."""
    from PIL import Image

    step, gap = round(1.45 * plan.text_px), round(0.25 * plan.text_px)
    room = plan.cell_px - 0.2 * plan.text_px
    blocks = [(wrap_words(text, plan.text_px, room, most_lines=6), ink) for text, ink in paragraphs]
    height = sum(step * len(lines) + gap for lines, _ in blocks) + gap
    image = Image.new("RGB", (plan.cell_px, height), PAPER)
    row = float(gap)
    for lines, ink in blocks:
        for line in lines:
            draw_words(image, (0.0, row + 0.75 * step), line, plan.text_px, fill=ink)
            row += step
        row += gap
    return image


def _difference_map(difference: Float64Array, calm: Float64Array, plan: _Plan) -> Image.Image:
    """Grey of the change itself, lines and numbers of the change without its grain."""
    from PIL import Image

    field = smooth_stops(difference, lowest=-100.0)
    height, width = field.shape
    style = _style(width)
    ground = _grey_of_change(calm).repeat(3).reshape(height, width, 3)
    if height < _SMALLEST_MAP_PX[0] or width < _SMALLEST_MAP_PX[1]:
        size = (width * plan.factor, height * plan.factor)
        return Image.fromarray(ground).resize(size, Image.Resampling.NEAREST)
    lines = level_lines(field, -_MOST_LINES, _MOST_LINES)
    texts = _place_numbers(difference, field, lines)
    image = Image.fromarray(ground.repeat(style.fine, axis=0).repeat(style.fine, axis=1))
    _paint_lines(image, lines, [box for box, _, kind in texts if kind == "line"], style)
    _paint_dots(image, _dots(texts, None, style), style)
    _paint_texts(image, texts, style)
    return image.resize((width, height), Image.Resampling.BOX)


def _grey_of_change(change_stops: Float64Array) -> NDArray[np.uint8]:
    grey = _NO_CHANGE_GREY + _GREY_REACH * np.tanh(change_stops / _STOPS_OF_REACH)
    return np.rint(grey).astype(np.uint8)


def _key_of_greys(plan: _Plan) -> Image.Image:
    """Patches of the map's greys from three stops down to three up, with their numbers."""
    from PIL import Image

    text = plan.text_px
    levels = range(-3, 4)
    wide, high = min(4 * text, plan.cell_px // len(levels)), round(1.1 * text)
    key = Image.new("RGB", (plan.cell_px, high + round(1.5 * text)), PAPER)
    for index, level in enumerate(levels):
        grey = int(_grey_of_change(np.array(float(level))))
        left = index * wide
        key.paste((grey, grey, grey), (left, 0, left + wide, high))
        place = (left + 0.5 * wide, high + 1.1 * text)
        draw_words(key, place, whole(level), text, fill=INK, anchor="middle")
    return key


def _under(upper: Image.Image, lower: Image.Image) -> Image.Image:
    from PIL import Image

    both = Image.new("RGB", (upper.width, upper.height + lower.height), PAPER)
    both.paste(upper, (0, 0))
    both.paste(lower, (0, upper.height))
    return both


def _place_numbers(
    difference: Float64Array, field: Float64Array, lines: list[LevelLine]
) -> list[tuple[Box, StopsText, str]]:
    style = _style(field.shape[1])
    sheet = Sheet(line_mask(lines, (field.shape[0], field.shape[1])))
    texts: list[tuple[Box, StopsText, str]] = []
    for line in sorted(lines, key=lambda line: (line.level != 0, -line.length_px)):
        text = whole_text(line.level)
        size = _padded(text_size(text, style.text_px), style)
        boxes = place_on_line(line, size, sheet, spacing_px=0.42 * sheet.width)
        texts += [(box, text, "line") for box in boxes]
    size = _padded(text_size(thirds_text(-1.34), style.text_px), style)
    nowhere = np.zeros(field.shape, dtype=np.bool_)
    for box in place_spots(field, nowhere, size, sheet):
        texts.append((box, thirds_text(_middle_about(difference, box)), "spot"))
    return texts


def _middle_about(difference: Float64Array, box: Box) -> float:
    """The middle of the changes of a few pixels about a spot."""
    reach = max(1, round(difference.shape[1] / 240))
    row, column = round(box.y), round(box.x)
    rows = slice(max(row - reach, 0), row + reach + 1)
    columns = slice(max(column - reach, 0), column + reach + 1)
    return float(np.median(difference[rows, columns]))


def _sentences(change: Change) -> tuple[tuple[str, Ink], ...]:
    what = (
        f"change of light in stops: + and lighter where the second picture has more, {MINUS} and "
        "darker where it has less"
    )
    share = (
        f"changed by more than a third of a stop: {per_cent(change.changed_share)} of the frame "
        f"({per_cent(change.brighter_share)} up, {per_cent(change.darker_share)} down)"
    )
    middle = (
        f"median change {hundredths(change.median_stops)}; nine tenths of the frame between "
        f"{hundredths(change.p5_stops)} and {hundredths(change.p95_stops)}"
    )
    sentences = [(what, QUIET_INK), (share, INK), (middle, INK)]
    if abs(change.exposure_stops) >= EXPOSURE_TOLD_STOPS:
        sentences.append((_exposure(change.exposure_stops), INK))
    return tuple(sentences)


def _exposure(exposure_stops: float) -> str:
    amount = f"{abs(exposure_stops):.2g}"
    return (
        f"the second camera exposes {amount} {'stop' if amount == '1' else 'stops'} "
        f"{'more' if exposure_stops > 0.0 else 'less'}: the pictures show it, the map leaves it out"
    )


def hundredths(stops: float) -> str:
    """A change to a hundredth of a stop with its sign: "+1.00", "−0.25" or "0.00"."""
    near = round(stops, 2)
    return f"{near:+.2f}".replace("-", MINUS) if near else "0.00"
