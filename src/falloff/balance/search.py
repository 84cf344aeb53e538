"""best_answer(problem) -> Answer: of the answers that are worth trying the one that misses least.

Dims alone come first. Where they miss something: with choices, then what holds as many targets as
hold together; and from each of these, one missed target after the other is asked for besides.
"""

from __future__ import annotations

import time
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from falloff.balance.choices import Holding, can_hold, choose, choose_again, choose_dims
from falloff.balance.fewest import with_fewest_changes
from falloff.balance.judging import as_stops, judged, judged_as_written, missed_count, weights_of
from falloff.balance.levels import Levelled, settle_levels
from falloff.balance.problem import Answer, Problem, Told, as_it_stands
from falloff.balance.programme import Undecided
from falloff.balance.terms import Term, played_down, terms_by_target, terms_of

# What counts besides a target that is missed, which is 1, and by how much, in what is a stop.
_LOST: Final = 0.5  # that it held as things stand
_HOPELESS: Final = 0.1  # of by how much, where nothing can meet it
_EXPOSURE: Final = 0.1  # of what its choice costs: turned at once, if it need be
_HARDLY: Final = 1e-3
_FIRST_S: Final = 0.5  # that a choice may take
_LATER_S: Final = 0.2  # and one more, where not all can be held
_BETTER_S: Final = 0.3  # that asking for one after the other may


def best_answer(problem: Problem) -> Answer:
    """The dims, colours and exposures that miss least: each missed target counts, and by how much.

    Choices that do not help are not made. Targets that nothing can meet hardly count: nothing else
    is bent for them. As few dims as can be are touched.
    """
    start = as_it_stands(problem)
    terms = terms_of(problem, start)
    dimmed = settle_levels(problem, terms, start)
    missed = {key for key, one in judged(problem, dimmed.answer).items() if not one.holds}
    if not missed:
        return with_fewest_changes(problem, terms, dimmed)
    mine = terms_by_target(problem, terms)
    hopeless = frozenset(key for key in missed if not can_hold(problem, mine.get(key, [])))
    search = _Search(problem, hopeless)
    tried = list(search.settled(hopeless, time_limit_s=_FIRST_S))
    if all(one.missed for one in tried):
        held = _held_together(problem, mine, search.in_order(mine))
        tried += search.settled(frozenset(mine) - held, time_limit_s=_LATER_S)
        tried += search.bettered(tried)
    best = min(tried, key=lambda one: one.costs)
    return with_fewest_changes(problem, best.terms, best.levelled)


@dataclass(frozen=True, slots=True)
class _Tried:
    """One answer, the terms it was found by, how badly it misses, what it misses that could be."""

    levelled: Levelled
    terms: tuple[Term, ...]
    costs: float
    missed: tuple[Told, ...]


class _Search:
    """Tries answers to one problem; hopeless: targets that nothing can meet."""

    def __init__(self, problem: Problem, hopeless: frozenset[Told]) -> None:
        self._problem, self._hopeless = problem, hopeless
        self._weights = weights_of(problem)
        stood = judged_as_written(problem)
        self._stood = {key for key, one in stood.items() if one.holds}

    def settled(self, down: Collection[Told], *, time_limit_s: float) -> Iterator[_Tried]:
        """Answers with some targets played down: by dims alone, then with choices.

        Dims alone from as things stand and from what a programme has of them, lights out or on.
        """
        problem, start = self._problem, as_it_stands(self._problem)
        terms = played_down(problem, terms_of(problem, start), down)
        yield self._tried(settle_levels(problem, terms, start), terms)
        for chosen in (
            choose_dims(problem, terms, start, time_limit_s=time_limit_s),
            choose(problem, terms, time_limit_s=time_limit_s),
        ):
            if chosen is None:
                continue
            there = settle_levels(problem, terms, chosen).answer
            # What is told relative to the present, as a colour's axes, is told anew.
            anew = played_down(problem, terms_of(problem, there), down)
            yield self._tried(settle_levels(problem, anew, there), anew)

    def bettered(self, tried: Sequence[_Tried]) -> list[_Tried]:
        """Better answers from each, one missed target at a time, in a short while altogether."""
        until, found = time.monotonic() + _BETTER_S, []
        for one in sorted(tried, key=lambda one: one.costs):
            better = self._holding_one_more(one, until)
            while better is not None:
                found.append(better)
                better = self._holding_one_more(better, until)
        return found

    def _holding_one_more(self, one: _Tried, until: float) -> _Tried | None:
        """What holds one more of what is missed, the nearest first; None where nothing does."""
        problem, answer = self._problem, one.levelled.answer
        got = judged(problem, answer)
        held = {key for key, told in got.items() if told.holds}
        whole = terms_of(problem, answer)
        for key in sorted(one.missed, key=lambda key: as_stops(got[key])):
            if time.monotonic() > until:
                return None
            terms = played_down(problem, whole, set(got) - held - {key})
            again = choose_again(problem, terms, answer, time_limit_s=_LATER_S)
            for start in (answer,) if again is None else (answer, again):
                better = self._tried(settle_levels(problem, terms, start), terms)
                if better.costs < one.costs - _HARDLY:
                    return better
        return None

    def in_order(self, keys: Collection[Told]) -> list[Told]:
        """Targets in the order in which they are to be held: by weight, then what holds already."""
        some = [key for key in keys if key not in self._hopeless]
        return sorted(some, key=lambda key: (-self._weights[key], key not in self._stood))

    def _tried(self, levelled: Levelled, terms: tuple[Term, ...]) -> _Tried:
        got, answer = judged(self._problem, levelled.answer), levelled.answer
        chosen = zip(answer.colours, answer.shares, strict=True)
        costs = sum(colour.costs for colour, share in chosen if share > 0.0)
        for table, k in zip(self._problem.tables, answer.exposures, strict=True):
            costs += _EXPOSURE * table.exposures[k].costs if table.exposures else 0.0
        for key, one in got.items():
            if key in self._hopeless:
                costs += _HOPELESS * self._weights[key] * as_stops(one)
            elif not one.holds:
                costs += self._weights[key] * (missed_count(one) + _LOST * (key in self._stood))
        missed = (key for key, one in got.items() if not one.holds and key not in self._hopeless)
        return _Tried(levelled, terms, costs, tuple(missed))


def _held_together(
    problem: Problem, mine: Mapping[Told, Sequence[Term]], order: Sequence[Told]
) -> frozenset[Told]:
    """A set of targets that hold together, to which none can be added; the first in order first."""
    holding, held = Holding(problem, mine), frozenset[Told]()
    until = time.monotonic() + _LATER_S
    for key in order:
        left = until - time.monotonic()
        if key in held or left <= 0.0:
            continue
        try:
            more = holding.find([*held, key], time_limit_s=left)
        except Undecided:
            break
        held |= more or frozenset()
    return held
