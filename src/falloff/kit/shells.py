"""Closed surfaces from grids of points: shells with a thickness, tubes, rings."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Indices = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Patch:
    """A surface with one border: points (n, 3) m, triangles (t, 3), border (k,) run round once.

    border_at (k,): where each point of the border lies along it, rising from 0, whole numbers at
    corners, so that two borders of unlike fineness can be told to match.
    """

    points: Points
    triangles: Indices
    border: Indices
    border_at: Points


@dataclass(frozen=True, slots=True)
class Closed:
    """A closed surface: corners and unit normals (t, 3, 3), counter-clockwise from outside; m."""

    corners: Points
    normals: Points


def domed_patch(rows: Points, pole: Points) -> Patch:
    """Rings (r, c, 3) about a pole (3,); the last ring is the border."""
    count, across = rows.shape[:2]
    points = np.concatenate([pole[None], rows.reshape(-1, 3)])
    step = np.arange(across)
    after = (step + 1) % across
    parts = [np.stack([np.zeros(across, np.int64), 1 + step, 1 + after], axis=1)]
    for row in range(count - 1):
        near, far = 1 + row * across, 1 + (row + 1) * across
        parts += _quads(near + step, far + step, far + after, near + after)
    return Patch(points, np.concatenate(parts), 1 + (count - 1) * across + step, step / across)


def parted_patch(rows: Points) -> Patch:
    """A grid (r, c, 3) whose first row folds onto itself: column j meets column c - 1 - j."""
    count, across = rows.shape[:2]
    triangles = _grid_triangles(count, across)
    index = np.arange(count * across).reshape(count, across)
    border = np.concatenate([index[:-1, 0], index[-1, :-1], index[:0:-1, -1]])
    side, end = _even(count - 1), _even(across - 1)
    at = np.concatenate([side, 1 + end, 2 + side])
    return Patch(rows.reshape(-1, 3), triangles, border, at)


def flat_patch(rows: Points) -> Patch:
    """A plain grid (r, c, 3); all four sides are the border."""
    count, across = rows.shape[:2]
    index = np.arange(count * across).reshape(count, across)
    sides = (index[:-1, 0], index[-1, :-1], index[:0:-1, -1], index[0, :0:-1])
    border = np.concatenate(sides)
    side, end = _even(count - 1), _even(across - 1)
    at = np.concatenate([side, 1 + end, 2 + side, 3 + end])
    return Patch(rows.reshape(-1, 3), _grid_triangles(count, across), border, at)


def shell(outer: Patch, inner: Patch) -> Closed:
    """Two patches with borders run the same way, joined along them."""
    moved = inner.triangles[:, ::-1] + len(outer.points)
    lap = np.floor(outer.border_at[-1]) + 1.0
    rim = _zipped(
        outer.border,
        inner.border + len(outer.points),
        np.append(outer.border_at, lap),
        np.append(inner.border_at, lap),
    )
    points = np.concatenate([outer.points, inner.points])
    return closed(points, [outer.triangles, moved, rim])


def tube(path: Points, radii: Points, sides: int) -> Closed:
    """A closed tube along a path (n, 3) with half-axes (n, 2): across, and square to the path."""
    along = _unit(np.gradient(path, axis=0))
    across = np.empty_like(path)
    start = np.eye(3)[np.argmin(np.abs(along[0]))]
    for k, way in enumerate(along):
        start = start - (start @ way) * way
        start /= np.linalg.norm(start)
        across[k] = start
    square = np.cross(along, across)
    turn = np.arange(sides) * 2 * np.pi / sides
    around = (
        radii[:, :1, None] * across[:, None] * np.cos(turn)[:, None]
        + radii[:, 1:, None] * square[:, None] * np.sin(turn)[:, None]
    )
    return capped_tube(path, path[:, None] + around)


def capped_tube(path: Points, rings: Points) -> Closed:
    """Rings (n, s, 3) along a path (n, 3), both ends closed to the path's end points."""
    count, sides = rings.shape[:2]
    points = np.concatenate([rings.reshape(-1, 3), path[[0, -1]]])
    step = np.arange(sides)
    after = (step + 1) % sides
    parts = [np.stack([step, after, np.full(sides, count * sides)], axis=1)]
    for row in range(count - 1):
        near, far = row * sides, (row + 1) * sides
        parts += _quads(near + step, far + step, far + after, near + after)
    last = (count - 1) * sides
    parts.append(np.stack([last + after, last + step, np.full(sides, count * sides + 1)], axis=1))
    return closed(points, [np.concatenate(parts)])


def ring(sections: Points) -> Closed:
    """Sections (n, k, 3), each a closed loop, one after the other round a closed way."""
    count, sides = sections.shape[:2]
    i, j = np.divmod(np.arange(count * sides), sides)
    following, after = (i + 1) % count, (j + 1) % sides
    parts = _quads(
        i * sides + j, following * sides + j, following * sides + after, i * sides + after
    )
    return closed(sections.reshape(-1, 3), [np.concatenate(parts)])


def closed(points: Points, groups: list[Indices]) -> Closed:
    """Triangles by group, normals smooth within each group; equal points are one; faces outward."""
    places, inverse = np.unique(np.round(points, 7) + 0.0, axis=0, return_inverse=True)
    inverse = inverse.reshape(-1)
    kept = [_real(inverse[group]) for group in groups]
    triangles = np.concatenate(kept)
    a, b, c = np.moveaxis(places[triangles], 1, 0)
    if np.einsum("ij,ij->", a, np.cross(b, c)) < 0:
        kept = [group[:, ::-1] for group in kept]
    corners = places[np.concatenate(kept)]
    normals = np.concatenate([_normals(places, group)[group] for group in kept])
    return Closed(corners, normals)


def _real(triangles: Indices) -> Indices:
    a, b, c = triangles.T
    kept: Indices = triangles[(a != b) & (b != c) & (c != a)]
    return kept


def _normals(points: Points, triangles: Indices) -> Points:
    corners = points[triangles]
    facing = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    total = np.zeros_like(points)
    for k in range(3):
        np.add.at(total, triangles[:, k], facing)
    return _unit(total)


def _unit(vectors: Points) -> Points:
    unit: Points = vectors / np.maximum(np.linalg.norm(vectors, axis=-1, keepdims=True), 1e-15)
    return unit


def _quads(a: Indices, b: Indices, c: Indices, d: Indices) -> list[Indices]:
    return [np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)]


def _grid_triangles(count: int, across: int) -> Indices:
    index = np.arange(count * across).reshape(count, across)
    near, far = index[:-1], index[1:]
    a, b, c, d = (part.ravel() for part in (near[:, :-1], far[:, :-1], far[:, 1:], near[:, 1:]))
    return np.concatenate(_quads(a, b, c, d))


def _even(count: int) -> Points:
    share: Points = np.arange(count) / count
    return share


def _zipped(first: Indices, second: Indices, first_at: Points, second_at: Points) -> Indices:
    """A band between two loops; *_at tell where their points lie, the closing one last."""
    triangles = []
    j = k = 0
    many, few = len(first), len(second)
    while j < many or k < few:
        if k == few or (j < many and first_at[j + 1] <= second_at[k + 1] + 1e-9):
            triangles.append((first[(j + 1) % many], first[j], second[k % few]))
            j += 1
        else:
            triangles.append((second[k], second[(k + 1) % few], first[j % many]))
            k += 1
    return np.asarray(triangles, np.int64)
