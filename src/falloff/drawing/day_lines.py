"""The lines of a day's graph: hatched spreads, letters on them, names where they end."""

from __future__ import annotations

import bisect
import itertools
import math
from collections.abc import Sequence
from typing import Final

from falloff.drawing.day_axis import Box, Placed, TimeAxis, disc, on_paper, spread
from falloff.drawing.day_graph import LETTERS, Scale
from falloff.drawing.shapes import Patch, Shape, Stroke, Words, shortened, width_of_words_mm
from falloff.drawing.sheet import wrapped
from falloff.units import format_stops_tenths

# What tells lines apart in black and white, beside their letters; the key is the heaviest.
DASHES: Final[tuple[tuple[float, ...], ...]] = (
    (),
    (3.2, 1.2),
    (0.9, 1.0),
    (4.0, 1.0, 0.9, 1.0),
    (6.0, 1.6),
    (2.4, 0.8, 0.8, 0.8, 0.8, 0.8),
)
_LABEL_MM: Final = 3.0
_SMALL_MM: Final = 2.6
_DISC_MM: Final = 1.75
_HATCH_MM: Final = 1.25
_HATCH_GREY: Final = 0.45

_Run = list[tuple[float, float]]


def draw_lines(
    axis: TimeAxis, scale: Scale, names: Sequence[str], placed: Placed
) -> tuple[list[Shape], list[tuple[float, float] | None]]:
    """Hatched spreads, then lines, then their letters and arrows; where each line ends."""
    hatches: list[Shape] = []
    drawn: list[Shape] = []
    letters: list[Shape] = []
    ends: list[tuple[float, float] | None] = []
    for k, name in enumerate(names):
        runs = _runs(axis, name, "stops")
        hatches += _hatch(axis, scale, name, k)
        wide = 0.95 if k == 0 else 0.55
        pieces = [piece for run in runs for piece in _within(run, scale)]
        for piece in pieces:
            points = tuple((x, scale.y(stops)) for x, stops in piece)
            drawn.append(Stroke(points, wide, dash_mm=DASHES[k]))
        for run in runs:
            letters += _arrows(run, scale, LETTERS[k], placed)
        last = pieces[-1][-1] if pieces else None
        ends.append(None if last is None else (last[0], scale.y(last[1])))
    for k, name in enumerate(names):
        pieces = [piece for run in _runs(axis, name, "stops") for piece in _within(run, scale)]
        letters += _letters(pieces, scale, k, len(names), placed)
    return [*hatches, *drawn, *letters], ends


def end_labels(
    names: Sequence[str], ends: Sequence[tuple[float, float] | None], box: Box, *, full: bool
) -> list[Shape]:
    """To the right of where lines end, each one's letter, and with full its name.

    ends: None for a line that is nowhere on the graph; it is told so. A line that ends before the
    graph does has its letters only on itself, unless names are told.
    """
    reach = [end is not None and end[0] > box.left - 6.0 for end in ends]
    shown = [k for k in range(len(names)) if full or reach[k]]
    texts = []
    for k in shown:
        told = names[k] if ends[k] is not None else f"{names[k]}: not on the graph"
        lines = wrapped(told, _LABEL_MM, room_mm=box.width - 8.0) if full else [""]
        if len(lines) > 2:
            rest = shortened(" ".join(lines[1:]), _LABEL_MM, room_mm=box.width - 8.0)
            lines = [lines[0], rest]
        texts.append(lines)
    wanted = [box.bottom if (end := ends[k]) is None else end[1] for k in shown]
    sizes = [max(4.4, 3.5 * len(lines) + 1.0) for lines in texts]
    middles = spread(wanted, sizes, low=box.top, high=box.bottom)
    shapes: list[Shape] = []
    for k, lines, start, middle in zip(shown, texts, wanted, middles, strict=True):
        if reach[k]:
            corner = ((ends[k] or (box.left, start))[0], start)
            shapes.append(Stroke((corner, (box.left + 3.0, middle)), 0.2))
        shapes += disc((box.left + 3.0 + _DISC_MM, middle), _DISC_MM, LETTERS[k])
        for number, line in enumerate(lines):
            base = middle + 1.1 + 3.5 * (number - (len(lines) - 1) / 2.0)
            if line:
                shapes.append(Words(line, (box.left + 7.6, base), _LABEL_MM))
    return shapes


def key_row(names: Sequence[str], box: Box) -> list[Shape]:
    """Letters, line styles and names side by side, for several graphs at once."""
    shapes: list[Shape] = []
    room = box.width / max(1, len(names))
    middle = (box.top + box.bottom) / 2.0
    for k, name in enumerate(names):
        x = box.left + k * room
        shapes += disc((x + _DISC_MM, middle), _DISC_MM, LETTERS[k])
        line = ((x + 4.4, middle), (x + 13.0, middle))
        shapes.append(Stroke(line, 0.95 if k == 0 else 0.55, dash_mm=DASHES[k]))
        told = shortened(name, _LABEL_MM, room_mm=room - 16.0)
        shapes.append(Words(told, (x + 14.0, middle + 1.1), _LABEL_MM))
    return shapes


# Pieces of lines -------------------------------------------------------------------------


def _runs(axis: TimeAxis, name: str, part: str) -> list[_Run]:
    """A reading's (x, stops) in stretches in which there is light."""
    runs: list[_Run] = [[]]
    for one in axis.day.moments:
        level = one.levels.get(name)
        stops = None if level is None else getattr(level, part)
        if stops is None:
            runs.append([])
        else:
            runs[-1].append((axis.x(one.instant), stops))
    return [run for run in runs if run]


def _within(run: _Run, scale: Scale) -> list[_Run]:
    """The pieces of a run that lie on the graph, cut at its edges."""
    low, high = float(scale.low), float(scale.high)
    pieces: list[_Run] = []
    if len(run) == 1 and low <= run[0][1] <= high:
        x, stops = run[0]
        return [[(x - 0.6, stops), (x + 0.6, stops)]]
    for (x0, s0), (x1, s1) in itertools.pairwise(run):
        start, end = 0.0, 1.0
        if s0 != s1:
            at_low, at_high = sorted(((low - s0) / (s1 - s0), (high - s0) / (s1 - s0)))
            start, end = max(start, at_low), min(end, at_high)
        elif not low <= s0 <= high:
            continue
        if start >= end:
            continue
        first = (x0 + (x1 - x0) * start, s0 + (s1 - s0) * start)
        last = (x0 + (x1 - x0) * end, s0 + (s1 - s0) * end)
        if pieces and start == 0.0 and pieces[-1][-1] == first:
            pieces[-1].append(last)
        else:
            pieces.append([first, last])
    return pieces


def _arrows(run: _Run, scale: Scale, letter: str, placed: Placed) -> list[Shape]:
    """Arrows where a run leaves the graph; over its top with the highest that it comes to."""
    shapes: list[Shape] = []
    for up in (True, False):
        flags = [_past(stops, scale, up=up) for _, stops in run]
        for past, group in itertools.groupby(range(len(run)), key=flags.__getitem__):
            if not past:
                continue
            part = [run[n] for n in group]
            peak = max(part, key=lambda one: one[1]) if up else min(part, key=lambda one: one[1])
            x = peak[0] if up else (part[0][0] + part[-1][0]) / 2.0
            box = _arrow_box(x, scale, up=up)
            if not placed.free(box):
                continue
            placed.taken.append(box)
            tip, foot = (box.top, box.bottom) if up else (box.bottom, box.top)
            shapes.append(Patch(((x, tip), (box.right, foot), (box.left, foot)), 0.0))
            told = f"{letter} {format_stops_tenths(peak[1])}" if up else letter
            y = scale.top + 3.0 if up else scale.bottom - 0.8
            wide = width_of_words_mm(told, _SMALL_MM) / 2.0 + 1.6
            words = placed.words(told, _SMALL_MM, places=[(x + wide, y), (x - wide, y)])
            shapes += on_paper(words) if words else []
    return shapes


def _past(stops: float, scale: Scale, *, up: bool) -> bool:
    return stops > scale.high if up else stops < scale.low


def _arrow_box(x: float, scale: Scale, *, up: bool) -> Box:
    top = scale.top + 0.5 if up else scale.bottom - 2.9
    return Box(x - 1.1, top, x + 1.1, top + 2.4)


def _letters(
    pieces: Sequence[_Run], scale: Scale, k: int, count: int, placed: Placed
) -> list[Shape]:
    """A line's letter at some places of it that no other letter has."""
    points = [(x, scale.y(stops)) for piece in pieces for x, stops in piece]
    if not points:
        return []
    left, right = points[0][0], points[-1][0]
    few = [(i + (k + 0.5) / count) / 3.0 for i in range(3)]
    shapes: list[Shape] = []
    for share in (*few, *(i / 40.0 for i in range(41))):
        if share not in few and shapes:
            break
        middle = _nearest(points, left + (right - left) * share)
        box = Box(*(middle[j % 2] + (-1, -1, 1, 1)[j] * (_DISC_MM + 0.2) for j in range(4)))
        if placed.free(box):
            placed.taken.append(box)
            shapes += disc(middle, _DISC_MM, LETTERS[k])
    return shapes


def _nearest(points: Sequence[tuple[float, float]], x: float) -> tuple[float, float]:
    """The point of a line at x, or its nearest corner where the line has a gap."""
    k = bisect.bisect_left(points, (x, -math.inf))
    if k == 0 or k == len(points):
        return points[min(k, len(points) - 1)]
    (x0, y0), (x1, y1) = points[k - 1], points[k]
    if x1 - x0 > 20.0:
        return (x0, y0) if x - x0 < x1 - x else (x1, y1)
    share = (x - x0) / (x1 - x0) if x1 > x0 else 0.0
    return x, y0 + (y1 - y0) * share


def _hatch(axis: TimeAxis, scale: Scale, name: str, k: int) -> list[Shape]:
    """Slanted fine lines over a reading's spread."""
    shapes: list[Shape] = []
    slant = (0.0, 0.8, -0.8)[k % 3]
    lows, highs = _runs(axis, name, "low_stops"), _runs(axis, name, "high_stops")
    for low, high in zip(lows, highs, strict=False):
        start, end = max(low[0][0], high[0][0]), min(low[-1][0], high[-1][0])
        count = int((end - start) / _HATCH_MM)
        for i in range(count + 1):
            x = start + (i + (k % 2) / 2.0) * _HATCH_MM
            other = min(max(x + slant, start), end)
            under, over = _level(low, min(x, end)), _level(high, other)
            bottom, top = scale.y(under), scale.y(over)
            if bottom - top > 0.9:
                shapes.append(Stroke(((min(x, end), bottom), (other, top)), 0.13, _HATCH_GREY))
    return shapes


def _level(run: _Run, x: float) -> float:
    k = bisect.bisect_left(run, (x, -math.inf))
    if k == 0 or k == len(run):
        return run[min(k, len(run) - 1)][1]
    (x0, s0), (x1, s1) = run[k - 1], run[k]
    return s0 + (s1 - s0) * ((x - x0) / (x1 - x0) if x1 > x0 else 0.0)
