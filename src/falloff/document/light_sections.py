"""What may be written of lights: fixtures, practicals, beam profiles and the house's power."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any, Final

from falloff.document import records
from falloff.document.cursor import Cursor
from falloff.document.forms import Forms, map_of, variant
from falloff.document.light_values import (
    BARNDOORS,
    BEAM_ANGLE,
    CRATE,
    FABRIC,
    GELS,
    LIGHT_COLOUR,
    LUMINANCE,
    MODIFIERS,
    SHUTTERS,
    WAY,
)
from falloff.document.placing import AIM, PLACE
from falloff.document.quantities import CURRENT, TWO_SIDES, VOLTAGE
from falloff.document.values import (
    ANGLE,
    DIM,
    FLAG,
    FLUX,
    POWER,
    Key,
    Value,
    choice,
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
    whole,
)

_OUTPUT_ABOUT: Final = "all the light that leaves it at 100 %, before gels"
_GIVES_LIGHT: Final[dict[str, Key]] = {
    "output": need(FLUX, _OUTPUT_ABOUT),
    "colour": need(LIGHT_COLOUR),
    "power": may(POWER, "electrical"),
    "circuit": may(reference("circuit", "A"), "of the house's power"),
    "gels": may(GELS, "by the kit's names or by their figures"),
    "dimming": may(
        choice(["linear", "square-law", "S-curve"], "dim curve"),
        "from the knob to the light; the kit's own or linear if left out",
    ),
    "warms": may(FLAG, "whether it goes warm when dimmed, as a filament does"),
}
_TOLD_ELSEWHERE: Final = _GIVES_LIGHT | {
    "output": may(FLUX, f"{_OUTPUT_ABOUT}; as the file or the kit says if left out")
}
_AIM_KEY: Final[dict[str, Key]] = {"aim": need(AIM)}
_ROLL: Final[dict[str, Key]] = {
    "roll": may(ANGLE, "about its aim, clockwise as seen from behind it")
}
_STANDS: Final[dict[str, Key]] = {
    "at": need(PLACE, "the centre of its front"),
    "stand": may(FLAG, "whether its stand is drawn and blocks light"),
    "outside": may(FLAG, "whether it stands outside and shines in through an opening"),
}
_BROUGHT: Final[dict[str, Key]] = _GIVES_LIGHT | _STANDS | _AIM_KEY | _ROLL
_FRONT: Final[dict[str, Key]] = {
    "size": need(TWO_SIDES),
    "shape": may(choice(["rectangle", "round", "octagon"], "shape"), "rectangle if left out"),
    "crate": may(CRATE, "an egg crate: its cut-off, or depth over width of its cells"),
}
_PANEL: Final[dict[str, Key]] = _FRONT | {"depth": may(size("4 cm"), "4 cm if left out")}
_TUBE: Final[dict[str, Key]] = {
    "length": need(size("1.2 m")),
    "diameter": need(size("4 cm")),
}
_LENS: Final[dict[str, Key]] = {
    "aperture": need(size("15 cm"), "diameter of its lens"),
    "beam": need(BEAM_ANGLE, "full angle at half intensity"),
}
_DOORS: Final[dict[str, Key]] = {"barndoors": may(BARNDOORS, "opaque leaves round its mouth")}

# Fixtures --------------------------------------------------------------------------------

_FIXTURE_FORMS: Final = Forms(
    "light",
    {
        "soft box": _FRONT | {"depth": need(size("45 cm"))} | _BROUGHT,
        "panel": _PANEL | _BROUGHT,
        "book light": {
            "size": need(TWO_SIDES, "of cloth and board"),
            "opening": may(size("90 cm"), "how far the two stand apart at the open side"),
            **_BROUGHT,
        },
        "open face": {
            "profile": may(reference("profile", "open-face flood"), "or else beam"),
            "beam": may(BEAM_ANGLE, "full angle at half intensity, in place of a profile"),
            "aperture": need(size("12 cm"), "diameter of its mouth"),
            **_DOORS,
            **_BROUGHT,
        },
        "fresnel": _LENS
        | {
            "spot": may(BEAM_ANGLE, "its narrowest beam; 10 deg if left out"),
            "flood": may(BEAM_ANGLE, "its widest beam; 60 deg if left out"),
        }
        | _DOORS
        | _BROUGHT,
        "profile spot": _LENS
        | {
            "edge": may(DIM, "width of its soft edge over half the beam; 0 % if left out"),
            "shutters": may(SHUTTERS, "how far each is in; left and right from behind"),
        }
        | _BROUGHT,
        "tube": _TUBE | _BROUGHT,
        "lantern": {"diameter": need(size("60 cm"))} | _GIVES_LIGHT | _STANDS,
        "file": {
            "file": need(text_value("panel.ies", "a file's name"), "beside the scene"),
            "lamp_set": may(whole(1, 20, "1"), "which set of lamps; the first if left out"),
        }
        | _TOLD_ELSEWHERE
        | _STANDS
        | _AIM_KEY
        | _ROLL,
    },
)
_FIXTURE: Final = variant(_FIXTURE_FORMS, "a fixture", "{light: soft box, ...}")
_KIT: Final[dict[str, Key]] = {
    "kit": need(
        text_value("300 W LED, open face", "a name"), "a fixture of the kit, in place of light"
    ),
    "modifier": may(MODIFIERS, "one of the kit, or a list from the head outward"),
    "beam": may(WAY, "one of its ways of use, or the angle its lens is set to"),
    "size": may(TWO_SIDES, "of its front"),
    "depth": may(size("45 cm"), "of its body"),
    "crate": _FRONT["crate"],
    "edge": may(DIM, "of a profile spot"),
    "shutters": may(SHUTTERS, "of a profile spot"),
    **_DOORS,
    **_TOLD_ELSEWHERE,
    "colour": may(LIGHT_COLOUR, "the kit's own if left out"),
}
_KIT_FIXTURE: Final = _KIT | _STANDS | {"aim": may(AIM, "of all but what shines all round")} | _ROLL
_KIT_FIELDS: Final = (
    "kit",
    "modifier",
    "beam",
    "size",
    "depth",
    "crate",
    "edge",
    "shutters",
    "barndoors",
)
_FORM_RECORDS: Final[dict[str, tuple[Any, tuple[str, ...]]]] = {
    "soft box": (records.SoftBox, ("size", "depth", "shape", "crate")),
    "panel": (records.LightPanel, ("size", "depth", "shape", "crate")),
    "book light": (records.BookLight, ("size", "opening")),
    "open face": (records.OpenFace, ("profile", "aperture", "beam", "barndoors")),
    "fresnel": (records.FresnelLight, ("aperture", "beam", "spot", "flood", "barndoors")),
    "profile spot": (records.ProfileSpotLight, ("aperture", "beam", "edge", "shutters")),
    "tube": (records.TubeLight, ("length", "diameter")),
    "lantern": (records.Lantern, ("diameter",)),
    "file": (records.WebFile, ("file", "lamp_set")),
    "globe": (records.Globe, ("diameter",)),
    "bulb in shade": (records.ShadedBulb, ("shade", "diameter")),
    "screen": (records.Screen, ("size", "depth", "luminance")),
    "candle": (records.Candle, ("diameter",)),
}


def _read_light(
    cursor: Cursor, forms: Value[tuple[str, dict[str, Any]]], kit: dict[str, Key], called: str
) -> dict[str, Any]:
    """The fields of a fixture or a practical, its form built."""
    entries = cursor.entries() if cursor.node.kind == "map" else {}
    if "kit" in entries:
        if "light" in entries:
            fix = "keep `kit` for what the catalogue has, `light` for a form of your own"
            raise entries["light"].fault("a light is of the kit or of a form, not both", fix=fix)
        values = read_keys(cursor, kit, f"{called} (kit)", entries=entries)
        form: Any = records.KitLight
        keys: tuple[str, ...] = _KIT_FIELDS
    else:
        word, values = forms.read(cursor)
        form, keys = _FORM_RECORDS[word]
    own = {key: values.pop(key) for key in keys if key in values}
    _check_form(cursor, form, own, values)
    colour: dict[str, Any] = values.pop("colour", {})
    return {"light": form(**own)} | values | colour


def _check_form(cursor: Cursor, form: Any, own: dict[str, Any], values: dict[str, Any]) -> None:
    """What one key of a form asks of another."""
    if form is records.OpenFace:
        _one_of(cursor, own, ("profile", "beam"), "an open face", "profile: open-face flood")
    if form is records.Screen:
        both = own | {key: one for key, one in values.items() if key == "output"}
        _one_of(cursor, both, ("luminance", "output"), "a screen", "luminance: 250 nit")
    if form is records.FresnelLight:
        light = form(**own)
        if not light.spot.si < light.flood.si:
            found, fix = f"{light.spot.text} and {light.flood.text}", "write the narrower as `spot`"
            raise cursor.fault("its spot is not narrower than its flood", found=found, fix=fix)
        if not light.spot.si - 1e-9 <= light.beam.si <= light.flood.si + 1e-9:
            raise cursor.entries()["beam"].fault(
                "the Fresnel cannot be set to that beam",
                expected=f"{light.spot.text} to {light.flood.text}",
                found=light.beam.text,
                fix="write its own `spot` and `flood`, or stay between them",
            )


def _one_of(
    cursor: Cursor, values: dict[str, Any], keys: tuple[str, str], called: str, example: str
) -> None:
    given = [key for key in keys if key in values]
    if len(given) == 2:
        what = f"{called} has {keys[0]} or {keys[1]}, not both"
        raise cursor.entries()[keys[1]].fault(what, fix="take one of them out")
    if not given:
        what = f"{called} needs {keys[0]!r} or {keys[1]!r}"
        raise cursor.fault(what, fix=f"add `{example}`")


def _fixture(cursor: Cursor) -> records.Fixture:
    return records.Fixture(**_read_light(cursor, _FIXTURE, _KIT_FIXTURE, "a fixture"))


def _with_kit(schema: dict[str, Any], kit: dict[str, Key]) -> dict[str, Any]:
    return {"oneOf": [*schema["oneOf"], group_schema(kit)]}


FIXTURE_VALUE: Final = Value(_fixture, _FIXTURE.example, _with_kit(_FIXTURE.schema, _KIT_FIXTURE))

# Practicals ------------------------------------------------------------------------------

_SHADE: Final = group(
    records.Shade,
    {
        "top": need(size("20 cm"), "diameter"),
        "bottom": need(size("35 cm"), "diameter"),
        "height": need(size("25 cm")),
        "fabric": need(FABRIC, "by the kit's name, or its shares"),
    },
    "a shade",
    "{top: 20 cm, bottom: 35 cm, height: 25 cm, fabric: bleached muslin}",
)
_MIDDLE: Final[dict[str, Key]] = {"at": need(PLACE, "its centre")}
_FRONT_PLACE: Final[dict[str, Key]] = {"at": need(PLACE, "the centre of its front"), **_AIM_KEY}
_PRACTICAL_FORMS: Final = Forms(
    "light",
    {
        "globe": {"diameter": need(size("12 cm")), **_GIVES_LIGHT, **_MIDDLE},
        "panel": _PANEL | _GIVES_LIGHT | _FRONT_PLACE,
        "bulb in shade": {
            "shade": need(_SHADE),
            "diameter": may(size("6 cm"), "of the bulb; 6 cm if left out"),
            **_GIVES_LIGHT,
            **_MIDDLE,
        },
        "tube": _TUBE | _GIVES_LIGHT | _MIDDLE | _AIM_KEY | _ROLL,
        "screen": {
            "size": need(TWO_SIDES),
            "depth": may(size("5 cm"), "5 cm if left out"),
            "luminance": may(LUMINANCE, "of a white picture; or else output"),
        }
        | _TOLD_ELSEWHERE
        | _FRONT_PLACE,
        "candle": {
            "diameter": may(size("2 cm"), "of its flame; 2 cm if left out"),
            **_GIVES_LIGHT,
            "output": may(FLUX, "12.6 lm, one candela all round, if left out"),
            "colour": may(LIGHT_COLOUR, "1900 K if left out"),
            **_MIDDLE,
        },
    },
)
_PRACTICAL: Final = variant(_PRACTICAL_FORMS, "a practical", "{light: globe, ...}")
_KIT_PRACTICAL: Final = (
    _KIT | _MIDDLE | {"aim": may(AIM, "of all but what shines all round")} | _ROLL
)


def _practical(cursor: Cursor) -> records.Practical:
    return records.Practical(**_read_light(cursor, _PRACTICAL, _KIT_PRACTICAL, "a practical"))


PRACTICAL_VALUE: Final = Value(
    _practical, _PRACTICAL.example, _with_kit(_PRACTICAL.schema, _KIT_PRACTICAL)
)

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
