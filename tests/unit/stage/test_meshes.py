"""Meshes from files: what is read, what is mended and told, and what is refused at once."""

from __future__ import annotations

import json
import struct
import time
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from falloff.errors import GeometryError
from falloff.stage.mesh_edges import smooth_normals, weld
from falloff.stage.mesh_files import MOST_TRIANGLES_READ
from falloff.stage.mesh_thin import thin
from falloff.stage.meshes import MOST_TRIANGLES_KEPT, SECOND_SIDE_M, MeshData, read_mesh
from falloff.stage.polygons import split_polygons

CUBE = """
v 0 0 0
v 2 0 0
v 2 2 0
v 0 2 0
v 0 0 2
v 2 0 2
v 2 2 2
v 0 2 2
"""
CUBE_FACES = ("1 4 3 2", "5 6 7 8", "1 2 6 5", "2 3 7 6", "3 4 8 7", "4 1 5 8")


def obj(folder: Path, text: str) -> Path:
    path = folder / "thing.obj"
    path.write_text(text, encoding="utf-8")
    return path


def cube(folder: Path, *faces: str) -> Path:
    return obj(folder, CUBE + "".join(f"f {face}\n" for face in faces or CUBE_FACES))


def read(path: Path, unit_m: float | None = 1.0, up: str | None = "z") -> MeshData:
    return read_mesh(path, unit_m=unit_m, up=up)


def volume(mesh: MeshData) -> float:
    assert mesh.volume_m3 is not None
    return mesh.volume_m3


def area(corners: np.ndarray) -> float:
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return 0.5 * float(np.linalg.norm(cross, axis=1).sum())


def ball(rows: int) -> np.ndarray:
    """A closed ball of 1 m across about the origin, as corners (4 rows², 3, 3)."""
    around = 2.0 * np.pi * np.arange(2 * rows + 1) / (2 * rows)
    around[-1] = 0.0
    down, turn = np.meshgrid(np.linspace(0.0, np.pi, rows + 1), around, indexing="ij")
    flat = 0.5 * np.sin(down)
    flat[[0, -1]] = 0.0
    points = np.stack([flat * np.cos(turn), flat * np.sin(turn), 0.5 * np.cos(down)], 2)
    a, b, c, d = points[:-1, :-1], points[1:, :-1], points[1:, 1:], points[:-1, 1:]
    return np.concatenate([np.stack([a, b, c], 2), np.stack([a, c, d], 2)]).reshape(-1, 3, 3)


def stl(path: Path, corners: np.ndarray) -> Path:
    rows = np.zeros(len(corners), np.dtype([("n", "<f4", 3), ("at", "<f4", (3, 3)), ("x", "<u2")]))
    rows["at"] = corners
    path.write_bytes(bytes(80) + struct.pack("<I", len(rows)) + rows.tobytes())
    return path


def gltf(folder: Path, **changes: object) -> Path:
    """A triangle 2 m wide and 1 m high, upright, with its numbers in a file beside it."""
    points = np.array([[0, 0, 0], [2, 0, 0], [0, 1, 0]], "<f4")
    (folder / "thing.bin").write_bytes(points.tobytes() + np.array([0, 1, 2], "<u2").tobytes())
    tree: dict[str, object] = {
        "asset": {"version": "2.0"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": [{"mesh": 0}],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1}]}],
        "buffers": [{"uri": "thing.bin", "byteLength": 42}],
        "bufferViews": [
            {"buffer": 0, "byteOffset": 0, "byteLength": 36},
            {"buffer": 0, "byteOffset": 36, "byteLength": 6},
        ],
        "accessors": [
            {
                "bufferView": 0,
                "componentType": 5126,
                "count": 3,
                "type": "VEC3",
                "min": [0, 0, 0],
                "max": [2, 1, 0],
            },
            {"bufferView": 1, "componentType": 5123, "count": 3, "type": "SCALAR"},
        ],
    }
    path = folder / "thing.gltf"
    path.write_text(json.dumps(tree | changes), encoding="utf-8")
    return path


# Reading ---------------------------------------------------------------------------------


def test_a_cube_of_quads_stands_on_the_floor_over_the_origin(tmp_path: Path) -> None:
    mesh = read(cube(tmp_path), unit_m=0.01)
    assert mesh.triangle_count == 12  # pencil: two a face
    assert mesh.closed
    assert mesh.second_side == 12
    assert_allclose(volume(mesh), 0.02**3, rtol=1e-6)  # pencil
    assert_allclose(area(mesh.corners), 6 * 0.02**2, rtol=1e-6)  # pencil
    assert_allclose(mesh.corners.reshape(-1, 3).min(0), [-0.01, -0.01, 0.0], atol=1e-8)
    assert_allclose(mesh.corners.reshape(-1, 3).max(0), [0.01, 0.01, 0.02], atol=1e-8)
    cross = np.cross(
        mesh.corners[:, 1] - mesh.corners[:, 0], mesh.corners[:, 2] - mesh.corners[:, 0]
    )
    flat = cross / np.linalg.norm(cross, axis=1)[:, None]
    assert_allclose(mesh.normals, np.repeat(flat[:, None], 3, 1), atol=1e-6)  # 90° is no round
    assert not mesh.findings


def test_obj_of_groups_materials_textures_and_carried_lines(tmp_path: Path) -> None:
    text = CUBE.replace("v 2 2 2", "v 2 \\\n2 2") + "mtllib gone.mtl\nvt 0 0\nvn 0 0 1\n"
    for k, face in enumerate(CUBE_FACES):
        corners = " ".join(f"{number}/1/1" if k % 2 else f"{number}//1" for number in face.split())
        text += f"g part {k}\nusemtl paint {k}\nf {corners} # a face\n"
    plain, busy = read(cube(tmp_path)), read(obj(tmp_path, text.replace("\n", "\r\n")))
    assert_allclose(busy.corners, plain.corners, atol=1e-12)


def test_obj_faces_counted_backwards_from_where_they_stand(tmp_path: Path) -> None:
    second = CUBE.replace("v 0", "v 5").replace("v 2", "v 7")
    backward = [" ".join(str(int(n) - 9) for n in face.split()) for face in CUBE_FACES]
    faces = "".join(f"f {face}\n" for face in backward)
    mesh = read(obj(tmp_path, CUBE + faces + second + faces))
    assert_allclose(volume(mesh), 16.0, rtol=1e-6)  # pencil: two cubes of 2 m, 3 m apart
    assert_allclose(np.ptp(mesh.corners.reshape(-1, 3), axis=0), [7, 2, 2], rtol=1e-6)


@pytest.mark.parametrize("form", ["ascii", "binary_little_endian", "binary_big_endian"])
def test_ply_of_triangles_and_quads_together(tmp_path: Path, form: str) -> None:
    points = [[float(n) for n in line.split()[1:]] for line in CUBE.split("\n") if line]
    faces = [[int(n) - 1 for n in face.split()] for face in CUBE_FACES]
    faces = [faces[0][:3], [faces[0][0], *faces[0][2:]], *faces[1:]]
    header = (
        f"ply\nformat {form} 1.0\ncomment no more\nelement vertex 8\nproperty float x\n"
        "property float y\nproperty float z\nproperty uchar red\nelement face 7\n"
        "property list uchar int vertex_indices\nproperty uchar flags\nend_header\n"
    )
    path = tmp_path / "thing.ply"
    if form == "ascii":
        body = "".join(f"{x} {y} {z} 7\n" for x, y, z in points)
        body += "".join(f"{len(f)} {' '.join(map(str, f))} 3\n" for f in faces)
        path.write_text(header + body, encoding="ascii")
    else:
        order = "<" if "little" in form else ">"
        data = b"".join(struct.pack(order + "fffB", *point, 7) for point in points)
        data += b"".join(struct.pack(f"{order}B{len(f)}iB", len(f), *f, 3) for f in faces)
        path.write_bytes(header.encode() + data)
    mesh = read(path)
    assert mesh.triangle_count == 12
    assert_allclose(volume(mesh), 8.0, rtol=1e-6)  # pencil


def test_hollow_polygons_keep_their_outline() -> None:
    # pencil: an arrowhead of area 1, an L of area 3 and a comb of area 4 + 3 · 2, all turned 30°.
    arrow = np.array([[0, 0], [2, -1], [1, 0], [2, 1]], float)
    ell = np.array([[0, 0], [2, 0], [2, 1], [1, 1], [1, 2], [0, 2]], float)
    teeth = [[x, y] for k in (4, 2, 0) for x, y in ((k + 0.8, 1), (k + 0.8, 3), (k, 3), (k, 1))]
    comb = np.array([[0, 0], [4.8, 0], *teeth[:-1], [0, 1]][:-1], float)
    turn = np.array([[0.75**0.5, 0.0, 0.5], [0.0, 1.0, 0.0]])
    for shape in (arrow, ell, comb):
        x, y = shape.T
        told = 0.5 * float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())
        points = shape @ turn
        faces = split_polygons(points, np.arange(len(shape)), np.array([len(shape)]))
        cross = np.cross(
            points[faces[:, 1]] - points[faces[:, 0]], points[faces[:, 2]] - points[faces[:, 0]]
        )
        facing = np.cross(turn[0], turn[1])
        assert len(faces) == len(shape) - 2
        assert (cross @ facing >= 0.0).all()  # none is turned over, so none reaches out
        assert_allclose(0.5 * float((cross @ facing).sum()), told, rtol=1e-12)


def test_gltf_stands_up_and_its_nodes_move_it(tmp_path: Path) -> None:
    plain = read_mesh(gltf(tmp_path), unit_m=None, up=None)
    size = np.ptp(plain.corners[: plain.second_side].reshape(-1, 3), axis=0)
    assert_allclose(size, [2.0, 0.0, 1.0], atol=1e-6)  # pencil: its y is up
    nodes = [{"children": [1], "scale": [3, 3, 3]}, {"mesh": 0, "translation": [1, 0, 0]}]
    moved = read_mesh(gltf(tmp_path, nodes=nodes), unit_m=None, up=None)
    size = np.ptp(moved.corners[: moved.second_side].reshape(-1, 3), axis=0)
    assert_allclose(size, [6.0, 0.0, 3.0], atol=1e-6)  # pencil
    mirrored = read_mesh(
        gltf(tmp_path, nodes=[{"mesh": 0, "scale": [-1, 1, 1]}]), unit_m=None, up=None
    )
    assert_allclose(mirrored.normals[0], plain.normals[0], atol=1e-9)  # it faces the same way


def test_up_may_be_y_in_any_file(tmp_path: Path) -> None:
    text = "v 0 0 0\nv 1 0 0\nv 0 3 0\nf 1 2 3\n"
    mesh = read(obj(tmp_path, text), up="y")
    assert_allclose(np.ptp(mesh.corners[0], axis=0), [1.0, 0.0, 3.0], atol=1e-9)
    assert_allclose(mesh.normals[0, 0], [0.0, -1.0, 0.0], atol=1e-9)  # pencil: z points forward


# Mending ---------------------------------------------------------------------------------


def test_an_open_surface_gets_a_second_side(tmp_path: Path) -> None:
    mesh = read(cube(tmp_path, *CUBE_FACES[:-1]))
    assert not mesh.closed
    assert mesh.volume_m3 is None
    assert mesh.second_side == 10
    assert len(mesh.corners) == 20
    assert_allclose(mesh.normals[10:], -mesh.normals[:10, ::-1], atol=1e-9)
    step = np.linalg.norm(mesh.corners[10:, ::-1] - mesh.corners[:10], axis=2)
    assert_allclose(step, SECOND_SIDE_M, rtol=1e-9)
    assert "100 % of its surface is not closed" in mesh.findings[0].says


def test_only_open_parts_get_a_second_side(tmp_path: Path) -> None:
    text = CUBE + "".join(f"f {face}\n" for face in CUBE_FACES)
    text += "v 5 0 0\nv 7 0 0\nv 7 2 0\nv 5 2 0\nf 9 10 11 12\n"
    mesh = read(obj(tmp_path, text))
    assert mesh.second_side == 14
    assert len(mesh.corners) == 16
    assert "14 % of its surface" in mesh.findings[0].says  # pencil: 4 of 28 m²


def test_faces_that_look_inward_are_turned(tmp_path: Path) -> None:
    inward = [" ".join(reversed(face.split())) for face in CUBE_FACES]
    mesh = read(cube(tmp_path, *inward))
    assert_allclose(volume(mesh), 8.0, rtol=1e-6)  # pencil
    assert "turned" in mesh.findings[0].says


def test_a_hollow_stays_a_hollow(tmp_path: Path) -> None:
    shell = np.concatenate([ball(16), 0.5 * ball(16)[:, ::-1]])
    mesh = read(stl(tmp_path / "shell.stl", shell))
    solid = read(stl(tmp_path / "solid.stl", ball(16)))
    assert_allclose(volume(mesh), volume(solid) * (1.0 - 0.125), rtol=1e-5)  # pencil
    assert not mesh.findings


def test_faces_written_twice_or_both_ways_count_once(tmp_path: Path) -> None:
    back = [" ".join(reversed(face.split())) for face in ("1 2 3", "1 3 4")]
    mesh = read(
        obj(tmp_path, CUBE + "f 1 2 3\nf 1 3 4\nf 2 3 1\n" + "".join(f"f {b}\n" for b in back))
    )
    assert mesh.second_side == 2
    assert not mesh.closed  # a sheet, not a body of no thickness


def test_normals_are_round_on_a_ball_and_break_at_a_rim(tmp_path: Path) -> None:
    mesh = read(stl(tmp_path / "ball.stl", ball(24)))
    points = mesh.corners - [0.0, 0.0, 0.5]
    away = np.einsum(
        "tkd,tkd->tk", mesh.normals, points / np.linalg.norm(points, axis=2)[..., None]
    )
    assert away.min() > np.cos(np.radians(2.0))  # its facets are 7.5° wide
    angle = np.linspace(0.0, 2.0 * np.pi, 25)
    angle[-1] = 0.0
    ring = np.stack([np.cos(angle), np.sin(angle), np.zeros(25)], 1)
    a, b = ring[:-1], ring[1:]
    up = np.array([0.0, 0.0, 1.0])
    side = np.concatenate([np.stack([a, b, b + up], 1), np.stack([a, b + up, a + up], 1)])
    lid = np.stack([np.broadcast_to(up, a.shape), a + up, b + up], 1)
    corners = np.concatenate([side, lid])
    vertices, faces = weld(corners.reshape(-1, 3), np.arange(corners.size // 3).reshape(-1, 3))
    normals = smooth_normals(vertices, faces, crease_rad=np.radians(35.0))
    upright = np.abs(normals[..., 2])
    assert upright[: len(side)].max() < 1e-9  # pencil: 15° between sides, 90° at the rim
    assert upright[len(side) :].min() > 1.0 - 1e-9
    out = vertices[faces[: len(side)]] * (1.0, 1.0, 0.0)
    assert_allclose(np.einsum("tkd,tkd->tk", out, normals[: len(side)]).min(), 1.0, atol=1e-9)


# Thinning --------------------------------------------------------------------------------


def test_a_large_mesh_is_thinned_and_says_so(tmp_path: Path) -> None:
    mesh = read(stl(tmp_path / "ball.stl", ball(300)))
    assert mesh.triangle_count == 360_000
    assert mesh.thinned
    assert 0.5 * MOST_TRIANGLES_KEPT < mesh.second_side <= MOST_TRIANGLES_KEPT
    assert mesh.closed
    assert_allclose(area(mesh.corners), np.pi, rtol=0.01)  # pencil
    assert_allclose(volume(mesh), np.pi / 6.0, rtol=0.01)  # pencil
    assert "thinned from 35" in mesh.findings[0].says  # 1200 of no area at the poles are gone
    assert "its area changed by" in mesh.findings[0].says


def test_thinning_keeps_the_sides_of_a_board_apart_and_never_depends_on_chance() -> None:
    side = np.linspace(0.0, 1.0, 121)
    u, v = np.meshgrid(side, side, indexing="ij")
    top = np.stack([u, v, np.full_like(u, 0.004)], 2)
    low = top - [0.0, 0.0, 0.004]
    corners = []
    for sheet, turned in ((top, False), (low, True)):
        a, b, c, d = sheet[:-1, :-1], sheet[1:, :-1], sheet[1:, 1:], sheet[:-1, 1:]
        both = np.concatenate([np.stack([a, b, c], 2), np.stack([a, c, d], 2)]).reshape(-1, 3, 3)
        corners.append(both[:, ::-1] if turned else both)
    soup = np.concatenate(corners).reshape(-1, 3)
    vertices, faces = weld(soup, np.arange(len(soup)).reshape(-1, 3))
    marked = np.zeros(len(vertices), np.bool_)
    first = thin(vertices, faces, marked=marked, most=4000)
    again = thin(vertices, faces, marked=marked, most=4000)
    assert 2000 < len(first[1]) <= 4000
    assert_array_equal(first[1], again[1])
    assert_array_equal(first[0], again[0])
    heights = first[0][first[1]][..., 2]
    assert_allclose(np.ptp(heights, axis=1), 0.0, atol=1e-9)  # no triangle spans both sides
    assert_allclose(area(first[0][first[1]]), 2.0, rtol=0.05)  # pencil, less what the rim loses


# Refusing --------------------------------------------------------------------------------


def refused(path: Path, unit_m: float | None = 1.0, up: str | None = "z") -> str:
    began = time.perf_counter()
    with pytest.raises(GeometryError) as caught:
        read_mesh(path, unit_m=unit_m, up=up)
    assert time.perf_counter() - began < 20.0  # a stall, not a bar on speed
    (fault,) = caught.value.faults
    assert fault.fix
    assert path.name in fault.what
    return str(caught.value)


def test_more_triangles_than_can_be_read_are_refused_before_they_are_read(tmp_path: Path) -> None:
    many = MOST_TRIANGLES_READ + 1
    told = f"{many:,} triangles"
    ply = tmp_path / "big.ply"
    ply.write_text(
        "ply\nformat binary_little_endian 1.0\nelement vertex 9\nproperty float x\n"
        f"element face {many}\nproperty list uchar int vertex_indices\nend_header\n",
        encoding="ascii",
    )
    assert told in refused(ply)
    big = tmp_path / "big.stl"
    with big.open("wb") as file:
        file.write(bytes(80) + struct.pack("<I", many))
        file.truncate(84 + 50 * many)
    assert told in refused(big)
    assert told in refused(obj(tmp_path, CUBE + "f 1 2 3\n" * many))
    wide = [{"bufferView": 0, "componentType": 5126, "count": 3 * many, "type": "VEC3"}] * 2
    assert told in refused(gltf(tmp_path, accessors=wide))
    nodes = [{"children": list(range(1, many + 1))}] if many < 1000 else [{"mesh": 0}] * many
    assert told in refused(gltf(tmp_path, nodes=nodes))


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("a.obj", b"", "holds no triangles"),
        ("a.obj", b"v 0 0 0\nv 1 1 1\n", "holds no triangles"),
        ("a.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 4\n", "a vertex that the file does not hold"),
        ("a.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 0 1 2\n", "a vertex that the file does not hold"),
        ("a.obj", b"v 0 0 0\nv 1 0 0\nv 0 one 0\nf 1 2 3\n", "cannot be read"),
        ("a.obj", b"v 0 0 0\nv 1 0 0\nv 0 nan 0\nf 1 2 3\n", "are not numbers"),
        ("a.obj", b"v 0 0 0\nv 1 0 0\nv 0 1e999 0\nf 1 2 3\n", "are not numbers"),
        ("a.obj", b"v 0 0 0\nv 1 0 0\nv 2 0 0\nf 1 2 3\n", "no triangle of the mesh has any area"),
        ("a.obj", b"v 0 0 0\nv 0 0 0\nv 0 0 0\nf 1 2 3\n", "0 mm across"),
        ("a.obj", b"\x00\x01\x02\xff" * 99, "holds no triangles"),
        ("a.stl", b"", "holds no triangles"),
        ("a.stl", b"solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0", "a.stl"),
        ("a.stl", bytes(80) + struct.pack("<I", 5) + bytes(60), "fit the 5 triangles"),
        ("a.ply", b"", "not that of a PLY file"),
        ("a.ply", b"ply\nformat ascii 1.0\nelement vertex 1\nend_header\n", "a.ply"),
        (
            "a.ply",
            b"ply\nformat binary_little_endian 1.0\nelement vertex 3\nproperty float x\n"
            b"property float y\nproperty float z\nelement face 1\n"
            b"property list uchar int vertex_indices\nend_header\n" + bytes(20),
            "cannot be read",
        ),
        ("a.glb", b"", "cannot be read"),
        ("a.glb", b"glTF\x02\x00\x00\x00\xff\x00\x00\x00\x08\x00\x00\x00JSON{}      ", "not glTF"),
        ("a.gltf", b"[]", "not glTF"),
        ("a.gltf", b'{"asset": ', "cannot be read"),
        ("a.gltf", b'{"asset": {"version": "2.0"}}', "a.gltf"),
        ("a.fbx", b"", "this kind of mesh file is not read"),
        ("a", b"", "no ending"),
    ],
)
def test_files_that_are_not_what_they_seem(
    tmp_path: Path, name: str, data: bytes, said: str
) -> None:
    path = tmp_path / name
    path.write_bytes(data)
    assert said in refused(path)


def test_files_that_are_not_there(tmp_path: Path) -> None:
    assert "there is no such file" in refused(tmp_path / "gone.obj")
    folder = tmp_path / "folder.obj"
    folder.mkdir()
    assert "this is a folder" in refused(folder)


def test_gltf_that_lacks_something(tmp_path: Path) -> None:
    assert "without compression" in refused(
        gltf(tmp_path, extensionsRequired=["KHR_draco_mesh_compression"])
    )
    ring = [{"children": [1], "mesh": 0}, {"children": [0]}]
    assert "its own parent" in refused(gltf(tmp_path, nodes=ring))
    twice = [{"children": [1, 1]}, {"mesh": 0}]
    assert "two parents" in refused(gltf(tmp_path, nodes=twice))
    away = [{"uri": "https://example.org/thing.bin", "byteLength": 42}]
    assert "on the network" in refused(gltf(tmp_path, buffers=away))
    path = gltf(tmp_path)
    (tmp_path / "thing.bin").write_bytes(bytes(41))
    assert "expected 42 bytes in thing.bin; found 41 bytes" in refused(path)
    (tmp_path / "thing.bin").unlink()
    assert "found no such file" in refused(path)


@pytest.mark.parametrize(
    ("unit_m", "said"),
    [
        (1000.0, "2,000 m across"),
        (0.001, "2 mm across"),
        (None, "does not say what its numbers are"),
    ],
)
def test_a_size_no_thing_has_is_refused_with_the_likely_unit(
    tmp_path: Path, unit_m: float | None, said: str
) -> None:
    told = refused(cube(tmp_path), unit_m=unit_m)
    assert said in told
    assert "unit: m (2 m) or in (5.08 cm) or ft (61 cm)?" in told  # pencil: 2 of each


def test_a_file_that_does_not_say_which_way_is_up(tmp_path: Path) -> None:
    assert "which way is up" in refused(cube(tmp_path), up=None)
