"""Flat emitters of any convex outline, and tubes."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from falloff.errors import Fault, GeometryError
from falloff.sources.crate import EggCrate, crate_kept_share
from falloff.sources.records import POLYGON, SHAPE_SIZE, TUBE, Source
from falloff.types import Float32Array, Float64Array

ROUND_CORNERS: Final = 32  # a disc's outline: its light is within 1e-5 of a true disc's
_NOTHING = np.zeros(1)


def polygon(
    name: str,
    centre: Float64Array,
    *,
    across: Float64Array,
    upward: Float64Array,
    outline_m: Float64Array,
    flux_lm: float,
    colour: Float32Array,
    power_w: float | None = None,
    crate: EggCrate | None = None,
) -> Source:
    """A matte convex face shining along across × upward; luminance is Φ/(πA).

    across, upward: unit vectors square to each other; outline_m: (n, 2) its corners about the
    centre along them, in order either way round, 3 or more. flux_lm: before the crate, if there
    is one; the source's own flux is what leaves the crate. Raises GeometryError for an outline
    that is not convex.
    """
    corners = _turned_left(np.asarray(outline_m, np.float64))
    low = corners.min(0)
    size = corners.max(0) - low
    at = (corners - low) / size
    onward = np.roll(at, -1, axis=0)
    middle = at.mean(0)
    to, other = at - middle, onward - middle
    fan = 0.5 * (to[:, 0] * other[:, 1] - to[:, 1] * other[:, 0])
    share = np.cumsum(fan) / fan.sum()
    area = float(fan.sum() * size.prod())
    shape = np.zeros(SHAPE_SIZE)
    shape[0:3] = centre + low[0] * across + low[1] * upward
    shape[3:6], shape[6:9] = size[0] * across, size[1] * upward
    shape[9:12] = np.cross(across, upward)
    shape[12], shape[13], shape[14] = area, flux_lm / (math.pi * area), len(corners)
    if crate is not None:
        shape[16], shape[17] = crate.across, crate.upward
        flux_lm *= crate_kept_share(crate)
    table = np.concatenate([at.ravel(), share, middle])
    return Source(name, POLYGON, shape, table, _NOTHING, colour, flux_lm, power_w)


def ellipse_outline(
    width_m: float, height_m: float, *, corners: int = ROUND_CORNERS
) -> Float64Array:
    """Corners (n, 2) of a polygon with the area of an ellipse of this width and height."""
    turn = (np.arange(corners) + 0.5) * 2.0 * math.pi / corners
    # A regular polygon of unit radius has ½ n sin(2π/n) of area in place of π.
    scale = math.sqrt(2.0 * math.pi / (corners * math.sin(2.0 * math.pi / corners)))
    half = 0.5 * scale * np.array([width_m, height_m])
    return np.asarray(half * np.stack([np.cos(turn), np.sin(turn)], 1))


def regular_outline(sides: int, *, between_sides_m: float) -> Float64Array:
    """Corners (n, 2) of a regular polygon, a side below, by the distance of a side from its middle.

    between_sides_m: twice that distance: of an octagon, from a side to the one opposite.
    """
    turn = (np.arange(sides) + 0.5) * 2.0 * math.pi / sides - 0.5 * math.pi
    radius = 0.5 * between_sides_m / math.cos(math.pi / sides)
    return np.asarray(radius * np.stack([np.cos(turn), np.sin(turn)], 1))


def tube(
    name: str,
    middle: Float64Array,
    *,
    axis: Float64Array,
    length_m: float,
    radius_m: float,
    flux_lm: float,
    colour: Float32Array,
    power_w: float | None = None,
) -> Source:
    """A matte cylinder along a unit axis that shines from its side, not from its ends.

    Luminance is Φ/(π·2πrl).
    """
    if not (length_m > 0.0 and radius_m > 0.0):
        raise GeometryError(
            Fault(
                what="a tube must have a length and a thickness",
                expected="both above zero",
                found=f"{length_m:g} m long, {2.0 * radius_m:g} m thick",
            )
        )
    shape = np.zeros(SHAPE_SIZE)
    shape[0:3], shape[3:6], shape[6], shape[7] = middle, axis, length_m, radius_m
    shape[12] = 2.0 * math.pi * radius_m * length_m
    shape[13] = flux_lm / (math.pi * shape[12])
    return Source(name, TUBE, shape, _NOTHING, _NOTHING, colour, flux_lm, power_w)


def _turned_left(corners: Float64Array) -> Float64Array:
    """The outline anticlockwise, having been checked to be convex."""
    side = np.roll(corners, -1, axis=0) - corners
    onward = np.roll(side, -1, axis=0)
    turn = side[:, 0] * onward[:, 1] - side[:, 1] * onward[:, 0]
    if len(corners) >= 3 and bool(np.all(turn < 0.0)):
        return _turned_left(corners[::-1])
    way = np.arctan2(side[:, 1], side[:, 0])
    wound = float(np.sum((np.roll(way, -1) - way) % (2.0 * math.pi)))
    if len(corners) < 3 or not bool(np.all(turn > 0.0)) or wound > 2.0 * math.pi + 1e-6:
        raise GeometryError(
            Fault(
                what="a light's face must be convex",
                expected="three corners or more that turn one way all round",
                found=str(corners.round(4).tolist())[:120],
                fix="give its corners in order; make a hollow face of two lights",
            )
        )
    return corners
