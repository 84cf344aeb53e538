"""Wooden chairs and stools."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from falloff.kit.furniture import meshes
from falloff.kit.furniture.piece import Joiner, Kind, Order, spread
from falloff.types import Float64Array

_SIGNS = (-1.0, 1.0)


def chair(order: Order) -> Joiner:
    """A wooden chair: raked back legs with bent slats between them, seat, rails, stretchers."""
    made = Joiner()
    w, front, back = 0.5 * order.width, -0.5 * order.depth, 0.5 * order.depth
    seat = min(0.455, 0.55 * order.height)
    hip = back - min(0.075, 0.16 * order.depth)  # where the back legs bend, at the seat
    thick, wide = 0.034, 0.028
    leg = [
        (back - 0.004, 0.0), (hip, seat - 0.03), (hip, seat + 0.05), (back, order.height),
        (back - 0.024, order.height), (hip - thick, seat + 0.05), (hip - thick, seat - 0.05),
        (back - 0.030, 0.0),
    ]  # fmt: skip
    for s in _SIGNS:
        span = sorted((s * (w - 0.012), s * (w - 0.012 - wide)))
        made.mesh("frame", meshes.prism(leg, axis="x", low=span[0], high=span[1]))
        x = s * (w - 0.035)
        made.post("frame", (x - s * 0.004, front + 0.042, 0.0), (x, front + 0.040, seat - 0.023),
                  sides=((0.026, 0.026), (0.036, 0.036)))  # fmt: skip
    made.mesh("seat", _chair_seat(order, seat, hip - thick - 0.001))
    _chair_rails(made, order, seat=seat, hip=hip - 0.5 * thick)
    slats = max(2, round((order.height - seat - 0.05) / 0.125))
    for share in spread(0.28, 0.93, slats):
        _slat(made, order, z=seat + 0.05 + share * (order.height - seat - 0.05), seat=seat, hip=hip)
    made.rest(seat)
    return made


def _chair_seat(order: Order, seat: float, back: float) -> meshes.Mesh:
    """A board a little wider at the front, its edges eased."""
    w, front = 0.5 * order.width, -0.5 * order.depth
    outline = meshes.rounded_rectangle((2.0 * w, back - front), 0.035)
    outline[:, 0] *= 1.0 - 0.10 * (outline[:, 1] / (back - front) + 0.5)
    outline[:, 0] *= w / outline[:, 0].max()
    outline[:, 1] += 0.5 * (front + back)
    return meshes.plate(outline, low=seat - 0.022, high=seat, ease=0.007)


def _chair_rails(made: Joiner, order: Order, *, seat: float, hip: float) -> None:
    """Rails under the seat and stretchers between the legs, let into them."""
    x, front = 0.5 * order.width - 0.035, -0.5 * order.depth + 0.040
    z = (seat - 0.075, seat - 0.0235)
    made.box("frame", (-x + 0.012, x - 0.012), (front - 0.009, front + 0.009), z)
    made.box("frame", (-x + 0.006, x - 0.006), (hip - 0.009, hip + 0.009), z)
    low = 0.42 * seat
    for s in _SIGNS:
        side = (s * (x - 0.002) - 0.009, s * (x - 0.002) + 0.009)
        made.box("frame", side, (front + 0.012, hip - 0.010), (z[0], z[1] - 0.0004))
        made.rod("frame", (s * (x - 0.003), front, low), (s * (x + 0.007), hip + 0.012, low), 0.010)
    made.rod("frame", (-x, 0.5 * (front + hip), low), (x, 0.5 * (front + hip), low), 0.009)


def _slat(made: Joiner, order: Order, *, z: float, seat: float, hip: float) -> None:
    """A board of the back, bent away from the sitter."""
    x = 0.5 * order.width - 0.012 - 0.020
    rise = (z - seat - 0.05) / (order.height - seat - 0.05)
    middle = hip - 0.017 + (0.5 * order.depth + 0.004 - hip) * rise
    middle = min(middle, 0.5 * order.depth - 0.019)
    lean = math.atan2(0.5 * order.depth - hip, order.height - seat - 0.05)
    u = np.linspace(-1.0, 1.0, 9)
    path = np.stack([x * u, middle - 0.005 + 0.010 * (1.0 - u * u), np.full_like(u, z)], 1)
    tall = 0.055 if rise < 0.9 else 0.062
    up = (0.0, math.sin(lean), math.cos(lean))
    top = order.height - 0.004 - 0.5 * tall
    path[:, 2] = min(z, top)
    made.mesh("frame", meshes.bar(path, size=(0.014, tall), up=up))


def stool(order: Order) -> Joiner:
    """A round seat on four splayed legs with a ring of stretchers at two heights."""
    made = Joiner()
    w, d, top = 0.5 * order.width, 0.5 * order.depth, order.height
    thick, radius = 0.034, 0.016
    foot = (0.72 * w - 0.013, 0.72 * d - 0.013)
    ring = np.array([[math.cos(a), math.sin(a)] for a in np.linspace(0, 2 * math.pi, 41)[:-1]])
    made.mesh("seat", meshes.plate(ring * (w, d), low=top - thick, high=top,
                                   ease=0.010))  # fmt: skip
    legs: dict[tuple[float, float], tuple[Float64Array, Float64Array]] = {}
    for sx, sy in itertools.product(_SIGNS, _SIGNS):
        low = np.array([sx * foot[0], sy * foot[1], 0.0])
        high = np.array([sx * 0.46 * w, sy * 0.46 * d, top - thick + 0.008])
        legs[sx, sy] = (low, high)
        made.mesh("legs", meshes.upright([low, 0.5 * (low + high), high], [0.013, radius, 0.013]))
    for a, b, share in (
        ((-1, -1), (1, -1), 0.30), ((-1, 1), (1, 1), 0.30),
        ((-1, -1), (-1, 1), 0.42), ((1, -1), (1, 1), 0.42),
    ):  # fmt: skip
        ends = [legs[k][0] + share * (legs[k][1] - legs[k][0]) for k in (a, b)]
        made.rod("legs", ends[0], ends[1], 0.009)
    made.rest(top)
    return made


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        "chair": Kind(
            chair,
            usual_m=(0.43, 0.50, 0.86),
            least_m=(0.26, 0.28, 0.50),
            parts=("frame", "seat"),
        ),
        "stool": Kind(
            stool,
            usual_m=(0.38, 0.38, 0.46),
            least_m=(0.22, 0.22, 0.22),
            parts=("seat", "legs"),
        ),
    }
)
