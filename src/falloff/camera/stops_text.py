"""Numbers in stops as drawn text: a true minus sign and small thirds, in Pillow's own font."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from PIL import ImageDraw
    from PIL.ImageFont import FreeTypeFont, ImageFont

_THIRD_SCALE: Final = 0.8


@dataclass(frozen=True, slots=True)
class StopsText:
    """A name (or none), a sign, whole stops and thirds, as they will be drawn."""

    name: str
    sign: str
    whole: str
    third: str


@functools.lru_cache(maxsize=32)
def font(size_px: int) -> FreeTypeFont | ImageFont:
    """The font that comes with Pillow, so that every machine draws the same."""
    from PIL import ImageFont

    return ImageFont.load_default(size_px)


def whole_text(level: int) -> StopsText:
    """A whole level: +2, −1 or 0."""
    return StopsText("", _sign(level), str(abs(level)), "")


def thirds_text(stops: float, *, name: str = "") -> StopsText:
    """A value to the nearest third: +1 2/3, −1/3 or 0, after a name if there is one."""
    thirds = round(abs(stops) * 3.0)
    whole, rest = divmod(thirds, 3)
    sign = _sign(stops) if thirds else ""
    return StopsText(name, sign, str(whole) if whole or not rest else "", ("", "1/3", "2/3")[rest])


def text_size(text: StopsText, size_px: int) -> tuple[float, float]:
    """Width and height in pixels of the text as `draw_text` draws it."""
    return sum(advance for _, advance, _ in _pieces(text, size_px)), _cap_height(size_px)


def draw_text(
    draw: ImageDraw.ImageDraw,
    middle_px: tuple[float, float],
    text: StopsText,
    size_px: int,
    *,
    fill: int | tuple[int, int, int],
    halo: tuple[int, int | tuple[int, int, int]] | None = None,
) -> None:
    """Draw the text about its middle; `halo` is a width in pixels and a fill, drawn below it."""
    width, height = text_size(text, size_px)
    left, baseline = middle_px[0] - 0.5 * width, middle_px[1] + 0.5 * height
    layers = ([(*halo,)] if halo else []) + [(0, fill)]
    for stroke, colour in layers:
        x = left
        for piece, advance, piece_size in _pieces(text, size_px):
            if piece == "−":
                _draw_minus(draw, (x, baseline), size_px, stroke, colour)
            else:
                draw.text(
                    (x, baseline - (height - _cap_height(piece_size)) / 2.0),
                    piece,
                    font=font(piece_size),
                    anchor="ls",
                    fill=colour,
                    stroke_width=stroke,
                )
            x += advance


def _pieces(text: StopsText, size_px: int) -> list[tuple[str, float, int]]:
    small = max(8, round(_THIRD_SCALE * size_px))
    gap = 0.2 * size_px
    pieces = []
    if text.name:
        pieces.append((text.name, font(size_px).getlength(text.name) + 0.4 * size_px, size_px))
    if text.sign:
        pieces.append((text.sign, font(size_px).getlength("+") + 0.04 * size_px, size_px))
    if text.whole:
        pieces.append((text.whole, font(size_px).getlength(text.whole), size_px))
    if text.third:
        if text.whole:
            last, advance, size = pieces.pop()
            pieces.append((last, advance + gap, size))
        pieces.append((text.third, font(small).getlength(text.third), small))
    return pieces


def _draw_minus(
    draw: ImageDraw.ImageDraw,
    corner_px: tuple[float, float],
    size_px: int,
    stroke: int,
    fill: int | tuple[int, int, int],
) -> None:
    # The bar of the plus sign: as wide, as thick and as high above the baseline.
    left, top, right, bottom = font(size_px).getbbox("+", anchor="ls")
    middle = corner_px[1] + 0.5 * (top + bottom)
    half = max(1.0, 0.085 * size_px) / 2.0 + stroke
    x = corner_px[0]
    draw.rectangle((x + left - stroke, middle - half, x + right + stroke, middle + half), fill=fill)


def _cap_height(size_px: int) -> float:
    return float(-font(size_px).getbbox("0", anchor="ls")[1])


def _sign(value: float) -> str:
    return "+" if value > 0 else "−" if value < 0 else ""
