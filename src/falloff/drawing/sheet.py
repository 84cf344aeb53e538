"""A sheet to pin to a case: facts, a polar diagram and tables on one upright A4 page."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from falloff.drawing.polar import PolarCurve, polar_diagram
from falloff.drawing.shapes import Drawing, Patch, Shape, Stroke, Words, shortened
from falloff.drawing.shapes import width_of_words_mm as wide_mm

WIDTH_MM: Final = 210.0
HEIGHT_MM: Final = 297.0
_LEFT_MM: Final = 11.0
_ROOM_MM: Final = WIDTH_MM - 2.0 * _LEFT_MM
_BOTTOM_MM: Final = HEIGHT_MM - 9.0
_GAP_MM: Final = 4.0
_POLAR_MM: Final = 80.0
_FACT_LABEL_MM: Final = 24.0
_BIG_MM, _MIDDLE_MM, _BODY_MM, _SMALL_MM = 8.6, 4.6, 4.1, 3.5
_ROW: Final = 1.36  # height of a row over that of its letters
_NAME_INSET_MM: Final = 1.2
_GREY: Final = 0.35
_STRIPE_GREY: Final = 0.93


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: its heading, its share of the table's width.

    words: to the left; else numbers, to the right, so that equal decimals stand below each other.
    """

    heading: str
    share: float
    words: bool = False


@dataclass(frozen=True, slots=True)
class SheetTable:
    """A table: its title, its columns, its rows of cells; spans: words over some of the columns.

    spans: (first column, column after the last, words), over a line of their own.
    """

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    spans: tuple[tuple[int, int, str], ...] = ()


@dataclass(frozen=True, slots=True)
class SheetContent:
    """What a sheet says, from the top to the bottom.

    facts: label and text; costs: drawn in two halves side by side, and cut where the page ends;
    more: what is said where rows were cut, with {} for how many.
    """

    title: str
    subtitle: str
    facts: tuple[tuple[str, str], ...]
    curves: tuple[PolarCurve, ...]
    tables: tuple[SheetTable, ...]
    costs: SheetTable | None
    notes: tuple[str, ...]
    more: str = "{} more do not fit the page"


def draw_sheet(content: SheetContent) -> Drawing:
    """The sheet as a drawing, black on white; what is too long for its place is shortened."""
    shapes, y = _head(content)
    y += _GAP_MM
    facts, facts_end = _facts(content.facts, y)
    corner = (_LEFT_MM + _ROOM_MM - _POLAR_MM, y)
    polar, height = polar_diagram(content.curves, corner_mm=corner, width_mm=_POLAR_MM)
    shapes += [*facts, *polar]
    y = max(facts_end, y + height) + _GAP_MM
    for one in content.tables:
        drawn, y = _table(one, (_LEFT_MM, y), _ROOM_MM, _BODY_MM)
        shapes += drawn
        y += _GAP_MM
    notes, notes_height = _notes(content.notes)
    if content.costs is not None:
        shapes += _costs(content.costs, y, _BOTTOM_MM - notes_height - 2.0, content.more)
    shapes += notes
    return Drawing(WIDTH_MM, HEIGHT_MM, content.title, tuple(shapes))


def wrapped(text: str, size_mm: float, *, room_mm: float) -> list[str]:
    """The text in lines no wider than a room, broken between words; a number keeps its unit."""
    lines: list[str] = []
    for word in re.split(r" (?![^\W\d]{1,2}(?:\W|$)|%)", text):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and wide_mm(longer, size_mm) <= room_mm:
            lines[-1] = longer
        else:
            lines.append(word)
    return [shortened(line, size_mm, room_mm=room_mm) for line in lines]


# Parts -----------------------------------------------------------------------------------


def _head(content: SheetContent) -> tuple[list[Shape], float]:
    size = _BIG_MM
    while size > 0.6 * _BIG_MM and wide_mm(content.title, size) > _ROOM_MM:
        size -= 0.2
    y = 16.0
    title = shortened(content.title, size, room_mm=_ROOM_MM)
    shapes: list[Shape] = [Words(title, (_LEFT_MM, y), size)]
    for line in wrapped(content.subtitle, _MIDDLE_MM, room_mm=_ROOM_MM)[:2]:
        y += 6.2
        shapes.append(Words(line, (_LEFT_MM, y), _MIDDLE_MM))
    y += 3.0
    shapes.append(_rule(_LEFT_MM, y, _ROOM_MM, 0.8))
    return shapes, y


def _facts(facts: tuple[tuple[str, str], ...], y: float) -> tuple[list[Shape], float]:
    """Labels and what they tell, down the left."""
    shapes: list[Shape] = []
    room = _ROOM_MM - _POLAR_MM - _FACT_LABEL_MM - 6.0
    y -= 1.5
    for label, text in facts:
        y += 0.8
        for number, line in enumerate(wrapped(text, _BODY_MM, room_mm=room)):
            y += 5.0
            if number == 0:
                shapes.append(Words(label, (_LEFT_MM, y), _SMALL_MM, grey_share=_GREY))
            shapes.append(Words(line, (_LEFT_MM + _FACT_LABEL_MM, y), _BODY_MM))
    return shapes, y + 1.5


def _table(
    table: SheetTable, corner: tuple[float, float], width: float, size: float
) -> tuple[list[Shape], float]:
    """A table's shapes and where it ends; every second row on a grey ground."""
    edges = _edges(table.columns, corner[0], width)
    shapes, y = _table_head(table, edges, corner[1], min(_SMALL_MM, 0.92 * size))
    x = corner[0]
    shapes.append(_rule(x, y, width, 0.35))
    for number, cells in enumerate(table.rows):
        lines = _lines(cells, table.columns, edges, size)
        high = _ROW * size * len(lines)
        if number % 2:
            shapes.append(_stripe(x, y + 0.15, width, high))
        for line in lines:
            base = y + 0.72 * _ROW * size
            for place, (cell, column) in enumerate(zip(line, table.columns, strict=True)):
                shapes += _cell(cell, column, edges[place : place + 2], base, size)
            y += _ROW * size
    return shapes, y


def _table_head(
    table: SheetTable, edges: list[float], y: float, small: float
) -> tuple[list[Shape], float]:
    """The title, what spans columns, and the headings, down to the first rule."""
    shapes: list[Shape] = []
    if table.title:
        y += _MIDDLE_MM
        told = shortened(table.title, _MIDDLE_MM, room_mm=edges[-1] - edges[0])
        shapes.append(Words(told, (edges[0], y), _MIDDLE_MM))
        y += 2.0
    if table.spans:
        y += small + 0.6
        for first, end, text in table.spans:
            left = edges[first] + (1.5 if first else 0.0)
            said = shortened(text, small, room_mm=edges[end] - left)
            shapes.append(Words(said, ((left + edges[end]) / 2.0, y), small, "middle"))
            shapes.append(_rule(left, y + 1.2, edges[end] - left, 0.25))
        y += 1.6
    y += 1.18 * small
    for place, column in enumerate(table.columns):
        shapes += _cell(column.heading, column, edges[place : place + 2], y, small, _GREY)
    return shapes, y + 1.3


def _lines(
    cells: tuple[str, ...], columns: tuple[Column, ...], edges: list[float], size: float
) -> list[tuple[str, ...]]:
    """A row in as many lines as its words need; numbers stand in the first."""
    parts = [
        wrapped(cell, size, room_mm=edges[place + 1] - edges[place] - _NAME_INSET_MM)
        if column.words
        else [cell]
        for place, (cell, column) in enumerate(zip(cells, columns, strict=True))
    ]
    most = max(len(part) for part in parts)
    return [tuple(part[k] if k < len(part) else "" for part in parts) for k in range(most)]


def _costs(table: SheetTable, y: float, end: float, more: str) -> list[Shape]:
    """A long table in two halves side by side, as far as the page goes."""
    half, size = (_ROOM_MM - 6.0) / 2.0, _SMALL_MM
    y += _MIDDLE_MM
    edges = _edges(table.columns, 0.0, half)
    highs = [_ROW * size * len(_lines(row, table.columns, edges, size)) for row in table.rows]
    room = end - y - 2.0 - 1.18 * size - 1.3
    whole = _halves(highs, sum(highs) / 2.0 + max(highs) / 2.0)
    parts = whole if whole[1] == len(highs) and _fit(highs, whole, room) else None
    if parts is None:
        parts = _halves(highs, room)
        parts = parts if parts[1] == len(highs) else _halves(highs, room - 1.4 * size)
    if parts[0] == 0:
        return []
    shapes: list[Shape] = [Words(table.title, (_LEFT_MM, y), _MIDDLE_MM)]
    bottom = y
    for number, part in enumerate((table.rows[: parts[0]], table.rows[parts[0] : parts[1]])):
        if part:
            left = _LEFT_MM + number * (half + 6.0)
            drawn, last = _table(SheetTable("", table.columns, part), (left, y + 2.0), half, size)
            shapes += drawn
            bottom = max(bottom, last)
    cut = len(highs) - parts[1]
    if cut > 0:
        at = (_LEFT_MM, bottom + 1.2 * size)
        shapes.append(Words(more.format(cut), at, size, grey_share=_GREY))
    return shapes


def _halves(highs: list[float], room: float) -> tuple[int, int]:
    """Where the left half ends and where the right one does, neither higher than the room."""
    ends = []
    place = 0
    for _ in range(2):
        filled = 0.0
        while place < len(highs) and filled + highs[place] <= room + 1e-6:
            filled += highs[place]
            place += 1
        ends.append(place)
    return ends[0], ends[1]


def _fit(highs: list[float], parts: tuple[int, int], room: float) -> bool:
    return max(sum(highs[: parts[0]]), sum(highs[parts[0] : parts[1]])) <= room


def _notes(notes: tuple[str, ...]) -> tuple[list[Shape], float]:
    """Cautions and where the figures are from, at the foot of the page; their height."""
    lines = [
        (line, number == 0)
        for note in notes
        for number, line in enumerate(wrapped(note, _SMALL_MM, room_mm=_ROOM_MM))
    ]
    step = 1.3 * _SMALL_MM
    height = step * len(lines) + 3.5
    y = _BOTTOM_MM - height
    shapes: list[Shape] = [_rule(_LEFT_MM, y, _ROOM_MM, 0.35)]
    y += 1.5
    for line, _ in lines:
        y += step
        shapes.append(Words(line, (_LEFT_MM, y), _SMALL_MM))
    return shapes, height


# Pieces ----------------------------------------------------------------------------------


def _edges(columns: tuple[Column, ...], left: float, width: float) -> list[float]:
    whole = sum(one.share for one in columns)
    edges = [left]
    for one in columns:
        edges.append(edges[-1] + width * one.share / whole)
    return edges


def _cell(
    text: str, column: Column, edges: list[float], y: float, size: float, grey: float = 0.0
) -> list[Shape]:
    """The words of a cell, shortened to it; nothing for an empty one."""
    if not text:
        return []
    said = shortened(text, size, room_mm=edges[1] - edges[0] - _NAME_INSET_MM)
    if column.words:
        return [Words(said, (edges[0] + _NAME_INSET_MM / 2.0, y), size, grey_share=grey)]
    return [Words(said, (edges[1] - _NAME_INSET_MM / 2.0, y), size, "right", grey)]


def _rule(x: float, y: float, width: float, thick: float) -> Stroke:
    return Stroke(((x, y), (x + width, y)), thick)


def _stripe(x: float, y: float, width: float, height: float) -> Patch:
    corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
    return Patch(corners, _STRIPE_GREY)
