"""Closed forms at their corners: behind, inside, on the horizon."""

from __future__ import annotations

import math

import numpy as np
from numpy.testing import assert_allclose

from falloff.transport.closed_form import quad_irradiance, sphere_irradiance

UP = (0.0, 0.0, 1.0)
SQUARE = np.array([-0.5, -0.5, 1.0, 1.0, 0.0, 0.0, 0.0, 1.0, 0.0])


def test_quad_below_the_horizon_gives_nothing() -> None:
    assert quad_irradiance(0.0, 0.0, 2.0, *UP, SQUARE) == 0.0  # pencil


def test_quad_is_the_sum_of_its_halves() -> None:
    left, right = SQUARE.copy(), SQUARE.copy()
    left[3], right[0], right[3] = 0.5, 0.0, 0.5
    normal = (0.3, -0.2, math.sqrt(1.0 - 0.13))
    whole = quad_irradiance(0.1, 0.2, 0.0, *normal, SQUARE)
    halves = sum(quad_irradiance(0.1, 0.2, 0.0, *normal, half) for half in (left, right))
    assert_allclose(whole, halves, rtol=1e-6)  # pencil


def test_infinite_ceiling_fills_the_view() -> None:
    wide = np.array([-1e5, -1e5, 1.0, 2e5, 0.0, 0.0, 0.0, 2e5, 0.0])
    assert_allclose(quad_irradiance(0.0, 0.0, 0.0, *UP, wide), math.pi, rtol=1e-6)  # pencil
    assert_allclose(  # pencil: half of it, above a wall's horizon
        quad_irradiance(0.0, 0.0, 0.0, 1.0, 0.0, 0.0, wide), 0.5 * math.pi, rtol=1e-4
    )


def test_quad_from_its_own_plane() -> None:
    """pencil: a receiver in the quad's plane, square to it, sees no area."""
    assert_allclose(quad_irradiance(2.0, 0.0, 1.0, *UP, SQUARE), 0.0, atol=1e-6)


def test_inside_a_ball_all_is_bright() -> None:
    ball = np.array([0.0, 0.0, 0.1, 0.3])
    assert_allclose(sphere_irradiance(0.0, 0.0, 0.0, *UP, ball), math.pi)  # pencil


def test_ball_behind_gives_nothing() -> None:
    assert sphere_irradiance(0.0, 0.0, 0.0, *UP, np.array([0.0, 0.0, -1.0, 0.3])) == 0.0  # pencil


def test_ball_half_sunk_is_continuous() -> None:
    """pencil: the cut form meets the whole one where the ball touches the horizon."""
    touching = np.array([math.sqrt(1.0 - 0.09), 0.0, 0.3, 0.3])
    lower = touching.copy()
    lower[2] -= 1e-6
    assert_allclose(
        sphere_irradiance(0.0, 0.0, 0.0, *UP, lower),
        sphere_irradiance(0.0, 0.0, 0.0, *UP, touching),
        atol=1e-5,
    )
