"""What may be written of targets: one kind by the key that says what is asked."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from falloff.document import records
from falloff.document.cursor import Cursor, Unread, listed
from falloff.document.quantities import METERED, STOPS, STOPS_ABOVE_ZERO, angle_between
from falloff.document.records import AnyTarget, Quantity
from falloff.document.values import (
    COLOUR,
    FLAG,
    Key,
    Schema,
    Value,
    choice,
    group_schema,
    list_of,
    may,
    need,
    number,
    read_keys,
    reference,
)

A_READING: Final = reference("reading", "key cheek")


def _counted(unit: str, example: str, *, least: float, most: float) -> Value[float]:
    """A number of a unit that has no other name, such as 30 mired."""
    told = f"{least:g} {unit} to {most:g} {unit}"
    form = re.compile(rf"([+\-\u2212]?[0-9]{{1,4}}(?:\.[0-9]{{1,6}})?)\s*{unit}")

    def read(cursor: Cursor) -> float:
        text = cursor.node.value.strip()
        found = form.fullmatch(text)
        if found is None:
            raise cursor.fault(
                f"this is no number of {unit}",
                expected=told,
                found=cursor.node.called() or "nothing",
                fix=f"write it like {example}",
            )
        value = float(found[1].replace("\u2212", "-"))
        if not least <= value <= most:
            raise cursor.fault("out of range", expected=told, found=text)
        return value

    return Value(read, example, {"type": "string", "description": told, "examples": [example]})


_MIRED: Final = _counted("mired", "30 mired", least=1.0, most=500.0)
_GREEN: Final = _counted("CC", "0 CC", least=-100.0, most=100.0)
_GREEN_NEAR: Final = _counted("CC", "10 CC", least=1.0, most=100.0)
_RATIO: Final = re.compile(r"([0-9]{1,5}(?:\.[0-9]{1,6})?)\s?:\s?([0-9]{1,5}(?:\.[0-9]{1,6})?)")
KEY_AND_FILL: Final = "key and fill to fill"
KEY_ALONE: Final = "key to fill"


def _ratio(cursor: Cursor) -> Quantity:
    """A ratio as written, its number as its value."""
    text = cursor.node.value.strip()
    found = _RATIO.fullmatch(text)
    if found is None or float(found[1]) == 0.0 or float(found[2]) == 0.0:
        raise cursor.fault(
            "this is no ratio",
            expected="one number to another, both above 0",
            found=cursor.node.called() or "nothing",
            fix="write it like 4:1",
        )
    return Quantity(float(found[1]) / float(found[2]), text)


def _kept(cursor: Cursor) -> bool:
    if not FLAG.read(cursor):
        raise cursor.fault("what is not to be kept is no target", fix="take the target out")
    return True


_COMMON: Final[dict[str, Key]] = {
    "weight": may(number(0.0, math.inf, "2", above_low=True), "1 if left out"),
    "setups": may(
        list_of(
            reference("setup", "WIDE SHOT"),
            least=1,
            most=1000,
            parts="names of setups",
            example="[WIDE SHOT]",
        ),
        "where it is wanted; all of them if left out",
    ),
}
_READING: Final = {"reading": need(A_READING)}
_LIMIT: Final = {
    "limit": may(choice(["equal", "at most", "at least"], "limit"), "equal if left out")
}
_TOLERANCE: Final = {"tolerance": may(STOPS_ABOVE_ZERO, "1/3 stop if left out")}
_GREENS: Final = {
    "green": may(_GREEN, "off the line of hot bodies and daylight; below 0 magenta"),
    "green_tolerance": may(_GREEN_NEAR, "10 CC if left out"),
}
_MIRED_TOLERANCE: Final = {"tolerance": may(_MIRED, "30 mired if left out")}


@dataclass(frozen=True, slots=True)
class _Form:
    """One kind of target: its keys besides those that all have, and its record of their values."""

    keys: Mapping[str, Key]
    build: Callable[[Cursor, dict[str, Any]], AnyTarget]


def _level(cursor: Cursor, values: dict[str, Any]) -> records.Target:
    _against_another(cursor, values)
    return records.Target(**values)


def _ratio_level(cursor: Cursor, values: dict[str, Any]) -> records.Target:
    """4:1 key and fill to fill is 2 stops over the other reading, key to fill log2(4 + 1)."""
    _against_another(cursor, values)
    ratio, of = values.pop("ratio"), values.pop("of")
    times = ratio.si if of == KEY_AND_FILL else ratio.si + 1.0
    return records.Target(level=Quantity(math.log2(times), f"{ratio.text} {of}"), **values)


def _even(cursor: Cursor, values: dict[str, Any]) -> records.EvenTarget:
    one, several = values.pop("reading", None), values.pop("readings", None)
    if (one is None) == (several is None):
        raise cursor.fault(
            "an even target names its readings once",
            expected="readings, or the reading of a walk",
            found="both" if one else "neither",
            fix="write `readings: [key cheek, shadow cheek]`, or `reading:` with a walk's name",
        )
    readings = several or (one,)
    if len(set(readings)) < len(readings):
        twice = next(name for name in readings if readings.count(name) > 1)
        at = cursor.entries()["readings"]
        raise at.fault("a reading is named twice", found=twice, fix="name it once")
    return records.EvenTarget(readings=readings, within=values.pop("even"), **values)


def _colour(cursor: Cursor, values: dict[str, Any]) -> records.ColourTarget:
    _against_another(cursor, values)
    if "green_tolerance" in values and "green" not in values:
        at = cursor.entries()["green_tolerance"]
        raise at.fault("a tolerance of no green", fix="add `green: 0 CC`, or take it out")
    return records.ColourTarget(**values)


def _keep(_: Cursor, values: dict[str, Any]) -> records.KeepTarget:
    values.pop("keep")
    return records.KeepTarget(**values)


def _against_another(cursor: Cursor, values: dict[str, Any]) -> None:
    if values["reading"] == values.get("over"):
        at_key = "" if "mired" in values else ", or leave it out to tell it against key"
        at_key = "" if "ratio" in values else at_key
        alike = "as warm as" if "mired" in values else "level with"
        raise cursor.fault(
            f"a reading is always {alike} itself",
            found=values["reading"],
            fix=f"name another reading at `over`{at_key}",
        )


_FORMS: Final[Mapping[str, _Form]] = {
    "level": _Form(
        _READING
        | {
            "level": need(STOPS, "over key, or over the other reading"),
            "over": may(A_READING, "the reading it is told against; key if left out"),
        }
        | _LIMIT
        | _TOLERANCE,
        _level,
    ),
    "ratio": _Form(
        _READING
        | {
            "ratio": need(
                Value(_ratio, "4:1", {"type": "string", "pattern": f"^{_RATIO.pattern}$"}),
                "of the light at the reading to that at `over`, counted as `of` says",
            ),
            "over": need(A_READING, "the reading of the fill"),
            "of": need(
                choice([KEY_AND_FILL, KEY_ALONE], "way of counting a ratio"),
                "whether the first number holds the fill too",
            ),
        }
        | _LIMIT
        | _TOLERANCE,
        _ratio_level,
    ),
    "value": _Form(
        _READING | {"value": need(METERED, "lx or fc; of a spot cd/m2")} | _LIMIT | _TOLERANCE,
        lambda _, values: records.ValueTarget(**values),
    ),
    "even": _Form(
        {
            "even": need(STOPS_ABOVE_ZERO, "the most over the least"),
            "reading": may(A_READING, "a walk"),
            "readings": may(
                list_of(
                    A_READING,
                    least=1,
                    most=1000,
                    parts="names of readings",
                    example="[key cheek, shadow cheek]",
                ),
            ),
        },
        _even,
    ),
    "colour": _Form(
        _READING | {"colour": need(COLOUR)} | _MIRED_TOLERANCE | _GREENS,
        _colour,
    ),
    "mired": _Form(
        _READING
        | {
            "mired": need(number(-500.0, 500.0, "60"), "more than at `over`: above 0 is warmer"),
            "over": need(A_READING, "the reading that it is told against"),
        }
        | _MIRED_TOLERANCE
        | _GREENS,
        _colour,
    ),
    "hue": _Form(
        _READING
        | {
            "hue": need(
                angle_between(0.0, 360.0, "210 deg"), "h_uv: 10 red, 90 yellow, 135 green, 265 blue"
            ),
            "tolerance": may(angle_between(1.0, 180.0, "15 deg"), "15 deg if left out"),
            "saturation": may(number(0.0, 5.0, "0.3"), "the least s_uv; 0.3 if left out"),
        },
        lambda _, values: records.HueTarget(**values),
    ),
    "keep": _Form(
        _READING
        | {"keep": need(Value(_kept, "true", {"const": True}), "as the scene is written")}
        | _TOLERANCE,
        _keep,
    ),
}


def _target(cursor: Cursor) -> AnyTarget:
    entries = cursor.entries()
    asked = [mark for mark in _FORMS if mark in entries]
    if not asked:
        known = {key for form in _FORMS.values() for key in form.keys} | _COMMON.keys()
        meant = cursor.refuse_unknown(entries, sorted(known), "a target")
        if meant.isdisjoint(_FORMS):
            cursor.fault(
                "a target needs to say what is wanted",
                expected=f"one of {listed(_FORMS)}",
                fix="add `level: 0 stops`",
            )
        raise Unread
    if len(asked) > 1:
        at = entries[asked[1]]
        raise at.fault(
            "a target asks for one thing",
            expected=f"one of {listed(_FORMS)}",
            found=listed(asked),
            fix="write two targets",
        )
    form = _FORMS[asked[0]]
    called = f"a target ({asked[0]})"
    values = read_keys(cursor, {**form.keys, **_COMMON}, called, entries=entries)
    return form.build(cursor, values)


def _schema() -> Schema:
    return {"oneOf": [group_schema({**form.keys, **_COMMON}) for form in _FORMS.values()]}


TARGET_VALUE: Final = Value(_target, "{reading: key cheek, level: 0 stops}", _schema())
