"""A scene with every kind of place, and a hand that changes it."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from falloff.document import (
    SceneDocument,
    arranged,
    compose_text,
    edit_text,
    edit_tree,
    parse_document,
    parse_tree,
)
from falloff.page.changes import edits_of
from falloff.stage.places import Placer

TEXT = Path(__file__).with_name("worked.scene.yaml").read_text("utf-8")


@functools.cache
def parsed(text: str = TEXT) -> SceneDocument:
    """The document of a text."""
    return parse_document(text)


def changed(change: Mapping[str, Any], *, setup: str = "ONE", text: str = TEXT) -> str:
    """The text after a change; the tree after it says the same."""
    edits, label = edits_of(parsed(text), setup, change, text=lambda: text)
    assert label
    edited = edit_text(text, edits)
    if change["do"] not in {
        "delete",
        "remove",
        "untarget",
    }:  # a group that is left empty is known from the text alone
        by_tree = parse_tree(edit_tree(compose_text(text, "scene"), edits))
        assert by_tree.setups == parsed(edited).setups
        for section in ("room", "openings", "props", "subjects", "fixtures", "grip", "cameras"):
            assert getattr(by_tree, section) == getattr(parsed(edited), section)
    return edited


def placer_of(text: str, setup: str = "ONE") -> Placer:
    """Where everything stands in a setup."""
    return Placer(arranged(parsed(text), setup))


def differing(edited: str, text: str = TEXT) -> list[tuple[str, str]]:
    """Lines that differ, old and new; both have as many."""
    old, new = text.splitlines(), edited.splitlines()
    assert len(old) == len(new)
    return [(a, b) for a, b in zip(old, new, strict=True) if a != b]


def differing_part(edited: str, text: str = TEXT) -> tuple[str, str]:
    """What differs between two texts, old and new, in whole words."""
    ((old, new),) = differing(edited, text)
    a, b = old.split(" "), new.split(" ")
    head = next(n for n in range(len(a)) if a[: n + 1] != b[: n + 1])
    tail = next(n for n in range(len(a)) if a[len(a) - n - 1 :] != b[len(b) - n - 1 :])
    tail = min(tail, len(a) - head - 1, len(b) - head - 1)
    return " ".join(a[head : len(a) - tail]), " ".join(b[head : len(b) - tail])


def off_m(text: str, name: str, point: tuple[float, float, float], setup: str = "ONE") -> float:
    """How far a thing stands from a point, metres."""
    return float(np.linalg.norm(placer_of(text, setup).origin(name) - np.array(point)))
