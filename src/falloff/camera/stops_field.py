"""From a noisy luminance picture to the few clean lines of a stops map."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.types import BoolArray, Float64Array

# Variance in stops² under which a difference counts as noise and is smoothed, and above which it
# counts as an edge and is kept: a third of a stop, squared, near enough.
_EDGE_VARIANCE: Final = 0.1
# Lines shorter than these shares of the picture's width are clutter.
_SHORTEST_LOOP: Final = 0.12
_SHORTEST_OPEN: Final = 0.07


@dataclass(frozen=True, slots=True)
class LevelLine:
    """One contour line: its whole level in stops, its (n, 2) points x, y in pixels."""

    level: int
    points: Float64Array
    length_px: float


def smooth_stops(stops: Float64Array, *, lowest: float) -> Float64Array:
    """The stops (h, w) with noise removed and edges kept; nothing below `lowest`.

    A median of 3 × 3 takes out single hot pixels, a guided filter with the picture as its own
    guide the grain, a wider one what wanders on flat ground, a small mean the steps left over.
    Source: He, Sun, Tang (2013), "Guided image filtering", equations 5, 6 and 8.
    """
    calm = _median_3x3(np.maximum(stops, lowest))
    width = stops.shape[1]
    grained = _guided(calm, max(2, round(width / 120)), _EDGE_VARIANCE)
    return _box_mean(_guided(grained, max(3, round(width / 48)), 0.5 * _EDGE_VARIANCE), 1)


def _guided(field: Float64Array, radius: int, edge_variance: float) -> Float64Array:
    mean = _box_mean(field, radius)
    variance = np.maximum(_box_mean(field * field, radius) - mean * mean, 0.0)
    slope = variance / (variance + edge_variance)
    offset = mean - slope * mean
    return _box_mean(slope, radius) * field + _box_mean(offset, radius)


def level_lines(field: Float64Array, lowest: int, highest: int) -> list[LevelLine]:
    """The contour lines of a smooth field (h, w) at whole stops, long ones first.

    Where two levels or more cross within a few pixels the picture has an edge, not a gradient:
    lines are cut there, since the grey picture shows the edge and the lines would only blot it.
    """
    from contourpy import LineType, contour_generator

    generator = contour_generator(z=field, line_type=LineType.Separate)
    at_edge = _edges(field, lowest, highest)
    found = []
    for level in range(lowest, highest + 1):
        for line in generator.lines(float(level)):
            found += _usable_parts(level, np.asarray(line), at_edge)
    return sorted(found, key=lambda line: -line.length_px)


def local_range(field: Float64Array, radius: int) -> Float64Array:
    """Greatest less least value within a square of `radius` pixels about each pixel."""
    return _local_extreme(field, radius, np.maximum) - _local_extreme(field, radius, np.minimum)


def without_specks(mask: BoolArray) -> BoolArray:
    """The mask (h, w) with its specks gone: what fills most of a small square about it."""
    radius = max(1, round(mask.shape[1] / 300))
    return np.asarray(_box_mean(mask.astype(np.float64), radius) > 0.5)


def _usable_parts(level: int, points: Float64Array, at_edge: BoolArray) -> list[LevelLine]:
    width = at_edge.shape[1]
    column, row = np.rint(points).astype(int).T
    keep = ~at_edge[row, column]
    closed = bool(np.all(points[0] == points[-1]))
    if closed and keep.all():
        length = _length(points)
        if length < _SHORTEST_LOOP * width:
            return []
        return [LevelLine(level, _rounded(points, closed=True), length)]
    if closed:
        # Begin the loop in a gap, so that no part is split where the loop happens to start.
        turn = int(np.argmin(keep))
        points = np.roll(points[:-1], -turn, axis=0)
        keep = np.roll(keep[:-1], -turn)
    parts = []
    for run in _runs(keep):
        length = _length(points[run])
        if length >= _SHORTEST_OPEN * width:
            parts.append(LevelLine(level, _rounded(points[run], closed=False), length))
    return parts


def _runs(keep: BoolArray) -> list[slice]:
    steps = np.flatnonzero(np.diff(np.concatenate(([0], keep.astype(np.int8), [0]))))
    return [slice(int(a), int(b)) for a, b in zip(steps[::2], steps[1::2], strict=True)]


def _length(points: Float64Array) -> float:
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def _rounded(points: Float64Array, *, closed: bool) -> Float64Array:
    """A running mean of thirteen points, which keeps the ends of an open line."""
    reach = 6
    if len(points) <= 4 * reach:
        return points
    if closed:
        body = points[:-1]
        padded = np.concatenate([body[-reach:], body, body[:reach]])
    else:
        before = 2.0 * points[0] - points[reach:0:-1]
        after = 2.0 * points[-1] - points[-2 : -reach - 2 : -1]
        padded = np.concatenate([before, points, after])
    total = np.cumsum(np.concatenate([np.zeros((1, 2)), padded]), axis=0)
    span = 2 * reach + 1
    mean = (total[span:] - total[:-span]) / span
    return np.concatenate([mean, mean[:1]]) if closed else mean


def _edges(field: Float64Array, lowest: int, highest: int) -> BoolArray:
    # Two levels within this reach are an edge: lines nearer than this to one another run together.
    reach = max(2, round(field.shape[1] / 240))
    step = np.floor(np.clip(field, lowest - 0.5, highest + 0.5))
    return local_range(step, reach) >= 2.0


def _local_extreme(field: Float64Array, radius: int, pick: np.ufunc) -> Float64Array:
    size = 2 * radius + 1
    for axis in (0, 1):
        pad = [(radius, radius) if a == axis else (0, 0) for a in (0, 1)]
        field = np.moveaxis(np.pad(field, pad, mode="edge"), axis, 0)
        have = 1
        while have < size:
            step = min(have, size - have)
            field = pick(field[:-step], field[step:])
            have += step
        field = np.moveaxis(field, 0, axis)
    return field


def _median_3x3(field: Float64Array) -> Float64Array:
    padded = np.pad(field, 1, mode="edge")
    height, width = field.shape
    nine = [padded[i : i + height, j : j + width] for i in range(3) for j in range(3)]
    return np.asarray(np.partition(np.stack(nine), 4, axis=0)[4])


def _box_mean(field: Float64Array, radius: int) -> Float64Array:
    size = 2 * radius + 1
    for axis in (0, 1):
        pad = [(radius + 1, radius) if a == axis else (0, 0) for a in (0, 1)]
        total = np.cumsum(np.pad(field, pad, mode="edge"), axis=axis)
        ahead = [slice(size, None) if a == axis else slice(None) for a in (0, 1)]
        behind = [slice(None, -size) if a == axis else slice(None) for a in (0, 1)]
        field = (total[tuple(ahead)] - total[tuple(behind)]) / size
    return np.asarray(field)
