"""The stops map: the picture in grey, contour lines and numbers at whole stops.

Lines over the reference are whole, under it dashed, the reference itself is thick. Flat patches
get a number at a spot, in thirds. Tint and hatching appear only past the camera's highlight or
shadow limit, or where a target is missed; the legend names what is there and nothing else.
"""

from __future__ import annotations

import math
import operator
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

import numpy as np
from numpy.typing import NDArray

from falloff.camera.exposure import stops_over_grey
from falloff.camera.settings import CameraSettings
from falloff.camera.stops_field import LevelLine, level_lines, smooth_stops, without_specks
from falloff.camera.stops_labels import (
    Box,
    Sheet,
    line_mask,
    place_on_line,
    place_spots,
)
from falloff.camera.stops_legend import (
    HIGHLIGHTS,
    MISSED,
    SHADOWS,
    TINT_SHARES,
    Area,
    draw_legend,
    hatching,
)
from falloff.camera.stops_text import StopsText, draw_text, text_size, thirds_text, whole_text
from falloff.camera.view import encoded_of_stops, view_curve
from falloff.errors import FalloffError, Fault
from falloff.spectrum import luminance
from falloff.types import BoolArray, Float64Array

if TYPE_CHECKING:
    from PIL import Image, ImageDraw

Reference = Literal["key", "grey"]

# The grey of the picture under the lines: black and white of the view, 0 to 255. Short of white,
# so that lines and numbers stay the brightest thing in the map.
_GREY_FROM: Final = 14.0
_GREY_TO: Final = 196.0
_LINE: Final = 255
# Under this the numbers and the legend's words have no room.
_SMALLEST_HEIGHT_PX: Final = 32
_SMALLEST_WIDTH_PX: Final = 160
# A spot without light is told as this many stops over.
_DARKEST_TOLD: Final = -20.0
# Room for the dot before a spot's number, as a share of the text's size.
_SPOT_DOT: Final = 0.5


@dataclass(frozen=True, slots=True)
class _Style:
    """Sizes in pixels of the map, and how many drawn pixels make one of them."""

    fine: int
    text_px: int
    line_px: float
    zero_line_px: float

    def drawn(self, size_px: float) -> int:
        return max(1, round(size_px * self.fine))


def draw_stops_map(
    picture: NDArray[np.floating],
    settings: CameraSettings,
    *,
    reference: Reference = "grey",
    missed: BoolArray | None = None,
    marks: Mapping[str, tuple[float, float]] | None = None,
    labels: bool = True,
) -> Image.Image:
    """The stops map of a picture, with its legend below: a Pillow image, RGB, (w, h + legend).

    picture: (h, w, 3) linear working space, cd/m², at least 32 pixels high and 160 wide.
    reference: what 0 is called, "grey" (middle grey) or "key" (an 18 % card lit at key): one and
    the same luminance. missed: (h, w), where a target is missed. marks: names to x, y in pixels,
    each read out in thirds of a stop. labels: False leaves all numbers out. Raises FalloffError
    for sizes that do not fit and for negative light.
    Lines are of luminance before white balance, smoothed as in `smooth_stops`; numbers at spots
    and marks are means of a few pixels of the picture as it is.
    """
    _check(picture, reference, missed)
    light = luminance(np.asarray(picture, dtype=np.float64))
    raw = np.asarray(stops_over_grey(light, settings), dtype=np.float64)
    field = smooth_stops(raw, lowest=-settings.shadow_stops - 3.0)
    lines = level_lines(field, *_levels(settings))
    areas = _areas(field, settings, missed)
    style = _style(field.shape[1])
    image = _paint_ground(raw, areas, settings, style)
    sheet = Sheet(line_mask(lines, field.shape))
    texts = _place_texts(raw, field, lines, areas, marks or {}, sheet, style) if labels else []
    _paint_lines(image, lines, [box for box, _, kind in texts if kind == "line"], style)
    _paint_dots(image, _dots(texts, marks if labels else None, style), style)
    _paint_texts(image, texts, style)
    small = image.resize((field.shape[1], field.shape[0]), resample=_box_filter())
    spots = any(kind == "spot" for _, _, kind in texts)
    return draw_legend(small, settings, reference, areas, lines, spots=spots, text_px=style.text_px)


def _levels(settings: CameraSettings) -> tuple[int, int]:
    return -math.floor(settings.shadow_stops), math.floor(settings.highlight_stops)


def _style(width_px: int) -> _Style:
    scale = math.sqrt(width_px / 960.0)
    return _Style(
        fine=2 if width_px >= 900 else 3,
        text_px=min(28, max(10, round(14 * scale))),
        line_px=max(0.9, 1.15 * scale),
        zero_line_px=max(1.9, 2.6 * scale),
    )


def _areas(field: Float64Array, settings: CameraSettings, missed: BoolArray | None) -> list[Area]:
    areas = [
        Area(HIGHLIGHTS, without_specks(field > settings.highlight_stops)),
        Area(SHADOWS, without_specks(field < -settings.shadow_stops)),
    ]
    if missed is not None:
        areas.append(Area(MISSED, np.asarray(missed, dtype=np.bool_)))
    return [area for area in areas if area.mask.any()]


def _paint_ground(
    stops: Float64Array, areas: list[Area], settings: CameraSettings, style: _Style
) -> Image.Image:
    from PIL import Image

    shown = encoded_of_stops(np.maximum(stops, -100.0), view_curve(settings))
    grey = (_GREY_FROM + (_GREY_TO - _GREY_FROM) * shown).astype(np.float32)
    ground = np.repeat(grey[..., np.newaxis], 3, axis=2)
    ground = ground.repeat(style.fine, axis=0).repeat(style.fine, axis=1)
    for area in areas:
        mask = area.mask.repeat(style.fine, axis=0).repeat(style.fine, axis=1)
        hatch = hatching(area.kind, mask.shape, style.drawn(0.62 * style.text_px))
        share = np.where(mask, np.where(hatch, *TINT_SHARES), 0.0).astype(np.float32)
        tint = np.array(area.kind.tint, dtype=np.float32)
        ground += share[..., np.newaxis] * (tint - ground)
    return Image.fromarray(np.rint(ground).astype(np.uint8))


def _place_texts(
    raw: Float64Array,
    field: Float64Array,
    lines: list[LevelLine],
    areas: list[Area],
    marks: Mapping[str, tuple[float, float]],
    sheet: Sheet,
    style: _Style,
) -> list[tuple[Box, StopsText, str]]:
    texts: list[tuple[Box, StopsText, str]] = []
    for name, (x, y) in marks.items():
        text = thirds_text(_read_at(raw, x, y), name=name)
        texts.append((_mark_box(x, y, text, sheet, style), text, "mark"))
        sheet.taken.append(texts[-1][0])
    for line in sorted(lines, key=lambda line: (line.level != 0, -line.length_px)):
        text = whole_text(line.level)
        size = _padded(text_size(text, style.text_px), style)
        boxes = place_on_line(line, size, sheet, spacing_px=0.42 * sheet.width)
        texts += [(box, text, "line") for box in boxes]
    barred = np.any([area.mask for area in areas], axis=0) if areas else np.zeros(1, dtype=np.bool_)
    size = _padded(text_size(thirds_text(-1.34), style.text_px), style)
    for box in place_spots(field, barred, size, sheet):
        texts.append((box, thirds_text(_read_at(raw, box.x, box.y)), "spot"))
    return texts


def _padded(size: tuple[float, float], style: _Style) -> tuple[float, float]:
    return size[0] + 0.5 * style.text_px, size[1] + 0.4 * style.text_px


def _read_at(stops: Float64Array, x: float, y: float) -> float:
    """The mean luminance of a few pixels about a point, in stops: a spot reading of the picture."""
    reach = max(1, round(stops.shape[1] / 240))
    row = min(max(round(y), 0), stops.shape[0] - 1)
    column = min(max(round(x), 0), stops.shape[1] - 1)
    spot = stops[max(row - reach, 0) : row + reach + 1, max(column - reach, 0) : column + reach + 1]
    return math.log2(max(float(np.exp2(spot).mean()), 2.0**_DARKEST_TOLD))


def _mark_box(x: float, y: float, text: StopsText, sheet: Sheet, style: _Style) -> Box:
    """A box beside the mark: right of it, or else left, above or below, whichever is free."""
    width, height = _padded(text_size(text, style.text_px), style)
    aside, above = 0.5 * width + 0.5 * style.text_px, 0.5 * height + 0.5 * style.text_px
    places = [(x + aside, y), (x - aside, y), (x, y - above), (x, y + above)]
    boxes = [Box(*place, width, height) for place in places]
    return next((box for box in boxes if sheet.free(box, 1.0)), boxes[0])


def _paint_lines(
    image: Image.Image, lines: list[LevelLine], gaps: list[Box], style: _Style
) -> None:
    from PIL import Image, ImageDraw

    core, halo = Image.new("L", image.size, 0), Image.new("L", image.size, 0)
    for layer, extra_px, strength in ((halo, 1.6, 120), (core, 0.0, 235)):
        draw = ImageDraw.Draw(layer)
        for line in lines:
            width = style.zero_line_px if line.level == 0 else style.line_px
            for part in _strokes(line, style):
                _draw_polyline(draw, part, style.drawn(width + extra_px), strength)
        for box in gaps:
            draw.rectangle(_corners(box, style.fine), fill=0)
    image.paste((0, 0, 0), (0, 0), halo)
    image.paste((_LINE, _LINE, _LINE), (0, 0), core)


def _strokes(line: LevelLine, style: _Style) -> list[Float64Array]:
    """The line in drawn pixels: whole, or as dashes where it stands under the reference."""
    points = (line.points + 0.5) * style.fine
    if line.level >= 0:
        return [points]
    dash, gap = 0.55 * style.text_px * style.fine, 0.36 * style.text_px * style.fine
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    starts = np.arange(0.0, along[-1], dash + gap)
    dashes = []
    for start in starts:
        inside = along[(along > start) & (along < start + dash)]
        at = np.concatenate([[start], inside, [min(start + dash, along[-1])]])
        dashes.append(np.stack([np.interp(at, along, points[:, k]) for k in (0, 1)], axis=1))
    return dashes


def _draw_polyline(
    draw: ImageDraw.ImageDraw, points: Float64Array, width: int, strength: int
) -> None:
    draw.line([(float(x), float(y)) for x, y in points], fill=strength, width=width, joint="curve")


def _corners(box: Box, fine: int) -> tuple[float, float, float, float]:
    x, y = (box.x + 0.5) * fine, (box.y + 0.5) * fine
    half_x, half_y = 0.5 * box.width * fine, 0.5 * box.height * fine
    return (x - half_x, y - half_y, x + half_x, y + half_y)


def _paint_texts(
    image: Image.Image, texts: list[tuple[Box, StopsText, str]], style: _Style
) -> None:
    from PIL import ImageDraw

    draw = ImageDraw.Draw(image)
    halo = (style.drawn(0.13 * style.text_px), (16, 16, 16))
    white = (_LINE, _LINE, _LINE)
    for box, text, kind in texts:
        x, y = (box.x + 0.5) * style.fine, (box.y + 0.5) * style.fine
        size = style.text_px * style.fine
        if kind == "spot":
            x += 0.5 * _SPOT_DOT * size
        draw_text(draw, (x, y), text, size, fill=white, halo=halo)


def _dots(
    texts: list[tuple[Box, StopsText, str]],
    marks: Mapping[str, tuple[float, float]] | None,
    style: _Style,
) -> list[tuple[float, float]]:
    """Where the dots stand, in pixels: at every mark, and left of every spot's number."""
    dots = list((marks or {}).values())
    for box, text, kind in texts:
        if kind == "spot":
            width = text_size(text, style.text_px)[0]
            dots.append((box.x - 0.5 * width - 0.2 * style.text_px, box.y))
    return dots


def _paint_dots(image: Image.Image, dots: list[tuple[float, float]], style: _Style) -> None:
    from PIL import ImageDraw

    draw = ImageDraw.Draw(image)
    for radius, fill in ((0.26, (16, 16, 16)), (0.15, (_LINE, _LINE, _LINE))):
        r = radius * style.text_px * style.fine
        for dot in dots:
            x, y = ((value + 0.5) * style.fine for value in dot)
            draw.ellipse((x - r, y - r, x + r, y + r), fill=fill)


def _box_filter() -> Image.Resampling:
    from PIL import Image

    return Image.Resampling.BOX


def _check(picture: NDArray[np.floating], reference: str, missed: BoolArray | None) -> None:
    smallest = (_SMALLEST_HEIGHT_PX, _SMALLEST_WIDTH_PX, 3)
    fits = picture.ndim == 3 and all(map(operator.ge, picture.shape, smallest))
    if not (fits and picture.shape[2] == 3):
        raise FalloffError(
            Fault(
                "a stops map needs a picture of three channels and some size",
                where="draw_stops_map",
                expected=f"(height, width, 3), {smallest} or more",
                found=str(picture.shape),
            )
        )
    if reference not in ("key", "grey"):
        raise FalloffError(
            Fault("no such reference", where="reference", expected="key or grey", found=reference)
        )
    if missed is not None and missed.shape != picture.shape[:2]:
        raise FalloffError(
            Fault(
                "the mask of missed targets is not as large as the picture",
                where="missed",
                expected=str(picture.shape[:2]),
                found=str(missed.shape),
            )
        )
