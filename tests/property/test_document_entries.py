"""Whatever key is added to whatever group: taking it out gives the very same characters."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from falloff.document import KeyPath, add_entry, remove_entry
from falloff.document.tree import compose_text, flattened
from falloff.errors import DocumentError

GOOD = Path(__file__).parents[1] / "documents" / "good"
ODD = """\
# comments, braces over lines, lists, blank lines, texts over lines
falloff: 1
title: >-
  of many
  # words

groups:   # at its end

  # above
  A:
    x: {a: 1,   # one
        b: {c: [1, 2], d: }   # two, three
       }
      # below, deeper
  # below

  B: {}   # nothing
  C: { }
  'D: d': "quoted"
  E:
  - p: 1
    q: 2
  - r: plain
      and more

  F: [{a: 1,}, {
      b: 2  # last
      # alone
  }]
# the end
"""
TEXTS = {
    "workshop": (GOOD / "workshop.scene.yaml").read_text(encoding="utf-8"),
    "room": (GOOD / "room.scene.yaml").read_text(encoding="utf-8"),
    "odd": ODD,
    "odd, no last line end": ODD.rstrip("\n"),
    "braces": "{falloff: 1, groups: {A: {b: 1}, B: {}}}",
    "deep": "a:\n      b:\n       c: 1\n",
}
GROUPS = [
    (name, path)
    for name, text in TEXTS.items()
    for path, node in flattened(compose_text(text, name))
    if node.kind == "map"
]
FLAT = ["1.2 m", "{light: globe, at: [1 m, 2 m]}", "[1 m, 2 m]", "5 ft from A, 4 o'clock",
        "'quoted: so'", '"so # so"', "#FF0000 is a colour", "2", "true"]  # fmt: skip
BLOCKS = [
    "a: 1\nb:\n  c: 2",
    "- 1\n- a: 2\n  b: 3",
    "a: 1  # one\n# about b\nb: {c: 1}\n# below",
    "# above\na: 1",
    "|\n  one\n    two\n\n  three",
    "a:\n  - 1\n\n\n  - 2\n",
    "'one\n\n  two'",
    "{a: 1,\n b: 2}",
    "a: |\n  text\n  # in it",
]
NAMES = st.one_of(
    st.sampled_from(["KEY", "A: b", "null", "2", "- x", "{", "it's", "#", "Ångström", "! a", "?"]),
    st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=8),
)


def test_there_are_many_groups() -> None:
    assert len(GROUPS) > 60  # pencil: some 40 in the workshop, 20 in the rest


@settings(max_examples=300, deadline=None)
@given(
    st.sampled_from(GROUPS), NAMES, st.sampled_from(FLAT + BLOCKS), st.sampled_from(["\n", "\r\n"])
)
def test_add_then_remove_gives_the_very_same_characters(
    group: tuple[str, KeyPath], name: str, value: str, eol: str
) -> None:
    text = TEXTS[group[0]].replace("\n", eol)
    path = (*group[1], name)
    try:
        added = add_entry(text, path, value)
    except DocumentError as error:
        # only a block among braces, a comment as a value, and what is there already are refused
        told = error.faults[0].what
        assert value in BLOCKS or value.startswith("#") or told.endswith("already")
        return
    assert added != text
    assert not set(added.replace(eol, "")) & set("\r\n")  # each line ends as all others do
    assert remove_entry(added, path) == text


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(list(TEXTS)), NAMES, NAMES, st.sampled_from(FLAT + BLOCKS))
def test_a_section_made_for_a_key_goes_with_it(
    which: str, section: str, name: str, value: str
) -> None:
    text = TEXTS[which]
    assume(section not in {path[0] for path, _ in flattened(compose_text(text, which)) if path})
    try:
        added = add_entry(text, (section, name), value)
    except DocumentError:
        assert value in BLOCKS or value.startswith("#")
        return
    left = remove_entry(added, (section, name))
    if which == "braces":  # what is in braces stays, as {}
        left = remove_entry(left, (section,))
    assert left == text


@pytest.mark.parametrize("which", list(TEXTS))
def test_every_key_taken_out_leaves_the_lines_of_the_others(which: str) -> None:
    text = TEXTS[which]
    for path, _ in flattened(compose_text(text, which)):
        if not path or isinstance(path[-1], int):
            continue
        try:
            left = remove_entry(text, path)
        except DocumentError:
            continue
        # pencil: what is left is the text with one piece, or a few pieces, cut out
        rest = iter(text)
        assert all(character in rest for character in left)
        assert len(left) < len(text)
