"""The algebra of corrections: against pencil work, cvxpy, and slips put in on purpose."""

from __future__ import annotations

import math
from dataclasses import replace

import cvxpy as cp
import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from falloff.record.fit import Lines, covariance, good_readings, heavy_tailed, step

ALL = np.array([True, True])


def lines(
    rows: list[list[float]], off: list[float], *, spread: float = 0.2, prior: float = 0.4,
    limit: float = math.inf,
) -> Lines:  # fmt: skip
    count = len(rows[0])
    return Lines(
        rows=np.array(rows), off=np.array(off), x=np.zeros(count),
        spread=np.full(len(rows), spread), prior=np.full(count, prior),
        low=np.full(count, -limit), high=np.full(count, limit),
    )  # fmt: skip


def test_two_units_read_alone_by_pencil() -> None:
    # pencil: one unknown, one reading of it: x = off p² / (p² + σ²) = off 0.16 / 0.20 = 0.8 off;
    # variance left 1 / (1/0.16 + 1/0.04) = 0.032.
    asked = lines([[1.0, 0.0], [0.0, 1.0]], [1.0, -0.5])
    assert_allclose(step(asked, ALL), [0.8, -0.4], rtol=1e-9)
    left = covariance(asked.rows, asked.spread, asked.prior)
    assert_allclose(left, np.diag([0.032, 0.032]), atol=1e-12)


def test_two_units_read_together_by_pencil() -> None:
    # pencil: both give half of one reading that is one stop over: rows ½ ½. By symmetry both x are
    # alike; minimise ((1 − x)/0.2)² + 2 (x/0.4)²: 25 (1 − x) = 12.5 x, x = 2/3.
    asked = lines([[0.5, 0.5]], [1.0])
    assert_allclose(step(asked, ALL[:1]), [2 / 3, 2 / 3], rtol=1e-9)
    # Their sum is known (variance 2/(1/0.16 + 2·0.25/0.04) ...): along (1, 1) 1/(6.25 + 12.5),
    # across it nothing is learned: 0.16.
    left = covariance(asked.rows, asked.spread, asked.prior)
    along, across = np.array([1.0, 1.0]) / math.sqrt(2.0), np.array([1.0, -1.0]) / math.sqrt(2.0)
    assert_allclose(along @ left @ along, 1.0 / 18.75, rtol=1e-9)
    assert_allclose(across @ left @ across, 0.16, rtol=1e-9)


def test_a_general_problem_with_limits_is_that_of_cvxpy() -> None:
    rng = np.random.default_rng(3)
    rows, off = rng.random((5, 4)), 2.0 * rng.normal(size=5)
    asked = lines(rows.tolist(), off.tolist(), limit=0.3)
    x = cp.Variable(4)
    squares = cp.sum_squares  # type: ignore[attr-defined]
    cost = squares((off - rows @ x) / 0.2) + squares(x / 0.4)
    cp.Problem(cp.Minimize(cost), [x >= -0.3, x <= 0.3]).solve(solver=cp.CLARABEL)  # type: ignore[no-untyped-call]
    assert x.value is not None
    assert np.abs(x.value).max() > 0.299  # a limit binds
    assert_allclose(step(asked, np.ones(5, bool)), x.value, atol=1e-5)


def test_a_step_from_elsewhere_ends_at_the_same_place() -> None:
    asked = lines([[0.7, 0.2], [0.1, 0.9]], [0.6, -0.3])
    at = np.array([0.2, 0.1])
    moved = replace(asked, off=asked.off - asked.rows @ at, x=at)
    assert_allclose(step(moved, ALL), step(asked, ALL), rtol=1e-9)


def test_an_assumption_far_out_is_held_less_the_farther_it_is() -> None:
    prior = np.array([0.4])
    widths = [float(heavy_tailed(prior, np.array([x]))[0]) for x in (0.0, 0.4, 1.2, 2.4)]
    assert widths[0] == widths[1] == pytest.approx(0.4)  # never narrower than said
    # pencil: Student's t of five degrees: √((5 + z²) / 6), z = 3 and 6
    assert_allclose(widths[2:], 0.4 * np.sqrt([14.0 / 6.0, 41.0 / 6.0]), rtol=1e-9)


# Slips -----------------------------------------------------------------------------------

TEN = math.log2(10.0)


@pytest.mark.parametrize("slip", [TEN, -TEN, math.log2(10.764), -math.log2(10.764)])
def test_a_slip_among_good_readings_is_the_one_that_is_left_out(slip: float) -> None:
    off = [0.3, 0.2 + slip, 0.25, 0.1]
    asked = lines([[1, 0], [0.9, 0.1], [0.8, 0.2], [0.2, 0.8]], off)
    assert_array_equal(good_readings(asked, np.zeros(4, bool)), [True, False, True, True])


def test_a_slip_alone_is_told_by_what_was_assumed() -> None:
    assert not good_readings(lines([[1.0]], [TEN]), np.zeros(1, bool))[0]
    assert good_readings(lines([[1.0]], [1.0]), np.zeros(1, bool))[0]


def test_two_slips_do_not_hide_one_another() -> None:
    asked = lines([[1, 0], [0.9, 0.1], [0.8, 0.2], [0.2, 0.8], [0.0, 1.0]],
                  [0.1, TEN, TEN + 0.1, 0.0, 0.2])  # fmt: skip
    assert_array_equal(good_readings(asked, np.zeros(5, bool)), [True, False, False, True, True])


def test_what_is_believed_is_never_left_out() -> None:
    asked = lines([[1, 0], [0, 1]], [TEN, 0.1])
    assert good_readings(asked, np.array([True, False])).all()


def test_many_readings_are_looked_through_too() -> None:
    rng = np.random.default_rng(4)
    rows = rng.random((20, 4))
    off = rows @ np.array([0.3, -0.2, 0.1, 0.4]) + 0.15 * rng.normal(size=20)
    off[[3, 11]] += TEN
    good = good_readings(lines(rows.tolist(), off.tolist()), np.zeros(20, bool))
    assert_array_equal(np.flatnonzero(~good), [3, 11])


def test_good_readings_are_seldom_doubted() -> None:
    # By the model itself (spread of assumptions and of the meter): one in a thousand or so may be.
    rng = np.random.default_rng(8)
    rows = [[1.0, 0.0], [0.5, 0.5], [0.1, 0.9]]
    doubted = 0
    for _ in range(300):
        off = np.array(rows) @ (0.4 * rng.normal(size=2)) + 0.2 * rng.normal(size=3)
        doubted += int((~good_readings(lines(rows, off.tolist()), np.zeros(3, bool))).sum())
    assert doubted <= 9  # of 900
