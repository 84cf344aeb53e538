"""The legend strip of a stops map, and the tints and hatchings that it explains."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from falloff.camera.exposure import describe_key, describe_settings
from falloff.camera.settings import CameraSettings
from falloff.camera.stops_field import LevelLine
from falloff.camera.stops_text import font
from falloff.types import BoolArray

if TYPE_CHECKING:
    from PIL import Image

Corner = tuple[float, float]
Swatch = Callable[["Image.Image", Corner, int], None]

# The legend is drawn this much finer and then made smaller, so that small text is spaced well.
LEGEND_FINE: Final = 3

_STRIP: Final = (24, 24, 24)
# Line widths in the legend, as shares of the text's size.
_THICK_SHARE: Final = 0.2
_FINE_SHARE: Final = 0.09
_INK: Final = (222, 222, 222)
_QUIET_INK: Final = (168, 168, 168)


@dataclass(frozen=True, slots=True)
class AreaKind:
    """What a tinted area says, its tint in sRGB, and its hatching."""

    name: str
    tint: tuple[int, int, int]
    pattern: str


@dataclass(frozen=True, slots=True)
class Area:
    """Where, as a mask (h, w), and what."""

    kind: AreaKind
    mask: BoolArray


# Tints that stay apart for all common kinds of colour vision; the hatching alone tells them too.
HIGHLIGHTS: Final = AreaKind("highlights", (232, 142, 66), "crossed")
SHADOWS: Final = AreaKind("shadows", (58, 158, 152), "level")
MISSED: Final = AreaKind("missed", (168, 124, 214), "upright")


# How much of the tint stands on a hatching line, and between lines.
TINT_SHARES: Final = (0.95, 0.34)


def hatching(kind: AreaKind, shape: tuple[int, int], spacing_px: int) -> BoolArray:
    """The pixels (h, w) on a hatching line, lines `spacing_px` apart."""
    row, column = np.ogrid[: shape[0], : shape[1]]
    stroke = max(1, round(spacing_px / 6))
    if kind.pattern == "level":
        return np.broadcast_to(row % spacing_px < stroke, shape)
    if kind.pattern == "upright":
        return np.broadcast_to(column % spacing_px < stroke, shape)
    # A slanted line is √2 wider along a row than across itself.
    pitch, slant = round(1.6 * spacing_px), round(1.4 * stroke)
    rising, falling = (row + column) % pitch < slant, (row - column) % pitch < slant
    return np.asarray(rising | falling)


def draw_legend(
    image: Image.Image,
    settings: CameraSettings,
    reference: str,
    areas: list[Area],
    lines: list[LevelLine],
    *,
    spots: bool,
    text_px: int,
) -> Image.Image:
    """The map with a strip below that names the reference, the marks in use and the exposure."""
    from PIL import Image

    fine = LEGEND_FINE
    size = max(11, round(0.9 * text_px)) * fine
    rows = _flow(
        legend_entries(settings, reference, areas, lines, spots=spots), image.width * fine, size
    )
    line_height = round(1.5 * size)
    height = -(-(round(0.8 * size) + line_height * len(rows)) // fine)
    strip = Image.new("RGB", (image.width * fine, height * fine), _STRIP)
    for index, row in enumerate(rows):
        _draw_row(strip, row, 0.4 * size + (index + 0.5) * line_height, size)
    sheet = Image.new("RGB", (image.width, image.height + height), _STRIP)
    sheet.paste(image, (0, 0))
    sheet.paste(strip.resize((image.width, height), Image.Resampling.BOX), (0, image.height))
    return sheet


def _draw_row(strip: Image.Image, row: list[tuple[float, Entry]], middle: float, size: int) -> None:
    from PIL import ImageDraw

    for left, (swatch, text, ink) in row:
        x = left
        if swatch is not None:
            swatch(strip, (x, middle), size)
            x += _swatch_width(size)
        draw = ImageDraw.Draw(strip)
        draw.text((x, middle + 0.36 * size), text, font=font(size), anchor="ls", fill=ink)


Entry = tuple[Swatch | None, str, tuple[int, int, int]]


def legend_entries(
    settings: CameraSettings,
    reference: str,
    areas: list[Area],
    lines: list[LevelLine],
    *,
    spots: bool,
) -> list[list[Entry]]:
    """What the legend says, in groups that each begin a row: swatch, words, colour of the words.

    Only what the map shows is named; the reference, the settings and key with its meter constant
    always are.
    """
    zero = "key (18 % card)" if reference == "key" else "middle grey (18 % card at key)"
    limits = {
        HIGHLIGHTS: f"past highlight limit, {settings.highlight_stops:.3g} over",
        SHADOWS: f"past shadow limit, {settings.shadow_stops:.3g} under",
        MISSED: "target missed",
    }
    first: list[Entry] = [(_line(_THICK_SHARE), f"stops, 0 = {zero}", _INK)]
    if any(line.level > 0 for line in lines):
        first.append((_line(_FINE_SHARE), "over", _INK))
    if any(line.level < 0 for line in lines):
        first.append((_dashes, "under", _INK))
    if spots:
        first.append((_spot, "spot", _INK))
    second: list[Entry] = [(_patch(area.kind), limits[area.kind], _INK) for area in areas]
    words = f"{describe_settings(settings)}, {describe_key(settings)}"
    third: list[Entry] = [(None, words, _QUIET_INK)]
    return [group for group in (first, second, third) if group]


def _flow(groups: list[list[Entry]], width: int, size: int) -> list[list[tuple[float, Entry]]]:
    """Entries set in rows from the left, a new row for each group and where one is full."""
    margin, gap = 0.8 * size, 1.5 * size
    rows: list[list[tuple[float, Entry]]] = []
    for group in groups:
        x = margin
        row: list[tuple[float, Entry]] = []
        for entry in [part for whole in group for part in _split(whole, width - 2 * margin, size)]:
            needed = _entry_width(entry, size)
            if row and x + needed > width - margin:
                rows.append(row)
                x, row = margin, []
            row.append((x, entry))
            x += needed + gap
        rows.append(row)
    return rows


def _split(entry: Entry, room: float, size: int) -> list[Entry]:
    """An entry too long for a row, in parts that begin after a comma or a space."""
    swatch, text, ink = entry
    if _entry_width(entry, size) <= room:
        return [entry]
    for mark in (", ", " "):
        cuts = [i + len(mark) for i in range(len(text)) if text.startswith(mark, i)]
        fitting = [i for i in cuts if _entry_width((swatch, text[:i].rstrip(), ink), size) <= room]
        if fitting:
            rest: Entry = (None, text[fitting[-1] :], ink)
            return [(swatch, text[: fitting[-1]].rstrip(), ink), *_split(rest, room, size)]
    return [entry]


def _entry_width(entry: Entry, size: int) -> float:
    swatch, text, _ = entry
    return float(font(size).getlength(text)) + (_swatch_width(size) if swatch else 0.0)


def _swatch_width(size: int) -> float:
    return 2.6 * size


def _line(share: float) -> Swatch:
    def paint(strip: Image.Image, corner: Corner, size: int) -> None:
        _stroke(strip, corner, size, [(0.0, 2.0)], share)

    return paint


def _dashes(strip: Image.Image, corner: Corner, size: int) -> None:
    _stroke(strip, corner, size, [(0.0, 0.5), (0.75, 1.25), (1.5, 2.0)], _FINE_SHARE)


def _spot(strip: Image.Image, corner: Corner, size: int) -> None:
    from PIL import ImageDraw

    x, y = corner[0] + 1.0 * size, corner[1]
    radius = 0.17 * size
    ImageDraw.Draw(strip).ellipse(
        (x - radius, y - radius, x + radius, y + radius), fill=(255, 255, 255)
    )


def _stroke(
    strip: Image.Image,
    corner: Corner,
    size: int,
    spans: list[tuple[float, float]],
    share: float,
) -> None:
    from PIL import ImageDraw

    draw = ImageDraw.Draw(strip)
    x, y = corner
    width = max(1, round(share * size))
    for start, end in spans:
        draw.line((x + start * size, y, x + end * size, y), fill=(255, 255, 255), width=width)


def _patch(kind: AreaKind) -> Swatch:
    def paint(strip: Image.Image, corner: Corner, size: int) -> None:
        from PIL import Image

        width, height = round(2.0 * size), round(0.95 * size)
        hatch = hatching(kind, (height, width), max(6, round(0.5 * size)))
        share = np.where(hatch, *TINT_SHARES)[..., np.newaxis]
        fill = share * np.array(kind.tint) + (1.0 - share) * 70.0
        patch = Image.fromarray(np.rint(fill).astype(np.uint8))
        strip.paste(patch, (round(corner[0]), round(corner[1] - 0.5 * height)))

    return paint
