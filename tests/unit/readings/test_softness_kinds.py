"""How large tubes and the sun look."""

from __future__ import annotations

import math

import numpy as np
from numpy.testing import assert_allclose

from falloff.readings.softness import angular_size
from falloff.sources import sun, tube

WHITE = np.ones(3, np.float32)
POINT = np.array([0.0, -1.0, 0.0])


def test_a_tube_looks_as_long_and_as_thick_as_it_is() -> None:
    level = np.array([1.0, 0.0, 0.0])
    one = tube(
        "T", np.zeros(3), axis=level, length_m=1.2, radius_m=0.02, flux_lm=100.0, colour=WHITE
    )
    seen = angular_size(one, POINT, "HOST")
    # pencil: 2 atan(w/2d) at 1 m
    assert_allclose(seen.across_rad, 2.0 * math.atan(0.6), rtol=1e-9)
    assert_allclose(seen.upward_rad, 2.0 * math.atan(0.02), rtol=1e-9)
    assert_allclose(seen.distance_m, 1.0, rtol=1e-12)


def test_the_sun_is_half_a_degree_wide() -> None:
    one = sun("sun", toward_sun=np.array([0.0, 0.6, 0.8]), normal_lux=80000.0, colour=WHITE)
    seen = angular_size(one, POINT, "HOST")
    # source: its mean diameter, 0.533 degrees
    assert_allclose(math.degrees(seen.across_rad), 0.533, atol=1e-3)
    assert seen.distance_m > 1.4e11
