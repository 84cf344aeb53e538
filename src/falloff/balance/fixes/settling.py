"""The best dims with a fix, from those without it; and an exposure that goes with them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from typing import Final

from falloff.balance.choices import can_hold
from falloff.balance.judging import as_stops, judged, judged_in, missed_count, weights_of
from falloff.balance.levels import settle_levels
from falloff.balance.problem import Answer, Problem, Told, as_it_stands
from falloff.balance.terms import LevelTerm, played_down, terms_by_target, terms_of, totals

_STEP_STOPS: Final = 1.0 / 3.0  # exposures that are nearer than that are tried as one
_GAIN: Final = 0.1  # in what is missed, that another exposure must bring


def settled(problem: Problem, answer: Answer) -> Answer:
    """The best dims from an answer and from how things stand, colours as answered.

    Where a setup misses what is said over key, and its exposure is free, another is tried too.
    """
    found = _levelled(problem, answer)
    exposed = _exposed_anew(problem, found)
    if exposed.exposures == found.exposures:
        return found
    again = _levelled(problem, exposed)
    better = _missing(problem, again, ()) < _missing(problem, found, ()) - _GAIN
    return again if better else found


def settled_but(problem: Problem, answer: Answer, missed: Collection[Told]) -> Answer:
    """The best dims for all but some targets, which hardly count; exposure and colours as told."""
    terms = played_down(problem, terms_of(problem, answer), set(missed))
    return settle_levels(problem, terms, answer).answer


def _exposed_anew(problem: Problem, answer: Answer) -> Answer:
    """The answer with the exposure that each setup misses least with."""
    keyed = {
        (problem.tables[term.table].setup, term.target)
        for term in terms_of(problem, answer)
        if isinstance(term, LevelTerm) and term.keyed
    }
    chosen = list(answer.exposures)
    for t, (table, light) in enumerate(zip(problem.tables, totals(problem, answer), strict=True)):
        now = dict(judged_in(table, light, table.exposure_stops(chosen[t])))
        if len(table.exposures) < 2 or all(
            one.holds for name, one in now.items() if (table.setup, name) in keyed
        ):
            continue
        own = table.exposures[chosen[t]]
        steps: dict[int, int] = {}
        for k, one in enumerate(table.exposures):
            steps.setdefault(round((one.stops - own.stops) / _STEP_STOPS), k)
        steps[0] = chosen[t]
        chosen[t] = min(
            (steps[step] for step in sorted(steps, key=abs)),
            key=lambda k: sum(
                table.targets[name].weight * missed_count(one)
                for name, one in judged_in(table, light, table.exposure_stops(k))
            ),
        )
    return replace(answer, exposures=tuple(chosen))


def _levelled(problem: Problem, answer: Answer) -> Answer:
    """The best dims from an answer and from how things stand, colours and exposure as answered.

    As a balance has it: what cannot be met hardly counts, and what the answer holds is not given up
    for a compromise, unless more is gained by that.
    """
    terms = terms_of(problem, answer)
    first = settle_levels(problem, terms, answer).answer
    got = judged(problem, first)
    missed = {key for key, one in got.items() if not one.holds}
    if not missed:
        return first
    mine = terms_by_target(problem, terms)
    hopeless = {key for key in missed if not can_hold(problem, mine.get(key, []))}
    held = {key for key, one in judged(problem, answer).items() if one.holds}
    starts = [first, answer]
    stood = as_it_stands(problem).shares
    if ((answer.shares <= 0.0) & (stood > 0.0)).any():  # what was put out may be wanted after all
        starts.append(replace(answer, shares=stood))
    tried = [first]
    for down in (hopeless, set(got) - held) if set(got) - held != hopeless else (hopeless,):
        some = played_down(problem, terms, down)
        tried += [settle_levels(problem, some, start).answer for start in starts]
    return min(tried, key=lambda one: _missing(problem, one, hopeless))


def _missing(problem: Problem, answer: Answer, hopeless: Collection[Told]) -> float:
    """What an answer misses: each target, and by how much; of what nothing can meet that alone."""
    weights = weights_of(problem)
    return sum(
        weights[key] * (as_stops(one) if key in hopeless else missed_count(one))
        for key, one in judged(problem, answer).items()
    )
