"""Ways from a point on the plan, and where they meet segments; points within outlines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, TypeAlias

import numpy as np

from falloff.drawing.plan_outlines import rounded
from falloff.drawing.plan_records import Outline
from falloff.types import BoolArray, Float64Array

Blocker: TypeAlias = tuple[Outline, float, float]  # convex outline, low, high (m)

STEP_RAD: Final = math.radians(3.0)
_BESIDE_RAD: Final = 2e-4  # rays on both sides of a corner are this far from it
_FINE_M: Final = 0.004


def turns_over(
    start: Float64Array, segments: Float64Array, pan: float, half: float
) -> Float64Array:
    """Ways to look: evenly over the span, and to both sides of every corner in it."""
    even = pan + np.linspace(-half, half, 3 + int(2.0 * half / STEP_RAD))
    corners = np.concatenate([segments[:, :2], segments[:, 2:]]) - start
    aside = np.arctan2(corners[:, 1], corners[:, 0]) - pan
    aside = (aside + math.pi) % (2.0 * math.pi) - math.pi
    aside = np.unique(np.round(aside, 5))
    aside = np.concatenate([aside - _BESIDE_RAD, aside + _BESIDE_RAD])
    inside = aside[np.abs(aside) < half]
    if half > math.pi - 1e-6:
        even = even[:-1]
    return np.sort(np.concatenate([even, pan + inside]))


def ways_of(turns: Float64Array) -> Float64Array:
    """Unit ways (n, 2) of angles (n,) on the plan."""
    return np.stack([np.cos(turns), np.sin(turns)], axis=1)


def crossings(start: Float64Array, ways: Float64Array, segments: Float64Array) -> Float64Array:
    """How far along each way (n, 2) each segment (m, 4) is met; infinite where it is not."""
    if not len(segments):
        return np.full((len(ways), 0), np.inf)
    a = segments[:, :2] - start
    edge = segments[:, 2:] - segments[:, :2]
    cross = ways[:, :1] * edge[:, 1] - ways[:, 1:] * edge[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        along = (a[:, 0] * edge[:, 1] - a[:, 1] * edge[:, 0]) / cross
        share = (a[:, 0] * ways[:, 1:] - a[:, 1] * ways[:, :1]) / cross
    met = (along > 1e-9) & (share >= -1e-9) & (share <= 1.0 + 1e-9)
    return np.where(met, along, np.inf)


def is_inside(outline: Float64Array, point: tuple[float, ...]) -> bool:
    """Whether the first two parts of a point lie within an outline (m, 2)."""
    return bool(within(outline, np.array([point[:2]]))[0])


def within(outline: Float64Array, points: Float64Array) -> BoolArray:
    """Whether points (n, 2) lie within an outline (m, 2), by counting its crossings."""
    x0, y0 = outline[:, 0], outline[:, 1]
    x1, y1 = np.roll(x0, -1), np.roll(y0, -1)
    x, y = points[:, :1], points[:, 1:]
    spans = (y0 > y) != (y1 > y)
    with np.errstate(divide="ignore", invalid="ignore"):
        at = x0 + (y - y0) * (x1 - x0) / (y1 - y0)
    return np.asarray((spans & (x < at)).sum(axis=1) % 2 == 1)


def thinned(points: Float64Array) -> Outline:
    """An outline without the points that lie on straight lines between others."""
    import shapely

    line = shapely.simplify(shapely.LinearRing(points), _FINE_M)
    return rounded(np.asarray(line.coords)[:-1])


def segments_of(bodies: Sequence[Blocker]) -> tuple[Float64Array, Float64Array]:
    """The sides (s, 4) of bodies, and the lowest and highest point (s, 2) of each side's body."""
    if not bodies:
        return np.empty((0, 4)), np.empty((0, 2))
    rings = [np.array(outline) for outline, _, _ in bodies]
    segments = [np.concatenate([ring, np.roll(ring, -1, axis=0)], axis=1) for ring in rings]
    heights = [
        np.broadcast_to([low, high], (len(ring), 2))
        for ring, (_, low, high) in zip(rings, bodies, strict=True)
    ]
    return np.concatenate(segments), np.concatenate(heights)
