"""An order of shots that suits the sun: what its light leaves first is shot first."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from falloff.clock import clock_words
from falloff.day.records import Day, ShotTurn, Stretch


def order_of_shots(days: Sequence[Day]) -> tuple[ShotTurn, ...]:
    """Setups by when their light is over, the earliest first, those without haste last.

    A setup's light is there while all its targets hold; where it has none, while its key reading
    stays within half a stop of what it is at the setup's own hour.
    """
    turns = []
    for day in days:
        good = _good(day)
        turns.append((_deadline(day, good), day.hour, day.setup, good, _why(day, good)))
    turns.sort(key=lambda one: (one[0] is None, one[0] or one[1], one[1], one[2]))
    return tuple(ShotTurn(setup=setup, stretches=good, why=why) for _, _, setup, good, why in turns)


def _good(day: Day) -> tuple[Stretch, ...]:
    if not day.targets:
        return day.near_hour
    good = day.targets[0].holds
    for target in day.targets[1:]:
        good = both(good, target.holds)
    return good


def both(a: Sequence[Stretch], b: Sequence[Stretch]) -> tuple[Stretch, ...]:
    """Where two sets of stretches overlap."""
    found = []
    for one in a:
        for other in b:
            start, end = max(one.start, other.start), min(one.end, other.end)
            if start < end:
                found.append(Stretch(start=start, end=end, sure=one.sure and other.sure))
    return tuple(found)


def _deadline(day: Day, good: Sequence[Stretch]) -> datetime | None:
    """When the last stretch is over; None for a setup whose light stays till the day ends."""
    if not good:
        return None
    end = good[-1].end
    return None if end >= day.moments[-1].instant else end


def _why(day: Day, good: Sequence[Stretch]) -> str:
    if not good:
        return "its targets hold at no hour of this day: see what is missed"
    told = " and ".join(f"{clock_words(one.start)} to {clock_words(one.end)}" for one in good)
    if len(good) == 1 and good[0].end >= day.moments[-1].instant <= good[0].end:
        if good[0].start <= day.moments[0].instant:
            return "at any hour"
        return f"from {clock_words(good[0].start)} on"
    held = "its targets hold" if day.targets else "its key stays within half a stop"
    return f"{held} {told}"
