"""Clock times as people write them, and the instants that they name in a zone."""

from __future__ import annotations

import difflib
import re
from datetime import UTC, date, datetime, time, timedelta, timezone
from typing import Final
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from falloff.errors import DaylightError, Fault

EXAMPLE: Final = "2026-06-21 15:40"
CLOCK_EXAMPLE: Final = "16:40"
# Beyond these the turning of the earth is not known well enough.
FIRST_YEAR: Final = 1900
LAST_YEAR: Final = 2100
_WRITTEN: Final = re.compile(
    r"(?:(?P<day>\d{4}-\d{2}-\d{2})(?:[T ]+|$))?"
    r"(?:(?P<hour>\d{1,2}):(?P<minute>\d{2})(?::(?P<second>\d{2}))?)?"
    r"\s*(?P<offset>Z|[+-]\d{2}:?\d{2})?"
)


def read_clock(text: str, *, day: date | None = None) -> datetime:
    """A date and time as written, "2026-06-21 15:40"; naive unless an offset is written.

    day: the date of a time that has none, "15:40". Raises DaylightError for anything else.
    """
    found = _WRITTEN.fullmatch(text.strip())
    like = EXAMPLE if day is None else f"{EXAMPLE}, or {CLOCK_EXAMPLE}"
    if found is None or found["hour"] is None or (found["day"] is None and day is None):
        needs_day = found is not None and found["hour"] is not None
        raise DaylightError(
            Fault(
                what="a date is needed with this time" if needs_day else "this is no date and time",
                expected=f"a date and a time of day, such as {EXAMPLE}",
                found=text.strip() or "nothing",
                fix=f"write it like {like}",
            )
        )
    try:
        said = date.fromisoformat(found["day"]) if found["day"] else day
        assert said is not None
        _check_year(said.year)
        clock = time(int(found["hour"]), int(found["minute"]), int(found["second"] or 0))
        when = datetime.combine(said, clock)
        return when if found["offset"] is None else when.replace(tzinfo=_offset(found["offset"]))
    except ValueError as error:
        raise DaylightError(
            Fault(
                what=f"no clock or calendar has this: {error}",
                expected=f"a date and a time of day, such as {EXAMPLE}",
                found=text.strip(),
                fix=f"write it like {like}",
            )
        ) from None


def clock_words(instant: datetime) -> str:
    """An instant to the nearest minute, as the clock shows it: "09:40"."""
    near = instant + timedelta(seconds=30) if instant.second >= 30 else instant
    return f"{near:%H:%M}"


def read_day(text: str) -> date:
    """A date, "2026-06-21"; DaylightError for anything else."""
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise DaylightError(
            Fault(
                what="this is no date",
                expected="a year, a month and a day, such as 2026-06-21",
                found=text.strip() or "nothing",
                fix="write it like 2026-06-21",
            )
        ) from None


def _check_year(year: int) -> None:
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise ValueError(f"the year is to lie from {FIRST_YEAR} to {LAST_YEAR}")


def _offset(text: str) -> timezone:
    if text == "Z":
        return UTC
    sign = -1 if text[0] == "-" else 1
    hours, minutes = int(text[1:3]), int(text[-2:])
    if hours > 14 or minutes > 59:
        raise ValueError(f"no zone is {text} from Greenwich")
    return timezone(sign * timedelta(hours=hours, minutes=minutes))


def local_instant(when: datetime, zone: str) -> datetime:
    """The aware instant at which the clocks of a zone show a naive date and time.

    Of an hour that comes twice, when clocks go back, the first is meant, or the second where
    `when.fold` is 1. An aware time is only converted. Raises DaylightError for an unknown zone
    and for an hour that the clocks skipped.
    """
    clock = zone_of(zone)
    if when.tzinfo is not None:
        return when.astimezone(clock)
    there = when.replace(tzinfo=clock)
    shown = _shown(there)
    if shown.replace(tzinfo=None) == when.replace(fold=0):
        return there
    before = _shown(there.replace(fold=1))
    last, first = _skipped(before, shown)
    raise DaylightError(
        Fault(
            what=f"no clock showed that time: on {last:%Y-%m-%d} clocks went from {last:%H:%M} "
            f"straight to {first:%H:%M}",
            expected=f"a time that was, in {zone}",
            found=f"{when:%Y-%m-%d %H:%M}",
            fix=f"write {shown:%H:%M}, which is what clocks put forward then showed, "
            f"or {before:%H:%M}",
        )
    )


def comes_twice(when: datetime, zone: str) -> bool:
    """Whether clocks of a zone showed a naive date and time twice, having gone back.

    Raises DaylightError for an unknown zone.
    """
    clock = zone_of(zone)
    first, second = (when.replace(tzinfo=clock, fold=fold) for fold in (0, 1))
    here, there = first.utcoffset(), second.utcoffset()
    assert here is not None  # a named zone always has one
    assert there is not None
    return here > there


def midnight(day: date, zone: str) -> datetime:
    """The instant at which a day begins by the clocks of a zone, aware.

    Raises DaylightError for an unknown zone.
    """
    return datetime.combine(day, time(), zone_of(zone))


def real_minutes(start: datetime, end: datetime) -> float:
    """Minutes from one aware instant to another, whatever clocks are set forward or back between.

    The difference of two times of one zone is what its clock shows, not what passes.
    """
    return (end.timestamp() - start.timestamp()) / 60.0


def require_aware(instant: datetime) -> None:
    """Refuse a time that does not say where its clock hangs: DaylightError."""
    if instant.utcoffset() is None:
        raise DaylightError(
            Fault(
                what="it is not said which clock shows this time",
                expected="a time with its zone",
                found=f"{instant.isoformat(sep=' ')} without one",
                fix="give the zone of the place, such as Europe/Paris: local_instant(when, zone)",
            )
        )


def zone_of(name: str) -> ZoneInfo:
    """The time zone of a name, or DaylightError with the nearest known names."""
    if fault := unknown_zone(name):
        raise DaylightError(fault)
    return ZoneInfo(name)


def unknown_zone(name: str) -> Fault | None:
    """Why a name is no time zone, with the nearest that are; None where it is one."""
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        near = _nearest_zones(name)
        fix = f"did you mean {' or '.join(near)}?" if near else "write it as Europe/Paris"
        return Fault(
            what="there is no such time zone",
            expected="a continent and a town of the IANA time zone data",
            found=repr(name),
            fix=fix,
        )
    return None


def _nearest_zones(name: str) -> list[str]:
    """Up to three known names like this one, by the whole of it or by the town alone."""
    known = {zone.lower(): zone for zone in sorted(available_timezones())}
    towns: dict[str, str] = {}
    for low, zone in known.items():
        if "/" in low:
            towns.setdefault(low.rsplit("/", 1)[1], zone)
    asked = name.strip().lower().replace(" ", "_")
    near = [known[low] for low in difflib.get_close_matches(asked, known, n=3, cutoff=0.75)]
    town = asked.rsplit("/", 1)[-1]
    near += [towns[low] for low in difflib.get_close_matches(town, towns, n=3, cutoff=0.75)]
    return list(dict.fromkeys(near))[:3]


def _shown(instant: datetime) -> datetime:
    """What the clocks really show at an instant that may stand in a skipped hour."""
    return instant.astimezone(UTC).astimezone(instant.tzinfo)


def _skipped(before: datetime, after: datetime) -> tuple[datetime, datetime]:
    """The last time before the clocks went forward, and the first after it, to the minute."""
    low, high = before.astimezone(UTC), after.astimezone(UTC)
    old = before.utcoffset()
    while high - low > timedelta(seconds=1):
        middle = low + (high - low) / 2
        if middle.astimezone(before.tzinfo).utcoffset() == old:
            low = middle
        else:
            high = middle
    assert old is not None
    first = (high + timedelta(seconds=0.5)).replace(microsecond=0)
    return (first + old).replace(tzinfo=None), first.astimezone(before.tzinfo)
