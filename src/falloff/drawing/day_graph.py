"""A day's graph: stops over key by the hour, a line for each reading, with its spread hatched."""

from __future__ import annotations

import bisect
import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from falloff.day.records import Day
from falloff.drawing.day_axis import GREY, Box, Placed, TimeAxis, box_of_words, disc, rule, spread
from falloff.drawing.day_words import EVENT_WORDS, clock
from falloff.drawing.shapes import Patch, Shape, Stroke, Words, shortened, width_of_words_mm
from falloff.drawing.sheet import wrapped

MOST_LINES: Final = 6
EVENTS_MM: Final = 7.4  # height of the two rows of words above the graph
LETTERS: Final = "ABCDEF"
# What tells lines apart in black and white, beside their letters; the key is the heaviest.
DASHES: Final[tuple[tuple[float, ...], ...]] = (
    (),
    (3.2, 1.2),
    (0.9, 1.0),
    (4.0, 1.0, 0.9, 1.0),
    (6.0, 1.6),
    (2.4, 0.8, 0.8, 0.8, 0.8, 0.8),
)
_REACH: Final = 6  # stops over and under key that are drawn at most
_LABEL_MM: Final = 3.0
_SMALL_MM: Final = 2.6
_DISC_MM: Final = 1.75
_HATCH_MM: Final = 1.7
_HATCH_GREY: Final = 0.6
# Grounds by the sun's altitude: under 12 degrees down it is night, then the twilights, then day.
_SHADES: Final = ((-12.0, 0.76), (-6.0, 0.85), (-0.27, 0.93))

_Run = list[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Scale:
    """Stops over key up a sheet: whole stops from low to high, between top and bottom (mm)."""

    low: int
    high: int
    top: float
    bottom: float

    def y(self, stops: float) -> float:
        """Where a level is, mm; past the ends it stays at them."""
        share = (min(max(stops, self.low), self.high) - self.low) / (self.high - self.low)
        return self.bottom + (self.top - self.bottom) * share


def lines_of(days: Sequence[Day], readings: Sequence[str]) -> tuple[list[str], int]:
    """Which readings have a line, the key before all, and how many are left out."""
    held = list(dict.fromkeys(name for day in days for one in day.moments for name in one.levels))
    wanted = [name for name in dict.fromkeys(readings) if name in held] if readings else held
    keys = [day.key_reading for day in days]
    wanted.sort(key=lambda name: name not in keys)
    return wanted[:MOST_LINES], len(held) - min(MOST_LINES, len(wanted))


def reach_of(days: Sequence[Day], names: Sequence[str]) -> tuple[int, int]:
    """Whole stops that hold the lines of every day, from 6 under to 6 over at most."""
    told = [
        level.stops
        for day in days
        for one in day.moments
        for name, level in one.levels.items()
        if name in names and level.stops is not None
    ]
    low = math.floor(min(told, default=-2.0) - 0.1)
    high = math.ceil(max(told, default=2.0) + 0.1)
    return max(-_REACH, min(low, -2)), min(_REACH, max(high, 2))


def over_grey(days: Sequence[Day], name: str) -> bool:
    """Whether a reading is a spot: its stops are then not those of its value over the key."""
    for day in days:
        for one in day.moments:
            level = one.levels.get(name)
            if level is not None and level.stops is not None and level.value > 0.0:
                return abs(level.stops - math.log2(level.value / day.key_lux)) > 0.1
    return False


# Grounds ---------------------------------------------------------------------------------


def shades(axis: TimeAxis, top: float, bottom: float) -> list[Shape]:
    """Night and the two twilights as grounds, in steps."""
    points = [(axis.x(one.instant), one.sun_altitude_deg) for one in axis.day.moments]
    shapes: list[Shape] = []
    for (x0, a0), (x1, a1) in itertools.pairwise(points):
        cuts = [0.0, 1.0]
        if a0 != a1:
            cuts += [s for limit, _ in _SHADES if 0.0 < (s := (limit - a0) / (a1 - a0)) < 1.0]
        for s0, s1 in itertools.pairwise(sorted(cuts)):
            altitude = a0 + (a1 - a0) * (s0 + s1) / 2.0
            grey = next((g for limit, g in _SHADES if altitude < limit), None)
            if grey is not None:
                box = Box(x0 + (x1 - x0) * s0, top, x0 + (x1 - x0) * s1, bottom)
                shapes.append(box.patch(grey))
    return _joined(shapes)


def _joined(shapes: list[Shape]) -> list[Shape]:
    """Grounds of one grey that stand side by side as one."""
    joined: list[Shape] = []
    for one in shapes:
        last = joined[-1] if joined else None
        if (
            isinstance(one, Patch)
            and isinstance(last, Patch)
            and last.grey_share == one.grey_share
            and abs(last.points_mm[1][0] - one.points_mm[0][0]) < 1e-6
        ):
            a, _, _, d = last.points_mm
            joined[-1] = Patch((a, one.points_mm[1], one.points_mm[2], d), one.grey_share)
        else:
            joined.append(one)
    return joined


def event_marks(axis: TimeAxis, top: float, bottom: float) -> list[Shape]:
    """The setup's hour and what the sun does, over the graph, each with its line down."""
    day = axis.day
    found: list[tuple[str, datetime]] = [("setup", day.hour)] if axis.holds(day.hour) else []
    for name, word in EVENT_WORDS.items():
        at = day.events.get(name)
        if at is not None and axis.holds(at):
            found.append((word, at))
    # The least wanted go where there is no room for all.
    wide = [width_of_words_mm(word, _SMALL_MM) + 2.0 for word, _ in found]
    low, high = axis.left - 4.0, axis.right + 4.0
    while sum(wide) > high - low:
        found.pop()
        wide.pop()
    xs = [axis.x(at) for _, at in found]
    shapes: list[Shape] = []
    for (word, at), x, middle in zip(found, xs, spread(xs, wide, low=low, high=high), strict=True):
        mine = word == "setup"
        shapes += [
            Words(word, (middle, top - 4.6), _SMALL_MM, "middle"),
            Words(clock(at), (middle, top - 1.7), _SMALL_MM, "middle"),
            Stroke(((middle, top - 1.1), (x, top)), 0.2),
            Stroke(
                ((x, top), (x, bottom)), 0.55 if mine else 0.2, dash_mm=(1.4, 1.1) if mine else ()
            ),
        ]
    return shapes


def grid(axis: TimeAxis, scale: Scale, *, key: str, named: bool) -> list[Shape]:
    """Lines at whole stops, the heavy one at key; named: with their numbers to the left."""
    shapes: list[Shape] = []
    every = 1 if (scale.bottom - scale.top) / (scale.high - scale.low) > 3.4 else 2
    for stops in range(scale.low, scale.high + 1):
        y = scale.y(stops)
        wide = 0.75 if stops == 0 else 0.15
        shapes.append(Stroke(((axis.left, y), (axis.right, y)), wide, 0.0 if stops == 0 else 0.5))
        if named and stops % every == 0:
            told = stops_text(stops, 0) if stops else key
            size = _LABEL_MM if stops else 1.1 * _LABEL_MM
            shapes.append(Words(told, (axis.left - 1.3, y + 1.1), size, "right"))
    return shapes


def hour_labels(axis: TimeAxis, top: float, bottom: float, base: float) -> list[Shape]:
    """Fine lines at whole hours, and hours of the clock along a line below."""
    shapes: list[Shape] = []
    ticks = axis.ticks()
    room = (axis.right - axis.left) / max(1, len(ticks) - 1)
    wide = width_of_words_mm("00", _LABEL_MM) + 1.2
    step = next((n for n in (1, 2, 3, 4, 6) if n * room >= wide), 12)
    end = -math.inf
    for x, hour in ticks:
        told = hour % step == 0 and x - wide / 2.0 > end - 1e-6
        if told:
            shapes.append(Words(f"{hour:02d}", (x, base), _LABEL_MM, "middle"))
            end = x + wide / 2.0
        shapes.append(Stroke(((x, top), (x, bottom)), 0.12, 0.55 if told else 0.75))
        shapes.append(rule((x, bottom), (x, bottom + (1.1 if told else 0.6)), 0.25))
    return shapes


# Lines -----------------------------------------------------------------------------------


def draw_lines(
    axis: TimeAxis, scale: Scale, names: Sequence[str], placed: Placed
) -> tuple[list[Shape], list[float | None]]:
    """Hatched spreads, then lines, then their letters and arrows; where each line ends (y)."""
    hatches: list[Shape] = []
    drawn: list[Shape] = []
    letters: list[Shape] = []
    ends: list[float | None] = []
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
        ends.append(scale.y(pieces[-1][-1][1]) if pieces else None)
    for k, name in enumerate(names):
        pieces = [piece for run in _runs(axis, name, "stops") for piece in _within(run, scale)]
        letters += _letters(pieces, scale, k, len(names), placed)
    return [*hatches, *drawn, *letters], ends


def end_labels(
    names: Sequence[str], ends: Sequence[float | None], box: Box, *, full: bool
) -> list[Shape]:
    """Each line's letter, and with full its name, to the right of where it ends.

    ends: None for a line that is nowhere on the graph; it is told so.
    """
    texts = []
    for name, end in zip(names, ends, strict=True):
        told = name if end is not None else f"{name}: not on the graph"
        lines = wrapped(told, _LABEL_MM, room_mm=box.width - 8.0) if full else [""]
        if len(lines) > 2:
            rest = shortened(" ".join(lines[1:]), _LABEL_MM, room_mm=box.width - 8.0)
            lines = [lines[0], rest]
        texts.append(lines)
    wanted = [box.bottom if end is None else end for end in ends]
    sizes = [max(4.4, 3.5 * len(lines) + 1.0) for lines in texts]
    middles = spread(wanted, sizes, low=box.top, high=box.bottom)
    shapes: list[Shape] = []
    for k, (lines, middle) in enumerate(zip(texts, middles, strict=True)):
        end = ends[k]
        if end is not None:
            shapes.append(Stroke(((box.left, end), (box.left + 3.0, middle)), 0.2))
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


def stops_text(stops: float, decimals: int = 1) -> str:
    """A level with its sign: "+1.5", "−3"."""
    return f"{stops:+.{decimals}f}".replace("-", "−")


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
        for past, group in itertools.groupby(run, lambda one, up=up: _past(one[1], scale, up=up)):
            if not past:
                continue
            part = list(group)
            peak = max(part, key=lambda one: one[1]) if up else min(part, key=lambda one: one[1])
            x = peak[0] if up else (part[0][0] + part[-1][0]) / 2.0
            box = _arrow_box(x, scale, up=up)
            if not placed.free(box):
                continue
            placed.taken.append(box)
            tip, foot = (box.top, box.bottom) if up else (box.bottom, box.top)
            shapes.append(Patch(((x, tip), (box.right, foot), (box.left, foot)), 0.0))
            told = f"{letter} {stops_text(peak[1])}" if up else letter
            y = scale.top + 3.0 if up else scale.bottom - 0.8
            wide = width_of_words_mm(told, _SMALL_MM) / 2.0 + 1.6
            words = placed.words(told, _SMALL_MM, places=[(x + wide, y), (x - wide, y)])
            shapes += [words] if words else []
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


def title_of_y(box: Box, names: Sequence[str], days: Sequence[Day], left_out: int) -> list[Shape]:
    """What the graph tells, in the column to its left: stops over key, and of spots over grey."""
    spots = [LETTERS[k] for k, name in enumerate(names) if over_grey(days, name)]
    lines = ["Stops over key"]
    if spots:
        lines.append(f"{', '.join(spots)}: spot, over middle grey")
    if left_out > 0:
        lines.append(f"{left_out} more reading{'s' * (left_out > 1)} left out")
    lines.append("Hatched: the spread. Grey: night and twilight.")
    shapes: list[Shape] = []
    y = box.top + 2.4
    for number, line in enumerate(lines):
        size, grey = (_LABEL_MM, 0.0) if number == 0 else (_SMALL_MM, GREY)
        for part in wrapped(line, size, room_mm=box.width):
            shapes.append(Words(part, (box.left, y), size, grey_share=grey))
            y += 1.25 * size
        y += 0.8
    return [
        one for one in shapes if isinstance(one, Words) and box_of_words(one).bottom < box.bottom
    ]
