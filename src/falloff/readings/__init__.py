"""take_readings(layers, setup) -> Readings: what a meter would say, where, and who gives it.

Names are found when first asked for: what only weighs readings starts without the tracer.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from falloff.readings.in_brief import brief
    from falloff.readings.in_colour import colours_in
    from falloff.readings.in_words import describe
    from falloff.readings.matrix import (
        MatrixReading,
        ReadingsMatrix,
        read_matrix,
        readings_matrix,
    )
    from falloff.readings.records import Contrast, Reading, Readings, Softness, SourcePart
    from falloff.readings.setup import SetupLight
    from falloff.readings.take import take_readings
    from falloff.readings.targets import AS_A_STOP, Judged, Metered, judge, judge_all

_HOMES = {
    "AS_A_STOP": "falloff.readings.targets",
    "Judged": "falloff.readings.targets",
    "Metered": "falloff.readings.targets",
    "judge": "falloff.readings.targets",
    "judge_all": "falloff.readings.targets",
    "Contrast": "falloff.readings.records",
    "MatrixReading": "falloff.readings.matrix",
    "Reading": "falloff.readings.records",
    "Readings": "falloff.readings.records",
    "ReadingsMatrix": "falloff.readings.matrix",
    "SetupLight": "falloff.readings.setup",
    "Softness": "falloff.readings.records",
    "SourcePart": "falloff.readings.records",
    "brief": "falloff.readings.in_brief",
    "colours_in": "falloff.readings.in_colour",
    "describe": "falloff.readings.in_words",
    "read_matrix": "falloff.readings.matrix",
    "readings_matrix": "falloff.readings.matrix",
    "take_readings": "falloff.readings.take",
}

__all__ = [
    "AS_A_STOP",
    "Contrast",
    "Judged",
    "MatrixReading",
    "Metered",
    "Reading",
    "Readings",
    "ReadingsMatrix",
    "SetupLight",
    "Softness",
    "SourcePart",
    "brief",
    "colours_in",
    "describe",
    "judge",
    "judge_all",
    "read_matrix",
    "readings_matrix",
    "take_readings",
]


def __getattr__(name: str) -> Any:
    """A name from its home, which is loaded then."""
    if name in _HOMES:
        return getattr(importlib.import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'falloff.readings' has no attribute {name!r}")
