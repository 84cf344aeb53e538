"""A straight flight of stairs, and the rails that go with it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from falloff.kit.furniture import meshes
from falloff.kit.furniture.piece import GAP_M, Each, Joiner, Kind, Order, Size, spread
from falloff.types import Float64Array

_RISE_M = 0.18
_RUN_M = 0.26
_TREAD_M = 0.032
_NOSING_M = 0.020
_WAIST_M = 0.16
_UP = np.array([0.0, 0.0, 1.0])
_RAIL_M = 0.90  # of a rail above the nosings


def stairs(order: Order) -> Joiner:
    """A straight flight that climbs away from its front: `count` steps, the last at its height.

    Width across, depth the run, height the rise; levels are the treads, from the lowest.
    """
    made = Joiner()
    n, x = order.count, order.x
    run, rise = order.depth - _NOSING_M, order.height
    front = order.y[0] + _NOSING_M
    tread = min(_TREAD_M, 0.3 * rise / n)
    made.mesh("flight", _flight(order, front=front, run=run / n, rise=rise / n, tread=tread))
    tops = [rise * (k + 1) / n for k in range(n)]
    for k, top in enumerate(tops):
        start = front + run * k / n - _NOSING_M
        end = front + run * (k + 1) / n
        end = end if k == n - 1 else end - GAP_M
        made.box("treads", x, (start, end), (top - tread, top))
    made.rest(*tops)
    return made


def _flight(order: Order, *, front: float, run: float, rise: float, tread: float) -> meshes.Mesh:
    """The body under the treads: risers in front, a sloping underside behind."""
    n, down = order.count, tread + GAP_M
    inset = 0.004
    saw = []
    for k in range(n):
        top = rise * (k + 1) - down
        saw += [(front + run * k, top), (front + run * (k + 1), top)]
    slope = rise / run
    waist = _WAIST_M * math.hypot(run, rise) / run  # measured upright
    back = front + run * n
    line = rise * n - down - rise - waist  # of the underside at the back, below the step's foot
    under = [(back, line), (back - line / slope, 0.0)] if line > 0.0 else [(back, 0.0)]
    outline = [(front, 0.0), *saw, *under]
    return meshes.prism(outline, axis="x", low=order.x[0] + inset, high=order.x[1] - inset)


def handrail(order: Order) -> Joiner:
    """Posts and a rail 90 cm above the nosings of a flight of the same run, with as many steps.

    Height is that flight's rise and 0.9 m; posts stand on every other tread, so only the first
    reaches near the floor.
    """
    made = Joiner()
    n = order.count
    rise, run = order.height - _RAIL_M, order.depth - _NOSING_M
    front = order.y[0] + _NOSING_M
    r = 0.5 * min(order.width, 0.050)
    step = np.array([0.0, run / n, rise / n])
    at = np.array([0.0, front + 0.5 * run / n, rise / n])
    picked = [k for k in range(n) if k % 2 == 0 or k == n - 1]
    reach = _RAIL_M - 2.0 * r
    for k in picked:
        foot = at + k * step
        made.rod("posts", foot, foot + (reach + 0.012) * _UP, 0.011)
        made.rod(
            "posts",
            foot + 0.0005 * _UP,
            foot + 0.008 * _UP,
            min(0.026, 0.5 * order.width),
        )
    lift = (_RAIL_M - r) * _UP
    slope = rise / run
    drop = r * (math.hypot(1.0, slope) - 1.0)  # a sloping rail is thicker upright than across
    # The nosing line: over the first riser at one rise, over the last at the full height.
    high = np.array([0.0, order.y[1], rise])
    low = np.array([0.0, order.y[0], rise - slope * order.depth])
    path = [low + lift - drop * _UP, high + lift - drop * _UP]
    made.mesh("rail", _upright_ended(np.array(path), 0.5 * order.width, r))
    return made


def _upright_ended(path: Float64Array, across: float, high: float) -> meshes.Mesh:
    """A rail along y whose ends are cut plumb; half its width and height."""
    angle = 2.0 * math.pi * np.arange(20) / 20
    loops = np.zeros((len(path), 20, 3))
    slope = (path[1, 2] - path[0, 2]) / (path[1, 1] - path[0, 1])
    loops[..., 0] = -across * np.cos(angle)
    loops[..., 2] = high * math.hypot(1.0, slope) * np.sin(angle)
    return meshes.loft(path[:, None] + loops)


def banister_panel(order: Order) -> Joiner:
    """A level length of banister: two newels, two rails, `count` turned balusters between."""
    made = Joiner()
    newel = min(0.085, 0.3 * order.width)
    d = 0.5 * order.depth
    x, top = order.x, order.height
    cap = 0.04
    for s in (-1.0, 1.0):
        side = sorted((s * (x[1] - 0.006), s * (x[1] - newel + 0.006)))
        deep = min(d - 0.006, 0.5 * newel)
        made.box("newels", (side[0], side[1]), (-deep, deep), (0.0, top - cap - GAP_M))
        middle = s * (x[1] - 0.5 * newel)
        made.box("newels", (middle - 0.5 * newel, middle + 0.5 * newel), (-d, d),
                 (top - cap, top), soft=0.010)  # fmt: skip
    inner = (x[0] + newel - 0.010, x[1] - newel + 0.010)
    rail = top - 0.075
    made.box("rail", inner, (-min(d - 0.003, 0.032), min(d - 0.003, 0.032)), (rail - 0.045, rail),
             soft=0.012)  # fmt: skip
    foot = 0.09
    made.box("newels", inner, (-0.022, 0.022), (foot, foot + 0.04))
    places = spread(x[0] + newel, x[1] - newel, order.count + 2)[1:-1]
    low, high = foot + 0.04 + GAP_M, rail - 0.045 - GAP_M
    for place in places:
        made.mesh("balusters", _baluster(high - low), at=(place, 0.0, low))
    return made


def _baluster(tall: float) -> meshes.Mesh:
    """A slim turned spindle."""
    s = [0.0, 0.10, 0.12, 0.14, 0.17, 0.30, 0.50, 0.70, 0.83, 0.86, 0.88, 0.90, 1.0]
    r = [17.0, 17.0, 12.0, 16.0, 11.0, 15.0, 12.5, 10.5, 10.0, 14.0, 11.0, 15.0, 15.0]
    rows = [(0.001 * radius, share * tall) for share, radius in zip(s, r, strict=True)]
    return meshes.lathe([(0.0, 0.0), *rows, (0.0, tall)], sides=16)


def _flight_size(count: int) -> Size:
    return (1.00, _RUN_M * count + _NOSING_M, _RISE_M * count)


def _rail_size(count: int) -> Size:
    return (0.045, _RUN_M * count + _NOSING_M, _RISE_M * count + _RAIL_M)


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        "stairs": Kind(
            stairs,
            usual_m=_flight_size(15),
            least_m=(0.40, 0.30, 0.20),
            parts=("flight", "treads"),
            counts=(2, 30),
            count_for=lambda size: round(size[2] / _RISE_M),
            size_for=_flight_size,
            each=Each(side=2, least_m=0.10, most_m=0.26, thing="step"),
        ),
        "handrail": Kind(
            handrail,
            usual_m=_rail_size(15),
            least_m=(0.03, 0.30, 1.00),
            parts=("rail", "posts"),
            surfaces={"posts": "black metal"},
            counts=(2, 30),
            count_for=lambda size: round((size[2] - _RAIL_M) / _RISE_M),
            size_for=_rail_size,
        ),
        "banister panel": Kind(
            banister_panel,
            usual_m=(1.20, 0.10, 1.00),
            least_m=(0.40, 0.06, 0.60),
            parts=("rail", "newels", "balusters"),
            counts=(1, 30),
            count_for=lambda size: max(1, round(size[0] / 0.115) - 2),
            each=Each(side=0, least_m=0.06, most_m=0.50, thing="baluster"),
        ),
    }
)
