"""The JSON Schema says what the reader does, as far as a schema can."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from falloff.document import KnownNames, document_schema

DOCUMENTS = Path(__file__).parents[2] / "documents" / "good"
SCENES = [
    path
    for path in sorted(DOCUMENTS.glob("*.scene.yaml"))
    if path.name != "old.scene.yaml"  # the schema is of the newest format
]
TYPES: dict[str, Any] = {
    "string": str, "object": dict, "array": list, "boolean": bool,
}  # fmt: skip


def problems(value: Any, schema: dict[str, Any], at: str = "") -> list[str]:
    """What a value has against a schema: the part of JSON Schema 2020-12 that ours uses."""
    found = []
    for word in ("anyOf", "oneOf"):
        if word in schema:
            fitting = sum(not problems(value, one, at) for one in schema[word])
            if fitting == 0 or (word == "oneOf" and fitting > 1):
                found.append(f"{at}: {fitting} of {word}")
    if "not" in schema and not problems(value, schema["not"], at):
        found.append(f"{at}: one of {schema['not']}")
    if "const" in schema and value != schema["const"]:
        found.append(f"{at}: not {schema['const']}")
    if "enum" in schema and value not in schema["enum"]:
        found.append(f"{at}: not in {schema['enum']}")
    wanted = schema.get("type", [])
    if wanted and not any(
        is_type(value, one) for one in [wanted] * isinstance(wanted, str) or wanted
    ):
        found.append(f"{at}: not {wanted}")
    if isinstance(value, str) and "pattern" in schema and not re.search(schema["pattern"], value):
        found.append(f"{at}: not like {schema['pattern']}")
    if isinstance(value, str) and len(value) < schema.get("minLength", 0):
        found.append(f"{at}: too short")
    if isinstance(value, int | float) and not isinstance(value, bool):
        found += range_problems(value, schema, at)
    if isinstance(value, list):
        if not schema.get("minItems", 0) <= len(value) <= schema.get("maxItems", len(value)):
            found.append(f"{at}: {len(value)} items")
        for index, item in enumerate(value):
            found += problems(item, schema.get("items", {}), f"{at}[{index}]")
    if isinstance(value, dict):
        found += key_problems(value, schema, at)
    return found


def is_type(value: Any, name: str) -> bool:
    if name in {"number", "integer"}:
        is_number = isinstance(value, int if name == "integer" else int | float)
        return is_number and not isinstance(value, bool)
    return isinstance(value, TYPES[name])


def range_problems(value: float, schema: dict[str, Any], at: str) -> list[str]:
    low = value >= schema.get("minimum", value) and value != schema.get("exclusiveMinimum")
    high = value <= schema.get("maximum", value)
    return (
        [] if low and high and value >= schema.get("exclusiveMinimum", value) else [f"{at}: range"]
    )


def key_problems(value: dict[Any, Any], schema: dict[str, Any], at: str) -> list[str]:
    known = schema.get("properties", {})
    more = schema.get("additionalProperties", True)
    found = [f"{at}: needs {key}" for key in schema.get("required", []) if key not in value]
    for key, one in value.items():
        if key in known:
            found += problems(one, known[key], f"{at}.{key}")
        elif more is False:
            found.append(f"{at}: unknown {key}")
        elif isinstance(more, dict):
            found += problems(one, more, f"{at}.{key}")
    return found


def plain(path: Path) -> Any:
    return YAML(typ="safe", pure=True).load(path.read_text(encoding="utf-8"))


@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_good_scenes_fit_the_schema(path: Path) -> None:
    assert problems(plain(path), document_schema()) == []


@pytest.mark.parametrize(
    ("key_path", "value"),
    [
        # pencil: what the format refuses
        (("room", "height"), 2.7),
        (("room", "hieght"), "2.7 m"),
        (("room", "floor"), [["0 m", "0 m"], ["1 m", "0 m"]]),
        (("materials", "plaster", "reflectance"), 1.5),
        (("materials", "plaster", "reflectance"), "60 %"),
        (("materials", "brick", "tint"), [1, 1]),
        (("sky", "type"), "cleer"),
        (("props", "BENCH", "shape"), "cylinder"),
        (("props", "BENCH", "diameter"), "1 m"),
        (("fixtures", "KEY", "light"), "globe"),
        (("fixtures", "KEY", "at"), "here"),
        (("fixtures", "KEY", "at", "clock"), 13),
        (("setups", "WIDE SHOT", "iso"), 0),
        (("setups", "WIDE SHOT", "iso"), "800"),
        (("readings", "key cheek", "instrument"), "doom"),
        (("units",), "furlongs"),
        (("falloff",), 1),
        (("falloff",), 3),
        (("room", "slope"), {"shape": "gable", "eaves": "2 m", "ridge": "3 m",
                             "ridge_along": "0 deg"}),
        (("openings", "WINDOW", "kind"), "door"),
        (("openings", "WINDOW", "dressing"), [{"kind": "blinds"}]),
        (("openings", "WINDOW", "dressing"), [{"kind": "gel"}]),
        (("outside",), {"buildings": {"HOUSE": {"at": ["1 m", "2 m"]}}}),
        (("subjects", "MAKER", "covering"), "cap"),
        (("subjects", "MAKER", "skin"), 1.5),
        (("practicals", "GLOBE", "aim"), "down"),
        (("setups", "WIDE SHOT", "moved"), {"KEY": {"turn": "5 deg"}}),
        (("setups", "WIDE SHOT", "without"), "KEY"),
        (("house_power",), {"circuits": {}}),
        (("targets",), {"T": {"reading": "key cheek"}}),
        (("measured",), {"M": {"reading": "key cheek", "value": 320}}),
    ],
)  # fmt: skip
def test_what_the_reader_refuses_the_schema_refuses(key_path: tuple[str, ...], value: Any) -> None:
    scene = plain(DOCUMENTS / "workshop.scene.yaml")
    target = scene
    for key in key_path[:-1]:
        target = target[key]
    target[key_path[-1]] = value
    assert problems(scene, document_schema())


def test_a_setup_needs_what_it_needs_unless_it_is_like_another() -> None:
    scene = plain(DOCUMENTS / "workshop.scene.yaml")
    scene["setups"]["B"] = {"iso": 400}
    assert problems(scene, document_schema())
    scene["setups"]["B"] = {"like": "WIDE SHOT", "iso": 400}
    assert problems(scene, document_schema()) == []


def test_a_room_without_height_and_slope_fits_not() -> None:
    scene = plain(DOCUMENTS / "workshop.scene.yaml")
    del scene["room"]["height"]
    assert problems(scene, document_schema())


def test_kinds_of_furniture_are_words_where_they_are_known() -> None:
    scene = plain(DOCUMENTS / "workshop.scene.yaml")
    scene["props"]["BENCH"]["shape"] = "tabel"  # with the size of a table
    known = document_schema(known=KnownNames(furniture={"table", "chair"}))
    assert problems(scene, document_schema()) == []
    assert problems(scene, known)
    scene["props"]["BENCH"]["shape"] = "table"
    assert problems(scene, known) == []


@pytest.mark.parametrize("key", ["falloff", "title", "units", "room"])
def test_required_keys(key: str) -> None:
    scene = plain(DOCUMENTS / "workshop.scene.yaml")
    del scene[key]
    assert problems(scene, document_schema()) == [f": needs {key}"]  # pencil


def test_the_schema_is_plain_data() -> None:
    schema = document_schema()
    assert json.loads(json.dumps(schema)) == schema
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"  # source: its spec
