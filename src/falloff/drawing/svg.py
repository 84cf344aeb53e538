"""A drawing as SVG, written shape by shape."""

from __future__ import annotations

from typing import Final
from xml.sax.saxutils import escape

from falloff.drawing.shapes import Drawing, Patch, Shape, Stroke, Words

_ANCHORS: Final = {"left": "start", "middle": "middle", "right": "end"}


def svg_of(drawing: Drawing) -> str:
    """The drawing as the text of an SVG file, to scale: a unit is a millimetre.

    Words are set in whatever plain font a viewer has, each to the room that it was given.
    """
    wide, high = _number(drawing.width_mm), _number(drawing.height_mm)
    head = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{high}mm" '
        f'viewBox="0 0 {wide} {high}" role="img" font-family="sans-serif">\n'
        f"<title>{_text(drawing.title)}</title>\n"
        f'<rect width="{wide}" height="{high}" fill="#ffffff"/>\n'
    )
    return head + "".join(f"{_element(shape)}\n" for shape in drawing.shapes) + "</svg>\n"


def _element(shape: Shape) -> str:
    if isinstance(shape, Words):
        x, y = (_number(value) for value in shape.at_mm)
        return (
            f'<text x="{x}" y="{y}" font-size="{_number(shape.size_mm)}" '
            f'text-anchor="{_ANCHORS[shape.anchor]}" textLength="{_number(shape.width_mm)}" '
            f'lengthAdjust="spacingAndGlyphs" fill="{_ink(shape.grey_share)}">'
            f"{_text(shape.text)}</text>"
        )
    points = " ".join(f"{_number(x)},{_number(y)}" for x, y in shape.points_mm)
    if isinstance(shape, Patch):
        return f'<polygon points="{points}" fill="{_ink(shape.grey_share)}"/>'
    return f'<polyline points="{points}" {_pen(shape)}/>'


def _pen(stroke: Stroke) -> str:
    dashes = ",".join(_number(one) for one in stroke.dash_mm)
    return (
        f'fill="none" stroke="{_ink(stroke.grey_share)}" '
        f'stroke-width="{_number(stroke.width_mm)}" stroke-linejoin="round"'
        + (f' stroke-dasharray="{dashes}"' if dashes else "")
    )


def _ink(grey_share: float) -> str:
    level = round(255.0 * grey_share)
    return f"#{level:02x}{level:02x}{level:02x}"


def _number(value: float) -> str:
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _text(text: str) -> str:
    """Text that XML may hold: signs escaped, control characters left out."""
    return escape("".join(sign for sign in text if sign.isprintable()))
