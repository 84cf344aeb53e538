"""What stands outside between an opening and the sky: buildings near, a skyline far away."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from falloff.daylight import (
    SKY_COEFFICIENTS,
    TRADITIONAL_OVERCAST,
    Daylight,
    over_zenith,
    sky_luminance,
)
from falloff.sources.records import BUILDING_SIZE, FACES, SKY_HEAD
from falloff.types import BoolArray, Float64Array, IntArray

FINE_STEPS: Final = 180  # from straight down to straight up


@dataclass(frozen=True, slots=True)
class Outlook:
    """What is seen outside before the sky.

    buildings: (b, 13) as Source.table has them; skyline: (n,) sine of its altitude at even steps
    of azimuth on the plan, from x towards y, n = 0 where it is level; skyline_nit: luminance of
    what stands on it (cd/m²).
    """

    buildings: Float64Array
    skyline: Float64Array
    skyline_nit: float = 0.0

    def dimmed(self, share: float) -> Outlook:
        """The same seen through glass that lets a share of light through."""
        buildings = self.buildings.copy()
        buildings[:, BUILDING_SIZE - FACES :] *= share
        return replace(self, buildings=buildings, skyline_nit=share * self.skyline_nit)

    def table(self, daylight: Daylight | None) -> Float64Array:
        """Source.table of a sky that is seen with it, or of the sun where no sky is given."""
        head = np.zeros(SKY_HEAD)
        head[0], head[12], head[13] = len(self.buildings), len(self.skyline), self.skyline_nit
        if daylight is not None and daylight.kind != TRADITIONAL_OVERCAST:
            head[1], head[2:7] = 1.0, SKY_COEFFICIENTS[daylight.kind]
            head[7:10] = daylight.toward_sun
            head[10] = over_zenith(daylight.kind, head[7:10])
            head[11] = math.exp(0.5 * math.pi * head[5])
        return np.concatenate([head, self.buildings.ravel(), self.skyline])


OPEN_COUNTRY: Final = Outlook(np.empty((0, BUILDING_SIZE)), np.empty(0))


def opening_illuminance(
    middle: Float64Array,
    inward: Float64Array,
    daylight: Daylight,
    outlook: Outlook = OPEN_COUNTRY,
    *,
    steps: int = FINE_STEPS,
) -> float:
    """Illuminance (lx) on the outside of an opening, by midpoint quadrature over directions.

    steps: from straight down to straight up, half as many again as many times round.
    """
    seen = _seen_from(
        tuple(middle.tolist()),
        tuple(inward.tolist()),
        np.ascontiguousarray(outlook.buildings[:, : BUILDING_SIZE - FACES]).tobytes(),
        outlook.skyline.tobytes(),
        steps,
    )
    luminance = sky_luminance(daylight, seen.toward)
    luminance[seen.hidden] = outlook.skyline_nit
    faces = outlook.buildings[:, BUILDING_SIZE - FACES :].ravel()
    built = seen.face >= 0
    luminance[built] = faces[seen.face[built]]
    return float(luminance @ seen.weight)


@dataclass(frozen=True, slots=True)
class _Seen:
    """What an opening looks at: unit ways (n, 3), the cosine of each times its solid angle.

    hidden: below the skyline; face: a building's, FACES times its row and its own number, or −1.
    """

    toward: Float64Array
    weight: Float64Array
    hidden: BoolArray
    face: IntArray


@functools.lru_cache(maxsize=64)
def _seen_from(
    middle: tuple[float, ...],
    inward: tuple[float, ...],
    built: bytes,
    skyline: bytes,
    steps: int,
) -> _Seen:
    """What an opening looks at, which does not change with the light; arrays come as bytes."""
    altitude = (np.arange(steps) + 0.5) / steps * math.pi - 0.5 * math.pi
    azimuth = (np.arange(2 * steps) + 0.5) / steps * math.pi
    rise, turn = np.meshgrid(altitude, azimuth, indexing="ij")
    toward = np.stack([np.cos(rise) * np.cos(turn), np.cos(rise) * np.sin(turn), np.sin(rise)], -1)
    weight = np.maximum(0.0, toward @ -np.array(inward)) * (math.pi / steps) ** 2 * np.cos(rise)
    ahead = weight > 0.0
    toward, weight = toward[ahead], weight[ahead]
    hidden = (toward[:, 2] > 0.0) & ~above_skyline(np.frombuffer(skyline), toward)
    face = np.full(len(toward), -1)
    nearest = np.full(len(toward), np.inf)
    for k, row in enumerate(np.frombuffer(built).reshape(-1, BUILDING_SIZE - FACES)):
        distance, side = building_met(row, np.array(middle), toward)
        face = np.where(distance < nearest, FACES * k + side, face)
        nearest = np.minimum(nearest, distance)
    return _Seen(toward, weight, hidden, face)


def above_skyline(skyline: Float64Array, toward: Float64Array) -> BoolArray:
    """Which unit ways (..., 3) look over a skyline (n,), all where it is level and n = 0."""
    if not skyline.size:
        return np.ones(toward.shape[:-1], np.bool_)
    at = np.arctan2(toward[..., 1], toward[..., 0]) / (2.0 * math.pi) % 1.0 * skyline.size
    step = np.minimum(at.astype(np.int64), skyline.size - 1)
    low, high = skyline[step], skyline[(step + 1) % skyline.size]
    return np.asarray(toward[..., 2] >= low + (at - step) * (high - low))


def distance_to_building(
    building: Float64Array, start: Float64Array, toward: Float64Array
) -> Float64Array:
    """How far along each unit way (..., 3) a building begins; infinite where it is missed.

    building: (13,) as Source.table has it; start: (3,) or (..., 3) metres.
    """
    return building_met(building, start, toward)[0]


def building_met(
    building: Float64Array, start: Float64Array, toward: Float64Array
) -> tuple[Float64Array, np.ndarray]:
    """How far along each unit way (..., 3) a building begins, and by which face, 0 to 4."""
    x, y, cosine, sine, half_u, half_v, foot, top = building[:8]
    turn = np.array([[cosine, sine, 0.0], [-sine, cosine, 0.0], [0.0, 0.0, 1.0]])
    origin, way = (start - (x, y, 0.0)) @ turn.T, toward @ turn.T
    low, high = np.array([-half_u, -half_v, foot]), np.array([half_u, half_v, top])
    with np.errstate(divide="ignore", invalid="ignore"):
        a, b = (low - origin) / way, (high - origin) / way
    first = np.nan_to_num(np.minimum(a, b), nan=-np.inf)
    axis = first.argmax(-1)
    near = first.max(-1)
    far = np.nanmin(np.maximum(a, b), axis=-1)
    met = np.where((near < far) & (far > 0.0), np.maximum(near, 0.0), np.inf)
    back = np.take_along_axis(way, axis[..., None], -1)[..., 0] <= 0.0
    return met, np.where(axis == 2, FACES - 1, 2 * axis + back)
