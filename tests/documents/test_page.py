"""The reference page of the scene file is true: its example is read, and it names every key."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from falloff.document import SUBJECT_PLACES, document_schema, parse_document

PAGE = (Path(__file__).parents[2] / "docs" / "scene-file.md").read_text(encoding="utf-8")


def keys_of(schema: Any) -> Iterator[str]:
    """Every key that a schema names, at any depth."""
    if isinstance(schema, dict):
        yield from schema.get("properties", {})
        for value in schema.values():
            yield from keys_of(value)
    elif isinstance(schema, list):
        for value in schema:
            yield from keys_of(value)


def test_the_example_is_a_scene() -> None:
    (example,) = re.findall(r"```yaml\n(.*?)```", PAGE, flags=re.DOTALL)
    document = parse_document(example, "example.scene.yaml")
    assert list(document.fixtures) == ["KEY"]  # pencil: as written on the page


def test_the_page_names_every_key_and_every_place() -> None:
    words = set(re.findall(r"[a-z_]+", " ".join(re.findall(r"`([^`\n]+)`", PAGE))))
    words |= set(re.findall(r"^### (\w+)", PAGE, flags=re.MULTILINE))
    assert set(keys_of(document_schema())) - words == set()
    assert set(SUBJECT_PLACES) - words == set()
