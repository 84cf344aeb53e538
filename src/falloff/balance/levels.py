"""Dims by bounded least squares in log light: the continuous part of a balance."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.balance.problem import LEAST_SHARE, Answer, Problem, coloured
from falloff.balance.residuals import light_at, residuals
from falloff.balance.terms import Term
from falloff.types import Float64Array

LEAST_STAY: Final = 0.005  # of a stop of change: as a sixth of a tolerance off the middle
_CLOSE: Final = 1e-6
_MOST_TURNS: Final = 60


@dataclass(frozen=True, slots=True)
class Levelled:
    """An answer with its dims settled, and how badly it misses: half the sum of squares."""

    answer: Answer
    cost: float


def settle_levels(
    problem: Problem,
    terms: tuple[Term, ...],
    start: Answer,
    *,
    held: frozenset[int] = frozenset(),
    stay: float = LEAST_STAY,
) -> Levelled:
    """The dims that bring the terms nearest, colours and exposure as in `start`.

    Lights that are off in `start` stay off, those that are held or not free stay as they are; every
    other is kept between its lowest and its highest. stay: how reluctantly a dim is moved; where
    it matters to no target it stays.
    """
    from scipy.optimize import least_squares

    rgb = coloured(problem, start.colours)
    exposures = tuple(
        table.exposure_stops(k) for table, k in zip(problem.tables, start.exposures, strict=True)
    )
    free = np.array(
        [
            lever.dims and s not in held and start.shares[s] > 0.0
            for s, lever in enumerate(problem.levers)
        ],
        bool,
    )
    low = np.log2([max(lever.lowest, LEAST_SHARE) for lever in problem.levers])[free]
    high = np.log2([lever.highest for lever in problem.levers])[free]
    # What one would keep: as it stands, where that lies within.
    kept = np.clip(np.log2(np.maximum(problem.now, LEAST_SHARE))[free], low, high)
    begun = np.clip(np.log2(np.maximum(start.shares, LEAST_SHARE))[free], low, high)

    def shares_of(stops: Float64Array) -> Float64Array:
        shares = start.shares.copy()
        shares[free] = 2.0**stops
        return shares

    last: dict[str, tuple[Float64Array, Float64Array, Float64Array]] = {}

    def both(stops: Float64Array) -> tuple[Float64Array, Float64Array]:
        if "at" not in last or not np.array_equal(last["at"][0], stops):
            found, slope = residuals(terms, light_at(problem, rgb, shares_of(stops)), exposures)
            last["at"] = (stops.copy(), found, slope[:, free])
        _, found, slope = last["at"]
        whole = np.concatenate([found, stay * (stops - kept)])
        return whole, np.concatenate([slope, stay * np.eye(len(stops))])

    if not free.any():
        found, _ = residuals(terms, light_at(problem, rgb, start.shares), exposures)
        return Levelled(start, 0.5 * float(found @ found))
    solved = least_squares(
        lambda stops: both(stops)[0],
        begun,
        jac=lambda stops: both(stops)[1],
        bounds=(low - 1e-9, high + 1e-9),
        method="trf",
        xtol=_CLOSE,
        ftol=_CLOSE,
        gtol=1e-9,
        max_nfev=_MOST_TURNS,
    )
    shares = shares_of(np.clip(solved.x, low, high))
    return Levelled(Answer(shares, start.colours, start.exposures), float(solved.cost))
