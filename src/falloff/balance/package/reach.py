"""Which targets light at the places could bring in at all, of whatever strength."""

from __future__ import annotations

import math
from collections.abc import Sequence

from falloff.balance.bands import Columns, add_soft_term
from falloff.balance.package.problem import PackageProblem, alike_of, whole_problem
from falloff.balance.package.programme import (
    HELD,
    exposure_columns,
    fixed_columns,
    indifferent,
    is_there,
    usual_answer,
)
from falloff.balance.problem import Told
from falloff.balance.programme import Programme
from falloff.balance.terms import terms_of


class Reach:
    """Asks again and again which targets can hold together, with light of any strength anywhere.

    Each place's candidates shine as strong and as weak as one likes, several at once.
    """

    def __init__(self, problem: PackageProblem) -> None:
        groups = alike_of(problem)
        whole = whole_problem(problem, groups)
        programme, lights = Programme(), []
        for t in range(len(whole.tables)):
            mine = fixed_columns(programme, problem, t)
            for group in groups:
                most = math.inf if is_there(problem, group.place, t) else 0.0
                mine.append((programme.column(most=most),))
            lights.append(tuple(mine))
        exposures = exposure_columns(programme, whole)
        columns = [Columns.plain(light, exposures) for light in lights]
        self._programme = programme
        self._missed: dict[Told, list[int]] = {
            (table.setup, name): [] for table in whole.tables for name in table.targets
        }
        for term in terms_of(whole, usual_answer(problem, whole, groups)):
            before = len(programme.costs)
            add_soft_term(programme, whole, columns[term.table], indifferent(term))
            key = (whole.tables[term.table].setup, term.target)
            self._missed[key] += range(before, len(programme.costs))
        programme.costs = [0.0] * len(programme.costs)

    @property
    def targets(self) -> tuple[Told, ...]:
        """Every target of every setup."""
        return tuple(self._missed)

    def can_hold(self, targets: Sequence[Told]) -> bool:
        """Whether these targets can hold together."""
        for key, columns in self._missed.items():
            for column in columns:
                self._programme.most[column] = HELD if key in targets else math.inf
        return self._programme.solve() is not None


def hopeless_targets(problem: PackageProblem) -> frozenset[Told]:
    """The targets that cannot hold, each alone, whatever stands at the places."""
    reach = Reach(problem)
    return frozenset(one for one in reach.targets if not reach.can_hold([one]))
