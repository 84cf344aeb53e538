"""What an answer asks for, made: many dims as one change, edits told and sent back."""

from __future__ import annotations

from typing import Any

import pytest
from tests.unit.page.worked_scene import TEXT, changed, differing, parsed

from falloff.document import Add, Edit, Put, Remove, Rewrite, edit_text
from falloff.errors import DocumentError
from falloff.page.answer_changes import edits_told


def dims(knobs: dict[str, float], **parts: Any) -> str:
    return changed({"do": "dims", "knobs": knobs, **parts})


def knob(text: str, setup: str, source: str) -> float:
    return parsed(text).setups[setup].dims[source].si


def test_several_dims_of_one_setup() -> None:
    edited = dims({"KEY": 0.5, "HEAD": 0.0, "GLOBE": 0.255})
    ((old, new),) = differing(edited)
    # pencil
    assert "dims: {KEY: 60 %, HEAD: 35 %}" in old
    assert "dims: {KEY: 50 %, HEAD: 0 %, GLOBE: 25.5 %}" in new


def test_what_a_setup_has_from_another_that_is_set_is_not_said_twice() -> None:
    # TWO is like ONE and writes no dims; THREE is like TWO and writes HEAD itself.
    edited = dims({"KEY": 0.5, "HEAD": 0.2}, setups=["ONE", "TWO", "THREE"])
    assert len(differing(edited)) == 2
    assert "THREE: {like: TWO, dims: {HEAD: 20 %}}" in edited
    for setup in ("ONE", "TWO", "THREE"):
        assert (knob(edited, setup, "KEY"), knob(edited, setup, "HEAD")) == (0.5, 0.2)


def test_dims_of_a_setup_that_has_them_all_from_another() -> None:
    edited = dims({"KEY": 0.5, "HEAD": 0.2}, setups=["TWO"])
    assert "    dims: {KEY: 50 %, HEAD: 20 %}\n" in edited
    assert (knob(edited, "TWO", "KEY"), knob(edited, "ONE", "KEY")) == (0.5, 0.6)
    assert knob(edited, "THREE", "HEAD") == 0.1


@pytest.mark.parametrize(
    ("knobs", "parts", "told"),
    [
        ({"KEY": 1.2}, {}, "not at 120 %"),
        ({"WINDOW": 0.2}, {}, "WINDOW is no light"),
        ({"KEY": 0.2}, {"setups": ["NINE"]}, "no setup NINE"),
    ],
)
def test_what_is_no_dim_is_refused(
    knobs: dict[str, float], parts: dict[str, Any], told: str
) -> None:
    with pytest.raises(DocumentError, match=told):
        dims(knobs, **parts)


def test_edits_are_told_and_come_back_the_same() -> None:
    edits: list[Edit] = [
        Put(("setups", "ONE", "dims", "KEY"), "40 %"),
        Add(("setups", "ONE", "nd"), "ND 0.3"),
        Rewrite(("grip", "SOLID", "size"), "[1 m, 1 m]"),
        Remove(("grip", "SOLID", "aim")),
    ]
    told = edits_told(edits)
    edited = changed({"do": "edits", "label": "a fix", "edits": told[:3]})
    assert edited == edit_text(TEXT, edits[:3])
    assert told[3] == ["remove", ["grip", "SOLID", "aim"]]


@pytest.mark.parametrize(
    "edit", [["put", [], "1"], ["paint", ["room"], "red"], ["put", "room", "1"], []]
)
def test_edits_that_cannot_be_read_are_refused(edit: list[Any]) -> None:
    with pytest.raises(DocumentError):
        changed({"do": "edits", "label": "a fix", "edits": [edit]})
