"""The sun and the moon by place and time: what holds of itself."""

from __future__ import annotations

import datetime as dt
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from falloff.daylight import (
    Location,
    location,
    moon_place,
    sun_events,
    sun_place,
    when_altitude,
)
from falloff.daylight.refraction import air_share, lifted_rad
from falloff.errors import DaylightError

HERE = location(math.radians(40.0), math.radians(-75.0), zone="America/New_York")
LATITUDES = st.floats(-math.pi / 2, math.pi / 2)
LONGITUDES = st.floats(-math.pi, math.pi)
INSTANTS = st.datetimes(dt.datetime(1990, 1, 1), dt.datetime(2060, 1, 1), timezones=st.just(dt.UTC))  # noqa: DTZ001


@pytest.mark.parametrize("place", [sun_place, moon_place])
def test_a_naive_time_and_another_age_are_refused(place: object) -> None:
    assert callable(place)
    with pytest.raises(DaylightError, match="which clock"):
        place(HERE, dt.datetime(2024, 7, 1))  # noqa: DTZ001
    with pytest.raises(DaylightError, match="so far from our time"):
        place(HERE, dt.datetime(1066, 10, 14, tzinfo=dt.UTC))


def test_days_of_another_age_are_refused() -> None:
    for day in (dt.date(1815, 6, 18), dt.date(9999, 12, 31)):
        with pytest.raises(DaylightError, match="so far from our time"):
            sun_events(HERE, day)


@settings(max_examples=40, deadline=None)
@given(LATITUDES, LONGITUDES, INSTANTS)
def test_places_are_places(latitude_rad: float, longitude_rad: float, when: dt.datetime) -> None:
    there = Location(latitude_rad=latitude_rad, longitude_rad=longitude_rad, zone="Etc/UTC")
    for body in (sun_place(there, when), moon_place(there, when)):
        assert abs(body.geometric_rad) <= 0.5 * math.pi
        assert 0.0 <= body.altitude_rad - body.geometric_rad < math.radians(0.65) or (
            body.geometric_rad < 0.0
        )
        assert 0.0 <= body.azimuth_rad < 2.0 * math.pi + 1e-6
    sun, moon = sun_place(there, when), moon_place(there, when)
    assert 0.983 < sun.distance_au < 1.018
    assert 0.91 < moon.distance_over_mean < 1.08
    assert 0.0 <= moon.phase_rad <= math.pi


@given(st.floats(-math.pi / 2, math.pi / 2), st.floats(0.0, 0.01), st.floats(-430.0, 9000.0))
def test_the_air_keeps_altitudes_in_order(low_rad: float, up_rad: float, height_m: float) -> None:
    high_rad = min(low_rad + up_rad, math.pi / 2)
    slack = math.radians(3.0 / 3600.0)  # the pieces of the formula meet within seconds of arc
    assert lifted_rad(low_rad, height_m=height_m) <= lifted_rad(high_rad, height_m=height_m) + slack


@pytest.mark.parametrize("seen_deg", [2.0, 5.0, 10.0, 20.0, 45.0, 80.0])
def test_refraction_is_bennetts(seen_deg: float) -> None:
    """Bennett (1982), from memory: cot(h + 7.31/(h + 4.4)) minutes, 1010 hPa, 10 °C; 0.3′."""
    minutes = 1.0 / math.tan(math.radians(seen_deg + 7.31 / (seen_deg + 4.4)))
    found = math.degrees(lifted_rad(math.radians(seen_deg - minutes / 60.0)))
    assert_allclose(found, seen_deg, atol=0.3 / 60.0)


def test_refraction_at_the_horizon() -> None:
    """From memory: about 34′ where the lower edge seems to touch, 29′ at a true altitude of 0."""
    assert_allclose(math.degrees(lifted_rad(math.radians(-34.0 / 60.0))), 0.0, atol=1.0 / 60.0)
    assert lifted_rad(0.5 * math.pi) == 0.5 * math.pi


def test_air_thins_with_height() -> None:
    assert air_share(0.0) == 1.0
    assert_allclose(air_share(5500.0), 0.5, atol=0.005)  # source: ISO 2533, half at 5.5 km


@pytest.mark.parametrize("rising", [True, False])
@pytest.mark.parametrize("altitude_deg", [-12.0, -3.0, 0.0, 10.0, 30.0])
def test_when_altitude_is_where_the_sun_stands(altitude_deg: float, *, rising: bool) -> None:
    when = when_altitude(HERE, dt.date(2024, 4, 5), math.radians(altitude_deg), rising=rising)
    assert when is not None
    assert when.date() == dt.date(2024, 4, 5)
    assert_allclose(math.degrees(sun_place(HERE, when).altitude_rad), altitude_deg, atol=1e-3)
    events = sun_events(HERE, when.date())
    assert events.noon is not None
    assert (when < events.noon) is rising


def test_altitudes_that_are_not_reached() -> None:
    assert when_altitude(HERE, dt.date(2024, 12, 21), math.radians(40.0), rising=True) is None
    assert when_altitude(HERE, dt.date(2024, 12, 21), math.radians(-80.0), rising=False) is None


@settings(max_examples=40, deadline=None)
@given(LATITUDES, LONGITUDES, st.dates(dt.date(1990, 1, 1), dt.date(2060, 1, 1)))
def test_events_keep_their_order(latitude_rad: float, longitude_rad: float, day: dt.date) -> None:
    """Whatever happens does so on that day, and not both of up and down all day."""
    there = Location(
        latitude_rad=latitude_rad, longitude_rad=longitude_rad, zone="Pacific/Auckland"
    )
    events = sun_events(there, day)
    times = (events.rise, events.set, events.noon, events.civil_dawn, events.nautical_dusk)
    assert all(found is None or found.date() == day for found in times)
    assert not (events.always_up and events.always_down)
    if events.always_up or events.always_down:
        assert events.rise is None
        assert events.set is None


def test_polar_days_and_nights() -> None:
    tromso = location(math.radians(69.6492), math.radians(18.9553), zone="Europe/Oslo")
    june, december = (sun_events(tromso, dt.date(2024, month, 21)) for month in (6, 12))
    assert (june.rise, june.set, june.always_up, june.always_down) == (None, None, True, False)
    assert (december.rise, december.always_up, december.always_down) == (None, False, True)
    assert june.noon is not None
    assert june.civil_dusk is None
    # In the polar night there is a day's twilight all the same.
    assert december.civil_dawn is not None
    assert december.civil_dusk is not None
    assert december.civil_dawn < december.civil_dusk


def test_a_night_of_minutes_is_not_missed() -> None:
    """Where the sun only dips under or only peeps over, both its crossings are found."""
    found = []
    for tenth in range(6520, 6640):
        place = location(math.radians(tenth / 100.0), 0.4, zone="Etc/UTC")
        for month in (6, 12):
            events = sun_events(place, dt.date(2024, month, 21))
            assert (events.rise is None) == (events.set is None)
            if events.rise and events.set:
                apart = abs((events.set - events.rise).total_seconds())
                found.append(min(apart, 86_400.0 - apart))
    assert min(found) < 1800.0
