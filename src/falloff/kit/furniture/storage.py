"""Shelves, cupboards, chests and crates."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from types import MappingProxyType

from falloff.kit.furniture.cabinet import (
    BOARD_M,
    DOOR_GAP_M,
    SQUARE_RAD,
    carcass,
    door_face,
    doors,
    knob,
)
from falloff.kit.furniture.piece import GAP_M, Each, Joiner, Kind, Order, Size, bays, spread

_SIGNS = (-1.0, 1.0)


def shelves(order: Order) -> Joiner:
    """A bookcase: two sides, `count` boards between them, a plinth and a thin back."""
    made = Joiner()
    w, board = 0.5 * order.width, 0.022
    back = 0.006
    inner = 0.5 * order.depth - back - GAP_M
    for s in _SIGNS:
        side = sorted((s * w, s * (w - board)))
        made.box("boards", (side[0], side[1]), (-0.5 * order.depth, inner), (0.0, order.height))
    made.box("back", order.x, (inner + GAP_M, 0.5 * order.depth), (0.0, order.height))
    plinth = min(0.07, 0.1 * order.height)
    x = (-w + board + GAP_M, w - board - GAP_M)
    made.box("boards", x, (-0.5 * order.depth + 0.02, -0.5 * order.depth + 0.038), (0.0, plinth))
    y = (-0.5 * order.depth + 0.002, inner - GAP_M)
    tops = spread(plinth + GAP_M + board, order.height - 0.002, order.count)
    for top in tops:
        made.box("boards", x, y, (top - board, top))
    made.rest(*tops, usual=order.count // 2)
    return made


def wall_shelf(order: Order) -> Joiner:
    """A board on two brackets; its back stands against the wall."""
    made = Joiner()
    board, plate = min(0.028, 0.3 * order.height), 0.004
    top, under = order.height, order.height - board
    back = 0.5 * order.depth
    made.box("board", order.x, order.y, (under, top))
    x = 0.5 * order.width - min(0.15, 0.2 * order.width)
    arm = 0.82 * order.depth
    for s in _SIGNS:
        span = (s * x - 0.014, s * x + 0.014)
        made.box("brackets", span, (back - plate, back), (0.0, under - GAP_M))
        made.box("brackets", span, (back - arm, back - plate - 0.001),
                 (under - GAP_M - plate, under - GAP_M))  # fmt: skip
        made.rod("brackets", (s * x, back - plate - 0.001, 0.12 * under + 0.006),
                 (s * x, back - 0.85 * arm, under - GAP_M - plate - 0.002), 0.006)  # fmt: skip
    made.rest(top)
    return made


def cupboard(order: Order) -> Joiner:
    """A tall cupboard: panelled doors, a plinth and a cornice; open doors show its shelves."""
    made = Joiner()
    front = door_face(order)
    plinth, cornice = min(0.09, 0.08 * order.height), 0.045
    top = order.height - cornice
    side = 0.012  # what plinth and cornice stand proud of the body
    x = (order.x[0] + side, order.x[1] - side)
    y = (front + BOARD_M + 0.002, 0.5 * order.depth)
    made.box("body", x, (y[0] + 0.012, y[1]), (0.0, plinth))
    made.box("body", order.x, (front - 0.012, y[1]), (top + GAP_M, order.height), soft=0.006)
    z = (plinth + GAP_M, top)
    levels = _body(made, order, x=x, y=y, z=z)
    spans = bays(x[0] + 0.001, x[1] - 0.001, count=order.count, gap=DOOR_GAP_M)
    handle = min(1.05, 0.55 * order.height)
    doors(made, order, spans=spans, z=(z[0] + 0.002, z[1] - 0.004), handle_at=handle, panelled=True)
    made.rest(*levels, order.height)
    return made


def wall_cupboard(order: Order) -> Joiner:
    """A cupboard that hangs on a wall, its place the middle of its underside."""
    made = Joiner()
    front = door_face(order)
    y = (front + BOARD_M + 0.002, 0.5 * order.depth)
    z = (0.0, order.height)
    levels = _body(made, order, x=order.x, y=y, z=z)
    spans = bays(order.x[0] + 0.001, order.x[1] - 0.001, count=order.count, gap=DOOR_GAP_M)
    doors(
        made,
        order,
        spans=spans,
        z=(0.001, order.height - 0.001),
        handle_at=0.05 + 0.2 * min(0.4, order.height),
    )
    made.rest(*levels, order.height)
    return made


def _body(made: Joiner, order: Order, *, x: tuple[float, float], y: tuple[float, float],
          z: tuple[float, float]) -> tuple[float, ...]:  # fmt: skip
    """A closed block behind shut doors, boards and shelves behind open ones."""
    if order.open_rad == 0.0:
        made.box("body", x, y, z)
        return ()
    count = max(1, round((z[1] - z[0]) / 0.36)) - 1
    tall = z[1] - z[0]
    levels = tuple(z[0] + BOARD_M + (tall - BOARD_M) * (k + 1) / (count + 1) for k in range(count))
    carcass(made, "body", x, y=y, z=z, shelves=levels)
    return (z[0] + BOARD_M, *levels)


def chest_of_drawers(order: Order) -> Joiner:
    """A chest: `count` drawers one above the other, a top that overhangs, short feet."""
    made = Joiner()
    top, foot = 0.022, min(0.10, 0.14 * order.height)
    front = door_face(order)
    x = (order.x[0] + 0.015, order.x[1] - 0.015)
    y = (front, 0.5 * order.depth)
    made.box("body", order.x, (front - 0.012, y[1]), (order.height - top, order.height), soft=0.004)
    under = order.height - top - GAP_M
    for sx, sy in itertools.product(_SIGNS, (y[0] + 0.035, y[1] - 0.035)):
        foot_x = sx * (x[1] - 0.035)
        made.post("body", (foot_x, sy, 0.0), (foot_x, sy, foot - GAP_M),
                  sides=((0.034, 0.034), (0.050, 0.050)))  # fmt: skip
    t = 0.020
    sides = (front + 0.002, y[1])
    made.box("body", (x[0], x[0] + t), sides, (foot, under))
    made.box("body", (x[1] - t, x[1]), sides, (foot, under))
    inner = (x[0] + t + GAP_M, x[1] - t - GAP_M)
    made.box("body", inner, (front + 0.03, y[1]), (foot, under))  # what stands behind the drawers
    made.box("body", inner, (front + 0.003, front + 0.028), (foot, foot + 0.022))
    faces = bays(foot + 0.025, under - 0.003, count=order.count, gap=0.004)
    span = (inner[0] + 0.002, inner[1] - 0.002)
    for z in faces:
        made.box("drawers", span, (front, front + 0.022), z, soft=0.002)
        far = 0.27 * order.width
        for knob_x in (-far, far) if order.width > 0.5 else (0.0,):
            knob(made, (knob_x, front, 0.5 * (z[0] + z[1])))
    made.rest(order.height)
    return made


def crate(order: Order) -> Joiner:
    """An open wooden crate: slats on corner posts, gaps between them, a slatted floor."""
    made = Joiner()
    t, post = 0.010, 0.024
    x, y = order.x, order.y
    for sx, sy in itertools.product(_SIGNS, _SIGNS):
        px = sorted((sx * (x[1] - t - GAP_M), sx * (x[1] - t - GAP_M - post)))
        py = sorted((sy * (y[1] - t - GAP_M), sy * (y[1] - t - GAP_M - post)))
        made.box("slats", (px[0], px[1]), (py[0], py[1]), (0.001, order.height - 0.004))
    rows = max(2, round(order.height / 0.10))
    for z in bays(0.0, order.height, count=rows, gap=0.014):
        for s in _SIGNS:
            face = sorted((s * y[1], s * (y[1] - t)))
            made.box("slats", x, (face[0], face[1]), z)
            side = sorted((s * x[1], s * (x[1] - t)))
            made.box("slats", (side[0], side[1]), (y[0] + t + GAP_M, y[1] - t - GAP_M), z)
    inner = (x[0] + t + GAP_M + 0.001, x[1] - t - GAP_M - 0.001)
    floor = bays(y[0] + t + post + 0.004, y[1] - t - post - 0.004,
                 count=max(2, round(order.depth / 0.09)), gap=0.010)  # fmt: skip
    for span in floor:
        made.box("slats", inner, span, (0.002, 0.002 + t))
    made.rest(0.002 + t, order.height, usual=0)
    return made


def _chest_size(count: int) -> Size:
    return (0.80, 0.48, 0.17 + 0.20 * count)


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        "shelves": Kind(
            shelves,
            usual_m=(0.90, 0.30, 1.90),
            least_m=(0.25, 0.12, 0.30),
            parts=("boards", "back"),
            counts=(2, 12),
            count_for=lambda size: 1 + max(1, round(size[2] / 0.36)),
            each=Each(side=2, least_m=0.10, most_m=1.20, thing="board"),
        ),
        "wall shelf": Kind(
            wall_shelf,
            usual_m=(0.90, 0.22, 0.20),
            least_m=(0.20, 0.08, 0.06),
            parts=("board", "brackets"),
            surfaces={"brackets": "black metal"},
        ),
        "cupboard": Kind(
            cupboard,
            usual_m=(1.00, 0.60, 1.95),
            least_m=(0.35, 0.25, 0.80),
            parts=("body", "doors", "handles"),
            surfaces={"handles": "black metal"},
            counts=(1, 6),
            count_for=lambda size: max(1, round(size[0] / 0.5)),
            each=Each(side=0, least_m=0.25, most_m=1.00, thing="door"),
            open_most_rad=SQUARE_RAD,
        ),
        "wall cupboard": Kind(
            wall_cupboard,
            usual_m=(0.80, 0.35, 0.70),
            least_m=(0.25, 0.18, 0.30),
            parts=("body", "doors", "handles"),
            surfaces={"handles": "steel"},
            counts=(1, 8),
            count_for=lambda size: max(1, round(size[0] / 0.45)),
            size_for=lambda count: (0.40 * count, 0.35, 0.70),
            each=Each(side=0, least_m=0.20, most_m=0.90, thing="door"),
            open_most_rad=SQUARE_RAD,
        ),
        "chest of drawers": Kind(
            chest_of_drawers,
            usual_m=_chest_size(4),
            least_m=(0.30, 0.25, 0.30),
            parts=("body", "drawers", "handles"),
            surfaces={"handles": "cast iron"},
            counts=(1, 8),
            count_for=lambda size: max(1, round((size[2] - 0.17) / 0.20)),
            size_for=_chest_size,
            each=Each(side=2, least_m=0.09, most_m=0.60, thing="drawer"),
        ),
        "crate": Kind(
            crate,
            usual_m=(0.50, 0.35, 0.30),
            least_m=(0.18, 0.15, 0.10),
            parts=("slats",),
        ),
    }
)
