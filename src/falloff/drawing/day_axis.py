"""Where things of a day's sheet stand: hours along a line, labels that never cover each other."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import Final

from falloff.clock import midnight, real_minutes
from falloff.day.records import Day
from falloff.drawing.shapes import Patch, Shape, Stroke, Words, width_of_words_mm

GREY: Final = 0.35
# Above and below the baseline, as shares of a font's size.
_RISE: Final = 0.76
_DROP: Final = 0.22


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle of the sheet, mm, y down."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """From its left to its right."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From its top to its bottom."""
        return self.bottom - self.top

    def meets(self, other: Box) -> bool:
        """Whether two boxes share more than an edge."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def holds(self, other: Box) -> bool:
        """Whether another lies in it."""
        return (
            self.left <= other.left
            and other.right <= self.right
            and self.top <= other.top
            and other.bottom <= self.bottom
        )

    def patch(self, grey_share: float) -> Patch:
        """It as a filled outline."""
        return Patch(self._corners(), grey_share)

    def outline(self, width_mm: float) -> Stroke:
        """It as a closed black line."""
        corners = self._corners()
        return Stroke((*corners, corners[0]), width_mm)

    def _corners(self) -> tuple[tuple[float, float], ...]:
        return (
            (self.left, self.top),
            (self.right, self.top),
            (self.right, self.bottom),
            (self.left, self.bottom),
        )


def box_of_words(words: Words) -> Box:
    """The rectangle that words fill."""
    x, y = words.at_mm
    left = x - {"left": 0.0, "middle": 0.5, "right": 1.0}[words.anchor] * words.width_mm
    size = words.size_mm
    return Box(left, y - _RISE * size, left + words.width_mm, y + _DROP * size)


def rule(start: tuple[float, float], end: tuple[float, float], width_mm: float) -> Stroke:
    """A straight black line."""
    return Stroke((start, end), width_mm)


# The clock -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Hours:
    """Real hours since the day's local midnight, from where to where a sheet's axes go."""

    start: float
    end: float


def midnight_of(day: Day) -> datetime:
    """The day's beginning by the clock of its place."""
    try:
        written = date.fromisoformat(day.date)
    except ValueError:
        written = day.hour.date()
    return midnight(written, day.zone)


def elapsed_h(day: Day, instant: datetime) -> float:
    """Real hours from the day's midnight to an instant."""
    return real_minutes(midnight_of(day), instant) / 60.0


def hours_of(days: Sequence[Day]) -> Hours:
    """Whole hours that hold every moment of every day; midnight to midnight where none has any."""
    told = [elapsed_h(day, one.instant) for day in days for one in day.moments]
    if len(told) < 2:
        return Hours(0.0, 24.0)
    told += [elapsed_h(day, day.hour) for day in days]
    start = math.floor(min(told) + 1e-6)
    return Hours(start, max(start + 1.0, math.ceil(max(told) - 1e-6)))


@dataclass(frozen=True, slots=True)
class TimeAxis:
    """A day's real hours along x, from left to right (mm)."""

    day: Day
    hours: Hours
    left: float
    right: float

    def x(self, instant: datetime) -> float:
        """Where an instant is, mm; past the ends it stays at them."""
        share = (elapsed_h(self.day, instant) - self.hours.start) / (
            self.hours.end - self.hours.start
        )
        return self.left + (self.right - self.left) * min(max(share, 0.0), 1.0)

    def holds(self, instant: datetime) -> bool:
        """Whether an instant is on it."""
        return self.hours.start - 1e-6 <= elapsed_h(self.day, instant) <= self.hours.end + 1e-6

    def ticks(self) -> list[tuple[float, int]]:
        """X (mm) and the hour that the clock shows, wherever it shows a whole one."""
        zero, clock = midnight_of(self.day).astimezone(UTC), self.day.hour.tzinfo
        found = []
        for quarter in range(round(4.0 * self.hours.start), round(4.0 * self.hours.end) + 1):
            instant = zero + timedelta(minutes=15 * quarter)
            shown = instant.astimezone(clock)
            if shown.minute == 0:
                found.append((self.x(instant), shown.hour))
        return found


# Labels ----------------------------------------------------------------------------------


def spread(
    wanted: Sequence[float], sizes: Sequence[float], *, low: float, high: float
) -> list[float]:
    """Middles as near to those wanted as they can be, none over another, in their order.

    sizes: how long each is. Between low and high as far as their sum fits there; else from low on.
    """
    order = sorted(range(len(wanted)), key=lambda k: wanted[k])
    # Groups that stand end to end: what they hold, where their beginning would like to be.
    groups: list[tuple[list[int], float]] = []
    for k in order:
        members, start = [k], _limited(wanted[k] - sizes[k] / 2.0, sizes[k], low, high)
        while groups and start < groups[-1][1] + sum(sizes[j] for j in groups[-1][0]):
            members = [*groups.pop()[0], *members]
            offset, wishes = 0.0, 0.0
            for j in members:
                wishes += wanted[j] - sizes[j] / 2.0 - offset
                offset += sizes[j]
            start = _limited(wishes / len(members), offset, low, high)
        groups.append((members, start))
    middles = [0.0] * len(wanted)
    for members, start in groups:
        at = start
        for j in members:
            middles[j] = at + sizes[j] / 2.0
            at += sizes[j]
    return middles


def _limited(start: float, size: float, low: float, high: float) -> float:
    return max(low, min(start, high - size))


@dataclass(slots=True)
class Placed:
    """Places on a sheet that are taken; words get the first of some places that is free."""

    bounds: Box
    taken: list[Box] = field(default_factory=list)

    def free(self, box: Box) -> bool:
        """Whether a box is within bounds and covers nothing."""
        return self.bounds.holds(box) and not any(box.meets(one) for one in self.taken)

    def words(
        self,
        text: str,
        size_mm: float,
        *,
        places: Iterable[tuple[float, float]],
        avoid: Sequence[Box] = (),
    ) -> Words | None:
        """The words about the first free middle of a baseline, which is taken by that; or None.

        avoid: what they had better not cover; they do where no place is free otherwise.
        """
        second: Words | None = None
        for at in places:
            one = Words(text, at, size_mm, "middle")
            box = box_of_words(one)
            if not self.free(box):
                continue
            if not any(box.meets(other) for other in avoid):
                self.taken.append(box)
                return one
            second = second or one
        if second is not None:
            self.taken.append(box_of_words(second))
        return second


def on_paper(words: Words) -> list[Shape]:
    """Words with a white ground, so that no line crosses them."""
    box = box_of_words(words)
    return [Box(box.left - 0.3, box.top, box.right + 0.3, box.bottom).patch(1.0), words]


def disc(middle: tuple[float, float], radius_mm: float, letter: str) -> list[Shape]:
    """A letter in a ring on white."""
    turns = [2.0 * math.pi * k / 24.0 for k in range(25)]
    around = tuple(
        (middle[0] + radius_mm * math.cos(a), middle[1] + radius_mm * math.sin(a)) for a in turns
    )
    size = 1.55 * radius_mm
    return [
        Patch(around, 1.0),
        Stroke(around, 0.2),
        Words(letter, (middle[0], middle[1] + 0.36 * size), size, "middle"),
    ]


def fitting_size(text: str, sizes: Sequence[float], *, room_mm: float) -> float:
    """The first of some sizes in which a text fits a room, else the last."""
    return next((one for one in sizes if width_of_words_mm(text, one) <= room_mm), sizes[-1])
