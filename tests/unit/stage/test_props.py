"""Things that stand in a room: where they stand, what they are made of, what they cost."""

from __future__ import annotations

import math
import os
import struct
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.document import parse_document
from falloff.errors import GeometryError
from falloff.kit.furniture import FURNITURE_KINDS, furniture, solid_mesh
from falloff.stage import build_stage
from falloff.stage.dice import PieceBuilder
from falloff.stage.grain import Grain
from falloff.stage.places import Placer
from falloff.stage.props import build_prop
from falloff.stage.records import Piece
from falloff.stage.shapes import holds, rest_in, shape_in, to_own_frame
from falloff.stage.solids import add_surface
from falloff.types import Float64Array

ROOM = """falloff: 2
title: Props
units: metric
room: {floor: [[0 m, 0 m], [6 m, 0 m], [6 m, 6 m], [0 m, 6 m]], height: 4 m,
       floor_surface: oak, ceiling_surface: white paint, wall_surface: plaster}
props:
"""


def placer(*props: str, folder: Path = Path()) -> Placer:
    text = ROOM + "".join(f"  {prop}\n" for prop in props)
    return Placer(parse_document(text, str(folder / "props.scene.yaml")))


def built(*props: str, folder: Path = Path()) -> Piece:
    """The first prop's surfaces."""
    return build_prop(placer(*props, folder=folder), props[0].split(":")[0], Grain())


def faults(*props: str, folder: Path = Path()) -> str:
    with pytest.raises(GeometryError) as caught:
        built(*props, folder=folder)
    assert all(fault.line and fault.column and fault.fix for fault in caught.value.faults)
    return str(caught.value)


def pyramid(folder: Path, *, base: bool = True) -> Path:
    """A pyramid 2 m wide and 1 m high, open below or not."""
    corners = np.array([[-1, -1, 0], [1, -1, 0], [1, 1, 0], [-1, 1, 0]], "<f4")
    tip = np.array([0, 0, 1], "<f4")
    triangles = [np.stack([corners[k], corners[(k + 1) % 4], tip]) for k in range(4)]
    if base:
        triangles += [corners[[0, 2, 1]], corners[[0, 3, 2]]]
    rows = np.zeros(len(triangles), np.dtype([("n", "<f4", 3), ("at", "<f4", (3, 3)), ("x", "u2")]))
    rows["at"] = np.array(triangles)
    path = folder / "pyramid.stl"
    path.write_bytes(bytes(80) + struct.pack("<I", len(rows)) + rows.tobytes())
    return path


def area(corners: np.ndarray) -> Float64Array:
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    return np.asarray(0.5 * np.linalg.norm(np.cross(first, second), axis=1))


PYRAMID = "P: {shape: mesh, file: pyramid.stl, unit: m, up: z, at: [3 m, 2 m, 0.5 m], surface: oak}"
SLOPES = 4 * math.sqrt(2.0)  # pencil: four triangles 2 m wide and √2 m high


# Where and how large ---------------------------------------------------------------------


def test_a_mesh_stands_where_it_was_put(tmp_path: Path) -> None:
    pyramid(tmp_path)
    piece = built(PYRAMID.replace("surface", "turn: 45 deg, surface"), folder=tmp_path)
    points = piece.corners.reshape(-1, 3)
    reach = math.sqrt(2.0)  # pencil: half a diagonal of 2 m
    assert_allclose(points.min(0), [3 - reach, 2 - reach, 0.5], atol=1e-5)
    assert_allclose(points.max(0), [3 + reach, 2 + reach, 1.5], atol=1e-5)
    assert_allclose(piece.element_area_m2.sum(dtype=np.float64), 4.0 + SLOPES, rtol=1e-5)
    across = np.einsum("ekd,ekd->ek", piece.element_normals, piece.element_points - [3.0, 2.0, 0.9])
    assert (across > 0.0).all()  # all of it faces away from a point inside


def test_furniture_faces_the_way_it_is_turned() -> None:
    """Unturned it looks down the plan: a chair's back is up the plan of its seat."""
    for turn, ahead in ((0, (0, -1)), (90, (1, 0)), (180, (0, 1))):
        piece = built(f"C: {{shape: chair, at: [3 m, 3 m], turn: {turn} deg, surface: oak}}")
        points = piece.corners.reshape(-1, 3)
        back = points[points[:, 2] > 0.7].mean(0)[:2] - 3.0
        assert float(back @ ahead) < -0.1


@pytest.mark.parametrize("kind", FURNITURE_KINDS)
def test_furniture_keeps_its_surface_and_costs_little(kind: str) -> None:
    piece = built(f"F: {{shape: {kind}, at: [3 m, 3 m], turn: 30 deg, surface: oak}}")
    whole = sum(float(area(solid_mesh(solid)[0]).sum()) for solid in furniture(kind).solids)
    assert_allclose(piece.element_area_m2.sum(dtype=np.float64), whole, rtol=1e-4)
    assert_allclose(area(piece.corners.astype(np.float64)).sum(), whole, rtol=1e-4)
    assert len(piece.element_area_m2) <= 65_533 / 12  # a dozen of the costliest fill a scene
    assert piece.patch_count <= 1200


def test_sixty_small_boxes_share_a_few_patches() -> None:
    piece = built(
        "B: {shape: books, count: 30, size: [90 cm, 17 cm, 24 cm], at: [3 m, 3 m], surface: oak}"
    )
    solids = furniture("books", size_m=(0.9, 0.17, 0.24), count=30).solids
    assert len(solids) >= 60
    assert piece.patch_count < 6 * len(solids)  # faces of their own would be six each or more


def test_both_sides_of_an_open_mesh_hold_their_own_light(tmp_path: Path) -> None:
    pyramid(tmp_path, base=False)
    piece = built(PYRAMID, folder=tmp_path)
    assert_allclose(piece.element_area_m2.sum(dtype=np.float64), 2 * SLOPES, rtol=1e-3)
    outward = np.einsum("ekd,ekd->ek", piece.element_normals, piece.element_points - [3, 2, 0.5])
    assert ((outward > 0.0).all(1) | (outward < 0.0).all(1)).all()  # none has both


def test_a_large_surface_has_more_clusters_than_a_small_one() -> None:
    grain = Grain()
    side = np.linspace(0.0, 3.0, 61)
    u, v = np.meshgrid(side, side, indexing="ij")
    sheet = np.stack([u, v, 0.1 * np.sin(u)], 2)
    a, b, c, d = sheet[:-1, :-1], sheet[1:, :-1], sheet[1:, 1:], sheet[:-1, 1:]
    corners = np.concatenate([np.stack([a, b, c], 2), np.stack([a, c, d], 2)]).reshape(-1, 3, 3)
    normals = np.broadcast_to(np.array([0.0, 0.0, 1.0]), corners.shape)
    builder = PieceBuilder("sheet", grain)
    add_surface(builder, corners, normals, material="oak")
    piece = builder.build()
    assert_allclose(piece.element_area_m2.sum(dtype=np.float64), area(corners).sum(), rtol=1e-5)
    assert grain.mesh_patches[1] < piece.patch_count <= 8 * grain.mesh_patches[1]
    assert piece.element_area_m2.max() < 0.3


# What it is made of ----------------------------------------------------------------------


def test_parts_take_their_own_surface_else_the_kits_else_the_main() -> None:
    bench = "B: {shape: bench, at: [3 m, 3 m], surface: oak, surfaces: {shelf: pine}}"
    piece = built(bench)
    made_of = {
        name.split(": ")[1]: material
        for name, material in zip(piece.face_name, piece.face_material, strict=True)
    }
    assert made_of["top"] == made_of["legs"] == "oak"
    assert made_of["shelf"] == "pine"
    assert made_of["vice"] == furniture("bench").default_surfaces["vice"]


def test_a_part_that_is_not_there_is_refused_with_the_nearest() -> None:
    told = faults("T: {shape: table, at: [3 m, 3 m], surface: oak, surfaces: {leg: steel}}")
    assert "T has no part called 'leg'" in told
    assert "did you mean 'legs'?" in told


# What it carries and holds ---------------------------------------------------------------


def test_things_rest_on_levels_and_on_what_is_highest_there(tmp_path: Path) -> None:
    pyramid(tmp_path)
    document = placer(PYRAMID, "S: {shape: shelves, at: [1 m, 1 m], surface: oak}", folder=tmp_path)
    scene = document.document
    piece = furniture("shelves")
    assert rest_in(scene, "S", None) == piece.usual_rest_m
    assert [rest_in(scene, "S", k) for k in (1, 2)] == list(piece.rests_m[:2])
    with pytest.raises(GeometryError, match="there is no level 9"):
        rest_in(scene, "S", 9)
    assert_allclose(rest_in(scene, "P", None), 1.0, atol=1e-6)  # pencil: on its tip
    assert_allclose(rest_in(scene, "P", None, offset_m=(0.25, 0.1)), 0.75, atol=1e-6)  # pencil
    assert_allclose(rest_in(scene, "P", None, offset_m=(0.0, -0.5)), 0.5, atol=1e-6)  # pencil


def test_a_shape_holds_what_is_in_its_stuff_alone(tmp_path: Path) -> None:
    pyramid(tmp_path)
    scene = placer(
        PYRAMID,
        "T: {shape: table, at: [1 m, 1 m], surface: oak}",
        "D: {shape: cylinder, diameter: 1 m, height: 1 m, at: [5 m, 5 m], surface: oak}",
        folder=tmp_path,
    ).document
    tip, table, drum = (shape_in(scene, name) for name in "PTD")
    assert holds(tip, np.array([0.3, 0.3, 0.5]))
    assert not holds(tip, np.array([0.6, 0.0, 0.5]))  # inside its box, outside its slope
    assert not holds(tip, np.array([0.0, 0.0, -0.1]))
    assert not holds(table, np.array([0.0, 0.0, 0.3]))  # under it
    assert holds(table, np.array([0.0, 0.0, table.size_m[2] - 0.01]))  # in its top
    assert holds(drum, np.array([0.3, 0.3, 0.5]))
    assert not holds(drum, np.array([0.45, 0.45, 0.5]))
    pyramid(tmp_path, base=False)
    assert not holds(shape_in(scene, "P"), np.array([0.0, 0.0, 0.5]))  # a tent


def test_own_frame_and_room_agree() -> None:
    origin = np.array([3.0, 2.0, 0.5])
    turned = to_own_frame(np.array([3.0, 4.0, 1.0]), origin=origin, turn_rad=math.pi / 2)
    assert_allclose(turned, [2.0, 0.0, 0.5], atol=1e-12)  # pencil: its x now points up the plan


def test_a_mesh_is_read_again_only_when_its_file_has_changed(tmp_path: Path) -> None:
    path = pyramid(tmp_path)
    scene = placer(PYRAMID, folder=tmp_path).document
    first = shape_in(scene, "P").mesh
    assert shape_in(scene, "P").mesh is first
    os.utime(path, ns=(1, 1))
    assert shape_in(scene, "P").mesh is not first


def test_what_is_said_of_a_mesh_is_about_the_prop(tmp_path: Path) -> None:
    pyramid(tmp_path, base=False)
    (finding,) = shape_in(placer(PYRAMID, folder=tmp_path).document, "P").findings
    assert finding.about == "P"
    assert "second side" in finding.says


@pytest.mark.parametrize(
    ("prop", "said"),
    [
        (PYRAMID, "there is no such file"),
        (PYRAMID.replace("pyramid.stl", "https://example.org/a.stl"), "a.stl"),
        ("T: {shape: table, size: [1 m, 1 m, 5 cm], at: [1 m, 1 m], surface: oak}", "so small"),
    ],
)
def test_faults_point_at_the_line(tmp_path: Path, prop: str, said: str) -> None:
    told = faults(prop, folder=tmp_path)
    assert said in told
    assert told.startswith("props.scene.yaml, line 7, column ")


def test_a_scene_too_full_is_cut_coarser_and_says_so() -> None:
    text = ROOM.replace("6 m", "18 m")
    for k in range(30):
        x, y = 2.0 + 2.8 * (k % 6), 1.5 + 3.0 * (k // 6)
        text += f"  S {k}: {{shape: bed, at: [{x:g} m, {y:g} m], surface: oak}}\n"
    few = build_stage(parse_document(text[: text.index("  S 1:")], "few.scene.yaml"))
    many = build_stage(parse_document(text, "many.scene.yaml"))
    print(few.surfaces.element_count, many.surfaces.element_count)
    assert not any(one.about == "props" for one in few.findings)
    assert any(one.about == "props" for one in many.findings)
    assert many.surfaces.element_count < 65_533
