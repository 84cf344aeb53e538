"""Rays against triangles: Embree behind three calls, one core each, lock released."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from falloff.types import Float32Array, Float64Array, Int32Array


@dataclass(frozen=True, slots=True)
class Hits:
    """First hits of rays, arrays of (n,) and (n, 3).

    triangle: −1 for none; distance in ray lengths; barycentric u and v; the triangle's own normal,
    not of unit length.
    """

    triangle: Int32Array
    distance: Float32Array
    u: Float32Array
    v: Float32Array
    normal: Float32Array


class RayScene:
    """Triangles ready to be asked; safe to ask from several threads.

    sheets: (k, 16) what stands in the way without stopping every ray, for those who ask.
    """

    def __init__(self, corners: Float32Array, sheets: Float64Array | None = None) -> None:
        from embreex.mesh_construction import TriangleMesh
        from embreex.rtcore_scene import EmbreeScene

        self.sheets = np.empty((0, 16)) if sheets is None else sheets
        self._scene = EmbreeScene()
        self._mesh = TriangleMesh(self._scene, np.ascontiguousarray(corners, np.float32))
        # The first question builds the tree, which must not happen on two threads at once.
        down = np.array([[0.0, 0.0, -1.0]], np.float32)
        self._scene.run(np.zeros((1, 3), np.float32), down)

    def first_hit(self, origins_m: Float32Array, directions: Float32Array) -> Hits:
        """What each ray (n, 3) meets first."""
        if len(origins_m) == 0:
            none = np.empty(0, np.float32)
            return Hits(np.empty(0, np.int32), none, none, none, np.empty((0, 3), np.float32))
        found = self._scene.run(origins_m, directions, output=1)
        return Hits(found["primID"], found["tfar"], found["u"], found["v"], found["Ng"])

    def reaches(
        self, origins_m: Float32Array, directions: Float32Array, lengths: Float32Array
    ) -> Int32Array:
        """−1 for each ray (n, 3) that meets nothing within its length, 0 for others; (n,)."""
        if len(origins_m) == 0:
            return np.empty(0, np.int32)
        found: Int32Array = self._scene.run(origins_m, directions, lengths, query="OCCLUDED")
        return found
