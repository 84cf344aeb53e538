"""What the sun, the sky and the ground outside shine with, and when."""

from falloff.daylight.clear_sky import air_mass
from falloff.daylight.events import SunEvents, sun_events, when_altitude
from falloff.daylight.general import SKY_COEFFICIENTS, TRADITIONAL_OVERCAST, over_zenith
from falloff.daylight.outside_light import SKY_WORDS, OutsideLight, outside_light
from falloff.daylight.place import MoonPlace, SunPlace, moon_place, sun_place
from falloff.daylight.sky import (
    Daylight,
    facade_luminance,
    general_sky,
    overcast_sky,
    sky_luminance,
    without_sun,
)
from falloff.daylight.where import (
    Location,
    location,
)

__all__ = [
    "SKY_COEFFICIENTS",
    "SKY_WORDS",
    "TRADITIONAL_OVERCAST",
    "Daylight",
    "Location",
    "MoonPlace",
    "OutsideLight",
    "SunEvents",
    "SunPlace",
    "air_mass",
    "facade_luminance",
    "general_sky",
    "location",
    "moon_place",
    "outside_light",
    "over_zenith",
    "overcast_sky",
    "sky_luminance",
    "sun_events",
    "sun_place",
    "when_altitude",
    "without_sun",
]
