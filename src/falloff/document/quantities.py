"""Values that several sections share: sides, stops, shares of light, materials."""

from __future__ import annotations

import math
from typing import Final

from falloff import units
from falloff.document.cursor import Cursor
from falloff.document.records import Quantity
from falloff.document.values import (
    Limits,
    Value,
    above_zero,
    length,
    list_of,
    not_below_zero,
    number,
    quantity,
    reference,
    size,
    whole,
)

SHARE_OF_LIGHT: Final = number(0.0, 1.0, "0.6")
MATERIAL: Final = reference("material", "plaster")
STOPS: Final = quantity(units.parse_stops, "5 stops")
STOPS_ABOVE_ZERO: Final = quantity(units.parse_stops, "5 stops", limits=above_zero("stops"))
ND: Final = quantity(units.parse_nd, "ND 0.6")


def _metered(text: object) -> float:
    """Lux, or candela per square metre where that is the unit."""
    try:
        return units.parse_luminance(text)
    except units.UnitFault:
        return units.parse_illuminance(text)


METERED: Final = quantity(_metered, "320 lx", limits=above_zero(""))
METERED_OR_NONE: Final = quantity(_metered, "320 lx", limits=not_below_zero(""))
_KILOVOLT: Final = Limits(lambda volts: volts <= 1000.0, "at most 1000 V")
_KILOAMPERE: Final = Limits(lambda amperes: amperes <= 1000.0, "at most 1000 A")
VOLTAGE: Final = quantity(units.parse_voltage, "230 V", limits=_KILOVOLT)
CURRENT: Final = quantity(units.parse_current, "16 A", limits=_KILOAMPERE)


def angle_between(low_deg: float, high_deg: float, example: str) -> Value[Quantity]:
    """An angle from low to high, in degrees."""
    low_rad, high_rad = math.radians(low_deg) - 1e-9, math.radians(high_deg) + 1e-9
    told = f"{low_deg:g} deg to {high_deg:g} deg"
    limits = Limits(lambda angle_rad: low_rad <= angle_rad <= high_rad, told)
    return quantity(units.parse_angle, example, limits=limits)


TWO_SIDES: Final = list_of(
    size("90 cm"), least=2, most=2, parts="width and height", example="[90 cm, 60 cm]"
)
THREE_SIDES: Final = list_of(
    size("0.7 m"),
    least=3,
    most=3,
    parts="its sides along x, y and up",
    example="[1.8 m, 0.7 m, 0.9 m]",
)
PLAN_POINT: Final = list_of(
    length("1.2 m"), least=2, most=2, parts="x and y", example="[1.2 m, 3 m]"
)
PANES: Final = list_of(
    whole(1, 50, "2"), least=2, most=2, parts="columns and rows of panes", example="[2, 3]"
)
_TINT: Final = list_of(
    number(0.0, math.inf, "1.25"),
    least=3,
    most=3,
    parts="red, green and blue",
    example="[1.25, 0.95, 0.75]",
)


def _tint(cursor: Cursor) -> tuple[float, ...]:
    tint = _TINT.read(cursor)
    if not any(tint):
        raise cursor.fault("a tint needs at least one channel above 0", found="[0, 0, 0]")
    return tint


TINT: Final = Value(_tint, _TINT.example, _TINT.schema)
