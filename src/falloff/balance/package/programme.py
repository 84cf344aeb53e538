"""The smallest package that brings targets in, as one mixed-integer linear programme.

First what targets are missed by is least, then the day's hire, then pieces, then weight, then what
hopeless targets are missed by, then the change of exposure: each is held while the next is made
least. Light is linear, so each target's band is as in `choices`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from falloff.balance.bands import Columns, add_soft_term
from falloff.balance.package.bounds import lay_circuits, lay_counts, lay_stands
from falloff.balance.package.problem import (
    NEARLY_OUT,
    Alike,
    Chosen,
    Limits,
    PackageProblem,
    PlaceToFill,
    alike_of,
    hire_of,
    whole_problem,
)
from falloff.balance.problem import AS_IT_STANDS, Answer, Problem
from falloff.balance.programme import Programme
from falloff.balance.terms import LevelTerm, Term, terms_of
from falloff.types import Float64Array

ALL_LIMITS: Final = Limits()
HELD: Final = 2e-6  # of targets' scales, below which nothing is missed: the solver's own tolerance
_CHEAPER: Final = 0.005  # of the currency
_KG: Final = 1e-3  # of a piece: weight decides between packages of as many pieces
_WITHOUT_END: Final = 64.0  # pieces of one stock, and stops over full where no reserve is kept
_TIME_LIMIT_S: Final = 15.0
_GAP: Final = 1e-6
_ROOM: Final = 1e-4  # of the currency and of a piece, for what comes after


@dataclass(frozen=True, slots=True)
class Laid:
    """A programme and where it has what: candidates taken, circuits, stands, light, pieces.

    missed, lost: what each column costs by targets that may hold, and by hopeless ones.
    """

    programme: Programme
    groups: tuple[Alike, ...]
    taken: tuple[tuple[int, ...], ...]
    circuits: tuple[tuple[tuple[str, int], ...], ...]
    stands: tuple[tuple[tuple[int, int], ...], ...]
    columns: tuple[Columns, ...]
    packed: tuple[int, ...]
    missed: tuple[float, ...]
    lost: tuple[float, ...]


def choose_package(
    problem: PackageProblem,
    *,
    limits: Limits = ALL_LIMITS,
    below: Chosen | None = None,
    banned: Sequence[tuple[str, str]] = (),
) -> Chosen | None:
    """The best package; None where there is none at all.

    below: one that is to be undercut, by its hire, or in pieces where nothing is hired; banned:
    candidates by place and name that are not to be taken.
    """
    laid = _lay(problem, limits, banned)
    hire = [one.day_rate for one in problem.stock]
    if below is not None:
        cost = hire_of(problem, below.packed)
        if cost > _CHEAPER:
            _cap(laid, hire, cost - _CHEAPER)
        else:
            _cap(laid, hire, cost)
            _cap(laid, [1.0] * len(hire), below.pieces - 0.5)
    missed = list(laid.missed)
    found = _least(laid.programme, missed)
    if found is None:
        return None
    least = float(np.dot(missed, found))
    hold = {k: one for k, one in enumerate(missed) if one > 0.0}
    if least <= HELD * max(1.0, sum(missed)):
        for k in hold:
            laid.programme.most[k] = HELD
        least = 0.0
    else:
        laid.programme.row(hold, -math.inf, least * (1.0 + 1e-4) + HELD)
    small = [1.0 + _KG * one.weight_kg for one in problem.stock]
    for costs, room in (
        (_of(laid, hire), _ROOM),
        (_of(laid, small), _ROOM),
        (list(laid.lost), HELD),
        (_by_exposure(problem, laid), HELD),
    ):
        if not any(costs):
            continue
        better = _least(laid.programme, costs)
        if better is None:
            break
        found = better
        most = float(np.dot(costs, found)) * (1.0 + 1e-6) + room
        laid.programme.row({k: one for k, one in enumerate(costs) if one}, -math.inf, most)
    return replace(_read(problem, laid, found), missed=least)


def can_hold_all(
    problem: PackageProblem,
    *,
    limits: Limits = ALL_LIMITS,
    banned: Sequence[tuple[str, str]] = (),
) -> bool:
    """Whether any package holds every target that is not hopeless."""
    laid = _lay(problem, limits, banned)
    for k, one in enumerate(laid.missed):
        if one > 0.0:
            laid.programme.most[k] = HELD
    return _least(laid.programme, [0.0] * len(laid.programme.costs)) is not None


# Laying out ------------------------------------------------------------------------------


def _lay(problem: PackageProblem, limits: Limits, banned: Sequence[tuple[str, str]]) -> Laid:
    programme = Programme()
    groups = alike_of(problem)
    whole = whole_problem(problem, groups)
    taken = tuple(
        tuple(
            programme.column(most=0.0 if (place.name, one.name) in banned else 1.0, whole=True)
            for one in place.candidates
        )
        for place in problem.places
    )
    for mine in taken:
        if mine:
            programme.row(dict.fromkeys(mine, 1.0), 0.0, 1.0)
    packed = tuple(
        programme.column(
            most=_WITHOUT_END if one.count is None or not limits.counts else float(one.count)
        )
        for one in problem.stock
    )
    circuits = lay_circuits(programme, problem, taken, limits)
    stands = lay_stands(programme, problem, taken, limits)
    lay_counts(programme, problem, taken, stands, packed)
    top = problem.highest if limits.reserve else 1.0
    exposures = exposure_columns(programme, whole)
    columns = tuple(
        Columns.plain(_lay_light(programme, problem, t, taken, groups, top), exposures)
        for t in range(len(whole.tables))
    )
    before = len(programme.costs)
    terms = terms_of(whole, usual_answer(problem, whole, groups))
    hopeless = [(whole.tables[one.table].setup, one.target) in problem.hopeless for one in terms]
    ends = []
    for which in (False, True):
        for term, is_lost in zip(terms, hopeless, strict=True):
            if is_lost is which:
                add_soft_term(programme, whole, columns[term.table], indifferent(term))
        ends.append(len(programme.costs))
    soft = programme.costs[before : ends[0]]
    missed = (*([0.0] * before), *soft, *([0.0] * (ends[1] - ends[0])))
    lost = (*([0.0] * ends[0]), *programme.costs[ends[0] :])
    return Laid(programme, groups, taken, circuits, stands, columns, packed, missed, lost)


def _lay_light(
    programme: Programme,
    problem: PackageProblem,
    t: int,
    taken: tuple[tuple[int, ...], ...],
    groups: tuple[Alike, ...],
    top: float,
) -> tuple[tuple[int, ...], ...]:
    """Each source's share of its light in one setup: nothing, or between its lowest and the top."""
    light = fixed_columns(programme, problem, t)
    for group in groups:
        p = group.place
        amount = programme.column(most=math.inf if is_there(problem, p, t) else 0.0)
        tops = {
            taken[p][k]: -top * strength
            for k, strength in zip(group.members, group.strengths, strict=True)
        }
        programme.row({amount: 1.0} | tops, -math.inf, 0.0)
        if group.lowest > NEARLY_OUT:
            low = min(group.lowest, top)
            lit = programme.column(most=1.0, whole=True)
            programme.row({amount: 1.0, lit: -top}, -math.inf, 0.0)
            programme.row({amount: 1.0, lit: -low}, 0.0, math.inf)
        light.append((amount,))
    return tuple(light)


def fixed_columns(programme: Programme, problem: PackageProblem, t: int) -> list[tuple[int, ...]]:
    """What gives light and stays, in one setup."""
    now = problem.fixed.tables[t].now
    return [(programme.column(least=float(one), most=float(one)),) for one in now]


def exposure_columns(programme: Programme, whole: Problem) -> tuple[tuple[int, ...], ...]:
    """Which exposure each setup has: one of those that its camera may be set to."""
    found = []
    for table in whole.tables:
        mine = tuple(programme.column(most=1.0, whole=True) for _ in table.exposures)
        if mine:
            programme.row(dict.fromkeys(mine, 1.0), 1.0, 1.0)
        found.append(mine)
    return tuple(found)


def is_there(problem: PackageProblem, p: int, t: int) -> bool:
    """Whether a place is there in a setup."""
    return problem.places[p].heights_m[problem.arrangement[t]] is not None


# Solving and reading ---------------------------------------------------------------------


def _of(laid: Laid, aim: Sequence[float]) -> list[float]:
    """What a sum over pieces packed costs, column by column."""
    costs = [0.0] * len(laid.programme.costs)
    for column, one in zip(laid.packed, aim, strict=True):
        costs[column] = one
    return costs


def _by_exposure(problem: PackageProblem, laid: Laid) -> list[float]:
    """What each setup's change of exposure costs."""
    costs = [0.0] * len(laid.programme.costs)
    for t, (table, columns) in enumerate(zip(problem.fixed.tables, laid.columns, strict=True)):
        for column, choice in zip(columns.exposure[t], table.exposures, strict=True):
            costs[column] = choice.costs
    return costs


def _cap(laid: Laid, aim: Sequence[float], most: float) -> None:
    row = {column: one for column, one in zip(laid.packed, aim, strict=True) if one}
    if row:
        laid.programme.row(row, -math.inf, most)


def _least(programme: Programme, costs: Sequence[float]) -> Float64Array | None:
    programme.costs = list(costs)
    return programme.solve(time_limit_s=_TIME_LIMIT_S, gap=_GAP)


def indifferent(term: Term) -> Term:
    """A term that is indifferent within its band."""
    return replace(term, pull=False) if isinstance(term, LevelTerm) else term


def usual_answer(problem: PackageProblem, whole: Problem, groups: tuple[Alike, ...]) -> Answer:
    """What colours are told about: what is fixed as it is, each place's first candidate lit."""
    shares, start = whole.now.copy(), len(problem.fixed.levers)
    for g, group in enumerate(groups):
        if 0 in group.members:
            shares[start + g] = problem.highest
    return Answer(shares, (AS_IT_STANDS,) * len(whole.levers), (0,) * len(whole.tables))


def _read(problem: PackageProblem, laid: Laid, found: Float64Array) -> Chosen:
    candidates = tuple(
        next((k for k, column in enumerate(mine) if found[column] > 0.5), None)
        for mine in laid.taken
    )
    start = len(problem.fixed.levers)
    shares = np.zeros((len(laid.columns), len(problem.places)))
    for t, columns in enumerate(laid.columns):
        for g, group in enumerate(laid.groups):
            k = candidates[group.place]
            if k in group.members:
                strength = group.strengths[group.members.index(k)]
                amount = float(found[columns.light[start + g][0].switch])
                shares[t, group.place] = max(0.0, amount) / strength
    exposures = tuple(
        int(np.argmax([found[one] for one in columns.exposure[t]])) if columns.exposure[t] else 0
        for t, columns in enumerate(laid.columns)
    )
    circuits = tuple(
        next((name for name, column in plugs if found[column] > 0.5), "")
        if candidates[p] is not None
        else ""
        for p, plugs in enumerate(laid.circuits)
    )
    stands = tuple(tuple(i for i, column in mine if found[column] > 0.5) for mine in laid.stands)
    return Chosen(
        candidates=candidates,
        circuits=circuits,
        stands=stands,
        shares=shares,
        exposures=exposures,
        packed=_packed(problem, candidates, stands),
        missed=0.0,
    )


def _packed(
    problem: PackageProblem,
    candidates: tuple[int | None, ...],
    stands: tuple[tuple[int, ...], ...],
) -> tuple[int, ...]:
    """The most of each stock that stands at once in any arrangement."""
    most = np.zeros(len(problem.stock), int)
    for a in range(problem.arrangements):
        here = np.zeros(len(problem.stock), int)
        for p, k in enumerate(candidates):
            place: PlaceToFill = problem.places[p]
            if k is None or place.heights_m[a] is None:
                continue
            for part in (*place.candidates[k].parts, *stands[p]):
                here[part] += 1
        most = np.maximum(most, here)
    return tuple(int(one) for one in most)
