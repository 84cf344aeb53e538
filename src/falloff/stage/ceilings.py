"""Ceilings, flat and sloped, and the tops of the walls that meet them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from falloff.document import Gable, Room, Skylight, ceiling_slopes
from falloff.types import Float64Array

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

_FLAT = 1e-9  # rise over run below which a ceiling counts as flat
_ON_RIDGE_M = 1e-9


@dataclass(frozen=True, slots=True)
class CeilingPlane:
    """One plane of a ceiling: its height is level_m + gradient · (x, y) over the part `plan`.

    gradient: (2,) rise over run, the way it rises on the plan; plan: a shapely (multi)polygon.
    """

    level_m: float
    gradient: Float64Array
    plan: BaseGeometry

    def height_m(self, plan_m: Float64Array) -> Float64Array:
        """Height above the floor of the plane, prolonged, over points (..., 2)."""
        return np.asarray(self.level_m + plan_m @ self.gradient)


def floor_corners_m(room: Room) -> Float64Array:
    """Corners of the floor (n, 2), counter-clockwise."""
    return np.array([[x.si, y.si] for x, y in room.floor])


def ceiling_height_m(room: Room, x_m: Float64Array, y_m: Float64Array) -> Float64Array:
    """Height of the ceiling above the floor over points of the plan, arrays of one shape.

    Outside the floor the nearest slope is taken to go on.
    """
    plan = np.stack(np.broadcast_arrays(x_m, y_m), -1)
    heights = [level + plan @ gradient for level, gradient in _planes(room)]
    return np.asarray(np.minimum.reduce(heights))


def ceiling_planes(room: Room) -> tuple[CeilingPlane, ...]:
    """The planes of a ceiling, cut along the ridge, together over all of the floor."""
    import shapely

    corners = floor_corners_m(room)
    floor = shapely.Polygon(corners)
    planes = _planes(room)
    if not isinstance(room.slope, Gable):
        return tuple(CeilingPlane(level, gradient, floor) for level, gradient in planes)
    across, middle = _ridge(room.slope, corners)
    far = 2.0 * float(np.abs(corners).max()) + 1.0
    along = np.array([-across[1], across[0]])
    on = middle * across
    cut = []
    for (level, gradient), side in zip(planes, (-1.0, 1.0), strict=True):
        half = [on + far * along, on - far * along]
        half += [corner + side * 2.0 * far * across for corner in half[::-1]]
        part = shapely.intersection(floor, shapely.Polygon(half))
        if not part.is_empty:
            cut.append(CeilingPlane(level, gradient, part))
    return tuple(cut)


def skylight_frame(
    room: Room, skylight: Skylight
) -> tuple[Float64Array, Float64Array, Float64Array]:
    """First corner of a skylight's hole in the ceiling, and its edges along its own x and y.

    On a slope all three lie in the plane of the ceiling over the skylight's middle.
    """
    middle = np.array([skylight.at[0].si, skylight.at[1].si])
    level, gradient = min(_planes(room), key=lambda plane: plane[0] + float(middle @ plane[1]))
    u, v = _direction(skylight.turn.si), _direction(skylight.turn.si + 0.5 * math.pi)
    across, upward = skylight.size[0].si * u, skylight.size[1].si * v
    corner = middle - 0.5 * (across + upward)
    return (
        np.array([*corner, level + float(corner @ gradient)]),
        np.array([*across, float(across @ gradient)]),
        np.array([*upward, float(upward @ gradient)]),
    )


def wall_outline_m(room: Room, wall: int) -> Float64Array:
    """Outline of wall `wall` (from 1): (n, 2) metres along from its first corner, and up.

    Counter-clockwise as (along, up); five corners where the ridge crosses it.
    """
    corners = floor_corners_m(room)
    a, b = corners[wall - 1], corners[wall % len(corners)]
    length = math.hypot(*(b - a))
    shares = [0.0, 1.0]
    if isinstance(room.slope, Gable):
        across, middle = _ridge(room.slope, corners)
        from_a, from_b = float(a @ across) - middle, float(b @ across) - middle
        if min(abs(from_a), abs(from_b)) > _ON_RIDGE_M and from_a * from_b < 0.0:
            shares.insert(1, from_a / (from_a - from_b))
    plan = a + np.array(shares)[:, None] * (b - a)
    tops = ceiling_height_m(room, plan[:, 0], plan[:, 1])
    top = [[share * length, float(rise)] for share, rise in zip(shares, tops, strict=True)]
    outline = [[0.0, 0.0], [length, 0.0], *top[::-1]]
    kept = [p for k, p in enumerate(outline) if p != outline[k - 1]]  # eaves on the floor
    return np.array(kept)


def _planes(room: Room) -> list[tuple[float, Float64Array]]:
    """Height at the plan's origin and gradient of each plane; the ceiling is the lowest."""
    return [(s.level_m, np.array([s.rise_x, s.rise_y])) for s in ceiling_slopes(room)]


def _ridge(slope: Gable, corners: Float64Array) -> tuple[Float64Array, float]:
    """The unit way across the ridge on the plan, and how far along it the ridge lies."""
    along = _direction(slope.ridge_along.si)
    across = np.array([along[1], -along[0]])
    return across, 0.5 * sum(_extent(corners @ across))


def is_flat(gradient: Float64Array) -> bool:
    """Whether a plane of this gradient is level."""
    return math.hypot(*gradient) < _FLAT


def _direction(angle_rad: float) -> Float64Array:
    return np.array([math.cos(angle_rad), math.sin(angle_rad)])


def _extent(values: Float64Array) -> tuple[float, float]:
    return float(values.min()), float(values.max())
