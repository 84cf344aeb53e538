"""Old scenes are read as new ones, and every value still stands where it was written."""

from __future__ import annotations

from typing import Any

import pytest

from falloff.document import forward
from falloff.document.forward import FORMAT_VERSION, STEPS, read_forward
from falloff.document.tree import Node, compose_text, flattened

OLD = """\
# a scene of the first format
falloff: 1
title: seated
subjects:
  MAKER: {figure: seated, at: [1 m, 2 m], hair: seated}
  GUEST:
    figure: "seated"   # quoted
    at: [2 m, 2 m]
  COOK: {figure: standing}
props:
  FIGURE: {figure: seated}
"""
# pencil: OLD with the one word that means something else in version 2 written out, and the version
NEW_WORDS = {
    ("falloff",): "2",
    ("subjects", "MAKER", "figure"): "woman seated",
    ("subjects", "GUEST", "figure"): "woman seated",
}


def words(root: Node) -> dict[Any, str]:
    return {path: node.value for path, node in flattened(root)}


def places(root: Node) -> list[Any]:
    return [
        (path, node.kind, node.line, node.column, node.start, node.end, node.style)
        for path, node in flattened(root)
    ]


def test_version_one_is_read_as_version_two() -> None:
    old = compose_text(OLD, "old")
    assert words(read_forward(old)) == words(old) | NEW_WORDS


def test_every_value_stands_where_it_was_written() -> None:
    old = compose_text(OLD, "old")
    new = read_forward(old)
    assert places(new) == places(old)
    # pencil: counted in OLD
    by_path = dict(flattened(new))
    figure = by_path["subjects", "GUEST", "figure"]
    assert (figure.line, figure.column) == (7, 13)
    assert OLD[figure.start : figure.end] == '"seated"'


def test_keys_written_twice_are_left_for_the_reader_to_tell() -> None:
    text = "falloff: 1\nsubjects:\n  A: {figure: seated, figure: seated}\n"
    (_, subjects) = read_forward(compose_text(text, "twice")).entries[1]
    (_, subject) = subjects.entries[0]
    assert [node.value for _, node in subject.entries] == ["woman seated", "woman seated"]  # pencil


@pytest.mark.parametrize(
    "text",
    [
        "falloff: 2\nsubjects: {A: {figure: seated}}\n",  # the newest: a word of its own
        "falloff: 3\nsubjects: {A: {figure: seated}}\n",  # newer than this program
        "falloff: 0\nsubjects: {A: {figure: seated}}\n",
        "falloff: -1\nsubjects: {A: {figure: seated}}\n",
        "falloff: one\nsubjects: {A: {figure: seated}}\n",
        "falloff: [1]\nsubjects: {A: {figure: seated}}\n",
        "falloff:\nsubjects: {A: {figure: seated}}\n",
        "subjects: {A: {figure: seated}}\n",
        "- falloff: 1\n",
        "seated\n",
    ],
)
def test_what_is_no_older_version_stays_as_it_is(text: str) -> None:
    root = compose_text(text, "as it is")
    assert read_forward(root) == root


@pytest.mark.parametrize(
    "subjects", ["", " seated", " [seated]", " {A: seated}", " {A: [figure, seated]}", " {A: }"]
)
def test_subjects_that_are_no_groups_are_left_for_the_reader_to_tell(subjects: str) -> None:
    root = compose_text(f"falloff: 1\nsubjects:{subjects}\n", "odd")
    assert words(read_forward(root)) == words(root) | {("falloff",): "2"}


@pytest.mark.parametrize("version", ["1", "+1", "01", "'1'", '" 1 "'])
def test_the_version_is_read_as_the_reader_reads_it(version: str) -> None:
    root = compose_text(f"falloff: {version}\n", "version")
    assert words(read_forward(root))["falloff",] == "2"


def test_there_is_one_step_between_each_two_versions() -> None:
    assert len(STEPS) + 1 == FORMAT_VERSION == 2  # pencil: the format's version is 2


def test_a_third_version_needs_one_more_step_only(monkeypatch: pytest.MonkeyPatch) -> None:
    def two_to_three(root: Node) -> Node:
        return forward._changed(root, "title", lambda word: forward._renamed(word, "two", "three"))

    monkeypatch.setattr(forward, "STEPS", (*STEPS, two_to_three))
    monkeypatch.setattr(forward, "FORMAT_VERSION", 3)
    first = read_forward(compose_text("falloff: 1\ntitle: two\n", "first"))
    second = read_forward(compose_text("falloff: 2\ntitle: two\n", "second"))
    third = read_forward(compose_text("falloff: 3\ntitle: two\n", "third"))
    # pencil: both older ones pass the new step, the newest does not
    assert [words(one)["title",] for one in (first, second, third)] == ["three", "three", "two"]
    assert [words(one)["falloff",] for one in (first, second, third)] == ["3", "3", "3"]
