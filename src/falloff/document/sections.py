"""What each section of a scene file may hold: the law of the format, key by key."""

from __future__ import annotations

import contextlib
import math
from collections.abc import Mapping
from itertools import pairwise
from typing import Any, Final

from falloff import units
from falloff.document import records
from falloff.document.corners import FLOOR
from falloff.document.cursor import Cursor, Unread
from falloff.document.placing import (
    AIM,
    ASPECT,
    FACING,
    GATE,
    GATES,
    NAME,
    PLACE,
    READING_AIM,
    READING_PLACE,
    WALL,
    frames_per_second_of,
    shutter_of,
    variant,
)
from falloff.document.records import CameraAim, OnPlace, SquareAim, WallPlace
from falloff.document.values import (
    ANGLE,
    COLOUR,
    DIM,
    FLAG,
    FLUX,
    POWER,
    Key,
    Value,
    above_zero,
    choice,
    fps_value,
    group,
    group_schema,
    length,
    list_of,
    may,
    need,
    not_below_zero,
    number,
    quantity,
    read_all,
    read_keys,
    reference,
    size,
    whole,
)

REFLECTANCE: Final = number(0.0, 1.0, "0.6")
MATERIAL: Final = reference("material", "plaster")
_TINT: Final = list_of(
    number(0.0, math.inf, "1.25"),
    least=3,
    most=3,
    parts="red, green and blue",
    example="[1.25, 0.95, 0.75]",
)
_STOPS: Final = quantity(units.parse_stops, "5 stops", limits=above_zero("stops"))


def _tint(cursor: Cursor) -> tuple[float, ...]:
    tint = _TINT.read(cursor)
    if not any(tint):
        raise cursor.fault("a tint needs at least one channel above 0", found="[0, 0, 0]")
    return tint


TINT: Final = Value(_tint, _TINT.example, _TINT.schema)


def map_of(value: Value[Any], *, keyed: Value[Any] = NAME) -> Value[dict[Any, Any]]:
    """A group whose keys are names (or numbers) of the person's own."""

    def read(cursor: Cursor) -> dict[Any, Any]:
        entries = cursor.entries()
        keys = [
            (keyed, Cursor(one.key, one.path, cursor.gathered, one.key))
            for one in entries.values()
            if one.key is not None
        ]
        names: list[Any] = []
        with contextlib.suppress(Unread):
            names = read_all(keys)
        values = read_all([(value, one) for one in entries.values()])
        if len(names) != len(values):
            raise Unread
        return dict(zip(names, values, strict=True))

    schema = {"type": "object", "additionalProperties": value.schema}
    return Value(read, f"{{{keyed.example}: {value.example}}}", schema)


# The room --------------------------------------------------------------------------------

ROOM: Final[dict[str, Key]] = {
    "floor": need(
        FLOOR,
        "corners, counter-clockwise seen from above",
    ),
    "height": need(size("2.7 m")),
    "wall_thickness": may(size("0.2 m"), "the depth of window reveals; 0.2 m if left out"),
    "floor_surface": need(MATERIAL),
    "ceiling_surface": need(MATERIAL),
    "wall_surface": need(MATERIAL),
    "wall_surfaces": may(
        map_of(MATERIAL, keyed=WALL), "single walls; wall N runs from corner N to corner N+1"
    ),
}
OPENING: Final[dict[str, Key]] = {
    "wall": need(WALL, "wall N runs from corner N to corner N+1"),
    "along": need(length("1 m", limits=not_below_zero("m")), "from the wall's first corner"),
    "width": need(size("1.4 m")),
    "sill": need(length("0.95 m", limits=not_below_zero("m")), "above the floor"),
    "height": need(size("1.3 m"), "of the opening itself"),
    "bars": may(
        list_of(
            whole(1, 50, "2"), least=2, most=2, parts="columns and rows of panes", example="[2, 3]"
        )
    ),
    "bar_width": may(size("4 cm")),
    "bar_surface": may(MATERIAL),
}
MATERIAL_KEYS: Final[dict[str, Key]] = {
    "reflectance": need(REFLECTANCE, "luminous, 0 to 1"),
    "tint": may(TINT, "relative linear BT.2020 red, green, blue"),
}
SKY: Final[dict[str, Key]] = {
    "type": need(choice(["overcast"], "sky")),
    "outside": need(
        quantity(units.parse_illuminance, "12000 lx", limits=not_below_zero("lx")),
        "horizontal illuminance under the open sky",
    ),
    "colour": may(COLOUR, "6500 K if left out"),
    "ground": may(REFLECTANCE, "reflectance of the ground outside; 0.2 if left out"),
}

# What stands in it -----------------------------------------------------------------------

_TWO_SIDES: Final = list_of(
    size("90 cm"), least=2, most=2, parts="width and height", example="[90 cm, 60 cm]"
)
_PLACED_PROP: Final[dict[str, Key]] = {
    "at": need(PLACE, "the centre of its base"),
    "turn": may(ANGLE, "counter-clockwise on the plan"),
    "surface": need(MATERIAL),
}
PROP_FORMS: Final[dict[str, dict[str, Key]]] = {
    "box": {
        "size": need(
            list_of(
                size("0.7 m"),
                least=3,
                most=3,
                parts="its sides along x, y and up",
                example="[1.8 m, 0.7 m, 0.9 m]",
            )
        )
    }
    | _PLACED_PROP,
    "cylinder": {"diameter": need(size("0.4 m")), "height": need(size("0.9 m"))} | _PLACED_PROP,
}
SUBJECT: Final[dict[str, Key]] = {
    "figure": need(reference("figure", "seated")),
    "at": need(PLACE),
    "facing": need(FACING, "an angle counter-clockwise from +x on the plan, or a name"),
    "skin": need(number(0.0, 1.0, "0.32"), "luminous reflectance"),
    "skin_tint": may(TINT),
    "hair": need(reference("material", "dark hair")),
    "top": need(reference("material", "blue cotton")),
    "trousers": need(reference("material", "dark denim")),
    "shoes": may(MATERIAL, "black leather if left out"),
    "seat": may(MATERIAL, "material of a plain stool under a seated figure; none if left out"),
}
_GIVES_LIGHT: Final[dict[str, Key]] = {
    "output": need(FLUX, "all the light that leaves it at 100 %"),
    "colour": need(COLOUR),
    "power": may(POWER, "electrical"),
}
_BROUGHT: Final[dict[str, Key]] = {
    **_GIVES_LIGHT,
    "at": need(PLACE, "the centre of its front"),
    "aim": need(AIM),
    "stand": may(FLAG, "whether its stand is drawn and blocks light"),
}
FIXTURE_FORMS: Final[dict[str, dict[str, Key]]] = {
    "soft box": {"size": need(_TWO_SIDES), "depth": need(size("45 cm"))} | _BROUGHT,
    "open face": {
        "profile": need(reference("profile", "open-face flood")),
        "aperture": need(size("12 cm"), "diameter of its mouth"),
    }
    | _BROUGHT,
}
PRACTICAL_FORMS: Final[dict[str, dict[str, Key]]] = {
    "globe": {"diameter": need(size("12 cm"))} | _GIVES_LIGHT | {"at": need(PLACE, "its centre")},
}
GRIP_FORMS: Final[dict[str, dict[str, Key]]] = {
    kind: {
        "size": need(_TWO_SIDES),
        "at": need(PLACE, "its centre"),
        "aim": need(AIM, "what its face looks at"),
        "surface": may(MATERIAL, f"{surface} if left out"),
        "stand": may(FLAG, "whether its stand is drawn and blocks light"),
    }
    for kind, surface in (("solid", "black cloth"), ("bounce", "white board"))
}
_GRIP_SURFACE: Final = {"solid": "black cloth", "bounce": "white board"}

# Cameras, setups, readings ---------------------------------------------------------------

CAMERA: Final[dict[str, Key]] = {
    "at": need(PLACE),
    "aim": need(AIM),
    "lens": need(size("24 mm"), "focal length"),
    "gate": may(GATE, "super 35 if left out"),
    "aspect": may(ASPECT, "of the frame cut from the gate"),
}
SETUP: Final[dict[str, Key]] = {
    "camera": need(reference("camera", "WIDE")),
    "stop": need(quantity(lambda text: units.parse_stop(text).number, "T2.8")),
    "iso": need(number(0.0, math.inf, "800", above_low=True)),
    "fps": may(fps_value(), "24 if left out"),
    "shutter": need(
        Value(
            lambda cursor: shutter_of(cursor, 24.0),
            "180 deg",
            {"type": "string", "examples": ["180 deg", "1/48 s"]},
        )
    ),
    "nd": may(quantity(units.parse_nd, "ND 0.6"), "none if left out"),
    "balance": may(COLOUR, "the camera's white balance"),
    "meter_constant": may(number(0.0, math.inf, "250", above_low=True), "C of ISO 2720, lx·s"),
    "highlight": may(_STOPS, "the camera's stops above middle grey"),
    "shadow": may(_STOPS, "the camera's stops below middle grey"),
    "dims": may(map_of(DIM, keyed=reference("light", "KEY")), "100 % for a light not named"),
    "key": may(reference("reading", "key cheek"), "the reading that is key"),
}
_NORMAL: Final = list_of(
    number(-math.inf, math.inf, "-1"), least=3, most=3, parts="x, y and z", example="[0, -1, 0]"
)
READING: Final[dict[str, Key]] = {
    "at": need(READING_PLACE),
    "instrument": may(choice(["flat", "dome", "spot"], "instrument"), "flat if left out"),
    "normal": may(_NORMAL, "which way the receptor faces"),
    "aim": may(READING_AIM, "what the receptor looks at; or camera, or square"),
}
PROFILE: Final[dict[str, Key]] = {
    "angles": need(
        list_of(ANGLE, least=2, most=1000, parts="angles", example="[0 deg, 10 deg, 35 deg]"),
        "from the axis, ascending from 0 deg",
    ),
    "relative": need(
        list_of(
            number(0.0, math.inf, "0.8"),
            least=2,
            most=1000,
            parts="relative intensities",
            example="[1, 0.8, 0]",
        )
    ),
}


def _prop(cursor: Cursor) -> records.Prop:
    word, values = _PROP.read(cursor)
    shape: records.Box | records.Cylinder
    if word == "box":
        shape = records.Box(values.pop("size"))
    else:
        shape = records.Cylinder(values.pop("diameter"), values.pop("height"))
    return records.Prop(shape=shape, **values)


def _fixture(cursor: Cursor) -> records.Fixture:
    word, values = _FIXTURE.read(cursor)
    light: records.SoftBox | records.OpenFace
    if word == "soft box":
        light = records.SoftBox(values.pop("size"), values.pop("depth"))
    else:
        light = records.OpenFace(values.pop("profile"), values.pop("aperture"))
    return records.Fixture(light=light, **values)


def _practical(cursor: Cursor) -> records.Practical:
    _, values = _PRACTICAL.read(cursor)
    return records.Practical(light=records.Globe(values.pop("diameter")), **values)


def _grip(cursor: Cursor) -> records.Grip:
    kind, values = _GRIP.read(cursor)
    return records.Grip(**({"kind": kind, "surface": _GRIP_SURFACE[kind]} | values))


def _camera(cursor: Cursor) -> records.Camera:
    values = read_keys(cursor, CAMERA, "a camera")
    return records.Camera(**({"gate": GATES["super 35"]} | values))


def _setup(cursor: Cursor) -> records.Setup:
    entries = cursor.entries()
    fps = frames_per_second_of(entries)
    shutter = SETUP["shutter"].value
    timed = Value(lambda at: shutter_of(at, fps), shutter.example, shutter.schema)
    keys = {**SETUP, "shutter": need(timed)}
    return records.Setup(**read_keys(cursor, keys, "a setup", entries=entries))


def _reading(cursor: Cursor) -> records.ReadingWanted:
    values = read_keys(cursor, READING, "a reading")
    at, instrument = values["at"], values.get("instrument", "flat")
    if "normal" in values and "aim" in values:
        raise cursor.fault("a reading has a normal or an aim, not both", fix="take one away")
    if "normal" in values:
        if not any(values["normal"]):
            raise cursor.fault("a normal of no length points nowhere", found="[0, 0, 0]")
        if instrument == "spot":
            raise cursor.fault("a spot reading has no normal", fix="write aim: camera")
        return records.ReadingWanted(**values)
    on_surface = isinstance(at, records.NamedPlace | WallPlace | OnPlace)
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


def _profile(cursor: Cursor) -> records.Profile:
    values = read_keys(cursor, PROFILE, "a profile")
    angles, relative = [one.si for one in values["angles"]], values["relative"]
    if len(angles) != len(relative):
        found = f"{len(angles)} angles and {len(relative)} intensities"
        raise cursor.fault("each angle needs one relative intensity", found=found)
    if angles[0] != 0.0 or any(b <= a for a, b in pairwise(angles)):
        raise cursor.fault("angles must ascend from 0 deg", fix="sort them, each written once")
    if angles[-1] > math.pi / 2.0 + 1e-9:
        raise cursor.fault("a beam ends at most 90 deg from its axis", expected="up to 90 deg")
    if not any(relative):
        raise cursor.fault("a beam needs light at one angle at least", found="all 0")
    return records.Profile(**values)


_PROP: Final = variant("shape", PROP_FORMS, "a prop", "{shape: box, ...}")
_FIXTURE: Final = variant("light", FIXTURE_FORMS, "a fixture", "{light: soft box, ...}")
_PRACTICAL: Final = variant("light", PRACTICAL_FORMS, "a practical", "{light: globe, ...}")
_GRIP: Final = variant("kind", GRIP_FORMS, "grip", "{kind: solid, ...}")

ROOM_VALUE: Final = group(records.Room, ROOM, "the room", "{floor: ...}")
SKY_VALUE: Final = group(records.Sky, SKY, "the sky", "{type: overcast, outside: 12000 lx}")
NAMED_SECTIONS: Final[Mapping[str, Value[Any]]] = {
    "openings": group(records.Window, OPENING, "an opening", "{wall: 1, ...}"),
    "materials": group(records.Material, MATERIAL_KEYS, "a material", "{reflectance: 0.6}"),
    "props": Value(_prop, _PROP.example, _PROP.schema),
    "subjects": group(records.Subject, SUBJECT, "a subject", "{figure: seated, ...}"),
    "fixtures": Value(_fixture, _FIXTURE.example, _FIXTURE.schema),
    "practicals": Value(_practical, _PRACTICAL.example, _PRACTICAL.schema),
    "grip": Value(_grip, _GRIP.example, _GRIP.schema),
    "cameras": Value(_camera, "{at: ...}", group_schema(CAMERA)),
    "setups": Value(_setup, "{camera: WIDE, ...}", group_schema(SETUP)),
    "readings": Value(_reading, "{at: MAKER.face}", group_schema(READING)),
    "profiles": Value(_profile, "{angles: ...}", group_schema(PROFILE)),
}
PLACED_SECTIONS: Final = (
    "openings", "props", "subjects", "fixtures", "practicals", "grip", "cameras",
)  # fmt: skip
