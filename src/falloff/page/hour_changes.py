"""Changes of the date, the hour and the sky, written in the form that each was written in."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any, Final

from falloff.clock import comes_twice, local_instant, read_clock, read_day
from falloff.daylight import SKY_WORDS
from falloff.document import (
    Add,
    Edit,
    KeyPath,
    Put,
    Remove,
    SceneDocument,
    arranged,
    instant_of,
    scalar,
)
from falloff.page.clocks import clock_of, minute_of
from falloff.page.told import cannot
from falloff.page.worked import Worked

Made = tuple[list[Edit], str]
_DATED: Final = re.compile(r"\d{4}-\d{2}-\d{2}")
_OFFSET: Final = re.compile(r"(?:Z|[+-]\d{2}:?\d{2})$")
_READ_OF_SKY: Final = ("outside", "zenith", "at_glass")
_NO_HOUR: Final = "the scene has no hour"
_ADD_IT: Final = "add a location, and `at: 2026-06-21 15:40` to the sky"


def day_of_tree(document: SceneDocument) -> dict[str, Any] | None:
    """The date, the sky and every setup's hour, as docs/page.md has it; None without one."""
    sky, location = document.sky, document.location
    if sky is None or sky.at is None or location is None or not document.openings:
        return None
    hours = {}
    for name, setup in document.setups.items():
        when = instant_of(arranged(document, name))
        assert when is not None
        hours[name] = {
            "at": when.strftime("%H:%M"),
            "date": when.date().isoformat(),
            "minute": round(minute_of(when, location.zone), 2),
            "own": setup.at is not None,
            "clock": clock_of(when.date(), location.zone),
        }
    return {
        "date": read_clock(sky.at).date().isoformat(),
        "zone": location.zone,
        "sky": sky.type,
        "skies": list(dict.fromkeys([sky.type, *SKY_WORDS])),
        "at": hours,
    }


def instant_at(document: SceneDocument, setup: str, at: object) -> datetime:
    """The aware instant of a clock time, with an offset where it comes twice, on a setup's date.

    Its own hour where there is none. Raises DocumentError for a scene without an hour,
    DaylightError for a time that no clock shows.
    """
    now = instant_of(arranged(document, setup))
    if now is None or document.location is None:
        raise cannot(_NO_HOUR, _ADD_IT)
    if at is None:
        return now
    return local_instant(read_clock(str(at), day=now.date()), document.location.zone)


def hour_set(worked: Worked, change: Mapping[str, Any]) -> Made:
    """Another hour on the same date: the setup's own where it has one, else the sky's."""
    document, setup = worked.document, worked.setup
    when = instant_at(document, setup, str(change["at"]).strip())
    own = document.setups[setup].at
    told = f"{when:%H:%M}"
    if own is None:
        assert document.sky is not None
        edits = _of_sky(worked, _like(str(document.sky.at), when))
    else:
        edits = [_of_setup(worked, _like(own, when))]
    return edits, f"hour {told}" if own is None else f"hour {told} in {setup}"


def date_set(worked: Worked, change: Mapping[str, Any]) -> Made:
    """Another date at the same clock time: the setup's own where it has one, else the sky's."""
    document, setup = worked.document, worked.setup
    on = read_day(str(change["on"]))
    now = instant_at(document, setup, None)
    own = document.setups[setup].at
    if own is not None and _DATED.match(own):
        return [_of_setup(worked, _like(own, _moved(document, now, on)))], f"date {on} in {setup}"
    assert document.sky is not None
    base = instant_of(document)
    assert base is not None
    text = _like(str(document.sky.at), _moved(document, base, on))
    return _of_sky(worked, text), f"date {on}"


def sky_set(worked: Worked, change: Mapping[str, Any]) -> Made:
    """Another sky, in a word; what was read or said of the one before is no reading of it."""
    word = str(change["type"])
    if word not in SKY_WORDS:
        raise cannot(f"there is no sky called {word!r}", f"one of {', '.join(SKY_WORDS)}")
    if worked.document.sky is None:
        raise cannot("the scene has no sky", "add `sky: {type: clear, at: 2026-06-21 15:40}`")
    gone: list[KeyPath] = [("sky", key) for key in (*_READ_OF_SKY, "read_at", "colour")]
    gone += [("sky", "sun", key) for key in ("illuminance", "colour")]
    if worked.document.sky.type == word:
        gone = []
    edits: list[Edit] = [Remove(path) for path in gone if worked.wrote(path)]
    edits.append(worked.put_or_add(("sky",), "type", word))
    return edits, f"sky {word}"


def located(worked: Worked, change: Mapping[str, Any]) -> Made:
    """A place on the earth and an hour for a scene that lacked one of them; all as it is said."""
    document = worked.document
    zone, at = str(change["zone"]).strip(), str(change["at"]).strip()
    north, east = float(change["latitude_deg"]), float(change["longitude_deg"])
    local_instant(read_clock(at), zone)
    place = {"latitude": _sided(north, "NS"), "longitude": _sided(east, "EW"), "zone": zone}
    edits: list[Edit] = []
    if document.location is None:
        told = ", ".join(f"{key}: {value}" for key, value in place.items())
        edits.append(Add(("location",), f"{{{told}}}"))
    else:
        edits += [worked.put_or_add(("location",), key, value) for key, value in place.items()]
    if document.sky is None:
        edits.append(Add(("sky",), f"{{type: clear, at: {scalar(at)}}}"))
    else:
        said = [("sky", "sun", key) for key in ("altitude", "azimuth")]
        placed: list[KeyPath] = [path for path in said if worked.wrote(path)]
        rest = [
            key
            for key in ("illuminance", "turbidity", "colour")
            if worked.wrote(("sky", "sun", key))
        ]
        edits += (
            [Remove(path) for path in placed] if rest or not placed else [Remove(("sky", "sun"))]
        )
        edits.append(worked.put_or_add(("sky",), "at", at))
    return edits, "place and hour"


def _of_sky(worked: Worked, text: str) -> list[Edit]:
    """The sky's own hour; what was read of it is noted as read when it was."""
    sky = worked.document.sky
    assert sky is not None
    edits: list[Edit] = [Put(("sky", "at"), text)]
    read = any(worked.wrote(("sky", key)) for key in _READ_OF_SKY)
    read = read or worked.wrote(("sky", "sun", "illuminance"))
    if read and sky.read_at is None:
        edits.append(Add(("sky", "read_at"), scalar(str(sky.at))))
    return edits


def _sided(degrees: float, sides: str) -> str:
    return f"{abs(round(degrees, 4)):g} {sides[0] if degrees >= 0.0 else sides[1]}"


def _moved(document: SceneDocument, when: datetime, on: date) -> datetime:
    """The same clock time on another date."""
    assert document.location is not None
    clock = when.replace(tzinfo=None, fold=0, year=on.year, month=on.month, day=on.day)
    return local_instant(clock, document.location.zone)


def _like(written: str, when: datetime) -> str:
    """An instant's clock time as another was written: with its date, with its offset, or bare.

    A time that comes twice is written with its offset, whatever was.
    """
    head = f"{when:%Y-%m-%d}" if _DATED.match(written) else ""
    joint = "T" if head and written[10:11] == "T" else " " if head else ""
    naive = when.replace(tzinfo=None, fold=0)
    twice = comes_twice(naive, str(when.tzinfo))
    ahead = f"{when:%z}"
    offset = f"{ahead[:3]}:{ahead[3:]}" if twice or _OFFSET.search(written[len(head) :]) else ""
    return f"{head}{joint}{when:%H:%M}{offset}"


def _of_setup(worked: Worked, text: str) -> Edit:
    """The setup's own hour; one that it has from another setup is written anew in it."""
    path = ("setups", worked.setup, "at")
    return Put(path, text) if worked.wrote(path) else Add(path, f'"{text}"')
