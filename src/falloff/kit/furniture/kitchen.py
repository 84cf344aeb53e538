"""Base units, sink, cooker, hood and refrigerator."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from falloff.kit.furniture import meshes
from falloff.kit.furniture.cabinet import (
    BOARD_M,
    DOOR_GAP_M,
    SQUARE_RAD,
    carcass,
    door_face,
    doors,
    drawer_front,
    pull,
)
from falloff.kit.furniture.piece import GAP_M, Each, Joiner, Kind, Order, Span, bays

_SIGNS = (-1.0, 1.0)
_WORKTOP_M = 0.038
_DRAWER_M = 0.15


def counter(order: Order) -> Joiner:
    """A row of `count` base units: plinth set back, drawer over door, one worktop over all."""
    made = Joiner()
    levels = _base_units(made, order, drawers=True)
    top = (order.height - _WORKTOP_M, order.height)
    made.box("worktop", order.x, (door_face(order) - 0.018, 0.5 * order.depth), top)
    made.rest(*levels, order.height)
    return made


def sink(order: Order) -> Joiner:
    """A base unit with a steel basin let into its worktop; its tap stands above its height."""
    made = Joiner()
    wide = min(0.50, order.width - 0.16)
    deep = min(0.38, order.depth - 0.24)
    tall = min(0.17, 0.3 * order.height)
    front = door_face(order) - 0.018
    middle = 0.5 * (front + 0.5 * order.depth) - 0.035
    levels = _base_units(made, order, drawers=False, under=tall + 0.03)
    _holed_worktop(made, order, y=(front, 0.5 * order.depth), hole=(wide + 0.002, deep + 0.002),
                   middle=middle)  # fmt: skip
    made.mesh("basin", _basin((wide, deep), tall), at=(0.0, middle, order.height))
    made.rod("basin", (0.0, middle, order.height - tall + 0.0035),
             (0.0, middle, order.height - tall + 0.0065), 0.042)  # fmt: skip
    _tap(made, (0.0, middle + 0.5 * deep + 0.046, order.height + GAP_M), reach=0.5 * deep)
    made.rest(*levels, order.height - tall + 0.003, order.height)
    return made


def _base_units(
    made: Joiner, order: Order, *, drawers: bool, under: float = 0.0
) -> tuple[float, ...]:
    """Plinth, bodies and fronts up to the worktop; `under`: room kept below it for a basin."""
    face = door_face(order)
    plinth = min(0.12, 0.14 * order.height)
    x, y = order.x, (face + BOARD_M + 0.002, 0.5 * order.depth)
    roof = order.height - _WORKTOP_M - GAP_M
    made.box("plinth", x, (face + 0.07, y[1]), (0.0, plinth))
    z = (plinth + GAP_M, roof)
    levels: tuple[float, ...] = ()
    spans = bays(x[0] + 0.001, x[1] - 0.001, count=order.count, gap=DOOR_GAP_M)
    if order.open_rad > 0.0:
        middle = 0.5 * (z[0] + z[1] - _DRAWER_M)
        if under == 0.0:
            for span in spans:
                carcass(made, "body", span, y=y, z=z, shelves=(middle,))
            levels = (z[0] + BOARD_M, middle)
        else:
            made.box("body", x, y, (z[0], z[0] + BOARD_M))
            _shell(made, x, y, (z[0] + BOARD_M + GAP_M, z[1]))
            levels = (z[0] + BOARD_M,)
    elif under > 0.0:
        made.box("body", x, y, (z[0], z[1] - under))
        _shell(made, x, y, (z[1] - under + GAP_M, z[1]))
    else:
        made.box("body", x, y, z)
    split = roof - 0.004 - (_DRAWER_M if drawers or under > 0.0 else 0.0)
    for span in spans:
        if drawers:
            drawer_front(made, span, z=(split, roof - 0.004), front=face)
        elif under > 0.0:  # a blind panel before the basin
            made.box("doors", span, (face, face + BOARD_M), (split, roof - 0.004))
    door_z = (plinth + 0.004, split - DOOR_GAP_M)
    doors(made, order, spans=spans, z=door_z, handle_at=door_z[1] - 0.12)
    return levels


def _shell(made: Joiner, x: Span, y: Span, z: Span) -> None:
    """Four boards round a hollow."""
    t, g = BOARD_M, GAP_M
    made.box("body", (x[0], x[0] + t), y, z)
    made.box("body", (x[1] - t, x[1]), y, z)
    inner = (x[0] + t + g, x[1] - t - g)
    made.box("body", inner, (y[1] - 0.006, y[1]), z)
    made.box("body", inner, (y[0], y[0] + t), (max(z[0], z[1] - 0.15), z[1]))


def _holed_worktop(
    made: Joiner, order: Order, *, y: Span, hole: tuple[float, float], middle: float
) -> None:
    """A worktop in one piece with an opening whose corners are round."""
    outer = meshes.rounded_rectangle((order.width, y[1] - y[0]), 0.001, segments=6)
    outer[:, 1] += 0.5 * (y[0] + y[1])
    inner = meshes.rounded_rectangle(hole, 0.046, segments=6)
    inner[:, 1] += middle
    low, high = order.height - _WORKTOP_M, order.height
    rows = ((outer, low), (outer, high), (inner, high), (inner, low))
    loops = [np.column_stack([flat, np.full(len(flat), z)]) for flat, z in rows]
    made.mesh("worktop", meshes.loft(np.array(loops), ring=True))


def _basin(size: tuple[float, float], tall: float) -> meshes.Mesh:
    """A sheet of steel: rim on the worktop, walls, rounded floor; its rim's underside is z = 0."""
    sheet, rim, r = 0.002, 0.018, 0.045
    rows = [
        (-0.050, -tall), (-0.012, -tall + 0.012), (-0.002, -tall + 0.05), (-0.002, GAP_M),
        (rim, GAP_M), (rim, GAP_M + sheet), (-0.004, GAP_M + sheet), (-0.004, -tall + 0.05),
        (-0.014, -tall + 0.014), (-0.051, -tall + sheet),
    ]  # fmt: skip
    loops = []
    for step, z in rows:
        outline = meshes.rounded_rectangle(
            (size[0] + 2.0 * step, size[1] + 2.0 * step), max(r + step, 0.01), segments=6
        )
        loops.append(np.column_stack([outline, np.full(len(outline), z)]))
    return meshes.loft(np.array(loops), crease_rad=math.radians(50.0))


def _tap(made: Joiner, at: tuple[float, float, float], *, reach: float) -> None:
    """A swan-neck mixer tap with a lever at its side."""
    base = np.array(at)
    made.mesh("tap", meshes.lathe([(0.0, 0.0), (0.027, 0.0), (0.026, 0.006), (0.021, 0.012),
              (0.020, 0.062), (0.016, 0.070), (0.0, 0.070)], sides=24), at=at)  # fmt: skip
    r = 0.5 * reach
    bend = [(0.0, -r + r * math.cos(a), 0.20 + r * math.sin(a))
            for a in np.linspace(0.0, math.radians(170.0), 14)]  # fmt: skip
    end = (bend[-1][0], bend[-1][1] - 0.002, bend[-1][2] - 0.05)
    path = np.array([(0.0, 0.0, 0.066), (0.0, 0.0, 0.13), *bend, end])
    made.mesh("tap", meshes.tube(base + path, 0.011, sides=16))
    made.rod(
        "tap",
        base + np.array([0.018, 0.0, 0.04]),
        base + np.array([0.045, 0.0, 0.045]),
        0.012,
        taper=0.9,
    )
    made.rod(
        "tap", base + np.array([0.042, 0.0, 0.046]), base + np.array([0.062, -0.01, 0.115]), 0.0055
    )


def cooker(order: Order) -> Joiner:
    """A free-standing cooker: oven with a glazed door, knobs, a hob with four plates."""
    made = Joiner()
    face = door_face(order)
    x, y = order.x, (face + 0.034, 0.5 * order.depth)
    hob = order.height - 0.014
    made.box("plinth", (x[0] + 0.02, x[1] - 0.02), (y[0] + 0.03, y[1] - 0.02), (0.0, 0.05))
    made.box("body", x, y, (0.051, hob - 0.022))
    made.box("hob", x, (face, y[1]), (hob - 0.021, hob - 0.001), soft=0.004)
    panel = hob - 0.022 - 0.11
    made.box("body", (x[0] + 0.002, x[1] - 0.002), (face + 0.004, y[0] - GAP_M),
             (panel, hob - 0.023))  # fmt: skip
    drawer = 0.06 + 0.18 * order.height
    z = (drawer + 0.006, panel - 0.006)
    made.box("doors", (x[0] + 0.002, x[1] - 0.002), (face, y[0] - GAP_M), z, soft=0.006)
    glass = (z[0] + 0.07, z[1] - 0.12)
    made.box("glass", (x[0] + 0.08, x[1] - 0.08), (face - 0.002, face + 0.01), glass)
    made.box("doors", (x[0] + 0.002, x[1] - 0.002), (face + 0.004, y[0] - GAP_M),
             (0.062, drawer), soft=0.004)  # fmt: skip
    pull(made, (0.0, face, z[1] - 0.05), length=0.78 * order.width, level=True, thick=0.009)
    _knobs(made, order, z=0.5 * (panel + hob - 0.023), face=face + 0.004)
    _plates(made, order, y=(face + 0.02, y[1] - 0.03), z=hob)
    made.rest(order.height)
    return made


def _knobs(made: Joiner, order: Order, *, z: float, face: float) -> None:
    count = 6 if order.width >= 0.5 else 4
    for x in np.linspace(-0.40, 0.40, count) * order.width:
        made.rod("knobs", (x, face - 0.0005, z), (x, face - 0.006, z), 0.023)
        made.rod("knobs", (x, face - 0.0065, z), (x, face - 0.026, z), 0.017, taper=0.88)
        made.box("knobs", (x - 0.0035, x + 0.0035), (face - 0.032, face - 0.024),
                 (z - 0.013, z + 0.013))  # fmt: skip


def _plates(made: Joiner, order: Order, *, y: Span, z: float) -> None:
    """Four iron plates, two large and two small, each in a thin steel ring."""
    large = min(0.090, 0.17 * order.width)
    for k, (sx, sy) in enumerate(itertools.product(_SIGNS, _SIGNS)):
        r = large if k in (0, 3) else 0.8 * large
        at = (sx * 0.235 * order.width, 0.5 * (y[0] + y[1]) + sy * 0.24 * (y[1] - y[0]), z)
        ring = [(r + 0.006, 0.0), (r + 0.005, 0.004), (r + 0.001, 0.004), (r + 0.001, 0.0)]
        made.mesh("rings", meshes.lathe(ring, hollow=True), at=at)
        plate = [
            (0.0, 0.0), (r, 0.0), (r, 0.011), (r - 0.003, 0.014), (0.3 * r, 0.014),
            (0.28 * r, 0.012), (0.0, 0.012),
        ]  # fmt: skip
        made.mesh("plates", meshes.lathe(plate), at=at)


def hood(order: Order) -> Joiner:
    """An extractor hood: lip, tapered canopy, duct; its place is the middle of its underside."""
    made = Joiner()
    x, y, lip = order.x, order.y, 0.05
    cone = min(0.28, 0.45 * order.height)
    duct = min(0.25, 0.45 * order.width), min(0.22, 0.45 * order.depth)
    made.box("body", x, (y[0] + 0.004, y[1]), (0.004, lip))
    made.box("filter", (x[0] + 0.03, x[1] - 0.03), (y[0] + 0.03, y[1] - 0.03), (0.0, 0.003))
    back = 0.5 * order.depth
    canopy = meshes.frustum(
        ((0.0, 0.003, lip + GAP_M), (order.width - 0.002, order.depth - 0.006)),
        ((0.0, back - 0.5 * duct[1], cone), duct),
    )
    made.mesh("body", canopy)
    half = 0.5 * duct[0] - 0.002
    made.box("body", (-half, half), (back - duct[1] + 0.002, back), (cone + GAP_M, order.height))
    for k in range(4):
        at = 0.05 + 0.03 * k
        made.rod("knobs", (at, y[0] + 0.0035, 0.028), (at, y[0], 0.028), 0.008)
    made.rest(order.height)
    return made


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        "counter": Kind(
            counter,
            usual_m=(1.80, 0.63, 0.90),
            least_m=(0.30, 0.30, 0.50),
            parts=("doors", "body", "worktop", "plinth", "handles"),
            surfaces={"worktop": "worktop stone", "plinth": "dark paint",
                      "handles": "polished steel"},
            counts=(1, 8),
            count_for=lambda size: max(1, round(size[0] / 0.6)),
            size_for=lambda count: (0.60 * count, 0.63, 0.90),
            each=Each(side=0, least_m=0.25, most_m=1.00, thing="unit"),
            open_most_rad=SQUARE_RAD,
        ),
        "sink": Kind(
            sink,
            usual_m=(0.80, 0.63, 0.90),
            least_m=(0.40, 0.42, 0.60),
            parts=("doors", "body", "worktop", "plinth", "handles", "basin", "tap"),
            surfaces={"worktop": "worktop stone", "plinth": "dark paint",
                      "handles": "polished steel",
                      "basin": "polished steel", "tap": "polished steel"},
            counts=(1, 4),
            count_for=lambda size: max(1, round(size[0] / 0.45)),
            each=Each(side=0, least_m=0.25, most_m=1.00, thing="door"),
            open_most_rad=SQUARE_RAD,
        ),
        "cooker": Kind(
            cooker,
            usual_m=(0.60, 0.63, 0.90),
            least_m=(0.40, 0.40, 0.55),
            parts=("body", "doors", "hob", "glass", "knobs", "plates", "rings", "handles",
                   "plinth"),
            surfaces={"glass": "black metal", "knobs": "black metal", "plates": "cast iron",
                      "rings": "polished steel", "handles": "polished steel",
                      "plinth": "dark paint"},
        ),
        "hood": Kind(
            hood,
            usual_m=(0.60, 0.50, 0.75),
            least_m=(0.30, 0.25, 0.30),
            parts=("body", "filter", "knobs"),
            surfaces={"filter": "cast iron", "knobs": "black metal"},
        ),
    }
)  # fmt: skip
