"""trace_layers(stage, budget) -> LightLayers: one linear layer per source, kept and moved."""

from falloff.layers.records import Dragged, LightLayers, ViewLayers
from falloff.layers.store import begin_warm_up, cached_layers, warm_up
from falloff.layers.trace import drag_fixture, move_body, trace_layers

__all__ = [
    "Dragged",
    "LightLayers",
    "ViewLayers",
    "begin_warm_up",
    "cached_layers",
    "drag_fixture",
    "move_body",
    "trace_layers",
    "warm_up",
]
