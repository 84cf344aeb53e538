"""A drawing as a PNG picture, from the same shapes as its SVG."""

from __future__ import annotations

import itertools
import math
from pathlib import Path
from typing import TYPE_CHECKING, Final

from falloff.camera.lettering import draw_words
from falloff.drawing.shapes import Drawing, Patch, Stroke, Words

if TYPE_CHECKING:
    from PIL import Image, ImageDraw

PX_PER_MM: Final = 8.0  # some 200 to the inch: small letters of a printed sheet stay whole
_FINE: Final = 3  # lines are drawn this much finer and then made smaller
_MM_PER_INCH: Final = 25.4


def picture_of(drawing: Drawing, *, px_per_mm: float = PX_PER_MM) -> Image.Image:
    """The drawing as a grey picture; px_per_mm: above 0."""
    from PIL import Image, ImageDraw

    size = round(drawing.width_mm * px_per_mm), round(drawing.height_mm * px_per_mm)
    fine = Image.new("L", (size[0] * _FINE, size[1] * _FINE), 255)
    pen = ImageDraw.Draw(fine)
    for shape in drawing.shapes:
        if isinstance(shape, Patch):
            pen.polygon(_scaled(shape.points_mm, px_per_mm * _FINE), fill=_level(shape.grey_share))
        elif isinstance(shape, Stroke):
            _draw_stroke(pen, shape, px_per_mm * _FINE)
    picture = fine.resize(size, Image.Resampling.BOX).convert("RGB")
    for shape in drawing.shapes:
        if isinstance(shape, Words):
            x, y = shape.at_mm
            draw_words(
                picture,
                (x * px_per_mm, y * px_per_mm),
                shape.text,
                max(1, round(shape.size_mm * px_per_mm)),
                fill=(_level(shape.grey_share),) * 3,
                anchor=shape.anchor,
            )
    return picture.convert("L")


def write_png(drawing: Drawing, path: Path, *, px_per_mm: float = PX_PER_MM) -> None:
    """Write the drawing as a PNG that prints at its own size; raises OSError where it cannot."""
    per_inch = px_per_mm * _MM_PER_INCH
    picture_of(drawing, px_per_mm=px_per_mm).save(path, format="PNG", dpi=(per_inch, per_inch))


def _draw_stroke(pen: ImageDraw.ImageDraw, stroke: Stroke, scale: float) -> None:
    width = max(1, round(stroke.width_mm * scale))
    for run in _dashes(stroke):
        points = _scaled(run, scale)
        pen.line(points, fill=_level(stroke.grey_share), width=width, joint="curve")


def _dashes(stroke: Stroke) -> list[tuple[tuple[float, float], ...]]:
    """The pieces of a line that are drawn."""
    if not stroke.dash_mm:
        return [stroke.points_mm]
    lengths = itertools.cycle(stroke.dash_mm)
    left, drawn = next(lengths), True
    pieces: list[tuple[tuple[float, float], ...]] = []
    run = [stroke.points_mm[0]]
    for start, end in itertools.pairwise(stroke.points_mm):
        whole, done = math.dist(start, end), 0.0
        while whole - done > left:
            done += left
            share = done / whole
            corner = tuple(a + (b - a) * share for a, b in zip(start, end, strict=True))
            run.append((corner[0], corner[1]))
            pieces += [tuple(run)] if drawn else []
            run, drawn, left = [run[-1]], not drawn, next(lengths)
        left -= whole - done
        run.append(end)
    if drawn and len(run) > 1:
        pieces.append(tuple(run))
    return pieces


def _scaled(points: tuple[tuple[float, float], ...], scale: float) -> list[tuple[float, float]]:
    return [(x * scale, y * scale) for x, y in points]


def _level(grey_share: float) -> int:
    return round(255.0 * grey_share)
