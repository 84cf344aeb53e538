"""through_day(...) -> Day: readings, targets and the sun's patches from hour to hour."""

from falloff.day.order import order_of_shots
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
from falloff.day.through import STEP, asked, through_day

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
    "SunPatch",
    "TargetDay",
    "ViewFix",
    "ViewLevel",
    "asked",
    "order_of_shots",
    "through_day",
]
