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


class PartedScene(RayScene):
    """Triangles of which some move and the rest stay: only what moves is made ready anew.

    still: a scene of all but those of `span`, which are asked for apart. Answers as one scene of
    all of them would.
    """

    def __init__(
        self, still: RayScene, corners: Float32Array, *, span: tuple[int, int], sheets: Float64Array
    ) -> None:
        self.sheets = sheets
        self._still = still
        self._first, last = span
        self._count = last - self._first
        self._moved = RayScene(corners[self._first : last])

    def first_hit(self, origins_m: Float32Array, directions: Float32Array) -> Hits:
        """What each ray (n, 3) meets first."""
        far = self._still.first_hit(origins_m, directions)
        near = self._moved.first_hit(origins_m, directions)
        nearer = (near.triangle >= 0) & ((far.triangle < 0) | (near.distance < far.distance))
        shifted = np.where(
            far.triangle >= self._first, far.triangle + np.int32(self._count), far.triangle
        )
        return Hits(
            np.where(nearer, near.triangle + np.int32(self._first), shifted).astype(np.int32),
            np.where(nearer, near.distance, far.distance),
            np.where(nearer, near.u, far.u),
            np.where(nearer, near.v, far.v),
            np.where(nearer[:, None], near.normal, far.normal),
        )

    def reaches(
        self, origins_m: Float32Array, directions: Float32Array, lengths: Float32Array
    ) -> Int32Array:
        """−1 for each ray (n, 3) that meets nothing within its length, 0 for others; (n,)."""
        still = self._still.reaches(origins_m, directions, lengths)
        free = np.flatnonzero(still < 0)
        if free.size:
            still[free] = self._moved.reaches(origins_m[free], directions[free], lengths[free])
        return still


def without_span(corners: Float32Array, span: tuple[int, int]) -> RayScene:
    """The scene of all triangles but those from span[0] up to span[1]."""
    first, last = span
    return RayScene(np.concatenate([corners[:first], corners[last:]]))
