"""Places, zones and clocks; what cannot be is refused with a way out."""

from __future__ import annotations

import datetime as dt
import math
import zoneinfo

import pytest

from falloff.clock import comes_twice, local_instant, require_aware
from falloff.daylight import location
from falloff.errors import DaylightError


def test_a_good_place() -> None:
    found = location(math.radians(51.5), math.radians(-0.1), zone="Europe/London")
    assert (found.zone, found.height_m) == ("Europe/London", 0.0)
    pole = location(0.5 * math.pi, -math.pi, zone="Etc/UTC", height_m=2835.0)
    assert pole.height_m == 2835.0


@pytest.mark.parametrize(
    ("latitude_deg", "longitude_deg", "height_m", "what"),
    [
        (91.0, 0.0, 0.0, "latitude"),
        (-90.1, 0.0, 0.0, "latitude"),
        (math.nan, 0.0, 0.0, "latitude"),
        (0.0, 181.0, 0.0, "longitude"),
        (0.0, 0.0, 12_000.0, "height"),
        (0.0, 0.0, -500.0, "height"),
    ],
)
def test_places_off_the_earth(
    latitude_deg: float, longitude_deg: float, height_m: float, what: str
) -> None:
    with pytest.raises(DaylightError, match=what):
        location(
            math.radians(latitude_deg),
            math.radians(longitude_deg),
            zone="Etc/UTC",
            height_m=height_m,
        )


def test_all_faults_of_a_place_are_told_at_once() -> None:
    with pytest.raises(DaylightError) as told:
        location(math.radians(91.0), 4.0, zone="Nowhere", height_m=1e5)
    assert len(told.value.faults) == 4
    assert told.value.faults[0].found == "91 deg"


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("Europe/Pris", "Europe/Paris"),
        ("london", "Europe/London"),
        ("America/Los Angles", "America/Los_Angeles"),
        ("Kolkatta", "Asia/Kolkata"),
    ],
)
def test_an_unknown_zone_names_the_nearest(written: str, meant: str) -> None:
    with pytest.raises(DaylightError, match="no such time zone") as told:
        location(0.0, 0.0, zone=written)
    assert meant in told.value.faults[0].fix


@pytest.mark.parametrize("written", ["", "Europe", "../etc/passwd", "/etc/localtime", "qqq", "\0"])
def test_no_zone_at_all(written: str) -> None:
    with pytest.raises(DaylightError, match="no such time zone"):
        local_instant(dt.datetime(2024, 6, 1), written)  # noqa: DTZ001


@pytest.mark.parametrize(
    ("when", "zone", "between", "instead"),
    [
        # source: the clock changes of the IANA data, known to everybody who lives there
        ((2024, 3, 31, 1, 30), "Europe/London", ("01:00", "02:00"), ("02:30", "00:30")),
        ((2024, 3, 10, 2, 0), "America/Los_Angeles", ("02:00", "03:00"), ("03:00", "01:00")),
        ((2024, 10, 6, 2, 15), "Australia/Lord_Howe", ("02:00", "02:30"), ("02:45", "01:45")),
    ],
)
def test_a_skipped_hour_is_refused(
    when: tuple[int, ...], zone: str, between: tuple[str, str], instead: tuple[str, str]
) -> None:
    with pytest.raises(DaylightError, match="no clock showed that time") as told:
        local_instant(dt.datetime(*when), zone)  # type: ignore[arg-type]  # noqa: DTZ001
    fault = told.value.faults[0]
    assert f"from {between[0]} straight to {between[1]}" in fault.what
    assert instead[0] in fault.fix
    assert instead[1] in fault.fix


def test_an_hour_that_comes_twice() -> None:
    """London, 27 October 2024: 01:30 is first British Summer Time, then Greenwich's."""
    when = dt.datetime(2024, 10, 27, 1, 30)  # noqa: DTZ001
    assert comes_twice(when, "Europe/London")
    first = local_instant(when, "Europe/London")
    second = local_instant(when.replace(fold=1), "Europe/London")
    assert first.utcoffset() == dt.timedelta(hours=1)
    assert second.utcoffset() == dt.timedelta(0)
    assert first.astimezone(dt.UTC) == dt.datetime(2024, 10, 27, 0, 30, tzinfo=dt.UTC)
    assert not comes_twice(when.replace(hour=2), "Europe/London")
    assert not comes_twice(dt.datetime(2024, 3, 31, 1, 30), "Europe/London")  # noqa: DTZ001


def test_an_aware_time_is_converted() -> None:
    given = dt.datetime(2024, 7, 1, 12, 0, tzinfo=dt.UTC)
    found = local_instant(given, "Asia/Kolkata")
    assert found == given
    assert (found.hour, found.minute) == (17, 30)
    assert found.tzinfo == zoneinfo.ZoneInfo("Asia/Kolkata")


def test_a_naive_time_is_refused() -> None:
    require_aware(dt.datetime(2024, 7, 1, tzinfo=dt.UTC))
    with pytest.raises(DaylightError, match="which clock") as told:
        require_aware(dt.datetime(2024, 7, 1))  # noqa: DTZ001
    fault = told.value.faults[0]
    assert fault.expected
    assert "2024-07-01" in fault.found
    assert "Europe/Paris" in fault.fix
