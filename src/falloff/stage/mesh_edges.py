"""How the triangles of a mesh hang together: welded points, edges, parts, smooth normals."""

from __future__ import annotations

import numpy as np

from falloff.types import BoolArray, Float64Array, IntArray

_STEPS = 2**21 - 1  # of the grid that points are welded on, along the longest side


def weld(vertices: Float64Array, faces: IntArray) -> tuple[Float64Array, IntArray]:
    """Points in one place made one, triangles of no area and second copies of others dropped.

    vertices (n, 3), faces (t, 3); points count as one within half a millionth of the whole.
    """
    step = float(np.ptp(vertices, axis=0).max()) / _STEPS or 1.0
    cell = np.rint((vertices - vertices.min(0)) / step).astype(np.int64)
    key = (cell[:, 0] << 42) | (cell[:, 1] << 21) | cell[:, 2]
    _, first, number = np.unique(key, return_index=True, return_inverse=True)
    return drop_empty(vertices[first], number[faces])


def used_points(vertices: Float64Array, faces: IntArray) -> tuple[Float64Array, IntArray]:
    """The mesh without points that no triangle has."""
    used = np.bincount(faces.ravel(), minlength=len(vertices)) > 0
    if used.all():
        return vertices, faces
    return vertices[used], (np.cumsum(used) - 1)[faces]


def drop_empty(vertices: Float64Array, faces: IntArray) -> tuple[Float64Array, IntArray]:
    """Triangles of no area, and second copies of others whichever way they face, dropped."""
    a, b, c = faces.T
    faces = faces[(a != b) & (b != c) & (c != a)]
    faces = faces[np.linalg.norm(_crosses(vertices[faces]), axis=1) > 0.0]
    if len(vertices) > 2_000_000:  # more than the key can tell apart; such a soup shares no points
        return vertices, faces
    low, middle, high = np.sort(faces, axis=1).T
    key = (low * len(vertices) + middle) * len(vertices) + high
    _, first = np.unique(key, return_index=True)
    return vertices, faces if len(first) == len(faces) else faces[np.sort(first)]


def face_normals(corners: Float64Array) -> tuple[Float64Array, Float64Array]:
    """Unit normals (t, 3) of triangles (t, 3, 3), and their areas (t,) in m²."""
    cross = _crosses(corners)
    double = np.linalg.norm(cross, axis=1)
    return cross / np.maximum(double, 1e-300)[:, None], 0.5 * double


def part_of_faces(count: int, faces: IntArray) -> IntArray:
    """The number of the connected part, from 0, that each triangle belongs to."""
    first = np.concatenate([faces[:, 0], faces[:, 1]])
    second = np.concatenate([faces[:, 1], faces[:, 2]])
    label = joined_labels(count, first, second)[faces[:, 0]]
    return np.unique(label, return_inverse=True)[1]


def open_parts(count: int, faces: IntArray, part: IntArray) -> BoolArray:
    """Which connected parts have an edge that is not passed as often one way as the other."""
    start, end = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    key = np.minimum(start, end) * count + np.maximum(start, end)
    _, first, number = np.unique(key, return_index=True, return_inverse=True)
    passed = np.bincount(number, np.where(start < end, 1.0, -1.0))
    found = np.zeros(int(part.max()) + 1, np.bool_)
    found[part[first[passed != 0.0] // 3]] = True
    return found


def smooth_normals(vertices: Float64Array, faces: IntArray, *, crease_rad: float) -> Float64Array:
    """Corner normals (t, 3, 3): round where faces meet at less than a crease, else flat.

    Corners of one point share a normal, weighted by angle, as far as edges flatter than the
    crease lead from face to face; edges of more than two faces always break it.
    """
    corners = vertices[faces]
    flat, _ = face_normals(corners)
    left, right = _pairs(len(vertices), faces)
    soft = np.einsum("pd,pd->p", flat[left // 3], flat[right // 3]) > np.cos(crease_rad)
    left, right = left[soft], right[soft]
    after = np.concatenate([_next(left), left])
    group = joined_labels(faces.size, np.concatenate([right, _next(right)]), after)
    weighted = _corner_angles(corners).ravel()[:, None] * np.repeat(flat, 3, axis=0)
    total = np.stack([np.bincount(group, weighted[:, k], faces.size) for k in range(3)], 1)
    length = np.linalg.norm(total, axis=1)
    total = total[group] / np.maximum(length[group], 1e-300)[:, None]
    lost = length[group] < 1e-9
    total[lost] = np.repeat(flat, 3, axis=0)[lost]
    return np.asarray(total.reshape(-1, 3, 3))


def joined_labels(count: int, first: IntArray, second: IntArray) -> IntArray:
    """For each of `count` things the lowest number that links (first, second) lead it to."""
    label = np.arange(count)
    while True:
        a, b = label[first], label[second]
        low, high = np.minimum(a, b), np.maximum(a, b)
        apart = low < high
        if not apart.any():
            return label
        first, second = first[apart], second[apart]
        np.minimum.at(label, high[apart], low[apart])
        while True:
            further = label[label]
            if (further == label).all():
                break
            label = further


def _pairs(count: int, faces: IntArray) -> tuple[IntArray, IntArray]:
    """Half-edges 3 f + k of edges that exactly two triangles share, once each way."""
    start, end = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    key = np.minimum(start, end) * count + np.maximum(start, end)
    order = np.argsort(key, kind="stable")
    fresh = np.flatnonzero(np.diff(key[order], prepend=-1))
    size = np.diff(fresh, append=len(order))
    two = fresh[size == 2]
    left, right = order[two], order[two + 1]
    facing = start[left] == end[right]
    return left[facing], right[facing]


def _next(half_edges: IntArray) -> IntArray:
    """The corner that a half-edge ends at."""
    return np.asarray(half_edges - half_edges % 3 + (half_edges + 1) % 3)


def _corner_angles(corners: Float64Array) -> Float64Array:
    """Angles (t, 3) of triangles at their corners, rad."""
    ahead = np.roll(corners, -1, axis=1) - corners
    behind = np.roll(corners, 1, axis=1) - corners
    turn = np.linalg.norm(np.cross(ahead, behind), axis=2)
    return np.asarray(np.arctan2(turn, np.einsum("tkd,tkd->tk", ahead, behind)))


def _crosses(corners: Float64Array) -> Float64Array:
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    return np.stack(
        [
            first[:, 1] * second[:, 2] - first[:, 2] * second[:, 1],
            first[:, 2] * second[:, 0] - first[:, 0] * second[:, 2],
            first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0],
        ],
        1,
    )
