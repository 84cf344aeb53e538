"""What the sky and the ground outside shine with."""

from falloff.daylight.general import SKY_COEFFICIENTS, TRADITIONAL_OVERCAST, over_zenith
from falloff.daylight.sky import (
    Daylight,
    facade_luminance,
    general_sky,
    overcast_sky,
    sky_luminance,
)

__all__ = [
    "SKY_COEFFICIENTS",
    "TRADITIONAL_OVERCAST",
    "Daylight",
    "facade_luminance",
    "general_sky",
    "over_zenith",
    "overcast_sky",
    "sky_luminance",
]
