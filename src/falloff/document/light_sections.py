"""What may be written of lights: fixtures, practicals, beam profiles and the house's power."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Final, TypeAlias

from falloff.document import records
from falloff.document.cursor import Cursor
from falloff.document.forms import Forms, map_of, variant
from falloff.document.placing import AIM, PLACE
from falloff.document.quantities import CURRENT, TWO_SIDES, VOLTAGE
from falloff.document.values import (
    ANGLE,
    COLOUR,
    FLAG,
    FLUX,
    POWER,
    Key,
    Value,
    group,
    group_schema,
    list_of,
    may,
    need,
    number,
    read_keys,
    reference,
    size,
    text_value,
)

_GIVES_LIGHT: Final[dict[str, Key]] = {
    "output": need(FLUX, "all the light that leaves it at 100 %"),
    "colour": need(COLOUR),
    "power": may(POWER, "electrical"),
    "circuit": may(reference("circuit", "A"), "of the house's power"),
}
_BROUGHT: Final[dict[str, Key]] = {
    **_GIVES_LIGHT,
    "at": need(PLACE, "the centre of its front"),
    "aim": need(AIM),
    "stand": may(FLAG, "whether its stand is drawn and blocks light"),
    "outside": may(FLAG, "whether it stands outside and shines in through an opening"),
}
_PANEL: Final[dict[str, Key]] = {
    "size": need(TWO_SIDES),
    "depth": may(size("4 cm"), "4 cm if left out"),
}

# Fixtures --------------------------------------------------------------------------------

_FIXTURE_FORMS: Final = Forms(
    "light",
    {
        "soft box": {"size": need(TWO_SIDES), "depth": need(size("45 cm")), **_BROUGHT},
        "panel": _PANEL | _BROUGHT,
        "book light": {
            "size": need(TWO_SIDES, "of cloth and board"),
            "opening": may(size("90 cm"), "how far the two stand apart at the open side"),
            **_BROUGHT,
        },
        "open face": {
            "profile": need(reference("profile", "open-face flood")),
            "aperture": need(size("12 cm"), "diameter of its mouth"),
            **_BROUGHT,
        },
    },
)
_FIXTURE: Final = variant(_FIXTURE_FORMS, "a fixture", "{light: soft box, ...}")
_Light: TypeAlias = type[
    records.SoftBox | records.LightPanel | records.BookLight | records.OpenFace
]
_LIGHTS: Final[dict[str, tuple[_Light, tuple[str, ...]]]] = {
    "soft box": (records.SoftBox, ("size", "depth")),
    "panel": (records.LightPanel, ("size", "depth")),
    "book light": (records.BookLight, ("size", "opening")),
    "open face": (records.OpenFace, ("profile", "aperture")),
}


def _fixture(cursor: Cursor) -> records.Fixture:
    word, values = _FIXTURE.read(cursor)
    light, keys = _LIGHTS[word]
    own = {key: values.pop(key) for key in keys if key in values}
    return records.Fixture(light=light(**own), **values)


FIXTURE_VALUE: Final = Value(_fixture, _FIXTURE.example, _FIXTURE.schema)

# Practicals ------------------------------------------------------------------------------

_PRACTICAL_FORMS: Final = Forms(
    "light",
    {
        "globe": {
            "diameter": need(size("12 cm")),
            **_GIVES_LIGHT,
            "at": need(PLACE, "its centre"),
        },
        "panel": _PANEL
        | _GIVES_LIGHT
        | {"at": need(PLACE, "the centre of its front"), "aim": need(AIM)},
    },
)
_PRACTICAL: Final = variant(_PRACTICAL_FORMS, "a practical", "{light: globe, ...}")


def _practical(cursor: Cursor) -> records.Practical:
    word, values = _PRACTICAL.read(cursor)
    if word == "globe":
        return records.Practical(light=records.Globe(values.pop("diameter")), **values)
    own = {key: values.pop(key) for key in ("size", "depth") if key in values}
    return records.Practical(light=records.LightPanel(**own), **values)


PRACTICAL_VALUE: Final = Value(_practical, _PRACTICAL.example, _PRACTICAL.schema)

# Beam profiles ---------------------------------------------------------------------------

_PROFILE: Final[dict[str, Key]] = {
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


def _profile(cursor: Cursor) -> records.Profile:
    values = read_keys(cursor, _PROFILE, "a profile")
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


PROFILE_VALUE: Final = Value(_profile, "{angles: ...}", group_schema(_PROFILE))

# House power -----------------------------------------------------------------------------

_CIRCUIT: Final[dict[str, Key]] = {
    "breaker": need(CURRENT),
    "sockets": may(text_value("by the door"), "where they are, in words"),
}
_HOUSE_POWER: Final[dict[str, Key]] = {
    "supply": need(VOLTAGE),
    "circuits": may(map_of(group(records.Circuit, _CIRCUIT, "a circuit", "{breaker: 16 A}"))),
}
HOUSE_POWER_VALUE: Final = group(
    records.HousePower, _HOUSE_POWER, "house power", "{supply: 230 V, circuits: ...}"
)
