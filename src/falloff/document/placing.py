"""How places, aims and facings are written."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TypeAlias, TypeVar

from falloff import units
from falloff.document.cursor import Cursor, nearest_fix
from falloff.document.place_text import (
    FLOOR_LEVEL,
    PLACE_TEXT_SCHEMA,
    clock_hour,
    is_place_text,
    measures_from,
    read_place_text,
)
from falloff.document.records import (
    Aim,
    CameraAim,
    DownAim,
    NamedAim,
    NamedPlace,
    OnPlace,
    Place,
    PlaceAim,
    PointAim,
    PointPlace,
    Quantity,
    ReadingAim,
    ReadingPlace,
    RelativePlace,
    SquareAim,
    WallPlace,
)
from falloff.document.values import (
    ANGLE,
    Key,
    Value,
    group_schema,
    length,
    list_of,
    may,
    need,
    not_below_zero,
    read_keys,
    reference,
    size,
    text_value,
    whole,
)

T = TypeVar("T")

_NOWHERE = (Quantity(0.0, "0 m"), Quantity(0.0, "0 m"))
_COORDINATE = length("1.2 m")
_POINT = list_of(
    _COORDINATE, least=2, most=3, parts="x, y and perhaps z", example="[1.2 m, 3 m, 1.7 m]"
)
_FULL_POINT = list_of(
    _COORDINATE, least=3, most=3, parts="x, y and z", example="[1.2 m, 3 m, 1.7 m]"
)

NAME = text_value("KEY", "a name")
WALL = whole(1, 10_000, "2")


def _read_clock(cursor: Cursor) -> float:
    hour = clock_hour(cursor.node.value)
    if hour is None:
        raise cursor.fault(
            "this is no clock hour",
            expected="1 to 12, halves and quarters as 4:30 and 4:15",
            found=cursor.node.called() or "nothing",
            fix="write clock: 4 or clock: 4:30",
        )
    return hour


CLOCK: Value[float] = Value(
    _read_clock,
    "4:30",
    {
        "type": ["integer", "string"],
        "minimum": 1,
        "maximum": 12,
        "pattern": "^(0?[1-9]|1[0-2])(:[0-5][0-9])?$",
    },
)

_RELATIVE: Mapping[str, Key] = {
    "from": need(reference("named", "MAKER"), "what the place is measured from", into="from_name"),
    "distance": need(length("1.5 m", limits=not_below_zero("m")), "on the plan, from its middle"),
    "clock": need(CLOCK, "what it faces is at 6, hours clockwise from above", into="clock_hour"),
    "height": may(length("1.7 m"), "above the floor; 0 m if left out"),
}
_ON: Mapping[str, Key] = {
    "on": need(reference("prop", "BENCH"), "the prop it stands on"),
    "level": may(whole(1, 50, "2"), "of several boards, counted from the lowest; the usual one"),
    "offset": may(
        list_of(_COORDINATE, least=2, most=2, parts="x and y", example="[10 cm, 0 cm]"),
        "from the middle of its top, along the prop's own sides",
    ),
}
_WALL: Mapping[str, Key] = {
    "wall": need(WALL, "wall N runs from corner N to corner N+1"),
    "along": need(length("2 m", limits=not_below_zero("m")), "from the wall's first corner"),
    "height": need(length("1.5 m", limits=not_below_zero("m")), "above the floor"),
    "room": may(reference("room", "HALL"), "the scene's own room if left out"),
}
_SHAPES: tuple[tuple[str, Mapping[str, Key]], ...] = (
    ("from", _RELATIVE),
    ("on", _ON),
    ("wall", _WALL),
)
_ToldPlace: TypeAlias = RelativePlace | OnPlace | WallPlace
_AIM_FIX = "write aim: MAKER.face, aim: [1.2 m, 3 m, 1 m] or aim: {on: BENCH}"
_PLACE_EXAMPLE = "[1.2 m, 3 m, 1.7 m]"
_PLACE_FIX = f"write {_PLACE_EXAMPLE}, or {{from: NAME, distance: 1.5 m, clock: 4, height: 1.7 m}}"


def _read_place(cursor: Cursor) -> Place:
    if cursor.node.kind == "list":
        return PointPlace(*_point(cursor))
    if cursor.node.kind != "map" and not is_place_text(cursor.node.value):
        found = cursor.node.called() or "nothing"
        raise cursor.fault("this is no place", expected="a place", found=found, fix=_PLACE_FIX)
    return _read_told_place(cursor, "a place", _PLACE_FIX)


def _read_told_place(cursor: Cursor, what: str, fix: str) -> _ToldPlace:
    """A place that is told by its keys, or as one text; what: the thing that faults tell of."""
    if cursor.node.kind == "text":
        return read_place_text(cursor)
    entries = cursor.entries()
    kinds = [keys for mark, keys in _SHAPES if mark in entries]
    if len(kinds) != 1:
        what = f"{what} has exactly one of the keys from, on and wall"
        raise cursor.fault(what, found=", ".join(entries) or "no keys", fix=fix)
    values = read_keys(cursor, kinds[0], "this place", entries=entries)
    if kinds[0] is _RELATIVE:
        return RelativePlace(**({"height": FLOOR_LEVEL} | values))
    if kinds[0] is _ON:
        return OnPlace(**({"offset": _NOWHERE} | values))
    return WallPlace(**values)


def _point(cursor: Cursor) -> tuple[Quantity, Quantity, Quantity]:
    x, y, *rest = _POINT.read(cursor)
    return x, y, rest[0] if rest else FLOOR_LEVEL


def _read_aim(cursor: Cursor) -> Aim:
    if cursor.node.kind == "list":
        x, y, z = _FULL_POINT.read(cursor)
        return PointAim(x, y, z)
    told = cursor.node.value if cursor.node.kind == "text" else ""
    if cursor.node.kind == "map" or measures_from(told):
        return PlaceAim(_read_told_place(cursor, "an aim in brackets", _AIM_FIX))
    text = _aim_text(cursor)
    if text == "down":
        return DownAim()
    name, spot = _split(text)
    cursor.wants("named", name, spot)
    return NamedAim(name, spot)


def _aim_text(cursor: Cursor) -> str:
    if cursor.node.kind == "nothing":
        raise cursor.fault(
            "this is no aim",
            expected="a name, a subject's place, a point, a place or down",
            found="nothing",
            fix="write aim: MAKER.face, aim: [1.2 m, 3 m, 1 m] or aim: down",
        )
    return NAME.read(cursor)


def _split(text: str) -> tuple[str, str | None]:
    """MAKER.face -> MAKER, face; the place is what stands after the last full stop."""
    name, dot, place = text.rpartition(".")
    return (name.strip(), place.strip()) if dot else (text, None)


def _read_reading_place(cursor: Cursor) -> ReadingPlace:
    if cursor.node.kind in {"list", "map", "nothing"}:
        return _read_place(cursor)
    text = NAME.read(cursor)
    if measures_from(text):
        return read_place_text(cursor)
    name, place = _split(text)
    if place is None:
        raise cursor.fault(
            "a reading stands on a surface or free in the room, not in the middle of something",
            found=name,
            fix=f"write at: {name}.face for a person, at: {{on: {name}}} for a prop, or a point",
        )
    cursor.wants("named", name, place)
    return NamedPlace(name, place)


def _read_reading_aim(cursor: Cursor) -> ReadingAim:
    word = cursor.node.value.strip() if cursor.node.kind == "text" else ""
    if word in {"camera", "square"}:
        return CameraAim() if word == "camera" else SquareAim()
    return _read_aim(cursor)


def _read_facing(cursor: Cursor) -> Quantity | str:
    """An angle where it begins like a number, else a name."""
    text = cursor.node.value.strip()
    if cursor.node.kind in {"list", "map", "nothing"} or re.match(r"[+\-\u2212.]?\s*[0-9]", text):
        return ANGLE.read(cursor)
    name = NAME.read(cursor)
    cursor.wants("named", name)
    return name


_POINT_SCHEMA = _POINT.schema
_TEXT_SCHEMA = NAME.schema
PLACE: Value[Place] = Value(
    _read_place,
    "[1.2 m, 3 m]",
    {"anyOf": [_POINT_SCHEMA, PLACE_TEXT_SCHEMA, *(group_schema(keys) for _, keys in _SHAPES)]},
)
AIM: Value[Aim] = Value(
    _read_aim,
    "MAKER.face",
    {
        "anyOf": [
            _TEXT_SCHEMA,
            _FULL_POINT.schema,
            PLACE_TEXT_SCHEMA,
            *(group_schema(keys) for _, keys in _SHAPES),
        ]
    },
)
READING_PLACE: Value[ReadingPlace] = Value(
    _read_reading_place, "MAKER.cheek_key", {"anyOf": [_TEXT_SCHEMA, *PLACE.schema["anyOf"]]}
)
READING_AIM: Value[ReadingAim] = Value(_read_reading_aim, "camera", AIM.schema)
FACING: Value[Quantity | str] = Value(
    _read_facing, "90 deg", {"type": "string", "description": "an angle or a name"}
)


def _read_aspect(cursor: Cursor) -> Quantity:
    text = cursor.node.value.strip()
    found = re.fullmatch(
        r"([0-9]{1,5}(?:\.[0-9]{1,9})?)(?: ?: ?([0-9]{1,5}(?:\.[0-9]{1,9})?))?", text
    )
    if not found or float(found[1]) == 0.0 or float(found[2] or 1) == 0.0:
        shown = cursor.node.called() or "nothing"
        raise cursor.fault(
            "this is no aspect", expected="width to height", found=shown, fix="write 16:9 or 1.85"
        )
    return Quantity(float(found[1]) / float(found[2] or 1), text)


ASPECT: Value[Quantity] = Value(
    _read_aspect, "16:9", {"type": ["string", "number"], "pattern": "^[0-9.]+( ?: ?[0-9.]+)?$"}
)

# Nominal sizes, from memory: gates differ between cameras, so a person should give their own.
GATES: Mapping[str, tuple[Quantity, Quantity]] = {
    "super 35": (Quantity(0.02489, "24.89 mm"), Quantity(0.01866, "18.66 mm")),
    "full frame": (Quantity(0.036, "36 mm"), Quantity(0.024, "24 mm")),
}
_GATE_SIDES = list_of(
    size("24.89 mm"), least=2, most=2, parts="width and height", example="[24.89 mm, 18.66 mm]"
)


def _read_gate(cursor: Cursor) -> tuple[Quantity, Quantity]:
    if cursor.node.kind in {"list", "map", "nothing"}:
        width, height = _GATE_SIDES.read(cursor)
        return width, height
    text = cursor.node.value.strip()
    if text not in GATES:
        fix = nearest_fix(text, GATES) or "write its width and height: [24.89 mm, 18.66 mm]"
        raise cursor.fault(f"unknown gate {text!r}", expected=" or ".join(GATES), fix=fix)
    return GATES[text]


GATE: Value[tuple[Quantity, Quantity]] = Value(
    _read_gate, "super 35", {"anyOf": [{"enum": list(GATES)}, _GATE_SIDES.schema]}
)


def shutter_of(cursor: Cursor, frames_per_second: float) -> Quantity:
    """The exposure time of a frame; the setup's own fps must be known first."""
    text = cursor.node.value.strip()
    shown = text if cursor.node.kind in {"text", "number"} else cursor.node.called()
    try:
        return Quantity(units.parse_shutter(shown, frames_per_second), text)
    except units.UnitFault as error:
        fault = error.fault
        raise cursor.fault(
            fault.what, expected=fault.expected, found=fault.found, fix=fault.fix
        ) from None


def frames_per_second_of(entries: Mapping[str, Cursor]) -> float:
    """The fps written in a setup, or 24; anything unreadable counts as 24 here."""
    try:
        return units.parse_fps(entries["fps"].node.value) if "fps" in entries else 24.0
    except units.UnitFault:
        return 24.0
