"""What may be written of cameras, setups, readings and what was measured."""

from __future__ import annotations

import math
from datetime import datetime
from typing import Any, Final

from falloff import units
from falloff.document import records
from falloff.document.clock_values import CLOCK
from falloff.document.cursor import Cursor
from falloff.document.forms import map_of
from falloff.document.likes import SetupWritten
from falloff.document.placing import (
    AIM,
    ASPECT,
    FACING,
    GATE,
    GATES,
    PLACE,
    READING_AIM,
    READING_PLACE,
    frames_per_second_of,
    shutter_of,
)
from falloff.document.quantities import METERED_OR_NONE, ND, STOPS_ABOVE_ZERO
from falloff.document.records import CameraAim, OnPlace, SquareAim, WallPlace
from falloff.document.several import POINTS, check_walk, on_one_surface
from falloff.document.values import (
    COLOUR,
    DIM,
    Key,
    Value,
    choice,
    fps_value,
    group_schema,
    list_of,
    may,
    need,
    number,
    quantity,
    read_keys,
    reference,
    size,
    text_value,
)

_CAMERA: Final[dict[str, Key]] = {
    "at": need(PLACE),
    "aim": need(AIM),
    "lens": need(size("24 mm"), "focal length"),
    "gate": may(GATE, "super 35 if left out"),
    "aspect": may(ASPECT, "of the frame cut from the gate"),
}


def _camera(cursor: Cursor) -> records.Camera:
    values = read_keys(cursor, _CAMERA, "a camera")
    return records.Camera(**({"gate": GATES["super 35"]} | values))


CAMERA_VALUE: Final = Value(_camera, "{at: ...}", group_schema(_CAMERA))

# Setups ----------------------------------------------------------------------------------

_MOVED: Final[dict[str, Key]] = {
    "at": may(PLACE, "where it stands in this setup"),
    "aim": may(AIM, "what it looks at in this setup"),
    "facing": may(FACING, "the way a person faces in this setup"),
}


def _moved(cursor: Cursor) -> records.Moved:
    values = read_keys(cursor, _MOVED, "what is moved")
    if not values:
        raise cursor.fault("nothing is said to move", fix="write at, aim or facing, or take it out")
    return records.Moved(**values)


_MOVED_THINGS: Final = map_of(
    Value(_moved, "{at: [1.2 m, 3 m, 1.7 m]}", group_schema(_MOVED)),
    keyed=reference("movable", "KEY"),
)
_STOP: Final = quantity(lambda text: units.parse_stop(text).number, "T2.8")
_ISO: Final = number(0.0, math.inf, "800", above_low=True)
_FREE: Final[dict[str, Key]] = {
    "stop": may(
        list_of(
            _STOP,
            least=2,
            most=2,
            parts="the widest and the narrowest stop",
            example="[T2.8, T5.6]",
        ),
        "the widest and the narrowest that will do",
    ),
    "iso": may(
        list_of(_ISO, least=1, most=20, parts="sensitivities", example="[400, 800]"),
        "those that the camera has",
    ),
    "nd": may(
        list_of(
            ND, least=1, most=20, parts="neutral densities", example="[0 stops, ND 0.6, ND 1.2]"
        ),
        "those in the filter case",
    ),
}


def _free(cursor: Cursor) -> records.CameraFreedom:
    values = read_keys(cursor, _FREE, "what is free")
    if not values:
        fix = "write stop, iso or nd, or take it out"
        raise cursor.fault("nothing is said to be free", fix=fix)
    if "stop" in values:
        widest, narrowest = values["stop"]
        if widest.si >= narrowest.si:
            raise cursor.entries()["stop"].fault(
                "the widest stop comes first, and the other is narrower",
                found=f"{widest.text}, {narrowest.text}",
                fix=f"write [{narrowest.text}, {widest.text}]",
            )
    return records.CameraFreedom(**values)


_SHUTTER: Final = Value(
    lambda cursor: cursor,  # an angle is a time once the frame rate is known
    "180 deg",
    {"type": "string", "examples": ["180 deg", "1/48 s"]},
)
_SETUP: Final[dict[str, Key]] = {
    "like": may(reference("setup", "WIDE SHOT"), "the setup that fills in what is left out"),
    "camera": need(reference("camera", "WIDE")),
    "stop": need(_STOP),
    "iso": need(_ISO),
    "fps": may(fps_value(), "24 if left out"),
    "shutter": need(_SHUTTER),
    "nd": may(ND, "none if left out"),
    "balance": may(COLOUR, "the camera's white balance"),
    "meter_constant": may(number(0.0, math.inf, "250", above_low=True), "C of ISO 2720, lx·s"),
    "highlight": may(STOPS_ABOVE_ZERO, "the camera's stops above middle grey"),
    "shadow": may(STOPS_ABOVE_ZERO, "the camera's stops below middle grey"),
    "dims": may(map_of(DIM, keyed=reference("light", "KEY")), "100 % for a light not named"),
    "key": may(reference("reading", "key cheek"), "the reading that is key"),
    "moved": may(_MOVED_THINGS, "what stands elsewhere in this setup"),
    "without": may(
        list_of(
            reference("movable", "SOLID"), least=0, most=1000, parts="names", example="[SOLID]"
        ),
        "what is not there in this setup",
    ),
    "at": may(CLOCK, "when it is shot: 16:40, or a date and a time; the sky's hour if left out"),
    "free": may(
        Value(_free, "{stop: [T2.8, T5.6]}", group_schema(_FREE)),
        "what of its exposure may be chosen to bring targets in",
    ),
}
_LIKE_SETUP: Final = {name: may(key.value, key.about) for name, key in _SETUP.items()}


def _setup(cursor: Cursor) -> SetupWritten:
    """A setup as far as it is written; one that is like another needs nothing more."""
    entries = cursor.entries()
    if "like" in entries:
        values = read_keys(cursor, _LIKE_SETUP, "a setup", entries=entries)
        return SetupWritten(cursor, values)
    fps = frames_per_second_of(entries)
    timed = Value(lambda at: shutter_of(at, fps), _SHUTTER.example, _SHUTTER.schema)
    keys = {**_SETUP, "shutter": need(timed)}
    return SetupWritten(cursor, read_keys(cursor, keys, "a setup", entries=entries))


def _setup_schema() -> dict[str, Any]:
    """What a setup needs it may have from the one that it is like."""
    needed = [name for name, key in _SETUP.items() if key.required]
    either = [{"required": ["like"]}, {"required": needed}]
    return group_schema(_LIKE_SETUP) | {"anyOf": either}


SETUP_VALUE: Final = Value(_setup, "{camera: WIDE, ...}", _setup_schema())

# Readings --------------------------------------------------------------------------------

_NORMAL: Final = list_of(
    number(-math.inf, math.inf, "-1"), least=3, most=3, parts="x, y and z", example="[0, -1, 0]"
)
_READING: Final[dict[str, Key]] = {
    "at": need(READING_PLACE),
    "to": may(READING_PLACE, "the far end of a walk, or the far corner of an area"),
    "points": may(POINTS, "how many along a walk, ends included; columns and rows over an area"),
    "instrument": may(choice(["flat", "dome", "spot"], "instrument"), "flat if left out"),
    "normal": may(_NORMAL, "which way the receptor faces"),
    "aim": may(READING_AIM, "what the receptor looks at; or camera, or square"),
}


def _reading(cursor: Cursor) -> records.ReadingWanted:
    values = read_keys(cursor, _READING, "a reading")
    at, instrument = values["at"], values.get("instrument", "flat")
    if "normal" in values and "aim" in values:
        raise cursor.fault("a reading has a normal or an aim, not both", fix="take one away")
    if "normal" in values:
        if not any(values["normal"]):
            raise cursor.fault("a normal of no length points nowhere", found="[0, 0, 0]")
        if instrument == "spot":
            raise cursor.fault("a spot reading has no normal", fix="write aim: camera")
    several = check_walk(cursor, values)
    if "normal" in values:
        return records.ReadingWanted(**values)
    on_surface = isinstance(at, records.NamedPlace | WallPlace | OnPlace)
    if several:
        on_surface = on_one_surface(at, values["to"])
    if "aim" not in values and instrument == "flat" and not on_surface:
        fix = "add `normal: [0, -1, 0]` or `aim: camera`"
        raise cursor.fault("a flat receptor in free space must face somewhere", fix=fix)
    if isinstance(values.get("aim"), SquareAim) and not on_surface:
        fix = "add `normal: [0, -1, 0]`, or name a subject's place, a wall or the top of a prop"
        raise cursor.fault("there is no surface here to be square to", fix=fix)
    usual = SquareAim() if instrument == "flat" else CameraAim()
    values = {"aim": usual} | values
    if isinstance(values["aim"], SquareAim) and isinstance(at, OnPlace):
        values |= {"aim": None, "normal": (0.0, 0.0, 1.0)}
    return records.ReadingWanted(**values)


READING_VALUE: Final = Value(_reading, "{at: MAKER.face}", group_schema(_READING))

# What was measured -----------------------------------------------------------------------


def _at_time(cursor: Cursor) -> str:
    text = text_value("2026-03-02T14:10+01:00", "a time").read(cursor)
    fix = "write it like 2026-03-02T14:10+01:00"
    try:
        time = datetime.fromisoformat(text)
    except ValueError:
        raise cursor.fault(
            "this is no time", expected="a date, a time and its zone", found=text, fix=fix
        ) from None
    if time.tzinfo is None:
        raise cursor.fault(
            "this time does not say its zone",
            expected="a date, a time and its zone",
            found=text,
            fix=fix,
        )
    return text


_MEASURED: Final[dict[str, Key]] = {
    "reading": need(reference("reading", "key cheek")),
    "value": need(METERED_OR_NONE, "lx; of a spot reading cd/m2"),
    "setup": may(reference("setup", "WIDE SHOT"), "the setup it was taken in"),
    "lit": may(
        list_of(
            reference("source", "KEY"), least=0, most=1000, parts="names", example="[KEY, WINDOW]"
        ),
        "what was on, windows too; as in the setup if left out",
    ),
    "at_time": may(
        Value(_at_time, "2026-03-02T14:10+01:00", {"type": "string", "format": "date-time"}),
        "with its zone",
    ),
}


def _measured(cursor: Cursor) -> records.Measured:
    return records.Measured(**read_keys(cursor, _MEASURED, "what was measured"))


MEASURED_VALUE: Final = Value(
    _measured, "{reading: key cheek, value: 320 lx}", group_schema(_MEASURED)
)
