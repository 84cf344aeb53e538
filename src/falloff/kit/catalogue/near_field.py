"""Light and softness square before an opening, near it too."""

from __future__ import annotations

import math
from typing import Final

from falloff.kit.catalogue.records import Opening
from falloff.units import Lux, Metre, Radian

# Beyond this many times its widest measure an opening is a point to within 1.4 % (0.02 stop).
FAR: Final = 5.0


def opening_area_m2(opening: Opening) -> float:
    """The area of an opening as seen from before it."""
    area = opening.width_m * opening.height_m
    return area * math.pi / 4.0 if opening.shape in {"disc", "ball"} else area


def widest_m(opening: Opening) -> Metre:
    """The widest measure of an opening, straight across."""
    return Metre(max(opening.width_m, opening.height_m))


def is_near(opening: Opening, distance_m: float) -> bool:
    """Whether inverse square fails before an opening: nearer than five times its widest measure."""
    return distance_m < FAR * widest_m(opening)


def matte_illuminance_lux(opening: Opening, axis_cd: float, distance_m: float) -> Lux:
    """Illuminance square before the middle of an evenly lit matte opening of that axis intensity.

    Disc E = π L r²/(r² + d²); rectangle four times the corner form; tube E = L·D/(2d)·(a + sin a
    cos a), a = atan(length/2d) to each side; ball as a point at its centre. d above 0, from the
    opening's plane (tube, ball: from the axis, the centre). Source: closed forms of view factors.
    """
    d = distance_m
    if opening.shape == "ball":
        return Lux(axis_cd / d**2)
    if opening.shape == "tube":
        a = math.atan(opening.width_m / (2.0 * d))
        return Lux(axis_cd / (opening.width_m * d) * (a + math.sin(a) * math.cos(a)))
    luminance_nit = axis_cd / opening_area_m2(opening)
    if opening.shape == "disc":
        r2 = opening.width_m * opening.height_m / 4.0  # of an oval: the disc of the same area
        return Lux(math.pi * luminance_nit * r2 / (r2 + d**2))
    x, y = opening.width_m / 2.0 / d, opening.height_m / 2.0 / d
    rx, ry = math.sqrt(1.0 + x * x), math.sqrt(1.0 + y * y)
    corner = (x / rx * math.atan(y / rx) + y / ry * math.atan(x / ry)) / (2.0 * math.pi)
    return Lux(math.pi * luminance_nit * 4.0 * corner)


def axis_of_matte_reading_cd(
    opening: Opening, illuminance_lux: float, *, distance_m: float
) -> float:
    """The axis intensity of a matte opening that gives a reading square before its middle."""
    return illuminance_lux / matte_illuminance_lux(opening, 1.0, distance_m)


def angular_size_rad(width_m: float, distance_m: float) -> Radian:
    """How wide something looks, 2 atan(w / 2 d)."""
    return Radian(2.0 * math.atan2(width_m / 2.0, distance_m))


def edge_blur_m(width_m: float, distance_m: float, *, gap_m: float) -> Metre:
    """Width of a shadow's edge: source width × gap / distance from the source to the edge."""
    return Metre(width_m * gap_m / distance_m)


def beam_diameter_m(beam_angle_rad: float, distance_m: float) -> Metre | None:
    """Width of a beam at half intensity, 2 d tan(angle/2); None from 180° on."""
    if beam_angle_rad >= math.pi:
        return None
    return Metre(2.0 * distance_m * math.tan(beam_angle_rad / 2.0))
