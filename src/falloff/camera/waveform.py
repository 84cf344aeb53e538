"""The waveform: where in the frame how much light is, column by column, in stops.

Each column of the drawing is a column of the picture. Up and down are stops over and under middle
grey; the more of a column's pixels lie at a level, the lighter it is drawn there. The camera's
limits are drawn and what lies past them is hatched. docs/physics/waveform.md tells how it is made.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from falloff.camera.exposure import describe_key, describe_settings
from falloff.camera.lettering import Ink, draw_words, with_words_below, words_width
from falloff.camera.levels import Levels, levels_of_stops, picture_stops, shown
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

# Columns of the drawing: a narrower picture is drawn broader by a whole factor, a wider one with
# some columns together.
_FEWEST_COLUMNS: Final = 480
_MOST_COLUMNS: Final = 1920
# Height of the scale as a share of its width, and the least height of a stop.
_HEIGHT_SHARE: Final = 0.62
_SMALLEST_STOP_PX: Final = 14
# The picture above is at most so high a share of its width: pressed flat if it must be.
_STRIP_SHARE: Final = 0.34
# A level that holds the column at this density, in columns' shares a stop, is drawn white; fainter
# ones by a power of theirs, so that one pixel of a column of hundreds is still seen.
_FULL_DENSITY_PER_STOP: Final = 8.0
_DENSITY_POWER: Final = 0.42
_FAINTEST: Final = 0.22


@dataclass(frozen=True, slots=True)
class WaveformPlan:
    """Where things stand on a drawn waveform, in pixels from its upper left corner.

    left_px, columns: the first column of picture and scale, and how many there are. strip_px,
    strip_height_px: the picture's top and height. top_px: the row of the scale's high end.
    band_px: height of the bands above and below the scale that hold what lies past its ends.
    """

    scale: StopsScale
    columns: int
    left_px: int
    right_px: int
    strip_px: int
    strip_height_px: int
    top_px: int
    band_px: int
    text_px: int

    @property
    def bottom_px(self) -> int:
        """The row of the scale's low end."""
        return self.top_px + self.scale.length_px

    def row_of(self, stops: float) -> int:
        """The row of a level in stops over middle grey."""
        return self.top_px + self.scale.from_high_px(stops)


def draw_waveform(picture: NDArray[np.floating], settings: CameraSettings) -> Srgb8:
    """The waveform of an exposed picture with the picture above it: (rows, columns, 3) sRGB.

    picture: (h, w, 3) linear working space, cd/m², of any size but none. Levels are of luminance
    before white balance, as in the stops map. Raises FalloffError for another shape and for
    light that is negative or not finite.
    """
    stops = picture_stops(picture, settings, where="draw_waveform")
    plan = waveform_plan((stops.shape[0], stops.shape[1]), settings)
    height = plan.bottom_px + plan.band_px + 3 + round(0.3 * plan.text_px)
    sheet = np.full((height, _width(plan)), PAPER[0], dtype=np.uint8)
    _draw_scale(sheet, plan, settings)
    outside = _draw_trace(sheet, stops, plan)
    image = _in_colour(sheet, plan, picture, settings)
    _letter(image, plan, settings, outside)
    sentences = _sentences(levels_of_stops(stops, settings), settings)
    size = max(11, round(0.9 * plan.text_px))
    return np.array(with_words_below(image, sentences, size, paper=PAPER), dtype=np.uint8)


def waveform_plan(shape: tuple[int, int], settings: CameraSettings) -> WaveformPlan:
    """Where things will stand on the waveform of a picture of this height and width."""
    height, width = shape
    columns = min(_MOST_COLUMNS, width * math.ceil(_FEWEST_COLUMNS / width))
    text = min(26, max(12, round(15 * math.sqrt(columns / 960.0))))
    scale = stops_scale(
        settings, room_px=round(_HEIGHT_SHARE * columns), smallest_stop_px=_SMALLEST_STOP_PX
    )
    strip_height = round(min(columns * height / width, _STRIP_SHARE * columns))
    strip, band = round(0.8 * text), max(4, round(0.5 * text))
    return WaveformPlan(
        scale=scale,
        columns=columns,
        left_px=round(max(words_width(word, text) for word in ("over", "under")) + 1.6 * text),
        right_px=round(words_width("highlight limit", text) + 1.6 * text),
        strip_px=strip,
        strip_height_px=max(1, strip_height),
        top_px=strip + max(1, strip_height) + round(0.9 * text) + band + 2,
        band_px=band,
        text_px=text,
    )


def _width(plan: WaveformPlan) -> int:
    return plan.left_px + plan.columns + plan.right_px


def _columns(plan: WaveformPlan) -> slice:
    return slice(plan.left_px, plan.left_px + plan.columns)


def _draw_scale(sheet: NDArray[np.uint8], plan: WaveformPlan, settings: CameraSettings) -> None:
    """Hatching past the limits, lines at whole stops, at middle grey and at the limits."""
    columns, spacing = _columns(plan), max(6, round(0.62 * plan.text_px))
    over, under = plan.row_of(settings.highlight_stops), plan.row_of(-settings.shadow_stops)
    for crossed, rows in (
        (True, slice(plan.top_px, over)),
        (False, slice(under + 1, plan.bottom_px + 1)),
    ):
        hatch(sheet[rows, columns], spacing, crossed=crossed)
    for level in range(plan.scale.low, plan.scale.high + 1):
        sheet[plan.row_of(level), columns] = GRID
    for quarter in (0.25, 0.5, 0.75):
        sheet[plan.top_px : plan.bottom_px + 1, plan.left_px + round(quarter * plan.columns)] = GRID
    sheet[plan.row_of(0.0), columns] = GREY_LINE
    sheet[over, columns] = sheet[under, columns] = LIMIT_LINE


def _draw_trace(
    sheet: NDArray[np.uint8], stops: Float64Array, plan: WaveformPlan
) -> tuple[bool, bool]:
    """Draw the densities over what is there; whether any pixel lies past the high or low end."""
    rows = plan.scale.length_px + 1
    share = column_shares(stops, plan)
    inside = _ink(share[1:-1] * plan.scale.stop_px)
    # A band gathers all that lies past its end of the scale, as if it were spread over a stop.
    ends = [_ink(share[end : end + 1]) for end in (0, rows + 1)]
    columns = _columns(plan)
    for first, ink in (
        (plan.top_px, inside),
        (plan.top_px - 2 - plan.band_px, ends[0].repeat(plan.band_px, axis=0)),
        (plan.bottom_px + 3, ends[1].repeat(plan.band_px, axis=0)),
    ):
        area = sheet[first : first + len(ink), columns]
        np.maximum(area, ink[: len(area)], out=area)
    return bool(ends[0].any()), bool(ends[1].any())


def column_shares(stops: Float64Array, plan: WaveformPlan) -> Float64Array:
    """Which share of each drawn column's pixels lies in each row: (rows + 2, columns), sums of 1.

    stops: (h, w). The first row holds what lies past the scale's high end, the last what lies
    past its low end and what has no light.
    """
    rows = plan.scale.length_px + 1
    from_high = np.rint((plan.scale.high - np.clip(stops, -1e3, 1e3)) * plan.scale.stop_px)
    row = np.clip(from_high, -1, rows).astype(np.intp) + 1
    width = stops.shape[1]
    # A drawn column holds one of the picture's or, if the picture is wider, some together.
    groups = min(width, plan.columns)
    group = np.arange(width) * groups // width
    count = np.bincount((row * groups + group).ravel(), minlength=(rows + 2) * groups).reshape(
        rows + 2, groups
    )
    share = count / (stops.shape[0] * np.bincount(group, minlength=groups))
    return np.asarray(share[:, np.arange(plan.columns) * groups // plan.columns])


def _ink(density_per_stop: Float64Array) -> NDArray[np.uint8]:
    """The grey of a density, in columns' shares a stop: nothing for none, never too faint."""
    strength = np.minimum(density_per_stop / _FULL_DENSITY_PER_STOP, 1.0) ** _DENSITY_POWER
    seen = np.where(density_per_stop > 0.0, np.maximum(strength, _FAINTEST), 0.0)
    grey = PAPER[0] + (255.0 - PAPER[0]) * seen
    return np.where(seen > 0.0, np.rint(grey), 0.0).astype(np.uint8)


def _in_colour(
    sheet: NDArray[np.uint8],
    plan: WaveformPlan,
    picture: NDArray[np.floating],
    settings: CameraSettings,
) -> Image.Image:
    from PIL import Image

    image = Image.fromarray(sheet.repeat(3).reshape(*sheet.shape, 3))
    strip = Image.fromarray(shown(picture, settings))
    size = (plan.columns, plan.strip_height_px)
    image.paste(strip.resize(size, Image.Resampling.BOX), (plan.left_px, plan.strip_px))
    return image


def _letter(
    image: Image.Image, plan: WaveformPlan, settings: CameraSettings, outside: tuple[bool, bool]
) -> None:
    """Numbers at the left, words at the right."""
    text, drop = plan.text_px, round(0.36 * plan.text_px)
    right, after = plan.left_px - round(0.5 * text), plan.left_px + plan.columns + round(0.5 * text)
    for level in plan.scale.marked(1.4 * text):
        place = (float(right), float(plan.row_of(level) + drop))
        draw_words(image, place, whole(level), text, fill=INK, anchor="right")
    limits = (
        (settings.highlight_stops, "highlight limit"),
        (0.0, "middle grey"),
        (-settings.shadow_stops, "shadow limit"),
    )
    for limit_stops, words in limits:
        draw_words(image, (after, plan.row_of(limit_stops) + drop), words, text, fill=INK)
    ends = (plan.top_px - 2 - plan.band_px // 2, plan.bottom_px + 3 + plan.band_px // 2)
    for any_there, row, words in zip(
        outside, ends, ("brighter still", "darker still"), strict=True
    ):
        if any_there:
            draw_words(image, (after, row + drop), words, text, fill=QUIET_INK)


def _sentences(levels: Levels, settings: CameraSettings) -> tuple[tuple[str, Ink], ...]:
    """What the drawing shows, how light the frame is, and the exposure."""
    what = (
        "stops over and under middle grey (18 % card at key); the more of a column lies at a "
        "level, the lighter it is drawn"
    )
    frame = (
        f"median of the frame {signed(levels.median_stops)}; over the highlight limit "
        f"{per_cent(levels.clipped_share)}, under the shadow limit {per_cent(levels.dark_share)}"
    )
    exposure = f"{describe_settings(settings)}, {describe_key(settings)}"
    return (what, INK), (frame, INK), (exposure, QUIET_INK)
