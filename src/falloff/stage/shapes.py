"""The shape of a prop in its own frame: its solids or its mesh, its size, and what it carries.

Own frame: x along its width, -y its front, z up, the floor at z = 0, the middle of its plan at
the origin. Metres throughout.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeAlias

import numpy as np

from falloff.document import Box, Cylinder, Furniture, MeshFile, Prop, SceneDocument
from falloff.errors import Fault, GeometryError
from falloff.findings import Finding
from falloff.kit.furniture import (
    BoxSolid,
    CylinderSolid,
    FurniturePiece,
    MeshSolid,
    furniture,
)
from falloff.stage.meshes import UNITS_M, MeshData, read_mesh
from falloff.types import Float64Array

Solid: TypeAlias = BoxSolid | CylinderSolid | MeshSolid

_AXES = np.eye(3)
_MESH_TRIANGLES_KEPT = 1_000_000  # of all meshes kept from file, about 150 MB


@dataclass(frozen=True, slots=True)
class PropShape:
    """What a prop is made of, in its own frame (metres).

    solids: empty for a mesh from a file; corners: (t, 3, 3) of that mesh, a second side included,
    else (0, 3, 3); size_m: (width, depth, height) of the box around it; rests_m: heights of the
    levels that things can stand on, lowest first; piece: of the kit, for furniture.
    """

    solids: tuple[Solid, ...]
    corners: Float64Array
    size_m: tuple[float, float, float]
    rests_m: tuple[float, ...]
    usual_rest_m: float
    findings: tuple[Finding, ...] = ()
    mesh: MeshData | None = None
    piece: FurniturePiece | None = None


def shape_in(document: SceneDocument, name: str) -> PropShape:
    """The shape of a named prop of a document; faults point at the place in its file."""
    prop = document.props[name]
    try:
        shape = shape_of(prop, Path(document.path).parent)
    except GeometryError as error:
        raise GeometryError(
            *(_at(document, ("props", name, _key_of(prop)), fault) for fault in error.faults)
        ) from error
    found = tuple(
        Finding(weight=f.weight, about=name, says=f.says, do=f.do) for f in shape.findings
    )
    return replace(shape, findings=found)


def rest_in(
    document: SceneDocument,
    name: str,
    level: int | None,
    *,
    offset_m: tuple[float, float] = (0.0, 0.0),
    key_path: tuple[str | int, ...] = (),
) -> float:
    """The height above a prop's base (m) at which a thing put on it rests.

    level: from 1, the lowest; None: the usual one. offset_m: from its middle along its own sides;
    on a mesh from a file the thing rests on what is highest there. key_path: where a fault points.
    """
    shape = shape_in(document, name)
    try:
        return rest_height_m(shape, level, offset_m=offset_m)
    except GeometryError as error:
        raise GeometryError(
            *(_at(document, key_path or ("props", name), fault) for fault in error.faults)
        ) from error


def shape_of(prop: Prop, folder: Path) -> PropShape:
    """The shape of a prop; paths of mesh files start at `folder`.

    Raises GeometryError for a mesh that cannot be read and for furniture that cannot be made.
    """
    if isinstance(prop.shape, MeshFile):
        return _mesh_shape(prop.shape, folder)
    return _made_shape(prop.shape)


def rest_height_m(
    shape: PropShape, level: int | None, *, offset_m: tuple[float, float] = (0.0, 0.0)
) -> float:
    """The height above its base (m) at which a thing put on a prop rests; see rest_in."""
    if level is None:
        top = _surface_under(shape.corners, offset_m) if shape.mesh is not None else None
        return shape.usual_rest_m if top is None else top
    if not 1 <= level <= len(shape.rests_m):
        levels = ", ".join(f"{k} at {h:.2f} m" for k, h in enumerate(shape.rests_m, 1))
        raise GeometryError(
            Fault(
                what=f"there is no level {level} to stand things on",
                expected=f"1 to {len(shape.rests_m)} ({levels})" if levels else "no level",
                found=str(level),
                fix="give one of these, or leave level out for the usual one",
            )
        )
    return shape.rests_m[level - 1]


def to_own_frame(point: Float64Array, *, origin: Float64Array, turn_rad: float) -> Float64Array:
    """Points (..., 3) of the room in the frame of a prop that stands at `origin`, turned."""
    c, s = math.cos(turn_rad), math.sin(turn_rad)
    return np.asarray((point - origin) @ np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]]))


def holds(shape: PropShape, point: Float64Array, *, margin_m: float = 1e-3) -> bool:
    """Whether a point (3,) of the prop's own frame lies in its stuff, deeper than a margin.

    A mesh from a file holds what its closed surface goes round; an open one holds nothing.
    """
    half = 0.5 * np.asarray(shape.size_m) - margin_m
    away = np.abs(point - [0.0, 0.0, 0.5 * shape.size_m[2]])
    if (away > half).any() or (shape.mesh is not None and not shape.mesh.closed):
        return False
    if shape.mesh is not None:
        return _winding(shape.corners, point) > 0.5
    return any(_solid_holds(solid, point, margin_m) for solid in shape.solids)


# Making ----------------------------------------------------------------------------------


@functools.lru_cache(maxsize=512)
def _made_shape(shape: Box | Cylinder | Furniture) -> PropShape:
    none = np.empty((0, 3, 3))
    match shape:
        case Box(size=(x, y, z)):
            size = (x.si, y.si, z.si)
            solid = BoxSolid(
                part="", centre=np.array([0.0, 0.0, 0.5 * size[2]]), size=np.array(size), axes=_AXES
            )
            return PropShape((solid,), none, size, (size[2],), size[2])
        case Cylinder(diameter=diameter, height=height):
            radius, tall = 0.5 * diameter.si, height.si
            upright = CylinderSolid(
                part="",
                low=np.zeros(3),
                high=np.array([0.0, 0.0, tall]),
                radius_low=radius,
                radius_high=radius,
            )
            return PropShape((upright,), none, (2 * radius, 2 * radius, tall), (tall,), tall)
        case Furniture(kind=kind, size=size_given, count=count, open=opened):
            piece = furniture(
                kind,
                size_m=None
                if size_given is None
                else (size_given[0].si, size_given[1].si, size_given[2].si),
                count=count,
                open_rad=None if opened is None else opened.si,
            )
            return PropShape(
                piece.solids,
                none,
                piece.size_m,
                piece.rests_m,
                piece.usual_rest_m,
                piece=piece,
            )


def _mesh_shape(shape: MeshFile, folder: Path) -> PropShape:
    unit = None if shape.unit is None else UNITS_M[shape.unit]
    mesh = _kept_mesh(folder / shape.file, unit, shape.up)
    points = mesh.corners.reshape(-1, 3)
    low, high = points.min(0), points.max(0)
    size = (float(high[0] - low[0]), float(high[1] - low[1]), float(high[2]))
    return PropShape((), mesh.corners, size, (size[2],), size[2], findings=mesh.findings, mesh=mesh)


_Stamps: TypeAlias = tuple[tuple[str, int, int], ...]
_meshes: dict[tuple[str, float | None, str | None], tuple[_Stamps | None, MeshData]] = {}


def _kept_mesh(path: Path, unit_m: float | None, up: str | None) -> MeshData:
    """A mesh as read before, as long as none of its files has changed since."""
    key = (str(path), unit_m, up)
    stamps, mesh = _meshes.pop(key, (None, None))
    if mesh is None or stamps is None or stamps != _stamps(mesh.files):
        mesh = read_mesh(path, unit_m=unit_m, up=up)
        stamps = _stamps(mesh.files)
    _meshes[key] = (stamps, mesh)  # the one asked for last stands last
    total = sum(len(kept.corners) for _, kept in _meshes.values())
    for old in list(_meshes)[:-1]:
        if total <= _MESH_TRIANGLES_KEPT:
            break
        total -= len(_meshes.pop(old)[1].corners)
    return mesh


def _stamps(files: tuple[Path, ...]) -> _Stamps | None:
    try:
        seen = [(str(file), file.stat()) for file in files]
    except OSError:
        return None
    return tuple((name, stat.st_mtime_ns, stat.st_size) for name, stat in seen)


# Looking ---------------------------------------------------------------------------------


def _surface_under(corners: Float64Array, at: tuple[float, float]) -> float | None:
    """Height of the highest triangle over a plan point; None where there is none."""
    spot = np.asarray(at)
    flat = corners[..., :2]
    near = (flat.min(1) <= spot).all(1) & (flat.max(1) >= spot).all(1)
    a, b, c = corners[near].swapaxes(0, 1)
    first, second, way = b[:, :2] - a[:, :2], c[:, :2] - a[:, :2], spot - a[:, :2]
    double = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    level = np.abs(double) > 1e-12
    a, b, c, first, second, way, double = (
        part[level] for part in (a, b, c, first, second, way, double)
    )
    u = (way[:, 0] * second[:, 1] - way[:, 1] * second[:, 0]) / double
    v = (first[:, 0] * way[:, 1] - first[:, 1] * way[:, 0]) / double
    over = (u >= -1e-9) & (v >= -1e-9) & (u + v <= 1.0 + 1e-9)
    if not over.any():
        return None
    height = a[:, 2] + u * (b[:, 2] - a[:, 2]) + v * (c[:, 2] - a[:, 2])
    return float(height[over].max())


def _winding(corners: Float64Array, point: Float64Array) -> float:
    """How often a surface goes round a point: the sum of its solid angles over 4π.

    Source: Van Oosterom and Strackee 1983, IEEE Trans. Biomed. Eng. 30(2), eq. 8 (from memory).
    """
    a, b, c = (corners - point).swapaxes(0, 1)
    la, lb, lc = (np.linalg.norm(part, axis=1) for part in (a, b, c))
    top = np.einsum("td,td->t", a, np.cross(b, c))
    under = (
        la * lb * lc
        + np.einsum("td,td->t", a, b) * lc
        + np.einsum("td,td->t", b, c) * la
        + np.einsum("td,td->t", c, a) * lb
    )
    return float(np.arctan2(top, under).sum() / (2.0 * math.pi))


def _solid_holds(solid: Solid, point: Float64Array, margin: float) -> bool:
    if isinstance(solid, BoxSolid):
        away = np.abs(np.asarray(solid.axes) @ (point - solid.centre))
        return bool((away < 0.5 * np.asarray(solid.size) - margin).all())
    if isinstance(solid, CylinderSolid):
        axis = np.asarray(solid.high) - solid.low
        length = float(np.linalg.norm(axis))
        along = float((point - solid.low) @ axis) / length
        radius = solid.radius_low + (solid.radius_high - solid.radius_low) * along / length
        off = float(np.linalg.norm(point - solid.low - along / length * axis))
        return margin < along < length - margin and off < radius - margin
    return _winding(solid.corners, point) > 0.5


# Faults ----------------------------------------------------------------------------------


def _key_of(prop: Prop) -> str:
    return "file" if isinstance(prop.shape, MeshFile) else "shape"


def _at(document: SceneDocument, key_path: tuple[str | int, ...], fault: Fault) -> Fault:
    line, column = document.position_of(key_path)
    path = ".".join(map(str, key_path))
    where = f"{document.file_name}, line {line}, column {column} ({path})"
    return replace(fault, where=where, line=line, column=column)
