"""From what a file says, in handy units, to an item's record in SI; every fault, not the first."""

from __future__ import annotations

import difflib
import functools
import math
import types
import typing
from collections.abc import Callable
from typing import Any, Final

import msgspec

from falloff import units
from falloff.errors import Fault
from falloff.kit.catalogue.beams import AGREE_STOPS, disagreement_stops
from falloff.kit.catalogue.dimming import curve_faults
from falloff.kit.catalogue.records import Fixture, Item, Lens, Stand
from falloff.kit.catalogue.wanted import as_written, wrong_value

_JOULES_PER_WATT_HOUR: Final = 3600.0

# Endings that a file may use in place of the record's, and what turns the number into SI.
_ENDINGS: Final[dict[str, tuple[str, Callable[[float], float]]]] = {
    "deg": ("rad", lambda value: units.parse_angle(f"{value!r} deg")),
    "ft": ("m", lambda value: units.parse_length(f"{value!r} ft")),
    "in": ("m", lambda value: units.parse_length(f"{value!r} in")),
    "cm": ("m", lambda value: units.parse_length(f"{value!r} cm")),
    "mm": ("m", lambda value: units.parse_length(f"{value!r} mm")),
    "mm2": ("m2", lambda value: value / 1e6),
    "fc": ("lux", units.lux_from_footcandles),
    "percent": ("share", lambda value: value / 100.0),
    "density": ("stops", units.stops_from_density),
    "wh": ("j", lambda value: value * _JOULES_PER_WATT_HOUR),
    "min": ("s", lambda value: value * 60.0),
}


def read_record(
    cls: type[msgspec.Struct], raw: dict[str, Any], *, where: str, whole: bool = True
) -> tuple[dict[str, Any], list[Fault]]:
    """Fields of a record, in SI, from a table's keys; and a fault for each that cannot be read.

    A key may end in a handy unit: beam_angle_deg for beam_angle_rad, width_ft or width_cm for
    width_m. whole: what has no default must be there. `where` names the table in the faults, each
    of which says its own key after it: "panel.power_w".
    """
    known = _fields(cls)
    found: dict[str, Any] = {}
    said: set[str] = set()
    faults: list[Fault] = []
    for key, value in raw.items():
        name, turn = _field_of(key, known)
        at = f"{where}.{key}"
        if name is None:
            faults.append(_unknown_key(at, key, list(known)))
        elif name in said:
            faults.append(_twice(at, name))
        else:
            said.add(name)
            read, wrong = _value(known[name].type, value, turn, where=at)
            faults += wrong
            found |= {} if wrong else {name: read}
    if whole:
        faults += [
            Fault(what=f"{name} is missing", where=where, expected=f"a value for {name}",
                  fix=f"add {name} = ...")
            for name, one in known.items()
            if name not in said and one.required
        ]  # fmt: skip
    return found, faults


def build_item(cls: type[Item], fields: dict[str, Any]) -> Item:
    """The record of fields that were read without a fault."""
    return cls(**fields)


def item_faults(item: Item, *, where: str) -> list[Fault]:
    """What no single figure shows: figures of one item that contradict each other."""
    faults: list[Fault] = []
    names = set(_fields(type(item)))
    for table in ("provenance_of", "spread_of"):
        faults += [
            _unknown_key(f"{where}.{table}.{key}", key, sorted(names))
            for key in getattr(item, table)
            if key not in names
        ]
    if isinstance(item, Fixture):
        faults += _fixture_faults(item, where)
    if isinstance(item, Lens) and item.focal_low_m > item.focal_high_m:
        faults.append(_order(where, "focal_low_m", "focal_high_m"))
    if isinstance(item, Stand) and item.lowest_m > item.highest_m:
        faults.append(_order(where, "lowest_m", "highest_m"))
    return faults


def _fixture_faults(item: Fixture, where: str) -> list[Fault]:
    faults = [
        Fault(what=one.what, where=f"{where}.dim", expected=one.expected, found=one.found,
              fix=one.fix)
        for one in curve_faults(item.dim)
    ]  # fmt: skip
    if not item.kelvin_low <= item.kelvin <= item.kelvin_high:
        faults.append(_order(where, "kelvin_low, kelvin", "kelvin_high"))
    if not item.beams:
        faults.append(Fault(what="a fixture needs a beam", where=f"{where}.beams"))
    for beam in item.beams:
        off = disagreement_stops(beam)
        if abs(off) > AGREE_STOPS:
            faults.append(
                Fault(
                    what=f"the beam {beam.name!r} contradicts itself by {abs(off):.1f} stops",
                    where=f"{where}.beams",
                    expected="flux, axis intensity and beam angle that agree within half a stop",
                    found=f"{beam.flux_lm:g} lm, {beam.axis_cd:g} cd, "
                    f"{math.degrees(beam.beam_angle_rad):.0f} deg",
                    fix="give the two that were measured, and the third to fit",
                )
            )
    return faults


@functools.cache
def _fields(cls: type[msgspec.Struct]) -> dict[str, Any]:
    """Fields of a record by their names; looked up once, since it takes a while."""
    return {one.name: one for one in msgspec.structs.fields(cls)}


def _field_of(
    key: str, known: dict[str, Any]
) -> tuple[str | None, Callable[[float], float] | None]:
    """The record's field that a key means, and what turns its number into SI."""
    if key in known:
        return key, None
    stem, _, ending = key.rpartition("_")
    if ending in _ENDINGS:
        si, turn = _ENDINGS[ending]
        if f"{stem}_{si}" in known:
            return f"{stem}_{si}", turn
    return None, None


def _value(
    kind: object, value: object, turn: Callable[[float], float] | None, *, where: str
) -> tuple[Any, list[Fault]]:
    """One value as its field wants it, or faults."""
    record, many = _record_in(kind)
    if record is not None:
        return _records(record, many=many, value=value, where=where)
    faults = _not_finite(value, where)
    if faults:
        return None, faults
    if turn is not None:
        if isinstance(value, bool) or not isinstance(value, int | float):
            return None, [wrong_value(float, value, where=where)]
        value = turn(float(value))
    try:
        return msgspec.convert(value, kind), []
    except msgspec.ValidationError:
        return None, [wrong_value(kind, value, where=where)]


def _records(
    record: type[msgspec.Struct], *, many: bool, value: object, where: str
) -> tuple[Any, list[Fault]]:
    """A record, or a list of them, read each by its own keys."""
    tables = value if many else [value]
    if not isinstance(tables, list) or not all(isinstance(one, dict) for one in tables):
        name = where.rpartition(".")[2]
        kind, fix = ("a list of tables", "[{...}]") if many else ("a table", "{...}")
        return None, [Fault(what=f"{name} is to be {kind}", where=where, expected=kind,
                            found=as_written(value), fix=f"write {name} = {fix}")]  # fmt: skip
    made, faults = [], []
    for one in tables:
        fields, wrong = read_record(record, one, where=where)
        faults += wrong
        if not wrong:
            made.append(record(**fields))
    if many:
        return tuple(made), faults
    return (made[0] if made else None), faults


def _record_in(kind: object) -> tuple[type[msgspec.Struct] | None, bool]:
    """The record that a field holds, and whether it holds many."""
    if isinstance(kind, type) and issubclass(kind, msgspec.Struct):
        return kind, False
    inner = typing.get_args(kind)
    if typing.get_origin(kind) in (types.UnionType, typing.Union):
        return next((found for found in map(_record_in, inner) if found[0]), (None, False))
    if typing.get_origin(kind) is tuple and inner and _record_in(inner[0])[0]:
        return inner[0], True
    return None, False


def _not_finite(value: object, where: str) -> list[Fault]:
    if isinstance(value, dict | list):
        parts = list(value.values()) if isinstance(value, dict) else value
        return next((found for part in parts if (found := _not_finite(part, where))), [])
    if isinstance(value, float) and not math.isfinite(value):
        return [_not_a_number(where, value)]
    return []


def _not_a_number(where: str, value: object) -> Fault:
    return Fault(what="this is no number", where=where, expected="a finite number",
                 found=as_written(value), fix="write it in figures")  # fmt: skip


def _unknown_key(where: str, key: str, known: list[str]) -> Fault:
    near = difflib.get_close_matches(key, known, n=1)
    return Fault(
        what=f"{key!r} is not known here",
        where=where,
        expected="one of " + ", ".join(known),
        found=key,
        fix=f"did you mean {near[0]!r}?" if near else "leave it out",
    )


def _twice(where: str, name: str) -> Fault:
    return Fault(what=f"{name} is said twice", where=where, fix="keep one of the two")


def _order(where: str, low: str, high: str) -> Fault:
    return Fault(what=f"{low} must not be above {high}", where=where, fix="swap them")
