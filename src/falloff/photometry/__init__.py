"""How light leaves a fixture: intensity against direction."""

from falloff.photometry.profile import (
    NAMED_PROFILES,
    IntensityDistribution,
    beam_angle_rad,
    field_angle_rad,
    flux_of,
    round_beam,
)

__all__ = [
    "NAMED_PROFILES",
    "IntensityDistribution",
    "beam_angle_rad",
    "field_angle_rad",
    "flux_of",
    "round_beam",
]
