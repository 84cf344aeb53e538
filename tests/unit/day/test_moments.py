"""At which moments a day is told."""

from __future__ import annotations

import itertools
import math
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from falloff.day.moments import moments_of
from falloff.daylight import location, sun_events

STEP = timedelta(minutes=15)
PLACES = {
    "London": (51.5, -0.13, "Europe/London"),
    "Highlands": (57.0, -5.0, "Europe/London"),
    "Galway": (53.3, -9.05, "Europe/Dublin"),
    "Longyearbyen": (78.2, 15.6, "Arctic/Longyearbyen"),
    "near the pole": (-88.0, 160.0, "Antarctica/McMurdo"),
    "Tromsø": (69.65, 18.96, "Europe/Oslo"),
    "Los Angeles": (34.05, -118.24, "America/Los_Angeles"),
    "Quito": (-0.2, -78.5, "America/Guayaquil"),
}


def moments(place: str, day: date, step: timedelta = STEP) -> tuple[datetime, ...]:
    north, east, zone = PLACES[place]
    where = location(math.radians(north), math.radians(east), zone=zone, height_m=0.0)
    return moments_of(where, day, sun_events(where, day), step=step)


def hours_between(found: tuple[datetime, ...]) -> float:
    """Real hours from the first to the last."""
    return (found[-1].timestamp() - found[0].timestamp()) / 3600.0


def day_and_night() -> list[tuple[str, date]]:
    months = [(month, day) for month in range(1, 13) for day in (14,)]
    return [
        (place, date(2026, month, day))
        for place in ("London", "Los Angeles", "Quito", "Tromsø")
        for month, day in months
    ]


@pytest.mark.parametrize(("place", "day"), day_and_night())
def test_moments_run_from_night_to_night(place: str, day: date) -> None:
    """Ascending, no gap longer than the step, aware, with every hour that has light."""
    found = moments(place, day)
    gaps = [b.timestamp() - a.timestamp() for a, b in itertools.pairwise(found)]
    assert min(gaps) > 0.0
    assert max(gaps) <= STEP.total_seconds()
    zone = ZoneInfo(PLACES[place][2])
    assert all(one.utcoffset() == one.astimezone(zone).utcoffset() for one in found)
    north, east, name = PLACES[place]
    where = location(math.radians(north), math.radians(east), zone=name, height_m=0.0)
    events = sun_events(where, day)
    midnight = datetime.combine(day, datetime.min.time(), zone)
    for told in (events.rise, events.civil_dawn, events.civil_dusk, events.set, events.noon):
        assert told is None or found[0] <= told <= found[-1]
    whole = {one.hour for one in found if one.minute == 0}
    lit = [k for k in range(24) if found[0] <= midnight.replace(hour=k) <= found[-1]]
    assert set(lit) <= whole


@pytest.mark.parametrize(
    ("place", "day", "hours"),
    [
        ("Longyearbyen", date(2026, 3, 29), 23.0),  # clocks go forward, and it does not get dark
        ("near the pole", date(2026, 4, 5), 25.0),  # clocks go back, in a twilight of weeks
        ("Tromsø", date(2026, 6, 21), 24.0),  # the sun does not set
    ],
)
def test_a_day_without_night_is_told_whole(place: str, day: date, hours: float) -> None:
    """Pencil: from midnight to midnight, as many real hours as that day has."""
    found = moments(place, day)
    assert hours_between(found) == hours
    assert found[0].strftime("%d %H:%M") == day.strftime("%d 00:00")
    assert found[-1].strftime("%d %H:%M") == (day + timedelta(days=1)).strftime("%d 00:00")
    steps = {one.astimezone(ZoneInfo("UTC")) for one in found}
    assert len(steps) == len(found)  # no hour is told twice or lost
    whole = [one for one in found if one.minute == 0]
    assert len(whole) == int(hours) + 1


def test_a_polar_night_is_told_for_its_twilight() -> None:
    found = moments("Tromsø", date(2026, 12, 21))
    assert 6.0 < hours_between(found) < 10.0  # from memory: some eight hours of twilight
    assert any(one.hour == 12 and one.minute == 0 for one in found)


@pytest.mark.parametrize(
    ("place", "day"),
    [
        ("Highlands", date(2026, 5, 22)),
        ("Galway", date(2026, 6, 21)),
        ("Galway", date(2026, 6, 10)),
    ],
)
def test_a_night_that_begins_after_midnight(place: str, day: date) -> None:
    """The sun is up at noon and dusk ends past midnight: the day is told all the same."""
    found = moments(place, day)
    assert hours_between(found) > 20.0
    assert any(one.hour == 12 and one.minute == 0 for one in found)


def test_moments_lie_closer_about_sunrise_and_sunset() -> None:
    found = moments("London", date(2026, 9, 20), timedelta(minutes=30))
    gaps = {
        b.strftime("%H:%M"): (b - a).total_seconds() / 60.0 for a, b in itertools.pairwise(found)
    }
    assert gaps["12:30"] == gaps["13:00"] == 30.0
    assert gaps["19:05"] == 5.0  # source: the sun sets at 19:03 there
