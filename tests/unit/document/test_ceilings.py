"""Ceilings that slope, against heights worked out by hand."""

from __future__ import annotations

import math

import pytest

from falloff.document import Gable, LeanTo, Quantity, Room
from falloff.document.ceilings import ceiling_height_m


def m(value: float) -> Quantity:
    return Quantity(value, f"{value} m")


def room(slope: LeanTo | Gable | None, corners: list[tuple[float, float]]) -> Room:
    return Room(
        floor=tuple((m(x), m(y)) for x, y in corners),
        height=m(3.0),
        slope=slope,
        floor_surface="planks",
        ceiling_surface="planks",
        wall_surface="planks",
    )


OBLONG = [(0.0, 0.0), (4.0, 0.0), (4.0, 2.0), (0.0, 2.0)]


def angle(degrees: float) -> Quantity:
    return Quantity(math.radians(degrees), f"{degrees} deg")


@pytest.mark.parametrize(
    ("slope", "x_m", "y_m", "height_m"),
    [
        # pencil: 2 m to 3 m over the 2 m of y, or over the 4 m of x
        (None, 1.0, 1.0, 3.0),
        (LeanTo(m(2.0), m(3.0), angle(90.0)), 1.0, 0.0, 2.0),
        (LeanTo(m(2.0), m(3.0), angle(90.0)), 1.0, 0.5, 2.25),
        (LeanTo(m(2.0), m(3.0), angle(90.0)), 4.0, 2.0, 3.0),
        (LeanTo(m(2.0), m(3.0), angle(270.0)), 4.0, 0.5, 2.75),
        (LeanTo(m(2.0), m(3.0), angle(180.0)), 1.0, 0.5, 2.75),
        # pencil: the ridge runs along x over y = 1 m, or along y over x = 2 m
        (Gable(m(2.0), m(3.0), angle(0.0)), 0.7, 1.0, 3.0),
        (Gable(m(2.0), m(3.0), angle(0.0)), 0.7, 0.0, 2.0),
        (Gable(m(2.0), m(3.0), angle(180.0)), 0.7, 1.5, 2.5),
        (Gable(m(2.0), m(3.0), angle(90.0)), 2.0, 0.3, 3.0),
        (Gable(m(2.0), m(3.0), angle(90.0)), 1.0, 0.3, 2.5),
        (Gable(m(2.0), m(3.0), angle(-90.0)), 4.0, 2.0, 2.0),
    ],
)
def test_height_over_a_point(
    slope: LeanTo | Gable | None, x_m: float, y_m: float, height_m: float
) -> None:
    found = ceiling_height_m(room(slope, OBLONG), x_m=x_m, y_m=y_m)
    assert found == pytest.approx(height_m, abs=1e-12)


def test_a_slope_runs_over_the_extent_of_an_odd_floor() -> None:
    # pencil: toward 45 deg the L reaches from 0 to 4 / sqrt 2 + 1 / sqrt 2 = 5 / sqrt 2 m,
    # so over (2, 0.5), 2.5 / sqrt 2 m along, it is half way up
    corners = [(0.0, 0.0), (4.0, 0.0), (4.0, 1.0), (1.0, 1.0), (1.0, 2.0), (0.0, 2.0)]
    slope = LeanTo(m(2.0), m(3.0), angle(45.0))
    found = ceiling_height_m(room(slope, corners), x_m=2.0, y_m=0.5)
    assert found == pytest.approx(2.5, abs=1e-12)
