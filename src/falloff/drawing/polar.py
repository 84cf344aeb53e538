"""A polar diagram: candela by the angle from the axis, the axis straight down."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from falloff.drawing.shapes import (
    Anchor,
    Patch,
    Shape,
    Stroke,
    Words,
    shortened,
    width_of_words_mm,
)

_LINE_MM: Final = 0.7
_UNITS: Final = ((1e6, "Mcd"), (1e3, "kcd"), (0.0, "cd"))
_GRID_MM: Final = 0.2
_GRID_GREY: Final = 0.55
_LETTERS_MM: Final = 3.4
_RING_LETTERS_MM: Final = 2.9
# What tells curves apart in black and white: whole, dashed, dotted, dash and dot.
DASHES_MM: Final = ((), (3.0, 1.4), (0.9, 1.1), (4.0, 1.1, 0.9, 1.1))
_MAGNIFIED: Final = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0)


@dataclass(frozen=True, slots=True)
class PolarCurve:
    """Intensity in one plane: angle from the axis, -π to π, ascending, and candela there.

    candela are not negative, and at least one is above zero.
    """

    name: str
    angle_rad: tuple[float, ...]
    candela: tuple[float, ...]


def polar_diagram(
    curves: tuple[PolarCurve, ...], *, corner_mm: tuple[float, float], width_mm: float
) -> tuple[tuple[Shape, ...], float]:
    """Shapes of a polar diagram within a width from a corner, and its height (mm).

    Linear in candela from the middle. A curve that would be too small to read is drawn magnified,
    and its line of the legend says by how much. One curve or more.
    """
    strongest = max(max(one.candela) for one in curves)
    step, most = _rings(strongest)
    shown = [one for one in curves if _reaches_behind(one)]
    radius = width_mm / 2.0 - 7.5
    middle = corner_mm[0] + width_mm / 2.0, corner_mm[1] + (radius + 5.5 if shown else 5.5)
    shapes = _grid(middle, radius, step / most, round(most / step), whole=bool(shown))
    for curve, dash in zip(curves, DASHES_MM * len(curves), strict=False):
        scale = radius / most * magnified(curve, strongest)
        points = tuple(
            (middle[0] + i * scale * math.sin(a), middle[1] + i * scale * math.cos(a))
            for a, i in zip(curve.angle_rad, curve.candela, strict=True)
        )
        shapes.append(Stroke(points, _LINE_MM, dash_mm=dash))
    shapes += _ring_labels(middle, radius, step, most)
    bottom = middle[1] + radius + 6.0
    for curve, dash in zip(curves, DASHES_MM * len(curves), strict=False):
        bottom += 4.9
        y = bottom - 1.2
        line = ((corner_mm[0] + 1.0, y), (corner_mm[0] + 12.0, y))
        shapes.append(Stroke(line, _LINE_MM, dash_mm=dash))
        times = magnified(curve, strongest)
        told = f"{curve.name}, {_cd(max(curve.candela))} cd"
        told += f", drawn × {times:g}" if times > 1.0 else ""
        told = shortened(told, _LETTERS_MM, room_mm=width_mm - 14.0)
        shapes.append(Words(told, (corner_mm[0] + 14.0, bottom), _LETTERS_MM))
    return tuple(shapes), bottom + 1.0 - corner_mm[1]


def magnified(curve: PolarCurve, strongest_cd: float) -> float:
    """How many times larger a curve is drawn, so that it fills a third of the diagram or more."""
    fits = strongest_cd / max(curve.candela)
    return 1.0 if fits <= 3.0 else max(times for times in _MAGNIFIED if times <= fits)


def _grid(
    middle: tuple[float, float], radius: float, step: float, rings: int, *, whole: bool
) -> list[Shape]:
    """Rings and spokes, and the angles at the rim."""
    end = math.pi if whole else math.pi / 2.0
    turns = [end * (k / 60.0 - 1.0) for k in range(121)]
    shapes: list[Shape] = []
    for ring in range(1, rings + 1):
        r = radius * step * ring
        around = tuple((middle[0] + r * math.sin(a), middle[1] + r * math.cos(a)) for a in turns)
        shapes.append(Stroke(around, _GRID_MM, _GRID_GREY))
    for degrees in range(-180 if whole else -90, 180 if whole else 91, 30):
        a = math.radians(degrees)
        rim = middle[0] + radius * math.sin(a), middle[1] + radius * math.cos(a)
        shapes.append(Stroke((middle, rim), _GRID_MM, _GRID_GREY))
        out = radius + 1.2
        down = _LETTERS_MM * (0.36 + 0.42 * math.cos(a))
        place = (middle[0] + out * math.sin(a), middle[1] + out * math.cos(a) + down)
        side: Anchor = "middle" if degrees % 180 == 0 else "left" if degrees > 0 else "right"
        shapes.append(Words(f"{abs(degrees)}°", place, _LETTERS_MM, side))
    return shapes


def _ring_labels(
    middle: tuple[float, float], radius: float, step: float, most: float
) -> list[Shape]:
    """Candela of each ring, above the left spoke; on paper of their own, that none is crossed."""
    shapes: list[Shape] = []
    scale, unit = next(one for one in _UNITS if most >= one[0])
    for ring in range(1, round(most / step) + 1):
        told = f"{ring * step / (scale or 1.0):.3g}"
        wide = width_of_words_mm(told, _RING_LETTERS_MM)
        left = middle[0] - radius * ring * step / most + 0.6
        base = middle[1] - 0.9
        high = base - 0.75 * _RING_LETTERS_MM
        box = ((left, base + 0.3), (left + wide, base + 0.3), (left + wide, high), (left, high))
        shapes += [Patch(box, 1.0), Words(told, (left, base), _RING_LETTERS_MM, "left", 0.3)]
    right = middle[0] + radius - 0.6, middle[1] - 0.9
    shapes.append(Words(unit, right, _RING_LETTERS_MM, "right", 0.3))
    return shapes


def _rings(strongest_cd: float) -> tuple[float, float]:
    """A round step between rings, and the outermost, which holds the strongest."""
    power = 10.0 ** math.floor(math.log10(strongest_cd / 4.0))
    step = next(k * power for k in (1.0, 2.0, 2.5, 5.0, 10.0) if k * power * 4.0 >= strongest_cd)
    return step, step * math.ceil(strongest_cd / step - 1e-9)


def _reaches_behind(curve: PolarCurve) -> bool:
    limit = math.pi / 2.0 + 1e-6
    least = 0.01 * max(curve.candela)
    pairs = zip(curve.angle_rad, curve.candela, strict=True)
    return any(abs(a) > limit and i > least for a, i in pairs)


def _cd(candela: float) -> str:
    return f"{float(f'{candela:.3g}'):,.10g}".replace(",", " ")
