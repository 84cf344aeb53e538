"""What gives light: an emitting shape in place, its flux, its colour."""

from falloff.sources.make import ball, beam, panel, sky_opening
from falloff.sources.records import BEAM, BUILDING_SIZE, PANEL, SKY, SPHERE, Source

__all__ = [
    "BEAM",
    "BUILDING_SIZE",
    "PANEL",
    "SKY",
    "SPHERE",
    "Source",
    "ball",
    "beam",
    "panel",
    "sky_opening",
]
