"""How light leaves a fixture: intensity against direction."""

from falloff.photometry.files import (
    read_photometric,
    read_photometric_file,
    write_photometric,
)
from falloff.photometry.opening import Opening
from falloff.photometry.profile import (
    NAMED_PROFILES,
    IntensityDistribution,
    beam_angle_rad,
    field_angle_rad,
    flux_of,
    round_beam,
)
from falloff.photometry.record import Label, LampSet, PhotometricFile, Tilt
from falloff.photometry.sheet import (
    DataSheet,
    SheetFit,
    SheetMiss,
    SheetReading,
    axis_illuminance_lux,
    fit_sheet,
)
from falloff.photometry.web import (
    IntensityWeb,
    intensity_web,
    round_profile_of_web,
    round_web,
    web_beam_angle_rad,
    web_field_angle_rad,
    web_flux_lm,
    web_intensity,
    web_peak_cd,
    web_zones,
)

__all__ = [
    "NAMED_PROFILES",
    "DataSheet",
    "IntensityDistribution",
    "IntensityWeb",
    "Label",
    "LampSet",
    "Opening",
    "PhotometricFile",
    "SheetFit",
    "SheetMiss",
    "SheetReading",
    "Tilt",
    "axis_illuminance_lux",
    "beam_angle_rad",
    "field_angle_rad",
    "fit_sheet",
    "flux_of",
    "intensity_web",
    "read_photometric",
    "read_photometric_file",
    "round_beam",
    "round_profile_of_web",
    "round_web",
    "web_beam_angle_rad",
    "web_field_angle_rad",
    "web_flux_lm",
    "web_intensity",
    "web_peak_cd",
    "web_zones",
    "write_photometric",
]
