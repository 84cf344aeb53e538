"""A mixed-integer linear programme as it is put together, solved by HiGHS."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from falloff.types import Float64Array

TIME_LIMIT_S: Final = 1.0
_OUT_OF_TIME: Final = 1  # scipy's word for it
_GAP: Final = 0.01


class Undecided(Exception):
    """A programme whose time was over before anything was known of it."""


@dataclass(slots=True)
class Programme:
    """A linear programme as it is put together: columns with costs and bounds, rows with bounds."""

    costs: list[float] = field(default_factory=list)
    least: list[float] = field(default_factory=list)
    most: list[float] = field(default_factory=list)
    whole: list[int] = field(default_factory=list)
    rows: list[dict[int, float]] = field(default_factory=list)
    row_least: list[float] = field(default_factory=list)
    row_most: list[float] = field(default_factory=list)

    def column(
        self, cost: float = 0.0, least: float = 0.0, most: float = math.inf, *, whole: bool = False
    ) -> int:
        """A new variable; its number."""
        self.costs.append(cost)
        self.least.append(least)
        self.most.append(most)
        self.whole.append(int(whole))
        return len(self.costs) - 1

    def row(self, entries: dict[int, float], least: float, most: float) -> None:
        """Least <= sum of entries times their variables <= most."""
        self.rows.append(entries)
        self.row_least.append(least)
        self.row_most.append(most)

    def with_rows(self, rows: Iterable[tuple[dict[int, float], float]]) -> Programme:
        """The same with more rows, each with the most that it may come to."""
        more = list(rows)
        return Programme(
            self.costs,
            self.least,
            self.most,
            self.whole,
            [*self.rows, *(entries for entries, _ in more)],
            [*self.row_least, *(-math.inf for _ in more)],
            [*self.row_most, *(most for _, most in more)],
        )

    def solve(
        self, *, time_limit_s: float = TIME_LIMIT_S, gap: float = _GAP
    ) -> Float64Array | None:
        """The best values of the variables (n,), None where there are none that keep every row.

        Raises Undecided where the time was over before either was known.
        """
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csr_array

        counts = [len(row) for row in self.rows]
        matrix = csr_array(
            (
                np.array([value for row in self.rows for value in row.values()]),
                np.array([column for row in self.rows for column in row], np.int32),
                np.concatenate([[0], np.cumsum(counts)]).astype(np.int32),
            ),
            shape=(len(self.rows), len(self.costs)),
        )
        found = milp(
            np.array(self.costs),
            integrality=np.array(self.whole),
            bounds=Bounds(np.array(self.least), np.array(self.most)),
            constraints=LinearConstraint(matrix, np.array(self.row_least), np.array(self.row_most)),
            options={"time_limit": time_limit_s, "mip_rel_gap": gap},
        )
        if found.x is not None:
            return np.asarray(found.x, np.float64)
        if found.status == _OUT_OF_TIME:
            raise Undecided
        return None
