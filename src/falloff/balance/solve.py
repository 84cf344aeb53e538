"""balance(problem) -> Balance: dims, colours and exposure that bring every target nearest."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np

from falloff.balance.binding import bindings, first_to_break
from falloff.balance.choices import can_hold, choose
from falloff.balance.conflicts import smallest_conflict
from falloff.balance.judging import judged
from falloff.balance.levels import settle_levels
from falloff.balance.problem import Answer, Problem, as_it_stands
from falloff.balance.records import Balance, Conflict, DimSet, ExposureSet, TargetGot
from falloff.balance.terms import Term, terms_of
from falloff.balance.words import balance_sentences, conflict_sentence, exposure_text
from falloff.findings import Finding, Weight
from falloff.kit.catalogue import knob_share
from falloff.readings import Judged

Told = tuple[str, str]  # (setup, target)
_SAME_SHARE: Final = 1e-3
_FULL: Final = 0.995
_LOWEST: Final = 1.02
_BETTER: Final = 1e-3


def balance(problem: Problem) -> Balance:
    """The answer that brings every target nearest, what binds, what cannot hold together.

    Where all targets hold as things stand, nothing is changed. Discrete choices (which lights are
    on, gels, exposure) are made by a mixed-integer programme, dims then by least squares in log
    light; both from it and from how things stand, the better is taken.
    """
    start = as_it_stands(problem)
    before = judged(problem, start)
    answer = best_answer(problem) if not _all_hold(before) else start
    got = judged(problem, answer)
    return told(problem, answer, before, got)


def best_answer(problem: Problem) -> Answer:
    """The answer alone, without what is told of it."""
    start = as_it_stands(problem)
    terms = terms_of(problem, start)
    best = settle_levels(problem, terms, start)
    if not _all_hold(judged(problem, best.answer)) or _discrete(problem):
        chosen = choose(problem, terms)
        if chosen is not None:
            other = settle_levels(problem, terms, chosen)
            # What is told relative to the present, as a colour's axes, is told anew.
            other = settle_levels(problem, terms_of(problem, other.answer), other.answer)
            if other.cost < best.cost * (1.0 - _BETTER):
                best = other
    return best.answer


def told(
    problem: Problem, answer: Answer, before: Mapping[Told, Judged], got: Mapping[Told, Judged]
) -> Balance:
    """All that a person is told of an answer."""
    terms = terms_of(problem, answer)
    missed = [key for key, one in got.items() if not one.holds]
    conflict = _conflict(problem, terms) if missed else None
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
    from msgspec.structs import replace

    return replace(result, says=balance_sentences(result))


def short_of(one: Judged) -> float:
    """By how much a target is missed beyond its tolerance, 0 where it holds; in its own unit."""
    return 0.0 if one.holds or one.margin is None else max(0.0, -one.margin)


def missed_by_all(problem: Problem, got: Mapping[Told, Judged]) -> float:
    """Weighed sum of squares of what is short, in scales of each target's own unit."""
    weights = {
        (table.setup, name): target.weight
        for table in problem.tables
        for name, target in table.targets.items()
    }
    return sum(weights[key] * (short_of(one) / SCALES[one.unit]) ** 2 for key, one in got.items())


# What is as bad as one stop: common practice, no source.
SCALES: Final[Mapping[str, float]] = {"stops": 1.0, "mired": 60.0, "CC": 20.0, "degrees": 30.0}


def _all_hold(got: Mapping[Told, Judged]) -> bool:
    return all(one.holds for one in got.values())


def _discrete(problem: Problem) -> bool:
    """Whether anything but dims may be chosen."""
    return any(len(lever.colours) > 1 for lever in problem.levers) or any(
        len(table.exposures) > 1 for table in problem.tables
    )


def _conflict(problem: Problem, terms: tuple[Term, ...]) -> Conflict | None:
    """The smallest set of targets that cannot hold together."""
    mine: dict[Told, list[Term]] = {}
    for term in terms:
        mine.setdefault((problem.tables[term.table].setup, term.target), []).append(term)

    def holds(some: tuple[Told, ...]) -> bool:
        return can_hold(problem, [term for key in some for term in mine[key]])

    found = smallest_conflict(tuple(mine), holds)
    if not found:
        return None
    return Conflict(targets=found, says=conflict_sentence(problem, found))


def _dims(problem: Problem, answer: Answer) -> tuple[DimSet, ...]:
    found = []
    for lever, share, k in zip(problem.levers, answer.shares, answer.colours, strict=True):
        if not lever.free:
            continue
        lit = share > 0.0 and lever.now > 0.0
        before = knob_share(lever.curve, min(lever.now, 1.0))
        after = knob_share(lever.curve, float(min(share, 1.0)))
        moved = bool(abs(share - lever.now) > _SAME_SHARE * max(lever.now, 1e-6) or k)
        end = ""
        if share >= _FULL * lever.highest:
            end = "full"
        elif 0.0 < share <= _LOWEST * lever.lowest:
            end = "lowest"
        found.append(
            DimSet(
                source=lever.source,
                knob_before=before,
                knob=after,
                light_stops=float(np.log2(share / lever.now)) if lit else None,
                colour=lever.colours[k].name,
                at=end,
                moved=moved,
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
    for lever, share in zip(problem.levers, answer.shares, strict=True):
        if lever.free and lever.lowest < lever.highest and share >= _FULL * lever.highest:
            says = f"{lever.source} is at 100 %: there is nothing in hand for a flag, a net or gel"
            do = "bring it nearer or a stronger one, so that a stop is left: that is the habit"
            found.append(Finding(weight=Weight.WARNING, about=lever.source, says=says, do=do))
    if not any(lever.free for lever in problem.levers):
        says = "no light of this scene can be dimmed: there is nothing to balance with but exposure"
        do = "add a fixture, or look at the fixes: hour, window, stop"
        found.append(Finding(weight=Weight.WARNING, about=problem.scene, says=says, do=do))
    return tuple(found)
