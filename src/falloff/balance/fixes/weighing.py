"""A candidate weighed: its dims settled anew, what it brings in, what it takes out besides."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from falloff.balance.fewest import BYSTANDER, shares_of_targets, with_fewest_changes
from falloff.balance.fixes.candidates import Candidate
from falloff.balance.fixes.efforts import A_TARGET_STOPS, effort_minutes
from falloff.balance.fixes.records import Fix, FixTarget
from falloff.balance.fixes.settling import settled
from falloff.balance.fixes.start import Start
from falloff.balance.fixes.words import amount
from falloff.balance.judging import judged, short_of, weights_of
from falloff.balance.levels import Levelled
from falloff.balance.problem import WEIGHTS, Answer, Problem, Told
from falloff.balance.terms import played_down, terms_of, totals
from falloff.balance.words import exposure_text, listed, per_cent
from falloff.kit.catalogue import knob_share
from falloff.readings import AS_A_STOP, Judged

_CHANGED_STOPS: Final = 1.0 / 3.0
_MOST_CHANGED: Final = 3
_SAME: Final = 1e-3  # of full light, as a balance tells what is turned
_HARDLY: Final = 0.1  # stops, that no dim is turned for besides


@dataclass(frozen=True, slots=True)
class Weighed:
    """A candidate with its problem, the best dims with it, and every target at those."""

    candidate: Candidate
    problem: Problem
    answer: Answer
    got: dict[Told, Judged]
    worth_stops: float
    comes_in: int = 0  # targets, less those that held and no longer do

    @property
    def effort(self) -> float:
        """Minutes of one hand that the rank is by."""
        return effort_minutes(self.candidate.effort, self.candidate.hire.rate)

    @property
    def score(self) -> float:
        """Stops nearer for each such minute, what comes in or is lost counted too."""
        return counted(self.worth_stops, self.comes_in) / self.effort

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
    return weighed_at(start, candidate, problem, answer)


def weighed_at(start: Start, candidate: Candidate, problem: Problem, answer: Answer) -> Weighed:
    """The same where its dims are known too."""
    got = judged(problem, answer)
    return Weighed(candidate, problem, answer, got, worth(start, got), coming_in(start, got))


def counted(worth_stops: float, comes_in: int) -> float:
    """Stops nearer, with those that every target counts which comes in (+) or is lost (-)."""
    return worth_stops + A_TARGET_STOPS * comes_in


def coming_in(start: Start, got: Mapping[Told, Judged]) -> int:
    """How many more targets hold than with the best dims alone."""
    return sum(got[key].holds - before.holds for key, before in start.judged.items() if key in got)


def worth(start: Start, got: Mapping[Told, Judged]) -> float:
    """By how many stops all targets together are nearer than the best dims alone bring them."""
    weights = weights_of(start.problem)
    return sum(
        weights[key] * (short_of(one) - short_of(got[key])) / AS_A_STOP[one.unit]
        for key, one in start.judged.items()
        if key in got
    )


def with_fewest(start: Start, one: Weighed) -> Weighed:
    """The same with as few dims touched as it can, in whole per cents, as a balance has them."""
    terms = terms_of(one.problem, one.answer)
    missed = {key for key, got in one.got.items() if not got.holds}
    played = played_down(one.problem, terms, missed)
    answer = with_fewest_changes(one.problem, played, Levelled(one.answer, 0.0))
    return _as_balanced(start, weighed_at(start, one.candidate, one.problem, answer))


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
            one = weighed_at(start, one.candidate, one.problem, answer)
    return one


# Told ------------------------------------------------------------------------------------


def fix_of(start: Start, one: Weighed) -> Fix:
    """A weighed candidate in words."""
    candidate, hire = one.candidate, one.candidate.hire
    return Fix(
        kind=candidate.kind,
        says=candidate.says,
        does=candidate.does,
        dims=set_besides(one),
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
                asks=before.asks,
                miss=before.miss,
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


def set_besides(one: Weighed) -> tuple[str, ...]:
    """What else is set otherwise than it is written, in words: all that is written with a fix."""
    found = []
    stood = [table.now for table in one.problem.tables]
    sources = {lever.source for lever in one.problem.levers}
    for s, lever in enumerate(one.problem.levers):
        share, colour = float(one.answer.shares[s]), one.answer.colours[s].name
        if not lever.free or not (colour or any(abs(share - now[s]) > _SAME for now in stood)):
            continue
        knob = knob_share(lever.curve, min(share, 1.0))
        dim = "off" if share <= 0.0 else f"{per_cent(knob)} {colour}".rstrip()
        twins = [copy for copy, of in one.candidate.alike.items()
                 if of == lever.source and copy not in sources]  # fmt: skip
        found += [f"{source} {dim}" for source in (lever.source, *twins)]
    mine = exposed_by(one.candidate)
    for table, k in zip(one.problem.tables, one.answer.exposures, strict=True):
        if table.exposures and table.setup not in mine:
            before, after = exposure_text(table.exposures[0]), exposure_text(table.exposures[k])
            if after != before:
                found.append(f"{table.setup} at {after}")
    return tuple(found)


def exposed_by(candidate: Candidate) -> set[str]:
    """The setups whose exposure a candidate sets by itself."""
    if candidate.kind != "exposure":
        return set()
    return {str(edit.key_path[1]) for edit in candidate.edits}


def lost(start: Start, got: Mapping[Told, Judged]) -> list[str]:
    """Targets that held, and no longer do."""
    return [
        f"{name} in {setup} held, and no longer does: {got[setup, name].got}"
        for (setup, name), before in start.judged.items()
        if before.holds and (setup, name) in got and not got[setup, name].holds
    ]


def _side_effects(start: Start, one: Weighed) -> tuple[str, ...]:
    found = lost(start, one.got)
    shares = {
        lever.source: float(share)
        for lever, share in zip(start.problem.levers, start.answer.shares, strict=True)
    }
    counts = shares_of_targets(one.problem, one.answer, wanting=True)
    for s, (lever, share) in enumerate(zip(one.problem.levers, one.answer.shares, strict=True)):
        was, now = shares.get(lever.source, 1.0), float(share)
        wanted = lever.dims and counts[s] >= BYSTANDER
        if wanted and lever.is_full(now) and not lever.is_full(was):
            found.append(f"{lever.source} is at 100 % then: nothing in hand")
    others = _elsewhere(start, one)
    if others:
        found.append(f"it changes {listed(others)} too, which is not weighed here")
    return (*found, *_changed(start, one))


def _elsewhere(start: Start, one: Weighed) -> list[str]:
    """Other setups of the scene that an edit reaches: of the room, or what they take after."""
    document = start.case.document
    others = [name for name in document.setups if name not in start.case.setups]
    if not others:
        return []
    if any(edit.key_path[0] != "setups" for edit in one.candidate.edits):
        return others
    if any(choice.name for choice in one.answer.colours):
        return others
    keys = {str(edit.key_path[2]) for edit in one.candidate.edits}
    if set_besides(one):
        keys |= {"dims", *(("stop", "iso", "nd") if any(one.answer.exposures) else ())}
    mine = start.case.setups
    return [name for name in others if any(takes_after(start, name, mine, key) for key in keys)]


def takes_after(start: Start, setup: str, others: Collection[str], key: str) -> bool:
    """Whether a setup has something, by its key, from one of others, as it is written."""
    document = start.case.document
    at: str | None = setup
    while at is not None and at not in others:
        if document.seen.has(("setups", at, key)):
            return False
        at = document.setups[at].like
    return at is not None


def _changed(start: Start, one: Weighed) -> list[str]:
    """Readings that nobody asked about and that change by more than a third of a stop."""
    found: list[tuple[float, str]] = []
    before, after = totals(start.problem, start.answer), totals(one.problem, one.answer)
    told: set[str] = set()
    for t, table in enumerate(start.problem.tables):
        keys = math.log2(one.problem.tables[t].key_lux / table.key_lux)
        for k, name in enumerate(table.readings):
            if name in start.asked or name in told:
                continue
            was, now = float(before[t][k] @ WEIGHTS), float(after[t][k] @ WEIGHTS)
            if was <= 0.0 or now <= 0.0:
                continue
            stops = float(np.log2(now / was)) - keys
            if abs(stops) > _CHANGED_STOPS:
                told.add(name)
                word = "brighter" if stops > 0.0 else "darker"
                found.append((abs(stops), f"{name} {amount(abs(stops), 'stops')} {word}"))
    found.sort(key=lambda item: -item[0])
    return [says for _, says in found[:_MOST_CHANGED]]
