"""Where things stand: on walls of other rooms, on furniture, in openings; and what they face."""

from __future__ import annotations

import math

import msgspec
import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.reference.scenes.houses import box, deg, document, door, house, m, room, skylight, window

from falloff.document import (
    Furniture,
    LeanTo,
    LightPanel,
    NamedAim,
    OnPlace,
    PointAim,
    PointPlace,
    Practical,
    Prop,
    Quantity,
    RelativePlace,
    WallPlace,
)
from falloff.kit.furniture import furniture
from falloff.stage.places import Placer

RECTANGLE = room(box(0.0, 0.0, width=5.0, depth=4.0), 2.5)
HALL = room(box(1.0, 4.15, width=3.0, depth=2.0), 2.4)


def at(x: float, y: float, z: float = 0.0) -> PointPlace:
    return PointPlace(x=m(x), y=m(y), z=m(z))


def furnished(*, level: int | None = None, turn: float = 0.0) -> Placer:
    """A set of shelves with a tin on it, and a lamp that shines along −x."""
    shelves = Prop(shape=Furniture(kind="shelves"), at=at(2.0, 3.0), turn=deg(turn), surface="oak")
    tin = Prop(
        shape=Furniture(kind="chair"),
        at=OnPlace(on="SHELVES", offset=(m(0.1), m(0.05)), level=level),
        surface="steel",
    )
    lamp = Practical(
        light=LightPanel(size=(m(0.3), m(0.2))),
        output=Quantity(500.0, "500 lm"),
        colour=Quantity(3000.0, "3000 K"),
        at=at(4.0, 2.0, 1.0),
        aim=PointAim(x=m(1.0), y=m(2.0), z=m(0.5)),
    )
    return Placer(
        document(RECTANGLE, props={"SHELVES": shelves, "TIN": tin}, practicals={"LAMP": lamp})
    )


def test_walls_of_each_room_are_its_own() -> None:
    placer = house(RECTANGLE, rooms={"HALL": HALL})
    start, along, inward = placer.wall_frame(2, "HALL")
    # pencil: wall 2 of the hall runs up the plan at x = 4, the hall on its left
    assert_allclose(start, [4.0, 4.15, 0.0])
    assert_allclose(along, [0.0, 1.0, 0.0])
    assert_allclose(inward, [-1.0, 0.0, 0.0])
    assert_allclose(placer.wall_frame(2)[0], [5.0, 0.0, 0.0])
    assert placer.room_names == (None, "HALL")
    assert placer.room("HALL") is HALL
    assert placer.room(None) is RECTANGLE


def test_a_place_on_a_wall_of_another_room() -> None:
    placer = house(RECTANGLE, rooms={"HALL": HALL})
    place = WallPlace(wall=2, along=m(0.5), height=m(1.2), room="HALL")
    assert_allclose(placer.point(place), [4.0, 4.65, 1.2])  # pencil
    own = WallPlace(wall=2, along=m(0.5), height=m(1.2))
    assert_allclose(placer.point(own), [5.0, 0.5, 1.2])  # pencil


def test_an_opening_is_aimed_at_in_its_middle() -> None:
    placer = house(
        RECTANGLE,
        rooms={"HALL": HALL},
        openings={
            "WINDOW": window(1, 1.0, size=(1.2, 1.1), sill=0.9),
            "DOOR": door(2, 0.5, room="HALL"),
            "SKYLIGHT": skylight(2.0, 1.0, size=(1.0, 0.8), turn=deg(30)),
        },
    )
    # pencil
    for name, middle in {
        "WINDOW": [1.6, 0.0, 1.45],
        "DOOR": [4.0, 4.15 + 0.93, 1.01],
        "SKYLIGHT": [2.0, 1.0, 2.5],
    }.items():
        aim = placer.aim_point(NamedAim(name=name))
        assert aim is not None
        assert_allclose(aim, middle, err_msg=name)


def test_the_frame_of_a_skylight_lies_in_the_ceiling() -> None:
    slope = LeanTo(low=m(2.2), high=m(3.4), rises_toward=deg(90))
    held = room(box(0.0, 0.0, width=5.0, depth=4.0), 3.4, slope=slope)
    placer = house(held, openings={"A": skylight(2.0, 1.0, size=(1.0, 0.8))})
    low, across, upward = placer.opening_frame("A")
    # pencil: 2.2 m at y = 0, 0.3 up for 1 along y
    assert_allclose(low, [1.5, 0.6, 2.38])
    assert_allclose(across, [1.0, 0.0, 0.0], atol=1e-12)
    assert_allclose(upward, [0.0, 0.8, 0.24], atol=1e-12)


@pytest.mark.parametrize("level", [None, 1, 2])
def test_things_stand_on_the_level_they_are_put_on(level: int | None) -> None:
    placer = furnished(level=level, turn=90.0)
    piece = furniture("shelves", size_m=None, count=None, open_rad=None)
    rest = piece.usual_rest_m if level is None else piece.rests_m[level - 1]
    # pencil: turned by 90°, its own x is the plan's y
    assert_allclose(placer.origin("TIN"), [1.95, 3.1, rest])


def test_the_middle_of_furniture_is_half_way_up() -> None:
    placer = furnished()
    height = furniture("shelves", size_m=None, count=None, open_rad=None).size_m[2]
    assert_allclose(placer.middle("SHELVES"), [2.0, 3.0, 0.5 * height])  # pencil


def test_clock_hours_are_told_from_where_a_lamp_looks() -> None:
    placer = furnished()
    assert_allclose(placer.facing("LAMP"), [-1.0, 0.0, 0.0], atol=1e-12)  # pencil
    place = RelativePlace(from_name="LAMP", distance=m(1.0), clock_hour=6.0, height=m(0.7))
    assert_allclose(placer.point(place), [3.0, 2.0, 0.7])  # pencil


def test_lamps_without_an_aim_face_down_the_plan() -> None:
    placer = furnished()
    lamp = msgspec.structs.replace(placer.document.practicals["LAMP"], aim=None)
    plain = Placer(msgspec.structs.replace(placer.document, practicals={"LAMP": lamp}))
    assert_allclose(plain.facing("LAMP"), [0.0, -1.0, 0.0])  # pencil


def test_furniture_faces_its_front() -> None:
    assert_allclose(furnished(turn=90.0).facing("SHELVES"), [1.0, 0.0, 0.0], atol=1e-12)  # pencil
    assert math.isclose(float(np.linalg.norm(furnished().facing("SHELVES"))), 1.0)
