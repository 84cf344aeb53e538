"""read_mesh(path) -> MeshData: a mesh from a file, upright, in metres, ready to be lit."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from falloff.errors import Fault, GeometryError
from falloff.findings import Finding, Weight
from falloff.stage.mesh_edges import (
    face_normals,
    open_parts,
    part_of_faces,
    smooth_normals,
    used_points,
    weld,
)
from falloff.stage.mesh_files import MOST_TRIANGLES_READ, FileMesh, read_file
from falloff.stage.mesh_thin import thin
from falloff.types import BoolArray, Float64Array, IntArray

__all__ = ["MOST_TRIANGLES_KEPT", "MOST_TRIANGLES_READ", "UNITS_M", "MeshData", "read_mesh"]

MOST_TRIANGLES_KEPT: Final = 300_000  # of one file; more is thinned
SECOND_SIDE_M: Final = 2e-4  # how far behind an open surface its second side lies
UNITS_M: Final = {"m": 1.0, "cm": 0.01, "mm": 0.001, "in": 0.0254, "ft": 0.3048}
_LARGEST_M: Final = 30.0
_SMALLEST_M: Final = 0.005
_USUAL_M: Final = (0.05, 4.0)  # sizes that things in rooms have
_CREASE_RAD: Final = math.radians(35.0)


@dataclass(frozen=True, slots=True)
class MeshData:
    """A mesh in its own frame: lowest point at z = 0, the middle of its plan extent over 0, 0.

    corners: (t, 3, 3) in metres, a second side behind open parts included; normals: (t, 3, 3)
    unit, round where faces meet at less than 35 degrees; second_side: the first triangle of it (t
    if there is none). closed: no part is open; triangle_count: as in the file; volume_m3: None
    unless closed. files: all that it was read from. Arrays are read-only.
    """

    corners: Float64Array
    normals: Float64Array
    second_side: int
    closed: bool
    triangle_count: int
    thinned: bool
    volume_m3: float | None
    files: tuple[Path, ...]
    findings: tuple[Finding, ...]


def read_mesh(path: Path, *, unit_m: float | None, up: str | None) -> MeshData:
    """A mesh from an OBJ, PLY, STL, glTF or GLB file.

    unit_m: metres of one step of its coordinates; None only for glTF and GLB, which are in metres.
    up: "y" or "z", the axis that points up; None only for glTF and GLB, whose y is.
    Raises GeometryError for a file that is missing, cannot be read, is empty, is too large to be
    read, or is of no size that a thing in a room has.
    """
    read = read_file(path)
    findings = []
    if read.posed:
        findings.append(
            _finding(path, "it has bones or changing shapes; it is read as it was modelled", "")
        )
    vertices, faces = weld(*_upright(path, read, unit_m, up))
    if not len(faces):
        raise _fault(path, "no triangle of the mesh has any area", fix="export it again")
    faces, is_open, turned = _sorted_sides(vertices, faces)
    if turned:
        findings.append(_finding(path, "its faces looked inward and were turned", ""))
    thinned = len(faces) > MOST_TRIANGLES_KEPT
    if thinned:
        vertices, faces, is_open, told = _thinned(path, vertices, faces, is_open)
        findings.append(told)
    vertices = vertices - _foot(used_points(vertices, faces)[0])
    corners = vertices[faces]
    normals = smooth_normals(vertices, faces, crease_rad=_CREASE_RAD)
    volume = None
    if is_open.any():
        findings.append(_open_finding(path, corners, is_open[faces[:, 0]]))
        behind, away = _second_side(vertices, faces, normals, is_open[faces[:, 0]])
        corners, normals = np.concatenate([corners, behind]), np.concatenate([normals, away])
    else:
        volume = float(_volumes(corners, np.zeros(len(faces), np.int64))[0])
    for array in (corners, normals):
        array.setflags(write=False)
    return MeshData(
        corners=corners,
        normals=normals,
        second_side=len(faces),
        closed=volume is not None,
        triangle_count=len(read.faces),
        thinned=thinned,
        volume_m3=volume,
        files=read.files,
        findings=tuple(findings),
    )


def _upright(
    path: Path, read: FileMesh, unit_m: float | None, up: str | None
) -> tuple[Float64Array, IntArray]:
    """Points and triangles in metres, z up, once they are fit to be used."""
    gltf = path.suffix.lower() in (".gltf", ".glb")
    _refuse_nothing(path, read)
    vertices, faces = used_points(read.vertices, read.faces)
    _refuse_broken(path, vertices)
    with np.errstate(over="ignore"):
        extent = float(np.ptp(vertices, axis=0).max())
    if unit_m is None and not gltf:
        raise _fault(
            path,
            "the mesh file does not say what its numbers are",
            expected="unit: m, cm, mm, in or ft",
            fix=f"add one of them{_likely_unit(extent)}",
        )
    if up is None and not gltf:
        raise _fault(
            path,
            "the mesh file does not say which way is up",
            expected="up: y or z",
            fix="add up: z, and if the thing then lies on its back, up: y",
        )
    scale = unit_m or 1.0
    _check_size(path, extent, extent * scale)
    if (up or "y") == "y":
        vertices = np.stack([vertices[:, 0], -vertices[:, 2], vertices[:, 1]], 1)
    return scale * vertices, faces


def _foot(points: Float64Array) -> Float64Array:
    """The point that is to stand at the origin."""
    low, high = points.min(0), points.max(0)
    return np.array([0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1]), low[2]])


# Sides -----------------------------------------------------------------------------------


def _sorted_sides(vertices: Float64Array, faces: IntArray) -> tuple[IntArray, BoolArray, bool]:
    """Triangles turned outward, which points (n,) are of open parts, and whether any was turned."""
    part = part_of_faces(len(vertices), faces)
    parts_open = open_parts(len(vertices), faces, part)
    is_open = np.zeros(len(vertices), np.bool_)
    is_open[faces] = parts_open[part][:, None]
    faces, turned = _turned_out(vertices, faces, part, parts_open)
    return faces, is_open, turned


def _turned_out(
    vertices: Float64Array, faces: IntArray, part: IntArray, is_open: BoolArray
) -> tuple[IntArray, bool]:
    """Closed parts that are inside out, turned; a hollow within another part may stay so."""
    corners = vertices[faces]
    volume = _volumes(corners - corners.reshape(-1, 3).mean(0), part)
    inward = (volume < 0.0) & ~is_open
    if not inward.any():
        return faces, False
    low, high = np.full((len(volume), 3), np.inf), np.full((len(volume), 3), -np.inf)
    np.minimum.at(low, part, corners.min(1))
    np.maximum.at(high, part, corners.max(1))
    outward = np.flatnonzero((volume > 0.0) & ~is_open)
    around = outward[np.argsort(-volume[outward], kind="stable")[:64]]
    for k in np.flatnonzero(inward):
        inward[k] = not ((low[around] <= low[k]) & (high[around] >= high[k])).all(1).any()
    turn = inward[part]
    return np.where(turn[:, None], faces[:, ::-1], faces), bool(turn.any())


def _second_side(
    vertices: Float64Array, faces: IntArray, normals: Float64Array, is_open: BoolArray
) -> tuple[Float64Array, Float64Array]:
    """Open triangles turned inside out, set back along the mean normal of each point."""
    total = np.stack(
        [np.bincount(faces.ravel(), normals[..., k].ravel(), len(vertices)) for k in range(3)],
        1,
    )
    length = np.linalg.norm(total, axis=1)[:, None]
    back = vertices - SECOND_SIDE_M * total / np.maximum(length, 1e-9)
    return back[faces[is_open][:, ::-1]], -normals[is_open][:, ::-1]


def _volumes(corners: Float64Array, part: IntArray) -> Float64Array:
    """Volume that each part goes round, negative where it is inside out, m³."""
    a, b, c = corners.swapaxes(0, 1)
    return np.bincount(part, np.einsum("td,td->t", a, np.cross(b, c)) / 6.0).astype(np.float64)


# Thinning --------------------------------------------------------------------------------


def _thinned(
    path: Path, vertices: Float64Array, faces: IntArray, is_open: BoolArray
) -> tuple[Float64Array, IntArray, BoolArray, Finding]:
    before = float(face_normals(vertices[faces])[1].sum())
    count = len(faces)
    vertices, faces, is_open = thin(vertices, faces, marked=is_open, most=MOST_TRIANGLES_KEPT)
    after = float(face_normals(vertices[faces])[1].sum())
    change = after / before - 1.0
    if len(faces) < MOST_TRIANGLES_KEPT // 20 or abs(change) > 0.5:
        raise _fault(
            path,
            "the mesh cannot be thinned without losing its shape",
            expected=f"at most {MOST_TRIANGLES_KEPT:,} triangles",
            found=f"{count:,} triangles",
            fix="thin it in the program it came from",
        )
    told = Finding(
        weight=Weight.WARNING if abs(change) > 0.05 else Weight.NOTE,
        about=path.name,
        says=f"it was thinned from {count:,} to {len(faces):,} triangles; "
        f"its area changed by {100.0 * change:+.1f} %",
        do="thin it in the program it came from if its shape matters more",
    )
    return vertices, faces, is_open, told


# What is said ----------------------------------------------------------------------------


def _refuse_nothing(path: Path, read: FileMesh) -> None:
    if not len(read.faces):
        raise _fault(
            path,
            "the mesh file holds no triangles",
            expected="a surface",
            found=f"{len(read.vertices):,} points",
            fix="export the surface itself, not its points or outlines",
        )
    if len(read.faces) > MOST_TRIANGLES_READ:
        raise _fault(
            path,
            "the mesh is too large to be read",
            expected=f"at most {MOST_TRIANGLES_READ:,} triangles",
            found=f"{len(read.faces):,} triangles",
            fix="thin it in the program it came from",
        )


def _refuse_broken(path: Path, vertices: Float64Array) -> None:
    broken = int((~np.isfinite(vertices).all(1)).sum())
    if broken:
        raise _fault(
            path,
            "points of the mesh are not numbers",
            expected="finite coordinates",
            found=f"{broken:,} of {len(vertices):,} points that are not",
            fix="export it again from the program it came from",
        )


def _check_size(path: Path, extent: float, side: float) -> None:
    if not _SMALLEST_M <= side <= _LARGEST_M:
        raise _fault(
            path,
            f"the mesh is {_said(side)} across",
            expected=f"{_said(_SMALLEST_M)} to {_said(_LARGEST_M)}",
            found=_said(side),
            fix=f"check its unit{_likely_unit(extent)}",
        )


def _likely_unit(extent: float) -> str:
    """Which units would make it as large as things in rooms are."""
    least, most = _USUAL_M
    fits = [name for name, unit in UNITS_M.items() if least <= unit * extent <= most]
    told = " or ".join(f"{name} ({_said(UNITS_M[name] * extent)})" for name in fits)
    return f": unit: {told}?" if told else ""


def _said(length_m: float) -> str:
    if length_m < 0.01:
        return f"{1000.0 * length_m:.3g} mm"
    return f"{100.0 * length_m:.3g} cm" if length_m < 1.0 else f"{length_m:,.4g} m"


def _open_finding(path: Path, corners: Float64Array, is_open: BoolArray) -> Finding:
    area = face_normals(corners)[1]
    share = 100.0 * float(area[is_open].sum() / area.sum())
    return _finding(
        path,
        f"{share:.0f} % of its surface is not closed; that was given a second side 0.2 mm behind",
        "close it in the program it came from if light leaks through it",
    )


def _finding(path: Path, says: str, do: str) -> Finding:
    return Finding(weight=Weight.NOTE, about=path.name, says=says, do=do)


def _fault(
    path: Path, what: str, *, expected: str = "", found: str = "", fix: str
) -> GeometryError:
    return GeometryError(
        Fault(what=f"{path.name}: {what}", where=str(path), expected=expected, found=found, fix=fix)
    )
