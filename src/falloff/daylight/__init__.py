"""What the sky and the ground outside shine with."""

from falloff.daylight.sky import Daylight, facade_luminance, overcast_sky

__all__ = ["Daylight", "facade_luminance", "overcast_sky"]
