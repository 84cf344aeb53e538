"""Windows, doors and skylights: where their holes lie, what hangs in them, what cannot be."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.reference.scenes.houses import (
    areas_m2,
    box,
    built,
    deg,
    door,
    house,
    m,
    room,
    skylight,
    window,
)

from falloff.document import (
    Curtain,
    Gable,
    LeanTo,
    Opening,
    Quantity,
    Room,
    Sheer,
    WindowGel,
)
from falloff.errors import GeometryError
from falloff.stage.doors import doorway_of, leaf_hole, leaf_plan
from falloff.stage.openings import FarWall, cutouts, far_wall, sky_holes
from falloff.stage.places import Placer

RECTANGLE = room(box(0.0, 0.0, width=5.0, depth=4.0), 2.5)
HALL = room(box(1.0, 4.15, width=3.0, depth=2.0), 2.4)
GABLE = Gable(eaves=m(2.4), ridge=m(3.6), ridge_along=deg(0))


def share(part: float) -> Quantity:
    return Quantity(part, f"{100.0 * part:g} %")


def with_openings(openings: dict[str, Opening], **rooms: Room) -> Placer:
    return house(RECTANGLE, rooms=rooms, openings=openings)


def dressed(*dressing: Any, **more: Any) -> Placer:
    opening = window(1, 1.0, size=(1.2, 1.1), sill=0.9, dressing=dressing, **more)
    return with_openings({"WINDOW": opening})


# Holes -----------------------------------------------------------------------------------


def test_the_sky_stands_at_the_outside_of_a_windows_wall() -> None:
    (hole,) = sky_holes(dressed())
    # pencil: wall 1 runs along x, 20 cm thick, the room above it on the plan
    assert_allclose(hole.corner, [2.2, -0.2, 0.9])
    assert_allclose(np.cross(hole.edge_u, hole.edge_v), [0.0, 1.32, 0.0], atol=1e-12)
    assert hole.passes == 1.0


def test_gels_add_and_panes_multiply() -> None:
    (hole,) = sky_holes(
        dressed(
            Sheer(straight=0.5, scattered=0.3),  # a sheet of its own
            WindowGel(loss=Quantity(1.0, "1 stop")),
            WindowGel(loss=Quantity(2.0, "2 stops")),
            glass=0.9,
        )
    )
    assert_allclose(hole.passes, 0.9 / 8.0)  # pencil: three stops


def test_a_drawn_curtain_leaves_no_hole() -> None:
    assert sky_holes(dressed(Curtain())) == ()
    assert len(sky_holes(dressed(Curtain(open=share(0.3))))) == 1


def test_doors_that_let_the_sky_in() -> None:
    placer = with_openings(
        {
            "SHUT": door(1, 0.5, to="outside"),
            "OPEN": door(1, 2.5, to="outside", open=deg(80)),
            "NOWHERE": door(2, 0.5),
            "TO HALL": door(3, 1.7, to="HALL", open=deg(80)),
        },
        HALL=HALL,
    )
    (hole,) = sky_holes(placer)
    assert hole.name == "OPEN"
    assert_allclose(np.cross(hole.edge_u, hole.edge_v), [0.0, 0.86 * 2.02, 0.0], atol=1e-12)
    assert_allclose(hole.corner[2], 0.0)


@pytest.mark.parametrize("turn", [0.0, 33.0])
def test_the_sky_lies_on_top_of_a_skylights_shaft(turn: float) -> None:
    opening = skylight(2.0, 1.0, size=(1.0, 0.8), turn=deg(turn), shaft=m(0.3), glass=0.8)
    (hole,) = sky_holes(with_openings({"SKYLIGHT": opening}))
    assert_allclose(np.cross(hole.edge_u, hole.edge_v), [0.0, 0.0, -0.8], atol=1e-12)  # pencil
    middle = hole.corner + 0.5 * (hole.edge_u + hole.edge_v)
    assert_allclose(middle, [2.0, 1.0, 2.8])  # pencil
    assert hole.passes == 0.8


def test_a_skylight_lies_in_the_slope_of_its_ceiling() -> None:
    slope = LeanTo(low=m(2.2), high=m(3.4), rises_toward=deg(90))
    held = room(box(0.0, 0.0, width=5.0, depth=4.0), 3.4, slope=slope)
    (hole,) = sky_holes(house(held, openings={"A": skylight(2.0, 1.0, size=(1.0, 0.8))}))
    # pencil: 0.3 up for 1 along y; the plan's 0.8 m² stand for the upright part
    assert_allclose(
        np.cross(hole.edge_u, hole.edge_v), 0.8 * np.array([0.0, 0.3, -1.0]), atol=1e-12
    )
    assert_allclose((hole.corner + 0.5 * (hole.edge_u + hole.edge_v))[2], 2.5 + 0.3)


# Doors -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("hinge", "swings", "free"),
    [
        # pencil: wall 3 runs from x = 5 to 0, so the door is between x = 3.3 and 2.44; with one's
        # face to it the right is at 3.3; open by 90° the free edge is 0.86 before it
        ("right", "in", (3.3, 4.0 - 0.86)),
        ("left", "in", (2.44, 4.0 - 0.86)),
        ("right", "out", (3.3, 4.15 + 0.86)),
        ("left", "out", (2.44, 4.15 + 0.86)),
    ],
)
def test_a_leaf_turns_about_its_hinges(hinge: str, swings: str, free: tuple[float, float]) -> None:
    opening = door(3, 1.7, to="HALL", hinge=hinge, swings=swings, open=deg(90))
    plan = leaf_plan(with_openings({"DOOR": opening}, HALL=HALL), "DOOR")
    corners = np.array(plan.exterior.coords)
    nearest = np.hypot(*(corners - free).T).min()
    assert nearest < 0.03  # the pins stand 1 cm out, so that the leaf clears the frame
    assert_allclose(plan.area, 0.86 * 0.04)  # pencil


@pytest.mark.parametrize("swings", ["in", "out"])
def test_a_shut_leaf_is_flush_on_the_side_it_opens_to(swings: str) -> None:
    opening = door(3, 1.7, to="HALL", swings=swings)
    plan = leaf_plan(with_openings({"DOOR": opening}, HALL=HALL), "DOOR")
    low, high = (4.0, 4.04) if swings == "in" else (4.11, 4.15)
    assert_allclose(plan.bounds, [2.44, low, 3.3, high])  # pencil


def test_a_thin_wall_has_a_thin_leaf() -> None:
    thin = room(box(0.0, 0.0, width=5.0, depth=4.0), 2.5, wall_thickness=m(0.03))
    placer = house(thin, openings={"DOOR": door(1, 1.0, swings="out")})
    assert leaf_hole(doorway_of(placer, "DOOR")).depth_m == pytest.approx(0.024)  # pencil
    built(placer)


def test_the_frame_is_narrower_where_there_is_little_room() -> None:
    placer = with_openings({"DOOR": door(1, 0.06), "NEXT": door(1, 1.0)})
    one, other = cutouts(placer)[(None, 1)]
    assert one.frame is not None
    assert other.frame is not None
    # pencil: shares of 7 cm that leave 1.6 cm to the corner; 8 cm lie between the two doors
    assert_allclose(one.frame.near, 0.6 * 0.07)
    assert_allclose(one.frame.far, 0.07)
    assert_allclose(other.frame.far, 0.07)
    assert_allclose(one.frame.top, 0.07)


def test_a_door_finds_the_nearest_wall_that_faces_it() -> None:
    # The far side of the hall faces away, and a niche stands further back.
    hall = room(
        [(1, 4.15), (2, 4.15), (2, 4.6), (2.2, 4.6), (2.2, 4.15), (4, 4.15), (4, 6.1), (1, 6.1)],
        2.4,
    )
    placer = with_openings({"DOOR": door(3, 1.0, to="HALL")}, HALL=hall)
    far = far_wall(placer, "DOOR")
    assert isinstance(far, FarWall)
    assert (far.room, far.wall) == ("HALL", 5)
    assert_allclose([far.gap_m, far.start_m], [0.15, 3.14 - 2.2])  # pencil


def test_a_doors_hole_is_in_both_walls_of_rooms_that_are_not_the_scenes_own() -> None:
    rooms = {"HALL": HALL, "BATH": room(box(1.0, 6.3, width=3.0, depth=2.0), 2.4)}
    opening = door(3, 0.5, to="BATH", room="HALL", open=deg(45))
    areas = areas_m2(built(house(RECTANGLE, rooms=rooms, openings={"DOOR": opening})))
    # pencil: 1 × 2.09 with its frame
    assert_allclose(areas["HALL wall 3"], 7.2 - 2.09, rtol=1e-4)
    assert_allclose(areas["BATH wall 1"], 7.2 - 2.09, rtol=1e-4)
    assert_allclose(areas["wall 3"], 12.5, rtol=1e-4)


# What cannot be --------------------------------------------------------------------------

FACING = "a wall of HALL that faces wall 3, at most 1.00 m away"


@pytest.mark.parametrize(
    ("openings", "hall", "said"),
    [
        (
            {"DOOR": door(3, 1.7, to="HALL")},
            room(box(1.0, 5.3, width=3.0, depth=2.0), 2.4),
            f"DOOR does not come out in HALL (expected {FACING}, with room for the whole door; "
            "found the nearest is 1.30 m away",
        ),
        (
            {"DOOR": door(3, 1.7, to="HALL")},
            room([(1.0, 4.15), (4.0, 4.3), (4.0, 6.0), (1.0, 6.0)], 2.4),
            "found none of its walls is parallel to wall 3 and faces it",
        ),
        (
            {"DOOR": door(3, 0.2, to="HALL")},
            HALL,
            "none that is parallel to it is long and high enough where the door is",
        ),
        (
            {"DOOR": door(3, 1.7, to="HALL")},
            room(box(1.0, 4.15, width=3.0, depth=2.0), 1.9),
            "none that is parallel to it is long and high enough where the door is",
        ),
        (
            {"DOOR": door(1, 1.7, to="HALL")},
            HALL,
            "found none of its walls is parallel to wall 1 and faces it",
        ),
        (
            {"DOOR": door(3, 1.7, to="HALL", room="HALL")},
            HALL,
            "DOOR leads back into the room it is in",
        ),
        (
            {"WINDOW": window(3, 1.7, size=(1.0, 1.0), sill=0.8)},
            HALL,
            "WINDOW does not look outside: HALL is behind its wall",
        ),
        (
            {"DOOR": door(3, 1.7, to="outside")},
            HALL,
            "DOOR does not look outside: HALL is behind its wall",
        ),
        (
            {"DOOR": door(3, 1.7, to="HALL"),
             "WINDOW": window(1, 1.0, size=(1.0, 1.0), sill=0.8, room="HALL")},
            HALL,
            "WINDOW overlaps DOOR in HALL wall 1",
        ),
        ({"DOOR": door(1, 4.3)}, HALL, "DOOR does not fit into wall 1"),
        (
            {"A": skylight(0.3, 1.0, size=(1.0, 0.8))}, HALL, "A reaches past the ceiling",
        ),
        (
            {"A": skylight(2.0, 1.0, size=(1.0, 0.8)), "B": skylight(2.5, 1.0, size=(1.0, 0.8))},
            HALL,
            "B overlaps A in the ceiling",
        ),
    ],
)  # fmt: skip
def test_openings_that_cannot_be(openings: dict[str, Opening], hall: Room, said: str) -> None:
    with pytest.raises(GeometryError) as caught:
        built(with_openings(openings, HALL=hall))
    assert said in str(caught.value)
    assert all(fault.fix for fault in caught.value.faults)


def test_all_openings_that_cannot_be_are_told_at_once() -> None:
    openings: dict[str, Opening] = {"A": door(1, 4.3), "B": skylight(0.3, 1.0, size=(1.0, 0.8))}
    with pytest.raises(GeometryError) as caught:
        built(with_openings(openings))
    assert len(caught.value.faults) == 2


def test_a_skylight_may_not_lie_across_the_ridge() -> None:
    held = room(box(0.0, 0.0, width=5.0, depth=4.0), 3.6, slope=GABLE)
    with pytest.raises(GeometryError, match="A lies across the ridge of the ceiling"):
        built(house(held, openings={"A": skylight(2.0, 2.1, size=(1.0, 0.8))}))


def test_a_window_may_not_reach_above_a_slope() -> None:
    held = room(box(0.0, 0.0, width=5.0, depth=4.0), 3.6, slope=GABLE)
    high = window(2, 1.5, size=(1.0, 1.6), sill=1.0)
    built(house(held, openings={"A": high}))
    # pencil: at 0.2 along, the wall is 2.52 m high
    low = window(2, 0.2, size=(1.0, 1.6), sill=1.0)
    with pytest.raises(GeometryError, match="A does not fit into wall 2"):
        built(house(held, openings={"A": low}))
