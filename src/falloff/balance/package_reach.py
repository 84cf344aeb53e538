"""Which targets light at the places could bring in at all, of whatever strength."""

from __future__ import annotations

import math
from collections.abc import Sequence

from falloff.balance.choices import Columns, Programme, add_soft_term
from falloff.balance.package import PackageProblem, alike_of, whole_problem
from falloff.balance.package_programme import (
    HELD,
    exposure_columns,
    fixed_columns,
    indifferent,
    is_there,
    usual_answer,
)
from falloff.balance.terms import terms_of


def hopeless_targets(problem: PackageProblem) -> frozenset[tuple[str, str]]:
    """The targets that cannot hold, each alone, whatever stands at the places."""
    return frozenset(
        (table.setup, name)
        for table in problem.fixed.tables
        for name in table.targets
        if not can_any_package(problem, [(table.setup, name)])
    )


def can_any_package(problem: PackageProblem, targets: Sequence[tuple[str, str]]) -> bool:
    """Whether these targets (setup, name) can hold together, with light of any strength anywhere.

    Each place's candidates shine as strong and as weak as one likes, several at once.
    """
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
    columns = [Columns(light, (), exposures) for light in lights]
    before = len(programme.costs)
    for term in terms_of(whole, usual_answer(problem, whole, groups)):
        if (whole.tables[term.table].setup, term.target) in targets:
            add_soft_term(programme, whole, columns[term.table], indifferent(term))
    for k in range(before, len(programme.costs)):
        programme.most[k] = HELD
    return programme.solve() is not None
