"""What gives light: an emitting shape in place, its flux, its colour."""

from falloff.sources.crate import EggCrate, crate_cutoff_rad, crate_kept_share
from falloff.sources.make import ball, beam, panel, sky_opening
from falloff.sources.outline import ellipse_outline, polygon, regular_outline, tube
from falloff.sources.outlook import (
    FINE_STEPS,
    OPEN_COUNTRY,
    Outlook,
    above_skyline,
    distance_to_building,
    opening_illuminance,
)
from falloff.sources.records import (
    BEAM,
    BUILDING_SIZE,
    PANEL,
    POLYGON,
    SHAPE_SIZE,
    SKY,
    SKY_CELLS,
    SPHERE,
    SUN,
    TELLS_CELL,
    TUBE,
    Source,
)
from falloff.sources.spot import Shutter, Shutters, fresnel_beam, profile_spot
from falloff.sources.sun import SUN_RADIUS_RAD, sun
from falloff.sources.web_beam import web_beam

__all__ = [
    "BEAM",
    "BUILDING_SIZE",
    "FINE_STEPS",
    "OPEN_COUNTRY",
    "PANEL",
    "POLYGON",
    "SHAPE_SIZE",
    "SKY",
    "SKY_CELLS",
    "SPHERE",
    "SUN",
    "SUN_RADIUS_RAD",
    "TELLS_CELL",
    "TUBE",
    "EggCrate",
    "Outlook",
    "Shutter",
    "Shutters",
    "Source",
    "above_skyline",
    "ball",
    "beam",
    "crate_cutoff_rad",
    "crate_kept_share",
    "distance_to_building",
    "ellipse_outline",
    "fresnel_beam",
    "opening_illuminance",
    "panel",
    "polygon",
    "profile_spot",
    "regular_outline",
    "sky_opening",
    "sun",
    "tube",
    "web_beam",
]
