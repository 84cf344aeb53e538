"""The solids that furniture is made of: boxes, cylinders and closed meshes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from falloff.kit.furniture.meshes import rounded_box_mesh
from falloff.types import Float64Array

CYLINDER_SIDES = 28


@dataclass(frozen=True, slots=True, eq=False)
class BoxSolid:
    """A box: centre (3,) and size (3,) in metres, axes (3, 3) with its own unit x, y, z as rows.

    soft: the radius, m, its edges are rounded with; 0 leaves them sharp. Arrays are read-only.
    """

    part: str
    centre: Float64Array
    size: Float64Array
    axes: Float64Array
    soft: float = 0.0

    def __post_init__(self) -> None:
        _freeze(self.centre, self.size, self.axes)


@dataclass(frozen=True, slots=True, eq=False)
class CylinderSolid:
    """A closed cylinder or a piece of a cone between two points (3,), radii in metres."""

    part: str
    low: Float64Array
    high: Float64Array
    radius_low: float
    radius_high: float

    def __post_init__(self) -> None:
        _freeze(self.low, self.high)


@dataclass(frozen=True, slots=True, eq=False)
class MeshSolid:
    """A closed mesh: corners (t, 3, 3) in metres, counter-clockwise seen from outside.

    normals (t, 3, 3): unit shading normals at the corners. Arrays are read-only.
    """

    part: str
    corners: Float64Array
    normals: Float64Array

    def __post_init__(self) -> None:
        _freeze(self.corners, self.normals)


Solid: TypeAlias = BoxSolid | CylinderSolid | MeshSolid


def solid_mesh(solid: Solid) -> tuple[Float64Array, Float64Array]:
    """A solid as triangles: corners and unit shading normals, both (t, 3, 3), metres."""
    if isinstance(solid, MeshSolid):
        return solid.corners, solid.normals
    if isinstance(solid, CylinderSolid):
        return _cylinder_mesh(solid)
    if solid.soft > 0.0:
        corners, normals = rounded_box_mesh(solid.size, solid.soft)
    else:
        corners, normals = _box_mesh(solid.size)
    return solid.centre + corners @ solid.axes, normals @ solid.axes


def solid_volume_m3(solid: Solid) -> float:
    """Volume in closed form: true rounds for soft boxes and cylinders, facets for meshes."""
    if isinstance(solid, MeshSolid):
        return mesh_volume_m3(solid.corners)
    if isinstance(solid, CylinderSolid):
        a, b = solid.radius_low, solid.radius_high
        length = float(np.linalg.norm(solid.high - solid.low))
        return math.pi * length * (a * a + a * b + b * b) / 3.0
    r = min(solid.soft, 0.5 * float(solid.size.min()))
    x, y, z = (float(side) - 2.0 * r for side in solid.size)
    faces = 2.0 * r * (x * y + y * z + z * x)
    return x * y * z + faces + math.pi * r * r * (x + y + z) + 4.0 / 3.0 * math.pi * r**3


def mesh_volume_m3(corners: Float64Array) -> float:
    """Volume inside a closed mesh (t, 3, 3) by the divergence theorem; negative if inside out."""
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    return float(np.einsum("ti,ti->", a, np.cross(b, c)) / 6.0)


def turned(solid: Solid, turn: Float64Array, pivot: Float64Array) -> Solid:
    """A solid turned by a rotation matrix (3, 3) about a point (3,)."""

    def moved(points: Float64Array) -> Float64Array:
        return pivot + (points - pivot) @ turn.T

    if isinstance(solid, BoxSolid):
        return BoxSolid(
            solid.part, moved(solid.centre), solid.size, solid.axes @ turn.T, solid.soft
        )
    if isinstance(solid, CylinderSolid):
        return CylinderSolid(
            solid.part, moved(solid.low), moved(solid.high), solid.radius_low, solid.radius_high
        )
    return MeshSolid(solid.part, moved(solid.corners), solid.normals @ turn.T)


def _freeze(*arrays: Float64Array) -> None:
    for array in arrays:
        array.setflags(write=False)


def _box_mesh(size: Float64Array) -> tuple[Float64Array, Float64Array]:
    corners, normals = [], []
    for axis in range(3):
        for sign in (1.0, -1.0):
            n, u, v = (np.eye(3)[(axis + k) % 3] for k in range(3))
            n, u = sign * n, sign * u
            quad = np.array([n - u - v, n + u - v, n + u + v, n - u + v]) * (0.5 * size)
            corners += [quad[[0, 1, 2]], quad[[0, 2, 3]]]
            normals += [np.broadcast_to(n, (3, 3))] * 2
    return np.array(corners), np.array(normals)


def _cylinder_mesh(solid: CylinderSolid) -> tuple[Float64Array, Float64Array]:
    axis = solid.high - solid.low
    length = float(np.linalg.norm(axis))
    axis = axis / length
    aside = np.array([0.0, 0.0, 1.0]) if abs(axis[2]) < 0.9 else np.array([1.0, 0.0, 0.0])
    u = np.cross(aside, axis)
    u /= np.linalg.norm(u)
    v = np.cross(axis, u)
    angle = np.linspace(0.0, 2.0 * math.pi, CYLINDER_SIDES + 1)
    angle[-1] = 0.0  # the seam closes on the very same points
    out = np.cos(angle)[:, None] * u + np.sin(angle)[:, None] * v
    low, high = solid.low + solid.radius_low * out, solid.high + solid.radius_high * out
    a, b, c, d = low[:-1], low[1:], high[1:], high[:-1]
    lean = out + (solid.radius_low - solid.radius_high) / length * axis
    lean /= np.linalg.norm(lean, axis=1)[:, None]
    na, nb = lean[:-1], lean[1:]
    ends_low = np.stack([np.broadcast_to(solid.low, a.shape), b, a], 1)
    ends_high = np.stack([np.broadcast_to(solid.high, a.shape), d, c], 1)
    corners = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1), ends_low, ends_high])
    flat = np.broadcast_to(axis, ends_low.shape)
    normals = np.concatenate([np.stack([na, nb, nb], 1), np.stack([na, nb, na], 1), -flat, flat])
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    keep = np.linalg.norm(cross, axis=1) > 1e-14  # the end of a cone that runs to a point
    return corners[keep], normals[keep]
