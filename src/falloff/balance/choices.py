"""Which lights are on, which colour each has, which exposure: a mixed-integer linear programme."""

from __future__ import annotations

import math
import time
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Final, Generic, TypeVar

import numpy as np

from falloff.balance.bands import (
    OFF_CENTRE,
    Columns,
    Way,
    add_soft_term,
    draw_in,
    hard_rows,
    typical,
)
from falloff.balance.problem import (
    KNOB_COSTS,
    LEAST_SHARE,
    WEIGHTS,
    Answer,
    Lever,
    Problem,
)
from falloff.balance.programme import TIME_LIMIT_S, Programme, Undecided
from falloff.balance.terms import LevelTerm, Term, totals
from falloff.types import Float64Array

_TURNED: Final = 1.0  # tolerances off the middle that putting a light on or out is worth
_NEAR: Final = 1e-7
_DARK: Final = 0.25  # of the usual light, under which misses are counted anew
_DARKEST: Final = 1e-3
_MOST_OF_IT: Final = 0.7  # of the time, for the first
Key = TypeVar("Key", bound=Hashable)


def choose(
    problem: Problem, terms: Sequence[Term], *, time_limit_s: float = TIME_LIMIT_S
) -> Answer | None:
    """Choices and dims that miss the targets least, by sums of stops told linearly.

    None where the solver found nothing in its time. Dims are a start for `settle_levels`. Where
    readings are much darker in the answer than as things stand, their misses are counted anew.
    """
    begun = time.monotonic()
    found = _chosen(problem, terms, {}, _MOST_OF_IT * time_limit_s)
    if found is None:
        return None
    dark = _dark(problem, terms, found)
    left = time_limit_s - (time.monotonic() - begun)
    again = _chosen(problem, terms, dark, left) if dark and left > 0.0 else None
    return again or found


def _chosen(
    problem: Problem,
    terms: Sequence[Term],
    dark: Mapping[tuple[int, int], float],
    time_limit_s: float,
) -> Answer | None:
    programme = Programme()
    columns = replace(_levers(programme, problem), dark=dark)
    for term in terms:
        add_soft_term(programme, problem, columns, term)
        if not isinstance(term, LevelTerm):
            draw_in(programme, problem, columns, term)
    try:
        found = programme.solve(time_limit_s=time_limit_s)
    except Undecided:
        return None
    return None if found is None else _answer(problem, columns, found)


def _dark(problem: Problem, terms: Sequence[Term], answer: Answer) -> dict[tuple[int, int], float]:
    """Readings of colours, or that others are told over, with what light is left of the usual."""
    lights, found = totals(problem, answer), {}
    for term in terms:
        k = term.over if isinstance(term, LevelTerm) else term.reading
        if k is None:
            continue
        usual = typical(problem, problem.tables[term.table], k)
        share = float(lights[term.table][k] @ WEIGHTS) / max(usual, 1e-9)
        if share < _DARK:
            found[term.table, k] = max(share, _DARKEST)
    return found


def choose_dims(
    problem: Problem, terms: Sequence[Term], answer: Answer, *, time_limit_s: float = TIME_LIMIT_S
) -> Answer | None:
    """As `choose`, but colours and exposures stay as they are in an answer: dims, out and on."""
    fixed = with_choices(problem, answer)
    levers = tuple(
        replace(one, lowest=lever.lowest)
        for one, lever in zip(fixed.levers, problem.levers, strict=True)
    )
    found = choose(replace(fixed, levers=levers), terms, time_limit_s=time_limit_s)
    return None if found is None else replace(found, exposures=answer.exposures)


def choose_again(
    problem: Problem, terms: Sequence[Term], answer: Answer, *, time_limit_s: float = TIME_LIMIT_S
) -> Answer | None:
    """As `choose`, but gels and what is no mix stay as they are in an answer.

    None where nothing is left to choose, or the solver found nothing in its time.
    """
    mixes = any(lever.mixing is not None for lever in problem.levers)
    if not mixes and all(len(table.exposures) < 2 for table in problem.tables):
        return None
    levers = tuple(
        replace(lever, colours=(choice,))
        for lever, choice in zip(problem.levers, answer.colours, strict=True)
    )
    return choose(replace(problem, levers=levers), terms, time_limit_s=time_limit_s)


def can_hold(problem: Problem, terms: Iterable[Term]) -> bool:
    """Whether these terms can all hold at once, whatever the dims, colours and exposure.

    Where that cannot be told in time, they are not called impossible.
    """
    try:
        return Holding(problem, {"all": tuple(terms)}).find(("all",)) is not None
    except Undecided:
        return True


class Holding(Generic[Key]):
    """Asks again and again which targets can hold together; the rows are put together once.

    terms: of each target, by any key.
    """

    def __init__(self, problem: Problem, terms: Mapping[Key, Sequence[Term]]) -> None:
        self._levers = Programme()
        columns = _levers(self._levers, problem)
        self._rows = {
            key: [row for term in mine for row in hard_rows(problem, columns, term)]
            for key, mine in terms.items()
        }

    def find(
        self, keys: Iterable[Key], *, time_limit_s: float = TIME_LIMIT_S
    ) -> frozenset[Key] | None:
        """All that holds at a point where these hold; None where they cannot hold together.

        Raises Undecided where that cannot be told in time.
        """
        wanted = [row for key in keys for row in self._rows[key]]
        found = self._levers.with_rows(wanted).solve(time_limit_s=time_limit_s)
        if found is None:
            return None
        return frozenset(
            key
            for key, rows in self._rows.items()
            if all(
                sum(value * found[column] for column, value in entries.items()) <= most + _NEAR
                for entries, most in rows
            )
        )


def with_choices(problem: Problem, answer: Answer) -> Problem:
    """The problem with the colours and exposures of an answer, and nothing left but its dims.

    Any light may be as low as one likes: a linear programme then says whether dims can do it.
    """
    levers = tuple(
        replace(
            lever,
            colours=(choice,),
            mixing=None,
            lowest=0.0 if lever.free and lever.can_go_out else lever.lowest,
        )
        for lever, choice in zip(problem.levers, answer.colours, strict=True)
    )
    tables = tuple(
        replace(table, exposures=(table.exposures[k],) if table.exposures else ())
        for table, k in zip(problem.tables, answer.exposures, strict=True)
    )
    return replace(problem, levers=levers, tables=tables)


# Levers and exposures --------------------------------------------------------------------


def _levers(programme: Programme, problem: Problem) -> Columns:
    light = tuple(_ways(programme, lever) for lever in problem.levers)
    exposure = []
    for table in problem.tables:
        choices_here = [
            programme.column(OFF_CENTRE * one.costs, most=1.0, whole=True)
            for one in table.exposures
        ]
        if choices_here:
            programme.row(dict.fromkeys(choices_here, 1.0), 1.0, 1.0)
        exposure.append(tuple(choices_here))
    return Columns(light, tuple(exposure))


def _ways(programme: Programme, lever: Lever) -> tuple[Way, ...]:
    """The ways in which a light can be on, at most one of them."""
    lows, highs = (lever.lowest, lever.highest) if lever.free else (lever.now, lever.now)
    choices = lever.colours if lever.free else lever.colours[:1]
    mixing = lever.mixing if lever.free else None
    if len(choices) == 1 and mixing is None and lows == 0.0:  # no choice: a plain amount
        alone = programme.column(most=max(highs, 1e-9))
        return (Way(choices[0], alone, ((alone, choices[0].rgb),)),)
    # A light that is on is not put out, nor one that is off lit, for nothing.
    turned = -_TURNED if lever.now > 0.0 else _TURNED
    found: list[Way] = []
    for choice in choices:
        amount = programme.column(most=max(highs, 1e-9))
        switch = programme.column(OFF_CENTRE * (choice.costs + turned), most=1.0, whole=True)
        programme.row({amount: 1.0, switch: -lows}, 0.0, math.inf)
        programme.row({amount: 1.0, switch: -highs}, -math.inf, 0.0)
        found.append(Way(choice, switch, ((amount, choice.rgb),)))
    if mixing is not None:
        switch = programme.column(OFF_CENTRE * (KNOB_COSTS + turned), most=1.0, whole=True)
        drives = [programme.column(most=1.0) for _ in mixing.rgb]
        for drive in drives:
            programme.row({drive: 1.0, switch: -highs}, -math.inf, 0.0)
        light = (mixing.rgb * mixing.colour) @ WEIGHTS
        mixed = {drive: float(one) for drive, one in zip(drives, light, strict=True)}
        programme.row(mixed | {switch: -lows}, 0.0, math.inf)
        found.append(Way(None, switch, tuple(zip(drives, mixing.rgb, strict=True))))
    least = 0.0 if lever.free and lever.can_go_out else 1.0
    programme.row({one.switch: 1.0 for one in found}, least, 1.0)
    return tuple(found)


def _answer(problem: Problem, columns: Columns, found: Float64Array) -> Answer:
    shares, colours = np.zeros(len(problem.levers)), []
    for s, lever in enumerate(problem.levers):
        way = max(columns.light[s], key=lambda one: found[one.switch])
        amounts = np.array([found[column] for column, _ in way.parts])
        if way.choice is None and lever.mixing is not None and amounts.max() > LEAST_SHARE:
            choice, share = lever.mixing.mixed(np.maximum(amounts, 0.0))
        else:
            choice, share = way.choice or lever.colours[0], float(amounts[0])
        is_on = found[way.switch] >= 0.5 or len(columns.light[s]) == 1
        shares[s] = max(0.0, share) if is_on else 0.0
        colours.append(choice if is_on else lever.colours[0])
        if not lever.free:
            shares[s] = lever.now
        elif shares[s] > 0.0:
            shares[s] = min(max(shares[s], lever.lowest), lever.highest)
    exposures = tuple(
        int(np.argmax([found[one] for one in mine])) if mine else 0 for mine in columns.exposure
    )
    return Answer(shares, tuple(colours), exposures)
