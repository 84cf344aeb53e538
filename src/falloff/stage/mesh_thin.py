"""Fewer triangles for a mesh that has more than a room needs, by joining points of one cell."""

from __future__ import annotations

import numpy as np

from falloff.stage.mesh_edges import drop_empty, face_normals
from falloff.types import BoolArray, Float64Array, IntArray

_ENOUGH = 0.85  # of the triangles allowed: nearer is not looked for
_STEPS = 24


def thin(
    vertices: Float64Array, faces: IntArray, *, marked: BoolArray, most: int
) -> tuple[Float64Array, IntArray, BoolArray]:
    """The mesh with at most `most` triangles: vertices (n, 3), faces (t, 3), welded before.

    Points of one cell of a grid that face the same octant become one in their middle, so that the
    two sides of a board stay apart. The grid is found by halving; nothing depends on chance.
    marked: (n,) points that never join others; returned for the points that are left.
    """
    normals, area = face_normals(vertices[faces])
    kind = _octants(len(vertices), faces, normals * area[:, None]) + 8 * marked
    low = vertices.min(0)
    extent = float(np.ptp(vertices, axis=0).max())
    cell = float(np.sqrt(2.0 * area.sum() / most))
    fine, coarse = extent / 2**20, extent
    best = None
    for _ in range(_STEPS):
        cell = float(np.clip(cell, fine, coarse))
        number = _numbers(vertices, low, cell, kind)
        left = _distinct(number[faces])
        if left <= most:
            coarse, best = cell, number
            if left >= _ENOUGH * most or coarse < 1.001 * fine:
                break
        else:
            fine = cell
        # Triangles go as one over the square of the cell, where the mesh is fine enough.
        guess = cell * float(np.sqrt(max(left, 1) / (0.93 * most)))
        cell = guess if fine < guess < coarse else float(np.sqrt(fine * coarse))
    if best is None:
        best = _numbers(vertices, low, coarse, kind)
    count = int(best.max()) + 1
    size = np.bincount(best, minlength=count)
    middle = np.stack([np.bincount(best, vertices[:, k], count) / size for k in range(3)], 1)
    kept = np.zeros(count, np.bool_)
    kept[best] = marked
    return *drop_empty(middle, best[faces]), kept


def _octants(count: int, faces: IntArray, weighted: Float64Array) -> IntArray:
    """Which of eight ways each point faces."""
    at, ways = faces.ravel(), np.repeat(weighted, 3, axis=0)
    signs = [np.bincount(at, ways[:, k], count) >= 0.0 for k in range(3)]
    return np.asarray(signs[0] + 2 * signs[1] + 4 * signs[2], np.int64)


def _numbers(vertices: Float64Array, low: Float64Array, cell: float, kind: IntArray) -> IntArray:
    """The number of the point, from 0, that each point becomes."""
    at = ((vertices - low) / cell).astype(np.int64)
    key = (((at[:, 0] << 20) | at[:, 1]) << 20 | at[:, 2]) << 4 | kind
    return np.asarray(np.unique(key, return_inverse=True)[1])


def _distinct(faces: IntArray) -> int:
    """How many triangles keep three corners apart."""
    a, b, c = faces.T
    return int(((a != b) & (b != c) & (c != a)).sum())
