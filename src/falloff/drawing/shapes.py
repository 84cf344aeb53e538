"""What a drawing is made of: lines, outlines, discs and words on a sheet, in millimetres."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from falloff.camera.lettering import shorten, words_width

Anchor = Literal["left", "middle", "right"]

# Words are measured at this fineness, so that every way of drawing them takes the same room.
MEASURE_PX_PER_MM: Final = 8.0


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points, from the sheet's upper left corner, x to the right, y down.

    points_mm: two or more; dash_mm: lengths drawn and left out in turn, empty for a whole line.
    """

    points_mm: tuple[tuple[float, float], ...]
    width_mm: float
    grey_share: float = 0.0
    dash_mm: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Patch:
    """A filled outline; grey_share: 0 is black, 1 is paper."""

    points_mm: tuple[tuple[float, float], ...]
    grey_share: float


@dataclass(frozen=True, slots=True)
class Words:
    """One line of text: where its baseline's left end, middle or right is, and its letters' height.

    size_mm: of the font; width_mm: the room that it takes.
    """

    text: str
    at_mm: tuple[float, float]
    size_mm: float
    anchor: Anchor = "left"
    grey_share: float = 0.0

    @property
    def width_mm(self) -> float:
        """Room that the words take along the line."""
        return width_of_words_mm(self.text, self.size_mm)


Shape = Stroke | Patch | Words


@dataclass(frozen=True, slots=True)
class Drawing:
    """Shapes on a sheet of paper, drawn in their order; title: for a reader of screens."""

    width_mm: float
    height_mm: float
    title: str
    shapes: tuple[Shape, ...]


def width_of_words_mm(text: str, size_mm: float) -> float:
    """The width of one line of words in letters of a size (mm)."""
    return words_width(text, _px(size_mm)) / MEASURE_PX_PER_MM


def shortened(text: str, size_mm: float, *, room_mm: float) -> str:
    """The text, or as much of its beginning as fits a room with an ellipsis."""
    return shorten(text, _px(size_mm), room_mm * MEASURE_PX_PER_MM)


def _px(size_mm: float) -> int:
    return max(1, round(size_mm * MEASURE_PX_PER_MM))
