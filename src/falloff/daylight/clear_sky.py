"""A cloudless sky by day: what sun and sky give, in watts and in lux, by how hazy the air is."""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from falloff.daylight.efficacy import between_states, sky_clearness
from falloff.daylight.refraction import air_share

SOLAR_CONSTANT_W_M2: Final = 1361.0  # Kopp and Lean (2011), Geophys. Res. Lett. 38, L01706
USUAL_WATER_M: Final = 0.02  # precipitable water of a temperate summer's day (from memory)
# The clear model is not asked for a lower sun: there its sky goes to nought with the sine.
_LOWEST_RAD: Final = math.radians(0.5)


class ClearIrradiance(NamedTuple):
    """W/m²: of the sun on a plane that faces it, and of the sky without it on open ground."""

    direct_w_m2: float
    diffuse_w_m2: float


class ClearLight(NamedTuple):
    """lx: of the sun on a plane that faces it, and of the sky without it on open ground."""

    sun_normal_lux: float
    sky_horizontal_lux: float


def air_mass(altitude_rad: float) -> float:
    """How many times the air above is crossed by what stands at an altitude as seen; 1 to 38.

    Below the horizon as at it. Source: Kasten and Young (1989), Applied Optics 28(22), 4735-4738.
    """
    h = max(0.0, math.degrees(altitude_rad))  # degrees
    return float(1.0 / (math.sin(math.radians(h)) + 0.50572 * (h + 6.07995) ** -1.6364))


def ineichen_irradiance(
    altitude_rad: float, *, turbidity: float, height_m: float, outside_w_m2: float
) -> ClearIrradiance:
    """Irradiances of a cloudless sky.

    altitude_rad: of the sun as seen, above 0 to π/2; turbidity: Linke's, at air mass 2, 1 to 10;
    height_m: above the sea; outside_w_m2: of the sun outside the air.
    Source: Ineichen and Perez (2002), Solar Energy 73(3), 151-157, equations 8 to 10, without the
    enhancement for high air masses; checked against a second writing (tests).
    """
    rise = math.sin(altitude_rad)
    mass = air_mass(altitude_rad) * air_share(height_m)
    thin_8, thin_1 = math.exp(-height_m / 8000.0), math.exp(-height_m / 1250.0)
    scale = 5.09e-5 * height_m + 0.868
    loss = 3.92e-5 * height_m + 0.0387
    haze = turbidity - 1.0
    whole = scale * outside_w_m2 * rise * math.exp(-loss * mass * (thin_8 + thin_1 * haze))
    direct = outside_w_m2 * (0.664 + 0.163 / thin_8) * math.exp(-0.09 * mass * haze)
    share = 1.0 - (0.1 - 0.2 * math.exp(-turbidity)) / (0.1 + 0.882 / thin_8)
    direct = min(direct, whole * share / rise)
    return ClearIrradiance(direct, whole - direct * rise)


def clear_light(
    altitude_rad: float, *, turbidity: float, height_m: float, outside_w_m2: float
) -> ClearLight:
    """Illuminances of a cloudless sky by day; arguments as `ineichen_irradiance`.

    A sun lower than half a degree counts as there. Source: `ineichen_irradiance` times the
    efficacies of `between_states`, 2 cm of water in the air.
    """
    seen = max(_LOWEST_RAD, altitude_rad)
    power = ineichen_irradiance(
        seen, turbidity=turbidity, height_m=height_m, outside_w_m2=outside_w_m2
    )
    from_zenith = 0.5 * math.pi - seen
    lumens = between_states(
        sky_clearness(power.diffuse_w_m2, power.direct_w_m2, zenith_rad=from_zenith),
        water_m=USUAL_WATER_M,
        zenith_rad=from_zenith,
        delta=power.diffuse_w_m2 * air_mass(seen) / outside_w_m2,
    )
    return ClearLight(
        power.direct_w_m2 * lumens.direct_lm_per_w, power.diffuse_w_m2 * lumens.diffuse_lm_per_w
    )
