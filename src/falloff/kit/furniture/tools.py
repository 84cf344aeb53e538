"""What stands and hangs about in a workshop: a board of hand tools, a vice, a plane, a mallet."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from types import MappingProxyType

import numpy as np

from falloff.kit.furniture.meshes import lathe, prism
from falloff.kit.furniture.piece import GAP_M, Joiner, Kind, Order

_BOARD_M = 0.015
_ASIDE_M = 0.03  # between tools, and from the edge of their board


def tool_board(order: Order) -> Joiner:
    """A board on a wall with hand tools hung side by side, as many as its width holds."""
    made = Joiner()
    front = 0.5 * order.depth - _BOARD_M
    made.box("board", order.x, (front, 0.5 * order.depth), (0.0, order.height))
    made.box(
        "board", order.x, (order.y[0], front - GAP_M), (0.0, 0.02)
    )  # a ledge for odds and ends
    x = order.x[0] + _ASIDE_M
    for k in range(len(_TOOLS) * 4):
        hang, wide, tall = _TOOLS[k % len(_TOOLS)]
        if x + wide > order.x[1] - _ASIDE_M:
            break
        hang(made, x + 0.5 * wide, front - GAP_M, 0.5 * (order.height + tall))
        x += wide + _ASIDE_M
    return made


def _saw(made: Joiner, x: float, back: float, top: float) -> None:
    """A hand saw, handle up; its blade narrows to the tip."""
    y = back - 0.011
    outline = np.array([(0.07, 0.0), (0.07, -0.015), (-0.01, -0.40), (-0.045, -0.40), (-0.05, 0.0)])
    blade = prism(
        np.add(outline, (x, top - 0.13))[:, ::-1], axis="y", low=y - 0.001, high=y + 0.001
    )
    made.mesh("steel", blade)
    grip = np.array([(-0.045, 0.0), (0.065, 0.0), (0.045, 0.13), (0.015, 0.12), (0.03, 0.045),
                     (-0.005, 0.045), (-0.015, 0.12), (-0.045, 0.12)])  # fmt: skip
    flat = np.add(grip, (x, top - 0.13 + GAP_M))[:, ::-1]
    made.mesh("handles", prism(flat, axis="y", low=y - 0.011, high=y + 0.011))


def _hammer(made: Joiner, x: float, back: float, top: float) -> None:
    y = back - 0.015
    made.box("steel", (x - 0.055, x + 0.03), (y - 0.015, y + 0.015), (top - 0.03, top))
    face = (x + 0.03 + GAP_M, y, top - 0.015)
    made.rod("steel", face, (x + 0.055, y, top - 0.015), 0.014)
    made.rod("handles", (x, y, top - 0.31), (x, y, top - 0.03 - GAP_M), 0.015, taper=0.75)


def _square(made: Joiner, x: float, back: float, top: float) -> None:
    y = back - 0.009
    left, right = x - 0.075, x + 0.075
    made.box("handles", (left, right), (y - 0.009, y + 0.009), (top - 0.03, top))
    made.box("steel", (left, left + 0.04), (y - 0.001, y + 0.001), (top - 0.24, top - 0.03 - GAP_M))


def _chisel(made: Joiner, x: float, back: float, top: float) -> None:
    y = back - 0.015
    grip = [(0.0, -0.13), (0.010, -0.13), (0.015, -0.03), (0.011, 0.0), (0.0, 0.0)]
    made.mesh("handles", lathe(grip, sides=14), at=(x, y, top))
    made.box("steel", (x - 0.010, x + 0.010), (y - 0.002, y + 0.002),
             (top - 0.28, top - 0.13 - GAP_M))  # fmt: skip


def _screwdriver(made: Joiner, x: float, back: float, top: float) -> None:
    y = back - 0.015
    made.rod("grips", (x, y, top - 0.10), (x, y, top), 0.014, taper=0.9)
    made.rod("steel", (x, y, top - 0.24), (x, y, top - 0.10 - GAP_M), 0.0035)


_TOOLS: tuple[tuple[Callable[[Joiner, float, float, float], None], float, float], ...] = (
    (_saw, 0.14, 0.53),
    (_hammer, 0.12, 0.31),
    (_chisel, 0.04, 0.28),
    (_chisel, 0.04, 0.28),
    (_chisel, 0.04, 0.28),
    (_square, 0.16, 0.24),
    (_screwdriver, 0.04, 0.24),
    (_screwdriver, 0.04, 0.24),
)


def vice(order: Order) -> Joiner:
    """A bench vice: a foot, a fixed and a sliding jaw, a screw with its bar."""
    made = Joiner()
    w, foot = 0.5 * order.width, 0.25 * order.height
    back, middle = order.y[1], order.y[0] + 0.62 * order.depth
    slide = (0.35 * order.height, 0.62 * order.height)
    made.box("body", (-w, w), (middle - 0.1 * order.depth, back), (0.0, foot), soft=0.004)
    made.box("body", (-0.7 * w, 0.7 * w), (middle, back - 0.1 * order.depth),
             (foot + GAP_M, order.height), soft=0.004)  # fmt: skip
    jaw = (middle - 0.24 * order.depth, middle - 0.09 * order.depth)
    made.box("body", (-0.7 * w, 0.7 * w), jaw, (slide[0], order.height), soft=0.004)
    made.box("body", (-0.3 * w, 0.3 * w), (jaw[1] + GAP_M, middle - GAP_M), slide)
    z = 0.5 * (slide[0] + slide[1])
    bar = 0.06 * order.depth
    made.rod("steel", (0.0, order.y[0] + bar, z), (0.0, jaw[0] - GAP_M, z), 0.35 * bar + 0.004)
    end = order.y[0] + 0.5 * bar - GAP_M
    made.rod("steel", (-0.9 * w, end, z), (0.9 * w, end, z), 0.5 * bar - 0.5 * GAP_M)
    made.rest(order.height)
    return made


def hand_plane(order: Order) -> Joiner:
    """A plane that stands on its sole: a wooden body, iron, wedge, handle and knob."""
    made = Joiner()
    body = 0.5 * order.height
    made.box("body", order.x, order.y, (0.0, body), soft=0.003)
    iron = 0.55 * order.width
    lean = math.radians(45.0)  # common practice, no source
    axes = np.array([[1.0, 0.0, 0.0], [0.0, math.cos(lean), -math.sin(lean)],
                     [0.0, math.sin(lean), math.cos(lean)]])  # fmt: skip
    long = 0.75 * body
    up = body + 0.5 * long * math.cos(lean) + 0.004
    made.board("steel", (0.0, -0.05 * order.depth, up), size=(iron, 0.004, long), axes=axes)
    knob = [(0.0, 0.0), (0.012, 0.0), (0.008, 0.012), (0.014, 0.028), (0.0, 0.034)]
    made.mesh("handles", lathe(knob, sides=16), at=(0.0, -0.36 * order.depth, body + GAP_M))
    low, high = body + GAP_M, order.height
    outline = np.array([(0.22, low), (0.36, low), (0.42, high), (0.32, high - 0.01)])
    outline[:, 0] *= order.depth
    made.mesh("handles", prism(outline, axis="x", low=-0.011, high=0.011))
    return made


def mallet(order: Order) -> Joiner:
    """A joiner's mallet that lies on its side: the head at the left, the handle to the right."""
    made = Joiner()
    head = min(0.09, 0.4 * order.width)
    left, z = order.x[0], 0.5 * order.height
    made.box("head", (left, left + head), order.y, (0.0, order.height), soft=0.004)
    radius = min(0.015, 0.35 * order.height)
    made.rod("handles", (left + head + GAP_M, 0.0, z), (order.x[1], 0.0, z), radius, taper=0.9)
    return made


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        "tool board": Kind(
            tool_board,
            usual_m=(0.90, 0.07, 0.80),
            least_m=(0.25, 0.05, 0.60),
            parts=("board", "handles", "steel", "grips"),
            surfaces={"handles": "walnut", "steel": "steel", "grips": "red cotton"},
        ),
        "vice": Kind(
            vice,
            usual_m=(0.15, 0.34, 0.18),
            least_m=(0.06, 0.15, 0.08),
            parts=("body", "steel"),
            surfaces={"steel": "steel"},
        ),
        "hand plane": Kind(
            hand_plane,
            usual_m=(0.07, 0.25, 0.15),
            least_m=(0.04, 0.14, 0.12),
            parts=("body", "handles", "steel"),
            surfaces={"handles": "walnut", "steel": "steel"},
        ),
        "mallet": Kind(
            mallet,
            usual_m=(0.32, 0.15, 0.08),
            least_m=(0.18, 0.08, 0.05),
            parts=("head", "handles"),
            surfaces={"handles": "pine"},
        ),
    }
)
