"""How high the ceiling is over each point of a room."""

from __future__ import annotations

import math

from falloff.document.records import Gable, LeanTo, Room


def ceiling_height_m(room: Room, *, x_m: float, y_m: float) -> float:
    """Height of the ceiling above the floor over a point of the plan, metres.

    A lean-to rises evenly over the extent of the floor along its way; a gable falls evenly to both
    sides from the middle of the floor's extent across its ridge. Valid for points of the floor.
    """
    slope = room.slope
    if slope is None:
        return room.height.si
    if isinstance(slope, LeanTo):
        low, high = _extent(room, slope.rises_toward.si)
        share = (_along(x_m, y_m, slope.rises_toward.si) - low) / (high - low)
        return slope.low.si + share * (slope.high.si - slope.low.si)
    across_rad = _across(slope)
    low, high = _extent(room, across_rad)
    off = abs(2.0 * _along(x_m, y_m, across_rad) - low - high) / (high - low)
    return slope.ridge.si - off * (slope.ridge.si - slope.eaves.si)


def _across(slope: Gable) -> float:
    return slope.ridge_along.si + math.pi / 2.0


def _along(x_m: float, y_m: float, angle_rad: float) -> float:
    return x_m * math.cos(angle_rad) + y_m * math.sin(angle_rad)


def _extent(room: Room, angle_rad: float) -> tuple[float, float]:
    """The floor's least and greatest reach along a way on the plan."""
    reaches = [_along(x.si, y.si, angle_rad) for x, y in room.floor]
    return min(reaches), max(reaches)
