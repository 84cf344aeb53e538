"""Group the triangles of a mesh: neighbours that face alike answer for light together."""

from __future__ import annotations

import numpy as np

from falloff.types import Float64Array, IntArray


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
    gap = np.full(len(feature), np.inf)
    while len(seeds) < count:
        gap = np.minimum(gap, ((feature - feature[seeds[-1]]) ** 2).sum(1))
        seeds.append(int(np.argmax(gap)))
    middle = feature[seeds]
    group = np.zeros(len(feature), np.int64)
    for _ in range(6):
        distance = (middle**2).sum(1)[None] - 2.0 * feature @ middle.T
        group = np.argmin(distance, 1)
        weight = np.maximum(np.bincount(group, area, count), 1e-12)
        for axis in range(6):
            middle[:, axis] = np.bincount(group, area * feature[:, axis], count) / weight
    return np.unique(group, return_inverse=True)[1]
