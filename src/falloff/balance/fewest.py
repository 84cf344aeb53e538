"""The fewest dims to touch: what need not move stays, and the rest are whole per cents."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

import numpy as np

from falloff.balance.judging import judged, short_of
from falloff.balance.levels import Levelled, settle_levels
from falloff.balance.problem import LEAST_SHARE, WEIGHTS, Answer, Problem, Told, as_it_stands
from falloff.balance.terms import Term, gains, terms_of
from falloff.document import KeepTarget
from falloff.kit.catalogue import knob_share, light_share
from falloff.readings import AS_A_STOP, Judged
from falloff.types import Float64Array

BYSTANDER: Final = 0.15  # of a reading's light, below which a light gives little of it
_HAIR: Final = 0.02  # of what is as bad as a stop
_IN_HAND: Final = 0.05  # common practice, no source: less is at the edge
_STAYS: Final = (0.06, 0.03, 0.015)  # how reluctantly dims are moved, the most first
_TENTHS_BELOW: Final = 10.0  # per cent


def with_fewest_changes(problem: Problem, terms: tuple[Term, ...], found: Levelled) -> Answer:
    """The answer with dims left as they are, or near that, where it can be; in whole per cent.

    Lights that give little of what is asked for are left alone if the others can do it. A dim is
    left where no target that held is lost by it or stands at its edge, and none is missed by more
    than a hair.
    """
    start = as_it_stands(problem)
    best, held = _without_bystanders(problem, terms, found).answer, frozenset[int]()
    reached = judged(problem, best)
    for stay in _STAYS:
        tried = settle_levels(problem, terms, best, stay=stay)
        if _as_good(reached, judged(problem, tried.answer)):
            best = tried.answer
            break
    both = [np.log2(np.maximum(one.shares, LEAST_SHARE)) for one in (best, start)]
    for s in np.argsort(np.abs(both[0] - both[1])):
        lever = problem.levers[s]
        if not lever.free or best.shares[s] <= 0.0 or lever.now <= 0.0 or best.colours[s].name:
            continue
        shares = best.shares.copy()
        shares[s] = np.clip(lever.now, lever.lowest, lever.highest)
        begun = replace(best, shares=shares)
        left = settle_levels(problem, terms, begun, held=held | {int(s)}).answer
        if _as_good(reached, judged(problem, left)):
            best, held = left, held | {int(s)}
    return _in_whole_per_cents(problem, best)


def _in_whole_per_cents(problem: Problem, best: Answer) -> Answer:
    """The answer with each dim in whole per cents where nothing is lost by it, else in tenths."""
    reached = judged(problem, best)
    whole = _rounded(problem, best.shares, 0)
    if _as_good(reached, judged(problem, replace(best, shares=whole))):
        return replace(best, shares=whole)
    tenths = _rounded(problem, best.shares, 1)
    for s in range(len(problem.levers)):
        tried = tenths.copy()
        tried[s] = whole[s]
        if _as_good(reached, judged(problem, replace(best, shares=tried))):
            tenths = tried
    found = replace(best, shares=tenths)
    return found if _as_good(reached, judged(problem, found)) else best


def _without_bystanders(problem: Problem, terms: tuple[Term, ...], found: Levelled) -> Levelled:
    """The answer with lights left alone that give little of what is asked for, if it can be."""
    start = as_it_stands(problem)
    shares = shares_of_targets(problem, start)
    left = frozenset(
        s
        for s, lever in enumerate(problem.levers)
        if lever.free
        and shares[s] < BYSTANDER
        and lever.now > 0.0
        and found.answer.shares[s] > 0.0
        and not found.answer.colours[s].name
    )
    begun = found.answer.shares.copy()
    for s in left:
        begun[s] = problem.levers[s].now
    tried = settle_levels(problem, terms, replace(found.answer, shares=begun), held=left)
    met = {key for key, one in judged(problem, found.answer).items() if one.holds}
    kept = {key for key, one in judged(problem, tried.answer).items() if one.holds}
    return tried if met <= kept else found


def shares_of_targets(problem: Problem, answer: Answer, *, wanting: bool = False) -> Float64Array:
    """The largest share (s,) that each source has of a reading that a target asks for.

    wanting: only of what may not be darker than it is wanted; what is merely kept is left out.
    """
    by = gains(problem, answer)
    found = np.zeros(len(problem.levers))
    for term in terms_of(problem, answer):
        target = problem.tables[term.table].targets[term.target]
        kept = isinstance(target, KeepTarget) or getattr(target, "limit", "equal") == "at most"
        if wanting and kept:
            continue
        parts = (problem.tables[term.table].rgb[:, term.reading] * by) @ WEIGHTS
        found = np.maximum(found, parts / max(float(parts.sum()), LEAST_SHARE))
    return found


def _as_good(before: Mapping[Told, Judged], after: Mapping[Told, Judged]) -> bool:
    """Whether nothing that held is lost or stands at its edge, and nothing more is missed."""
    return all(
        _keeps(one, after[key])
        if one.holds
        else short_of(after[key]) <= short_of(one) + _HAIR * AS_A_STOP[one.unit]
        for key, one in before.items()
    )


def _keeps(before: Judged, after: Judged) -> bool:
    """Whether what held holds still, with what it had in hand or a twentieth of a stop."""
    if before.margin is None or after.margin is None:
        return after.holds
    in_hand = min(before.margin - _HAIR * AS_A_STOP[before.unit], _IN_HAND * AS_A_STOP[before.unit])
    return after.holds and after.margin >= in_hand


def _rounded(problem: Problem, shares: Float64Array, places: int) -> Float64Array:
    """Shares whose knobs are per cents to so many places, to tenths below ten, in their range."""
    found = shares.copy()
    for s, lever in enumerate(problem.levers):
        if not lever.free or shares[s] <= 0.0 or shares[s] == lever.now:
            continue
        knob = 100.0 * knob_share(lever.curve, float(min(shares[s], 1.0)))
        told = round(knob, places if knob >= _TENTHS_BELOW else 1)
        share = light_share(lever.curve, min(1.0, told / 100.0))
        found[s] = min(max(share, lever.lowest), lever.highest)
    return found
