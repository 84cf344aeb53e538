"""The sixteen skies of ISO 15469:2004 against tables made outside."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numba import njit
from numpy.testing import assert_allclose
from tests.reference.scenes.stages import WHITE

from falloff.daylight import (
    Daylight,
    facade_luminance,
    general_sky,
    overcast_sky,
    sky_luminance,
)
from falloff.errors import DaylightError
from falloff.sources import opening_illuminance, sky_opening
from falloff.transport.kernels_emission import seen_luminance
from falloff.units import Lux

X, Y, Z = np.eye(3)


def sky(
    kind: int, altitude_deg: float, *, azimuth_deg: float = 0.0, ground: float = 0.0
) -> Daylight:
    """A sky of zenith luminance one."""
    return general_sky(
        kind,
        sun_altitude_rad=math.radians(altitude_deg),
        sun_azimuth_rad=math.radians(azimuth_deg),
        zenith_nit=1.0,
        ground_reflectance=ground,
    )


def toward(altitude_deg: float, azimuth_deg: float) -> np.ndarray:
    up, around = math.radians(altitude_deg), math.radians(azimuth_deg)
    return np.array(
        [math.cos(up) * math.cos(around), math.cos(up) * math.sin(around), math.sin(up)]
    )


# source: SKY-6, own Gauss-Legendre rule of 400 × 720 points
HORIZONTAL = (
    2.44954, 2.08602, 2.76999, 2.31542, 3.14159, 2.58416, 2.42123, 2.32838, 3.45932, 3.17026,
    2.98906, 3.19057, 3.02585, 3.21696, 3.01586,
)  # fmt: skip


@pytest.mark.parametrize(("kind", "expected"), list(enumerate(HORIZONTAL, 1)))
def test_horizontal_over_zenith(kind: int, expected: float) -> None:
    assert_allclose(sky(kind, 60.0, azimuth_deg=130.0).horizontal_lux, expected, rtol=1e-3)


@pytest.mark.parametrize(
    ("kind", "expected"),
    [
        (12, (7.2491, 0.9283, 0.6381)),  # source: SKY-7
        (13, (9.0392, 0.8550, 0.5269)),  # source: SKY-8
        (2, (1.6419, 0.7009, 0.5546)),  # source: SKY-9
        (8, (5.4538, 0.6984, 0.4801)),  # source: SKY-9
    ],
)
def test_luminance_by_place(kind: int, expected: tuple[float, ...]) -> None:
    """Sun at 45°; points at 45°, under it, a quarter turn aside, and behind."""
    above = sky(kind, 45.0, azimuth_deg=20.0)
    found = [sky_luminance(above, toward(45.0, 20.0 + aside)) for aside in (0.0, 90.0, 180.0)]
    assert_allclose(found, expected, atol=1e-3)


@pytest.mark.parametrize("kind", range(1, 17))
@pytest.mark.parametrize("altitude_deg", [0.0, 12.0, 60.0, 90.0])
def test_zenith_is_one(kind: int, altitude_deg: float) -> None:
    assert_allclose(sky_luminance(sky(kind, altitude_deg), Z), 1.0, rtol=1e-9)  # source: SKY-11


def test_overcast_horizons() -> None:
    just_above = np.array([math.cos(1e-9), 0.0, math.sin(1e-9)])
    found = sky_luminance(sky(1, 60.0), just_above)
    assert_allclose(found, 1.0 / (1.0 + 4.0 * math.exp(-0.7)), atol=1e-4)  # source: SKY-5
    assert_allclose(sky_luminance(sky(16, 60.0), just_above), 1.0 / 3.0, atol=1e-6)  # source: SKY-1


def test_traditional_overcast_is_kind_sixteen() -> None:
    one = overcast_sky(Lux(10_000.0))
    other = general_sky(16, sun_altitude_rad=0.7, sun_azimuth_rad=0.0, horizontal_lux=10_000.0)
    assert_allclose(other.zenith_nit, one.zenith_nit, rtol=1e-6)  # source: SKY-2
    assert_allclose(other.ground_nit, one.ground_nit)


def test_uniform_sky() -> None:
    uniform = sky(5, 40.0)
    assert_allclose(uniform.horizontal_lux, math.pi, rtol=1e-4)  # source: SKY-4
    upright = opening_illuminance(np.zeros(3), X, uniform)
    assert_allclose(upright / uniform.horizontal_lux, 0.5, rtol=1e-4)  # source: SKY-4


def test_upright_under_a_clear_sky() -> None:
    """Facing the sun, aside of it and away from it, type 12, sun at 60°."""
    clear = sky(12, 60.0)
    ways = (-X, -Y, X)  # inward: the plane itself faces the other way
    found = [opening_illuminance(np.zeros(3), way, clear) / clear.horizontal_lux for way in ways]
    assert_allclose(found, [0.7419, 0.4687, 0.3461], rtol=2e-3)  # source: SKY-10


@njit
def _seen(kind, shape, table, dx, dy, dz):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    return seen_luminance(kind, shape, table, 0.0, 0.0, 0.0, dx, dy, dz)


@pytest.mark.parametrize("kind", range(1, 17))
def test_a_hole_shows_the_sky_behind_it(kind: int) -> None:
    """The kernel and the formula over many ways: two writings of one law, and its ground."""
    above = sky(kind, 25.0, azimuth_deg=70.0, ground=0.3)
    hole = sky_opening("w", np.zeros(3), edge_u=X, edge_v=Z, daylight=above, colour=WHITE)
    ways = [toward(a, z) for a in (-10.0, 0.5, 12.0, 25.0, 60.0, 89.0) for z in (0, 70, 160, 290)]
    found = [_seen(hole.kind, hole.shape, hole.table, *way) for way in ways]
    # 1e-7: at the sun itself the arc cosine of one is that uncertain
    assert_allclose(found, [float(sky_luminance(above, way)) for way in ways], rtol=1e-7)
    assert_allclose(found[:4], 0.3 * above.horizontal_lux / math.pi)  # pencil: matte ground


def test_facade_under_a_uniform_sky() -> None:
    above = sky(5, 30.0)
    found = facade_luminance(above, 0.5, np.stack([X, Z, -X]))
    assert_allclose(found, [0.25, 0.5, 0.25], rtol=1e-3)  # pencil: ρ (πL/2)/π, ρ πL/π


def test_facade_gets_what_an_opening_that_faces_as_it_does_gets() -> None:
    """pencil: the sky and the ground by the other quadrature, the sun by its cosine."""
    clear = general_sky(
        12,
        sun_altitude_rad=math.radians(30.0),
        sun_azimuth_rad=0.3,
        horizontal_lux=12_000.0,
        sun_normal_lux=80_000.0,
        ground_reflectance=0.2,
    )
    turns = np.arange(12) * 2.0 * math.pi / 12
    ways = np.stack([np.cos(turns), np.sin(turns), 0.0 * turns], -1)
    falling = np.array([opening_illuminance(np.zeros(3), -way, clear) for way in ways])
    sun = 80_000.0 * np.maximum(0.0, ways @ np.array(clear.toward_sun))
    assert_allclose(facade_luminance(clear, 0.4, ways), 0.4 * (falling + sun) / math.pi, rtol=2e-3)
    assert_allclose(clear.ground_nit, 0.2 * 52_000.0 / math.pi)  # pencil


@pytest.mark.parametrize(
    ("changes", "what"),
    [
        ({"kind": 17}, "no such kind"),
        ({"sun_altitude_rad": -0.1}, "sun cannot stand"),
        ({"zenith_nit": 1.0, "horizontal_lux": 1.0}, "said once"),
        ({"zenith_nit": None}, "said once"),
        ({"zenith_nit": -1.0}, "light outside"),
        ({"sun_normal_lux": float("nan")}, "light outside"),
        ({"ground_reflectance": 1.5}, "ground outside"),
    ],
)
def test_impossible_skies_are_refused(changes: dict[str, float], what: str) -> None:
    given: dict[str, float] = {
        "kind": 12,
        "sun_altitude_rad": 0.5,
        "sun_azimuth_rad": 0.0,
        "zenith_nit": 4000.0,
    }
    given |= changes
    kind = int(given.pop("kind"))
    with pytest.raises(DaylightError, match=what):
        general_sky(kind, **given)
