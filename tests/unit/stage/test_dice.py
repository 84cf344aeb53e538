"""Faces cut into patches and elements: area kept, points where they belong, indices that agree."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal
from tests.reference.scenes.balls import ball_mesh
from tests.reference.scenes.stages import box_room, disc, rectangle, stage_of

from falloff.document import parse_document
from falloff.errors import BudgetExceeded, GeometryError
from falloff.rays import RayScene
from falloff.stage import OFFSET_M, Grain, build_stage
from falloff.stage.dice import PieceBuilder
from falloff.stage.records import Piece
from falloff.transport.bounce import read_hits

X, Y, Z = np.eye(3)


def _polygon(*holes: np.ndarray, grain: Grain | None = None) -> Piece:
    """An L-shaped floor, with rectangular holes."""
    outline = np.array([[0, 0], [3, 0], [3, 1.1], [1.3, 1.1], [1.3, 2.7], [0, 2.7]], np.float64)
    builder = PieceBuilder("floor", grain or Grain())
    builder.add_polygon(
        np.zeros(3), axis_u=X, axis_v=Y, outline=outline, holes=holes, material="black"
    )
    return builder.build()


@given(st.floats(0.05, 3.0), st.floats(0.05, 3.0), st.floats(0.06, 0.7), st.floats(0.03, 0.4))
@settings(max_examples=25, deadline=None, derandomize=True)
def test_rectangle_keeps_its_area(
    width: float, height: float, patch_m: float, element_m: float
) -> None:
    piece = rectangle(
        "r",
        (0.0, 0.0, 0.0),
        edge_u=(width, 0.0, 0.0),
        edge_v=(0.0, height, 0.0),
        grain=Grain(patch_m, element_m),
    )
    assert_allclose(
        piece.element_area_m2.sum(dtype=np.float64), width * height, rtol=1e-5
    )  # pencil
    side = math.sqrt(float(piece.element_area_m2.max()))
    assert side <= max(element_m, patch_m) * 1.0001
    assert_array_equal(np.diff(piece.element_patch) >= 0, True)  # of one patch, together
    assert piece.element_patch.max() + 1 == piece.patch_count


def test_polygon_with_holes_keeps_its_area() -> None:
    hole = np.array([[0.33, 0.41], [0.97, 0.41], [0.97, 0.88], [0.33, 0.88]])
    piece = _polygon(hole)
    # pencil: 3 × 1.1 + 1.3 × 1.6 − 0.64 × 0.47
    assert_allclose(piece.element_area_m2.sum(dtype=np.float64), 3.3 + 2.08 - 0.3008, rtol=1e-6)
    edge = piece.corners[:, 1] - piece.corners[:, 0], piece.corners[:, 2] - piece.corners[:, 0]
    cross = np.cross(*edge)
    assert_allclose(0.5 * cross[:, 2].sum(), 3.3 + 2.08 - 0.3008, rtol=1e-5)
    assert (cross[:, 2] > 0.0).all()  # seen from above


def test_points_lie_on_their_face_and_out_of_holes() -> None:
    hole = np.array([[0.33, 0.41], [0.97, 0.41], [0.97, 0.88], [0.33, 0.88]])
    points = _polygon(hole).element_points.reshape(-1, 3)
    assert_allclose(points[:, 2], OFFSET_M, rtol=1e-6)
    x, y = points[:, 0], points[:, 1]
    inside = ((x >= 0) & (x <= 3) & (y >= 0) & (y <= 1.1)) | ((x >= 0) & (x <= 1.3) & (y <= 2.7))
    assert inside.all()
    assert not ((x > 0.33) & (x < 0.97) & (y > 0.41) & (y < 0.88)).any()


def test_a_ray_at_a_sample_point_finds_its_element() -> None:
    """The element under a hit is the one whose point it was: flat faces, holes and meshes."""
    corners, normals = ball_mesh(np.array([2.0, 0.5, 1.0]), 0.2)
    builder = PieceBuilder("ball", Grain())
    builder.add_mesh(corners, normals=normals, material="black")
    hole = np.array([[0.33, 0.41], [0.97, 0.41], [0.97, 0.88], [0.33, 0.88]])
    stage = stage_of([_polygon(hole), builder.build()])
    surfaces = stage.surfaces
    points = surfaces.element_points.reshape(-1, 3)
    ways = surfaces.element_normals.reshape(-1, 3)
    ids = np.zeros(len(points), np.uint16)
    # From 2 mm out, back along the normal.
    read_hits(
        surfaces,
        RayScene(surfaces.corners),
        len(points),
        points + np.float32(2e-3) * ways,
        np.ascontiguousarray(-ways),
        np.arange(len(points)),
        ids,
    )
    owner = np.repeat(np.arange(surfaces.element_count), 16)
    assert (ids == owner).mean() > 0.999  # a few lie on the seam of two elements


def test_mesh_keeps_area_and_points_its_normals_outward() -> None:
    corners, normals = ball_mesh(np.array([1.0, 2.0, 3.0]), 0.5)
    builder = PieceBuilder("ball", Grain())
    builder.add_mesh(corners, normals=normals, material="black")
    piece = builder.build()
    # pencil: 4πr²; 2048 flat triangles fall 0.3 % short
    assert_allclose(piece.element_area_m2.sum(dtype=np.float64), math.pi, rtol=5e-3)
    out = piece.element_points - np.array([1.0, 2.0, 3.0])
    assert ((out * piece.element_normals).sum(-1) > 0.49).all()
    assert piece.patch_count == Grain().mesh_patches[1]


def test_disc_for_other_tests_is_round() -> None:
    piece = disc("d", (0.0, 0.0, 1.0), radius_m=0.5, up=False)
    assert_allclose(piece.element_area_m2.sum(dtype=np.float64), math.pi / 4, rtol=2e-4)  # pencil
    assert_allclose(piece.element_normals[..., 2], -1.0, atol=1e-6)


def test_rooms_look_inward() -> None:
    piece = box_room((2.0, 3.0, 2.5))
    toward = np.array([1.0, 1.5, 1.25]) - piece.element_points
    assert ((toward * piece.element_normals).sum(-1) > 0.0).all()  # pencil
    # pencil: 2 (2 · 3 + 3 · 2.5 + 2 · 2.5)
    assert_allclose(piece.element_area_m2.sum(dtype=np.float64), 37.0, rtol=1e-5)


def test_too_much_surface_is_refused() -> None:
    with pytest.raises(BudgetExceeded, match="more surface"):
        stage_of([box_room((14.0, 14.0, 5.0), grain=Grain(0.2, 0.1))])


def test_bodies_know_their_ranges() -> None:
    stage = stage_of(
        [
            box_room((2.0, 2.0, 2.0)),
            rectangle("sheet", (0.5, 0.5, 1.0), edge_u=(1.0, 0.0, 0.0), edge_v=(0.0, 0.5, 0.0)),
        ]
    )
    body = stage.bodies["sheet"]
    assert_allclose(body.low, [0.5, 0.5, 1.0], atol=1e-6)
    assert_allclose(body.high, [1.5, 1.0, 1.0], atol=1e-6)
    mine = stage.surfaces.element_points[slice(*body.elements)]
    assert_allclose(mine[..., 2], 1.0 + OFFSET_M, rtol=1e-5)
    assert stage.bodies["room"].elements[1] == body.elements[0]


ROOM = """
falloff: 1
title: Room
units: metric
room:
  floor: [[0 m, 0 m], [4 m, 0 m], [4 m, 3 m], [0 m, 3 m]]
  height: 2.5 m
  floor_surface: planks
  ceiling_surface: plaster
  wall_surface: plaster
openings:
  WINDOW: {wall: 3, along: 1 m, width: 1.2 m, sill: 0.9 m, height: 1.1 m}
sky: {type: overcast, outside: 10000 lx}
practicals:
  GLOBE: {light: globe, diameter: 12 cm, output: 600 lm, colour: 2700 K, at: [1 m, 1 m, 1.4 m]}
  OTHER: {light: globe, diameter: 12 cm, output: 600 lm, colour: 2700 K, at: [3 m, 1 m, 1.4 m]}
cameras:
  CAMERA: {at: [2 m, 0.5 m, 1.5 m], aim: [2 m, 3 m, 1.5 m], lens: 24 mm, gate: [24 mm, 13.5 mm]}
setups:
  A: {camera: CAMERA, stop: T2.8, iso: 800, shutter: 180 deg}
readings:
  up: {at: [2 m, 2 m, 0 m], normal: [0, 0, 2]}
"""


def test_wall_with_a_window_keeps_its_area() -> None:
    stage = build_stage(parse_document(ROOM))
    surfaces = stage.surfaces
    wall = surfaces.names.index("room: wall 3")
    mine = surfaces.face_name[surfaces.element_face] == wall
    # pencil: 4 × 2.5 less 1.2 × 1.1
    assert_allclose(surfaces.element_area_m2[mine].sum(dtype=np.float64), 10.0 - 1.32, rtol=1e-6)
    reveal = surfaces.face_name[surfaces.element_face] == surfaces.names.index(
        "room: WINDOW reveal"
    )
    points, normals = surfaces.element_points[reveal], surfaces.element_normals[reveal]
    # pencil: the middle of the hole, x from the wall's far end: wall 3 runs from (4, 3) to (0, 3)
    toward = np.array([4.0 - 1.6, 3.0, 1.45]) - points
    toward[..., 1] = 0.0
    assert ((toward * normals).sum(-1) > 0.0).all()


def test_window_shines_inward_from_its_own_hole() -> None:
    source = build_stage(parse_document(ROOM)).sources[0]
    assert_allclose(source.shape[9:12], [0.0, -1.0, 0.0], atol=1e-12)  # pencil: wall 3 is y = 3
    assert_allclose(source.shape[12], 1.32)  # pencil
    assert source.shape[1] > 3.0  # at the outside of the wall


def test_view_frame() -> None:
    view = build_stage(parse_document(ROOM)).views["CAMERA"]
    assert_allclose(view.forward, [0.0, 1.0, 0.0], atol=1e-12)  # pencil
    assert_allclose(view.right, [1.0, 0.0, 0.0], atol=1e-12)  # pencil
    assert_allclose(view.up, [0.0, 0.0, 1.0], atol=1e-12)  # pencil
    # pencil: half the gate over the focal length
    assert_allclose([view.tan_half_width, view.tan_half_height], [0.5, 13.5 / 48.0])


def test_probe_is_lifted_along_its_unit_normal() -> None:
    (probe,) = build_stage(parse_document(ROOM)).probes
    assert_allclose(probe.normal, [0.0, 0.0, 1.0])  # pencil: [0, 0, 2] made a unit
    assert_allclose(probe.point, [2.0, 2.0, OFFSET_M])


def test_everything_out_of_place_is_told_at_once() -> None:
    text = ROOM.replace("at: [1 m, 1 m, 1.4 m]", "at: [9 m, 1 m, 1.4 m]").replace(
        "at: [3 m, 1 m, 1.4 m]", "at: [3 m, 1 m, 3.4 m]"
    )
    with pytest.raises(GeometryError) as caught:
        build_stage(parse_document(text))
    said = str(caught.value)
    assert len(caught.value.faults) == 2
    assert "GLOBE stands outside the room" in said
    assert "OTHER does not fit between floor and ceiling" in said
    assert all(fault.line is not None and fault.fix for fault in caught.value.faults)


# Robustness ------------------------------------------------------------------------------


def _region(outline: np.ndarray, *holes: np.ndarray, grain: Grain | None = None) -> Piece:
    builder = PieceBuilder("face", grain or Grain())
    builder.add_polygon(
        np.zeros(3), axis_u=X, axis_v=Y, outline=outline, holes=holes, material="black"
    )
    return builder.build()


def _square(low: float, high: float, left: float = 0.0, right: float = 1.0) -> np.ndarray:
    return np.array([[left, low], [right, low], [right, high], [left, high]])


@pytest.mark.parametrize("width", [2e-2, 2e-3, 2e-4, 2e-5, 2e-6])
def test_a_tongue_however_thin_keeps_its_area_and_ends(width: float) -> None:
    outline = np.array(
        [[0, 0], [1, 0], [1, 1], [0.52 + width, 1], [0.52 + width, 2], [0.52, 2], [0.52, 1], [0, 1]]
    )
    piece = _region(outline)
    total = piece.element_area_m2.sum(dtype=np.float64)
    assert_allclose(total, 1.0 + width, rtol=1e-6)  # pencil
    assert np.isfinite(piece.element_points).all()


def test_slivers_of_cells_are_held_by_their_neighbours() -> None:
    """A tongue far thinner than a cell has no elements of its own, but none of it is lost."""
    outline = np.array(
        [[0, 0], [1, 0], [1, 1], [0.520002, 1], [0.520002, 2], [0.52, 2], [0.52, 1], [0, 1]]
    )
    piece = _region(outline)
    held = piece.cell_element[piece.cell_element >= 0]
    assert len(np.unique(held)) == len(piece.element_area_m2) == 100  # pencil: 1 m² of 10 cm cells
    assert len(held) == 110  # pencil: and ten of the tongue
    assert (piece.element_points[..., 1] < 1.0).all()


def test_a_hole_may_reach_the_edge() -> None:
    piece = _region(_square(0, 1), _square(0, 0.4, 0.2, 0.5))
    assert_allclose(piece.element_area_m2.sum(dtype=np.float64), 1.0 - 0.12, rtol=1e-6)  # pencil


def test_holes_may_touch_and_overlap() -> None:
    piece = _region(_square(0, 1), _square(0.2, 0.4, 0.2, 0.5), _square(0.3, 0.6, 0.4, 0.7))
    # pencil: 0.06 + 0.09 less what they share, 0.1 × 0.1
    assert_allclose(piece.element_area_m2.sum(dtype=np.float64), 1.0 - 0.14, rtol=1e-6)


def test_a_hole_right_across_leaves_two_parts() -> None:
    piece = _region(_square(0, 1), _square(0.3, 0.5))
    assert_allclose(piece.element_area_m2.sum(dtype=np.float64), 0.8, rtol=1e-6)  # pencil
    y = piece.element_points[..., 1]
    assert not ((y > 0.3) & (y < 0.5)).any()


def test_a_face_that_is_all_hole_is_none() -> None:
    builder = PieceBuilder("face", Grain())
    builder.add_polygon(
        np.zeros(3),
        axis_u=X,
        axis_v=Y,
        outline=_square(0, 1),
        holes=(_square(0, 1),),
        material="black",
    )
    builder.add_rectangle(np.zeros(3), edge_u=X, edge_v=Y, material="black")
    assert builder.build().face_name == ("face",)


def test_points_of_a_needle_are_in_the_needle() -> None:
    outline = np.array([[0.0, 0.0], [3.0, 3.0], [3.0 - 1e-5, 3.0 + 1e-5]])
    points = _region(outline).element_points.reshape(-1, 3)
    assert (np.abs(points[:, 1] - points[:, 0]) < 3e-5).all()  # pencil; float32 at 3 m


def test_a_face_too_large_to_be_cut_is_refused_before_it_is_cut() -> None:
    with pytest.raises(BudgetExceeded, match="too large to be cut so finely"):
        _region(_square(0, 3000, 0, 3000))


def test_another_grain_holds_for_what_is_added_meanwhile() -> None:
    builder = PieceBuilder("face", Grain())
    with builder.cut_by(Grain(0.5, 0.5)):
        builder.add_rectangle(np.zeros(3), edge_u=X, edge_v=Y, material="black")
    builder.add_rectangle(Z, edge_u=X, edge_v=Y, material="black")
    counts = np.bincount(builder.build().element_face)
    assert_array_equal(counts, [4, 100])  # pencil: 2 × 2, then 10 × 10
