"""Falloff plans and diagnoses the lighting of a scene in a real room by computing it.

The import order is the data flow; each package has one verb and one frozen result.

    errors  findings  constants  clock  units  types  rays
    spectrum     colour of light, the working space
    document     read_document(path)        -> SceneDocument   as written, with positions
    photometry   round_beam(angles, shape)  -> IntensityDistribution
    daylight     outside_light(sky, sun)    -> OutsideLight, Daylight; where the sun stands
    kit          find_figure, furniture, read_outfit -> Figure, FurniturePiece, Outfit
    sources      panel, ball, beam, sky_opening -> Source
    stage        build_stage(document)      -> Stage           SI from here on
    transport    trace(stage, budget)       -> Solution        then views and probes gather it
    layers       trace_layers(stage)        -> LightLayers     one linear layer per source
    camera       expose(layers, dims, ...)  -> ExposedFrame
    readings     take_readings(layers, ...) -> Readings
    day          through_day(layers, ...)   -> Day             any hour over one trace
    balance      pose(setups), balance      -> Problem, Balance   dims from targets; fixes; why
    record       compare(stood, taken)      -> Corrections     meter readings against the plan
    drawing      draw_sheet, plan_of        -> Drawing, Plan   as SVG and PNG; to scale
    session      new, check, meter, picture, day, pocket, kit, demo: these verbs chained alone
    page         serve_page(path)           the local page
    cli          the terminal
"""

from __future__ import annotations

import importlib
from typing import Any

__version__ = "0.1.0"

_HOMES = {
    "build_stage": "falloff.stage",
    "read_document": "falloff.document",
    "take_readings": "falloff.readings",
    "trace_layers": "falloff.layers",
    "expose": "falloff.camera",
}

__all__ = ["__version__", *sorted(_HOMES)]  # noqa: PLE0604


def __getattr__(name: str) -> Any:
    """Public names are found when first asked for, so that importing costs nothing."""
    if name in _HOMES:
        return getattr(importlib.import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'falloff' has no attribute {name!r}")


def __dir__() -> list[str]:
    return list(__all__)
