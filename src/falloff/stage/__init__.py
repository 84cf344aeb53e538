"""build_stage(document) -> Stage: the scene in SI, surfaces cut, sources in place."""

from falloff.stage.build import build_stage
from falloff.stage.dice import Grain
from falloff.stage.records import (
    OFFSET_M,
    POINTS_PER_ELEMENT,
    Body,
    Probe,
    Stage,
    SubjectPlaces,
    Surfaces,
    View,
)
from falloff.stage.relight import relit

__all__ = [
    "OFFSET_M",
    "POINTS_PER_ELEMENT",
    "Body",
    "Grain",
    "Probe",
    "Stage",
    "SubjectPlaces",
    "Surfaces",
    "View",
    "build_stage",
    "relit",
]
