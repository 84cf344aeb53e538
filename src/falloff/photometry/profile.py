"""Round beams: relative intensity against the angle from the axis, and what follows from it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.errors import Fault, PhotometricFileError
from falloff.types import Float64Array
from falloff.units import Candela, Lumen, Radian

TABLE_STEPS: Final = 512

# Shapes of generic units, as (degrees from the axis, relative intensity): common practice, from
# memory, no source. A measured sheet for the unit in hand is always better.
NAMED_PROFILES: Final[dict[str, tuple[tuple[float, float], ...]]] = {
    "open-face spot": ((0, 1), (5, 0.93), (10, 0.62), (15, 0.3), (20, 0.12), (30, 0.04), (45, 0)),
    "open-face flood": ((0, 1), (10, 0.97), (20, 0.85), (28, 0.6), (36, 0.3), (45, 0.1), (60, 0)),
    "open-face wide": ((0, 1), (20, 0.97), (40, 0.82), (50, 0.6), (60, 0.3), (75, 0.05), (85, 0)),
    "matte": (*((a, math.cos(math.radians(a))) for a in range(0, 90, 5)), (90, 0)),
}


@dataclass(frozen=True, slots=True)
class IntensityDistribution:
    """A round beam, per lumen of output.

    angle_rad: (n,) ascending from 0, evenly spaced; candela_per_lumen: (n,) at those angles,
    linear between them and zero beyond the last.
    """

    angle_rad: Float64Array
    candela_per_lumen: Float64Array


def round_beam(angles_rad: Float64Array, relative: Float64Array) -> IntensityDistribution:
    """A round beam through the given relative intensities, scaled to a flux of one lumen.

    angles_rad: (m,) ascending from 0 up to π; relative: (m,), not negative, not all zero.
    Raises PhotometricFileError where they are not. Between points intensity is linear in angle.
    """
    angles = np.asarray(angles_rad, np.float64)
    values = np.asarray(relative, np.float64)
    if (
        angles.ndim != 1
        or angles.size < 2
        or angles.shape != values.shape
        or angles[0] != 0.0
        or angles[-1] > math.pi
        or not bool(np.all(np.diff(angles) > 0))
    ):
        raise PhotometricFileError(
            Fault(
                what="the beam profile's angles cannot be read",
                expected="two or more angles, ascending from 0 to at most 180 deg, a value each",
                found=f"{np.degrees(angles).round(3).tolist()} for {values.size} values",
                fix="start at 0 deg on the axis and list each angle once",
            )
        )
    if not bool(np.all(np.isfinite(values))) or values.min() < 0.0 or values.max() <= 0.0:
        raise PhotometricFileError(
            Fault(
                what="the beam profile's intensities cannot be read",
                expected="numbers that are not negative, at least one above zero",
                found=str(values.tolist()),
                fix="give relative intensity, 1 on the axis",
            )
        )
    grid = np.linspace(0.0, float(angles[-1]), TABLE_STEPS + 1)
    shape = np.interp(grid, angles, values)
    return IntensityDistribution(grid, shape / _flux(grid, shape))


def _flux(angle_rad: Float64Array, intensity_cd: Float64Array) -> float:
    """2π ∫ I sinθ dθ, exact for intensity linear in angle between the points."""
    a, b = angle_rad[:-1], angle_rad[1:]
    i0, i1 = intensity_cd[:-1], intensity_cd[1:]
    slope = (i1 - i0) / (b - a)
    # ∫ (i0 + m (θ − a)) sinθ dθ = [−I cosθ + m sinθ] between a and b
    parts = (-i1 * np.cos(b) + slope * np.sin(b)) - (-i0 * np.cos(a) + slope * np.sin(a))
    return float(2.0 * math.pi * parts.sum())


def flux_of(beam: IntensityDistribution, axis_intensity_cd: Candela) -> Lumen:
    """The flux of a beam whose intensity on the axis is given."""
    return Lumen(axis_intensity_cd / float(beam.candela_per_lumen[0]))


def beam_angle_rad(beam: IntensityDistribution) -> Radian:
    """Full angle at half of the greatest intensity (IES definition)."""
    return Radian(2.0 * _last_angle_at(beam, 0.5))


def field_angle_rad(beam: IntensityDistribution) -> Radian:
    """Full angle at a tenth of the greatest intensity (IES definition)."""
    return Radian(2.0 * _last_angle_at(beam, 0.1))


def _last_angle_at(beam: IntensityDistribution, share: float) -> float:
    """The widest angle at which intensity still reaches a share of the greatest."""
    level = share * float(beam.candela_per_lumen.max())
    k = int(np.flatnonzero(beam.candela_per_lumen >= level)[-1])
    if k + 1 == beam.angle_rad.size:
        return float(beam.angle_rad[-1])
    high, low = beam.candela_per_lumen[k], beam.candela_per_lumen[k + 1]
    part = float((high - level) / (high - low))
    return float(beam.angle_rad[k] + part * (beam.angle_rad[k + 1] - beam.angle_rad[k]))
