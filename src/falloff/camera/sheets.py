"""The contact sheet: all setups of a room on one page, each with its picture and its caption."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from falloff.camera.lettering import ELLIPSIS, Ink, draw_words, wrap_words
from falloff.camera.view import Srgb8
from falloff.errors import FalloffError, Fault

if TYPE_CHECKING:
    from PIL import Image

# ISO 216: A4 is 210 mm × 297 mm; 3508 pixels across are 300 to the inch.
PAGE_WIDTH_PX: Final = 3508
_HEIGHT_TO_WIDTH: Final = 210.0 / 297.0
_NARROWEST_PAGE_PX: Final = 800

# As shares of the page's width. Text is 7.7 points at first and 5 at the least.
_MARGIN: Final = 0.04
_GAP: Final = 0.016
_TITLE: Final = 0.0165
_TEXT: Final = 0.0091
_TEXT_SCALES: Final = (1.0, 0.82, 0.65)
# A name is a little larger than the lines below it.
_NAME_SCALE: Final = 1.2
_LINE_STEP: Final = 1.4
_NAME_LINES: Final = 2
# Lines that one caption may wrap to: fewer if there are many setups.
_CAPTION_LINES: Final = (4, 2, 1)
# A sheet of captions that are all shortened is worth so much less than one of whole ones.
_WHOLE_WORTH: Final = 0.7
# A grid of more columns must be better than one of fewer by this.
_BETTER: Final = 1.02
# Pictures narrower than this say nothing.
_NARROWEST_PICTURE: Final = 0.055
# A picture is shown at most this much larger than it was traced.
_MOST_ENLARGED: Final = 4.0

_PAPER: Final = (255, 255, 255)
_INK: Final = (24, 24, 24)
_QUIET_INK: Final = (84, 84, 84)
_RULE: Final = (150, 150, 150)


@dataclass(frozen=True, slots=True)
class SheetFrame:
    """One setup on the sheet: its name, lines about it, and its picture (h, w, 3), 8-bit sRGB."""

    name: str
    captions: tuple[str, ...]
    picture: Srgb8


@dataclass(frozen=True, slots=True)
class _Block:
    """A wrapped caption: lines with their size and ink, the height of all in pixels.

    shortened: which share of what it should say had to be cut short, 0 to 1.
    """

    lines: tuple[tuple[str, int, Ink], ...]
    height_px: int
    shortened: float


@dataclass(frozen=True, slots=True)
class _Grid:
    """Frames in rows of so many columns, and the width in pixels of every picture."""

    columns: int
    picture_px: int
    text_px: int
    blocks: tuple[_Block, ...]


@dataclass(frozen=True, slots=True)
class _Cells:
    """What a number of columns leaves for pictures.

    widest_px, least_px: how wide pictures could be without captions, and must be. room_px: for the
    heights of all rows. ratio: the sum of the rows' heights to one picture's width.
    """

    columns: int
    widest_px: float
    least_px: float
    room_px: float
    ratio: float


def contact_sheet(
    frames: Sequence[SheetFrame], *, title: str, page_px: int = PAGE_WIDTH_PX
) -> Srgb8:
    """All frames on one A4 page across, dark on white: (rows, page_px, 3) sRGB.

    title: the room's or the scene's name, at the head of the page. page_px: width of the page, 800
    and up; 3508 prints at 300 dots to the inch. Pictures are of equal width, as large as the page
    allows; captions wrap, and end in an ellipsis where there is no room. Raises FalloffError for no
    frames, more than a page holds, or a picture that is none.
    """
    _check(frames, page_px)
    page = (page_px, round(page_px * _HEIGHT_TO_WIDTH))
    heading = wrap_words(
        title, round(_TITLE * page_px), page_px * (1.0 - 2.0 * _MARGIN), most_lines=1
    )
    head_px = round(2.0 * _TITLE * page_px) if heading else 0
    grid = _best_grid(frames, page, head_px)
    if grid is None:
        raise FalloffError(
            Fault(
                "too many setups for one sheet",
                where="contact_sheet",
                expected="as many as a page holds with pictures that can be read",
                found=str(len(frames)),
                fix="name fewer setups, and make two sheets",
            )
        )
    return _draw(frames, grid, page, heading)


def _best_grid(frames: Sequence[SheetFrame], page: tuple[int, int], head_px: int) -> _Grid | None:
    """The grid of wide pictures, large text and whole captions, as far as these go together."""
    best, most = None, 0.0
    for scale in _TEXT_SCALES:
        text_px = max(1, round(scale * _TEXT * page[0]))
        for most_lines in _CAPTION_LINES:
            for columns in range(1, len(frames) + 1):
                cells = _cells(frames, columns, page, head_px)
                # Without captions it could not be better: then with them it is not.
                if cells.widest_px * math.sqrt(scale) <= _BETTER * most:
                    continue
                grid = _fitted(frames, cells, text_px, most_lines)
                # Of grids as good as one another the one of fewest columns: it leaves no odd gaps.
                if grid is not None and (value := _worth(grid, scale)) > _BETTER * most:
                    best, most = grid, value
    return best


def _worth(grid: _Grid, scale: float) -> float:
    shortened = sum(block.shortened for block in grid.blocks) / len(grid.blocks)
    return grid.picture_px * math.sqrt(scale) * (1.0 - _WHOLE_WORTH * shortened)


def _cells(
    frames: Sequence[SheetFrame], columns: int, page: tuple[int, int], head_px: int
) -> _Cells:
    gap, margin = _GAP * page[0], _MARGIN * page[0]
    across = (page[0] - 2.0 * margin - (columns - 1) * gap) / columns
    rows = range(0, len(frames), columns)
    room = page[1] - 2.0 * margin - head_px - (len(rows) - 1) * gap
    ratio = sum(max(map(_ratio, frames[first : first + columns])) for first in rows)
    least = _NARROWEST_PICTURE * page[0]
    return _Cells(columns, min(across, room / ratio), least, room, ratio)


def _fitted(
    frames: Sequence[SheetFrame], cells: _Cells, text_px: int, most_lines: int
) -> _Grid | None:
    """The grid with pictures as wide as fit, or none."""
    width = cells.widest_px
    # Captions are as wide as the pictures: as these shrink to fit, those grow, till both settle.
    while width >= cells.least_px:
        blocks = tuple(_block(frame, text_px, width, most_lines) for frame in frames)
        heights = [
            block.height_px + width * _ratio(frame)
            for frame, block in zip(frames, blocks, strict=True)
        ]
        rows = range(0, len(frames), cells.columns)
        needed = sum(max(heights[first : first + cells.columns]) for first in rows)
        if needed <= cells.room_px:
            return _Grid(cells.columns, math.floor(width), text_px, blocks)
        # As far as the pictures alone would have to shrink, and a step at the least.
        width -= max(2.0, 0.8 * (needed - cells.room_px) / cells.ratio)
    return None


def _block(frame: SheetFrame, text_px: int, width: float, most_lines: int) -> _Block:
    name_px = round(_NAME_SCALE * text_px)
    name = wrap_words(frame.name, name_px, width, most_lines=_NAME_LINES)
    lines = [(line, name_px, _INK) for line in name]
    shortened = 0
    for caption in frame.captions:
        wrapped = wrap_words(caption, text_px, width, most_lines=most_lines)
        shortened += bool(wrapped) and wrapped[-1].endswith(ELLIPSIS)
        lines += [(line, text_px, _QUIET_INK) for line in wrapped]
    height = sum(_LINE_STEP * size for _, size, _ in lines) + 0.6 * text_px
    share = shortened / len(frame.captions) if frame.captions else 0.0
    return _Block(tuple(lines), math.ceil(height), share)


def _ratio(frame: SheetFrame) -> float:
    return float(frame.picture.shape[0] / frame.picture.shape[1])


def _draw(
    frames: Sequence[SheetFrame], grid: _Grid, page: tuple[int, int], heading: list[str]
) -> Srgb8:
    from PIL import Image

    sheet = Image.new("RGB", page, _PAPER)
    margin, gap = round(_MARGIN * page[0]), round(_GAP * page[0])
    row = margin + _draw_heading(sheet, heading, margin)
    for first in range(0, len(frames), grid.columns):
        line = range(first, min(first + grid.columns, len(frames)))
        ends = []
        for column, index in enumerate(line):
            left = margin + column * (grid.picture_px + gap)
            _draw_frame(sheet, frames[index], grid, (left, row))
            below = row + _height_px(frames[index], grid)
            _draw_block(sheet, grid.blocks[index], (left, below))
            ends.append(below + grid.blocks[index].height_px)
        row = max(ends) + gap
    return np.array(sheet, dtype=np.uint8)


def _draw_heading(sheet: Image.Image, heading: list[str], margin: int) -> int:
    """The title and a rule below it; the height of both."""
    from PIL import ImageDraw

    if not heading:
        return 0
    size = round(_TITLE * sheet.width)
    draw_words(sheet, (margin, margin + 0.8 * size), heading[0], size, fill=_INK)
    rule = margin + round(1.35 * size)
    thick = max(1, round(0.0006 * sheet.width))
    ImageDraw.Draw(sheet).line((margin, rule, sheet.width - margin, rule), fill=_RULE, width=thick)
    return round(2.0 * size)


def _height_px(frame: SheetFrame, grid: _Grid) -> int:
    return max(1, math.floor(grid.picture_px * _ratio(frame)))


def _draw_frame(
    sheet: Image.Image, frame: SheetFrame, grid: _Grid, corner: tuple[int, int]
) -> None:
    from PIL import Image

    picture = Image.fromarray(np.ascontiguousarray(frame.picture))
    size = (grid.picture_px, _height_px(frame, grid))
    # A tiny picture is enlarged in squares: anything smoother would invent what was not traced.
    coarse = grid.picture_px > _MOST_ENLARGED * picture.width
    way = Image.Resampling.NEAREST if coarse else Image.Resampling.LANCZOS
    sheet.paste(picture.resize(size, way), corner)


def _draw_block(sheet: Image.Image, block: _Block, corner: tuple[int, int]) -> None:
    row = float(corner[1])
    for text, size, ink in block.lines:
        row += _LINE_STEP * size
        draw_words(sheet, (corner[0], row), text, size, fill=ink)


def _check(frames: Sequence[SheetFrame], page_px: int) -> None:
    faults = [_not_a_picture(frame) for frame in frames if not _is_picture(frame.picture)]
    if not frames:
        faults.append(
            Fault("there is nothing to put on a sheet", where="frames", expected="one or more")
        )
    if page_px < _NARROWEST_PAGE_PX:
        faults.append(
            Fault(
                "a page too narrow for words",
                where="page_px",
                expected=f"{_NARROWEST_PAGE_PX} or more",
                found=str(page_px),
                fix=f"{PAGE_WIDTH_PX} prints well on A4",
            )
        )
    if faults:
        raise FalloffError(*faults)


def _is_picture(picture: NDArray[np.generic]) -> bool:
    return (
        picture.dtype == np.uint8
        and picture.ndim == 3
        and picture.shape[2] == 3
        and picture.size > 0
    )


def _not_a_picture(frame: SheetFrame) -> Fault:
    return Fault(
        "not a developed picture",
        where=frame.name,
        expected="(height, width, 3), 8 bits",
        found=f"{frame.picture.shape}, {frame.picture.dtype}",
        fix="develop it first",
    )
