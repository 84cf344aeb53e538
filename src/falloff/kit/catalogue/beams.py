"""A catalogue beam as an intensity distribution, and how far its three figures agree."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from falloff.kit.catalogue.records import Beam, BeamShape
from falloff.photometry import IntensityDistribution, flux_of, round_beam
from falloff.units import Candela, Lumen, Stops, stops_from_factor

AGREE_STOPS: Final = 0.5  # flux, axis and beam angle of a beam agree at least so well
_FEWEST, _POINTS = 1e-4, 513
_EDGE: Final = 0.08  # an even beam falls from full to nothing over ± this share of its half angle


def distribution(shape: BeamShape, angle_rad: float) -> IntensityDistribution:
    """The round beam of a shape whose full angle at half intensity is angle_rad.

    Angles are from the axis; for a tube, from its length. A focused beam is cosⁿθ with
    n = ln ½ / ln cos(angle/2), below 180°. Source: common practice, no source.
    """
    if shape == "focused":
        power = _power_of(angle_rad)
        last = math.acos(_FEWEST ** (1.0 / power))
        angles = np.linspace(0.0, last, _POINTS)
        return round_beam(angles, np.cos(angles) ** power)
    if shape == "flat":
        half = angle_rad / 2.0
        edge = half * _EDGE
        return round_beam(np.array([0.0, half - edge, half + edge]), np.array([1.0, 1.0, 0.0]))
    if shape == "matte":
        angles = np.linspace(0.0, math.pi / 2.0, _POINTS)
        return round_beam(angles, np.maximum(np.cos(angles), 0.0))
    angles = np.linspace(0.0, math.pi, _POINTS)
    if shape == "tube":
        return round_beam(angles, np.maximum(np.sin(angles), 0.0))
    return round_beam(angles, np.ones_like(angles))


def axis_of_flux(shape: BeamShape, angle_rad: float, flux_lm: float) -> Candela:
    """The greatest intensity of a beam with this flux."""
    return Candela(flux_lm * float(distribution(shape, angle_rad).candela_per_lumen.max()))


def beam_distribution(beam: Beam) -> IntensityDistribution:
    """The distribution of a beam, per lumen."""
    return distribution(beam.shape, beam.beam_angle_rad)


def flux_by_axis(beam: Beam) -> Lumen:
    """The flux that a beam's intensity and angle ask for, whatever flux it says."""
    found = beam_distribution(beam)
    if beam.shape == "tube":
        return Lumen(beam.axis_cd / float(found.candela_per_lumen.max()))
    return flux_of(found, Candela(beam.axis_cd))


def disagreement_stops(beam: Beam) -> Stops:
    """How far a beam's intensity lies over what its flux and angle ask for, in stops."""
    return stops_from_factor(flux_by_axis(beam) / beam.flux_lm)


def _power_of(angle_rad: float) -> float:
    return math.log(0.5) / math.log(math.cos(min(angle_rad, math.radians(175.0)) / 2.0))
