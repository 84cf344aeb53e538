"""Build sources from places (metres), directions (unit vectors) and flux (lumens)."""

from __future__ import annotations

import math

import numpy as np

from falloff.daylight import (
    SKY_COEFFICIENTS,
    TRADITIONAL_OVERCAST,
    Daylight,
    over_zenith,
    sky_luminance,
)
from falloff.photometry import IntensityDistribution
from falloff.sources.crate import EggCrate, crate_kept_share
from falloff.sources.records import (
    BEAM,
    BUILDING_SIZE,
    PANEL,
    SHAPE_SIZE,
    SKY,
    SKY_HEAD,
    SPHERE,
    Source,
)
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
    buildings: Float64Array | None = None,
) -> Source:
    """A hole that shines into the room along edge_u × edge_v with what is seen outside.

    straight: share of light that its panes and gels let through, 0..1. buildings: (b, 9) as
    Source.table has them, or None.
    """
    normal = np.cross(edge_u, edge_v)
    area = float(np.linalg.norm(normal))
    rows = np.empty((0, BUILDING_SIZE)) if buildings is None else buildings.copy()
    rows[:, 8] *= straight
    shape = np.zeros(SHAPE_SIZE)
    shape[0:3], shape[3:6], shape[6:9], shape[9:12] = corner, edge_u, edge_v, normal / area
    shape[12] = area
    shape[13], shape[14] = straight * daylight.zenith_nit, straight * daylight.ground_nit
    middle = corner + 0.5 * (edge_u + edge_v)
    falling = opening_illuminance(middle, normal / area, daylight, buildings)
    table = np.concatenate([sky_head(daylight, len(rows)), rows.ravel()])
    flux = area * straight * falling
    return Source(name, SKY, shape, table, _NOTHING, colour, flux, None)


def sky_head(daylight: Daylight, buildings: int) -> Float64Array:
    """The first numbers of a sky's table: what kind of sky it is, and where the sun stands."""
    head = np.zeros(SKY_HEAD)
    head[0] = buildings
    if daylight.kind != TRADITIONAL_OVERCAST:
        head[1], head[2:7] = 1.0, SKY_COEFFICIENTS[daylight.kind]
        head[7:10] = daylight.toward_sun
        head[10] = over_zenith(daylight.kind, head[7:10])
        head[11] = math.exp(0.5 * math.pi * head[5])
    return head


def opening_illuminance(
    middle: Float64Array,
    inward: Float64Array,
    daylight: Daylight,
    buildings: Float64Array | None = None,
) -> float:
    """Illuminance (lx) on the outside of an opening, by midpoint quadrature over directions."""
    altitude = (np.arange(180) + 0.5) / 180 * math.pi - 0.5 * math.pi
    azimuth = (np.arange(360) + 0.5) / 360 * 2.0 * math.pi
    rise, turn = np.meshgrid(altitude, azimuth, indexing="ij")
    toward = np.stack([np.cos(rise) * np.cos(turn), np.cos(rise) * np.sin(turn), np.sin(rise)], -1)
    luminance = sky_luminance(daylight, toward)
    nearest = np.full(luminance.shape, np.inf)
    for building in () if buildings is None else buildings:
        distance = distance_to_building(building, middle, toward)
        luminance = np.where(distance < nearest, building[8], luminance)
        nearest = np.minimum(nearest, distance)
    cosine = np.maximum(0.0, toward @ -inward)
    cell = (math.pi / 180) * (2.0 * math.pi / 360) * np.cos(rise)
    return float((luminance * cosine * cell).sum())


def distance_to_building(
    building: Float64Array, start: Float64Array, toward: Float64Array
) -> Float64Array:
    """How far along each unit way (..., 3) a building begins; infinite where it is missed.

    building: (9,) as Source.table has it; start: (3,) or (..., 3) metres.
    """
    x, y, cosine, sine, half_u, half_v, foot, top = building[:8]
    turn = np.array([[cosine, sine, 0.0], [-sine, cosine, 0.0], [0.0, 0.0, 1.0]])
    origin, way = (start - (x, y, 0.0)) @ turn.T, toward @ turn.T
    low, high = np.array([-half_u, -half_v, foot]), np.array([half_u, half_v, top])
    with np.errstate(divide="ignore", invalid="ignore"):
        a, b = (low - origin) / way, (high - origin) / way
    near = np.nanmax(np.minimum(a, b), axis=-1)
    far = np.nanmin(np.maximum(a, b), axis=-1)
    return np.where((near < far) & (far > 0.0), np.maximum(near, 0.0), np.inf)


def _angle_of_share(profile: IntensityDistribution) -> Float64Array:
    """Angles at even shares of the flux, so that rays shot through them carry equal flux."""
    angle = np.linspace(0.0, float(profile.angle_rad[-1]), 8193)
    intensity = np.interp(angle, profile.angle_rad, profile.candela_per_lumen)
    weight = intensity * np.sin(angle)
    share = np.concatenate([[0.0], np.cumsum(0.5 * (weight[1:] + weight[:-1]))])
    return np.interp(np.linspace(0.0, 1.0, 2049), share / share[-1], angle)
