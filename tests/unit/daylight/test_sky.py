"""The traditional overcast sky and the ground under it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.reference.scenes.stages import WHITE

from falloff.daylight import overcast_sky
from falloff.errors import DaylightError
from falloff.sources import sky_opening
from falloff.units import Lux

X, Y, Z = np.eye(3)


def test_zenith_of_the_overcast_sky() -> None:
    sky = overcast_sky(Lux(10_000.0))
    assert_allclose(sky.horizontal_lux / sky.zenith_nit, 2.443461, rtol=1e-6)  # source: SKY-2, 7π/9


def test_horizontal_opening_receives_what_the_sky_gives() -> None:
    sky = overcast_sky(Lux(10_000.0), ground_reflectance=0.0)
    roof = sky_opening("roof", np.zeros(3), edge_u=Y, edge_v=X, daylight=sky, colour=WHITE)
    assert_allclose(roof.flux_lm, 10_000.0, rtol=1e-4)  # source: SKY-2, one square metre


def test_vertical_opening_receives_its_share() -> None:
    sky = overcast_sky(Lux(10_000.0), ground_reflectance=0.0)
    window = sky_opening("window", np.zeros(3), edge_u=X, edge_v=Z, daylight=sky, colour=WHITE)
    assert_allclose(window.flux_lm / 10_000.0, 0.396177, atol=1e-4)  # source: SKY-3


def test_ground_adds_half_of_what_it_sends_up() -> None:
    bare, snow = (
        sky_opening(
            "window",
            np.zeros(3),
            edge_u=X,
            edge_v=Z,
            colour=WHITE,
            daylight=overcast_sky(Lux(10_000.0), ground_reflectance=ground),
        ).flux_lm
        for ground in (0.0, 0.8)
    )
    # pencil: a matte ground fills half of a wall's view, π L/2 = ρ E/2
    assert_allclose(snow - bare, 0.5 * 0.8 * 10_000.0, rtol=1e-4)


def test_ground_is_matte() -> None:
    sky = overcast_sky(Lux(5_000.0), ground_reflectance=0.3)
    assert_allclose(sky.ground_nit, 0.3 * 5_000.0 / math.pi, rtol=1e-12)  # pencil: L = ρE/π


def test_night_is_dark() -> None:
    sky = overcast_sky(Lux(0.0))
    assert (sky.zenith_nit, sky.ground_nit) == (0.0, 0.0)


@pytest.mark.parametrize("lux", [-1.0, float("nan"), float("inf")])
def test_impossible_light_is_refused(lux: float) -> None:
    with pytest.raises(DaylightError, match="light outside"):
        overcast_sky(Lux(lux))


@pytest.mark.parametrize("ground", [-0.1, 1.01, float("nan")])
def test_impossible_ground_is_refused(ground: float) -> None:
    with pytest.raises(DaylightError, match="ground outside"):
        overcast_sky(Lux(1_000.0), ground_reflectance=ground)
