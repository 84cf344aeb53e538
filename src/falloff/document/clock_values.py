"""Where the room is on the earth, and clock times, as a scene file writes them."""

from __future__ import annotations

import math
import re
from datetime import date
from itertools import pairwise
from typing import Final

from falloff import units
from falloff.clock import read_clock, zone_of
from falloff.document import records
from falloff.document.cursor import Cursor, Unread
from falloff.document.quantities import angle_between
from falloff.document.records import Quantity
from falloff.document.values import (
    Key,
    Limits,
    Value,
    group,
    length,
    list_of,
    may,
    need,
    text_value,
)
from falloff.errors import DaylightError

_ANY_DAY: Final = date(2000, 1, 1)  # stands for the sky's own date in a time that has none


def _told(cursor: Cursor, error: DaylightError) -> Unread:
    """A fault of a time or a zone, told where it is written."""
    (fault,) = error.faults
    return cursor.fault(fault.what, expected=fault.expected, found=fault.found, fix=fault.fix)


def _clock(*, day: date | None, example: str) -> Value[str]:
    text = text_value(example, "a time")

    def read(cursor: Cursor) -> str:
        written = text.read(cursor)
        try:
            read_clock(written, day=day)
        except DaylightError as error:
            raise _told(cursor, error) from None
        return written

    return Value(read, example, {"type": "string", "examples": [example]})


DATE_AND_CLOCK: Final = _clock(day=None, example="2026-06-21 15:40")
CLOCK: Final = _clock(day=_ANY_DAY, example="16:40")

# Location --------------------------------------------------------------------------------


def _zone(cursor: Cursor) -> str:
    name = text_value("Europe/London", "a time zone").read(cursor)
    try:
        zone_of(name)
    except DaylightError as error:
        raise _told(cursor, error) from None
    return name


def _on_the_globe(signs: dict[str, float], most_deg: float, example: str) -> Value[Quantity]:
    """Degrees with a sign, or with the letter of a side."""
    letters = "".join(signs)
    told = f"-{most_deg:g} deg to {most_deg:g} deg, or 0 to {most_deg:g} with {' or '.join(signs)}"
    plain = text_value(example, f"an angle such as {example}")

    def read(cursor: Cursor) -> Quantity:
        text = plain.read(cursor)
        sided = re.fullmatch(rf"(.*?)\s*(?:deg|°)?\s*([{letters}])", text)
        body, sign = (f"{sided[1]} deg", signs[sided[2]]) if sided else (text, 1.0)
        try:
            angle_rad = sign * units.parse_angle(body)
        except units.UnitFault as error:
            fault = error.fault
            raise cursor.fault(
                fault.what, expected=f"an angle such as {example}", found=text, fix=fault.fix
            ) from None
        below = sided is not None and angle_rad * sign < 0.0
        if below or abs(angle_rad) > math.radians(most_deg) + 1e-12:
            raise cursor.fault("there is no such place on the earth", expected=told, found=text)
        return Quantity(angle_rad, text)

    return Value(read, example, {"type": "string", "description": told, "examples": [example]})


_HEIGHT: Final = length("120 m", limits=Limits(lambda m: -430.0 <= m <= 9000.0, "-430 m to 9000 m"))
_LOCATION: Final[dict[str, Key]] = {
    "latitude": need(_on_the_globe({"N": 1.0, "S": -1.0}, 90.0, "51.5 N"), "north or south"),
    "longitude": need(_on_the_globe({"E": 1.0, "W": -1.0}, 180.0, "0.13 W"), "east or west"),
    "zone": need(Value(_zone, "Europe/London", {"type": "string"}), "of the clock"),
    "height": may(_HEIGHT, "above the sea; 0 if left out"),
}
LOCATION_VALUE: Final = group(
    records.Location, _LOCATION, "a location", "{latitude: 51.5 N, longitude: 0.13 W, zone: ...}"
)

# Skyline ---------------------------------------------------------------------------------

_POINT: Final[dict[str, Key]] = {
    "azimuth": need(angle_between(0.0, 360.0, "200 deg"), "clockwise from north"),
    "altitude": need(angle_between(0.0, 89.0, "8 deg"), "above level"),
}
_POINTS: Final = list_of(
    group(records.SkylinePoint, _POINT, "a point of the skyline", "{azimuth: 200 deg, ...}"),
    least=2,
    most=720,
    parts="points by azimuth and altitude",
    example="[{azimuth: 90 deg, altitude: 3 deg}, {azimuth: 200 deg, altitude: 12 deg}]",
)


def _skyline(cursor: Cursor) -> tuple[records.SkylinePoint, ...]:
    points = _POINTS.read(cursor)
    for k, (before, after) in enumerate(pairwise(points)):
        if after.azimuth.si <= before.azimuth.si:
            raise cursor.items()[k + 1].fault(
                "the skyline runs backwards here",
                expected=f"an azimuth past {before.azimuth.text}",
                found=after.azimuth.text,
                fix="write its points clockwise from north, each azimuth once",
            )
    if points[-1].azimuth.si - points[0].azimuth.si >= 2.0 * math.pi - 1e-9:
        raise cursor.items()[-1].fault(
            "the skyline's last point lies where its first does", fix="take one of them out"
        )
    return points


SKYLINE: Final = Value(_skyline, _POINTS.example, _POINTS.schema)
