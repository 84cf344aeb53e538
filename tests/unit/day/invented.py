"""Invented moments and days, of which a test says only what it is about."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

from falloff.day.records import Day, DayMoment, HourLevel, ViewLevel

EVENING = datetime(2026, 9, 20, 18, 0, tzinfo=UTC)


def minutes(count: float, *, after: datetime = EVENING) -> datetime:
    """So many minutes after six in the evening."""
    return after + timedelta(minutes=count)


def every(step: float, count: int, *, after: datetime = EVENING) -> list[datetime]:
    """So many times, even steps of minutes apart, from six in the evening on."""
    return [minutes(step * k, after=after) for k in range(count)]


def level(stops: float | None, low: float | None = None, high: float | None = None) -> HourLevel:
    """A reading of so many stops over key; the spread is nought where none is given."""
    low, high = (stops if low is None else low), (stops if high is None else high)
    value, least, most = (0.0 if one is None else 2.0**one for one in (stops, low, high))
    return HourLevel(value, least, most, stops, low, high)


def moment(when: datetime, **said: Any) -> DayMoment:
    """A moment with no light at all but what is said."""
    told: dict[str, Any] = {
        "sun_altitude_deg": 0.0,
        "sun_azimuth_deg": 270.0,
        "sky_lux": 100.0,
        "sun_lux": 0.0,
        "sky_kelvin": 9000.0,
        "levels": {},
        "target_levels": {},
        "holds": {},
    }
    return DayMoment(instant=when, **told | said)


def views(times: Sequence[datetime], over_face: Sequence[float | None]) -> list[DayMoment]:
    """Moments of an evening in which WINDOW is so many stops over the face, the sun going down."""
    return [
        moment(
            when,
            sun_altitude_deg=10.0 - k,
            views=(ViewLevel(opening="WINDOW", nit=100.0, over_grey=0.0, over_face=over),),
        )
        for k, (when, over) in enumerate(zip(times, over_face, strict=True))
    ]


def day_of(setup: str, hour: datetime, **said: Any) -> Day:
    """A day of a setup, from six in the evening to eight, with what is said of it."""
    told: dict[str, Any] = {
        "moments": tuple(moment(when) for when in every(60, 3)),
        "targets": (),
        "near_hour": (),
        "nd": (),
        "dusk": (),
        "view_fixes": (),
        "countdowns": (),
        "sun_in_frame": (),
        "sun_on_lens": (),
    }
    return Day(
        scene="Invented", setup=setup, camera="WIDE", place="51.50° N, 0.13° W",
        date="2026-09-20", zone="UTC", sky="clear", north_deg=90.0, exposure="T4", key_lux=480.0,
        key_reading=None, hour=hour, events={}, always_up=False, always_down=False,
        **told | said,
    )  # fmt: skip
