"""Tables and the work bench."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from falloff.kit.furniture import meshes
from falloff.kit.furniture.piece import GAP_M, Joiner, Kind, Order, Span

_SIGNS = (-1.0, 1.0)


def table(order: Order) -> Joiner:
    """A dining table: top, aprons set back, four legs that taper."""
    made = Joiner()
    top, leg, inset = 0.030, 0.070, 0.055
    made.box("top", order.x, order.y, (order.height - top, order.height))
    _legs_and_aprons(made, order, under=order.height - top - GAP_M, leg=leg, inset=inset)
    made.rest(order.height)
    return made


def side_table(order: Order) -> Joiner:
    """A small table with slender legs and a shelf near the floor."""
    made = Joiner()
    top, leg, inset = 0.022, 0.034, 0.012
    under = order.height - top - GAP_M
    made.box("top", order.x, order.y, (order.height - top, order.height))
    _legs_and_aprons(made, order, under=under, leg=leg, inset=inset, apron=0.06)
    x, y = 0.5 * order.width - inset, 0.5 * order.depth - inset
    low = 0.28 * order.height
    # The shelf lies between the legs and runs into them by a few millimetres.
    made.box("legs", (-x + leg - 0.006, x - leg + 0.006), (-y + 0.004, y - 0.004),
             (low - 0.018, low))  # fmt: skip
    made.rest(low, order.height)
    return made


def _legs_and_aprons(
    made: Joiner, order: Order, *, under: float, leg: float, inset: float, apron: float = 0.09
) -> None:
    """Four legs flush with the aprons outside, slimmer toward the floor."""
    x, y = 0.5 * order.width - inset, 0.5 * order.depth - inset
    foot = 0.6 * leg
    straight = under - apron - 0.03
    for sx, sy in itertools.product(_SIGNS, _SIGNS):
        outer = np.array([sx * x, sy * y])
        corner = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])
        loops = np.empty((3, 4, 3))
        for loop, side, high in zip(loops, (foot, leg, leg), (0.0, straight, under), strict=True):
            # The taper is cut from the inner faces; the outer corner stays plumb.
            low = np.minimum(outer, outer - np.array([sx, sy]) * side)
            loop[:, :2], loop[:, 2] = low + side * corner, high
        made.mesh("legs", meshes.loft(loops, crease_rad=0.01))
    board, back = 0.020, 0.006
    z = (under - apron, under - 0.0005)
    tenon = min(0.01, leg - back - board - 0.002)  # those of two sides do not meet
    for s in _SIGNS:
        edge = sorted((s * (y - back), s * (y - back - board)))
        made.box("legs", (-x + leg - tenon, x - leg + tenon), (edge[0], edge[1]), z)
        edge = sorted((s * (x - back), s * (x - back - board)))
        made.box("legs", (edge[0], edge[1]), (-y + leg - tenon, y - leg + tenon), z)


def bench(order: Order) -> Joiner:
    """A work bench: thick top, square legs, stretchers, a shelf below, a vice at the front."""
    made = Joiner()
    top, leg, jaw = 0.060, 0.085, 0.1115
    front, back = -0.5 * order.depth + jaw, 0.5 * order.depth
    w = 0.5 * order.width
    made.box("top", order.x, (front, back), (order.height - top, order.height))
    under = order.height - top - GAP_M
    low = min(0.16, 0.25 * order.height)
    x, y0, y1 = w - 0.10, front + 0.05, back - 0.05
    for s, deep_at in itertools.product(_SIGNS, ((y0, y0 + leg), (y1 - leg, y1))):
        side = sorted((s * x, s * (x - leg)))
        made.box("legs", (side[0], side[1]), deep_at, (0.0, under))
    rail, deep, tenon = 0.045, 0.085, 0.012
    for y in (y0 + 0.02, y1 - 0.02 - rail):
        made.box("legs", (-x + leg - tenon, x - leg + tenon), (y, y + rail), (low, low + deep))
        made.box("legs", (-x + leg - tenon, x - leg + tenon), (y, y + rail),
                 (under - deep - 0.0006, under - 0.0006))  # fmt: skip
    for s in _SIGNS:
        side = sorted((s * (x - 0.02), s * (x - 0.02 - rail)))
        made.box("legs", (side[0], side[1]), (y0 + leg - tenon, y1 - leg + tenon),
                 (low + 0.01, low + deep - 0.02))  # fmt: skip
    for s in _SIGNS:  # a batten under the ends of the shelf's boards
        batten = sorted((s * (x - leg - 0.05), s * (x - leg - 0.09)))
        end = 0.02 + rail - tenon
        made.box("legs", (batten[0], batten[1]), (y0 + end, y1 - end),
                 (low + deep - 0.04, low + deep - 0.0005))  # fmt: skip
    _bench_shelf(made, (-x + leg + 0.004, x - leg - 0.004), (y0 + 0.004, y1 - 0.004), low + deep)
    _vice(made, order, front=front)
    made.rest(low + deep + GAP_M + 0.022, order.height)
    return made


def _bench_shelf(made: Joiner, x: Span, y: Span, z: float) -> None:
    """Four boards that lie on the lower stretchers."""
    gap, count = 0.004, 4
    wide = (y[1] - y[0] - gap * (count - 1)) / count
    for k in range(count):
        start = y[0] + k * (wide + gap)
        made.box("shelf", x, (start, start + wide), (z + GAP_M, z + GAP_M + 0.022))


def _vice(made: Joiner, order: Order, *, front: float) -> None:
    """A wooden front jaw on a steel screw with a sliding bar, at the left of the front."""
    thick, wide, tall, mouth = 0.050, 0.28, 0.15, 0.012
    centre = -0.5 * order.width + 0.09 + 0.5 * wide
    z = order.height - 0.004
    outer = front - mouth - thick
    made.box("vice jaw", _about(centre, wide), (outer, front - mouth), (z - tall, z), soft=0.004)
    screw = z - 0.105
    made.rod("vice", (centre, front + 0.10, screw), (centre, outer - 0.033, screw), 0.014)
    for side in _SIGNS:
        rod = centre + side * 0.095
        made.rod("vice", (rod, front + 0.06, screw), (rod, front - mouth - 0.02, screw), 0.009)
    bar_y = outer - 0.033 - 0.010
    made.rod("vice", (centre, outer - 0.0332, screw), (centre, outer - 0.0335, screw), 0.02)
    made.rod("vice", (centre - 0.085, bar_y, screw - 0.06), (centre + 0.085, bar_y, screw + 0.06),
             0.0065)  # fmt: skip


def _about(middle: float, wide: float) -> Span:
    return middle - 0.5 * wide, middle + 0.5 * wide


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        "bench": Kind(
            bench,
            usual_m=(1.60, 0.75, 0.88),
            least_m=(0.80, 0.50, 0.50),
            parts=("top", "legs", "shelf", "vice jaw", "vice"),
            surfaces={"vice": "cast iron"},
        ),
        "table": Kind(
            table,
            usual_m=(1.40, 0.80, 0.74),
            least_m=(0.45, 0.45, 0.30),
            parts=("top", "legs"),
        ),
        "side table": Kind(
            side_table,
            usual_m=(0.45, 0.45, 0.52),
            least_m=(0.25, 0.22, 0.25),
            parts=("top", "legs"),
        ),
    }
)
