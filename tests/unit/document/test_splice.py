"""Plain values put into a text unread: the same text, and the same tree, as reading it gives."""

from __future__ import annotations

from importlib import resources

import pytest

from falloff.document import KeyPath, compose_text, edit_document, splice_scalars
from falloff.document.tree import Node, flattened

TEXTS = {
    name: resources.files("falloff.session")
    .joinpath(f"data/{name}.scene.yaml")
    .read_text(encoding="utf-8")
    for name in ("workshop", "kitchen", "stairwell")
}
VALUES = ("70.5 %", "T2.8", "5 m", "-12.25 cm", "1600")


def scalars(root: Node) -> list[tuple[KeyPath, Node]]:
    return [
        (path, node)
        for path, node in flattened(root)
        if node.kind in {"text", "number"} and not node.items and path
    ]


def spans(root: Node) -> list[tuple[KeyPath, str, int, int]]:
    return [(path, node.value, node.start, node.end) for path, node in flattened(root)]


@pytest.mark.parametrize("name", TEXTS)
@pytest.mark.parametrize("value", VALUES)
def test_a_spliced_value_reads_as_an_edited_one(name: str, value: str) -> None:
    text = TEXTS[name]
    root = compose_text(text, "scene")
    tried = 0
    for path, node in scalars(root)[::23]:
        spliced = splice_scalars(text, root, {path: value})
        if spliced is None:
            assert node.style != ""
            continue
        tried += 1
        edited, tree = spliced
        assert edited == edit_document(text, path, value)  # which reads the text to make sure
        assert spans(tree) == spans(compose_text(edited, "scene"))
    assert tried > 3


def test_several_at_once_and_again() -> None:
    text = TEXTS["workshop"]
    root = compose_text(text, "scene")
    one: KeyPath = ("fixtures", "BOOK", "output")
    two: KeyPath = ("fixtures", "WALL HEAD", "output")
    first = splice_scalars(text, root, {one: "76 lm", two: "123456 lm"})
    assert first is not None
    again = splice_scalars(*first, {two: "1 lm"})
    assert again is not None
    wanted = edit_document(edit_document(text, one, "76 lm"), two, "1 lm")
    assert again[0] == wanted
    assert spans(again[1]) == spans(compose_text(wanted, "scene"))


@pytest.mark.parametrize(
    "value", ["yes", "a: b", "[1]", "null", "# 3", "5 m # far", "3, 4", "", "~"]
)
def test_what_is_not_plain_is_left_to_a_reader(value: str) -> None:
    text = TEXTS["workshop"]
    root = compose_text(text, "scene")
    assert splice_scalars(text, root, {("fixtures", "BOOK", "output"): value}) is None
