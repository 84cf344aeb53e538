"""Readers of single values: each knows how to read, how to show itself, and its JSON Schema.

A `Value` is the one statement of what may stand at a key; the reader, the messages and the
schema for editors all come from it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from falloff import units
from falloff.document.cursor import Cursor, Unread, WantedKind, nearest_fix
from falloff.document.records import Quantity

T = TypeVar("T")
Schema = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Value(Generic[T]):
    """What may stand at a key: its reader, an example of it as written, and its JSON Schema."""

    read: Callable[[Cursor], T]
    example: str
    schema: Schema


@dataclass(frozen=True, slots=True)
class Limits:
    """A range in SI, and how it is told."""

    allowed: Callable[[float], bool]
    told: str


def above_zero(unit: str) -> Limits:
    """More than nothing."""
    return Limits(lambda value: value > 0.0, f"more than 0 {unit}".rstrip())


def not_below_zero(unit: str) -> Limits:
    """Nothing or more."""
    return Limits(lambda value: value >= 0.0, f"0 {unit} or more".replace("  ", " "))


LONGEST_M = 10_000.0  # nothing in a scene is longer or farther; larger is a slip of the pen
_HOLDABLE = Limits(lambda value: abs(value) <= LONGEST_M, "at most 10 km")


def _both(first: Limits | None, second: Limits) -> Limits:
    if first is None:
        return second
    allowed = first.allowed
    return Limits(
        lambda value: allowed(value) and second.allowed(value), f"{first.told}, {second.told}"
    )


# Quantities ------------------------------------------------------------------------------


def quantity(
    parse: Callable[[object], float], example: str, *, limits: Limits | None = None
) -> Value[Quantity]:
    """A number with its unit, read by one of the functions of `units`."""

    def read(cursor: Cursor) -> Quantity:
        text = _scalar(cursor, f"a value such as {example}", f"write it like {example}")
        try:
            value = parse(_bare_or_text(cursor, text))
        except units.UnitFault as error:
            fault = error.fault
            raise cursor.fault(
                fault.what, expected=fault.expected, found=fault.found, fix=fault.fix
            ) from None
        if limits is not None and not limits.allowed(value):
            raise cursor.fault("out of range", expected=limits.told, found=text)
        return Quantity(float(value), text)

    description = f"a number with its unit, such as {example}"
    if limits is not None:
        description += f"; {limits.told}"
    schema = {"type": "string", "description": description, "examples": [example]}
    return Value(read, example, schema)


def length(example: str, *, limits: Limits | None = None) -> Value[Quantity]:
    """A length in metres, at most LONGEST_M either way, and limited further where asked."""
    return quantity(units.parse_length, example, limits=_both(limits, _HOLDABLE))


def size(example: str) -> Value[Quantity]:
    """A length above nothing."""
    return length(example, limits=above_zero("m"))


ANGLE = quantity(units.parse_angle, "30 deg")
COLOUR = quantity(
    units.parse_temperature,
    "5600 K",
    limits=Limits(lambda kelvin: 1000.0 <= kelvin <= 25000.0, "1000 K to 25000 K"),
)
FLUX = quantity(units.parse_flux, "6200 lm", limits=above_zero("lm"))
POWER = quantity(units.parse_power, "300 W", limits=not_below_zero("W"))
DIM = quantity(
    units.parse_fraction, "60 %", limits=Limits(lambda dim: 0.0 <= dim <= 1.0, "0 % to 100 %")
)


def fps_value() -> Value[Quantity]:
    """A frame rate, the one quantity that may stand without its unit."""
    value = quantity(units.parse_fps, "24 fps")
    return Value(value.read, value.example, value.schema | {"type": ["string", "number"]})


# Plain scalars ---------------------------------------------------------------------------


def number(low: float, high: float, example: str, *, above_low: bool = False) -> Value[float]:
    """A pure number from low to high (above low where so marked)."""
    start = f"above {low:g}" if above_low else f"from {low:g}"
    ends = {(False, True): "a number", (True, True): f"a number {start}"}
    told = ends.get((low > -math.inf, high == math.inf), f"a number {start} to {high:g}")

    def read(cursor: Cursor) -> float:
        text = _scalar(cursor, told, f"write it like {example}")
        if cursor.node.kind != "number":
            fix = f"write it without a unit, like {example}"
            raise cursor.fault("this is no pure number", expected=told, found=text, fix=fix)
        value = _float(text)
        if not math.isfinite(value):
            raise cursor.fault("this is no finite number", expected=told, found=text)
        if not low <= value <= high or (above_low and value == low):
            raise cursor.fault("out of range", expected=told, found=text)
        return value

    schema: Schema = {"type": "number"}
    if low > -math.inf:
        schema["exclusiveMinimum" if above_low else "minimum"] = low
    if high < math.inf:
        schema["maximum"] = high
    return Value(read, example, schema)


def whole(low: int, high: int, example: str) -> Value[int]:
    """A count from low to high."""
    told = f"a whole number from {low} to {high}"

    def read(cursor: Cursor) -> int:
        text = _scalar(cursor, told, f"write it like {example}")
        if not re.fullmatch(r"[+-]?[0-9]{1,9}", text):
            raise cursor.fault("this is no whole number", expected=told, found=text)
        if not low <= int(text) <= high:
            raise cursor.fault("out of range", expected=told, found=text)
        return int(text)

    return Value(read, example, {"type": "integer", "minimum": low, "maximum": high})


def text_value(example: str, what: str = "a text") -> Value[str]:
    """Any text that is not empty; numbers count as text."""

    def read(cursor: Cursor) -> str:
        text = _scalar(cursor, what, f"write it like {example}")
        if any("\ud800" <= character <= "\udfff" for character in text):
            raise cursor.fault("half a character", expected=what, found=ascii(text))
        return text

    return Value(read, example, {"type": ["string", "number"], "minLength": 1})


def reference(kind: WantedKind, example: str) -> Value[str]:
    """The name of something else, looked up when the whole document is read."""
    text = text_value(example, "a name")

    def read(cursor: Cursor) -> str:
        name = text.read(cursor)
        cursor.wants(kind, name)
        return name

    return Value(read, example, text.schema)


def choice(of: Iterable[str], what: str) -> Value[Any]:
    """One of a few words."""
    words = tuple(of)

    def read(cursor: Cursor) -> str:
        text = _scalar(cursor, " or ".join(words), f"write {words[0]}")
        if text not in words:
            fix = nearest_fix(text, words)
            raise cursor.fault(f"unknown {what} {text!r}", expected=" or ".join(words), fix=fix)
        return text

    return Value(read, words[0], {"enum": list(words)})


def _flag(cursor: Cursor) -> bool:
    text = _scalar(cursor, "true or false", "write true or false")
    if text.lower() not in {"true", "false"}:
        raise cursor.fault("this is neither true nor false", expected="true or false", found=text)
    return text.lower() == "true"


FLAG = Value(_flag, "true", {"type": "boolean"})


# Lists and groups ------------------------------------------------------------------------


def list_of(
    value: Value[T], *, least: int, most: int, parts: str, example: str
) -> Value[tuple[T, ...]]:
    """A list of so many values; `parts` says what they are, such as "width and height"."""

    def read(cursor: Cursor) -> tuple[T, ...]:
        if cursor.node.kind != "list":
            found, fix = cursor.node.called(), f"write it like {example}"
            raise cursor.fault(f"{parts} are needed", expected="a list", found=found, fix=fix)
        items = cursor.items()
        if not least <= len(items) <= most:
            counted = str(least) if least == most else f"{least} to {most}"
            raise cursor.fault(
                f"{parts} are needed",
                expected=f"{counted} values",
                found=f"{len(items)}",
                fix=f"write it like {example}",
            )
        return tuple(read_all([(value, item) for item in items]))

    schema: Schema = {"type": "array", "items": value.schema}
    schema |= {"minItems": least, "maxItems": most}
    return Value(read, example, schema)


def read_all(wanted: Iterable[tuple[Value[T], Cursor]]) -> list[T]:
    """Read every one, gathering faults, and only then give up if one failed."""
    values: list[T] = []
    failed: Unread | None = None
    for value, cursor in wanted:
        try:
            values.append(value.read(cursor))
        except Unread as unread:
            failed = unread
    if failed is not None:
        raise failed
    return values


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a group: its value and whether it must be there; `into` names the field."""

    value: Value[Any]
    required: bool = True
    into: str = ""
    about: str = ""


def need(value: Value[Any], about: str = "", *, into: str = "") -> Key:
    """A key that must be written."""
    return Key(value, True, into, about)


def may(value: Value[Any], about: str = "", *, into: str = "") -> Key:
    """A key that may be left out."""
    return Key(value, False, into, about)


def read_keys(
    cursor: Cursor, keys: Mapping[str, Key], of: str, *, entries: dict[str, Cursor] | None = None
) -> dict[str, Any]:
    """The values of a group's keys by field name, gathering faults; Unread if any failed."""
    entries = cursor.entries() if entries is None else entries
    before = len(cursor.gathered.faults)
    meant = cursor.refuse_unknown(entries, keys, of)
    for name, key in keys.items():
        if key.required and name not in entries and name not in meant:
            cursor.fault(f"{of} needs {name!r}", fix=f"add `{name}: {key.value.example}`")
    values: dict[str, Any] = {}
    for name, one in entries.items():
        if name in keys:
            try:
                values[keys[name].into or name] = keys[name].value.read(one)
            except Unread:
                continue
    if len(cursor.gathered.faults) > before:
        raise Unread
    return values


def group(build: Callable[..., T], keys: Mapping[str, Key], of: str, example: str) -> Value[T]:
    """A group of fixed keys that builds one record."""

    def read(cursor: Cursor) -> T:
        return build(**read_keys(cursor, keys, of))

    return Value(read, example, group_schema(keys))


def group_schema(keys: Mapping[str, Key], **fixed: str) -> Schema:
    """The JSON Schema of a group; `fixed` are keys that hold one word."""
    properties: Schema = {name: {"const": word} for name, word in fixed.items()}
    for name, key in keys.items():
        about = {"description": key.about} if key.about else {}
        properties[name] = key.value.schema | about
    required = [*fixed, *(name for name, key in keys.items() if key.required)]
    return {
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": False,
    }


# Parts -----------------------------------------------------------------------------------


def _scalar(cursor: Cursor, expected: str, fix: str) -> str:
    """The text of a single value; a fault where nothing, a list or a group stands."""
    text = cursor.node.value.strip()
    if cursor.node.kind in {"list", "map", "nothing"} or not text:
        found = cursor.node.called() or "nothing"
        raise cursor.fault("a single value is needed", expected=expected, found=found, fix=fix)
    return text


def _bare_or_text(cursor: Cursor, text: str) -> object:
    """The text, unless a bare number stands there whose quotes would have mattered."""
    if cursor.node.kind != "number":
        return text
    value = _float(text)
    if not math.isfinite(value):
        what = "this is no finite number"
        raise cursor.fault(what, expected="a number with its unit", found=text)
    return int(value) if value.is_integer() and "." not in text else value


def _float(text: str) -> float:
    """A YAML number: decimal, 0x1F, 0o17, 0b11 or .inf; NaN where it is written oddly."""
    plain = text.replace("_", "").lower()
    named = {".inf": math.inf, "+.inf": math.inf, "-.inf": -math.inf, ".nan": math.nan}
    if plain in named:
        return named[plain]
    try:
        return (
            float(int(plain, 0))
            if plain.lstrip("+-").startswith(("0x", "0o", "0b"))
            else float(plain)
        )
    except (ValueError, OverflowError):
        return math.nan
