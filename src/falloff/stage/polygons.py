"""Polygons of mesh files cut into triangles, hollow ones too."""

from __future__ import annotations

from typing import Final

import numpy as np

from falloff.types import Float64Array, IntArray

# Beyond these a plain fan must do, so that no file can hold up the reading.
_MOST_TURNS: Final = 12
_MOST_CORNERS: Final = 1000
_MOST_HOLLOW: Final = 5000


def split_polygons(vertices: Float64Array, corners: IntArray, sizes: IntArray) -> IntArray:
    """Triangles (t, 3) of polygons: corners of all, one after another, and how many each has.

    A fan from the first corner that sees all others; else a triangulation within the outline.
    Polygons of fewer than three corners are passed over.
    """
    starts = np.cumsum(sizes) - sizes
    parts: list[IntArray] = [np.empty((0, 3), np.int64)]
    for size in np.unique(sizes[sizes >= 3]):
        first = starts[sizes == size]
        parts.append(_split(vertices, corners[first[:, None] + np.arange(size)]))
    return np.concatenate(parts)


def _split(vertices: Float64Array, rings: IntArray) -> IntArray:
    """Triangles of polygons (n, k) that all have k corners."""
    size = rings.shape[1]
    if size == 3:
        return rings
    points = vertices[rings]
    facing = np.cross(points, np.roll(points, -1, axis=1)).sum(1)  # Newell's normal
    done, left = [], np.arange(len(rings))
    for turn in range(min(size, _MOST_TURNS)):
        fan = _fan(np.roll(rings[left], -turn, axis=1))
        a, b, c = vertices[fan].transpose(2, 0, 1, 3)
        whole = (np.einsum("nkd,nd->nk", np.cross(b - a, c - a), facing[left]) >= 0.0).all(1)
        done.append(fan[whole].reshape(-1, 3))
        left = left[~whole]
        if not left.size:
            return np.concatenate(done)
    for k in left[:_MOST_HOLLOW]:
        inside = _within(vertices, rings[k], facing[k]) if size <= _MOST_CORNERS else None
        done.append(_fan(rings[k : k + 1])[0] if inside is None else inside)
    done.append(_fan(rings[left[_MOST_HOLLOW:]]).reshape(-1, 3))
    return np.concatenate(done)


def _fan(rings: IntArray) -> IntArray:
    """Fans (n, k − 2, 3) from the first corner of rings (n, k)."""
    count, size = rings.shape
    first = np.broadcast_to(rings[:, :1], (count, size - 2))
    return np.stack([first, rings[:, 1:-1], rings[:, 2:]], 2)


def _within(vertices: Float64Array, ring: IntArray, facing: Float64Array) -> IntArray | None:
    """Triangles of one polygon inside its outline; None where its outline crosses itself."""
    import shapely

    drop = int(np.argmax(np.abs(facing)))
    flat = vertices[ring][:, [(drop + 1) % 3, (drop + 2) % 3]]
    outline = shapely.Polygon(flat)
    if not outline.is_valid:
        return None
    known = {tuple(point): k for k, point in enumerate(flat.tolist())}
    triangles = shapely.constrained_delaunay_triangles(outline).geoms
    found = np.array([[known[point] for point in t.exterior.coords[:3]] for t in triangles])
    a, b, c = flat[found].transpose(1, 0, 2)
    turned = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    away = turned * facing[drop] < 0.0
    found[away] = found[away][:, ::-1]
    return np.asarray(ring[found])
