"""What cannot stand where it is written is told, all at once, with its place in the file."""

from __future__ import annotations

import msgspec
import pytest
from tests.reference.scenes.houses import box, door, house, m, room, skylight, window

from falloff.document import Opening, parse_document
from falloff.errors import GeometryError
from falloff.stage import Grain, build_stage
from falloff.stage.build import build_pieces
from falloff.stage.guard import impossible, suspicious
from falloff.stage.places import Placer
from falloff.stage.probes import place_probes

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
        ("at: [2 m, 3.5 m, 0 m]", "at: [3 m, 3 m, 0 m]", "floor is read where CHEST stands on it"),
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


# Several rooms, slopes and the outside ---------------------------------------------------

HOUSE = """falloff: 2
title: House
units: metric
room: {floor: [[0 m, 0 m], [6 m, 0 m], [6 m, 5 m], [0 m, 5 m]],
       slope: {shape: gable, eaves: 2 m, ridge: 3.2 m, ridge_along: 0 deg},
       floor_surface: oak, ceiling_surface: white paint, wall_surface: plaster}
rooms:
  HALL: {floor: [[1 m, 5.15 m], [4 m, 5.15 m], [4 m, 8 m], [1 m, 8 m]], height: 2.4 m,
         floor_surface: oak, ceiling_surface: white paint, wall_surface: plaster}
openings:
  DOOR: {kind: door, wall: 3, along: 2.6 m, height: 1.95 m, frame: 4 cm, to: HALL, open: 90 deg}
  WINDOW: {wall: 1, along: 1 m, width: 1.2 m, sill: 60 cm, height: 1 m}
sky: {type: overcast, outside: 9000 lx}
outside: {ground_level: -1 m, buildings: {BARN: {at: [3 m, -9 m], size: [8 m, 6 m, 7 m]}}}
props:
  TABLE: {shape: table, at: [2 m, 2.5 m], surface: oak}
  CHAIR: {shape: chair, at: [2 m, 3 m], surface: oak}
  DESK: {shape: box, size: [1.2 m, 60 cm, 72 cm], at: [5 m, 1.5 m], surface: oak}
  VASE: {shape: cylinder, diameter: 12 cm, height: 30 cm, at: {on: TABLE}, surface: terracotta}
  STEM: {shape: cylinder, diameter: 1 cm, height: 50 cm, at: [2 m, 2.5 m, 0.76 m],
         surface: leaf green}
subjects:
  HOST: {figure: woman seated, at: [4 m, 2.5 m], facing: -90 deg, skin: 0.3, hair: dark hair,
         top: grey cotton, trousers: dark denim, seat: oak}
  GUEST: {figure: woman seated, at: [3 m, 7 m], facing: 0 deg, skin: 0.3, hair: dark hair,
          top: grey cotton, trousers: dark denim}
fixtures:
  KEY: {light: soft box, size: [60 cm, 60 cm], depth: 30 cm, output: 4000 lm, colour: 5600 K,
        at: [1 m, 1 m, 1.6 m], aim: HOST.face}
  MOON: {light: panel, size: [60 cm, 60 cm], output: 4000 lm, colour: 5600 K,
         at: [1.6 m, -2 m, 1.6 m], aim: WINDOW, outside: true}
practicals:
  GLOBE: {light: globe, diameter: 12 cm, output: 600 lm, colour: 2700 K, at: [3.4 m, 6.5 m, 1 m]}
grip:
  FLAG: {kind: solid, size: [60 cm, 60 cm], at: [5.3 m, 4 m, 1.2 m], aim: HOST,
         surface: black cloth}
cameras:
  A: {at: [3 m, 0.4 m, 1.3 m], aim: HOST.face, lens: 35 mm}
readings:
  floor: {at: [2 m, 4 m, 0 m], normal: [0, 0, 1]}
"""


def told(*changes: tuple[str, str]) -> list[str]:
    """What is told of the house with some of it written otherwise."""
    text = HOUSE
    for old, new in changes:
        assert text.count(old) == 1
        text = text.replace(old, new)
    placer = Placer(parse_document(text, "house.scene.yaml"))
    pieces, _ = build_pieces(placer, Grain(0.4, 0.2))
    faults = impossible(placer, pieces, place_probes(placer))
    assert all(fault.line and fault.column and fault.fix for fault in faults)
    return [str(GeometryError(fault)) for fault in faults]


def test_the_house_itself_stands() -> None:
    """People in two rooms, a chair at a table, a stem in a vase, a light outside: all as it is."""
    assert told() == []


TABLE_AT = "{shape: table, at: [2 m, 2.5 m]"
CHAIR_AT = "{shape: chair, at: [2 m, 3 m]"
HOST_AT = "at: [4 m, 2.5 m]"
GUEST_AT = "at: [3 m, 7 m]"
KEY_AT = "at: [1 m, 1 m, 1.6 m]"
A_AT = "at: [3 m, 0.4 m, 1.3 m]"
GLOBE_AT = "at: [3.4 m, 6.5 m, 1 m]"


@pytest.mark.parametrize(
    ("old", "new"),
    [
        # pencil: what may stand as it is written
        (CHAIR_AT, "{shape: chair, at: [2 m, 2.75 m]"),  # pushed under the table
        (HOST_AT, "at: [2.97 m, 5.05 m]"),  # in the open doorway
        (GUEST_AT, "at: [3.2 m, 5.9 m]"),
        (GLOBE_AT, "at: {on: DESK, offset: [0 cm, 0 cm]}"),  # half sunk: a dome
        ("at: [5.3 m, 4 m, 1.2 m]", "at: [5.3 m, 2.5 m, 2.7 m]"),  # under the ridge
        ("at: [1.6 m, -2 m, 1.6 m]", "at: [9 m, 2 m, 1.6 m]"),
        ("at: [1.6 m, -2 m, 1.6 m]", "at: [3 m, 2 m, 4.5 m]"),  # over the roof
        ("open: 90 deg", "open: 0 deg"),
    ],
)
def test_what_may_be(old: str, new: str) -> None:
    assert told((old, new)) == []


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (HOST_AT, "at: [2 m, 2.5 m]", "HOST is inside TABLE"),
        (GUEST_AT, "at: [4.05 m, 2.6 m]", "is inside"),
        (A_AT, "at: [4 m, 2.5 m, 0.75 m]", "A is inside HOST"),
        (A_AT, "at: [5 m, 1.5 m, 0.5 m]", "A is inside DESK"),
        (A_AT, "at: [0.9 m, 0.9 m, 1.58 m]", "A is inside KEY"),
        (A_AT, "at: [3 m, 0.4 m, 2.4 m]", "A does not fit between floor and ceiling"),
        (KEY_AT, "at: [4 m, 2.5 m, 0.8 m]", "HOST is inside KEY"),
        (KEY_AT, "at: [5 m, 1.5 m, 0.5 m]", "KEY is inside DESK"),
        (GLOBE_AT, "at: [5 m, 1.5 m, 0.5 m]", "GLOBE is inside DESK"),
        (CHAIR_AT, "{shape: chair, at: [5 m, 1.5 m]", "CHAIR is inside DESK"),
        ("at: [5.3 m, 4 m, 1.2 m]", "at: [5 m, 1.5 m, 0.5 m]", "FLAG is inside DESK"),
        ("at: [5 m, 1.5 m], surface", "at: [2.7 m, 4.4 m], surface",
         "the leaf of DOOR, open as it is, cuts into DESK"),
        ("along: 2.6 m", "along: 4.6 m", "DOOR does not come out in HALL"),
        (HOST_AT, "at: [5.9 m, 2.5 m]", "HOST stands too near a wall"),
        (HOST_AT, "at: [4.5 m, 5.1 m]", "HOST stands outside the room"),
        (KEY_AT, "at: [5 m, 7 m, 1.6 m]", "if it is meant to shine in through a window"),
        (KEY_AT, "at: [1 m, 0.5 m, 2.1 m]", "KEY does not fit between floor and ceiling"),
        (CHAIR_AT, "{shape: chair, at: [2 m, 5.1 m]", "CHAIR goes through a wall"),
        ("at: [1.6 m, -2 m, 1.6 m]", "at: [1.6 m, 1 m, 1.6 m]",
         "MOON is said to stand outside, but it stands in a room"),
        ("at: [1.6 m, -2 m, 1.6 m]", "at: [3 m, 2.5 m, -0.5 m]",
         "MOON is said to stand outside, but it stands in a room"),
        ("at: [1.6 m, -2 m, 1.6 m]", "at: [1.6 m, -2 m, -1.6 m]",
         "MOON is below the ground outside"),
        ("at: [2 m, 4 m, 0 m]", "at: [2 m, 4 m, 2.7 m]", "floor is read outside the room"),
        ("at: [2 m, 4 m, 0 m]", "at: [5 m, 1.5 m, 0.5 m]", "floor is read inside DESK"),
        ("[4 m, 8 m], [1 m, 8 m]], height: 2.4 m",
         "[4 m, 8 m], [1 m, 8 m], [1 m, 6 m], [0.5 m, 6 m], [0.5 m, 5.005 m], [1 m, 5.005 m]], "
         "height: 2.4 m",
         "HALL touches the room: no wall is left between them"),
    ],
)  # fmt: skip
def test_what_cannot_be_in_the_house(old: str, new: str, said: str) -> None:
    try:
        faults = told((old, new))
    except GeometryError as error:
        faults = [str(error)]
    assert any(said in fault for fault in faults), faults


def test_a_leaf_may_not_open_into_a_wall() -> None:
    # pencil: hinged 5 cm from wall 2, so it meets that before it stands open by 100°
    faults = told(
        ("wall: 3, along: 2.6 m", "wall: 3, hinge: right, along: 5 cm"),
        ("to: HALL, open: 90 deg", "to: outside, open: 110 deg"),
    )
    assert any("DOOR cannot open so far: its leaf meets a wall" in fault for fault in faults)
    faults = told(
        ("wall: 3, along: 2.6 m", "wall: 3, hinge: right, along: 5 cm"),
        ("to: HALL, open: 90 deg", "to: outside, open: 85 deg"),
    )
    assert faults == []


def test_a_building_may_not_stand_in_a_room() -> None:
    document = parse_document(HOUSE)
    assert document.outside is not None
    barn = document.outside.buildings["BARN"]
    near = msgspec.structs.replace(barn, at=(barn.at[0], barn.at[0]))
    outside = msgspec.structs.replace(document.outside, buildings={"BARN": near})
    placer = Placer(msgspec.structs.replace(document, outside=outside))
    pieces, _ = build_pieces(placer, Grain(0.4, 0.2))
    assert any("BARN cuts into the room" in fault.what for fault in impossible(placer, pieces, ()))


# Suspicions ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "about", "said"),
    [
        ("ridge: 3.2 m", "ridge: 24 m", "room", "the room is 8 m across and 24 m high"),
        ("height: 2.4 m", "height: 1.8 m", "HALL", "the ceiling of HALL is 1.80 m high"),
        ("[1 m, 8 m]]", "[1 m, 80 m]]", "HALL", "HALL is 75 m across and 2 m high"),
        (TABLE_AT, "{shape: table, size: [1.4 m, 80 cm, 2.4 m], at: [2 m, 2.5 m]", "TABLE",
         "TABLE is 2.40 m high, the usual table"),
        ("{light: soft box, size: [60 cm, 60 cm]", "{light: soft box, size: [8 m, 60 cm]", "KEY",
         "KEY is a soft box 8.00 m across"),
    ],
)  # fmt: skip
def test_sizes_that_are_hardly_meant(old: str, new: str, about: str, said: str) -> None:
    assert HOUSE.count(old) == 1
    document = parse_document(HOUSE.replace(old, new))
    (found,) = suspicious(Placer(document))
    assert found.about == about
    assert said in found.says
    assert found.do


def test_openings_that_are_hardly_meant() -> None:
    openings: dict[str, Opening] = {
        "WINDOW": window(1, 1.0, size=(17.0, 2.0), sill=1.0),
        "DOOR": door(2, 1.0, height=m(5.0)),
        "SKYLIGHT": skylight(15.0, 15.0, size=(16.0, 1.0)),
        "GATE": door(2, 5.0, width=m(3.5), height=m(3.4)),
    }
    hangar = room(box(0.0, 0.0, width=30.0, depth=30.0), 8.0)
    found = {one.about: one.says for one in suspicious(house(hangar, openings=openings))}
    assert found == {
        "WINDOW": "WINDOW is a window 17.00 m wide and 2.00 m high",
        "DOOR": "DOOR is a door 0.86 m wide and 5.00 m high",
        "SKYLIGHT": "SKYLIGHT is a skylight 16.00 m by 1.00 m",
    }


def test_nothing_is_suspicious_about_the_house() -> None:
    assert suspicious(Placer(parse_document(HOUSE))) == []
