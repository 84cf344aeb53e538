"""What gives light: an emitting shape in place, its flux, its colour."""

from falloff.sources.make import ball, beam, panel, sky_opening
from falloff.sources.records import BEAM, PANEL, SKY, SPHERE, Source

__all__ = ["BEAM", "PANEL", "SKY", "SPHERE", "Source", "ball", "beam", "panel", "sky_opening"]
