"""A ball as a mesh: an octahedron whose faces are halved again and again."""

from __future__ import annotations

import numpy as np

from falloff.types import Float64Array


def ball_mesh(
    centre: Float64Array, radius_m: float, *, halvings: int = 4
) -> tuple[Float64Array, Float64Array]:
    """Corners and normals (8·4ⁿ, 3, 3) of a ball, seen from outside."""
    signs = np.array([[x, y, z] for x in (1, -1) for y in (1, -1) for z in (1, -1)], np.float64)
    triangles = np.stack([np.diag(row) for row in signs])
    turned = signs.prod(1) < 0
    triangles[turned] = triangles[turned][:, ::-1]
    for _ in range(halvings):
        a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
        ab, bc, ca = _unit(a + b), _unit(b + c), _unit(c + a)
        parts = ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))
        triangles = np.concatenate([np.stack(part, 1) for part in parts])
    return centre + radius_m * triangles, triangles


def _unit(vectors: Float64Array) -> Float64Array:
    return np.asarray(vectors / np.linalg.norm(vectors, axis=1, keepdims=True))
