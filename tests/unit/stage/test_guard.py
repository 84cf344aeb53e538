"""What cannot stand where it is written is told, all at once, with its place in the file."""

from __future__ import annotations

import pytest

from falloff.document import parse_document
from falloff.errors import GeometryError
from falloff.stage import build_stage

ROOM = """falloff: 1
title: Small
units: metric
room: {floor: [[0 m, 0 m], [4 m, 0 m], [4 m, 4 m], [0 m, 4 m]], height: 2.5 m,
       floor_surface: oak, ceiling_surface: white paint, wall_surface: plaster}
props:
  CHEST: {shape: box, size: [1 m, 1 m, 2 m], at: [3 m, 3 m], turn: 30 deg, surface: oak}
  DRUM: {shape: cylinder, diameter: 60 cm, height: 2 m, at: [1 m, 3 m], surface: steel}
subjects:
  HOST: {figure: seated, at: [2 m, 2 m], facing: -90 deg, skin: 0.3, hair: dark hair,
         top: grey cotton, trousers: dark denim}
fixtures:
  KEY: {light: soft box, size: [60 cm, 60 cm], depth: 30 cm, output: 4000 lm, colour: 5600 K,
        at: [1 m, 1 m, 1.8 m], aim: HOST.face}
cameras:
  A: {at: [2 m, 0.4 m, 1.3 m], aim: HOST.face, lens: 35 mm}
readings:
  floor: {at: [2 m, 3.5 m, 0 m], normal: [0, 0, 1]}
"""


def faults(*changes: tuple[str, str]) -> str:
    text = ROOM
    for old, new in changes:
        assert text.count(old) == 1
        text = text.replace(old, new)
    with pytest.raises(GeometryError) as caught:
        build_stage(parse_document(text, "small.scene.yaml"))
    assert all(fault.line and fault.column and fault.fix for fault in caught.value.faults)
    return str(caught.value)


def test_the_room_itself_stands() -> None:
    assert build_stage(parse_document(ROOM)).bodies.keys() >= {"CHEST", "DRUM", "HOST", "KEY"}


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("at: [2 m, 0.4 m, 1.3 m]", "at: [3 m, 3 m, 1.3 m]", "A is inside CHEST"),
        ("at: [2 m, 0.4 m, 1.3 m]", "at: [1 m, 3.1 m, 1.3 m]", "A is inside DRUM"),
        ("at: [2 m, 2 m]", "at: [3 m, 3 m]", "HOST is inside CHEST"),
        ("at: [1 m, 1 m, 1.8 m]", "at: [3 m, 3 m, 1.8 m]", "KEY is inside CHEST"),
        ("at: [2 m, 2 m]", "at: [0.1 m, 2 m]", "HOST stands too near a wall"),
        ("at: [2 m, 2 m]", "at: [9 m, 2 m]", "HOST stands outside the room"),
        ("size: [60 cm, 60 cm]", "size: [6 m, 60 cm]", "KEY goes through a wall"),
        ("1 m, 1.8 m]", "1 m, 2.45 m]", "KEY does not fit between floor and ceiling"),
        ("size: [1 m, 1 m, 2 m]", "size: [1 m, 1 m, 3 m]", "CHEST does not fit between floor"),
        ("at: [3 m, 3 m]", "at: [3.8 m, 3 m]", "CHEST goes through a wall"),
        ("at: [2 m, 3.5 m, 0 m]", "at: [2 m, 5 m, 0 m]", "floor is read outside the room"),
        ("at: [2 m, 3.5 m, 0 m]", "at: [3 m, 3 m, 1 m]", "floor is read inside CHEST"),
        ("aim: HOST.face}\ncam", "aim: [1 m, 1 m, 1.8 m]}\ncam", "KEY is aimed at the very point"),
    ],
)
def test_what_cannot_be_is_told(old: str, new: str, said: str) -> None:
    told = faults((old, new))
    assert said in told
    assert "small.scene.yaml, line " in told


def test_all_of_it_is_told_at_once() -> None:
    told = faults(
        ("at: [2 m, 0.4 m, 1.3 m]", "at: [3 m, 3 m, 1.3 m]"),
        ("size: [60 cm, 60 cm]", "size: [6 m, 60 cm]"),
        ("at: [2 m, 3.5 m, 0 m]", "at: [2 m, 5 m, 0 m]"),
    )
    for said in ("A is inside CHEST", "KEY goes through a wall", "floor is read outside"):
        assert said in told


def test_a_spot_cannot_be_read_where_its_camera_stands() -> None:
    told = faults(("{at: [2 m, 3.5 m, 0 m], normal: [0, 0, 1]}",
                   "{at: [2 m, 0.4 m, 1.3 m], instrument: spot}"))  # fmt: skip
    assert "floor is read where A stands" in told


def test_lengths_are_told_in_the_units_of_the_scene() -> None:
    told = faults(("units: metric", "units: imperial"), ("at: [2 m, 2 m]", "at: [9 m, 2 m]"))
    assert "29 ft 6 in" in told  # pencil: 9 m is 29.53 ft
