"""trace_layers(stage, budget) -> LightLayers: one linear layer per source, kept and moved."""

from falloff.layers.hours import (
    HourLayers,
    HourReadings,
    keep_hours,
    read_hour,
    read_sky,
    read_whole,
)
from falloff.layers.live import (
    LIVE_BUDGET,
    Live,
    LiveView,
    Shown,
    drag_passes,
    open_passes,
    settle_passes,
)
from falloff.layers.live_hours import LiveHours, hour_glance, take_hours
from falloff.layers.records import Dragged, LightLayers, ViewLayers
from falloff.layers.store import begin_warm_up, cached_layers, warm_up
from falloff.layers.trace import drag_fixture, move_body, trace_layers

__all__ = [
    "LIVE_BUDGET",
    "Dragged",
    "HourLayers",
    "HourReadings",
    "LightLayers",
    "Live",
    "LiveHours",
    "LiveView",
    "Shown",
    "ViewLayers",
    "begin_warm_up",
    "cached_layers",
    "drag_fixture",
    "drag_passes",
    "hour_glance",
    "keep_hours",
    "move_body",
    "open_passes",
    "read_hour",
    "read_sky",
    "read_whole",
    "settle_passes",
    "take_hours",
    "trace_layers",
    "warm_up",
]
