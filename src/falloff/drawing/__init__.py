"""Drawn sheets: shapes in millimetres, as SVG to print and as PNG, from one layout."""

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

__all__ = [
    "Column",
    "Drawing",
    "Patch",
    "PolarCurve",
    "SheetContent",
    "SheetTable",
    "Stroke",
    "Words",
    "draw_sheet",
    "picture_of",
    "polar_diagram",
    "svg_of",
    "width_of_words_mm",
    "write_png",
]
