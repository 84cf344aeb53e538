"""What is seen through a hole: sky, ground, buildings, and what hangs in between."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numba import njit
from numpy.testing import assert_allclose
from tests.reference.scenes.stages import WHITE

from falloff.daylight import facade_luminance, overcast_sky
from falloff.sources import BUILDING_SIZE, Outlook, Source, sky_opening
from falloff.sources.records import SKY_HEAD
from falloff.transport.kernels_emission import seen_luminance
from falloff.units import Lux

SKY = overcast_sky(Lux(10_000.0), ground_reflectance=0.2)


def hole(**changes: object) -> Source:
    """A hole one metre square in the plane y = 0, shining towards -y."""
    return sky_opening(
        "w",
        np.array([1.0, 0.0, 1.0]),
        edge_u=np.array([-1.0, 0.0, 0.0]),
        edge_v=np.array([0.0, 0.0, 1.0]),
        daylight=SKY,
        colour=WHITE,
        **changes,  # type: ignore[arg-type]
    )


def seen(
    source: Source, start: tuple[float, float, float], way: tuple[float, float, float]
) -> float:
    unit = np.array(way) / np.linalg.norm(way)
    return float(_seen(source.kind, source.shape, source.table, *start, *unit))


@njit
def _seen(kind, shape, table, x, y, z, dx, dy, dz):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    return seen_luminance(kind, shape, table, x, y, z, dx, dy, dz)


def outlook(*rows: np.ndarray) -> Outlook:
    return Outlook(np.array(rows).reshape(-1, BUILDING_SIZE), np.empty(0))


def building(
    distance_m: float, top_m: float, luminance_nit: float, turn_rad: float = 0.0
) -> np.ndarray:
    place = (0.0, distance_m + 2.0, math.cos(turn_rad), math.sin(turn_rad))
    return np.array([*place, 10.0, 2.0, 0.0, top_m, *(5 * [luminance_nit])])


def test_facade_under_an_overcast_sky() -> None:
    """An upright wall gets (π/6 + 4/9)/(7π/9) = 0.396 of the horizontal, and half the ground's.

    Pencil: integral of (1 + 2 sin γ)/3 over a quarter sphere; the ground fills the other quarter.
    """
    falling = 10_000.0 * (math.pi / 6.0 + 4.0 / 9.0) / (7.0 * math.pi / 9.0) + 10_000.0 * 0.2 / 2.0
    facing = np.array([[0.6, 0.8, 0.0]])
    assert_allclose(facade_luminance(SKY, 0.5, facing), 0.5 * falling / math.pi, rtol=1e-3)


def test_hole_facing_open_land_takes_in_what_a_facade_gets() -> None:
    """Pencil: the same integral, by the quadrature that gives a hole its flux; 1 m²."""
    falling = 10_000.0 * (math.pi / 6.0 + 4.0 / 9.0) / (7.0 * math.pi / 9.0) + 1000.0
    assert_allclose(hole().flux_lm, falling, rtol=2e-3)


def test_sky_over_a_building_and_ground_before_it() -> None:
    """A building 8 m away and 6 m high, seen from 1 m: up to atan(5/8) above the horizon."""
    source = hole(outlook=outlook(building(8.0, 6.0, 123.0)))
    from_floor = (0.5, 0.0, 1.0)
    edge = math.atan2(5.0, 8.0)
    over, under = edge + 1e-3, edge - 1e-3
    assert_allclose(
        seen(source, from_floor, (0.0, math.cos(over), math.sin(over))),
        SKY.zenith_nit * (1.0 + 2.0 * math.sin(over)) / 3.0,
    )
    assert_allclose(seen(source, from_floor, (0.0, math.cos(under), math.sin(under))), 123.0)
    assert_allclose(seen(source, from_floor, (0.0, 1.0, -0.5)), SKY.ground_nit)  # before its foot
    assert_allclose(seen(source, from_floor, (2.0, 1.0, 0.1)), SKY.zenith_nit * (
        1.0 + 2.0 * 0.1 / math.sqrt(5.01)) / 3.0)  # past its side  # fmt: skip


def test_the_nearer_building_hides_the_farther() -> None:
    rows = np.stack([building(20.0, 30.0, 50.0), building(8.0, 6.0, 123.0)])
    source = hole(outlook=outlook(*rows))
    assert_allclose(seen(source, (0.5, 0.0, 1.0), (0.0, 1.0, 0.1)), 123.0)
    assert_allclose(seen(source, (0.5, 0.0, 1.0), (0.0, 1.0, 0.8)), 50.0)


def test_a_turned_building_is_seen_where_it_stands() -> None:
    """Turned by a right angle it shows its short side, 4 m wide: 2 m aside at 10 m is its edge."""
    row = building(0.0, 30.0, 77.0, math.pi / 2.0)
    row[1] = 20.0  # its middle; its long side now runs away from the hole, from 10 m to 30 m
    source = hole(outlook=outlook(row))
    assert_allclose(seen(source, (0.0, 0.0, 1.0), (1.9, 10.0, 0.1)), 77.0)
    assert seen(source, (0.0, 0.0, 1.0), (2.1, 10.0, 0.1)) > 500.0


def test_panes_weaken_all_that_is_seen() -> None:
    """Pencil: flux and luminance, of the sky as of a building, by one share."""
    rows = building(8.0, 6.0, 123.0)[None]
    bare, glazed = hole(outlook=outlook(*rows)), hole(straight=0.3, outlook=outlook(*rows))
    assert_allclose(glazed.flux_lm, 0.3 * bare.flux_lm)
    for way in ((0.0, 1.0, 0.1), (0.0, 0.2, 1.0)):
        assert_allclose(seen(glazed, (0.5, 0, 1), way), 0.3 * seen(bare, (0.5, 0, 1), way))


@pytest.mark.parametrize("count", [0, 1, 3])
def test_table_says_how_many_buildings_it_has(count: int) -> None:
    rows = [building(8.0 + k, 6.0, 1.0) for k in range(count)]
    table = hole(outlook=outlook(*rows)).table
    assert table[0] == count
    assert table.size == SKY_HEAD + count * BUILDING_SIZE
