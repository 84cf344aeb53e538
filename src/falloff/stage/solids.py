"""Boxes, cylinders and curved surfaces as faces of a piece."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np

from falloff.stage.clusters import facing_and_area
from falloff.stage.dice import PieceBuilder
from falloff.types import Float64Array, IntArray

_SIDES = 28  # of a cylinder
_UP = np.array([0.0, 0.0, 1.0])
_MOST_PORTIONS: Final = 8  # that one curved surface is split into


def add_cylinder(
    builder: PieceBuilder,
    low: Float64Array,
    high: Float64Array,
    radius: float,
    material: str,
    *,
    cut_as: tuple[Float64Array, Float64Array] | None = None,
) -> None:
    """A closed cylinder between two points, its sides shaded round.

    cut_as: two other points; it is cut as if it stood between these.
    """
    parts = _cylinder(low, high, radius)
    drawn = [None] * len(parts) if cut_as is None else [p[0] for p in _cylinder(*cut_as, radius)]
    for (corners, normals), other in zip(parts, drawn, strict=True):
        builder.add_mesh(corners, normals=normals, material=material, cut_as=other)


def _cylinder(
    low: Float64Array, high: Float64Array, radius: float
) -> list[tuple[Float64Array, Float64Array]]:
    """Side and caps of a closed cylinder: corners and normals (t, 3, 3) each."""
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
    parts = [(corners, normals)]
    for centre, facing, first, second in ((low, -axis, b, a), (high, axis, d, c)):
        cap = np.stack([np.broadcast_to(centre, a.shape), first, second], 1)
        parts.append((cap, np.broadcast_to(facing, cap.shape)))
    return parts


def add_box(
    builder: PieceBuilder,
    centre: Float64Array,
    axes: tuple[Float64Array, Float64Array, Float64Array],
    size: tuple[float, float, float],
    material: str,
    name: str,
) -> None:
    """Six faces looking outward."""
    for corner, edge_u, edge_v in box_faces(centre, np.array(axes), np.array(size)):
        builder.add_rectangle(corner, edge_u=edge_u, edge_v=edge_v, material=material, name=name)


def box_faces(
    centre: Float64Array, axes: Float64Array, size: Float64Array
) -> Iterator[tuple[Float64Array, Float64Array, Float64Array]]:
    """First corner and edges of a box's six faces, edge_u × edge_v outward; axes (3, 3) as rows."""
    x, y, z = 0.5 * size[:, None] * axes
    for out, u, v in ((x, y, z), (-x, z, y), (y, z, x), (-y, x, z), (z, x, y), (-z, y, x)):
        yield centre + out - u - v, 2.0 * u, 2.0 * v


def add_surface(
    builder: PieceBuilder,
    corners: Float64Array,
    normals: Float64Array,
    *,
    material: str,
    name: str = "",
) -> None:
    """A curved surface (t, 3, 3) with its normals, in as many portions as its clusters need.

    A mesh of the builder has so many clusters at most; a larger surface is split in halves of
    equal area across its longest side, so that its bounce is told as finely as a small one's.
    """
    whole = builder.grain.mesh_patch_area_m2 * builder.grain.mesh_patches[1]
    _, area = facing_and_area(corners)
    centres = corners.mean(1)
    for portion in _portions(centres, area, np.arange(len(corners)), whole, _MOST_PORTIONS):
        builder.add_mesh(corners[portion], normals=normals[portion], material=material, name=name)


def _portions(
    centres: Float64Array, area: Float64Array, portion: IntArray, whole: float, most: int
) -> list[IntArray]:
    total = float(area[portion].sum())
    if most < 2 or total <= whole or len(portion) < 2:
        return [portion]
    axis = int(np.argmax(np.ptp(centres[portion], axis=0)))
    ordered = portion[np.argsort(centres[portion, axis], kind="stable")]
    cut = int(np.searchsorted(np.cumsum(area[ordered]), 0.5 * total)) + 1
    cut = min(max(cut, 1), len(ordered) - 1)
    return [
        part
        for half in (ordered[:cut], ordered[cut:])
        for part in _portions(centres, area, half, whole, most // 2)
    ]
