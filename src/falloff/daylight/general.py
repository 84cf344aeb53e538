"""The sixteen skies of ISO 15469:2004: luminance by place in the sky and by where the sun stands.

L/Lz = φ(Z) f(χ) / (φ(0) f(Zs)), φ(Z) = 1 + a exp(b / cos Z), φ(90°) = 1,
f(χ) = 1 + c [exp(dχ) − exp(dπ/2)] + e cos²χ; Z, Zs: angles of the place and of the sun from the
zenith, χ between the two. Type 16 is the traditional overcast sky, L/Lz = (1 + 2 sin γ) / 3.
"""

from __future__ import annotations

import functools
import math
from typing import Final

import numpy as np

from falloff.types import Float64Array

# Source: ISO 15469:2004 (CIE S 011/E:2003), table 1, as transcribed alike in three public places.
SKY_COEFFICIENTS: Final[dict[int, tuple[float, float, float, float, float]]] = {
    1: (4.0, -0.70, 0.0, -1.0, 0.0),
    2: (4.0, -0.70, 2.0, -1.5, 0.15),
    3: (1.1, -0.80, 0.0, -1.0, 0.0),
    4: (1.1, -0.80, 2.0, -1.5, 0.15),
    5: (0.0, -1.0, 0.0, -1.0, 0.0),
    6: (0.0, -1.0, 2.0, -1.5, 0.15),
    7: (0.0, -1.0, 5.0, -2.5, 0.30),
    8: (0.0, -1.0, 10.0, -3.0, 0.45),
    9: (-1.0, -0.55, 2.0, -1.5, 0.15),
    10: (-1.0, -0.55, 5.0, -2.5, 0.30),
    11: (-1.0, -0.55, 10.0, -3.0, 0.45),
    12: (-1.0, -0.32, 10.0, -3.0, 0.45),
    13: (-1.0, -0.32, 16.0, -3.0, 0.30),
    14: (-1.0, -0.15, 16.0, -3.0, 0.30),
    15: (-1.0, -0.15, 24.0, -2.8, 0.15),
}
TRADITIONAL_OVERCAST: Final = 16


def relative_luminance(kind: int, toward: Float64Array, toward_sun: Float64Array) -> Float64Array:
    """L/Lz of a sky along unit ways (..., 3) above the horizon, the sun standing at one of them.

    kind: 1 to 16. Below the horizon the value is that of the horizon.
    """
    height = np.maximum(0.0, toward[..., 2])
    if kind == TRADITIONAL_OVERCAST:
        return np.asarray((1.0 + 2.0 * height) / 3.0)
    a, b, _, _, _ = SKY_COEFFICIENTS[kind]
    with np.errstate(divide="ignore"):
        gradation = 1.0 + a * np.exp(b / height)
    near = np.arccos(np.clip(toward @ toward_sun, -1.0, 1.0))
    return np.asarray(gradation * _indicatrix(kind, near) * over_zenith(kind, toward_sun))


def over_zenith(kind: int, toward_sun: Float64Array) -> float:
    """1 / (φ(0) f(Zs)) of a general sky, 1 to 15."""
    a, b, _, _, _ = SKY_COEFFICIENTS[kind]
    from_zenith = np.arccos(np.clip(toward_sun[2], -1.0, 1.0))
    return float(1.0 / ((1.0 + a * math.exp(b)) * _indicatrix(kind, from_zenith)))


def _indicatrix(kind: int, near: Float64Array) -> Float64Array:
    _, _, c, d, e = SKY_COEFFICIENTS[kind]
    spread = np.exp(d * near) - math.exp(0.5 * math.pi * d)
    return np.asarray(1.0 + c * spread + e * np.cos(near) ** 2)


def sky_integrals(kind: int, toward_sun: Float64Array) -> tuple[float, float]:
    """Illuminance over zenith luminance under a whole sky: level, and upright on the average.

    Gauss's rule over altitude, even steps over half the way round from the sun's azimuth, the other
    half being alike; within 0.02 %.
    """
    toward, cell = _half_sky()
    flat = math.sqrt(max(0.0, 1.0 - float(toward_sun[2]) ** 2))
    level = relative_luminance(kind, toward, np.array([flat, 0.0, float(toward_sun[2])]))
    lit = cell * level
    upright = np.sqrt(1.0 - toward[:, 2] ** 2) / math.pi
    return float((lit * toward[:, 2]).sum()), float((lit * upright).sum())


@functools.cache
def _half_sky() -> tuple[Float64Array, Float64Array]:
    """Ways over the half of the sky with y above zero (n, 3), and twice their solid angles (n,)."""
    node, weight = np.polynomial.legendre.leggauss(80)
    rise = 0.25 * math.pi * (node + 1.0)
    turn = (np.arange(90) + 0.5) * math.pi / 90.0
    up, around = np.meshgrid(rise, turn, indexing="ij")
    toward = np.stack([np.cos(up) * np.cos(around), np.cos(up) * np.sin(around), np.sin(up)], -1)
    cell = 0.25 * math.pi * weight * np.cos(rise) * 2.0 * math.pi / 90.0
    return toward.reshape(-1, 3), np.repeat(cell, 90)
