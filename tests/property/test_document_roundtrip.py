"""Whatever a scene says: feet and metres agree, edits touch one scalar, nothing crashes."""

from __future__ import annotations

import contextlib
from pathlib import Path

from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from falloff import units
from falloff.document import (
    KeyPath,
    SceneDocument,
    arranged,
    edit_document,
    parse_document,
)
from falloff.document.tree import Node, compose_text, flattened
from falloff.errors import DocumentError

GOOD = Path(__file__).parents[1] / "documents" / "good"
TEXTS = [
    (GOOD / f"{name}.scene.yaml").read_text(encoding="utf-8") for name in ("workshop", "house")
]
ROOM = (GOOD / "room.scene.yaml").read_text(encoding="utf-8")
SCALARS = [
    (text, node)
    for text in TEXTS
    for _, node in flattened(compose_text(text, "scene"))
    if node.kind not in {"list", "map"}
]
ROOM_NODES = dict(flattened(compose_text(ROOM, "room")))
ROOM_SCALARS = [path for path, node in ROOM_NODES.items() if node.kind not in {"list", "map"}]
LENGTHS = [path for path, node in ROOM_NODES.items() if node.value.endswith((" m", " cm"))]

sizes = st.floats(min_value=0.01, max_value=9000.0)


@given(st.integers(0, 10_000), st.integers(0, 11), st.sampled_from([0, 1, 2, 3]))
def test_feet_and_inches_are_the_metres_they_are(feet: int, inches: int, quarters: int) -> None:
    # pencil: 1 in = 0.0254 m
    expected_m = (feet * 12 + inches + quarters / 4.0) * 0.0254
    rest = f" {quarters}/4" if quarters else ""
    assert_allclose(units.parse_length(f"{feet}' {inches}{rest}\""), expected_m, rtol=1e-15)
    assert_allclose(units.parse_length(f"{feet} ft {inches}{rest} in"), expected_m, rtol=1e-15)
    assert_allclose(units.parse_length(f"{expected_m!r} m"), expected_m, rtol=1e-15)


@given(sizes)
def test_a_length_is_the_same_in_every_unit(length_m: float) -> None:
    # pencil: the same length over the unit's size
    for unit, size_m in (("m", 1.0), ("cm", 0.01), ("mm", 0.001), ("ft", 0.3048), ("in", 0.0254)):
        written = f"{length_m / size_m!r} {unit}"
        assert_allclose(units.parse_length(written), length_m, rtol=1e-15)


@given(sizes, st.sampled_from(["1 m", "1 cm", "1 ft", "1 in", "1ft", "35 mm"]))
def test_a_value_written_in_an_old_unit_reads_back(length_m: float, as_written: str) -> None:
    written = units.format_like(length_m, as_written)
    # pencil: at least five figures are kept, so half a unit in the fifth is lost at most
    assert_allclose(units.parse_length(written), length_m, rtol=5e-5)


@given(st.floats(-30.0, 30.0))
def test_people_hear_the_nearest_third(stops: float) -> None:
    said = units.format_stops_thirds(stops)
    words = {"at key": 0.0, "a third": 1.0 / 3.0, "two thirds": 2.0 / 3.0}
    size = said.removesuffix(" over").removesuffix(" under")
    value = words[size] if size in words else units.parse_stops(f"{size} stops")
    sign = -1.0 if said.endswith("under") else 1.0
    assert abs(sign * value - stops) <= 1.0 / 6.0 + 1e-9  # pencil: half of a third


def test_the_text_has_many_scalars_to_edit() -> None:
    # pencil: some 125 lines of four values each; 25 lines of two; a length in each second value
    assert len(SCALARS) > 500
    assert len(ROOM_SCALARS) > 50
    assert len(LENGTHS) > 25


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(ROOM_SCALARS), st.text(min_size=1, max_size=12))
def test_an_edit_changes_one_scalar_and_no_other_character(path: KeyPath, value: str) -> None:
    assume(value.strip())
    try:
        edited = edit_document(ROOM, path, value)
    except DocumentError:
        # only what no YAML text can hold may be refused
        assert not all(one.isprintable() or one in "\n\t" for one in value)
        return
    old = ROOM_NODES[path]
    end = len(ROOM) - old.end
    assert edited[: old.start] == ROOM[: old.start]
    assert edited[len(edited) - end :] == ROOM[old.end :]
    after = {where: node.value for where, node in flattened(compose_text(edited, "room"))}
    before = {where: node.value for where, node in ROOM_NODES.items()}
    differing = [where for where in before if after[where] != before[where]]
    assert differing in ([], [path])
    assert list(after) == list(before)


@settings(max_examples=20, deadline=None)
@given(st.sampled_from(LENGTHS), st.floats(0.3, 0.9))
def test_an_edited_length_reads_back_alike_in_feet_and_in_metres(
    path: KeyPath, length_m: float
) -> None:
    told = []
    for written in (f"{length_m!r} m", f"{length_m / 0.3048!r} ft"):
        edited = edit_document(ROOM, path, written)
        node = dict(flattened(compose_text(edited, "room")))[path]
        assert node.value == written
        told.append(units.parse_length(node.value))
    assert_allclose(told, length_m, rtol=1e-15)  # pencil: 1 ft = 0.3048 m


def look_at(document: SceneDocument) -> None:
    """What was read can stand: in each setup, and again so once it stands."""
    for name in document.setups:
        standing = arranged(document, name)
        assert arranged(standing, name) == standing


@settings(max_examples=100, deadline=None)
@given(st.one_of(st.text(max_size=200), st.text("[]{}:,- \n'\"&*!|>#%@`?.m0123\t", max_size=80)))
def test_random_text_is_refused_but_never_crashes(text: str) -> None:
    with contextlib.suppress(DocumentError):
        parse_document(text, "random.scene.yaml")


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_a_damaged_scene_is_refused_or_read_but_never_crashes(data: st.DataObject) -> None:
    text = data.draw(st.sampled_from(TEXTS))
    start = data.draw(st.integers(0, len(text)))
    length = data.draw(st.integers(0, 40))
    inserted = data.draw(st.text(max_size=10))
    with contextlib.suppress(DocumentError):
        look_at(parse_document(text[:start] + inserted + text[start + length :], "damaged"))


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(SCALARS),
    st.sampled_from(
        ["", "0", "-1 m", "1e300 m", ".nan", "~", "[]", "{}", "[[]]", "{a: b}", "true", "0x1F",
         "1e999", "down", "camera", "outside", "HALL", "table", "KEY.face", "WIDE SHOT",
         "MAKER", "MAKER.face", "KEY", "1000000000000000000000 m", "-0 m",
         "12", "9" * 5000]
    ),
)  # fmt: skip
def test_any_value_anywhere_is_refused_or_read_but_never_crashes(
    scalar: tuple[str, Node], value: str
) -> None:
    text, node = scalar
    with contextlib.suppress(DocumentError):
        look_at(parse_document(text[: node.start] + value + text[node.end :], "odd"))


@settings(max_examples=30, deadline=None)
@given(st.sampled_from(SCALARS), st.sampled_from(SCALARS))
def test_a_value_in_anothers_place_never_crashes(
    scalar: tuple[str, Node], other: tuple[str, Node]
) -> None:
    (text, node), (source, taken) = scalar, other
    written = source[taken.start : taken.end]
    with contextlib.suppress(DocumentError):
        look_at(parse_document(text[: node.start] + written + text[node.end :], "odd"))
