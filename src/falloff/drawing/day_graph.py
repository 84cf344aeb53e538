"""A day's graph without its lines: its scale and grid, night and twilight, hours and marks."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from falloff.clock import clock_words as clock
from falloff.day.records import Day
from falloff.drawing.day_axis import GREY, Box, TimeAxis, box_of_words, rule, spread
from falloff.drawing.day_words import EVENT_WORDS
from falloff.drawing.shapes import Patch, Shape, Stroke, Words, width_of_words_mm
from falloff.drawing.sheet import wrapped

MOST_LINES: Final = 6
EVENTS_MM: Final = 7.4  # height of the two rows of words above the graph
LETTERS: Final = "ABCDEF"
_REACH: Final = 6  # stops over and under key that are drawn at most
_LABEL_MM: Final = 3.0
_SMALL_MM: Final = 2.6
_DARKER_DEG: Final = 1.5  # how much further down the sun is taken to be beyond the moments told
# Grounds by the sun's altitude: under 12 degrees down it is night, then the twilights, then day.
_SHADES: Final = ((-12.0, 0.82), (-6.0, 0.89), (-0.27, 0.95))


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
    low = math.floor(min(told, default=0.0) - 0.1)
    high = math.ceil(max(told, default=0.0) + 0.1)
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
    if points:  # beyond the moments that are told it is as at their ends, or darker
        first, last = points[0][1], points[-1][1]
        darker = [a - _DARKER_DEG if a < 0.0 else a for a in (first, last)]
        points = [(axis.left, darker[0]), (points[0][0], darker[0]), *points]
        points += [(points[-1][0], darker[1]), (axis.right, darker[1])]
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
            told = f"{stops:+d}".replace("-", "−") if stops else key
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


# Words ---------------------------------------------------------------------------------


def title_of_y(box: Box, names: Sequence[str], days: Sequence[Day], left_out: int) -> list[Shape]:
    """What the graph tells, in the column to its left: stops over key, and of spots over grey."""
    spots = [LETTERS[k] for k, name in enumerate(names) if over_grey(days, name)]
    lines = ["Stops over key"]
    if spots:
        lines.append(f"{', '.join(spots)}: spot, over middle grey")
    if left_out > 0:
        lines.append(f"{left_out} more reading{'s' * (left_out > 1)} left out")
    lines.append(
        "Hatched: the spread. Grey: night and twilight. Hollow strips: perhaps. A view is told by "
        "its mean in the frame."
    )
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
