"""Values of lights that have forms of their own: colour, gels, egg crates, shutters, fabrics."""

from __future__ import annotations

import math
from typing import Any, Final

from falloff import units
from falloff.document import records
from falloff.document.cursor import Cursor
from falloff.document.quantities import SHARE_OF_LIGHT, angle_between
from falloff.document.values import (
    ANGLE,
    COLOUR,
    DIM,
    Key,
    Limits,
    Value,
    group,
    group_schema,
    list_of,
    may,
    need,
    not_below_zero,
    number,
    quantity,
    read_keys,
    size,
    text_value,
)

BEAM_ANGLE: Final = quantity(
    units.parse_angle,
    "30 deg",
    limits=Limits(
        lambda rad: math.radians(1.0) - 1e-9 <= rad <= math.radians(140.0), "1 deg to 140 deg"
    ),
)
LOSS: Final = quantity(units.parse_stops, "1/2 stop", limits=not_below_zero("stops"))
LUMINANCE: Final = quantity(units.parse_luminance, "250 nit", limits=not_below_zero("cd/m2"))

# Colour ----------------------------------------------------------------------------------

_XY: Final = list_of(
    number(0.0, 1.0, "0.31"), least=2, most=2, parts="x and y", example="[0.44, 0.40]"
)
_BY_KELVIN: Final[dict[str, Key]] = {
    "kelvin": need(COLOUR),
    "duv": may(
        number(-0.05, 0.05, "0.003"), "distance from the line of hot bodies; above 0 is green"
    ),
}
_BY_XY: Final[dict[str, Key]] = {"xy": need(_XY, "CIE 1931 x and y, as a colour meter shows")}


def _colour(cursor: Cursor) -> dict[str, Any]:
    """The fields of a light that a colour fills: colour and duv, or xy."""
    if cursor.node.kind != "map":
        return {"colour": COLOUR.read(cursor)}
    entries = cursor.entries()
    if "xy" not in entries:
        values = read_keys(cursor, _BY_KELVIN, "a colour", entries=entries)
        return {"colour": values.pop("kelvin"), **values}
    x, y = read_keys(cursor, _BY_XY, "a colour", entries=entries)["xy"]
    if y <= 0.0 or x + y > 1.0:
        found = f"x {x:g}, y {y:g}"
        expected = "y above 0, and x and y at most 1 together"
        raise entries["xy"].fault("no light has that colour", expected=expected, found=found)
    return {"xy": (x, y)}


LIGHT_COLOUR: Final = Value(
    _colour,
    "5600 K",
    {"oneOf": [COLOUR.schema, group_schema(_BY_KELVIN), group_schema(_BY_XY)]},
)

# Gels ------------------------------------------------------------------------------------

_GEL: Final[dict[str, Key]] = {
    "mired": may(number(-400.0, 400.0, "178"), "added; above 0 warms"),
    "green": may(number(-3.0, 3.0, "0.5"), "in full green gels; below 0 is magenta"),
    "loss": may(LOSS, "stops that it takes; none if left out"),
}
_GEL_FIGURES: Final = group(records.GelFigures, _GEL, "a gel", "{mired: 178, loss: 1 stop}")
_GEL_NAME: Final = text_value("half orange gel", "a gel's name")


def _gel(cursor: Cursor) -> str | records.GelFigures:
    return (_GEL_FIGURES if cursor.node.kind == "map" else _GEL_NAME).read(cursor)


GELS: Final = list_of(
    Value(_gel, _GEL_NAME.example, {"anyOf": [_GEL_NAME.schema, _GEL_FIGURES.schema]}),
    least=0,
    most=8,
    parts="gels, from the light outward",
    example="[half orange gel]",
)

# Egg crates ------------------------------------------------------------------------------

_CUTOFF: Final = angle_between(5.0, 85.0, "40 deg")
_DEPTH_OVER_WIDTH: Final = number(0.0, 20.0, "1.2")


def _crate(cursor: Cursor) -> records.Quantity | float:
    return (_DEPTH_OVER_WIDTH if cursor.node.kind == "number" else _CUTOFF).read(cursor)


CRATE: Final = Value(_crate, "40 deg", {"anyOf": [_CUTOFF.schema, _DEPTH_OVER_WIDTH.schema]})

# Shutters and barndoors ------------------------------------------------------------------

_SHUTTER: Final[dict[str, Key]] = {
    "in": need(DIM, "how far across the gate it is pushed", into="depth"),
    "tilt": may(
        angle_between(-90.0, 90.0, "10 deg"),
        "of its edge, counter-clockwise as seen from behind the light",
    ),
}
_SHUTTER_GROUP: Final = group(records.GateShutter, _SHUTTER, "a shutter", "{in: 30 %}")


def _shutter(cursor: Cursor) -> records.GateShutter:
    if cursor.node.kind == "map":
        return _SHUTTER_GROUP.read(cursor)
    return records.GateShutter(depth=DIM.read(cursor))


_SHUTTER_VALUE: Final = Value(_shutter, "30 %", {"anyOf": [DIM.schema, _SHUTTER_GROUP.schema]})
_SIDES: Final = ("top", "bottom", "left", "right")
SHUTTERS: Final = group(
    records.GateShutters,
    {side: may(_SHUTTER_VALUE, "out if left out") for side in _SIDES},
    "shutters",
    "{top: 30 %}",
)
_LEAF: Final = angle_between(0.0, 120.0, "30 deg")
BARNDOORS: Final = group(
    records.Barndoors,
    {
        side: may(_LEAF, "how far it opens from straight ahead; no leaf if left out")
        for side in _SIDES
    }
    | {"length": may(size("12 cm"), "of a leaf; 0.9 of the mouth if left out")},
    "barndoors",
    "{left: 30 deg, right: 30 deg}",
)

# Fabrics ---------------------------------------------------------------------------------

_FABRIC: Final[dict[str, Key]] = {
    "straight": need(SHARE_OF_LIGHT, "share of the light let straight through"),
    "scattered": need(SHARE_OF_LIGHT, "share let through and scattered"),
    "reflected": may(SHARE_OF_LIGHT, "share given back; three quarters of the rest if left out"),
}
_FABRIC_GIVEN: Final = group(
    records.GivenFabric, _FABRIC, "a fabric", "{straight: 0.1, scattered: 0.5}"
)
_FABRIC_NAME: Final = text_value("artificial silk", "a fabric's name")


def _fabric(cursor: Cursor) -> str | records.GivenFabric:
    if cursor.node.kind != "map":
        return _FABRIC_NAME.read(cursor)
    given = _FABRIC_GIVEN.read(cursor)
    shares = given.straight + given.scattered + (given.reflected or 0.0)
    if shares > 1.0 + 1e-9:
        what = "more light comes off a fabric than falls on it"
        raise cursor.fault(what, expected="at most 1 together", found=f"{shares:g}")
    return given


FABRIC: Final = Value(
    _fabric, _FABRIC_NAME.example, {"anyOf": [_FABRIC_NAME.schema, _FABRIC_GIVEN.schema]}
)

# A fixture of the kit --------------------------------------------------------------------

_MODIFIER_NAME: Final = text_value("90 cm soft box", "a modifier's name")
_MODIFIERS: Final = list_of(
    _MODIFIER_NAME,
    least=0,
    most=4,
    parts="modifiers, from the head outward",
    example="[90 cm soft box, 40° fabric egg crate]",
)


def _modifiers(cursor: Cursor) -> tuple[str, ...]:
    if cursor.node.kind == "list":
        return _MODIFIERS.read(cursor)
    return (_MODIFIER_NAME.read(cursor),)


MODIFIERS: Final = Value(
    _modifiers, _MODIFIER_NAME.example, {"anyOf": [_MODIFIER_NAME.schema, _MODIFIERS.schema]}
)
_WAY: Final = text_value("spot", "a beam's name")


def _way(cursor: Cursor) -> records.Quantity | str:
    text = cursor.node.value.strip()
    try:
        units.parse_angle(text)
    except units.UnitFault:
        if cursor.node.kind == "number":
            return ANGLE.read(cursor)  # tells that it has no unit
        return _WAY.read(cursor)
    return BEAM_ANGLE.read(cursor)


WAY: Final = Value(_way, "30 deg", {"anyOf": [BEAM_ANGLE.schema, _WAY.schema]})
