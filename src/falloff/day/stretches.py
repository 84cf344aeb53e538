"""When something that is known at moments is so between them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from falloff.day.records import Stretch


def stretches(
    times: Sequence[datetime],
    margins: Sequence[float | None],
    sure: Sequence[float | None] | None = None,
) -> tuple[Stretch, ...]:
    """Where a margin is not below zero; its ends lie where straight lines between moments cross.

    None: not known, or not so. sure: the least margin over the spread; where that is not below zero
    either, stretches are parted and so marked.
    """
    found = _spans(times, margins)
    if sure is None:
        return tuple(Stretch(start=start, end=end) for start, end in found)
    certain = _spans(times, sure)
    parted: list[Stretch] = []
    for start, end in found:
        at = start
        for low, high in certain:
            first, last = max(low, start), min(high, end)
            if first >= last:
                continue
            if first > at:
                parted.append(Stretch(start=at, end=first))
            parted.append(Stretch(start=first, end=last, sure=True))
            at = last
        if at < end:
            parted.append(Stretch(start=at, end=end))
    return tuple(parted)


def _spans(
    times: Sequence[datetime], margins: Sequence[float | None]
) -> list[tuple[datetime, datetime]]:
    found: list[tuple[datetime, datetime]] = []
    start: datetime | None = None
    for k, (time, margin) in enumerate(zip(times, margins, strict=True)):
        holds = margin is not None and margin >= 0.0
        if holds and start is None:
            start = time if k == 0 else _crossing(times, margins, k)
        if not holds and start is not None:
            found.append((start, _crossing(times, margins, k)))
            start = None
    if start is not None:
        found.append((start, times[-1]))
    return found


def crossing_after(
    times: Sequence[datetime],
    values: Sequence[float | None],
    level: float,
    *,
    after: datetime,
    rising: bool | None = None,
) -> datetime | None:
    """The first time after `after` at which a value goes through a level; None where it does not.

    rising: only upward, or only downward; None: either. A value that is None counts as far below
    every level.
    """
    for k in range(1, len(times)):
        if times[k] <= after:
            continue
        above = [_known(values[j]) >= level for j in (k - 1, k)]
        if above[0] == above[1] or (rising is not None and above[1] != rising):
            continue
        margins = [_known(value) - level for value in values]
        at = _crossing(times, margins, k)
        if at >= after:
            return at
    return None


def value_at(
    times: Sequence[datetime], values: Sequence[float | None], when: datetime
) -> float | None:
    """A value between two moments, on the straight line; None outside, or where either is None."""
    for k in range(1, len(times)):
        if times[k - 1] <= when <= times[k]:
            low, high = values[k - 1], values[k]
            if low is None or high is None:
                return low if when == times[k - 1] else high if when == times[k] else None
            share = (when - times[k - 1]) / (times[k] - times[k - 1])
            return low + share * (high - low)
    return None


_FAR_BELOW = -60.0  # stops: as dark as no room is


def _known(value: float | None) -> float:
    return _FAR_BELOW if value is None else value


def _crossing(times: Sequence[datetime], margins: Sequence[float | None], k: int) -> datetime:
    """Where the margin is zero between moments k − 1 and k, to the second."""
    before, after = margins[k - 1], margins[k]
    if before is None or after is None or before == after:
        return times[k] if before is None else times[k - 1]
    share = min(1.0, max(0.0, before / (before - after)))
    seconds = round(share * (times[k] - times[k - 1]).total_seconds())
    return times[k - 1] + timedelta(seconds=seconds)
