"""build_stage(document) -> Stage: the scene in SI, surfaces cut, sources in place."""

from falloff.stage.build import build_stage
from falloff.stage.dims import (
    DimmedLight,
    Dimming,
    colour_factor,
    dim_gains,
    dimmed_light,
    dimming_of,
    kelvin_of,
)
from falloff.stage.grain import Grain
from falloff.stage.lights import LightNow, light_now
from falloff.stage.mixing import emitters_of
from falloff.stage.outdoors import Spread, place_of, way_to_sun
from falloff.stage.records import (
    FABRIC,
    MIRROR,
    OFFSET_M,
    PANE,
    POINTS_PER_ELEMENT,
    SHEET_SIZE,
    Body,
    Cloth,
    Probe,
    Stage,
    SubjectPlaces,
    Surfaces,
    View,
)
from falloff.stage.relight import relit
from falloff.stage.skies import SUN_NAME, HourOutside, skies_by_hour
from falloff.stage.standing import Standing, judge, stand

__all__ = [
    "FABRIC",
    "MIRROR",
    "OFFSET_M",
    "PANE",
    "POINTS_PER_ELEMENT",
    "SHEET_SIZE",
    "SUN_NAME",
    "Body",
    "Cloth",
    "DimmedLight",
    "Dimming",
    "Grain",
    "HourOutside",
    "LightNow",
    "Probe",
    "Spread",
    "Stage",
    "Standing",
    "SubjectPlaces",
    "Surfaces",
    "View",
    "build_stage",
    "colour_factor",
    "dim_gains",
    "dimmed_light",
    "dimming_of",
    "emitters_of",
    "judge",
    "kelvin_of",
    "light_now",
    "place_of",
    "relit",
    "skies_by_hour",
    "stand",
    "way_to_sun",
]
