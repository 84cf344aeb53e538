"""Edits of a scene as values: the tree says at once what the edited text will say."""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Iterable
from pathlib import Path

import msgspec
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

import falloff.session
from falloff.document import (
    Add,
    Edit,
    KeyPath,
    Put,
    Remove,
    Rewrite,
    SceneDocument,
    compose_text,
    dimmed_document,
    edit_text,
    edit_tree,
    parse_document,
    parse_tree,
)
from falloff.document.tree import Node, flattened
from falloff.errors import DocumentError

SHIPPED = Path(falloff.session.__file__).parent / "data"
GOOD = Path(__file__).parents[2] / "documents" / "good"
SCENES = {
    path.name.removesuffix(".scene.yaml"): path.read_bytes().decode()
    for folder in (GOOD, SHIPPED)
    for path in sorted(folder.glob("*.scene.yaml"))
}
SCENES |= {f"shipped {path.name.removesuffix('.scene.yaml')}": path.read_bytes().decode()
           for path in SHIPPED.glob("*.scene.yaml")}  # fmt: skip
QUICK = ["room", "names", "fixtures", "practicals", "old", "smallest", "grip"]
BLOCK = """\
# a remark at the top
falloff: 2
title: 'One: room'   # its name
units: metric
room:
  floor: [[0 m, 0 m], [5 m, 0 m], [5 m, 4 m], [0 m, 4 m]]
  height: 2.7 m  # high
  floor_surface: "planks"
  ceiling_surface: plaster
  wall_surface: plaster
  wall_surfaces: {2: brick}
practicals:
  GLOBE:
    light: globe
    diameter: 12 cm
    output: 600 lm
    colour: 2700 K
    at: [1 m, 1 m]     # low
    # below it
  LAMP: {light: globe, diameter: 12 cm, output: 600 lm, colour: 2700 K, at: [2 m, 1 m, 1 m]}
"""


@functools.cache
def tree_of(text: str) -> Node:
    return compose_text(text, "scene")


def said(document: SceneDocument) -> SceneDocument:
    """A document without where its text stands."""
    return msgspec.structs.replace(document, seen=document.seen.__class__({}), checksum="")


def both(text: str, edits: Iterable[Edit]) -> tuple[SceneDocument, SceneDocument]:
    """The document by way of the tree, and by way of the text."""
    made = tuple(edits)
    by_tree = parse_tree(edit_tree(tree_of(text), made), "scene")
    return by_tree, parse_document(edit_text(text, made), "scene")


def assert_alike(text: str, *edits: Edit) -> str:
    """Both ways say the same; the edited text."""
    by_tree, by_text = both(text, edits)
    assert said(by_tree) == said(by_text)
    edited = edit_text(text, edits)
    for path, _ in flattened(compose_text(edited, "scene")):
        assert by_tree.seen.has(path), path
    return edited


# The text --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("edit", "old", "new"),
    [
        # pencil: what stands in the text, and what must stand there instead
        (Put(("room", "height"), "9 ft"), "height: 2.7 m  #", "height: 9 ft  #"),
        (Put(("title",), "it's"), "'One: room'   #", "'it''s'   #"),
        (Put(("room", "wall_surfaces", 2), "oak"), "{2: brick}", "{2: oak}"),
        (
            Put(("practicals", "GLOBE", "at", 0), "2 m"),
            "at: [1 m, 1 m]     #",
            "at: [2 m, 1 m]     #",
        ),
        (
            Rewrite(("practicals", "GLOBE", "at"), "[1 m, 1 m, 3 m]"),
            "[1 m, 1 m]     #",
            "[1 m, 1 m, 3 m]     #",
        ),
        (Rewrite(("room", "wall_surfaces"), "{3: oak}"), "{2: brick}", "{3: oak}"),
        (Rewrite(("practicals", "LAMP", "at"), "{on: BENCH}"), "[2 m, 1 m, 1 m]", "{on: BENCH}"),
        (Rewrite(("units",), "imperial"), "units: metric", "units: imperial"),
        (
            Add(("practicals", "GLOBE", "power"), "7 W"),
            "    # below it\n",
            "    # below it\n    power: 7 W\n",
        ),
        (Remove(("practicals", "GLOBE", "output")), "    output: 600 lm\n    colour", "    colour"),
        (Remove(("room", "wall_surfaces")), "  wall_surfaces: {2: brick}\n", ""),
    ],
)
def test_every_other_character_stays(edit: Edit, old: str, new: str) -> None:
    assert BLOCK.count(old) == 1
    assert edit_text(BLOCK, [edit]) == BLOCK.replace(old, new)


def test_a_list_over_lines_is_written_anew_on_one() -> None:
    text = "a:\n  b:\n    - 1\n    - 2\n  c: 3  # kept\n"
    edited = edit_text(text, [Rewrite(("a", "b"), "[4, 5]")])
    assert edited == "a:\n  b:\n    [4, 5]\n  c: 3  # kept\n"  # pencil


def test_puts_among_other_edits_find_what_those_made() -> None:
    edits: list[Edit] = [
        Put(("title",), "Two"),
        Add(("practicals", "NEW"), "{light: globe, at: [1 m, 2 m]}"),
        Put(("practicals", "NEW", "at", 0), "3 m"),
        Rewrite(("practicals", "NEW", "at"), "[4 m, 4 m]"),
        Put(("practicals", "NEW", "at", 1), "5 m"),
        Remove(("practicals", "NEW", "light")),
        Put(("title",), "Three"),
    ]
    wanted = BLOCK.replace("One: room", "Three") + "  NEW: {at: [4 m, 5 m]}\n"  # pencil
    assert edit_text(BLOCK, edits) == wanted


@pytest.mark.parametrize(
    ("text", "step"),
    [(BLOCK, 2), (SCENES["names"], 5), (SCENES["shipped workshop"], 11)],
    ids=["block", "names", "workshop"],
)
def test_several_puts_at_once_are_puts_one_after_another(text: str, step: int) -> None:
    scalars = [path for path, node in flattened(tree_of(text)) if node.kind in {"text", "number"}]
    tricky = ["it's", "a, b", "12", "x: y", "9 ft", 'say "so"', "[1", "# no"]
    puts = [Put(path, tricky[n % len(tricky)]) for n, path in enumerate(scalars[3:36:step])]
    one_by_one = text
    for put in puts:
        one_by_one = edit_text(one_by_one, [put])
    assert one_by_one != text
    assert edit_text(text, puts) == one_by_one


# The tree says the same ------------------------------------------------------------------

SETUP_MOVED = "{like: A, moved: {BENCH: {at: [3 m, 2 m]}}}"


@pytest.mark.parametrize(
    ("scene", "edits"),
    [
        ("room", [Put(("fixtures", "KEY", "at", 2), "7' 2\"")]),
        ("room", [Put(("title",), "5")]),
        ("room", [Put(("title",), "null")]),
        ("room", [Put(("setups", "A", "dims", "KEY"), "12.5 %")]),
        ("room", [Add(("setups", "A", "nd"), "ND 0.3"), Put(("setups", "A", "nd"), "ND 0.6")]),
        ("room", [Add(("practicals",), "{G: {light: candle, at: [1 m, 1 m, 1 m]}}")]),
        ("room", [Add(("practicals", "G"), "{light: candle, at: [1 m, 1 m, 1 m]}")]),
        ("room", [Add(("room", "wall_surfaces"), "{2: plaster}"),
                  Put(("room", "wall_surfaces", 2), "oak")]),
        ("room", [Add(("setups", "B"), SETUP_MOVED)]),
        ("room", [Rewrite(("fixtures", "KEY", "aim"), "[1 m, 2 m, 1 m]")]),
        ("room", [Rewrite(("fixtures", "KEY", "at"), "\"5 ft from MAKER, 4 o'clock, 6 ft up\"")]),
        ("room", [Rewrite(("openings", "WINDOW", "wall"), "2")]),
        ("room", [Remove(("setups", "A", "key")), Put(("title",), "no key")]),
        ("names", [Put(("subjects", "料理人", "at", "clock"), "7:40")]),
        ("names", [Put(("title",), "plain")]),
        ("names", [Put(("setups", 1, "camera"), "Ünten no 2"),
                   Remove(("setups", "सेटअप", "dims", "ضوء النافذة"))]),
        ("names", [Rewrite(("setups", "सेटअप", "moved", "🏺", "at"), "[4 m, 3 m]")]),
        ("old", [Put(("subjects", "MAKER", "figure"), "man seated")]),
        ("old", [Put(("falloff",), "2"), Put(("subjects", "MAKER", "figure"), "man seated")]),
        ("old", [Put(("units",), "imperial")]),
        ("house", [Put(("room", "slope", "ridge"), "3.8 m"),
                   Put(("openings", "WINDOW", "dressing", 1, "tilt"), "30 deg"),
                   Remove(("targets", "ratio")),
                   Add(("setups", "EMPTY ROOM", "nd"), "1 stop")]),
        ("house", [Remove(("openings", "WINDOW", "dressing", 1, "slat"))]),
        ("kit", [Put(("units",), "imperial")]),
        ("sunny", [Put(("sky", "sun", "altitude"), "20 deg")]),
        ("shipped kitchen", [Put(("fixtures", "MOON", "output"), "900 lm"),
                             Add(("setups", "CLOSE-UP", "dims"), "{PHONE: 50 %}")]),
        ("shipped stairwell", [Put(("units",), "imperial")]),
    ],
)  # fmt: skip
def test_tree_and_text_say_the_same(scene: str, edits: list[Edit]) -> None:
    edited = assert_alike(SCENES[scene], *edits)
    kept = [line for line in SCENES[scene].splitlines() if line.lstrip().startswith("#")]
    assert [line for line in edited.splitlines() if line.lstrip().startswith("#")] == kept


def test_what_a_new_text_is_read_as() -> None:
    """pencil: plain 5 is a number, in quotes a text; what is no plain scalar will be quoted."""
    text = "a: x\nb: 'x'\nc: 3\nd: 4\n"
    puts = [Put((key,), told) for key, told in zip("abcd", ("5", "5", "{d: e}", "[1"), strict=True)]
    assert [(value.kind, value.value) for _, value in edit_tree(tree_of(text), puts).entries] == [
        ("number", "5"),
        ("text", "5"),
        ("text", "{d: e}"),
        ("text", "[1"),
    ]
    assert edit_text(text, puts) == "a: 5\nb: '5'\nc: '{d: e}'\nd: '[1'\n"


def test_a_tree_that_is_edited_is_not_changed_itself() -> None:
    root = compose_text(BLOCK, "scene")
    edited = edit_tree(root, [Put(("room", "height"), "3 m"), Remove(("title",))])
    assert root == compose_text(BLOCK, "scene")
    assert edited.entries[-1][1] is root.entries[-1][1]  # branches beside are the same objects


def outcome(read: Callable[[], SceneDocument]) -> SceneDocument | list[str]:
    """What was read, or what is wrong with it."""
    try:
        return said(read())
    except DocumentError as error:
        return [one.what for one in error.faults]


def _other(text: str) -> st.SearchStrategy[str]:
    """Other texts of the same kind as one that was written."""
    found = re.fullmatch(r"([-+]?\d+(?:\.\d+)?)( ?[a-zA-Z%°]*)", text)
    if found:
        number = float(found[1])
        return st.sampled_from([0.5, 0.9, 1.1, 2.0, -1.0]).map(
            lambda factor: f"{number * factor:.4g}{found[2]}"
        )
    return st.sampled_from(["metric", "oak", "KEY", "it's", "a, b", "12", "x: y", "null", "“q”",
                            "no # remark", "- a", "'", '"', "MAKER.face", "down", "Ä"])  # fmt: skip


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
@given(st.data())
def test_any_scalar_put_reads_the_same_in_tree_and_text(data: st.DataObject) -> None:
    text = SCENES[data.draw(st.sampled_from(QUICK))]
    scalars: list[tuple[KeyPath, Node]] = [
        (path, node)
        for path, node in flattened(tree_of(text))
        if node.kind not in {"list", "map"} and path[-1:] != ("falloff",)
    ]
    path, node = data.draw(st.sampled_from(scalars))
    put = Put(path, data.draw(_other(node.value)))
    try:
        edited = edit_text(text, [put])
    except DocumentError:
        assume(False)
    by_text = outcome(lambda: parse_document(edited, "scene"))
    assert outcome(lambda: parse_tree(edit_tree(tree_of(text), [put]), "scene")) == by_text


# Refusals --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("edit", "what"),
    [
        # snapshot: our own wording
        (Put(("room", "hieght"), "3 m"), "there is no 'room.hieght' in the file"),
        (Put(("room",), "3 m"), "this holds a group of keys"),
        (Put(("room", "height"), " "), "a value cannot be replaced by nothing"),
        (
            Put(("practicals", "GLOBE", "at", 5), "1 m"),
            "there is no 'practicals.GLOBE.at[5]' in the file",
        ),
        (
            Put(("practicals", "GLOBE", "at", -1), "1 m"),
            "there is no 'practicals.GLOBE.at[-1]' in the file",
        ),
        (Add(("title",), "Two"), "there is a 'title' already"),
        (
            Add(("practicals", "NOBODY", "at"), "[1 m, 1 m]"),
            "there is no 'practicals.NOBODY' in the file",
        ),
        (Add(("practicals", "GLOBE", "power"), ""), "a key cannot be added with nothing"),
        (
            Rewrite(("practicals", "GLOBE", "aim"), "down"),
            "there is no 'practicals.GLOBE.aim' in the file",
        ),
        (Rewrite(("practicals", "GLOBE", "at", 0), "1 m"), "this is an item of a list, not a key"),
        (Rewrite(("title",), ""), "a key cannot be added with nothing"),
        (
            Remove(("practicals", "GLOBE", "power")),
            "there is no 'practicals.GLOBE.power' in the file",
        ),
        (Remove(("practicals", "GLOBE", "at", 0)), "this is an item of a list, not a key"),
    ],
)
def test_tree_and_text_refuse_alike(edit: Edit, what: str) -> None:
    for refusing in (lambda: edit_tree(tree_of(BLOCK), [edit]), lambda: edit_text(BLOCK, [edit])):
        with pytest.raises(DocumentError) as caught:
            refusing()
        assert caught.value.faults[0].what == what


def test_a_value_over_lines_is_not_written_into_one() -> None:
    with pytest.raises(DocumentError, match="this cannot be written here"):
        edit_text(BLOCK, [Rewrite(("practicals", "GLOBE", "at"), "{on: X,\n offset: [1 m, 1 m]}")])


@pytest.mark.parametrize("path", [("room", "wall_surfaces", 2), ("room", "wall_surfaces", "2")])
def test_a_groups_last_key_is_taken_out_by_the_text_alone(path: KeyPath) -> None:
    with pytest.raises(DocumentError, match="this is its group's last key"):
        edit_tree(tree_of(BLOCK), [Remove(path)])
    assert edit_text(BLOCK, [Remove(path)]) == BLOCK.replace("{2: brick}", "{}")  # pencil


def test_nothing_is_no_change() -> None:
    assert edit_text(BLOCK, []) == BLOCK
    assert edit_tree(tree_of(BLOCK), []) is tree_of(BLOCK)


LIKES = """
  CLOSER: {like: CLOSE-UP, dims: {GLOBE: 30 %}}
  APART: {like: WIDE SHOT, dims: {BOOK: 20 %}}
"""


@pytest.mark.parametrize("setup", ["WIDE SHOT", "CLOSE-UP", "CLOSER", "APART"])
@pytest.mark.parametrize("light", ["BOOK", "GLOBE"])
@pytest.mark.parametrize("text", ["70.5 %", "0 %", "100 %", "5 stops", "120 %", "half"])
def test_a_dim_put_by_the_short_way_reads_as_by_the_long_one(
    setup: str, light: str, text: str
) -> None:
    scene = (
        (Path(falloff.session.__file__).parent / "data/workshop.scene.yaml")
        .read_text(encoding="utf-8")
        .replace("dims: {BOOK: 90 %}}\n", "dims: {BOOK: 90 %}}" + LIKES)
        .replace("key: key cheek}", "key: key cheek, dims: {GLOBE: 60 %}}")
    )
    root = compose_text(scene, "scene")
    document = parse_tree(root, "scene")
    edit = Put(("setups", setup, "dims", light), text)
    short = dimmed_document(document, [edit])
    written = document.seen.has(edit.key_path)
    if not written or text in {"5 stops", "120 %", "half"}:
        assert short is None
        return
    assert short == parse_tree(edit_tree(root, [edit]), "scene")
