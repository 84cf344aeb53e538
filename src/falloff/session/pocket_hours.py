"""Which hours a pocket copy holds besides each setup's own: those asked for, or a day's usual."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from falloff.clock import clock_words, local_instant, read_clock
from falloff.daylight import Location, SunEvents, sun_events, sun_place
from falloff.document import SceneDocument, instant_of
from falloff.errors import DaylightError, DocumentError, Fault
from falloff.stage import place_of

HOUR_WORDS: Final = ("sunrise", "noon", "sunset", "dusk")
_CLOCK: Final = re.compile(r"\d{1,2}:\d{2}")
_NEAR: Final = timedelta(minutes=20)  # two hours nearer than this show one light
_QUARTER: Final = timedelta(minutes=15)
_FINE: Final = timedelta(minutes=5)
_DARK_RAD: Final = math.radians(-6.0)  # the end of civil twilight


@dataclass(frozen=True, slots=True)
class PocketMoment:
    """An hour to be held: its aware instant, and the word by which it goes, empty for none."""

    instant: datetime
    word: str

    @property
    def clock(self) -> str:
        """As a clock shows it, "20:45"."""
        return clock_words(self.instant)


def has_hours(document: SceneDocument) -> bool:
    """Whether a scene's daylight hangs on the hour: it has a place, a date and an opening."""
    return instant_of(document) is not None and bool(document.openings)


def check_hours(document: SceneDocument, asked: tuple[str, ...]) -> None:
    """Refuse what is no hour, DaylightError, and hours of a scene that has none, DocumentError."""
    for text in asked:
        if text not in HOUR_WORDS and not _CLOCK.fullmatch(text):
            raise DaylightError(
                Fault(
                    what="this is no hour of the day",
                    expected=f"a time such as 16:40, or one of {', '.join(HOUR_WORDS)}",
                    found=text or "nothing",
                    fix="write it like --hour 16:40",
                )
            )
    if asked and not has_hours(document):
        raise DocumentError(
            Fault(
                what="no daylight of this scene changes with the hour",
                where=document.file_name,
                expected="a location, a sky with an hour, and a window",
                fix="add a location, and `at: 2026-06-21 15:40` to the sky; or leave --hour out",
            )
        )


def moments_to_hold(document: SceneDocument, asked: tuple[str, ...] = ()) -> list[PocketMoment]:
    """The hours besides its own of an arranged document, what matters most first.

    asked: as `check_hours` lets them pass; where there are none, an evening's, a morning's and an
    afternoon's, where there is light then. Raises DaylightError for what that day does not have.
    """
    own = instant_of(document)
    assert own is not None
    where = place_of(document)
    events = sun_events(where, own.date())
    if asked:
        wanted = [_asked(text, own, where, events) for text in asked]
        return _apart(wanted, own, timedelta(seconds=59))
    lit = [one for one in _usual(events) if sun_place(where, one.instant).geometric_rad > _DARK_RAD]
    return _apart(lit, own, _NEAR)


def _asked(text: str, own: datetime, where: Location, events: SunEvents) -> PocketMoment:
    if text not in HOUR_WORDS:
        return PocketMoment(local_instant(read_clock(text, day=own.date()), where.zone), "")
    named = {
        "sunrise": events.rise,
        "noon": events.noon,
        "sunset": events.set,
        "dusk": events.civil_dusk,
    }
    instant = named[text]
    if instant is None:
        raise DaylightError(
            Fault(
                what=f"there is no {text} on {own:%Y-%m-%d} at this place",
                expected="a time of the clock",
                found=text,
                fix="write it like --hour 16:40",
            )
        )
    return PocketMoment(_round(instant, timedelta(minutes=1)), text)


def _usual(events: SunEvents) -> list[PocketMoment]:
    """Half way from sunset to dusk, half way from sunrise to noon, two thirds on to sunset."""
    found = []
    if events.set is not None and events.civil_dusk is not None:
        evening = events.set + 0.5 * (events.civil_dusk - events.set)
        found.append(PocketMoment(_round(evening, _FINE), "evening"))
    rise, noon, down = events.rise, events.noon, events.set
    if noon is not None and events.always_up:
        rise, down = noon - timedelta(hours=12), noon + timedelta(hours=12)
    if noon is not None and rise is not None:
        found.append(PocketMoment(_round(rise + 0.5 * (noon - rise), _QUARTER), "morning"))
    if noon is not None and down is not None:
        late = noon + 2.0 / 3.0 * (down - noon)
        found.append(PocketMoment(_round(late, _QUARTER), "afternoon"))
    return found


def _apart(wanted: list[PocketMoment], own: datetime, near: timedelta) -> list[PocketMoment]:
    """Those that are not near the setup's own hour, nor near one before them."""
    kept: list[PocketMoment] = []
    for one in wanted:
        others = [own, *(other.instant for other in kept)]
        if all(abs(one.instant - other) > near for other in others):
            kept.append(one)
    return kept


def _round(instant: datetime, step: timedelta) -> datetime:
    seconds = step.total_seconds()
    whole = math.floor(instant.timestamp() / seconds + 0.5) * seconds
    return datetime.fromtimestamp(whole, instant.tzinfo)
