"""Meshes made by trimesh, written to each kind of file in several units, and read back by us.

Compared with trimesh's own areas, volumes, bounds and counts of the mesh as it was made (a
consistency test for what goes through trimesh's readers, OBJ excepted) and with pencil volumes
and areas of the bodies themselves. Tolerance 1e-5: files hold 32-bit floats or eight digits.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh as typed_trimesh
from numpy.testing import assert_allclose

from falloff.stage.mesh_files import read_file
from falloff.stage.meshes import UNITS_M, MeshData, read_mesh

trimesh: Any = typed_trimesh  # its types cover a part of it
creation = trimesh.creation

BODIES: dict[str, Callable[[], Any]] = {
    "ball": lambda: creation.icosphere(subdivisions=4, radius=0.4),
    "box": lambda: creation.box(extents=(0.7, 0.3, 1.1)),
    "ring": lambda: creation.annulus(r_min=0.2, r_max=0.5, height=0.15, sections=96),
    "capsule": lambda: creation.capsule(height=0.8, radius=0.2, count=[48, 48]),
    "cone": lambda: creation.cone(radius=0.3, height=0.9, sections=96),
}
# pencil: volume (m³) and area (m²) of the bodies, and how much facets may take from a round.
PENCIL = {
    "ball": (4 / 3 * math.pi * 0.4**3, 4 * math.pi * 0.4**2, 0.006),
    "box": (0.7 * 0.3 * 1.1, 2 * (0.7 * 0.3 + 0.3 * 1.1 + 1.1 * 0.7), 1e-5),
    "ring": (
        math.pi * (0.5**2 - 0.2**2) * 0.15,
        2 * math.pi * (0.5**2 - 0.2**2) + 2 * math.pi * (0.5 + 0.2) * 0.15,
        0.002,
    ),
    "capsule": (
        math.pi * 0.2**2 * 0.8 + 4 / 3 * math.pi * 0.2**3,
        2 * math.pi * 0.2 * 0.8 + 4 * math.pi * 0.2**2,
        0.006,
    ),
    "cone": (
        math.pi * 0.3**2 * 0.9 / 3,
        math.pi * 0.3**2 + math.pi * 0.3 * math.hypot(0.3, 0.9),
        0.002,
    ),
}
KINDS: dict[str, dict[str, str]] = {
    "obj": {},
    "ply": {"encoding": "binary"},
    "ascii.ply": {"encoding": "ascii"},
    "stl": {},
    "ascii.stl": {"file_type": "stl_ascii"},
    "glb": {},
    "gltf": {},
}


def written(folder: Path, body: str, kind: str, unit: str) -> tuple[Path, Any]:
    """A body in a file whose numbers are of a unit, and the body as it was made, in metres."""
    made = BODIES[body]()
    made.apply_transform(trimesh.transformations.rotation_matrix(0.4, (0.2, 0.5, 1.0), (1, 2, 3)))
    scaled = made.copy()
    scaled.apply_scale(1.0 / UNITS_M[unit])
    path = folder / f"{body}.{kind}"
    if kind == "gltf":
        for name, data in trimesh.exchange.gltf.export_gltf(trimesh.Scene(scaled)).items():
            (folder / name).write_bytes(data)
        return folder / "model.gltf", made
    options = {"digits": 8} if kind == "obj" else {}
    scaled.export(path, **KINDS[kind], **options)
    return path, made


def volume(mesh: MeshData) -> float:
    assert mesh.volume_m3 is not None
    return mesh.volume_m3


def area(mesh: MeshData) -> float:
    corners = mesh.corners
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return 0.5 * float(np.linalg.norm(cross, axis=1).sum())


@pytest.mark.parametrize("unit", ["m", "cm", "in"])
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("body", BODIES)
def test_a_body_comes_back_as_it_was_made(tmp_path: Path, body: str, kind: str, unit: str) -> None:
    path, made = written(tmp_path, body, kind, unit)
    mesh = read_mesh(path, unit_m=UNITS_M[unit], up="z")
    assert mesh.closed
    assert not mesh.thinned
    assert not mesh.findings
    assert mesh.triangle_count == len(made.faces) == len(mesh.corners)  # source: trimesh
    assert_allclose(area(mesh), made.area, rtol=1e-5)  # source: trimesh
    assert_allclose(volume(mesh), made.volume, rtol=1e-5)  # source: trimesh
    points = mesh.corners.reshape(-1, 3)
    low, high = made.bounds  # source: trimesh
    middle = 0.5 * (low + high)
    assert_allclose(points.min(0), [*(low - middle)[:2], 0.0], atol=1e-5)
    assert_allclose(points.max(0), [*(high - middle)[:2], high[2] - low[2]], atol=1e-5)
    inside, whole, loss = PENCIL[body]
    assert inside * (1.0 - loss) < volume(mesh) < inside * (1.0 + 1e-5)
    assert whole * (1.0 - loss) < area(mesh) < whole * (1.0 + 1e-5)


@pytest.mark.parametrize("body", BODIES)
def test_obj_is_read_as_trimesh_reads_it(tmp_path: Path, body: str) -> None:
    """Two readers of one file: theirs and ours."""
    path, _ = written(tmp_path, body, "obj", "cm")
    theirs = trimesh.load_mesh(path, process=False)
    ours = read_file(path)
    assert_allclose(
        ours.vertices[ours.faces], np.asarray(theirs.vertices)[theirs.faces], rtol=1e-12
    )


def test_a_scene_of_many_nodes_is_joined_as_trimesh_joins_it(tmp_path: Path) -> None:
    scene = trimesh.Scene()
    for k, body in enumerate(BODIES):
        turn = trimesh.transformations.rotation_matrix(0.3 * k, (1.0, 0.3 * k, 0.2))
        turn[:3, 3] = (1.2 * k, 0.3, 0.1 * k)
        scene.add_geometry(BODIES[body](), transform=turn, node_name=f"first {body}")
        turn = turn.copy()
        turn[1, 3] += 2.0
        scene.graph.update(frame_to=f"second {body}", geometry=f"geometry_{k}", matrix=turn)
    scene.export(tmp_path / "scene.glb")
    joined = scene.to_mesh()
    mesh = read_mesh(tmp_path / "scene.glb", unit_m=None, up=None)
    assert mesh.triangle_count == len(joined.faces)  # source: trimesh
    assert_allclose(area(mesh), joined.area, rtol=1e-5)  # source: trimesh
    assert_allclose(volume(mesh), joined.volume, rtol=1e-5)  # source: trimesh
    x, y, z = np.ptp(joined.bounds, axis=0)
    assert_allclose(np.ptp(mesh.corners.reshape(-1, 3), axis=0), (x, z, y), rtol=1e-5)


@pytest.mark.parametrize("kind", ["obj", "ply", "stl", "glb"])
def test_a_sheet_is_open_in_every_kind_of_file(tmp_path: Path, kind: str) -> None:
    made = creation.icosphere(subdivisions=3, radius=0.4).slice_plane((0, 0, 0), (0, 0, 1))
    made.export(tmp_path / f"bowl.{kind}")
    mesh = read_mesh(tmp_path / f"bowl.{kind}", unit_m=1.0, up="z")
    assert not mesh.closed
    assert len(mesh.corners) == 2 * mesh.second_side
    # source: trimesh's area, twice; the second side lies 0.2 mm deeper in a bowl of 0.4 m
    assert_allclose(area(mesh), made.area * (1.0 + (1.0 - 2e-4 / 0.4) ** 2), rtol=1e-4)
