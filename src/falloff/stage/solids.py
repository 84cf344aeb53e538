"""Boxes and cylinders as faces of a piece."""

from __future__ import annotations

import math

import numpy as np

from falloff.stage.dice import PieceBuilder
from falloff.types import Float64Array

_SIDES = 28  # of a cylinder
_UP = np.array([0.0, 0.0, 1.0])


def add_cylinder(
    builder: PieceBuilder, low: Float64Array, high: Float64Array, radius: float, material: str
) -> None:
    """A closed cylinder between two points, its sides shaded round."""
    axis = high - low
    length = float(np.linalg.norm(axis))
    axis = axis / length
    helper = _UP if abs(axis[2]) < 0.9 else np.array([1.0, 0.0, 0.0])
    u = np.cross(helper, axis)
    u /= np.linalg.norm(u)
    v = np.cross(axis, u)
    angle = np.linspace(0.0, 2.0 * math.pi, _SIDES + 1)
    round_ = np.cos(angle)[:, None] * u + np.sin(angle)[:, None] * v
    a, b = low + radius * round_[:-1], low + radius * round_[1:]
    c, d = b + length * axis, a + length * axis
    corners = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
    na, nb = round_[:-1], round_[1:]
    normals = np.concatenate([np.stack([na, nb, nb], 1), np.stack([na, nb, na], 1)])
    builder.add_mesh(corners, normals=normals, material=material)
    for centre, facing, first, second in ((low, -axis, b, a), (high, axis, d, c)):
        cap = np.stack([np.broadcast_to(centre, a.shape), first, second], 1)
        builder.add_mesh(cap, normals=np.broadcast_to(facing, cap.shape), material=material)


def add_box(
    builder: PieceBuilder,
    centre: Float64Array,
    axes: tuple[Float64Array, Float64Array, Float64Array],
    size: tuple[float, float, float],
    material: str,
    name: str,
) -> None:
    """Six faces looking outward."""
    x, y, z = (0.5 * s * a for s, a in zip(size, axes, strict=True))
    for out, u, v in ((x, y, z), (-x, z, y), (y, z, x), (-y, x, z), (z, x, y), (-z, y, x)):
        builder.add_rectangle(
            centre + out - u - v, edge_u=2.0 * u, edge_v=2.0 * v, material=material, name=name
        )
