"""Rooms of every outline: areas kept, nothing endless, names of surfaces, and ceilings' heights."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal
from tests.reference.scenes.houses import (
    areas_m2,
    box,
    built,
    deg,
    escapes,
    house,
    m,
    room,
    volume_m3,
    window,
)

from falloff.document import Gable, LeanTo
from falloff.stage import Grain
from falloff.stage.ceilings import ceiling_height_m, ceiling_planes, wall_outline_m
from falloff.stage.rooms import ROOM_ELEMENTS_MOST, fitting_grain, surface_m2

GABLE = Gable(eaves=m(1.2), ridge=m(3.2), ridge_along=deg(0))
RECTANGLE = box(0.0, 0.0, width=5.0, depth=4.0)


def circle(count: int, radius: float, notch: float = 0.0) -> list[tuple[float, float]]:
    """A ring of corners, every other one further out by `notch`."""
    angle = np.linspace(0.0, 2.0 * math.pi, count, endpoint=False)
    reach = radius + notch * (np.arange(count) % 2)
    return [
        (7.0 + float(r * math.cos(a)), 3.0 + float(r * math.sin(a)))
        for r, a in zip(reach, angle, strict=True)
    ]


# pencil: none of these rooms is more than a drawing to cut; all corners counter-clockwise
OUTLINES: dict[str, list[tuple[float, float]]] = {
    "alcove 2 mm wide": [
        (0, 0), (2, 0), (2, -0.5), (2.002, -0.5), (2.002, 0), (5, 0), (5, 4), (0, 4),
    ],
    "alcove like a needle": [(0, 0), (5, 0), (5, 4), (2.001, 4), (3.0005, 6), (2, 4), (0, 4)],
    "nearly on one line": [(0, 0), (1, 1e-7), (2, 0), (3, -1e-9), (5, 0), (5, 4), (0, 4)],
    "a splinter": [(0, 0), (6, 0), (6, 0.004)],
    "5 cm wide": box(0.0, 0.0, width=0.05, depth=4.0),
    "120 corners": circle(120, 2.0),
    "zigzag": circle(60, 2.0, 0.3),
    "crooked": [(0.013, 0.007), (4.99, 0.31), (5.3, 3.9), (2.6, 4.4), (-0.2, 3.8)],
}  # fmt: skip


@pytest.mark.parametrize("name", OUTLINES)
def test_any_outline_keeps_its_area_and_is_closed(name: str) -> None:
    corners = OUTLINES[name]
    floor = shapely.Polygon(corners)
    piece = built(house(room(corners, 2.5)), Grain(0.4, 0.2))
    areas = areas_m2(piece)
    # pencil: the shoelace formula, as shapely has it
    assert_allclose(areas["floor"], floor.area, rtol=1e-4)
    assert_allclose(areas["ceiling"], floor.area, rtol=1e-4)
    walls = sum(area for surface, area in areas.items() if surface.startswith("wall"))
    assert_allclose(walls, 2.5 * floor.length, rtol=1e-4)
    assert_allclose(volume_m3(piece), 2.5 * floor.area, rtol=1e-4)
    spot = floor.representative_point()
    _, _, out = escapes(piece, np.array([[spot.x, spot.y, 1.1]]), count=2000)
    assert out.sum() == 0


@pytest.mark.parametrize("name", OUTLINES)
def test_sample_points_stay_on_the_floor(name: str) -> None:
    piece = built(house(room(OUTLINES[name], 2.5)), Grain(0.4, 0.2))
    mine = piece.element_face == piece.face_name.index("room: floor")
    points = piece.element_points[mine].reshape(-1, 3).astype(np.float64)
    assert shapely.contains_xy(
        shapely.Polygon(OUTLINES[name]).buffer(1e-5), points[:, 0], points[:, 1]
    ).all()


@given(
    st.lists(st.floats(0.2, 3.0), min_size=5, max_size=24),
    st.floats(0.0, 6.3),
    st.sampled_from([None, GABLE, LeanTo(low=m(2.0), high=m(3.0), rises_toward=deg(40))]),
)
@settings(max_examples=25, deadline=None, derandomize=True)
def test_rooms_round_a_point(
    reaches: list[float], start: float, slope: Gable | LeanTo | None
) -> None:
    angle = start + np.linspace(0.0, 2.0 * math.pi, len(reaches), endpoint=False)
    corners = [
        (float(r * math.cos(a)), float(r * math.sin(a)))
        for r, a in zip(reaches, angle, strict=True)
    ]
    held = room(corners, 3.2, slope=slope)
    placer = house(held)
    piece = built(placer, Grain(0.5, 0.25))
    areas = areas_m2(piece)
    floor = shapely.Polygon(corners)
    assert_allclose(areas["floor"], floor.area, rtol=1e-4)
    assert_allclose(sum(areas.values()), surface_m2(placer, None), rtol=1e-4)
    # pencil: volume under a plane is its height over the middle of its part, times the part
    planes = ceiling_planes(held)
    under = sum(
        float(plane.height_m(shapely.get_coordinates(plane.plan.centroid)[0])) * plane.plan.area
        for plane in planes
    )
    assert_allclose(volume_m3(piece), under, rtol=1e-4)


def test_500_corners() -> None:
    corners = circle(500, 3.0)
    piece = built(house(room(corners, 2.5)), Grain(0.6, 0.3))
    assert_allclose(areas_m2(piece)["floor"], shapely.Polygon(corners).area, rtol=1e-4)
    # pencil: half of 500 times the radius squared times the sine of a 500th of a turn
    assert_allclose(volume_m3(piece), 2.5 * 250 * 9.0 * math.sin(math.tau / 500), rtol=1e-4)


@pytest.mark.parametrize("side", [40.0, 400.0])
def test_a_huge_room_is_cut_more_coarsely(side: float) -> None:
    placer = house(room(box(0.0, 0.0, width=side, depth=side), 4.0))
    grain = fitting_grain(placer)
    piece = built(placer, grain)
    assert_allclose(areas_m2(piece)["floor"], side**2, rtol=1e-4)  # pencil
    assert grain.patch_m == pytest.approx(2.0 * grain.element_m)
    assert 0.8 * ROOM_ELEMENTS_MOST < len(piece.element_area_m2) < 1.2 * ROOM_ELEMENTS_MOST


def test_a_usual_room_is_cut_as_ever() -> None:
    assert fitting_grain(house(room(RECTANGLE, 2.5))) == Grain()


# Names -----------------------------------------------------------------------------------


def test_surfaces_of_other_rooms_bear_their_name() -> None:
    hall = room(box(6.0, 0.0, width=2.0, depth=3.0), 2.4, wall_surfaces={2: "concrete"})
    piece = built(house(room(RECTANGLE, 2.5), rooms={"HALL": hall}))
    names = {name.removeprefix("room: ") for name in piece.face_name}
    assert names == {
        "floor", "ceiling", "wall 1", "wall 2", "wall 3", "wall 4",
        "HALL floor", "HALL ceiling", "HALL wall 1", "HALL wall 2", "HALL wall 3", "HALL wall 4",
    }  # fmt: skip
    materials = dict(zip(piece.face_name, piece.face_material, strict=True))
    assert materials["room: HALL wall 2"] == "concrete"
    assert materials["room: HALL wall 3"] == "plaster"


def test_openings_of_other_rooms_are_in_their_walls() -> None:
    hall = room(box(6.0, 0.0, width=2.0, depth=3.0), 2.4)
    opening = window(2, 1.0, size=(1.0, 1.2), sill=0.8, room="HALL")
    areas = areas_m2(
        built(house(room(RECTANGLE, 2.5), rooms={"HALL": hall}, openings={"WINDOW": opening}))
    )
    assert_allclose(areas["wall 2"], 10.0, rtol=1e-4)  # pencil
    assert_allclose(areas["HALL wall 2"], 7.2 - 1.2, rtol=1e-4)  # pencil


# Ceilings --------------------------------------------------------------------------------


def test_height_of_a_flat_ceiling() -> None:
    heights = ceiling_height_m(room(RECTANGLE, 2.5), np.zeros((2, 3)), np.ones((2, 3)))
    assert_array_equal(heights, np.full((2, 3), 2.5))


def test_height_of_a_gable() -> None:
    held = room(RECTANGLE, 3.2, slope=GABLE)
    y = np.array([0.0, 1.0, 2.0, 3.5, 4.0])
    # pencil: 1 m up for each metre towards the ridge at y = 2
    assert_allclose(ceiling_height_m(held, np.full(5, 1.7), y), [1.2, 2.2, 3.2, 1.7, 1.2])


def test_height_of_a_gable_whose_ridge_runs_up_the_plan() -> None:
    slope = Gable(eaves=m(2.0), ridge=m(3.0), ridge_along=deg(90))
    held = room(RECTANGLE, 3.0, slope=slope)
    x = np.array([0.0, 1.25, 2.5, 5.0])
    assert_allclose(ceiling_height_m(held, x, np.full(4, 0.3)), [2.0, 2.5, 3.0, 2.0])  # pencil


def test_height_of_a_lean_to() -> None:
    slope = LeanTo(low=m(2.2), high=m(3.4), rises_toward=deg(-90))
    held = room(RECTANGLE, 3.4, slope=slope)
    y = np.array([0.0, 1.0, 4.0])
    assert_allclose(ceiling_height_m(held, np.zeros(3), y), [3.4, 3.1, 2.2])  # pencil


def test_a_ridge_splits_the_walls_it_crosses() -> None:
    held = room(RECTANGLE, 3.2, slope=GABLE)
    eaves = [[0.0, 0.0], [5.0, 0.0], [5.0, 1.2], [0.0, 1.2]]  # pencil
    gable = [[0.0, 0.0], [4.0, 0.0], [4.0, 1.2], [2.0, 3.2], [0.0, 1.2]]  # pencil
    assert_allclose(wall_outline_m(held, 1), eaves)
    assert_allclose(wall_outline_m(held, 2), gable, atol=1e-12)


def test_two_planes_of_a_gable_meet_at_the_ridge() -> None:
    low, high = ceiling_planes(room(RECTANGLE, 3.2, slope=GABLE))
    assert_allclose([low.plan.area, high.plan.area], [10.0, 10.0])  # pencil
    assert_allclose(low.height_m(np.array([3.0, 2.0])), 3.2)  # pencil
    assert_allclose(high.height_m(np.array([3.0, 2.0])), 3.2)  # pencil
