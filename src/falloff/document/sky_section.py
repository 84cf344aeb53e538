"""What may be written of the sky and the sun."""

from __future__ import annotations

from typing import Any, Final

from falloff import units
from falloff.document import records
from falloff.document.clock_values import DATE_AND_CLOCK
from falloff.document.cursor import Cursor, Unread, nearest_fix
from falloff.document.light_values import LUMINANCE
from falloff.document.quantities import SHARE_OF_LIGHT, angle_between
from falloff.document.values import (
    ANGLE,
    COLOUR,
    Key,
    Value,
    group,
    group_schema,
    may,
    need,
    not_below_zero,
    number,
    quantity,
    read_keys,
    reference,
)

_ILLUMINANCE: Final = quantity(units.parse_illuminance, "12000 lx", limits=not_below_zero("lx"))
SKY_WORDS: Final = ("overcast", "broken cloud", "thin cloud", "clear", "uniform")
# These have no light of their own until an hour says where the sun stands.
_BY_HOUR: Final = ("broken cloud", "thin cloud")
_NUMBERS: Final = tuple(str(kind) for kind in range(1, 16))
# Of ISO 15469's kinds, those whose luminance hangs on where the sun stands.
_BY_SUN: Final = frozenset({"clear", *_NUMBERS}) - {"1", "3", "5"}


def has_sun(word: str) -> bool:
    """Whether the sun's disc may be seen through a sky of this type, in words or as a number."""
    return word not in _HIDES_SUN


def _type(cursor: Cursor) -> str:
    text = cursor.node.value.strip() if cursor.node.kind in {"text", "number"} else ""
    if text not in {*SKY_WORDS, *_NUMBERS}:
        expected = f"{', '.join(SKY_WORDS)}, or 1 to 15 as in ISO 15469"
        what = f"unknown sky {text!r}" if text else "a word or a number is needed"
        raise cursor.fault(what, expected=expected, fix=nearest_fix(text, SKY_WORDS))
    return text


_TYPE: Final = Value(_type, "overcast", {"enum": [*SKY_WORDS, *_NUMBERS, *range(1, 16)]})
_SUN: Final[dict[str, Key]] = {
    "altitude": may(
        angle_between(0.0, 90.0, "35 deg"), "above the horizon; or give the sky's `at`"
    ),
    "azimuth": may(angle_between(-360.0, 360.0, "200 deg"), "clockwise from north"),
    "illuminance": may(
        quantity(units.parse_illuminance, "80000 lx", limits=not_below_zero("lx")),
        "of a plane that faces it; from its altitude and the turbidity if left out",
    ),
    "turbidity": may(
        number(1.0, 20.0, "3"), "of the air: 2 clean, 3 usual, 6 hazy; 3; with `at` 10 at most"
    ),
    "colour": may(COLOUR, "by the hour if left out, 5400 K where there is none"),
}
_AT_GLASS: Final[dict[str, Key]] = {
    "opening": need(reference("opening", "WINDOW"), "before which the meter stood outside"),
    "reads": need(_ILLUMINANCE, "the meter facing out, without the sun's disc"),
}
# Types through which the disc is not seen: of ISO 15469's, those that go by an overcast word.
_HIDES_SUN: Final = frozenset({"overcast", "uniform", "1", "2", "3", "4", "5", "6"})
HAZIEST_BY_HOUR: Final = 10.0  # turbidity; what is taken of an hour's sun and sky ends there
_LEVELS: Final = ("outside", "zenith", "at_glass")
_SKY: Final[dict[str, Key]] = {
    "type": need(_TYPE, "in words, or its number in ISO 15469"),
    "at": may(DATE_AND_CLOCK, "date and time by the location's clock"),
    "read_at": may(DATE_AND_CLOCK, "when its reading was taken; at its hour if left out"),
    "outside": may(_ILLUMINANCE, "horizontal illuminance under the open sky, the sun shaded off"),
    "zenith": may(LUMINANCE, "luminance overhead, in place of outside"),
    "at_glass": may(
        group(
            records.AtGlass, _AT_GLASS, "a reading at the glass", "{opening: WINDOW, reads: ...}"
        ),
        "a reading before an opening, in place of outside",
    ),
    "sun": may(group(records.Sun, _SUN, "the sun", "{altitude: 35 deg, azimuth: 200 deg}")),
    "north": may(ANGLE, "on the plan, counter-clockwise from +x; 90 deg if left out"),
    "colour": may(COLOUR, "by the hour if left out, 6500 K where there is none"),
    "ground": may(SHARE_OF_LIGHT, "reflectance of the ground outside; 0.2 if left out"),
}


def _sky(cursor: Cursor) -> records.Sky:
    entries = cursor.entries()
    given = [key for key in _LEVELS if key in entries]
    failed: Unread | None = None
    if not given and "at" not in entries:
        fix = "add `outside: 12000 lx`, or `at: 2026-06-21 15:40` with a location"
        failed = cursor.fault("the sky needs 'outside'", fix=fix)
    elif len(given) > 1:
        what = f"the sky's strength is said twice: by {given[0]} and by {given[1]}"
        failed = entries[given[1]].fault(what, fix="keep the reading you trust")
    values = read_keys(cursor, _SKY, "the sky", entries=entries)
    if failed is not None:
        raise failed
    kind = values["type"]
    if kind == "overcast" and "sun" in values:
        what = "no sun is seen through an overcast sky"
        raise entries["sun"].fault(what, fix="take `sun` out, or write type: clear")
    if "at" not in values and "read_at" in values:
        fix = "write it as the sky's `at`, with a location"
        raise entries["read_at"].fault("this sky has no hour but that of its reading", fix=fix)
    if "at" not in values:
        _check_sun(cursor, kind, values.get("sun"), entries)
    elif "read_at" in values and not given and not _read_sun(values.get("sun")):
        raise entries["read_at"].fault("no reading is written here", fix="take `read_at` out")
    elif (sun := values.get("sun")) is not None and (sun.altitude or sun.azimuth):
        what = "where the sun stands is said twice: by `at` and by its altitude or azimuth"
        raise entries["sun"].fault(what, fix="take altitude and azimuth out, or take `at` out")
    elif sun is not None and sun.turbidity > HAZIEST_BY_HOUR:
        raise (
            entries["sun"]
            .entries()["turbidity"]
            .fault(
                "the light of an hour is not known in air that hazy",
                expected=f"a number from 1 to {HAZIEST_BY_HOUR:g} in a sky with `at`",
                found=f"{sun.turbidity:g}",
                fix="6 is hazy; or meter the sun and write its illuminance",
            )
        )
    return records.Sky(**values)


def _read_sun(sun: records.Sun | None) -> bool:
    return sun is not None and sun.illuminance is not None


def _check_sun(
    cursor: Cursor, kind: str, sun: records.Sun | None, entries: dict[str, Cursor]
) -> None:
    """Raise for a sky without an hour that hangs on a sun which is not placed."""
    if kind in _BY_HOUR:
        fix = "add `at: 2026-06-21 15:40` and a location, or write clear or overcast"
        raise cursor.fault(f"how light a sky of {kind} is hangs on the hour", fix=fix)
    if kind in _BY_SUN and sun is None:
        fix = "add `at:` with a location, or `sun: {altitude: 35 deg, azimuth: 200 deg}`"
        raise cursor.fault(f"a sky of type {kind} hangs on where the sun stands", fix=fix)
    if sun is not None and (sun.altitude is None or sun.azimuth is None):
        missing = "altitude" if sun.altitude is None else "azimuth"
        fix = "add it, or write the sky's `at` and a location"
        raise entries["sun"].fault(f"the sun needs {missing!r}", fix=fix)


def _schema() -> dict[str, Any]:
    either = [{"required": [key]} for key in (*_LEVELS, "at")]
    return group_schema(_SKY) | {"anyOf": either}


SKY_VALUE: Final = Value(_sky, "{type: overcast, outside: 12000 lx}", _schema())
