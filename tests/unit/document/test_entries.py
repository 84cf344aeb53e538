"""Adding and taking out a key leaves every other character alone."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from falloff.document import KeyPath, add_entry, remove_entry
from falloff.document.tree import compose_text, flattened
from falloff.errors import DocumentError

TEXT = """\
# a scene
falloff: 1   # the format
title: 'One: room'

# where it is
room:
  floor: [[0 m, 0 m], [5 m, 0 m],   # the long wall
          [5 m, 4 m], [0 m, 4 m]]
  height: 2.7 m  # high
  wall_surfaces: {2: brick, 3: planks}

fixtures:    # what we bring
  KEY:       # the big one
    light: soft box
    # as it was on the recce
    output: 6200 lm  # at full
    # dim: 50 %

  # for the hair
  RIM: {light: soft box, output: 900 lm}   # small
  # FILL: not needed

setups:
  WIDE:
    camera: A
    dims: {}
    notes:
      - first: one   # a
        second: two
      - first: three
# the end
"""


# Adding ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key_path", "value", "old", "new"),
    [
        # pencil: what stands in the text, and what must stand there instead
        (
            ("fixtures", "FILL"),
            "{light: globe}  # warm",
            "  # FILL: not needed\n",
            "  # FILL: not needed\n  FILL: {light: globe}  # warm\n",
        ),
        (
            ("fixtures", "FILL"),
            "light: globe\nsize:\n  # both\n  - 1 m\n\n  - 2 m\n",
            "  # FILL: not needed\n",
            "  # FILL: not needed\n  FILL:\n    light: globe\n    size:\n      # both\n"
            "      - 1 m\n\n      - 2 m\n",
        ),
        (
            ("fixtures", "FILL"),
            "\n      light: globe\n      size: 1 m\n\n",
            "  # FILL: not needed\n",
            "  # FILL: not needed\n  FILL:\n    light: globe\n    size: 1 m\n",
        ),
        (
            ("fixtures", "KEY", "power"),
            "300 W",
            "    # dim: 50 %\n",
            "    # dim: 50 %\n    power: 300 W\n",
        ),
        (
            ("fixtures", "KEY", "size"),
            "- 90 cm\n- 60 cm",
            "    # dim: 50 %\n",
            "    # dim: 50 %\n    size:\n      - 90 cm\n      - 60 cm\n",
        ),
        (
            ("fixtures", "RIM", "power"),
            "60 W",
            "output: 900 lm}",
            "output: 900 lm, power: 60 W}",
        ),
        (
            ("fixtures", "RIM", "at"),
            "5 ft from COOK, 4 o'clock, 6 ft up",  # commas part values in braces
            "output: 900 lm}",
            "output: 900 lm, at: '5 ft from COOK, 4 o''clock, 6 ft up'}",
        ),
        (
            ("fixtures", "KEY", "at"),
            "5 ft from COOK, 4 o'clock, 6 ft up",
            "    # dim: 50 %\n",
            "    # dim: 50 %\n    at: 5 ft from COOK, 4 o'clock, 6 ft up\n",
        ),
        (("setups", "WIDE", "dims", "KEY"), "50 %", "dims: {}", "dims: {KEY: 50 %}"),
        (
            ("room", "wall_surfaces", 1),
            "plaster",
            "{2: brick, 3: planks}",
            "{2: brick, 3: planks, 1: plaster}",
        ),
        (
            ("room", "slope"),
            "{shape: gable,\n eaves: 2.4 m}",
            "3: planks}\n",
            "3: planks}\n  slope: {shape: gable,\n     eaves: 2.4 m}\n",
        ),
        (
            ("room", "note"),
            "|\n  one\n    two\n\n  three",
            "3: planks}\n",
            "3: planks}\n  note: |\n      one\n        two\n\n      three\n",
        ),
        (
            ("setups", "WIDE", "notes", 1, "second"),
            "four",
            "      - first: three\n",
            "      - first: three\n        second: four\n",
        ),
        (("cameras", "A: 1"), "{lens: 24 mm}", "# the end\n",
         "# the end\ncameras:\n  'A: 1': {lens: 24 mm}\n"),
        (("cameras", "null"), "lens: 24 mm", "# the end\n",
         "# the end\ncameras:\n  'null':\n    lens: 24 mm\n"),
        (("sky",), "{type: overcast}", "# the end\n", "# the end\nsky: {type: overcast}\n"),
    ],
)  # fmt: skip
def test_only_the_new_key_is_put_in(key_path: KeyPath, value: str, old: str, new: str) -> None:
    assert TEXT.count(old) == 1
    assert add_entry(TEXT, key_path, value) == TEXT.replace(old, new)


def crlf(text: str) -> str:
    return text.replace("\n", "\r\n")


@pytest.mark.parametrize(
    "wrap",
    [lambda text: text, lambda text: "\ufeff" + text, crlf, lambda text: text.rstrip("\n")],
)
@pytest.mark.parametrize("value", ["{light: globe}", "light: globe\nsize: 1 m", "light: globe\r\n"])
@pytest.mark.parametrize("key_path", [("fixtures", "FILL"), ("cameras", "A"), ("sky",)])
def test_line_ends_and_a_byte_order_mark_stay(
    wrap: Callable[[str], str], value: str, key_path: KeyPath
) -> None:
    before = wrap(TEXT)
    after = add_entry(before, key_path, value)
    assert after.count("\r\n") == (after.count("\n") if "\r\n" in before else 0)
    assert after.startswith("\ufeff") == before.startswith("\ufeff")
    assert after.endswith("\n") == before.endswith("\n") or not before.endswith("\n")
    assert remove_entry(after, key_path) == before


def test_the_indent_of_the_neighbours_is_kept() -> None:
    text = "a:\n    b:\n        c: 1\n"
    # pencil: four spaces a level, as the text has it
    assert add_entry(text, ("a", "d"), "e: 1") == text + "    d:\n        e: 1\n"
    assert add_entry(text, ("f", "g"), "e: 1") == text + "f:\n    g:\n        e: 1\n"
    assert add_entry("a: 1\n", ("f", "g"), "e: 1") == "a: 1\nf:\n  g:\n    e: 1\n"


def test_a_section_with_nothing_in_it_is_filled() -> None:
    assert add_entry("a:\nb: 1", ("a", "c"), "2") == "a:\n  c: 2\nb: 1"
    assert add_entry("a:  # to come\nb: 1", ("a", "c"), "2") == "a:  # to come\n  c: 2\nb: 1"


def test_a_scene_in_braces_takes_a_section() -> None:
    assert add_entry("{a: 1}\n", ("b", "c"), "2") == "{a: 1, b: {c: 2}}\n"  # pencil
    assert add_entry("{a: 1,}\n", ("b",), "2") == "{a: 1, b: 2,}\n"


def test_a_block_text_keeps_its_lines() -> None:
    text = "a:\n  b: |\n    one\n    # two\n\nc: 1\n"
    # pencil: after the text's last line, before the empty one
    expected = "a:\n  b: |\n    one\n    # two\n  d: 1\n\nc: 1\n"
    assert add_entry(text, ("a", "d"), "1") == expected
    assert remove_entry(expected, ("a", "d")) == text


@pytest.mark.parametrize(
    ("key_path", "value", "what"),
    [
        # snapshot: our own wording
        (("fixtures", "KEY"), "{}", "there is a 'fixtures.KEY' already"),
        (("room",), "{}", "there is a 'room' already"),
        (("fixtures", "KEE", "power"), "1 W", "there is no 'fixtures.KEE' in the file"),
        (("cameras", "A", "lens"), "24 mm", "there is no 'cameras' in the file"),
        (("title", "x"), "1", "'title' holds One: room"),
        (("room", "floor", "x"), "1", "'room.floor' holds a list"),
        (("room", "floor", 7, "x"), "1", "this is an item of a list, not a key"),
        ((), "1", "a key is needed"),
        (("sky",), "  \n ", "a key cannot be added with nothing"),
        (("sky",), "~", "a key cannot be added with nothing"),
        (("sky",), "# only a note", "a key cannot be added with nothing"),
        (("sky",), "type: overcast\n\toutside: 1 lx", "a tab cannot indent"),
        (("sky",), "  \ttype: overcast", "a tab cannot indent"),
        (("fixtures", "RIM", "size"), "- 1 m\n- 2 m", "this cannot be written here"),
        (("fixtures", "RIM", "size"), "1 m  # wide", "this cannot be written here"),
        (("sky",), "---\na: 1", "this cannot be written here"),
    ],
)
def test_what_cannot_be_added_is_told(key_path: KeyPath, value: str, what: str) -> None:
    with pytest.raises(DocumentError) as caught:
        add_entry(TEXT, key_path, value)
    assert caught.value.faults[0].what == what


@pytest.mark.parametrize("value", ["{a: 1", "a: b: c", "&x 1", "*x", "a: 1\n b: 2", "1\n---\n2"])
def test_a_value_that_is_no_yaml_is_refused(value: str) -> None:
    with pytest.raises(DocumentError):
        add_entry(TEXT, ("sky",), value)


def test_a_text_indented_with_tabs_is_refused() -> None:
    with pytest.raises(DocumentError, match="tab"):
        add_entry("a:\n\tb: 1\n", ("a", "c"), "2")


# Taking out ------------------------------------------------------------------------------

THREE = "x: {a: 1,  # one\n    b: 2,  # two\n    c: 3}\n"


@pytest.mark.parametrize(
    ("key_path", "old", "new"),
    [
        # pencil: what stands in the text, and what must stand there instead
        (("falloff",), "falloff: 1   # the format\n", ""),
        (("title",), "title: 'One: room'\n", ""),
        (
            ("room", "floor"),
            "  floor: [[0 m, 0 m], [5 m, 0 m],   # the long wall\n"
            "          [5 m, 4 m], [0 m, 4 m]]\n",
            "",
        ),
        (("room", "height"), "  height: 2.7 m  # high\n", ""),
        (("room", "wall_surfaces"), "  wall_surfaces: {2: brick, 3: planks}\n", ""),
        (("room", "wall_surfaces", 2), "{2: brick, 3: planks}", "{3: planks}"),
        (("room", "wall_surfaces", 3), "{2: brick, 3: planks}", "{2: brick}"),
        (
            ("fixtures", "KEY"),  # its comments go, the empty line stays
            "  KEY:       # the big one\n    light: soft box\n    # as it was on the recce\n"
            "    output: 6200 lm  # at full\n    # dim: 50 %\n",
            "",
        ),
        # the comment line above it stays
        (("fixtures", "KEY", "output"), "    output: 6200 lm  # at full\n", ""),
        (("fixtures", "KEY", "light"), "    light: soft box\n", ""),
        (("fixtures", "RIM"), "  RIM: {light: soft box, output: 900 lm}   # small\n", ""),
        (("fixtures", "RIM", "light"), "light: soft box, output: 900 lm", "output: 900 lm"),
        (("setups", "WIDE", "dims"), "    dims: {}\n", ""),
        (
            ("setups", "WIDE", "notes"),
            "    notes:\n      - first: one   # a\n        second: two\n      - first: three\n",
            "",
        ),
        (("setups", "WIDE", "notes", 0, "second"), "        second: two\n", ""),
        (("setups", "WIDE", "notes", 0, "first"), "first: one   # a\n        second", "second"),
    ],
)
@pytest.mark.parametrize("wrap", [lambda text: text, lambda text: "\ufeff" + text, crlf])
def test_only_the_key_goes(
    key_path: KeyPath, old: str, new: str, wrap: Callable[[str], str]
) -> None:
    assert TEXT.count(old) == 1
    assert remove_entry(wrap(TEXT), key_path) == wrap(TEXT.replace(old, new))


@pytest.mark.parametrize(
    ("text", "key_path", "left"),
    [
        # pencil, all of them
        ("b: 1\nc: 2", ("b",), "c: 2"),
        ("b: 1\nc: 2", ("c",), "b: 1"),
        ("\ufeffb: 1\nc: 2\n", ("b",), "\ufeffc: 2\n"),
        ("---\nb: 1\nc: 2\n...\n", ("c",), "---\nb: 1\n...\n"),
        ("a:\n  # for b\n  b: 1\nc: 2\n", ("a", "b"), "  # for b\nc: 2\n"),
        ("a:\n  b:\n    c: 1\n  d: 2\n", ("a", "b", "c"), "a:\n  d: 2\n"),
        ("a:\n  b:\n    c: 1\nd: 2\n", ("a", "b", "c"), "d: 2\n"),
        ("a:\n  b: {c: 1}\nd: 2\n", ("a", "b", "c"), "a:\n  b: {}\nd: 2\n"),
        ("{a: 1, b: 2, c: 3}", ("b",), "{a: 1, c: 3}"),
        ("{a: 1 , b: 2 }", ("b",), "{a: 1 }"),
        ("{a: 1, b: 2,}", ("b",), "{a: 1,}"),
        ("{ a: 1, b: 2 }", ("a",), "{ b: 2 }"),
        ("x: {a: 1,}", ("x", "a"), "x: {}"),
        (THREE, ("x", "a"), "x: {b: 2,  # two\n    c: 3}\n"),
        (THREE, ("x", "b"), "x: {a: 1,  # one\n    c: 3}\n"),
        ("x: {a: 1,  # one\n    b: 2\n   }\n", ("x", "b"), "x: {a: 1  # one\n   }\n"),
        ("x: {a: 1,  # one, of two\n    b: 2}\n", ("x", "b"), "x: {a: 1  # one, of two\n    }\n"),
        ("x: {a: 1, b: 2,  # both\n    c: 3}\n", ("x", "b"), "x: {a: 1,  # both\n    c: 3}\n"),
        ("x: {a: 1,\n    b: 2  # two\n   }\n", ("x", "b"), "x: {a: 1\n   }\n"),
        ("x: {a: 1,  # a\n    # b\n    b: 2}\n", ("x", "a"), "x: {  # a\n    # b\n    b: 2}\n"),
        ("x: {\n  a: 1,  # one\n  # for b\n  b: 2}\n", ("x", "a"), "x: {\n  # for b\n  b: 2}\n"),
        ("a: |\n  one\n  # two\n\nb: 1\n", ("a",), "\nb: 1\n"),
        ("a: 'x: 1'\n'b: 2': \"c\"  # d\n", ("b: 2",), "a: 'x: 1'\n"),
        ("a: one\n  two\nb: 1\n", ("a",), "b: 1\n"),
        ("a:\n- 1\n- 2\nb: 1\n", ("a",), "b: 1\n"),
        ("a:\n  b: !!str 5  # c\n  d: 1\n", ("a", "b"), "a:\n  d: 1\n"),
        ("a : 1\nb: 2\n", ("a",), "b: 2\n"),
        ("a:\nb: 2\n", ("a",), "b: 2\n"),
    ],
)  # fmt: skip
def test_first_last_nested_and_in_braces(text: str, key_path: KeyPath, left: str) -> None:
    assert remove_entry(text, key_path) == left


@pytest.mark.parametrize(
    ("text", "key_path", "what"),
    [
        # snapshot: our own wording
        (TEXT, ("fixtures", "KEE"), "there is no 'fixtures.KEE' in the file"),
        (TEXT, ("fixture", "KEY"), "there is no 'fixture' in the file"),
        (TEXT, ("room", "floor", 0), "this is an item of a list, not a key"),
        (TEXT, ("setups", "WIDE", "notes", 1, "first"), "this is an item of a list, not a key"),
        (TEXT, ("title", "x"), "there is no 'title.x' in the file"),
        (TEXT, (), "nothing else would be left"),
        ("a: 1\n", ("a",), "nothing else would be left"),
        ("a:\n  b: 1\n", ("a", "b"), "nothing else would be left"),
        ("? a\n: 1\nb: 2\n", ("a",), "this cannot be taken out without touching the rest"),
        (
            "a:\n  - b: 1\n    # for c\n    c: 2\n",
            ("a", 0, "b"),
            "this cannot be taken out without touching the rest",
        ),
        ("{b: 2, ? a : 1}", ("a",), "this cannot be taken out without touching the rest"),
        ("[a: 1, b]", (0, "a"), "this is an item of a list, not a key"),
    ],
)
def test_what_cannot_be_taken_out_is_told(text: str, key_path: KeyPath, what: str) -> None:
    with pytest.raises(DocumentError) as caught:
        remove_entry(text, key_path)
    assert caught.value.faults[0].what == what


def test_the_nearest_name_is_offered() -> None:
    with pytest.raises(DocumentError, match="did you mean 'KEY'"):
        remove_entry(TEXT, ("fixtures", "KEE"))


def test_a_long_comment_of_many_marks_is_passed_quickly() -> None:
    text = "x: {a: 1 " + "# " * 2000 + "\n, b: 2}\n"
    assert remove_entry(text, ("x", "b")) == text.replace(", b: 2", " ")  # pencil


def test_every_key_of_a_scene_can_be_taken_out_or_is_refused() -> None:
    taken = 0
    for path, _ in flattened(compose_text(TEXT, "scene")):
        if not path or isinstance(path[-1], int):
            continue
        try:
            left = remove_entry(TEXT, path)
        except DocumentError:
            continue
        taken += 1
        kept = {where for where, _ in flattened(compose_text(left, "scene"))}
        before = {where for where, _ in flattened(compose_text(TEXT, "scene"))}
        gone = {where for where in before if where[: len(path)] == path}
        # the one setup takes its section with it
        assert (before - kept) - {("setups",)} == gone - {("setups",)}
    assert taken == 22  # pencil: 23 keys in TEXT, one of them all that its list's item holds
