"""Clock times as they are written, the instants that they name, and those that no clock showed."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from falloff.clock import (
    comes_twice,
    local_instant,
    midnight,
    read_clock,
    read_day,
    real_minutes,
    require_aware,
    unknown_zone,
    zone_of,
)
from falloff.errors import DaylightError, Fault

LONDON = "Europe/London"


def naive(*when: int) -> datetime:
    """What a clock shows, without its place."""
    return datetime(*when)  # type: ignore[arg-type]  # noqa: DTZ001


def fault_of(error: pytest.ExceptionInfo[DaylightError]) -> Fault:
    (found,) = error.value.faults
    return found


@pytest.mark.parametrize(
    ("text", "when"),
    [
        ("2026-06-21 15:40", naive(2026, 6, 21, 15, 40)),
        ("2026-06-21T15:40", naive(2026, 6, 21, 15, 40)),
        ("  2026-06-21   9:05 ", naive(2026, 6, 21, 9, 5)),
        ("2026-06-21 15:40:30", naive(2026, 6, 21, 15, 40, 30)),
        ("2028-02-29 00:00", naive(2028, 2, 29)),
    ],
)
def test_a_date_and_time_without_an_offset_is_naive(text: str, when: datetime) -> None:
    found = read_clock(text)
    assert found == when
    assert found.tzinfo is None


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("2026-06-21 15:40Z", 0),
        ("2026-06-21 15:40+01:00", 60),
        ("2026-06-21 15:40 +0100", 60),
        ("2026-06-21 15:40-07:00", -420),
        ("2026-06-21 15:40+05:30", 330),
        ("2026-06-21 15:40-02:30", -150),
    ],
)
def test_a_written_offset_is_kept(text: str, minutes: int) -> None:
    found = read_clock(text)
    assert found.utcoffset() == timedelta(minutes=minutes)
    assert found.replace(tzinfo=None) == naive(2026, 6, 21, 15, 40)


def test_a_time_alone_is_of_the_day_that_is_given() -> None:
    assert read_clock("16:40", day=date(2026, 1, 2)) == naive(2026, 1, 2, 16, 40)
    assert read_clock("2026-06-21 16:40", day=date(2026, 1, 2)) == naive(2026, 6, 21, 16, 40)
    with pytest.raises(DaylightError) as error:
        read_clock("16:40")
    assert fault_of(error).what == "a date is needed with this time"


@pytest.mark.parametrize(
    "text",
    ["", "noon", "15.40", "2026-06-21", "21.6.2026 15:40", "2026-6-21 15:40", "2026-06-21 15:4",
     "2026-06-21 15:40 pm", "2026-06-2115:40", "2026-06-21 15:40+1", "15:40 2026-06-21"],
)  # fmt: skip
def test_what_is_no_date_and_time(text: str) -> None:
    with pytest.raises(DaylightError) as error:
        read_clock(text, day=date(2026, 1, 1))
    fault = fault_of(error)
    assert fault.what == "this is no date and time"
    assert fault.found == (text or "nothing")
    assert "2026-06-21 15:40" in fault.fix


@pytest.mark.parametrize(
    "text",
    ["2026-02-30 12:00", "2026-13-01 12:00", "2026-06-21 24:00", "2026-06-21 12:60",
     "2026-06-21 12:00:61", "2027-02-29 12:00", "2026-06-21 12:00+25:00"],
)  # fmt: skip
def test_what_no_clock_or_calendar_has(text: str) -> None:
    with pytest.raises(DaylightError) as error:
        read_clock(text)
    fault = fault_of(error)
    assert fault.what.startswith("no clock or calendar has this")
    assert fault.found == text
    assert "timedelta" not in fault.what  # it is told to a person


def test_a_date() -> None:
    assert read_day(" 2026-12-21 ") == date(2026, 12, 21)
    for text in ("21.12.2026", "2026-02-30", "", "tomorrow"):
        with pytest.raises(DaylightError) as error:
            read_day(text)
        assert fault_of(error).what == "this is no date"
        assert fault_of(error).found == (text or "nothing")


@pytest.mark.parametrize(
    ("when", "zone", "utc"),
    [
        # pencil: an hour ahead in summer, none in winter
        (naive(2026, 6, 21, 15, 40), LONDON, naive(2026, 6, 21, 14, 40)),
        (naive(2026, 12, 21, 15, 40), LONDON, naive(2026, 12, 21, 15, 40)),
        (naive(2026, 1, 15, 16, 0), "Australia/Sydney", naive(2026, 1, 15, 5, 0)),
        (naive(2026, 5, 1, 9, 0), "Asia/Kolkata", naive(2026, 5, 1, 3, 30)),
        (naive(2026, 7, 4, 17, 30), "America/Los_Angeles", naive(2026, 7, 5, 0, 30)),
    ],
)
def test_the_instant_of_a_clock(when: datetime, zone: str, utc: datetime) -> None:
    found = local_instant(when, zone)
    assert found.astimezone(UTC) == utc.replace(tzinfo=UTC)
    assert found.replace(tzinfo=None) == when


def test_an_aware_time_is_only_converted() -> None:
    said = datetime(2026, 6, 21, 12, 0, tzinfo=timezone(timedelta(hours=-7)))
    found = local_instant(said, LONDON)
    assert found == said
    assert (found.hour, found.utcoffset()) == (20, timedelta(hours=1))


def test_an_hour_that_the_clocks_skipped() -> None:
    """Source: in 2026 clocks went forward in Britain on 29 March at one in the morning."""
    with pytest.raises(DaylightError) as error:
        local_instant(naive(2026, 3, 29, 1, 30), LONDON)
    fault = fault_of(error)
    assert "from 01:00 straight to 02:00" in fault.what
    assert fault.found == "2026-03-29 01:30"
    assert "02:30" in fault.fix
    assert "00:30" in fault.fix
    for hour, minute in ((0, 59), (2, 0)):
        local_instant(naive(2026, 3, 29, hour, minute), LONDON)


def test_a_skipped_half_hour_and_a_skipped_day() -> None:
    """Source: Lord Howe moves by half an hour; Samoa left out 30 December 2011."""
    with pytest.raises(DaylightError, match="from 02:00 straight to 02:30"):
        local_instant(naive(2026, 10, 4, 2, 15), "Australia/Lord_Howe")
    with pytest.raises(DaylightError, match="no clock showed that time"):
        local_instant(naive(2011, 12, 30, 12, 0), "Pacific/Apia")


def test_an_hour_that_comes_twice() -> None:
    """Source: in 2026 clocks went back in Britain on 25 October at two in the morning."""
    when = naive(2026, 10, 25, 1, 30)
    assert comes_twice(when, LONDON)
    first, second = local_instant(when, LONDON), local_instant(when.replace(fold=1), LONDON)
    assert second.timestamp() - first.timestamp() == 3600.0  # pencil
    for other in (naive(2026, 10, 25, 0, 59), naive(2026, 10, 25, 2, 0)):
        assert not comes_twice(other, LONDON)
    assert not comes_twice(naive(2026, 3, 29, 1, 30), LONDON)  # never, not twice
    assert not comes_twice(when, "UTC")


@pytest.mark.parametrize(
    ("name", "near"),
    [
        ("Europe/Lodnon", "Europe/London"),
        ("london", "Europe/London"),
        ("Los Angeles", "America/Los_Angeles"),
        ("europe/paris ", "Europe/Paris"),
    ],
)
def test_an_unknown_zone_is_told_with_its_nearest(name: str, near: str) -> None:
    with pytest.raises(DaylightError) as error:
        zone_of(name)
    fault = fault_of(error)
    assert fault.what == "there is no such time zone"
    assert near in fault.fix
    assert repr(name) == fault.found


@pytest.mark.parametrize("name", ["", "/", "../../etc/passwd", "Xyzzy/Qwertz", "\0"])
def test_names_that_are_like_no_zone(name: str) -> None:
    assert unknown_zone(name) is not None
    for ask in (local_instant, comes_twice):
        with pytest.raises(DaylightError):
            ask(naive(2026, 1, 1), name)


def test_a_known_zone_is_no_fault() -> None:
    assert unknown_zone(LONDON) is None
    assert zone_of(LONDON).key == LONDON


def test_a_naive_time_is_refused_where_an_instant_is_needed() -> None:
    require_aware(datetime(2026, 1, 1, tzinfo=UTC))
    with pytest.raises(DaylightError) as error:
        require_aware(naive(2026, 1, 1, 12, 0))
    assert "2026-01-01 12:00" in fault_of(error).found


@pytest.mark.parametrize(
    ("day", "hours"), [(date(2026, 6, 21), 24), (date(2026, 3, 29), 23), (date(2026, 10, 25), 25)]
)
def test_a_day_is_as_long_as_its_clock_makes_it(day: date, hours: int) -> None:
    """Source: Directive 2000/84/EC: forward on 29 March 2026, back on 25 October."""
    begins, ends = midnight(day, LONDON), midnight(day + timedelta(days=1), LONDON)
    assert (begins.date(), begins.hour, begins.minute) == (day, 0, 0)
    assert real_minutes(begins, ends) == 60.0 * hours
    assert real_minutes(ends, begins) == -60.0 * hours
    with pytest.raises(DaylightError, match="no such time zone"):
        midnight(day, "Europe/Lodnon")
