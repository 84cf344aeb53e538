"""Colour of light: the working space, colour temperature and white balance."""

from falloff.spectrum.adaptation import bradford_adaptation, white_balance
from falloff.spectrum.loci import Locus, colour_of_kelvin, observer_table, xy_of_kelvin
from falloff.spectrum.working_space import (
    BT709_PRIMARIES_XY,
    BT2020_PRIMARIES_XY,
    D65_XY,
    SRGB_LINEAR_FROM_WORKING,
    WORKING_FROM_XYZ,
    XYZ_FROM_WORKING,
    luminance,
    tint_to_reflectance,
    working_from_xyz,
    working_to_srgb_linear,
    xyz_from_primaries,
    xyz_from_working,
    xyz_from_xy,
)

__all__ = [
    "BT709_PRIMARIES_XY",
    "BT2020_PRIMARIES_XY",
    "D65_XY",
    "SRGB_LINEAR_FROM_WORKING",
    "WORKING_FROM_XYZ",
    "XYZ_FROM_WORKING",
    "Locus",
    "bradford_adaptation",
    "colour_of_kelvin",
    "luminance",
    "observer_table",
    "tint_to_reflectance",
    "white_balance",
    "working_from_xyz",
    "working_to_srgb_linear",
    "xy_of_kelvin",
    "xyz_from_primaries",
    "xyz_from_working",
    "xyz_from_xy",
]
