"""The sky over a matte ground, and what stands on it."""

from __future__ import annotations

import functools
import math

import msgspec
import numpy as np

from falloff.constants import OVERCAST_HORIZONTAL_OVER_ZENITH
from falloff.daylight.general import (
    SKY_COEFFICIENTS,
    TRADITIONAL_OVERCAST,
    relative_luminance,
    sky_integrals,
)
from falloff.errors import DaylightError, Fault
from falloff.types import Float64Array
from falloff.units import Lux, Nit


class Daylight(msgspec.Struct, frozen=True, kw_only=True):
    """Luminances outside: of a sky of one of 16 kinds above the horizon, ground_nit below.

    horizontal_lux: of the sky alone; zenith_nit: its luminance at the zenith; kind: 1 to 16 as in
    ISO 15469, 16 the traditional overcast one, L = zenith_nit (1 + 2 sin γ)/3; toward_sun: unit
    way to the sun; sun_normal_lux: what the sun's disc gives a plane that faces it.
    """

    horizontal_lux: float
    zenith_nit: float
    ground_nit: float
    kind: int = TRADITIONAL_OVERCAST
    toward_sun: tuple[float, float, float] = (0.0, 0.0, 1.0)
    sun_normal_lux: float = 0.0

    @property
    def sun_horizontal_lux(self) -> float:
        """What the sun's disc adds on the ground."""
        return self.sun_normal_lux * max(0.0, self.toward_sun[2])


def overcast_sky(horizontal_lux: Lux, *, ground_reflectance: float = 0.2) -> Daylight:
    """The traditional overcast sky (ISO 15469:2004, type 16) of a given horizontal illuminance.

    horizontal_lux: ≥ 0, under the open sky; ground_reflectance: 0 to 1, the ground being matte
    and unshaded. Raises DaylightError outside those ranges.
    """
    _check_light(horizontal_lux)
    _check_ground(ground_reflectance)
    return Daylight(
        horizontal_lux=horizontal_lux,
        zenith_nit=Nit(horizontal_lux / OVERCAST_HORIZONTAL_OVER_ZENITH),
        ground_nit=Nit(ground_reflectance * horizontal_lux / math.pi),
    )


def general_sky(
    kind: int,
    *,
    sun_altitude_rad: float,
    sun_azimuth_rad: float,
    horizontal_lux: float | None = None,
    zenith_nit: float | None = None,
    sun_normal_lux: float = 0.0,
    ground_reflectance: float = 0.2,
) -> Daylight:
    """One of the skies of ISO 15469:2004, made absolute by one of two readings.

    kind: 1 to 16; sun_altitude_rad: 0 to π/2 above the horizon; sun_azimuth_rad: in plan, from x
    towards y. Either horizontal_lux, of the sky without the sun's disc, or zenith_nit is
    given, ≥ 0.
    sun_normal_lux: of the disc alone on a plane that faces it, ≥ 0; it lights the ground and the
    buildings on it.
    Raises DaylightError outside those ranges.
    """
    if kind not in SKY_COEFFICIENTS and kind != TRADITIONAL_OVERCAST:
        raise DaylightError(
            Fault(
                what="there is no such kind of sky",
                expected="1 to 15, or 16 for the traditional overcast sky",
                found=str(kind),
                fix="take 1 for overcast, 12 for clear, 13 for clear over a town",
            )
        )
    if not 0.0 <= sun_altitude_rad <= 0.5 * math.pi:
        raise DaylightError(
            Fault(
                what="the sun cannot stand there",
                expected="an altitude from 0 to 90 deg",
                found=f"{math.degrees(sun_altitude_rad):g} deg",
                fix="give its height above the horizon; under the horizon there is no day",
            )
        )
    if (horizontal_lux is None) == (zenith_nit is None):
        raise DaylightError(
            Fault(
                what="how strong the sky is must be said once",
                expected="either the illuminance on the ground or the luminance of the zenith",
                found="both" if zenith_nit is not None else "neither",
                fix="give one reading taken outside, such as 12000 lx in the sun's shadow",
            )
        )
    _check_light(horizontal_lux if horizontal_lux is not None else float(zenith_nit or 0.0))
    _check_light(sun_normal_lux)
    _check_ground(ground_reflectance)
    flat = math.cos(sun_altitude_rad)
    toward = (
        flat * math.cos(sun_azimuth_rad),
        flat * math.sin(sun_azimuth_rad),
        math.sin(sun_altitude_rad),
    )
    level = sky_integrals(kind, np.array(toward))[0]
    zenith = horizontal_lux / level if horizontal_lux is not None else float(zenith_nit or 0.0)
    falling = zenith * level + sun_normal_lux * toward[2]
    return Daylight(
        horizontal_lux=zenith * level,
        zenith_nit=Nit(zenith),
        ground_nit=Nit(ground_reflectance * falling / math.pi),
        kind=kind,
        toward_sun=toward,
        sun_normal_lux=sun_normal_lux,
    )


def without_sun(daylight: Daylight) -> Daylight:
    """The same daylight with the sun's disc shaded off everything outside."""
    falling = daylight.horizontal_lux + daylight.sun_horizontal_lux
    share = daylight.horizontal_lux / falling if falling > 0.0 else 1.0
    return msgspec.structs.replace(
        daylight, sun_normal_lux=0.0, ground_nit=share * daylight.ground_nit
    )


def sky_luminance(daylight: Daylight, toward: Float64Array) -> Float64Array:
    """Luminance (cd/m²) along unit ways (..., 3): of the sky, and of the ground below."""
    sky = relative_luminance(daylight.kind, toward, np.array(daylight.toward_sun))
    return np.where(toward[..., 2] > 0.0, daylight.zenith_nit * sky, daylight.ground_nit)


def facade_luminance(daylight: Daylight, reflectance: float, facing: Float64Array) -> Float64Array:
    """Luminance (cd/m²) of matte planes that face unit ways (n, 3) under open sky and ground; (n,).

    reflectance: 0 to 1, luminous. Nothing shades them but that they may be turned from the sun.
    """
    toward, solid_angle = _sky_grid()
    luminance = sky_luminance(daylight, toward) * solid_angle
    by_sky = np.maximum(0.0, facing @ toward.T) @ luminance
    by_sun = daylight.sun_normal_lux * np.maximum(0.0, facing @ np.array(daylight.toward_sun))
    by_ground = 0.5 * (1.0 - facing[:, 2]) * math.pi * daylight.ground_nit
    return np.asarray(reflectance / math.pi * (by_sky + by_sun + by_ground))


@functools.cache
def _sky_grid() -> tuple[Float64Array, Float64Array]:
    """Ways all over the sky (n, 3) and their solid angles (n,).

    Gauss's rule in the sine of height, even steps round; cosines of upright planes add up to
    within 0.1 %.
    """
    node, weight = np.polynomial.legendre.leggauss(24)
    height = 0.5 * (node + 1.0)
    turn = (np.arange(96) + 0.5) / 96 * 2.0 * math.pi
    up, around = np.meshgrid(height, turn, indexing="ij")
    flat = np.sqrt(1.0 - up**2)
    toward = np.stack([flat * np.cos(around), flat * np.sin(around), up], -1).reshape(-1, 3)
    return toward, np.repeat(0.5 * weight * 2.0 * math.pi / 96, 96)


def _check_light(found_lux: float) -> None:
    if not (math.isfinite(found_lux) and found_lux >= 0.0):
        raise DaylightError(
            Fault(
                what="the light outside is impossible",
                expected="an illuminance of zero or more",
                found=f"{found_lux} lx",
                fix="give one reading taken outside, meter up, such as 12000 lx",
            )
        )


def _check_ground(ground_reflectance: float) -> None:
    if not 0.0 <= ground_reflectance <= 1.0:
        raise DaylightError(
            Fault(
                what="the ground outside cannot reflect that much",
                expected="a reflectance from 0 to 1",
                found=str(ground_reflectance),
                fix="0.2 stands for grass and paving, 0.8 for snow",
            )
        )
