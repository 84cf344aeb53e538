"""draw_day(days) -> Drawing: a day, or up to three side by side, on a sheet for a wall."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from falloff.day.records import Day, ShotTurn
from falloff.drawing import day_graph as graph
from falloff.drawing.day_axis import (
    GREY,
    Box,
    Placed,
    TimeAxis,
    fitting_size,
    hours_of,
    on_paper,
    rule,
)
from falloff.drawing.day_lines import draw_lines, end_labels, key_row
from falloff.drawing.day_patches import draw_patches
from falloff.drawing.day_strips import (
    Strip,
    draw_labels,
    draw_strips,
    left_out_words,
    strips_of,
)
from falloff.drawing.day_words import (
    answers,
    caution_lines,
    differing,
    facts,
    heading,
    stretch_words,
)
from falloff.drawing.shapes import Drawing, Shape, Words, shortened
from falloff.drawing.sheet import wrapped

if TYPE_CHECKING:
    from falloff.drawing.plan_records import Plan

WIDTH_MM: Final = 297.0
HEIGHT_MM: Final = 210.0
MOST_DAYS: Final = 3
_LEFT_MM: Final = 9.0
_RIGHT_MM: Final = WIDTH_MM - 9.0
_BOTTOM_MM: Final = HEIGHT_MM - 7.0
_COLUMN_MM: Final = 39.0  # of labels, to the left of the graphs
_NAMES_MM: Final = 35.0  # of lines, to the right of a graph that stands alone
_LETTERS_MM: Final = 7.0  # as above, where graphs stand side by side
_ASIDE_MM: Final = 80.0  # plan and order of shots, beside a graph that stands alone
_GAP_MM: Final = 5.0
_HOURS_MM: Final = 5.4  # of the hours of the clock, below a graph
_LEAST_GRAPH_MM: Final = (46.0, 40.0)  # alone, and side by side
_PLANS_MM: Final = 37.0  # height of the plans below graphs side by side
_ORDER_ROW_MM: Final = 4.3
_MOST_TURNS: Final = 9
_BODY_MM, _SMALL_MM, _FOOT_MM = 3.2, 2.7, 2.5
_ANSWERS_MM: Final = (6.2, 5.6, 5.0, 4.5, 4.0, 3.6, 3.2, 2.9)


@dataclass(frozen=True, slots=True)
class _Sheet:
    """What is drawn, and the scales that all days share."""

    days: tuple[Day, ...]
    room: Plan | None
    order: tuple[ShotTurn, ...]
    names: list[str]
    left_out: int

    @property
    def alone(self) -> bool:
        return len(self.days) == 1

    @property
    def aside(self) -> bool:
        """Whether the plan or the order stands beside the graph."""
        return self.alone and (self.room is not None or bool(self.order))


def draw_day(
    days: tuple[Day, ...],
    *,
    room: Plan | None = None,
    order: tuple[ShotTurn, ...] = (),
    readings: tuple[str, ...] = (),
) -> Drawing:
    """A day by the hour on A4 lying flat, black on white; two or three days on the same scales.

    room: with it come plans with the sun's patches. order: of the day's shots. readings: which have
    a line, all if none is named; the key comes first, and six at most are drawn. Raises ValueError
    for no day and for more than three.
    """
    if not 1 <= len(days) <= MOST_DAYS:
        raise ValueError(f"one to {MOST_DAYS} days fit a sheet, not {len(days)}")
    names, left_out = graph.lines_of(days, readings)
    sheet = _Sheet(days, room, order, names, left_out)
    shapes, top = _head(sheet)
    foot, bottom = _foot(days)
    shapes += foot
    panels = _panels(sheet)
    said, top = _answers(sheet, panels, top)
    shapes += said
    if not sheet.alone:
        below, bottom = _below(sheet, panels, bottom)
        shapes += below
        shapes += key_row(names, Box(_LEFT_MM, top, _RIGHT_MM, top + 4.6))
        top += 4.6
    elif sheet.aside:
        left = _RIGHT_MM - _ASIDE_MM
        shapes += _side(sheet, Box(left, top + 1.0, _RIGHT_MM, bottom - 1.0))
    shapes += _graphs(sheet, panels, top, bottom)
    title = f"{days[0].scene}, {days[0].setup}: {heading(days[0], ['date'])}"
    return Drawing(WIDTH_MM, HEIGHT_MM, title, tuple(shapes))


# Head and foot ---------------------------------------------------------------------------


def _head(sheet: _Sheet) -> tuple[list[Shape], float]:
    """What the sheet is of: scene and setup, the date, and what all days have in common."""
    told = facts(sheet.days[0])
    apart = [] if sheet.alone else differing(sheet.days)
    names = [name for name in told if name not in apart and told[name]]
    room = _RIGHT_MM - _LEFT_MM
    big = ", ".join(told[name] for name in ("scene", "setup") if name in names)
    date = told["date"] if "date" in names else "Compared: " + " and ".join(apart)
    date = shortened(date, 5.0, room_mm=0.42 * room)
    right = Words(date, (_RIGHT_MM, 12.6), 5.0, "right")
    big_room = room - right.width_mm - 6.0
    size = fitting_size(big, (5.0, 4.4), room_mm=big_room)
    big = shortened(big, size, room_mm=big_room)
    rest = [told[name] for name in names if name not in ("scene", "setup", "date")]
    line = shortened("  ·  ".join(rest), _BODY_MM, room_mm=room)
    return [
        Words(big, (_LEFT_MM, 12.6), size),
        right,
        Words(line, (_LEFT_MM, 17.8), _BODY_MM),
        rule((_LEFT_MM, 20.0), (_RIGHT_MM, 20.0), 0.7),
    ], 20.0


def _foot(days: Sequence[Day]) -> tuple[list[Shape], float]:
    """Cautions in small type, and where they begin."""
    room = _RIGHT_MM - _LEFT_MM
    lines = [
        part for line in caution_lines(days) for part in wrapped(line, _FOOT_MM, room_mm=room)
    ][:5]
    step = 1.28 * _FOOT_MM
    top = _BOTTOM_MM - step * len(lines) - 1.0
    shapes: list[Shape] = [rule((_LEFT_MM, top), (_RIGHT_MM, top), 0.35)]
    for number, line in enumerate(lines, start=1):
        shapes.append(Words(line, (_LEFT_MM, top + 0.4 + step * number), _FOOT_MM))
    return shapes, top - 1.0


def _answers(
    sheet: _Sheet, panels: Sequence[tuple[float, float]], top: float
) -> tuple[list[Shape], float]:
    """The answers of each day, in the largest letters that they all fit in."""
    heads = [] if sheet.alone else [heading(day, differing(sheet.days)) for day in sheet.days]
    spans = [(_LEFT_MM, _RIGHT_MM)] if sheet.alone else _spans(panels)
    most = 36.0 if sheet.alone else 27.0 if sheet.room else 34.0
    sizes = _ANSWERS_MM if sheet.alone else _ANSWERS_MM[3:]
    told = [answers(day) for day in sheet.days]
    shapes: list[Shape] = []
    for size in sizes:
        step = 1.26 * size
        columns = [
            [line for text in texts for line in _indented(text, size, right - left)]
            for texts, (left, right) in zip(told, spans, strict=True)
        ]
        if step * max(len(lines) for lines in columns) <= most:
            break
    lines_kept = int(most / step)
    base = top + (6.4 if heads else 1.6)
    if heads:
        room = min(right - left for left, right in spans)
        big = min(fitting_size(one, (4.8, 4.2, 3.6), room_mm=room) for one in heads)
        for one, (left, _) in zip(heads, spans, strict=True):
            shapes.append(Words(shortened(one, big, room_mm=room), (left, top + 5.4), big))
    deepest = base
    for lines, (left, _) in zip(columns, spans, strict=True):
        shown = lines[:lines_kept]
        if len(shown) < len(lines):
            shown[-1] = (shown[-1][0], f"{shown[-1][1].removesuffix('.')} …")
        for number, (indent, line) in enumerate(shown, start=1):
            y = base + step * number - 0.2 * size
            shapes.append(Words(line, (left + indent, y), size))
            deepest = max(deepest, y + 0.3 * size)
    return shapes, deepest + 1.6


def _indented(text: str, size: float, room: float) -> list[tuple[float, str]]:
    """A sentence's lines and how far each is set in."""
    lines = wrapped(text, size, room_mm=room - 2.0 * size)
    return [(size if number else 0.0, line) for number, line in enumerate(lines)]


# Graphs ----------------------------------------------------------------------------------


def _panels(sheet: _Sheet) -> list[tuple[float, float]]:
    """Left and right of each graph."""
    left = _LEFT_MM + _COLUMN_MM
    if sheet.alone:
        right = _RIGHT_MM - _NAMES_MM - (_ASIDE_MM + _GAP_MM if sheet.aside else 0.0)
        return [(left, right)]
    count = len(sheet.days)
    wide = (_RIGHT_MM - left - count * _LETTERS_MM - (count - 1) * _GAP_MM) / count
    step = wide + _LETTERS_MM + _GAP_MM
    return [(left + k * step, left + k * step + wide) for k in range(count)]


def _spans(panels: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """The sheet's width in as many columns as there are graphs, for what stands over each."""
    gap, count = _GAP_MM, len(panels)
    wide = (_RIGHT_MM - _LEFT_MM - gap * (count - 1)) / count
    return [(_LEFT_MM + k * (wide + gap), _LEFT_MM + k * (wide + gap) + wide) for k in range(count)]


def _graphs(
    sheet: _Sheet, panels: Sequence[tuple[float, float]], top: float, bottom: float
) -> list[Shape]:
    """Graphs with their strips, from the words over them down to what is not on this day."""
    strips, none = strips_of(sheet.days, sheet.names)
    graph_top = top + graph.EVENTS_MM
    notes_mm = 4.0
    room = bottom - notes_mm - graph_top - _HOURS_MM - _LEAST_GRAPH_MM[not sheet.alone]
    kept = _fitting(strips, room, alone=sheet.alone)
    strips_mm = sum(one.height_mm(alone=sheet.alone) for one in kept)
    rows_top = bottom - notes_mm - strips_mm
    low, high = graph.reach_of(sheet.days, sheet.names)
    scale = graph.Scale(low, high, graph_top, rows_top - _HOURS_MM)
    hours = hours_of(sheet.days)
    column = Box(_LEFT_MM, graph_top, _LEFT_MM + _COLUMN_MM - 11.0, scale.bottom)
    shapes = graph.title_of_y(column, sheet.names, sheet.days, sheet.left_out)
    notes = Box(panels[0][1] + 1.5, rows_top, panels[0][1] + _NAMES_MM, bottom)
    labels = Box(_LEFT_MM, rows_top, _LEFT_MM + _COLUMN_MM, bottom)
    shapes += draw_labels(kept, labels, notes if sheet.alone else None)
    for k, (day, (left, right)) in enumerate(zip(sheet.days, panels, strict=True)):
        axis = TimeAxis(day, hours, left, right)
        shapes += _one_graph(sheet, axis, scale, rows_top + strips_mm, first=k == 0)
        shapes += draw_strips(kept, axis, k, rows_top, alone=sheet.alone)
    end = panels[-1][1] + (_NAMES_MM if sheet.alone else _LETTERS_MM)
    said = " ".join(
        part for part in (left_out_words([one for one in strips if one not in kept]), none) if part
    )
    said = shortened(said, _SMALL_MM, room_mm=end - _LEFT_MM)
    return [*shapes, Words(said, (_LEFT_MM, bottom - 0.6), _SMALL_MM, grey_share=GREY)]


def _one_graph(
    sheet: _Sheet, axis: TimeAxis, scale: graph.Scale, bottom: float, *, first: bool
) -> list[Shape]:
    """One day's grounds, grid, lines and labels."""
    frame = Box(axis.left, scale.top, axis.right, scale.bottom)
    placed = Placed(frame)
    shapes = graph.shades(axis, scale.top, scale.bottom)
    shapes += graph.shades(axis, scale.bottom + _HOURS_MM, bottom)
    shapes += graph.hour_labels(axis, scale.top, scale.bottom, scale.bottom + 4.2)
    shapes += graph.grid(axis, scale, key="key 0", named=first)
    shapes += graph.event_marks(axis, scale.top, scale.bottom)
    lines, ends = draw_lines(axis, scale, sheet.names, placed)
    shapes += [*lines, frame.outline(0.3)]
    if not any(ends):
        said = "No reading has so much light." if ends else "No readings."
        middle = (frame.left + frame.right) / 2.0
        shapes += on_paper(Words(said, (middle, scale.y(0.0) - 2.0), _BODY_MM, "middle"))
    wide = _NAMES_MM if sheet.alone else _LETTERS_MM
    beside = Box(axis.right, scale.top, axis.right + wide, scale.bottom)
    return shapes + end_labels(sheet.names, ends, beside, full=sheet.alone)


def _fitting(strips: Sequence[Strip], room: float, *, alone: bool) -> list[Strip]:
    """Strips that fit, the first before others."""
    kept: list[Strip] = []
    for one in strips:
        high = one.height_mm(alone=alone)
        if high <= room:
            kept.append(one)
            room -= high
    return kept


# Plan and order --------------------------------------------------------------------------


def _side(sheet: _Sheet, box: Box) -> list[Shape]:
    """The plan, and the order of shots below it, beside a graph."""
    shapes: list[Shape] = []
    top = box.top
    if sheet.room is not None:
        x0, y0, x1, y1 = sheet.room.bounds_m
        high = (box.width - 11.0) * (y1 - y0) / max(x1 - x0, 0.1) + 6.0
        most = 0.52 * box.height if sheet.order else box.height
        end = top + min(high, most)
        shapes += draw_patches(sheet.days[0], sheet.room, Box(box.left, top, box.right, end))
        top = end + 5.0
    return shapes + _turns(sheet.order, Box(box.left, top, box.right, box.bottom))


def _turns(order: Sequence[ShotTurn], box: Box) -> list[Shape]:
    """Numbered shots, each with its hours and why, down a column as far as it goes."""
    if not order:
        return []
    shapes: list[Shape] = [Words("Order of shots", (box.left, box.top + 3.4), 4.2)]
    y = box.top + 5.0
    for number, turn in enumerate(order, start=1):
        reasons = wrapped(turn.why, _SMALL_MM, room_mm=box.width - 6.0)[:2] if turn.why else []
        high = 5.0 + 3.5 * len(reasons)
        last = 4.0 if number < len(order) else 0.0
        if y + high + last > box.bottom:
            more = f"and {len(order) - number + 1} more"
            return [*shapes, Words(more, (box.left, y + 3.6), _SMALL_MM, grey_share=GREY)]
        shapes += _turn_line(number, turn, Box(box.left, y, box.right, y + 5.0))
        y += 5.0
        for line in reasons:
            shapes.append(Words(line, (box.left + 6.0, y + 2.4), _SMALL_MM, grey_share=GREY))
            y += 3.5
    return shapes


def _turn_line(number: int, turn: ShotTurn, box: Box) -> list[Shape]:
    """A shot's number, its setup, and the hours of its first stretches."""
    told = ", ".join(stretch_words(one) for one in turn.stretches[:2])
    told += " …" if len(turn.stretches) > 2 else ""
    hours = Words(told, (box.right, box.top + 3.9), _BODY_MM, "right")
    room = box.width - 6.0 - hours.width_mm - 2.0
    name = shortened(turn.setup, 3.6, room_mm=room)
    return [
        Words(f"{number}", (box.left, box.top + 3.9), 3.6),
        Words(name, (box.left + 6.0, box.top + 3.9), 3.6),
        *([hours] if told else []),
    ]


def _below(
    sheet: _Sheet, panels: Sequence[tuple[float, float]], bottom: float
) -> tuple[list[Shape], float]:
    """Under several graphs: the order of shots once, and each day's plan; where they begin."""
    shapes: list[Shape] = []
    if sheet.order:
        kept = sheet.order[:_MOST_TURNS]
        spans = _spans(panels)
        rows = -(-len(kept) // len(spans))
        top = bottom - _ORDER_ROW_MM * rows - 4.8
        more = len(sheet.order) - len(kept)
        title = "Order of shots" + (f", the first {len(kept)}; {more} more" if more else "")
        shapes.append(Words(title, (_LEFT_MM, top + 3.4), _BODY_MM))
        for k, turn in enumerate(kept):
            left, right = spans[k // rows]
            y = top + 4.2 + _ORDER_ROW_MM * (k % rows)
            shapes += _short_turn(k + 1, turn, Box(left, y, right, y))
        bottom = top - 1.0
    if sheet.room is not None:
        top = bottom - _PLANS_MM
        for day, (left, right) in zip(sheet.days, panels, strict=True):
            shapes += draw_patches(day, sheet.room, Box(left, top, right + _LETTERS_MM, bottom))
        column = Box(_LEFT_MM, top, _LEFT_MM + _COLUMN_MM - 6.0, bottom)
        y = column.top + 3.0
        for line in wrapped("Where the sun falls, by the hour", _BODY_MM, room_mm=column.width):
            shapes.append(Words(line, (column.left, y), _BODY_MM))
            y += 4.0
        bottom = top - 2.0
    return shapes, bottom


def _short_turn(number: int, turn: ShotTurn, box: Box) -> list[Shape]:
    """A shot on one line: its number and setup, and why."""
    room = box.width - 5.0
    name = shortened(turn.setup, _BODY_MM, room_mm=0.4 * room)
    shown = Words(name, (box.left + 5.0, box.top + 3.3), _BODY_MM)
    told = turn.why or ", ".join(stretch_words(one) for one in turn.stretches)
    left = box.left + 7.0 + shown.width_mm
    why = shortened(told, _SMALL_MM, room_mm=box.right - left)
    return [
        Words(f"{number}", (box.left, box.top + 3.3), _BODY_MM),
        shown,
        Words(why, (left, box.top + 3.3), _SMALL_MM, grey_share=GREY),
    ]
