"""Numbers and positions, down to the forms that YAML has and people seldom write."""

from __future__ import annotations

import msgspec
import pytest

from falloff.document import Positions, key_path_text, parse_document
from falloff.errors import DocumentError

SCENE = """\
falloff: 1
title: One room
units: metric
room:
  floor: [[0 m, 0 m], [5 m, 0 m], [5 m, 4 m], [0 m, 4 m]]
  height: 2.7 m
  floor_surface: planks
  ceiling_surface: planks
  wall_surface: planks
materials: {planks: {reflectance: NUMBER}}
"""


@pytest.mark.parametrize(
    ("written", "reflectance"),
    # source: YAML 1.2.2, 10.3.2 (core schema): decimal, exponent, octal and hexadecimal forms;
    # 0b is the reading library's own
    [
        ("0.5", 0.5),
        (".5", 0.5),
        ("5e-1", 0.5),
        ("+0.5", 0.5),
        ("1", 1.0),
        ("0x1", 1.0),
        ("0o1", 1.0),
        ("0b1", 1.0),
    ],
)
def test_forms_of_a_number(written: str, reflectance: float) -> None:
    document = parse_document(SCENE.replace("NUMBER", written))
    assert document.materials["planks"].reflectance == reflectance


@pytest.mark.parametrize(
    "written", [".inf", "-.inf", ".nan", ".NaN", "1e999", "'0.5'", "half", "2"]
)
def test_what_is_no_reflectance(written: str) -> None:
    with pytest.raises(DocumentError):
        parse_document(SCENE.replace("NUMBER", written))


def test_a_document_knows_its_own_file() -> None:
    document = parse_document(SCENE.replace("NUMBER", "0.5"), "folder/one.scene.yaml")
    assert document.file_name == "one.scene.yaml"  # pencil
    assert document.position_of(("room", "height")) == (6, 11)  # pencil
    nowhere = msgspec.structs.replace(document, seen=Positions({}))
    assert nowhere.position_of(("room", "height")) == (1, 1)  # pencil: the start of the file


def test_key_paths_as_people_read_them() -> None:
    # pencil
    assert key_path_text(("room", "floor", 0, 1)) == "room.floor[0][1]"
    assert key_path_text(("setups", "WIDE SHOT", "dims", "KEY")) == "setups.WIDE SHOT.dims.KEY"


def test_positions_tell_odd_names_apart() -> None:
    # source: RFC 6901, 3: ~ is written ~0 and / is written ~1
    odd = SCENE.replace("NUMBER", "0.5").replace("{planks: {", "{a/b: {reflectance: 1}, planks: {")
    document = parse_document(odd)
    assert document.seen.has(("materials", "a/b", "reflectance"))
    assert not document.seen.has(("materials", "a", "b"))


def test_a_number_of_an_older_yaml_is_refused_rather_than_guessed() -> None:
    # source: YAML 1.1 float type: 1:30.0 is base 60, which 1.2 dropped
    with pytest.raises(DocumentError, match="this is no finite number"):
        parse_document("%YAML 1.1\n---\n" + SCENE.replace("NUMBER", "1:30.0"))


def test_brackets_in_comments_do_not_count() -> None:
    comment = "# [[[[ a plan of the room\n" * 50
    assert parse_document(comment + SCENE.replace("NUMBER", "0.5")).title == "One room"
