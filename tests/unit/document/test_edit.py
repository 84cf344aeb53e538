"""Edits rewrite, add or take out one value and leave every other character alone."""

from __future__ import annotations

import os
import stat
from collections.abc import Callable
from pathlib import Path

import pytest

from falloff.document import (
    KeyPath,
    SceneDocument,
    edit_document,
    read_document,
    take_out,
    write_entry,
    write_value,
)
from falloff.errors import DocumentError, OutputError

TEXT = """\
# a scene
falloff: 1   # the format
title: 'One: room'
units: metric
room:
  floor: [[0 m, 0 m], [5 m, 0 m],   # the long wall
          [5 m, 4 m], [0 m, 4 m]]
  height: 2.7 m  # high
  floor_surface: "planks"
  ceiling_surface: plaster
  wall_surface: plaster
  wall_surfaces: {2: brick}
practicals:
  GLOBE: {light: globe, diameter: 12 cm, output: 600 lm, colour: 2700 K, at: [1 m, 1 m], power: }
"""


@pytest.mark.parametrize(
    ("key_path", "value", "old", "new"),
    [
        # pencil: what stands in the text, and what must stand there instead
        (("room", "height"), "8' 6\"", "height: 2.7 m  #", "height: 8' 6\"  #"),
        (("room", "floor", 1, 0), "6 m", "[5 m, 0 m]", "[6 m, 0 m]"),
        (("title",), "Two", "'One: room'", "'Two'"),
        (("title",), "it's two", "'One: room'", "'it''s two'"),
        (("room", "floor_surface"), 'so "called"', '"planks"', '"so \\"called\\""'),
        (("units",), "imperial", "units: metric", "units: imperial"),
        (("units",), "a: b", "units: metric", "units: 'a: b'"),
        (("units",), "a # b", "units: metric", "units: 'a # b'"),
        (("units",), "null", "units: metric", "units: 'null'"),
        (("units",), "*a", "units: metric", "units: '*a'"),
        (("units",), "  wide  ", "units: metric", "units: wide"),
        (("practicals", "GLOBE", "at", 0), "a, b]", "at: [1 m,", "at: ['a, b]',"),
        (("practicals", "GLOBE", "power"), "7 W", "power: }", "power: 7 W }"),
        (("room", "wall_surfaces", 2), "料理", "{2: brick}", "{2: 料理}"),
        (("falloff",), "2", "falloff: 1   #", "falloff: 2   #"),
    ],
)
def test_only_the_scalar_changes(key_path: KeyPath, value: str, old: str, new: str) -> None:
    assert TEXT.count(old) == 1
    assert edit_document(TEXT, key_path, value) == TEXT.replace(old, new)


@pytest.mark.parametrize(
    "wrap",
    [lambda text: text, lambda text: "\ufeff" + text, lambda text: text.replace("\n", "\r\n")],
)
def test_line_ends_and_a_byte_order_mark_stay(wrap: Callable[[str], str]) -> None:
    before = wrap(TEXT)
    after = edit_document(before, ("room", "height"), "3 m")
    assert after == before.replace("2.7 m", "3 m")


def test_the_same_value_gives_the_same_text() -> None:
    assert edit_document(TEXT, ("room", "height"), "2.7 m") == TEXT
    assert edit_document(TEXT, ("title",), "One: room") == TEXT


@pytest.mark.parametrize(
    ("key_path", "value", "what"),
    [
        # snapshot: our own wording
        (("room", "hieght"), "3 m", "there is no 'room.hieght' in the file"),
        (("room", "floor", 9, 0), "3 m", "there is no 'room.floor[9]' in the file"),
        (("room", "floor"), "3 m", "this holds a list"),
        (("room",), "3 m", "this holds a group of keys"),
        (("room", "height"), "  ", "a value cannot be replaced by nothing"),
        (("room", "height", "x"), "1 m", "there is no 'room.height.x' in the file"),
    ],
)
def test_what_cannot_be_edited_is_told(key_path: KeyPath, value: str, what: str) -> None:
    with pytest.raises(DocumentError) as caught:
        edit_document(TEXT, key_path, value)
    assert caught.value.faults[0].what == what


def test_a_text_over_several_lines_is_left_to_a_person() -> None:
    with pytest.raises(DocumentError, match="a text over several lines"):
        edit_document("title: |\n  one\n  two\n", ("title",), "three")


def test_a_character_that_yaml_cannot_hold_is_written_as_an_escape_or_refused() -> None:
    edited = edit_document(TEXT, ("units",), "a\nb")
    assert edited == TEXT.replace("units: metric", 'units: "a\\nb"')  # pencil: YAML 1.2, 5.7


# Writing to disk -------------------------------------------------------------------------


@pytest.fixture
def scene(tmp_path: Path) -> Path:
    path = tmp_path / "one.scene.yaml"
    path.write_bytes(TEXT.replace(", power: ", "").encode())
    return path


def test_a_value_is_written_and_read_back(scene: Path) -> None:
    document = read_document(scene)
    before = scene.read_bytes()
    changed = write_value(document, ("room", "height"), "3 m")
    assert scene.read_bytes() == before.replace(b"2.7 m", b"3 m")
    assert changed.room.height.text == "3 m"
    assert changed == read_document(scene)
    again = write_value(changed, ("room", "height"), "2.7 m")
    assert scene.read_bytes() == before
    assert again == document
    assert os.listdir(scene.parent) == [scene.name]  # no temporary file is left


def test_a_value_that_breaks_the_scene_is_not_written(scene: Path) -> None:
    document, before = read_document(scene), scene.read_bytes()
    with pytest.raises(DocumentError, match="3 has no unit"):
        write_value(document, ("room", "height"), "3")
    assert scene.read_bytes() == before


def test_a_file_that_has_changed_since_is_not_overwritten(scene: Path) -> None:
    document = read_document(scene)
    scene.write_text(scene.read_text() + "# a note\n")
    before = scene.read_bytes()
    with pytest.raises(DocumentError, match="has changed on disk"):
        write_value(document, ("room", "height"), "3 m")
    assert scene.read_bytes() == before


def test_a_change_while_writing_is_seen(scene: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    document = read_document(scene)

    def meddle(handle: int) -> None:
        scene.write_text(scene.read_text() + "# a note\n")

    monkeypatch.setattr(os, "fsync", meddle)
    with pytest.raises(DocumentError, match="has changed on disk"):
        write_value(document, ("room", "height"), "3 m")
    assert scene.read_text().endswith("# a note\n")
    assert os.listdir(scene.parent) == [scene.name]


def test_rights_and_links_are_kept(scene: Path, tmp_path: Path) -> None:
    scene.chmod(0o640)
    link = tmp_path / "link.scene.yaml"
    link.symlink_to(scene)
    write_value(read_document(link), ("room", "height"), "3 m")
    assert link.is_symlink()
    assert stat.S_IMODE(scene.stat().st_mode) == 0o640
    assert b"height: 3 m" in scene.read_bytes()


def test_a_full_disk_is_told_and_leaves_the_old_file(
    scene: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    document, before = read_document(scene), scene.read_bytes()

    def fail(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(OutputError, match="No space left"):
        write_value(document, ("room", "height"), "3 m")
    assert scene.read_bytes() == before
    assert os.listdir(scene.parent) == [scene.name]


def test_a_value_that_reads_as_more_than_one_is_put_in_quotes() -> None:
    edited = edit_document(TEXT, ("room", "floor", 0, 0), "0 m, 1 m")
    # pencil: a comma in a list would make two of one
    assert edited == TEXT.replace("[[0 m, 0 m], [5 m", "[['0 m, 1 m', 0 m], [5 m")


def test_a_value_is_put_where_nothing_stands() -> None:
    # pencil: on its key's own line, before the comment there
    assert edit_document("a:\nb: 2\n", ("a",), "1") == "a: 1\nb: 2\n"
    assert edit_document("a:  # one\nb: 2\n", ("a",), "1") == "a: 1  # one\nb: 2\n"
    assert edit_document("x:\n  - \n  - 2\n", ("x", 0), "1") == "x:\n  - 1 \n  - 2\n"


def test_a_mark_before_a_value_stays() -> None:
    assert edit_document("a: !!str 5\n", ("a",), "6") == "a: !!str 6\n"  # pencil


# Adding and taking out on disk ------------------------------------------------------------

SCENE = (Path(__file__).parents[2] / "documents" / "good" / "room.scene.yaml").read_bytes()
GLOBE = "{light: globe, diameter: 12 cm, output: 600 lm, colour: 2700 K, at: [1 m, 1 m, 2 m]}"


@pytest.fixture(params=[b"\n", b"\r\n"], ids=["lf", "crlf"])
def furnished(tmp_path: Path, request: pytest.FixtureRequest) -> Path:
    path = tmp_path / "room.scene.yaml"
    path.write_bytes(SCENE.replace(b"\n", request.param))
    return path


def test_an_entry_is_written_read_back_and_taken_out(furnished: Path) -> None:
    before, document = furnished.read_bytes(), read_document(furnished)
    added = write_entry(document, ("practicals", "GLOBE"), GLOBE)
    assert list(added.practicals) == ["GLOBE"]
    assert added == read_document(furnished)
    line = b"\n" if b"\r\n" not in before else b"\r\n"
    assert (
        furnished.read_bytes()
        == before + b"practicals:" + line + b"  GLOBE: " + GLOBE.encode() + line
    )
    left = take_out(added, ("practicals", "GLOBE"))
    assert furnished.read_bytes() == before
    assert left == document
    assert [one.name for one in furnished.parent.iterdir()] == [
        furnished.name
    ]  # no temporary file is left


def test_what_is_relative_and_its_units_stay(furnished: Path) -> None:
    document = read_document(furnished)
    at = "5 ft from MAKER, 4 o'clock, 6 ft up"
    value = f'{{light: globe, diameter: 5 in, output: 600 lm, colour: 2700 K, at: "{at}"}}'
    added = write_entry(document, ("practicals", "GLOBE"), value)
    assert added.practicals["GLOBE"].at.distance.text == "5 ft"  # type: ignore[union-attr]
    assert value.encode() in furnished.read_bytes()
    added = write_entry(added, ("setups", "A", "dims", "GLOBE"), "50 %")
    assert value.encode() in furnished.read_bytes()
    assert b"dims: {KEY: 60 %, GLOBE: 50 %}" in furnished.read_bytes()
    assert added.setups["A"].dims["GLOBE"].text == "50 %"


@pytest.mark.parametrize(
    ("change", "match"),
    [
        (lambda one: write_entry(one, ("practicals", "GLOBE"), "{light: globe}"), "needs"),
        (lambda one: write_entry(one, ("fixturs", "GLOBE"), GLOBE), "has no key 'fixturs'"),
        (lambda one: take_out(one, ("subjects", "MAKER")), "nothing is named 'MAKER'"),
        (lambda one: take_out(one, ("room", "height")), "height"),
    ],
)
def test_a_change_that_breaks_the_scene_is_not_written(
    furnished: Path, change: Callable[[SceneDocument], SceneDocument], match: str
) -> None:
    before, document = furnished.read_bytes(), read_document(furnished)
    with pytest.raises(DocumentError, match=match):
        change(document)
    assert furnished.read_bytes() == before


CHANGES = [
    lambda one: write_entry(one, ("practicals", "GLOBE"), GLOBE),
    lambda one: take_out(one, ("setups", "A", "dims")),
]


@pytest.mark.parametrize("change", CHANGES, ids=["added", "taken out"])
def test_no_key_goes_into_a_file_that_has_changed_since(
    furnished: Path, change: Callable[[SceneDocument], SceneDocument]
) -> None:
    document = read_document(furnished)
    furnished.write_bytes(furnished.read_bytes() + b"# a note\n")
    before = furnished.read_bytes()
    with pytest.raises(DocumentError, match="has changed on disk"):
        change(document)
    assert furnished.read_bytes() == before


@pytest.mark.parametrize("change", CHANGES, ids=["added", "taken out"])
def test_a_change_while_a_key_is_written_is_seen(
    furnished: Path,
    change: Callable[[SceneDocument], SceneDocument],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    document, before = read_document(furnished), furnished.read_bytes()
    monkeypatch.setattr("os.fsync", lambda handle: furnished.write_bytes(before + b"# a note\n"))
    with pytest.raises(DocumentError, match="has changed on disk"):
        change(document)
    assert furnished.read_bytes() == before + b"# a note\n"
    assert [one.name for one in furnished.parent.iterdir()] == [furnished.name]
