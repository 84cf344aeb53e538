"""A candidate weighed: its dims settled anew, what it brings in, what it takes out besides."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from falloff.balance.choices import can_hold
from falloff.balance.fewest import with_fewest_changes
from falloff.balance.fixes.candidates import Candidate
from falloff.balance.fixes.efforts import effort_minutes
from falloff.balance.fixes.records import Fix, FixTarget
from falloff.balance.fixes.start import Start
from falloff.balance.judging import as_stops, judged, short_of, weights_of
from falloff.balance.levels import Levelled, settle_levels
from falloff.balance.problem import WEIGHTS, Answer, Problem, Told, as_it_stands
from falloff.balance.terms import played_down, terms_by_target, terms_of, totals
from falloff.balance.words import per_cent
from falloff.document import readings_asked
from falloff.kit.catalogue import knob_share
from falloff.readings import AS_A_STOP, Judged

_CHANGED_STOPS: Final = 1.0 / 3.0
_MOST_CHANGED: Final = 3
_SAME: Final = 0.01
_HARDLY: Final = 0.1  # stops, that no dim is turned for besides


@dataclass(frozen=True, slots=True)
class Weighed:
    """A candidate with its problem, the best dims with it, and every target at those."""

    candidate: Candidate
    problem: Problem
    answer: Answer
    got: dict[Told, Judged]
    worth_stops: float

    @property
    def effort(self) -> float:
        """Minutes of one hand that the rank is by."""
        return effort_minutes(self.candidate.effort, self.candidate.hire.rate)

    @property
    def score(self) -> float:
        """Stops nearer for each such minute."""
        return self.worth_stops / self.effort

    @property
    def brings_all(self) -> bool:
        """Whether nothing is missed with it."""
        return all(one.holds for one in self.got.values())


def weigh(start: Start, candidate: Candidate) -> Weighed | None:
    """What a candidate is worth; None where it cannot stand as it says."""
    problem = candidate.trial()
    return None if problem is None else weighed(start, candidate, problem)


def weighed(start: Start, candidate: Candidate, problem: Problem) -> Weighed:
    """The same where its light is known."""
    answer = settled(problem, start.answer)
    got = judged(problem, answer)
    return Weighed(candidate, problem, answer, got, worth(start, got))


def worth(start: Start, got: Mapping[Told, Judged]) -> float:
    """By how many stops all targets together are nearer than the best dims alone bring them."""
    weights = weights_of(start.problem)
    return sum(
        weights[key] * (short_of(one) - short_of(got[key])) / AS_A_STOP[one.unit]
        for key, one in start.judged.items()
        if key in got
    )


def settled(problem: Problem, answer: Answer) -> Answer:
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
        weights[key] * (as_stops(one) + (0.0 if key in hopeless else 1.0))
        for key, one in judged(problem, answer).items()
        if not one.holds
    )


def with_fewest(start: Start, one: Weighed) -> Weighed:
    """The same with as few dims touched as it can, in whole per cents, as a balance has them."""
    terms = terms_of(one.problem, one.answer)
    missed = {key for key, got in one.got.items() if not got.holds}
    played = played_down(one.problem, terms, missed)
    answer = with_fewest_changes(one.problem, played, Levelled(one.answer, 0.0))
    got = judged(one.problem, answer)
    found = replace(one, answer=answer, got=got, worth_stops=worth(start, got))
    return _as_balanced(start, found)


def _as_balanced(start: Start, one: Weighed) -> Weighed:
    """The same with every dim left where the best dims alone have it, if next to nothing is lost.

    So that what is told of a fix is the fix's doing, not that of lights turned for hardly a gain.
    """
    base = {
        lever.source: float(share)
        for lever, share in zip(start.problem.levers, start.answer.shares, strict=True)
    }
    least = one.worth_stops - _HARDLY
    for s, lever in enumerate(one.problem.levers):
        share = base.get(lever.source)
        if share is None or share == one.answer.shares[s]:
            continue
        shares = one.answer.shares.copy()
        shares[s] = share
        answer = replace(one.answer, shares=shares)
        got = judged(one.problem, answer)
        lost = any(before.holds and not got[key].holds for key, before in one.got.items())
        if not lost and worth(start, got) >= least:
            one = replace(one, answer=answer, got=got, worth_stops=worth(start, got))
    return one


# Told ------------------------------------------------------------------------------------


def fix_of(start: Start, one: Weighed) -> Fix:
    """A weighed candidate in words."""
    candidate, hire = one.candidate, one.candidate.hire
    return Fix(
        kind=candidate.kind,
        says=candidate.says,
        does=candidate.does,
        dims=_dims(one),
        worth_stops=one.worth_stops,
        brings_all=one.brings_all,
        targets=tuple(
            FixTarget(
                setup=setup,
                name=name,
                before=short_of(before),
                after=short_of(one.got[setup, name]),
                unit=before.unit,
                got=one.got[setup, name].got,
            )
            for (setup, name), before in start.judged.items()
            if (setup, name) in one.got and not (before.holds and one.got[setup, name].holds)
        ),
        minutes=candidate.effort.minutes,
        hands=candidate.effort.hands,
        day_rate=hire.rate,
        hire_says=hire.says,
        effort_minutes=one.effort,
        side_effects=_side_effects(start, one),
        cautions=candidate.cautions,
    )


def _dims(one: Weighed) -> tuple[str, ...]:
    """Dims that are others than as written, in words."""
    found = []
    for lever, share in zip(one.problem.levers, one.answer.shares, strict=True):
        if not lever.free or abs(float(share) - lever.now) < _SAME:
            continue
        knob = knob_share(lever.curve, min(float(share), 1.0))
        found.append(f"{lever.source} off" if share <= 0.0 else f"{lever.source} {per_cent(knob)}")
    return tuple(found)


def _side_effects(start: Start, one: Weighed) -> tuple[str, ...]:
    found = []
    for key, before in start.judged.items():
        after = one.got.get(key)
        if before.holds and after is not None and not after.holds:
            found.append(f"{key[1]} in {key[0]} held, and no longer does: {after.got}")
    shares = {
        lever.source: float(share)
        for lever, share in zip(start.problem.levers, start.answer.shares, strict=True)
    }
    for lever, share in zip(one.problem.levers, one.answer.shares, strict=True):
        was, now = shares.get(lever.source, 1.0), float(share)
        if lever.dims and lever.is_full(now) and not lever.is_full(was):
            found.append(f"{lever.source} is at 100 % then: nothing in hand")
    others = _elsewhere(start, one.candidate)
    if others:
        found.append(f"it changes {others} too, which is not weighed here")
    return (*found, *_changed(start, one))


def _elsewhere(start: Start, candidate: Candidate) -> str:
    """Other setups of the scene that an edit reaches."""
    shared = any(edit.key_path[0] != "setups" for edit in candidate.edits)
    others = [name for name in start.case.document.setups if name not in start.case.setups]
    return ", ".join(others) if shared else ""


def _changed(start: Start, one: Weighed) -> list[str]:
    """Readings that nobody asked about and that change by more than a third of a stop."""
    found: list[tuple[float, str]] = []
    before, after = totals(start.problem, start.answer), totals(one.problem, one.answer)
    told: set[str] = set()
    for t, table in enumerate(start.problem.tables):
        asked = {name for target in table.targets.values() for name in readings_asked(target)}
        points = {point for name in asked for point in table.points.get(name, (name,))}
        keys = math.log2(one.problem.tables[t].key_lux / table.key_lux)
        for k, name in enumerate(table.readings):
            if name in points or name in told:
                continue
            was, now = float(before[t][k] @ WEIGHTS), float(after[t][k] @ WEIGHTS)
            if was <= 0.0 or now <= 0.0:
                continue
            stops = float(np.log2(now / was)) - keys
            if abs(stops) > _CHANGED_STOPS:
                told.add(name)
                word = "brighter" if stops > 0.0 else "darker"
                found.append((abs(stops), f"{name} {abs(stops):.1f} stops {word}"))
    found.sort(key=lambda item: -item[0])
    return [says for _, says in found[:_MOST_CHANGED]]
