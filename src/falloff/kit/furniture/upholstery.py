"""Sofa, armchair and bed."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from falloff.kit.furniture import meshes
from falloff.kit.furniture.piece import GAP_M, Each, Joiner, Kind, Order, Span, about_x, bays
from falloff.types import Float64Array

_SIGNS = (-1.0, 1.0)


def sofa(order: Order) -> Joiner:
    """A sofa for `count`: arms, back, loose seat and back cushions, short feet."""
    made = Joiner()
    foot, arm = min(0.10, 0.13 * order.height), min(0.19, 0.13 * order.width + 0.05)
    seat = min(0.45, 0.55 * order.height)
    back = min(0.22, 0.25 * order.depth)
    x, y = order.x, order.y
    inner = (x[0] + arm + GAP_M, x[1] - arm - GAP_M)
    for sx, sy in itertools.product(_SIGNS, _SIGNS):
        at = (sx * (x[1] - 0.07), sy * (y[1] - 0.07))
        made.rod("feet", (*at, 0.0), (*at, foot - GAP_M), 0.018, taper=1.4)
    thick = min(0.16, 0.36 * seat)
    base = seat - thick - 0.012
    made.box("cover", inner, (y[0] + 0.025, y[1] - back - GAP_M), (foot, base - GAP_M), soft=0.02)
    high = seat + min(0.19, 0.25 * order.height)
    for s in _SIGNS:
        side = sorted((s * x[1], s * (x[1] - arm)))
        made.box(
            "cover", (side[0], side[1]), (y[0] + 0.008, y[1] - 0.004), (foot, high), soft=0.055
        )
    made.box("cover", inner, (y[1] - back, y[1]), (foot, order.height), soft=0.07)
    _cushions(made, order, spans=bays(*inner, count=order.count, gap=0.004),
              y=(y[0], y[1] - back), seat=seat, thick=thick)  # fmt: skip
    made.rest(seat)
    return made


def _cushions(made: Joiner, order: Order, *, spans: list[Span], y: Span, seat: float,
              thick: float) -> None:  # fmt: skip
    plump = 0.16
    tall = min(0.46, order.height - seat + 0.01)
    lean = math.radians(12.0)
    for span in spans:
        wide, middle = span[1] - span[0], 0.5 * (span[0] + span[1])
        size = (wide, y[1] - y[0] - GAP_M, thick + 0.012)
        made.mesh("cushions", meshes.cushion_mesh(size, 0.045, crown=0.012),
                  at=(middle, 0.5 * (y[0] + y[1] - GAP_M), seat - 0.5 * size[2]))  # fmt: skip
        mesh = meshes.cushion_mesh((wide - 0.01, tall, plump + 0.05), 0.06, crown=0.03)
        turn = about_x(0.5 * math.pi - lean)
        corners = mesh[0] @ turn.T
        low, rear = corners[..., 2].min(), corners[..., 1].max()
        # It stands on the seat, sunk a little into it, and leans on the back.
        at = (middle, y[1] - rear + 0.016, seat - low - 0.014)
        made.mesh("cushions", (corners, mesh[1] @ turn.T), at=at)


def armchair(order: Order) -> Joiner:
    """A sofa for one."""
    one = Order(order.width, order.depth, order.height, count=1)
    return sofa(one)


def bed(order: Order) -> Joiner:
    """A bed, its head at the back: frame, mattress, pillows, a quilt that hangs over the sides."""
    made = Joiner()
    x, y = order.x, order.y
    t = 0.028
    deck = min(0.26, 0.32 * order.height)
    made.box("frame", x, (y[1] - 0.035, y[1]), (0.05, order.height), soft=0.004)
    for s in _SIGNS:
        side = sorted((s * x[1], s * (x[1] - t)))
        made.box(
            "frame", (side[0], side[1]), (y[0] + 0.030, y[1] - 0.036), (deck - 0.10, deck + 0.05)
        )
        leg = (s * (x[1] - 0.06), y[0] + 0.09)
        made.post("frame", (*leg, 0.0), (*leg, deck - 0.021), sides=((0.05, 0.05), (0.06, 0.06)))
        rear = sorted((s * (x[1] - 0.005), s * (x[1] - 0.065)))
        made.box("frame", (rear[0], rear[1]), (y[1] - 0.030, y[1] - 0.004), (0.0, 0.055))
    made.box("frame", x, (y[0], y[0] + t), (deck - 0.10, deck + 0.05), soft=0.004)
    inner = (x[0] + t + GAP_M, x[1] - t - GAP_M)
    made.box("frame", inner, (y[0] + t + GAP_M, y[1] - 0.036), (deck - 0.02, deck))
    thick = min(0.22, 0.5 * (order.height - deck))
    top = deck + GAP_M + thick
    mx, my = (x[0] + 0.065, x[1] - 0.065), (y[0] + 0.05, y[1] - 0.05)
    made.box("sheets", mx, my, (deck + GAP_M, top), soft=0.035)
    _pillows(made, order, x=mx, head=my[1], top=top)
    low = deck + 0.075
    made.mesh("quilt", _quilt(mx, (my[0] - 0.004, my[1] - 0.62), top=top, low=low))
    made.mesh("quilt", _quilt_foot(mx, my[0] - 0.020, top=top, low=low))
    made.rest(top)
    return made


def _pillows(made: Joiner, order: Order, *, x: Span, head: float, top: float) -> None:
    count = 2 if order.width >= 1.2 else 1
    lean = math.radians(24.0)
    for span in bays(x[0] + 0.03, x[1] - 0.03, count=count, gap=0.04):
        wide = min(span[1] - span[0], 0.72)
        mesh = meshes.cushion_mesh((wide, 0.44, 0.15), 0.022, crown=0.05, cells=8)
        turn = about_x(lean)
        corners = mesh[0] @ turn.T
        at = (0.5 * (span[0] + span[1]), head - corners[..., 1].max() + 0.004,
              top - corners[..., 2].min() - 0.022)  # fmt: skip
        made.mesh("sheets", (corners, mesh[1] @ turn.T), at=at)


def _quilt(x: Span, y: Span, *, top: float, low: float) -> meshes.Mesh:
    """A padded sheet over the mattress: down both sides and the foot, soft folds."""
    thick, bend = 0.032, 0.05
    half = 0.5 * (x[1] - x[0]) + 0.5 * thick + 0.004
    z = top + 0.5 * thick + 0.002
    drop = z - low
    across = _over_an_edge(half, bend, drop)
    u = np.concatenate([-across[::-1, 0], across[1:, 0]])
    fall = np.concatenate([across[::-1, 1], across[1:, 1]])
    v = np.linspace(y[0], y[1], 26)
    middle = np.empty((len(u), len(v), 3))
    hang = fall[:, None] / drop
    wave = np.sin(9.0 * v) + 0.6 * np.sin(21.0 * v + 1.3)
    sign = np.sign(u)[:, None]
    middle[..., 0] = u[:, None] + sign * hang * (0.004 * wave + 0.006)
    middle[..., 1] = v
    swell = 0.010 * (np.sin(7.3 * u)[:, None] * np.sin(6.1 * v + 0.7) + 1.0) * (1.0 - hang)
    middle[..., 2] = z - fall[:, None] + swell + 0.004 * hang * (wave + 1.6)
    return meshes.sheet(middle, thick)


def _quilt_foot(x: Span, y: float, *, top: float, low: float) -> meshes.Mesh:
    """The part of the quilt that hangs down at the foot, tucked in at its corners."""
    u = np.linspace(x[0] - 0.012, x[1] + 0.012, 41)
    s = np.linspace(0.0, 1.0, 10)
    middle = np.empty((len(u), len(s), 3))
    wave = np.sin(8.0 * u + 0.5) + 0.5 * np.sin(19.0 * u)
    middle[..., 0] = u[:, None]
    middle[..., 1] = y + 0.003 * wave[:, None] * s + 0.016 * (1.0 - np.minimum(1.0, 4.0 * s)) ** 2
    middle[..., 2] = top + 0.016 + s * (low - top - 0.016)
    return meshes.sheet(middle[:, ::-1], 0.028)


def _over_an_edge(half: float, bend: float, drop: float) -> Float64Array:
    """(n, 2): how far out and how far down a sheet lies from the middle over a rounded edge."""
    flat = [(s * (half - bend), 0.0) for s in np.linspace(0.0, 1.0, 12)[:-1]]
    angle = np.linspace(0.0, 0.5 * math.pi, 7)
    arc = [(half - bend + bend * math.sin(a), bend - bend * math.cos(a)) for a in angle]
    hang = [(half, bend + s * (drop - bend)) for s in np.linspace(0.0, 1.0, 6)[1:]]
    return np.array(flat + arc + hang)


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        "sofa": Kind(
            sofa,
            usual_m=(2.10, 0.92, 0.84),
            least_m=(1.00, 0.60, 0.50),
            parts=("cover", "cushions", "feet"),
            surfaces={"feet": "dark oak"},
            counts=(1, 6),
            count_for=lambda size: max(1, round((size[0] - 0.4) / 0.6)),
            size_for=lambda count: (0.45 + 0.55 * count if count > 1 else 1.0, 0.92, 0.84),
            each=Each(side=0, least_m=0.50, most_m=1.60, thing="seat"),
        ),
        "armchair": Kind(
            armchair,
            usual_m=(0.86, 0.86, 0.84),
            least_m=(0.55, 0.55, 0.50),
            parts=("cover", "cushions", "feet"),
            surfaces={"feet": "dark oak"},
        ),
        "bed": Kind(
            bed,
            usual_m=(1.50, 2.12, 0.98),
            least_m=(0.60, 1.20, 0.50),
            parts=("frame", "sheets", "quilt"),
            surfaces={"sheets": "white cloth", "quilt": "light grey cloth"},
        ),
    }
)
