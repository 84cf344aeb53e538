"""The refrigerator: hollow, with shelves and goods inside and a door that opens."""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from falloff.kit.furniture import meshes
from falloff.kit.furniture.cabinet import HANDLE_M, pull
from falloff.kit.furniture.piece import GAP_M, Joiner, Kind, Order, Span, about_z

_WALL_M = 0.045
_DOOR_M = 0.055
_LINER_M = 0.003
_FOOT_M = 0.02


def refrigerator(order: Order) -> Joiner:
    """A refrigerator, hinged on the right of who stands before it; tall ones freeze below."""
    made = Joiner()
    face = -0.5 * order.depth + HANDLE_M
    x, y = order.x, (face + _DOOR_M + 0.006, 0.5 * order.depth)
    freezer = 0.36 * order.height if order.height >= 1.2 else 0.0
    floor = freezer + _FOOT_M
    for fx in (x[0] + 0.05, x[1] - 0.05):
        for fy in (y[0] + 0.05, y[1] - 0.05):
            made.rod("feet", (fx, fy, 0.0), (fx, fy, _FOOT_M - GAP_M), 0.018)
    if freezer > 0.0:
        made.box("body", x, y, (_FOOT_M, floor - GAP_M))
        made.box(
            "doors", x, (face, face + _DOOR_M + 0.004), (_FOOT_M + 0.02, floor - 0.004), soft=0.010
        )
        pull(made, (x[0] + 0.05, face, floor - 0.17), length=0.24, level=False, thick=0.009)
    z = (floor, order.height)
    levels = _inside(made, x=x, y=y, z=z)
    since = len(made.solids)
    _door(made, x, z=(z[0] + 0.002, z[1]), face=face)
    pivot = (x[1], face + _DOOR_M + 0.005, 0.0)
    made.turn(since, pivot=pivot, turn=about_z(order.open_rad))
    made.rest(*levels, order.height)
    return made


def _inside(made: Joiner, *, x: Span, y: Span, z: Span) -> tuple[float, ...]:
    """Walls, white lining, shelves, a drawer for greens, and what is kept; heights of levels."""
    t, g = _WALL_M, GAP_M
    hx, hz = (x[0] + t + g, x[1] - t - g), (z[0] + t + g, z[1] - t - g)
    deep = y[1] - y[0]
    walls = [(0.0, 0.0), (0.0, deep), (t, deep), (t, 0.0)]
    made.mesh("body", meshes.surround((x[1] - x[0], z[1] - z[0]), walls),
              at=(0.0, y[1], 0.5 * (z[0] + z[1])))  # fmt: skip
    made.box("body", hx, (y[1] - t, y[1]), hz)
    n = _LINER_M
    by, back = (y[0] + 0.004, y[1] - t - g), y[1] - t - g
    made.box("inside", hx, (back - n, back), hz)
    by = (by[0], back - n - g)
    made.box("inside", hx, by, (hz[0], hz[0] + n))
    made.box("inside", hx, by, (hz[1] - n, hz[1]))
    lz = (hz[0] + n + g, hz[1] - n - g)
    made.box("inside", (hx[0], hx[0] + n), by, lz)
    made.box("inside", (hx[1] - n, hx[1]), by, lz)
    wide = (hx[0] + n + g, hx[1] - n - g)
    kept = (by[0] + 0.045, by[1] - g)
    tall = lz[1] - lz[0]
    drawer = lz[0] + min(0.20, 0.24 * tall)
    made.box("shelves", (wide[0] + 0.012, wide[1] - 0.012), (kept[0], kept[1] - 0.01),
             (lz[0] + g, drawer - 0.012), soft=0.008)  # fmt: skip
    count = max(1, round((lz[1] - drawer) / 0.26))
    tops = [drawer + (lz[1] - drawer) * k / count for k in range(count)]
    for top in tops:
        made.box("shelves", wide, kept, (top - 0.007, top))
    room = (lz[1] - drawer) / count - 0.02
    for k, top in enumerate(tops):
        _goods(made, k, x=wide, y=kept, floor=top + g, room=room)
    return tuple(tops)


def _goods(made: Joiner, row: int, *, x: Span, y: Span, floor: float, room: float) -> None:
    """Boxes, bottles and jars on one shelf, the same each time."""
    dice = np.random.default_rng(731 + row)
    at, end = x[0] + 0.025, x[1] - 0.03
    while at < end - 0.05:
        wide = float(dice.uniform(0.06, 0.15))
        tall = float(dice.uniform(0.45, 0.92)) * min(room, 0.26)
        near = y[0] + float(dice.uniform(0.015, 0.07))
        if at + wide > end:
            break
        if dice.random() < 0.45 and tall > 0.09:
            r = min(0.5 * wide, 0.036)
            place = (at + r, near + r, floor)
            made.mesh("bottles", meshes.lathe(bottle_profile(r, tall), sides=20), at=place)
            at += 2.0 * r + float(dice.uniform(0.008, 0.02))
        else:
            deep = float(dice.uniform(0.08, 0.18))
            soft = 0.006 if dice.random() < 0.5 else 0.0
            part = "goods" if dice.random() < 0.6 else "tins"
            made.box(part, (at, at + wide), (near, near + deep),
                     (floor, floor + min(tall, 0.16)), soft=soft)  # fmt: skip
            at += wide + float(dice.uniform(0.006, 0.025))


def bottle_profile(radius: float, height: float) -> list[tuple[float, float]]:
    """Radius and height of a bottle from the middle of its foot to the middle of its cap."""
    r, h = radius, height
    neck = max(0.34 * r, 0.012)
    cap = 0.93 * h
    return [
        (0.0, 0.0), (0.92 * r, 0.0), (r, 0.02 * h), (r, 0.56 * h), (0.93 * r, 0.63 * h),
        (0.66 * r, 0.71 * h), (1.06 * neck, 0.79 * h), (neck, 0.86 * h), (neck, cap - 0.004),
        (1.18 * neck, cap), (1.18 * neck, h - 0.002), (1.05 * neck, h), (0.0, h),
    ]  # fmt: skip


def _door(made: Joiner, x: Span, *, z: Span, face: float) -> None:
    """The door shut: outer panel, lining, three racks with what stands in them, handle."""
    back = face + _DOOR_M
    made.box("doors", x, (face, back), z, soft=0.010)
    pull(made, (x[0] + 0.05, face, z[0] + 0.20), length=0.28, level=False, thick=0.009)
    seal = [(0.0, 0.0), (0.0, 0.0043), (0.014, 0.0043), (0.014, 0.0)]
    made.mesh("seal", meshes.surround((x[1] - x[0] - 0.024, z[1] - z[0] - 0.024), seal),
              at=(0.0, back + 0.005, 0.5 * (z[0] + z[1])))  # fmt: skip
    inner = (x[0] + _WALL_M + 0.016, x[1] - _WALL_M - 0.016)
    made.box("inside", inner, (back + GAP_M, back + 0.005), (z[0] + 0.06, z[1] - 0.06))
    tall = z[1] - z[0]
    if tall < 0.5:
        return
    for k, share in enumerate((0.08, 0.40, 0.68)):
        base = z[0] + share * tall
        tray = (back + 0.006, back + 0.050)
        made.box("inside", inner, tray, (base, base + 0.006))
        made.box("inside", inner, (tray[1] - 0.004, tray[1]), (base + 0.007, base + 0.075))
        for s in (0, 1):
            ex = inner[0] if s == 0 else inner[1] - 0.004
            made.box("inside", (ex, ex + 0.004), (tray[0], tray[1] - 0.005),
                     (base + 0.007, base + 0.075))  # fmt: skip
        if k < 2:
            for j in range(3):
                r = 0.020
                at = (inner[0] + 0.04 + (0.055 + 0.02 * k) * j, 0.5 * sum(tray) - 0.002,
                      base + 0.007)  # fmt: skip
                high = min(0.22 - 0.03 * j, 0.24 * tall)
                made.mesh("bottles", meshes.lathe(bottle_profile(r, high), sides=20), at=at)


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        "refrigerator": Kind(
            refrigerator,
            usual_m=(0.60, 0.66, 1.75),
            least_m=(0.38, 0.40, 0.55),
            parts=(
                "body",
                "doors",
                "inside",
                "shelves",
                "handles",
                "feet",
                "seal",
                "goods",
                "tins",
                "bottles",
            ),
            surfaces={
                "inside": "white enamel",
                "shelves": "opal glass",
                "handles": "polished steel",
                "feet": "black rubber",
                "seal": "mid grey paint",
                "goods": "paper",
                "tins": "cardboard",
                "bottles": "leaf green",
            },
            open_most_rad=math.radians(120.0),
        )
    }
)
