"""When a scene is shot: the instants of its sky and of its setups, in its location's zone."""

from __future__ import annotations

from datetime import datetime

import msgspec

from falloff.clock import comes_twice, local_instant, read_clock
from falloff.document.draft import Draft
from falloff.document.records import KeyPath, Location, SceneDocument, Setup, Sky
from falloff.errors import DaylightError


def instant_of(document: SceneDocument) -> datetime | None:
    """The instant of the sky's hour, aware; None where the scene has none."""
    sky, location = document.sky, document.location
    if sky is None or sky.at is None or location is None:
        return None
    return local_instant(read_clock(sky.at), location.zone)


def read_instant(document: SceneDocument) -> datetime | None:
    """When the sky's reading was taken, aware; the sky's hour where nothing else is said."""
    sky, location = document.sky, document.location
    if sky is None or location is None or (sky.read_at is None and sky.at is None):
        return None
    return local_instant(read_clock(sky.read_at or sky.at or ""), location.zone)


def at_hour(sky: Sky, hour: str) -> Sky:
    """The sky at another hour; what was read of it was read when it was."""
    return msgspec.structs.replace(sky, at=hour, read_at=sky.read_at or sky.at)


def hour_in(sky: Sky | None, setup: Setup) -> str | None:
    """The date and time at which a setup is shot, as text; the sky's own where it says none."""
    if sky is None or sky.at is None or setup.at is None:
        return None if sky is None else sky.at
    when = read_clock(setup.at, day=read_clock(sky.at).date())
    return when.isoformat(" ", "seconds" if when.second else "minutes")


def check_instants(draft: Draft) -> None:
    """Record faults of hours without a place or a sky, and of hours that the clock skips."""
    sky: Sky | None = draft.singles.get("sky")
    location: Location | None = draft.singles.get("location")
    if sky is not None and sky.at is not None:
        if location is None and not draft.written("location"):
            what = "where the sun stands at that hour hangs on the place"
            fix = "add `location: {latitude: 51.5 N, longitude: 0.13 W, zone: Europe/London}`"
            draft.fault(("sky", "at"), what, fix=fix)
        elif location is not None:
            _check_instant(draft, ("sky", "at"), sky.at, location)
            if sky.read_at is not None:
                _check_instant(draft, ("sky", "read_at"), sky.read_at, location)
    for name, setup in draft.each("setups"):
        path = ("setups", name, "at")
        if setup.at is None or not draft.wrote(path):
            continue
        if sky is None or sky.at is None:
            if sky is not None or not draft.written("sky"):
                what = "this setup has an hour, and the sky has none"
                draft.fault(path, what, fix="add `at: 2026-06-21 15:40` to the sky")
        elif location is not None:
            hour = hour_in(sky, setup)
            assert hour is not None
            _check_instant(draft, path, hour, location)


def _check_instant(draft: Draft, path: KeyPath, text: str, location: Location) -> None:
    when = read_clock(text)
    try:
        local_instant(when, location.zone)
    except DaylightError as error:
        (fault,) = error.faults
        draft.fault(path, fault.what, expected=fault.expected, found=fault.found, fix=fault.fix)
        return
    if when.tzinfo is None and when.fold == 0 and comes_twice(when, location.zone):
        first = local_instant(when, location.zone)
        draft.fault(
            path,
            "the clock shows this time twice that day",
            expected="a time with its offset",
            found=text,
            fix=f"write {text}{first:%z} for the first, or the other offset for the second",
        )
