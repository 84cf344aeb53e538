"""Drawn sheets and plans: sheets in millimetres as SVG and PNG, a scene's plan in metres.

Names of the plan are found when first asked for: a sheet is drawn without rooms being loaded.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING

from falloff.drawing.polar import PolarCurve, polar_diagram
from falloff.drawing.raster import picture_of, write_png
from falloff.drawing.shapes import (
    Drawing,
    Patch,
    Stroke,
    Words,
    width_of_words_mm,
)
from falloff.drawing.sheet import Column, SheetContent, SheetTable, draw_sheet
from falloff.drawing.svg import svg_of

if TYPE_CHECKING:
    from falloff.drawing.day_sheet import draw_day
    from falloff.drawing.plan import plan_of
    from falloff.drawing.plan_records import Plan

_HOMES = {
    "Plan": "falloff.drawing.plan_records",
    "draw_day": "falloff.drawing.day_sheet",
    "plan_of": "falloff.drawing.plan",
}

__all__ = [
    "Column",
    "Drawing",
    "Patch",
    "Plan",
    "PolarCurve",
    "SheetContent",
    "SheetTable",
    "Stroke",
    "Words",
    "draw_day",
    "draw_sheet",
    "picture_of",
    "plan_of",
    "polar_diagram",
    "svg_of",
    "width_of_words_mm",
    "write_png",
]


def __getattr__(name: str) -> object:
    """A name from its home, which is loaded then."""
    if name in _HOMES:
        found: object = getattr(importlib.import_module(_HOMES[name]), name)
        return found
    raise AttributeError(f"module 'falloff.drawing' has no attribute {name!r}")
