"""Cut and group the triangles of a mesh: neighbours that face alike answer for light together."""

from __future__ import annotations

import hashlib
from typing import Final

import numpy as np

from falloff.stage.records import POINTS_PER_ELEMENT
from falloff.types import Float64Array, IntArray

MESH_SIDE: Final = 1.2  # longest side of a mesh's triangles over that of an element
_TURNS: Final = 6  # of the means
_SPLITS: Final = 12  # rounds, each of which halves the longest sides


def in_own_axes(
    corners: Float64Array, own_axes: tuple[Float64Array, Float64Array] | None
) -> Float64Array:
    """Corners (t, 3, 3) as a thing itself has them, to a hundredth of a millimetre.

    own_axes: its origin (3,) and rows of unit axes (3, 3); None leaves them as they stand.
    """
    if own_axes is None:
        return corners
    origin, axes = own_axes
    return np.asarray(np.round((corners - origin) @ axes.T, 5))


def split_long(
    drawn: Float64Array, corners: Float64Array, normals: Float64Array, *, longest_m: float
) -> tuple[Float64Array, Float64Array, Float64Array]:
    """Triangles and shading normals (t, 3, 3) cut at the middle of sides longer than that.

    drawn: corners of the same triangles, whose sides decide. Slivers stay whole: those of an
    eighth of the square of that side, or less.
    """
    for _ in range(_SPLITS):
        sides = np.linalg.norm(np.roll(drawn, -1, axis=1) - drawn, axis=2)
        longest = np.argmax(sides, 1)
        large = facing_and_area(drawn)[1] > 0.125 * longest_m**2
        long = np.flatnonzero(large & (sides[np.arange(len(sides)), longest] > longest_m))
        if long.size == 0:
            break
        keep = np.ones(len(drawn), np.bool_)
        keep[long] = False
        parts = []
        for whole in (drawn, corners, normals):
            turned = whole[long[:, None], (longest[long, None] + np.arange(3)) % 3]
            a, b, c = turned[:, 0], turned[:, 1], turned[:, 2]
            m = 0.5 * (a + b)
            if whole is normals:
                m = m / np.maximum(1e-12, np.linalg.norm(m, axis=1, keepdims=True))
            halves = np.concatenate([np.stack([a, m, c], 1), np.stack([m, b, c], 1)])
            parts.append(np.concatenate([whole[keep], halves]))
        drawn, corners, normals = parts
    return drawn, corners, normals


def facing_and_area(corners: Float64Array) -> tuple[Float64Array, Float64Array]:
    """Unit normals (t, 3) of triangles and their areas (m²); where there is none, no direction."""
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    twice = np.linalg.norm(cross, axis=1)
    return cross / np.maximum(twice, 1e-300)[:, None], 0.5 * twice


def two_levels(
    centres: Float64Array, normals: Float64Array, area: Float64Array, elements: int, patches: int
) -> tuple[IntArray, IntArray]:
    """The element of each triangle, and the patch of each element; elements stand by patch.

    What was grouped before is known: a light that is carried about is cut alike every time.
    """
    parts = (centres, normals, area)
    asked = b"".join(np.ascontiguousarray(part).tobytes() for part in parts)
    key = (hashlib.blake2b(asked, digest_size=16).digest(), elements, patches)
    if key not in _known:
        while len(_known) >= _MOST_KNOWN:
            _known.pop(next(iter(_known)))
        _known[key] = _two_levels(centres, normals, area, elements, patches)
    return _known[key]


_MOST_KNOWN: Final = 512
_known: dict[tuple[bytes, int, int], tuple[IntArray, IntArray]] = {}


def _two_levels(
    centres: Float64Array, normals: Float64Array, area: Float64Array, elements: int, patches: int
) -> tuple[IntArray, IntArray]:
    group = clusters(centres, normals, area, elements)
    weight = np.bincount(group, area)

    def mean(values: Float64Array) -> Float64Array:
        sums = [np.bincount(group, area * values[:, axis]) for axis in range(3)]
        return np.asarray(np.stack(sums, 1) / weight[:, None])

    patch = clusters(mean(centres), mean(normals), np.asarray(weight, np.float64), patches)
    order = np.argsort(patch, kind="stable")
    place = np.empty_like(order)
    place[order] = np.arange(order.size)
    return place[group], patch[order]


def clusters(
    centres: Float64Array, normals: Float64Array, area: Float64Array, count: int
) -> IntArray:
    """Group triangles by place and facing into at most `count` groups, numbered from 0.

    Weighted k-means on position and normal, seeded by farthest points, so that it never depends
    on chance.
    """
    spread = float(np.ptp(centres, axis=0).max()) or 1.0
    feature = np.hstack([centres, 0.3 * spread * normals])
    seeds = [int(np.argmax(area))]
    square = np.einsum("ij,ij->i", feature, feature)
    gap = np.full(len(feature), np.inf)
    while len(seeds) < count:
        far = square - 2.0 * feature @ feature[seeds[-1]] + square[seeds[-1]]
        np.minimum(gap, far, out=gap)
        seeds.append(int(np.argmax(gap)))
    middle = feature[seeds]
    group = np.zeros(len(feature), np.int64)
    single = feature.astype(np.float32)  # near enough to tell the nearest, and twice as fast
    for _ in range(_TURNS):
        there = middle.astype(np.float32)
        distance = (there**2).sum(1) - 2.0 * single @ there.T
        group = np.argmin(distance, 1)
        weight = np.maximum(np.bincount(group, area, count), 1e-12)
        for axis in range(6):
            middle[:, axis] = np.bincount(group, area * feature[:, axis], count) / weight
    return np.unique(group, return_inverse=True)[1]


def even_by_area(rng: np.random.Generator, cluster: IntArray, area: Float64Array) -> IntArray:
    """(e, 16) triangles of each element, by area; any four in a row are one from each quarter."""
    order = np.argsort(cluster, kind="stable")
    count = np.bincount(cluster)
    last = np.cumsum(count) - 1
    running = np.cumsum(area[order])
    end = running[last]
    start = np.concatenate([[0.0], end[:-1]])
    quarters = np.arange(POINTS_PER_ELEMENT).reshape(4, 4).T.ravel()
    at = (quarters + rng.random((count.size, POINTS_PER_ELEMENT))) / POINTS_PER_ELEMENT
    found = np.searchsorted(running, start[:, None] + at * (end - start)[:, None])
    return np.asarray(order[np.clip(found, (last - count + 1)[:, None], last[:, None])])
