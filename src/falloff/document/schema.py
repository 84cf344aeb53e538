"""The JSON Schema of scene files, for editors; made from the same statements that read them."""

from __future__ import annotations

from typing import Any, Final

from falloff.document.reader import TOP_KEYS, VERSION
from falloff.document.sections import NAMED_SECTIONS, ROOM_VALUE, SKY_VALUE

_DRAFT: Final = "https://json-schema.org/draft/2020-12/schema"


def document_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of scene format 1, as plain data; what refers to what it cannot say."""
    properties: dict[str, Any] = {
        "falloff": {"const": VERSION, "description": "the format's version"},
        "title": {"type": ["string", "number"], "minLength": 1},
        "units": {"enum": ["metric", "imperial"], "description": "how people are answered"},
        "room": ROOM_VALUE.schema,
        "sky": SKY_VALUE.schema,
    }
    for section, value in NAMED_SECTIONS.items():
        properties[section] = {"type": "object", "additionalProperties": value.schema}
    return {
        "$schema": _DRAFT,
        "title": "Falloff scene",
        "type": "object",
        "properties": {key: properties[key] for key in TOP_KEYS},
        "required": ["falloff", "title", "units", "room"],
        "additionalProperties": False,
    }
