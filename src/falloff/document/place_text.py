"""A place written as one text: "5 ft from COOK, 4 o'clock, 6 ft up"."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Final, TypeVar

from falloff.document.cursor import Cursor, Gathered, Unread
from falloff.document.records import Quantity, RelativePlace
from falloff.document.values import Schema, Value, length, not_below_zero

T = TypeVar("T")

FLOOR_LEVEL: Final = Quantity(0.0, "0 m")
TEXT_EXAMPLE: Final = "5 ft from COOK, 4 o'clock, 6 ft up"
_CLOCK: Final = re.compile(r"([0-9]{1,2})(?::([0-9]{2}))?")
_OCLOCK: Final = re.compile(r"(.*?)\s*o\s?['\u2019]\s?clock", re.IGNORECASE)
_UP: Final = re.compile(r"(.*?)\s+up", re.IGNORECASE)
_FROM: Final = re.compile(r"(.*?)(?:^|\s+)from\s+(.*)")
_MEASURED: Final = re.compile(r"[-+]?\s*[0-9.\u00bc-\u00be][^,]*\sfrom\s[^,]*,")
_HEIGHT: Final = length("1.7 m")
_DISTANCE: Final = length("1.5 m", limits=not_below_zero("m"))
_FIX: Final = f"write {TEXT_EXAMPLE}; the height may be left out"

PLACE_TEXT_SCHEMA: Final[Schema] = {
    "type": "string",
    "pattern": (
        "^[^,]+ from [^,]+, *(0?[1-9]|1[0-2])(:[0-5][0-9])? *[oO] ?['\u2019] ?[cC]lock"
        "(, *[^,]+ up)?$"
    ),
    "description": "distance from a name, clock hour, height; the height may be left out",
    "examples": [TEXT_EXAMPLE],
}


def clock_hour(text: str) -> float | None:
    """The hour on a clock's face, above 0 to 12, of "4" or "4:30"; None where it is none."""
    found = _CLOCK.fullmatch(text.strip())
    if not found or not 1 <= int(found[1]) <= 12 or int(found[2] or 0) >= 60:
        return None
    minutes = (int(found[1]) * 60 + int(found[2] or 0)) % 720 or 720
    return minutes / 60.0


def is_place_text(text: str) -> bool:
    """Whether a text means to be a place: it measures from something, or names a clock hour."""
    return bool(_FROM.match(text) or _OCLOCK.search(text))


def measures_from(text: str) -> bool:
    """Whether a text begins as a place does, "5 ft from COOK,": no name of a place does."""
    return bool(_MEASURED.match(text))


def read_place_text(cursor: Cursor) -> RelativePlace:
    """A place from its text; a fault for each of its parts that cannot be read."""
    parts = [part.strip() for part in cursor.node.value.split(",")]
    if not 2 <= len(parts) <= 3:
        raise _miscounted(cursor, parts)
    before = len(cursor.gathered.faults)
    name, distance = _from(cursor, parts[0])
    hour = _hour(cursor, parts[1])
    height = _height(cursor, parts[2]) if len(parts) == 3 else FLOOR_LEVEL
    if name is None or distance is None or hour is None or height is None:
        assert len(cursor.gathered.faults) > before
        raise Unread
    return RelativePlace(name, distance, hour, height)


def _miscounted(cursor: Cursor, parts: list[str]) -> Unread:
    fix = _FIX
    if len(parts) > 3:
        fix = (
            "if a comma is part of the name, write "
            "{from: NAME, distance: 5 ft, clock: 4, height: 6 ft} with the name in quotes"
        )
    return cursor.fault(
        "a place in one text has two or three parts with a comma between",
        expected="distance from NAME, hour o'clock, height up",
        found=f"{len(parts)} part" + "s" * (len(parts) > 1),
        fix=fix,
    )


def _from(cursor: Cursor, part: str) -> tuple[str | None, Quantity | None]:
    found = _FROM.fullmatch(part)
    if not found or not found[1] or not found[2]:
        _unread(cursor, "distance", part, "a distance from a name, such as 5 ft from COOK")
        return None, None
    distance = _read_part(cursor, "distance", _DISTANCE, found[1].strip())
    name = found[2].strip()
    cursor.wants("named", name)
    return name, distance


def _hour(cursor: Cursor, part: str) -> float | None:
    found = _OCLOCK.fullmatch(part)
    hour = clock_hour(found[1]) if found else None
    if hour is None:
        _unread(cursor, "hour", part, "1 to 12 o'clock, halves and quarters as 4:30 o'clock")
    return hour


def _height(cursor: Cursor, part: str) -> Quantity | None:
    found = _UP.fullmatch(part)
    if not found:
        _unread(cursor, "height", part, "a height above the floor, such as 6 ft up")
        return None
    return _read_part(cursor, "height", _HEIGHT, found[1])


def _unread(cursor: Cursor, what: str, part: str, expected: str) -> None:
    """Record that one part of the text cannot be read."""
    found = part or "nothing"
    cursor.fault(f"the {what} of this place cannot be read", expected=expected, found=found,
                 fix=_FIX)  # fmt: skip


def _read_part(cursor: Cursor, what: str, value: Value[T], part: str) -> T | None:
    """One part read as a value of its own; what is wrong with it is told with the part's name."""
    aside = Gathered(cursor.gathered.file_name)
    node = replace(cursor.node, kind="text", value=part, style="'")
    try:
        return value.read(Cursor(node, cursor.path, aside, cursor.key))
    except Unread:
        for fault in aside.faults:
            cursor.fault(
                f"the {what} of this place: {fault.what}",
                expected=fault.expected,
                found=fault.found or part,
                fix=fault.fix or _FIX,
            )
        return None
