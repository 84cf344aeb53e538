"""How far the air lifts what is seen in the sky, and how thick the air is at a height."""

from __future__ import annotations

import math


def air_share(height_m: float) -> float:
    """Pressure of the air over that at the sea, for heights from −430 to 9000 m.

    Source: ISO 2533:1975, standard atmosphere: (1 − 2.25577e−5 h)^5.25588.
    """
    return float((1.0 - 2.25577e-5 * height_m) ** 5.25588)


def lifted_rad(geometric_rad: float, *, height_m: float = 0.0) -> float:
    """Altitude at which a body is seen, from the one where it would be seen without air, rad.

    geometric_rad: −π/2 to π/2. At 1013.25 hPa and about 12 °C, thinner with height. Below the
    horizon, where nothing is seen, it dies away so that altitudes keep their order.
    Source: the formulas of the NOAA solar calculator, after Zimmerman (1981), from memory; within
    0.1′ of Bennett's law above 5° (tests).
    """
    altitude_deg = math.degrees(geometric_rad)
    return geometric_rad + math.radians(_lift_arcsec(altitude_deg) / 3600.0) * air_share(height_m)


def _lift_arcsec(altitude_deg: float) -> float:
    h = altitude_deg  # of the body, degrees, without air
    if h > 85.0:
        # Straight to nought at the zenith from 5.08″ at 85°.
        return 58.1 / math.tan(math.radians(85.0)) * (90.0 - h) / 5.0
    slope = math.tan(math.radians(h))
    if h > 5.0:
        return 58.1 / slope - 0.07 / slope**3 + 0.000086 / slope**5
    if h > -0.575:
        return float(1735.0 + h * (-518.2 + h * (103.4 + h * (-12.79 + h * 0.711))))
    return -20.774 / slope
