"""How a day's clock runs, in real minutes from its midnight."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

from falloff.clock import midnight, real_minutes, zone_of


def minute_of(instant: datetime, zone: str) -> float:
    """Real minutes from the midnight that an aware instant's day begins with."""
    there = instant.astimezone(zone_of(zone))
    return real_minutes(midnight(there.date(), zone), there)


def clock_of(day: date, zone: str) -> dict[str, Any]:
    """How a day's clock runs: its real minutes, and from which on it is how many ahead of UTC.

    Two entries on the days on which it is set forward or back, each to the minute.
    """
    begins = midnight(day, zone)
    long = round(real_minutes(begins, midnight(day + timedelta(days=1), zone)))
    ahead = [[0, _ahead(begins, 0)]]
    for minute in range(1, long):
        now = _ahead(begins, minute)
        if now != ahead[-1][1]:
            ahead.append([minute, now])
    return {"length": long, "ahead": ahead}


def _ahead(begins: datetime, minute: int) -> int:
    there = datetime.fromtimestamp(begins.timestamp() + 60.0 * minute, begins.tzinfo)
    offset = there.utcoffset()
    assert offset is not None
    return round(offset.total_seconds() / 60.0)
