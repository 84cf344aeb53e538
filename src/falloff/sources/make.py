"""Build sources from places (metres), directions (unit vectors) and flux (lumens)."""

from __future__ import annotations

import math

import numpy as np

from falloff.daylight import Daylight
from falloff.photometry import IntensityDistribution
from falloff.sources.crate import EggCrate, crate_kept_share
from falloff.sources.outlook import OPEN_COUNTRY, Outlook, opening_illuminance
from falloff.sources.records import BEAM, PANEL, SHAPE_SIZE, SKY, SPHERE, Source
from falloff.types import Float32Array, Float64Array

_NOTHING = np.zeros(1)


def panel(
    name: str,
    corner: Float64Array,
    *,
    edge_u: Float64Array,
    edge_v: Float64Array,
    flux_lm: float,
    colour: Float32Array,
    power_w: float | None = None,
    crate: EggCrate | None = None,
) -> Source:
    """A matte parallelogram shining along edge_u × edge_v; luminance is Φ/(πA).

    flux_lm: before the egg crate, if it has one; the source's own flux is what leaves that.
    """
    normal = np.cross(edge_u, edge_v)
    area = float(np.linalg.norm(normal))
    shape = np.zeros(SHAPE_SIZE)
    shape[0:3], shape[3:6], shape[6:9], shape[9:12] = corner, edge_u, edge_v, normal / area
    shape[12], shape[13] = area, flux_lm / (math.pi * area)
    if crate is not None:
        shape[16], shape[17] = crate.across, crate.upward
        flux_lm *= crate_kept_share(crate)
    return Source(name, PANEL, shape, _NOTHING, _NOTHING, colour, flux_lm, power_w)


def ball(
    name: str,
    centre: Float64Array,
    *,
    radius_m: float,
    flux_lm: float,
    colour: Float32Array,
    power_w: float | None = None,
) -> Source:
    """A matte ball; luminance is Φ/(π·4πr²)."""
    shape = np.zeros(SHAPE_SIZE)
    shape[0:3], shape[3] = centre, radius_m
    shape[12] = 4.0 * math.pi * radius_m**2
    shape[13] = flux_lm / (math.pi * shape[12])
    return Source(name, SPHERE, shape, _NOTHING, _NOTHING, colour, flux_lm, power_w)


def beam(
    name: str,
    centre: Float64Array,
    *,
    axis: Float64Array,
    aperture_m: float,
    profile: IntensityDistribution,
    flux_lm: float,
    colour: Float32Array,
    power_w: float | None = None,
) -> Source:
    """A round beam leaving every point of a disc alike; aperture_m is the disc's diameter."""
    helper = np.array([0.0, 0.0, 1.0]) if abs(axis[2]) < 0.9 else np.array([1.0, 0.0, 0.0])
    across = np.cross(helper, axis)
    across /= np.linalg.norm(across)
    radius = 0.5 * aperture_m
    shape = np.zeros(SHAPE_SIZE)
    shape[0:3], shape[3:6] = centre, axis
    shape[6:9], shape[9:12] = radius * across, radius * np.cross(axis, across)
    shape[12], shape[13] = math.pi * radius**2, flux_lm
    shape[14], shape[15] = profile.angle_rad[-1], len(profile.candela_per_lumen)
    return Source(
        name,
        BEAM,
        shape,
        profile.candela_per_lumen,
        _angle_of_share(profile),
        colour,
        flux_lm,
        power_w,
    )


def sky_opening(
    name: str,
    corner: Float64Array,
    *,
    edge_u: Float64Array,
    edge_v: Float64Array,
    daylight: Daylight,
    colour: Float32Array,
    straight: float = 1.0,
    outlook: Outlook = OPEN_COUNTRY,
    falling_lux: float | None = None,
) -> Source:
    """A hole that shines into the room along edge_u × edge_v with what is seen outside.

    straight: share of light that its panes and gels let through, 0..1. falling_lux: illuminance on
    its outside, where that is known already.
    """
    normal = np.cross(edge_u, edge_v)
    area = float(np.linalg.norm(normal))
    shape = np.zeros(SHAPE_SIZE)
    shape[0:3], shape[3:6], shape[6:9], shape[9:12] = corner, edge_u, edge_v, normal / area
    shape[12] = area
    shape[13], shape[14] = straight * daylight.zenith_nit, straight * daylight.ground_nit
    if falling_lux is None:
        middle = corner + 0.5 * (edge_u + edge_v)
        falling_lux = opening_illuminance(middle, normal / area, daylight, outlook)
    table = outlook.dimmed(straight).table(daylight)
    return Source(name, SKY, shape, table, _NOTHING, colour, area * straight * falling_lux, None)


def _angle_of_share(profile: IntensityDistribution) -> Float64Array:
    """Angles at even shares of the flux, so that rays shot through them carry equal flux."""
    angle = np.linspace(0.0, float(profile.angle_rad[-1]), 8193)
    intensity = np.interp(angle, profile.angle_rad, profile.candela_per_lumen)
    weight = intensity * np.sin(angle)
    share = np.concatenate([[0.0], np.cumsum(0.5 * (weight[1:] + weight[:-1]))])
    return np.interp(np.linspace(0.0, 1.0, 2049), share / share[-1], angle)
