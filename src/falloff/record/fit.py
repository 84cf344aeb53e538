"""Regularised least squares: what is assumed, with its spread, against what was read, with its.

Minimise Σ ((y − f(x)) / σ)² + Σ (x / p)² over x, where f is the plan's level of each reading in
log2, σ the spread of a reading and p that of each assumption. One step of it is linear; the caller
asks for f and its rows anew at every step, so that the last one is exact. The spread left is that
of the linear problem about the end. Source: A. Tarantola, "Inverse Problem Theory and Methods for
Model Parameter Estimation", SIAM 2005, section 3.2 (Gaussian priors and data).

A gross error is told by evidence: a reading is either good, or anything within twelve stops. The
set of good ones that makes all of it most likely is taken (a mixture of two, as in D. Sivia,
"Data Analysis: A Bayesian Tutorial", 2006, section 8.3).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.types import BoolArray, Float64Array

# What a reading is out by against others of the same meter: a tenth of a stop for the meter and a
# tenth for the hand that holds it. What is common to all its readings is the meter's calibration,
# and goes into the outputs. Common practice, no source.
READING_SPREAD_STOPS: Final = 0.15
# One reading in twenty is a slip, and a slip may be anything within six stops either way: common
# practice, no source. With these a lone reading is doubted from some 3.2 spreads on.
SLIP_CHANCE: Final = 0.05
_SLIP_RANGE_STOPS: Final = 12.0
_EVERY_SET: Final = 14  # readings up to which sets of slips are all tried
_MOST_SLIPS: Final = 3
_LONGEST_STEP: Final = 3.0


@dataclass(frozen=True, slots=True)
class Lines:
    """The linear problem about a point x (n,): rows (m, n), and how far each reading is off (m,).

    off: y − f(x), stops; spread: of each reading (m,); prior: of each assumption (n,); low, high:
    what x may be (n,).
    """

    rows: Float64Array
    off: Float64Array
    x: Float64Array
    spread: Float64Array
    prior: Float64Array
    low: Float64Array
    high: Float64Array

    def from_assumed(self) -> Float64Array:
        """How far each reading is off what was assumed (m,), by the line through x."""
        return np.asarray(self.off + self.rows @ self.x)


def step(lines: Lines, good: BoolArray) -> Float64Array:
    """The x (n,) that fits the good readings and the assumptions best, within its limits."""
    from scipy.optimize import lsq_linear

    weight = 1.0 / lines.spread[good]
    matrix = np.vstack([lines.rows[good] * weight[:, None], np.diag(1.0 / lines.prior)])
    wanted = np.concatenate([lines.from_assumed()[good] * weight, np.zeros(lines.prior.size)])
    low = np.maximum(lines.low, lines.x - _LONGEST_STEP)
    high = np.minimum(lines.high, lines.x + _LONGEST_STEP)
    found = lsq_linear(matrix, wanted, bounds=(low, np.maximum(high, low + 1e-9)), method="bvls")
    return np.asarray(found.x, np.float64)


def heavy_tailed(prior: Float64Array, x: Float64Array) -> Float64Array:
    """Spreads of the assumptions (n,) where they are at x: let go the farther, the farther out.

    Student's t with five degrees of freedom by reweighting, never narrower than said, so that a
    unit two stops weak is believed to be so, and not held back by what units usually are. Source:
    K. Lange, R. Little, J. Taylor, "Robust Statistical Modeling Using the t Distribution",
    J. Am. Stat. Assoc. 84(408), 1989.
    """
    freedom = 5.0
    out = (freedom + (x / prior) ** 2) / (freedom + 1.0)
    return np.asarray(prior * np.sqrt(np.maximum(1.0, out)))


def covariance(rows: Float64Array, spread: Float64Array, prior: Float64Array) -> Float64Array:
    """What is left of the spreads of the assumptions, and how they hang together (n, n)."""
    from scipy.linalg import cho_factor, cho_solve

    weighed = rows / spread[:, None]
    normal = weighed.T @ weighed + np.diag(1.0 / prior**2)
    return np.asarray(cho_solve(cho_factor(normal), np.eye(prior.size)))


def good_readings(lines: Lines, believed: BoolArray) -> BoolArray:
    """Which readings (m,) to take as good; those that are believed always are."""
    off, rows = lines.from_assumed(), lines.rows
    both = (rows * lines.prior**2) @ rows.T + np.diag(lines.spread**2)
    free = np.flatnonzero(~believed)
    best, best_score = np.ones(off.size, np.bool_), _score(off, both, np.ones(off.size, np.bool_))
    for slips in _sets_of_slips(free, off.size):
        good = np.ones(off.size, np.bool_)
        good[list(slips)] = False
        score = _score(off, both, good)
        if score > best_score:
            best, best_score = good, score
    if free.size > _MOST_SLIPS:
        best = _one_by_one(off, both, best, believed)
    return best


def _sets_of_slips(free: np.ndarray, count: int) -> Sequence[tuple[int, ...]]:
    most = min(_MOST_SLIPS, free.size) if count <= _EVERY_SET else 1
    return [
        tuple(int(i) for i in chosen)
        for size in range(1, most + 1)
        for chosen in itertools.combinations(free, size)
    ]


def _one_by_one(
    off: Float64Array, both: Float64Array, good: BoolArray, believed: BoolArray
) -> BoolArray:
    """Further slips beyond those of the best set, as long as each makes all more likely."""
    score = _score(off, both, good)
    while True:
        tried = []
        for i in np.flatnonzero(good & ~believed):
            less = good.copy()
            less[i] = False
            tried.append((_score(off, both, less), less))
        top = max(tried, key=lambda one: one[0], default=None)
        if top is None or top[0] <= score:
            return good
        score, good = top


def _score(off: Float64Array, both: Float64Array, good: BoolArray) -> float:
    """Log of how likely all readings are if these are good and the others slips."""
    count, slips = int(good.sum()), int((~good).sum())
    told = count * math.log(1.0 - SLIP_CHANCE) + slips * math.log(SLIP_CHANCE / _SLIP_RANGE_STOPS)
    if count == 0:
        return told
    part = both[np.ix_(good, good)]
    _, log_volume = np.linalg.slogdet(part)
    misfit = float(off[good] @ np.linalg.solve(part, off[good]))
    return told - 0.5 * (misfit + float(log_volume) + count * math.log(2.0 * math.pi))
