"""take_readings(layers, setup) -> Readings: what a meter would say, where, and who gives it."""

from falloff.readings.describe import describe
from falloff.readings.records import Contrast, Reading, Readings, Softness, SourcePart
from falloff.readings.take import SetupLight, take_readings

__all__ = [
    "Contrast",
    "Reading",
    "Readings",
    "SetupLight",
    "Softness",
    "SourcePart",
    "describe",
    "take_readings",
]
