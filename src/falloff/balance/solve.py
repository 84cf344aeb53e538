"""balance(problem) -> Balance: dims, colours and exposure that bring every target nearest."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from msgspec.structs import replace as replace_fields

from falloff.balance.binding import bindings, first_to_break
from falloff.balance.choices import Holding, can_hold, choose, with_choices
from falloff.balance.conflicts import smallest_conflict
from falloff.balance.fewest import BYSTANDER, shares_of_targets, with_fewest_changes
from falloff.balance.judging import judged, judged_as_written, short_of
from falloff.balance.levels import settle_levels
from falloff.balance.problem import Answer, Problem, Told, as_it_stands
from falloff.balance.records import Balance, Conflict, DimSet, ExposureSet, TargetGot
from falloff.balance.terms import Term, played_down, terms_by_target, terms_of
from falloff.balance.words import balance_sentences, conflict_sentence, exposure_text
from falloff.findings import Finding, Weight
from falloff.kit.catalogue import knob_share
from falloff.readings import AS_A_STOP, Judged

_SAME_SHARE: Final = 1e-3
_BETTER: Final = 1e-3


def balance(problem: Problem) -> Balance:
    """The answer that brings every target nearest, what binds, what cannot hold together.

    Where all targets hold as things stand, nothing is changed. Discrete choices (which lights are
    on, gels, exposure) are made by a mixed-integer programme, dims then by least squares in log
    light; both from it and from how things stand, the better is taken.
    """
    before = judged_as_written(problem)
    if _all_hold(before):
        return told_as_written(problem, before)
    answer = best_answer(problem)
    return told(problem, answer, before, judged(problem, answer))


def told_as_written(problem: Problem, before: Mapping[Told, Judged]) -> Balance:
    """What is told where every target holds with each setup's own dims: nothing need change."""
    start = as_it_stands(problem)
    result = told(problem, start, before, before)
    dims = tuple(
        replace_fields(one, moved=False, knob=next(iter(one.before.values())), light_stops=0.0)
        for one in result.dims
    )
    unmoved = replace_fields(result, dims=dims)
    return replace_fields(unmoved, says=balance_sentences(unmoved))


def best_answer(problem: Problem) -> Answer:
    """The answer alone, without what is told of it.

    Targets that no dim, colour or exposure can meet hardly count: nothing else is bent for them.
    """
    start = as_it_stands(problem)
    terms = terms_of(problem, start)
    best = settle_levels(problem, terms, start)
    missed = {key for key, one in judged(problem, best.answer).items() if not one.holds}
    if not missed and not _discrete(problem):
        return with_fewest_changes(problem, terms, best)
    mine = terms_by_target(problem, terms)
    hopeless = {key for key in missed if not can_hold(problem, mine.get(key, []))}
    terms = played_down(problem, terms, hopeless)
    if hopeless:
        best = settle_levels(problem, terms, start)
    chosen = choose(problem, terms)
    if chosen is not None:
        other = settle_levels(problem, terms, chosen)
        # What is told relative to the present, as a colour's axes, is told anew.
        anew = played_down(problem, terms_of(problem, other.answer), hopeless)
        other = settle_levels(problem, anew, other.answer)
        if other.cost < best.cost * (1.0 - _BETTER):
            best, terms = other, anew
    return with_fewest_changes(problem, terms, best)


def told(
    problem: Problem, answer: Answer, before: Mapping[Told, Judged], got: Mapping[Told, Judged]
) -> Balance:
    """All that a person is told of an answer."""
    terms = terms_of(problem, answer)
    missed = [key for key, one in got.items() if not one.holds]
    conflict = _conflict(with_choices(problem, answer), terms) if missed else None
    targets = tuple(
        TargetGot(
            setup=setup,
            name=name,
            before=before[setup, name],
            got=one,
            short=short_of(one),
            binds=bindings(problem, answer, (setup, name), terms) if not one.holds else (),
        )
        for (setup, name), one in got.items()
    )
    dims = _dims(problem, answer)
    result = Balance(
        scene=problem.scene,
        setups=tuple(table.setup for table in problem.tables),
        dims=dims,
        exposures=_exposures(problem, answer),
        targets=targets,
        missed_before=missed_by_all(problem, before),
        missed=missed_by_all(problem, got),
        conflict=conflict,
        first_to_break=first_to_break(problem, answer, got, terms),
        says=(),
        findings=_findings(problem, answer),
    )
    return replace_fields(result, says=balance_sentences(result))


def missed_by_all(problem: Problem, got: Mapping[Told, Judged]) -> float:
    """Weighed sum of squares of what is short, in scales of each target's own unit."""
    weights = {
        (table.setup, name): target.weight
        for table in problem.tables
        for name, target in table.targets.items()
    }
    return sum(
        weights[key] * (short_of(one) / AS_A_STOP[one.unit]) ** 2 for key, one in got.items()
    )


def _all_hold(got: Mapping[Told, Judged]) -> bool:
    return all(one.holds for one in got.values())


def _discrete(problem: Problem) -> bool:
    """Whether anything but dims may be chosen."""
    return any(len(lever.colours) > 1 for lever in problem.levers) or any(
        len(table.exposures) > 1 for table in problem.tables
    )


def _conflict(problem: Problem, terms: tuple[Term, ...]) -> Conflict | None:
    """The smallest set of targets that cannot hold together."""
    mine = terms_by_target(problem, terms)
    found, smallest = smallest_conflict(tuple(mine), Holding(problem, mine).find)
    if not found:
        return None
    return Conflict(targets=found, smallest=smallest, says=conflict_sentence(problem, found))


def _dims(problem: Problem, answer: Answer) -> tuple[DimSet, ...]:
    found = []
    for s, lever in enumerate(problem.levers):
        if not lever.free:
            continue
        share, k = float(answer.shares[s]), answer.colours[s]
        stood = {table.setup: float(table.now[s]) for table in problem.tables}
        first = next(iter(stood.values()))
        end = ""
        if lever.is_full(share):
            end = "full"
        elif lever.is_lowest(share):
            end = "lowest"
        found.append(
            DimSet(
                source=lever.source,
                before={
                    setup: knob_share(lever.curve, min(one, 1.0)) for setup, one in stood.items()
                },
                knob=knob_share(lever.curve, min(share, 1.0)),
                light_stops=math.log2(share / first) if share > 0.0 and first > 0.0 else None,
                colour=lever.colours[k].name,
                at=end,
                moved=k > 0 or any(abs(share - one) > _SAME_SHARE for one in stood.values()),
            )
        )
    return tuple(found)


def _exposures(problem: Problem, answer: Answer) -> tuple[ExposureSet, ...]:
    found = []
    for table, k in zip(problem.tables, answer.exposures, strict=True):
        if not table.exposures:
            continue
        before, after = table.exposures[0], table.exposures[k]
        found.append(
            ExposureSet(
                setup=table.setup,
                before=exposure_text(before),
                after=exposure_text(after),
                stop=after.stop,
                iso=after.iso,
                nd_stops=after.nd_stops,
                stops=after.stops,
            )
        )
    return tuple(found)


def _findings(problem: Problem, answer: Answer) -> tuple[Finding, ...]:
    """A light at full has nothing in hand; one stop is the habit (common practice, no source)."""
    found = []
    counts = shares_of_targets(problem, answer)
    for s, (lever, share) in enumerate(zip(problem.levers, answer.shares, strict=True)):
        if lever.dims and lever.is_full(share) and counts[s] >= BYSTANDER:
            says = f"{lever.source} is at 100 %: there is nothing in hand for a flag, a net or gel"
            do = "bring it nearer or a stronger one, so that a stop is left: that is the habit"
            found.append(Finding(weight=Weight.WARNING, about=lever.source, says=says, do=do))
    if not any(lever.free for lever in problem.levers):
        says = "no light of this scene can be dimmed: there is nothing to balance with but exposure"
        do = "add a fixture, or look at the fixes: hour, window, stop"
        found.append(Finding(weight=Weight.WARNING, about=problem.scene, says=says, do=do))
    return tuple(found)
