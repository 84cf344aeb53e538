"""At which moments a day is told, and what a target makes of levels with their spread."""

from __future__ import annotations

import itertools
import math
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from tests.unit.day.invented import level

from falloff.day.moments import moments_of, target_holds, target_level, target_margin
from falloff.daylight import location, sun_events
from falloff.document import Target, parse_document

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


# Targets ---------------------------------------------------------------------------------

SCENE = """
falloff: 2
title: Targets
units: metric
room:
  floor: [[0 m, 0 m], [4 m, 0 m], [4 m, 3 m], [0 m, 3 m]]
  height: 2.5 m
  floor_surface: planks
  ceiling_surface: white paint
  wall_surface: plaster
readings:
  face: {at: [1 m, 1 m, 1 m], normal: [0, 1, 0]}
  back: {at: [1 m, 1 m, 1 m], normal: [0, -1, 0]}
targets:
  T: {SAID}
"""


def target(said: str) -> Target:
    return parse_document(SCENE.replace("SAID", said)).targets["T"]


ALONE = "reading: face, level: 1 stop, tolerance: 1/2 stop"


def test_a_target_over_key_is_the_reading_itself() -> None:
    told = target_level(target(ALONE), {"face": level(1.2, 0.9, 1.6)})
    assert told == (1.2, 0.9, 1.6)
    assert target_level(target(ALONE), {}) == (None, None, None)
    assert target_level(target(ALONE), {"face": level(None)}) == (None, None, None)


def test_a_target_over_another_reading_is_their_difference() -> None:
    """Pencil: both move with the sky; ends that come out the wrong way round are turned."""
    ratio = target(f"{ALONE}, over: back")
    found = target_level(ratio, {"face": level(2.0, 1.5, 2.5), "back": level(0.0, -1.0, 0.9)})
    assert found == pytest.approx((2.0, 1.6, 2.5))
    assert target_level(ratio, {"face": level(2.0)}) == (None, None, None)


@pytest.mark.parametrize(
    ("limit", "stops", "margin"),
    [
        # pencil: 1 stop wanted, within half a stop
        ("equal", 1.0, 0.5),
        ("equal", 1.4, 0.1),
        ("equal", 0.3, -0.2),
        ("equal", 1.8, -0.3),
        ("at most", -5.0, 6.5),
        ("at most", 1.5, 0.0),
        ("at most", 1.7, -0.2),
        ("at least", 6.0, 5.5),
        ("at least", 0.5, 0.0),
        ("at least", 0.2, -0.3),
    ],
)
def test_how_far_a_target_is_within_its_tolerance(limit: str, stops: float, margin: float) -> None:
    said = target(ALONE if limit == "equal" else f"{ALONE}, limit: {limit}")
    found = target_margin(said, stops)
    assert found == pytest.approx(margin)
    assert target_margin(said, None) is None


@pytest.mark.parametrize(
    ("limit", "told", "holds"),
    [
        ("equal", (1.0, 0.7, 1.3), True),  # over the whole spread
        ("equal", (1.0, 0.4, 1.3), None),  # as expected, yet not on a dull day
        ("equal", (1.7, 1.2, 2.0), None),  # not as expected, yet on a dull day
        ("equal", (3.0, 2.0, 4.0), False),
        ("equal", (-1.0, -2.0, 0.0), False),
        ("equal", (3.0, -3.0, 4.0), None),  # somewhere between the ends it holds
        ("at most", (0.0, -1.0, 1.4), True),
        ("at most", (0.0, -1.0, 2.0), None),
        ("at most", (3.0, 2.0, 4.0), False),
        ("at least", (3.0, 2.0, 4.0), True),
        ("at least", (3.0, 0.0, 4.0), None),
        ("at least", (0.0, -1.0, 0.4), False),
        ("equal", (None, None, None), False),
    ],
)
def test_whether_a_target_holds_over_the_spread(
    limit: str, told: tuple[float | None, float | None, float | None], holds: bool | None
) -> None:
    said = target(ALONE if limit == "equal" else f"{ALONE}, limit: {limit}")
    assert target_holds(said, told) is holds
