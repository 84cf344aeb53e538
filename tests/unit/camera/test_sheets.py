"""The contact sheet: every setup once, in order, of one width, inside the margins."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.camera import SheetFrame, contact_sheet
from falloff.errors import FalloffError

PAGE = 1200
CAPTIONS = (
    "camera WIDE, 24 mm, sensor 24.9 mm × 14.0 mm",
    "T4, ISO 400, 1/48 s, ND 3 stops, balance 5000 K",
    "key cheek: two thirds over, 512 lx (47.6 fc)",
)


def colour(index: int) -> tuple[int, int, int]:
    """A colour of its own for each picture, far from any grey."""
    return (40 + 4 * index, 10, 250 - 3 * index)


def frame(
    index: int,
    *,
    size: tuple[int, int] = (90, 160),
    name: str = "",
    captions: tuple[str, ...] = CAPTIONS,
) -> SheetFrame:
    """A frame whose picture is of one colour."""
    picture = np.full((*size, 3), colour(index), dtype=np.uint8)
    return SheetFrame(name or f"SETUP {index}", captions, picture)


def box_of(sheet: np.ndarray, index: int) -> tuple[int, int, int, int]:
    """Left, top, width and height of a frame's picture on the sheet."""
    mask = np.all(sheet == colour(index), axis=2)
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    assert mask[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1].all()
    return columns[0], rows[0], len(columns), len(rows)


def test_the_page_is_a4_across() -> None:
    """source: ISO 216, 210 mm × 297 mm: 3508 × 2480 at 300 dots to the inch."""
    sheet = contact_sheet([frame(0)], title="WORKSHOP")
    assert sheet.shape == (2480, 3508, 3)
    assert sheet.dtype == np.uint8
    assert contact_sheet([frame(0)], title="WORKSHOP", page_px=PAGE).shape == (848, 1200, 3)


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5, 7, 12, 30])
def test_every_setup_once_in_order_and_of_one_width(count: int) -> None:
    """pencil: rows from left to right and top to bottom; none meets another; 16:9 is kept."""
    sheet = contact_sheet([frame(i) for i in range(count)], title="WORKSHOP", page_px=PAGE)
    boxes = [box_of(sheet, i) for i in range(count)]
    assert len({width for _, _, width, _ in boxes}) == 1
    for left, top, width, height in boxes:
        assert_allclose(height, width * 90 / 160, atol=1.0)
        assert left >= 0.04 * PAGE - 1
        assert left + width <= 0.96 * PAGE + 1
        assert top > 0.04 * PAGE
    places = [(top, left) for left, top, _, _ in boxes]
    assert places == sorted(places)
    assert len(set(places)) == count


@pytest.mark.parametrize("count", [1, 6, 30])
def test_margins_are_white(count: int) -> None:
    """pencil: 4 % of the page's width on every side, with long names and captions too."""
    frames = [frame(i, name="CLOSE-UP " * 20, captions=("word " * 60,) * 4) for i in range(count)]
    sheet = contact_sheet(frames, title="WORKSHOP " * 40, page_px=PAGE)
    edge = 46
    for margin in (sheet[:edge], sheet[-edge:], sheet[:, :edge], sheet[:, -edge:]):
        assert margin.min() == 255


def test_captions_stand_below_their_pictures() -> None:
    """pencil: dark ink under each picture, in its width, before the next row; none without."""
    sheet = contact_sheet([frame(0), frame(1, captions=())], title="", page_px=PAGE)
    ink = []
    for index in (0, 1):
        left, top, width, height = box_of(sheet, index)
        below = sheet[top + height :, left : left + width]
        ink.append(np.flatnonzero(np.any(np.all(below < 120, axis=2), axis=1)))
    # A name and three lines against a name alone.
    assert len(ink[0]) > 2.5 * len(ink[1])
    assert ink[0][0] == ink[1][0]


def test_mixed_shapes_have_one_width_and_their_own_captions() -> None:
    """pencil: a 1:1 picture is as wide as a 16:9 one and so much higher; captions follow each."""
    frames = [frame(0), frame(1, size=(160, 160)), frame(2, size=(300, 100)), frame(3)]
    sheet = contact_sheet(frames, title="WORKSHOP", page_px=PAGE)
    boxes = [box_of(sheet, i) for i in range(4)]
    assert len({width for _, _, width, _ in boxes}) == 1
    assert_allclose(boxes[1][3], boxes[1][2], atol=1.0)
    assert_allclose(boxes[2][3], 3 * boxes[2][2], atol=1.0)
    left, top, width, height = boxes[0]
    under = sheet[top + height : top + height + 40, left : left + width]
    assert (under < 120).all(axis=2).any()


def test_few_setups_are_large_and_many_are_small() -> None:
    """pencil: the grid is fitted to the count: two fill the width, thirty have less each."""
    widths = []
    for count in (1, 2, 9, 30):
        sheet = contact_sheet([frame(i) for i in range(count)], title="W", page_px=PAGE)
        widths.append(box_of(sheet, 0)[2])
    assert widths == sorted(widths, reverse=True)
    assert_allclose(widths[1], (0.92 - 0.016) / 2 * PAGE, atol=2.0)


def test_names_of_every_kind() -> None:
    """Any script, control characters and half a surrogate pair: a sheet, not a failure."""
    names = ("Küche", "кухня", "廚房", "مطبخ", "रसोई", "🎬", "A\nB\x00", "\ud800", " ")
    frames = [frame(i, name=name, captions=(name, "")) for i, name in enumerate(names)]
    sheet = contact_sheet(frames, title="\u202eمطبخ", page_px=PAGE)
    assert len({box_of(sheet, i)[2] for i in range(len(names))}) == 1


def test_tiny_pictures() -> None:
    """pencil: a picture of one pixel is drawn as a square of its colour."""
    sheet = contact_sheet([frame(0, size=(1, 1)), frame(1)], title="W", page_px=PAGE)
    left, top, width, height = box_of(sheet, 0)
    assert width == height == box_of(sheet, 1)[2]
    assert left >= 0
    assert top >= 0


def test_bad_input() -> None:
    """Each refusal says what is expected."""
    with pytest.raises(FalloffError, match="nothing to put on a sheet"):
        contact_sheet([], title="W")
    grey: Any = np.zeros((4, 4, 3), dtype=np.float32)
    wrong = SheetFrame("WIDE", (), grey)
    with pytest.raises(FalloffError, match="WIDE: not a developed picture"):
        contact_sheet([wrong], title="W")
    with pytest.raises(FalloffError, match="too narrow for words"):
        contact_sheet([frame(0)], title="W", page_px=300)
    with pytest.raises(FalloffError, match="too many setups"):
        contact_sheet([frame(0, captions=("x",))] * 400, title="W", page_px=PAGE)
