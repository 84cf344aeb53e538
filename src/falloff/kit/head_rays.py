"""Where rays first meet a small set of triangles: plain numpy, for shaping what a head wears."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Values = NDArray[np.float64]
Indices = NDArray[np.int64]

_CELL_M = 0.010
_STEP_M = 0.006
_STRIDE = 8  # steps taken at once
_EDGE = 1e-6  # how far beyond a triangle's edge still counts, so that none slips between two


@dataclass(frozen=True, slots=True)
class Hits:
    """First hits of rays (n,): distance (m), infinity where none; triangle; shares of corners."""

    distance_m: Values
    triangle: Indices
    shares: Points


class HeadRays:
    """Triangles (t, 3, 3), metres, sorted into cells of a grid, ready to be met."""

    def __init__(self, corners: Points) -> None:
        self._first = corners[:, 0]
        self._one = corners[:, 1] - corners[:, 0]
        self._two = corners[:, 2] - corners[:, 0]
        # a point of a triangle lies within half a step of a sample on the ray through it
        low = corners.min(axis=1) - 0.51 * _STEP_M
        high = corners.max(axis=1) + 0.51 * _STEP_M
        self._low = low.min(axis=0)
        self._middle = 0.5 * (low.min(axis=0) + high.max(axis=0))
        self._reach_m = 0.5 * float(np.linalg.norm(high.max(axis=0) - low.min(axis=0)))
        self._shape = np.floor((high.max(axis=0) - self._low) / _CELL_M).astype(np.int64) + 1
        cell, triangle = self._sorted_into_cells(low, high)
        order = np.argsort(cell, kind="stable")
        self._triangles = triangle[order]
        self._starts = np.searchsorted(cell[order], np.arange(int(self._shape.prod()) + 1))

    def _sorted_into_cells(self, low: Points, high: Points) -> tuple[Indices, Indices]:
        """Each cell that a triangle's box touches, and that triangle."""
        first = np.floor((low - self._low) / _CELL_M).astype(np.int64)
        wide = np.floor((high - self._low) / _CELL_M).astype(np.int64) - first + 1
        count = wide.prod(axis=1)
        triangle = np.repeat(np.arange(len(low)), count)
        within = _counted(count)
        wide = wide[triangle]
        steps = [
            within // (wide[:, 1] * wide[:, 2]),
            within // wide[:, 2] % wide[:, 1],
            within % wide[:, 2],
        ]
        return self._numbered(first[triangle] + np.stack(steps, axis=1)), triangle

    def _numbered(self, cells: Indices) -> Indices:
        """One number for each cell (..., 3)."""
        numbered: Indices = (cells[..., 0] * self._shape[1] + cells[..., 1]) * self._shape[
            2
        ] + cells[..., 2]
        return numbered

    def first_hits(self, starts: Points, ways: Points) -> Hits:
        """The nearest triangle along each ray from starts (n, 3), unit ways (n, 3)."""
        count = len(starts)
        hits = Hits(np.full(count, np.inf), np.zeros(count, np.int64), np.zeros((count, 3)))
        nearest = np.einsum("ij,ij->i", self._middle - starts, ways)
        begun = np.maximum(nearest - self._reach_m, 0.0)
        ended = nearest + self._reach_m
        ahead = np.flatnonzero(ended > 0.0)
        steps = _STEP_M * np.arange(_STRIDE)
        while len(ahead):
            at = begun[ahead][:, None] + steps
            self._meet(ahead, self._passed(starts[ahead], ways[ahead], at), (starts, ways), hits)
            begun[ahead] += _STEP_M * _STRIDE
            found = hits.distance_m[ahead] < begun[ahead] - _STEP_M
            ahead = ahead[~found & (begun[ahead] <= ended[ahead])]
        return hits

    def _passed(self, starts: Points, ways: Points, at: Values) -> Indices:
        """The cells (rays, steps) that rays pass; -1 outside the grid or where it was just so."""
        points = starts[:, None] + at[..., None] * ways[:, None]
        cells = np.floor((points - self._low) / _CELL_M).astype(np.int64)
        outside = ((cells < 0) | (cells >= self._shape)).any(axis=2)
        numbers = np.where(outside, -1, self._numbered(cells))
        same = numbers[:, 1:] == numbers[:, :-1]
        numbers[:, 1:][same] = -1
        return numbers

    def _meet(
        self, ahead: Indices, cells: Indices, rays: tuple[Points, Points], hits: Hits
    ) -> None:
        """Try each ray with the triangles of its cells; keep the nearest hits."""
        row, column = np.nonzero(cells >= 0)
        cell = cells[row, column]
        count = self._starts[cell + 1] - self._starts[cell]
        ray = np.repeat(ahead[row], count)
        triangle = self._triangles[np.repeat(self._starts[cell], count) + _counted(count)]
        distance, u, v = self._distances(rays[0][ray], rays[1][ray], triangle)
        hit = np.isfinite(distance)
        ray, triangle, distance, u, v = ray[hit], triangle[hit], distance[hit], u[hit], v[hit]
        order = np.lexsort((triangle, distance, ray))
        ray = ray[order]
        nearest = order[np.append(True, ray[1:] != ray[:-1])] if len(ray) else order
        which = np.unique(ray)
        nearer = distance[nearest] < hits.distance_m[which]
        which, nearest = which[nearer], nearest[nearer]
        hits.distance_m[which] = distance[nearest]
        hits.triangle[which] = triangle[nearest]
        hits.shares[which] = np.stack([1 - u - v, u, v], axis=1)[nearest]

    def _distances(
        self, starts: Points, ways: Points, triangle: Indices
    ) -> tuple[Values, Values, Values]:
        """Distance of each ray to its triangle, infinity where missed, and corner shares.

        source: Moeller and Trumbore, Fast, Minimum Storage Ray-Triangle Intersection, 1997 (from
        memory).
        """
        one, two = self._one[triangle], self._two[triangle]
        across = np.cross(ways, two)
        facing = np.einsum("ij,ij->i", across, one)
        facing = np.where(np.abs(facing) < 1e-18, np.inf, facing)
        offset = starts - self._first[triangle]
        u = np.einsum("ij,ij->i", offset, across) / facing
        turned = np.cross(offset, one)
        v = np.einsum("ij,ij->i", ways, turned) / facing
        distance = np.einsum("ij,ij->i", two, turned) / facing
        inside = (u > -_EDGE) & (v > -_EDGE) & (u + v < 1 + _EDGE) & (distance > 0)
        return np.where(inside, distance, np.inf), u, v


def _counted(count: Indices) -> Indices:
    """0, 1, .. for each of some counts, one after another."""
    ends = np.cumsum(count)
    counted: Indices = np.arange(int(count.sum())) - np.repeat(ends - count, count)
    return counted
