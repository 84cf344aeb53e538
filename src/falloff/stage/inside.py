"""Which points lie inside closed surfaces, and how far off a surface a point is."""

from __future__ import annotations

from typing import Final

import numpy as np

from falloff.types import BoolArray, Float64Array, IntArray

_ASIDE: Final = np.array([1.3e-5, 0.7e-5, 1.9e-5])  # m, so that no ray runs along an edge
_PAIRS = 4_000_000  # points × triangles looked at in one go


def points_inside(points: Float64Array, corners: Float64Array) -> BoolArray:
    """Whether points (n, 3) lie inside surfaces made of triangles (t, 3, 3) that face outward.

    Several closed surfaces may overlap. Where a surface has holes, two axes must agree.
    """
    spots = points + _ASIDE
    held = _crossings(spots, corners, 2) > 0
    some = np.flatnonzero(held)
    if some.size:
        sideways = _crossings(spots[some], corners, 0) > 0
        doubtful = some[~sideways]
        held[doubtful] = _crossings(spots[doubtful], corners, 1) > 0
    return held


def distance_m(point: Float64Array, corners: Float64Array) -> float:
    """The distance of a point (3,) from the nearest of some triangles (t, 3, 3), in metres.

    Over the inside of a triangle it is the distance from its plane, else from its nearest edge.
    """
    a, b, c = corners.swapaxes(0, 1)
    normal = np.cross(b - a, c - a)
    length = np.linalg.norm(normal, axis=1)
    flat = length > 0.0
    unit = normal / np.where(flat, length, 1.0)[:, None]
    away = np.einsum("td,td->t", point - a, unit)
    foot = point - away[:, None] * unit
    over = flat.copy()
    nearest = np.full(len(corners), np.inf)
    for start, end in ((a, b), (b, c), (c, a)):
        edge = end - start
        over &= np.einsum("td,td->t", np.cross(edge, foot - start), unit) >= 0.0
        square = np.einsum("td,td->t", edge, edge)
        share = np.einsum("td,td->t", point - start, edge) / np.where(square > 0.0, square, 1.0)
        spot = start + np.clip(share, 0.0, 1.0)[:, None] * edge
        nearest = np.minimum(nearest, np.linalg.norm(point - spot, axis=1))
    return float(np.where(over, np.abs(away), nearest).min())


def _crossings(points: Float64Array, corners: Float64Array, axis: int) -> IntArray:
    """Fronts less backs of all surfaces met from each point along +axis, seen from beyond."""
    first, second = (axis + 1) % 3, (axis + 2) % 3
    flat = corners[..., [first, second]]
    low, high = flat.min(1), flat.max(1)
    ahead = corners[..., axis].max(1)
    spots, depth = points[:, [first, second]], points[:, axis]
    count = np.zeros(len(points), np.int64)
    if len(points) == 0:
        return count
    near = (high >= spots.min(0)).all(1) & (low <= spots.max(0)).all(1) & (ahead > depth.min())
    flat, low, high, along = flat[near], low[near], high[near], corners[near][..., axis]
    step = max(1, _PAIRS // max(1, len(flat)))
    for start in range(0, len(points), step):
        part = slice(start, start + step)
        x, y = spots[part, :1], spots[part, 1:]
        over = (low[:, 0] <= x) & (high[:, 0] >= x) & (low[:, 1] <= y) & (high[:, 1] >= y)
        who, which = np.nonzero(over)
        turn = _turn(flat[which], spots[part][who], along[which], depth[part][who])
        count[part] += np.bincount(who, turn, len(x)).astype(np.int64)
    return count


def _turn(
    flat: Float64Array, spots: Float64Array, along: Float64Array, depth: Float64Array
) -> Float64Array:
    """+1 where a triangle over a spot and ahead of it shows its front to beyond, −1 its back."""
    a, b, c = flat.swapaxes(0, 1)
    double = _cross(b - a, c - a)
    level = double != 0.0
    whole = np.where(level, double, 1.0)
    v, w = _cross(spots - a, c - a) / whole, _cross(b - a, spots - a) / whole
    met = level & (v >= 0.0) & (w >= 0.0) & (v + w <= 1.0)
    height = along[:, 0] + v * (along[:, 1] - along[:, 0]) + w * (along[:, 2] - along[:, 0])
    return np.where(met & (height > depth), np.sign(double), 0.0)


def _cross(a: Float64Array, b: Float64Array) -> Float64Array:
    return np.asarray(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])
