"""What may be written of materials, props, people and grip."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import PurePosixPath
from typing import Any, Final

from falloff.document import records
from falloff.document.cursor import Cursor
from falloff.document.forms import Forms, OtherWords, map_of, variant
from falloff.document.light_values import FABRIC, LOSS
from falloff.document.placing import AIM, FACING, NAME, PLACE
from falloff.document.quantities import (
    MATERIAL,
    SHARE_OF_LIGHT,
    THREE_SIDES,
    TINT,
    TWO_SIDES,
    angle_between,
)
from falloff.document.values import (
    ANGLE,
    FLAG,
    Key,
    Schema,
    Value,
    choice,
    group,
    may,
    need,
    number,
    reference,
    size,
    text_value,
    whole,
)

_MATERIAL: Final[dict[str, Key]] = {
    "reflectance": need(SHARE_OF_LIGHT, "luminous, 0 to 1"),
    "tint": may(TINT, "relative linear BT.2020 red, green, blue"),
    "sheen": may(SHARE_OF_LIGHT, "what a coat gives back at right angles; matte if left out"),
    "roughness": may(number(0.0, 1.0, "0.4", above_low=True), "of that coat; 0.4 if left out"),
}
MATERIAL_VALUE: Final = group(records.Material, _MATERIAL, "a material", "{reflectance: 0.6}")

# Props -----------------------------------------------------------------------------------

_PLACED: Final[dict[str, Key]] = {
    "at": need(PLACE, "the centre of its base"),
    "turn": may(ANGLE, "counter-clockwise on the plan"),
    "surface": need(MATERIAL),
}
_FURNITURE: Final[dict[str, Key]] = {
    "size": may(THREE_SIDES, "width, depth and height; the usual ones if left out"),
    "count": may(whole(1, 50, "4"), "of its boards, steps or seats"),
    "open": may(angle_between(0.0, 180.0, "90 deg"), "how far its door stands open"),
    **_PLACED,
    "surfaces": may(map_of(MATERIAL), "of single parts, by the part's name"),
}
_SHAPES: Final[dict[str, dict[str, Key]]] = {
    "box": {"size": need(THREE_SIDES), **_PLACED},
    "cylinder": {"diameter": need(size("0.4 m")), "height": need(size("0.9 m")), **_PLACED},
    "mesh": {
        "file": need(text_value("chair.obj", "a file's name"), "beside the scene"),
        "unit": may(
            choice(["m", "cm", "mm", "in", "ft"], "unit"), "what one step of its coordinates is"
        ),
        "up": may(choice(["y", "z"], "axis"), "the axis of the file that points up"),
        **_PLACED,
    },
}
_PROP_FORMS: Final = Forms(
    "shape",
    _SHAPES,
    others=OtherWords(_FURNITURE, lambda known: known.furniture, "a piece of furniture"),
)
_PROP: Final = variant(_PROP_FORMS, "a prop", "{shape: box, ...}")
_IN_METRES: Final = (".gltf", ".glb")
_WITHOUT_UNIT: Final = (".obj", ".ply", ".stl")


def _prop(cursor: Cursor) -> records.Prop:
    word, values = _PROP.read(cursor)
    shape: records.Box | records.Cylinder | records.MeshFile | records.Furniture
    if word == "box":
        shape = records.Box(values.pop("size"))
    elif word == "cylinder":
        shape = records.Cylinder(values.pop("diameter"), values.pop("height"))
    elif word == "mesh":
        shape = _mesh_file(cursor, values)
    else:
        given = {key: values.pop(key) for key in ("size", "count", "open") if key in values}
        shape = records.Furniture(word, **given)
    return records.Prop(shape=shape, **values)


def _mesh_file(cursor: Cursor, values: dict[str, Any]) -> records.MeshFile:
    """The file of a mesh: its unit and upward axis said, unless its format fixes them."""
    mesh = records.MeshFile(values.pop("file"), values.pop("unit", None), values.pop("up", None))
    ending = PurePosixPath(mesh.file).suffix.lower()
    if ending not in {*_IN_METRES, *_WITHOUT_UNIT}:
        at = cursor.entries()["file"]
        expected = ", ".join((*_WITHOUT_UNIT, *_IN_METRES))
        raise at.fault("no mesh format that can be read", expected=expected, found=mesh.file)
    if ending in _WITHOUT_UNIT:
        lacking = [key for key in ("unit", "up") if getattr(mesh, key) is None]
        fixes = {"unit": "add `unit: m`, cm, mm, in or ft", "up": "add `up: z` or `up: y`"}
        tells = {"unit": "what unit it is in", "up": "which way is up"}
        faults = [
            cursor.fault(f"{ending[1:].upper()} does not say {tells[key]}", fix=fixes[key])
            for key in lacking
        ]
        if faults:
            raise faults[0]
    return mesh


PROP_VALUE: Final = Value(_prop, _PROP.example, _PROP.schema)


def prop_schema(kinds: Collection[str]) -> Schema:
    """The schema of props where the kinds of furniture are known."""
    *others, furniture = PROP_VALUE.schema["oneOf"]
    properties = furniture["properties"] | {"shape": {"enum": sorted(kinds)}}
    return {"oneOf": [*others, furniture | {"properties": properties}]}


# People ----------------------------------------------------------------------------------


def _gaze(cursor: Cursor) -> records.Aim | records.CameraAim:
    word = cursor.node.value.strip() if cursor.node.kind == "text" else ""
    if word == "camera":
        return records.CameraAim()
    aim = AIM.read(cursor)
    if isinstance(aim, records.DownAim):
        fix = "name what is looked at, or write a point low before them"
        raise cursor.fault("nobody looks straight down", found="down", fix=fix)
    return aim


def _skin(cursor: Cursor) -> float | str:
    """A reflectance where it begins like a number, else one of the kit's words."""
    text = cursor.node.value.strip()
    if cursor.node.kind != "text" or text[:1] in set("0123456789.+-−"):
        return SHARE_OF_LIGHT.read(cursor)
    name = NAME.read(cursor)
    cursor.wants("skin", name)
    return name


_COVERING: Final[dict[str, Key]] = {
    "kind": need(reference("head covering", "headscarf")),
    "surface": need(MATERIAL),
}
_SUBJECT: Final[dict[str, Key]] = {
    "figure": need(reference("figure", "woman seated")),
    "at": need(PLACE),
    "facing": need(FACING, "an angle counter-clockwise from +x on the plan, or a name"),
    "gaze": may(
        Value(_gaze, "OTHER.face", AIM.schema), "what head and eyes turn to; ahead if left out"
    ),
    "skin": need(
        Value(_skin, "0.32", {"anyOf": [SHARE_OF_LIGHT.schema, {"type": "string"}]}),
        "luminous reflectance, or a word of the kit's",
    ),
    "skin_tint": may(TINT),
    "hair": need(reference("material", "dark hair")),
    "hair_style": may(reference("hair style", "bun"), "the figure's own if left out"),
    "covering": may(
        group(records.Covering, _COVERING, "a covering", "{kind: headscarf, surface: red cotton}"),
        "what is worn on the head",
    ),
    "spectacles": may(MATERIAL, "material of their frame; none worn if left out"),
    "top": need(reference("material", "blue cotton")),
    "trousers": need(reference("material", "dark denim")),
    "shoes": may(MATERIAL, "black leather if left out"),
    "seat": may(MATERIAL, "material of a plain stool under a seated figure; none if left out"),
}
SUBJECT_VALUE: Final = group(records.Subject, _SUBJECT, "a subject", "{figure: ...}")

# Grip ------------------------------------------------------------------------------------

_GRIP_SURFACE: Final = {"solid": "black cloth", "bounce": "white board"}
_FLAT: Final[dict[str, Key]] = {
    "size": need(TWO_SIDES),
    "at": need(PLACE, "its centre"),
    "aim": need(AIM, "what its face looks at"),
    "stand": may(FLAG, "whether its stand is drawn and blocks light"),
}
_GRIP_FORMS: Final = Forms(
    "kind",
    {
        kind: _FLAT | {"surface": may(MATERIAL, f"{surface} if left out")}
        for kind, surface in _GRIP_SURFACE.items()
    }
    | {
        "frame": _FLAT | {"fabric": need(FABRIC, "by the kit's name, or its shares")},
        "net": _FLAT | {"loss": need(LOSS, "stops that it takes")},
        "mirror": _FLAT | {"reflectance": may(SHARE_OF_LIGHT, "0.9 if left out")},
    },
)
_GRIP: Final = variant(_GRIP_FORMS, "grip", "{kind: solid, ...}")
_USUAL_MIRROR: Final = 0.9  # common practice, no source


def _grip(cursor: Cursor) -> records.Grip:
    kind, values = _GRIP.read(cursor)
    usual: dict[str, Any] = {"reflectance": _USUAL_MIRROR} if kind == "mirror" else {}
    if kind in _GRIP_SURFACE:
        usual = {"surface": _GRIP_SURFACE[kind]}
    return records.Grip(**({"kind": kind} | usual | values))


GRIP_VALUE: Final = Value(_grip, _GRIP.example, _GRIP.schema)
