"""How names and values are spelled in a scene file, and edits of keys that may not be there."""

from __future__ import annotations

import json
import re

from falloff.document.edits import Add, Edit, Put, Rewrite
from falloff.document.records import KeyPath, SceneDocument


def put_or_add(document: SceneDocument, group: KeyPath, key: str, told: str) -> Edit:
    """The edit that writes a scalar key of a group, which is made where there is none."""
    if document.seen.has((*group, key)):
        return Put((*group, key), told)
    if document.seen.has(group):
        return Add((*group, key), scalar(told))
    return Add(group, f"{{{quoted(key)}: {scalar(told)}}}")


def rewrite_or_add(document: SceneDocument, key_path: KeyPath, yaml_text: str) -> Edit:
    """The edit that writes a key's value anew whatever it held, or adds the key."""
    made = Rewrite if document.seen.has(key_path) else Add
    return made(key_path, yaml_text)


def quoted(name: str) -> str:
    """A name as YAML, in quotes where it needs them."""
    plain = re.fullmatch(r"[A-Za-z](?:[\w .]*\w)?", name)
    known = name.lower() in {"true", "false", "null", "yes", "no", "on", "off", "y", "n"}
    return name if plain and not known else json.dumps(name, ensure_ascii=False)


def scalar(text: str) -> str:
    """A text as one YAML scalar: as it is where it reads like a word or number without marks."""
    plain = re.fullmatch(r"[+-]?[\w.][^:#,\[\]{}]*", text) or re.fullmatch(r"[\d.]+:[\d.]+", text)
    return text if plain else json.dumps(text, ensure_ascii=False)


def dim_written(knob: float) -> str:
    """A dim, 0 to 1, as a scene file has it."""
    return f"{100.0 * knob:.1f}".removesuffix(".0") + " %"
