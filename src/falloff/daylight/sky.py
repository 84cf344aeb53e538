"""The CIE traditional overcast sky over a matte ground."""

from __future__ import annotations

import math

import msgspec

from falloff.constants import OVERCAST_HORIZONTAL_OVER_ZENITH
from falloff.errors import DaylightError, Fault
from falloff.units import Lux, Nit

# Illuminance on an upright plane over the horizontal one under the traditional overcast sky:
# (π/6 + 4/9) / (7π/9) by integration of L = Lz (1 + 2 sin γ)/3 over a quarter sphere.
_UPRIGHT_OVER_HORIZONTAL = (math.pi / 6.0 + 4.0 / 9.0) / OVERCAST_HORIZONTAL_OVER_ZENITH


class Daylight(msgspec.Struct, frozen=True, kw_only=True):
    """Luminances outside: L = zenith_nit (1 + 2 sin γ)/3 at altitude γ, ground_nit below."""

    horizontal_lux: float
    zenith_nit: float
    ground_nit: float


def overcast_sky(horizontal_lux: Lux, *, ground_reflectance: float = 0.2) -> Daylight:
    """The traditional overcast sky (ISO 15469:2004, type 16) of a given horizontal illuminance.

    horizontal_lux: ≥ 0, under the open sky; ground_reflectance: 0 to 1, the ground being matte
    and unshaded. Raises DaylightError outside those ranges.
    """
    if not (math.isfinite(horizontal_lux) and horizontal_lux >= 0.0):
        raise DaylightError(
            Fault(
                what="the light outside is impossible",
                expected="an illuminance of zero or more",
                found=f"{horizontal_lux} lx",
                fix="give one reading taken outside, meter up, such as 12000 lx",
            )
        )
    if not 0.0 <= ground_reflectance <= 1.0:
        raise DaylightError(
            Fault(
                what="the ground outside cannot reflect that much",
                expected="a reflectance from 0 to 1",
                found=str(ground_reflectance),
                fix="0.2 stands for grass and paving, 0.8 for snow",
            )
        )
    return Daylight(
        horizontal_lux=horizontal_lux,
        zenith_nit=Nit(horizontal_lux / OVERCAST_HORIZONTAL_OVER_ZENITH),
        ground_nit=Nit(ground_reflectance * horizontal_lux / math.pi),
    )


def facade_luminance(daylight: Daylight, reflectance: float) -> Nit:
    """Luminance (cd/m²) of an upright matte wall that faces open sky and ground.

    reflectance: 0 to 1, luminous. The wall is taken as unshaded by what it faces.
    """
    falling = (
        _UPRIGHT_OVER_HORIZONTAL * daylight.horizontal_lux + 0.5 * math.pi * daylight.ground_nit
    )
    return Nit(reflectance * falling / math.pi)
