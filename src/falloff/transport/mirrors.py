"""Light thrown by a mirror: receivers seen in it, and which of their rays it sends on.

A receiver's image in the mirror's plane sees a source through the mirror as through a hole: on the
same straight line, at the same angles. So an image has shadow rays like any receiver, that count
where they go through the hole and where both ways, to the mirror and from it, are free.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from falloff.rays import RayScene
from falloff.stage import MIRROR
from falloff.transport.kernels_sheets import dim_by_sheets
from falloff.types import BoolArray, Float32Array, Float64Array, Int32Array, IntArray

_CLEAR_M: Final = 1e-4  # ways end and begin this far from the mirror
_SKY_HAS_IT: Final = False  # a pane between receiver and mirror is not the sky's own
_BLOCKED: Final = np.int32(0)  # as RayScene.reaches says it


def mirrors_in(sheets: Float64Array) -> IntArray:
    """Which sheets (k, 16) are mirrors."""
    return np.flatnonzero(sheets[:, 13] == MIRROR)


def image_of(points: Float32Array, sheet: Float64Array) -> Float32Array:
    """Points (n, 3) in metres as they are seen in a mirror (16,)."""
    away = (points - sheet[:3]) @ sheet[9:12]
    return np.asarray(points - 2.0 * away[:, None] * sheet[9:12], np.float32)


def turned(ways: Float32Array, sheet: Float64Array) -> Float32Array:
    """Directions or normals (n, 3) as a mirror (16,) turns them."""
    along = ways @ sheet[9:12]
    return np.asarray(ways - 2.0 * along[:, None] * sheet[9:12], np.float32)


def faces_mirror(points: Float32Array, normals: Float32Array, sheet: Float64Array) -> BoolArray:
    """Which flat receivers (n,) have any of a mirror above their horizon."""
    corners = sheet[:3] + np.array([[0, 0], [0, 1], [1, 0], [1, 1]]) @ sheet[3:9].reshape(2, 3)
    height = np.max([((corner - points) * normals).sum(1) for corner in corners], axis=0)
    return np.asarray(height > 0.0)


def reach_by_mirror(
    scene: RayScene,
    k: int,
    rays: tuple[Float32Array, Float32Array, Float32Array, Float32Array],
    *,
    from_sky: bool,
) -> Int32Array:
    """−1 for each ray of images that reaches its source by way of mirror k, 0 for others; (n,).

    rays: origins (n, 3), directions (n, 3), lengths and weights (n,); the weights are multiplied
    by what the mirror gives back and by what other sheets pass on both ways.
    """
    origins, directions, lengths, weights = rays
    sheet = scene.sheets[k]
    found = np.full(len(origins), _BLOCKED, np.int32)
    at = _through(sheet, origins, directions)
    clear = _CLEAR_M / np.linalg.norm(directions, axis=1)
    kept = np.flatnonzero((at > clear) & (at < lengths - clear))
    if kept.size == 0:
        return found
    place, way = origins[kept], directions[kept]
    last, first = (np.asarray(at + off, np.float32)[kept] for off in (-clear, clear))
    start, rest = place + first[:, None] * way, lengths[kept] - first
    image, back = image_of(place, sheet), turned(way, sheet)
    others = np.delete(scene.sheets, k, axis=0)
    shares = np.full(kept.size, sheet[15], np.float32)
    if len(others):
        dim_by_sheets(kept.size, image, back, last, shares, others, _SKY_HAS_IT)
        dim_by_sheets(kept.size, start, way, rest, shares, others, from_sky)
    weights[kept] *= shares
    found[kept] = np.maximum(scene.reaches(image, back, last), scene.reaches(start, way, rest))
    return found


def _through(sheet: Float64Array, origins: Float32Array, directions: Float32Array) -> Float64Array:
    """Where rays (n, 3) go through a sheet, in their own lengths; −1 where they miss it."""
    normal, u, v = sheet[9:12], sheet[3:6], sheet[6:9]
    along = directions @ normal
    with np.errstate(divide="ignore", invalid="ignore"):
        at = ((sheet[:3] - origins) @ normal) / along
        place = origins + at[:, None] * directions - sheet[:3]
        a, b = place @ u / (u @ u), place @ v / (v @ v)
        inside = (a >= 0.0) & (a <= 1.0) & (b >= 0.0) & (b <= 1.0) & (np.abs(along) > 0.0)
    return np.where(inside, at, -1.0)
