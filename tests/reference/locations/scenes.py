"""The shipped locations in the other renderer's language: our triangles, its light and transport.

Taken from our stage: the triangles with their shading normals and reflectances, the camera, the
points and normals of the readings, and where the subject's face is. Not taken: sources (by hand,
sources.py), patches, elements, sampling and transport. Both sides stand without panes (a pane
hides lamps from this renderer's light sampling; panes have a witness of their own) and without
sheen, which is judged elsewhere.

Fronts that shine (balls, panels, mouths) are left out of the triangles and put back by hand. All
surfaces are matte in front and black behind: what lies behind a triangle is the inside of a solid.
"""

from __future__ import annotations

import hashlib
import math
import tempfile
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from tests.reference.locations.load import Fingerprint

from falloff.document import arranged, parse_document
from falloff.session.scene import known_names
from falloff.stage import Grain, Probe, Stage, build_stage

LOCATIONS = ("workshop", "kitchen", "stairwell")
SETUP, VIEW = "WIDE SHOT", "WIDE"
PICTURE = (240, 135)
BLOCK = 6
ROWS, COLUMNS = PICTURE[1] // BLOCK, PICTURE[0] // BLOCK  # 22 whole rows of blocks, from the top
LIFT_M = 0.001  # readings are taken this far off their surface, on both sides
_OUR_LIFT_M = 2e-4
_SCENES = Path(__file__).parents[3] / "src" / "falloff" / "session" / "data"


@lru_cache(maxsize=8)
def location_stage(name: str, *, grain: Grain | None = None) -> Stage:
    """Our stage of a location's wide shot, without panes and without sheen."""
    text = (_SCENES / f"{name}.scene.yaml").read_text(encoding="utf-8")
    text = text.replace("glass: 0.85", "glass: 1")
    document = arranged(parse_document(text, known=known_names()), SETUP)
    stage = build_stage(document, grain=grain)
    assert len(stage.surfaces.sheets) == 0, "no panes, no fabrics"
    matte = np.tile(np.array([0.0, 1.0], np.float32), (len(stage.surfaces.coats), 1))
    return replace(stage, surfaces=replace(stage.surfaces, coats=matte))


def location_probes(name: str) -> tuple[Probe, ...]:
    """The flat readings, lifted as the other renderer reads them."""
    return tuple(
        replace(probe, point=probe.point + (LIFT_M - _OUR_LIFT_M) * probe.normal)
        for probe in location_stage(name).probes
        if probe.instrument == "flat"
    )


def fingerprint(name: str) -> Fingerprint:
    """Of a location's triangles, without the fronts that shine."""
    materials, rows = [], []
    for material, corners, _, albedo in _groups(location_stage(name)):
        across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        area = 0.5 * np.linalg.norm(across, axis=1)
        middle = (area[:, None] * corners.mean(1)).sum(0) / area.sum()
        materials.append(material)
        rows.append([area.sum(), *middle, *albedo])
    return Fingerprint(tuple(materials), np.array(rows))


def sources_checksum(name: str) -> str:
    """SHA-256 of the location's sources as written by hand."""
    from tests.reference.locations.sources import numbers

    return hashlib.sha256(numbers(name).encode()).hexdigest()


def location_scene(name: str, source: str, *, receptors: bool = False) -> dict[str, Any]:
    """A location with one source lit, as a scene of the other renderer; "" lights none.

    receptors: with the white squares of all readings in place. mi.set_variant comes first; meshes
    in the scene are made already, so it is good for mi.load_dict in this process alone.
    """
    from tests.reference.locations import sources
    from tests.reference.witness.receptors import white_square

    if source and source not in sources.LIGHTS[name]:
        raise KeyError(f"no source {source!r}; expected one of {', '.join(sources.LIGHTS[name])}")
    stage = location_stage(name)
    albedo = {
        material: stage.surfaces.albedo[k].astype(float).tolist()
        for k, material in enumerate(stage.material_names)
    }
    face = stage.subjects[sources.FACES[name]].points["face"]
    scene = {"type": "scene", **_meshes(name), **sources.sources(name, source, face, albedo)}
    if receptors:
        for k, receptor in enumerate(location_receptors(name)):
            scene[f"receptor_{k}"] = white_square(receptor)
    return scene


def location_receptors(name: str) -> tuple[Any, ...]:
    """The flat readings as the witness's receptors."""
    from tests.reference.witness.receptors import Receptor

    return tuple(
        Receptor(
            probe.name,
            tuple((probe.point - LIFT_M * probe.normal).tolist()),
            tuple(probe.normal.tolist()),
        )
        for probe in location_probes(name)
    )


def location_camera(name: str, size: tuple[int, int], *, spp: int = 16) -> dict[str, Any]:
    """The wide camera at (width, height) pixels of the whole frame, box filter."""
    import mitsuba as mi
    from tests.reference.witness.surfaces import film

    view = location_stage(name).views[VIEW]
    return {
        "type": "perspective",
        "fov": 2.0 * math.degrees(math.atan(view.tan_half_width)),
        "fov_axis": "x",
        "near_clip": 0.01,
        "far_clip": 1000.0,
        "to_world": mi.ScalarTransform4f().look_at(
            origin=view.eye.tolist(), target=(view.eye + view.forward).tolist(), up=[0, 0, 1]
        ),
        "film": film(*size),
        "sampler": {"type": "independent", "sample_count": spp},
    }


def _groups(stage: Stage) -> list[tuple[str, NDArray[Any], NDArray[Any], list[float]]]:
    """Material, corners, corner normals and reflectance of all that does not shine."""
    surfaces = stage.surfaces
    dark = surfaces.face_source[surfaces.triangle_face] < 0
    material = surfaces.face_material[surfaces.triangle_face]
    found = []
    for k, name in enumerate(stage.material_names):
        held = dark & (material == k)
        if held.any():
            corners = surfaces.corners[held].astype(np.float64)
            albedo = surfaces.albedo[k].astype(float).tolist()
            found.append((name, corners, surfaces.corner_normals[held], albedo))
    return found


@lru_cache(maxsize=3)
def _meshes(name: str) -> dict[str, Any]:
    """One mesh a material."""
    import mitsuba as mi

    made = {}
    with tempfile.TemporaryDirectory() as folder:
        for k, (_, corners, normals, albedo) in enumerate(_groups(location_stage(name))):
            path = Path(folder) / f"{k}.ply"
            _write_ply(path, corners, normals)
            made[f"material_{k}"] = mi.load_dict(
                {
                    "type": "ply",
                    "filename": str(path),
                    "bsdf": {
                        "type": "diffuse",
                        "reflectance": {"type": "rgb", "value": albedo},
                    },
                }
            )
    return made


def _write_ply(path: Path, corners: NDArray[Any], normals: NDArray[Any]) -> None:
    """A binary mesh whose triangles share no corners."""
    count = len(corners)
    head = (
        "ply\nformat binary_little_endian 1.0\n"
        f"element vertex {3 * count}\n"
        + "".join(f"property float {axis}\n" for axis in ("x", "y", "z", "nx", "ny", "nz"))
        + f"element face {count}\nproperty list uchar int vertex_indices\nend_header\n"
    )
    corner = np.concatenate([corners.reshape(-1, 3), normals.reshape(-1, 3)], 1).astype("<f4")
    face = np.empty(count, [("n", "u1"), ("v", "<i4", 3)])
    face["n"], face["v"] = 3, np.arange(3 * count).reshape(-1, 3)
    path.write_bytes(head.encode() + corner.tobytes() + face.tobytes())
