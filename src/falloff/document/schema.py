"""The JSON Schema of scene files, for editors; made from the same statements that read them."""

from __future__ import annotations

from typing import Any, Final

from falloff.document.known import KnownNames
from falloff.document.reader import TOP_KEYS, VERSION
from falloff.document.sections import NAMED_SECTIONS, ROOM_VALUE, SINGLE_SECTIONS
from falloff.document.thing_sections import prop_schema

_DRAFT: Final = "https://json-schema.org/draft/2020-12/schema"


def document_schema(*, known: KnownNames | None = None) -> dict[str, Any]:
    """JSON Schema (2020-12) of the newest scene format, as plain data.

    What refers to what it cannot say; `known` gives the kinds of furniture, which are any word
    without it.
    """
    properties: dict[str, Any] = {
        "falloff": {"const": VERSION, "description": "the format's version"},
        "title": {"type": ["string", "number"], "minLength": 1},
        "units": {"enum": ["metric", "imperial"], "description": "how people are answered"},
        "room": ROOM_VALUE.schema,
    }
    properties |= {section: value.schema for section, value in SINGLE_SECTIONS.items()}
    for section, value in NAMED_SECTIONS.items():
        schema = value.schema
        if section == "props" and known is not None and known.furniture is not None:
            schema = prop_schema(known.furniture)
        properties[section] = {"type": "object", "additionalProperties": schema}
    return {
        "$schema": _DRAFT,
        "title": "Falloff scene",
        "type": "object",
        "properties": {key: properties[key] for key in TOP_KEYS},
        "required": ["falloff", "title", "units", "room"],
        "additionalProperties": False,
    }
