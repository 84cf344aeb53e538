"""How high the ceiling is over each point of a room."""

from __future__ import annotations

import math
from typing import NamedTuple

from falloff.document.records import LeanTo, Room


class CeilingSlope(NamedTuple):
    """A plane: its height over (x, y) of the plan is level_m + rise_x · x + rise_y · y, metres."""

    level_m: float
    rise_x: float
    rise_y: float


def ceiling_slopes(room: Room) -> tuple[CeilingSlope, ...]:
    """The planes of a ceiling, of which the lowest counts over each point of the floor.

    A lean-to rises evenly over the extent of the floor along its way; a gable falls evenly to both
    sides from the middle of the floor's extent across its ridge. A gable's first plane rises to
    the right of its ridge's way.
    """
    slope = room.slope
    if slope is None:
        return (CeilingSlope(room.height.si, 0.0, 0.0),)
    if isinstance(slope, LeanTo):
        way, low, high = _extent(room, slope.rises_toward.si)
        rise = (slope.high.si - slope.low.si) / (high - low)
        return (CeilingSlope(slope.low.si - rise * low, rise * way[0], rise * way[1]),)
    across, low, high = _extent(room, slope.ridge_along.si - math.pi / 2.0)
    rise = (slope.ridge.si - slope.eaves.si) / (0.5 * (high - low))
    return (
        CeilingSlope(slope.eaves.si - rise * low, rise * across[0], rise * across[1]),
        CeilingSlope(slope.eaves.si + rise * high, -rise * across[0], -rise * across[1]),
    )


def ceiling_height_m(room: Room, *, x_m: float, y_m: float) -> float:
    """Height of the ceiling above the floor over a point of the plan, metres."""
    return min(s.level_m + s.rise_x * x_m + s.rise_y * y_m for s in ceiling_slopes(room))


def _extent(room: Room, angle_rad: float) -> tuple[tuple[float, float], float, float]:
    """A way on the plan, and the floor's least and greatest reach along it."""
    way = (math.cos(angle_rad), math.sin(angle_rad))
    reaches = [x.si * way[0] + y.si * way[1] for x, y in room.floor]
    return way, min(reaches), max(reaches)
