"""What the sky and the ground outside give."""

from falloff.daylight.sky import Daylight, overcast_sky

__all__ = ["Daylight", "overcast_sky"]
