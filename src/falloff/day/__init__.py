"""through_day(...) -> Day: readings, targets and the sun's patches from hour to hour.

Names are found when first asked for: what only tells of a day starts without the tracer.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from falloff.day.order import order_of_shots
    from falloff.day.patches import SunFinder
    from falloff.day.records import (
        Countdown,
        Day,
        DayMoment,
        Dusk,
        HourLevel,
        NdPull,
        ShotTurn,
        Stretch,
        SunPatch,
        TargetDay,
        ViewFix,
        ViewLevel,
    )
    from falloff.day.through import STEP, through_day

_HOMES = {
    "STEP": "falloff.day.through",
    "Countdown": "falloff.day.records",
    "Day": "falloff.day.records",
    "DayMoment": "falloff.day.records",
    "Dusk": "falloff.day.records",
    "HourLevel": "falloff.day.records",
    "NdPull": "falloff.day.records",
    "ShotTurn": "falloff.day.records",
    "Stretch": "falloff.day.records",
    "SunFinder": "falloff.day.patches",
    "SunPatch": "falloff.day.records",
    "TargetDay": "falloff.day.records",
    "ViewFix": "falloff.day.records",
    "ViewLevel": "falloff.day.records",
    "order_of_shots": "falloff.day.order",
    "through_day": "falloff.day.through",
}

__all__ = [
    "STEP",
    "Countdown",
    "Day",
    "DayMoment",
    "Dusk",
    "HourLevel",
    "NdPull",
    "ShotTurn",
    "Stretch",
    "SunFinder",
    "SunPatch",
    "TargetDay",
    "ViewFix",
    "ViewLevel",
    "order_of_shots",
    "through_day",
]


def __getattr__(name: str) -> Any:
    """A name from its home, which is loaded then."""
    if name in _HOMES:
        return getattr(importlib.import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'falloff.day' has no attribute {name!r}")
