"""balance(problem) -> Balance: dims, colours and exposure that bring every target nearest."""

from __future__ import annotations

import math
import time
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from msgspec.structs import replace as replace_fields

from falloff.balance.binding import bindings, first_to_break
from falloff.balance.choices import Holding, with_choices
from falloff.balance.conflicts import smallest_conflict
from falloff.balance.doubts import findings_of
from falloff.balance.judging import as_stops, judged, judged_as_written, short_of, weights_of
from falloff.balance.problem import Answer, ColourChoice, Problem, Told, as_it_stands
from falloff.balance.programme import Undecided
from falloff.balance.records import Balance, Conflict, DimSet, ExposureSet, TargetGot
from falloff.balance.search import best_answer
from falloff.balance.terms import Term, terms_by_target, terms_of
from falloff.balance.words import balance_sentences, conflict_sentence, exposure_text
from falloff.kit.catalogue import knob_share
from falloff.readings import Judged

_SAME_SHARE: Final = 1e-3
_LOOKED_FOR_S: Final = 0.2  # that what excludes each other whatever is chosen is looked for


def balance(problem: Problem) -> Balance:
    """The answer that brings every target nearest, what binds, what cannot hold together.

    Where all targets hold as things stand, nothing is changed.
    """
    return balance_in_colours(problem, {})[0]


Colours = Mapping[str, ColourChoice]


def balance_in_colours(problem: Problem, colours: Colours) -> tuple[Balance, Colours]:
    """The same where some lights have had their colour chosen; and the colours that are chosen.

    A light has one colour in all setups, so what one setup's answer gives it, the others take.
    """
    before = judged_as_written(problem)
    given = {one.source for one in problem.levers if one.free} & set(colours)
    if _all_hold(before) and not given:
        return told_as_written(problem, before), {}
    levers = tuple(
        replace(one, colours=(colours[one.source],), mixing=None) if one.source in given else one
        for one in problem.levers
    )
    fixed = replace(problem, levers=levers)
    answer = best_answer(fixed)
    chosen = {
        one.source: colour
        for one, colour in zip(fixed.levers, answer.colours, strict=True)
        if colour.name
    }
    return told(fixed, answer, before, judged(fixed, answer)), chosen


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


def told(
    problem: Problem, answer: Answer, before: Mapping[Told, Judged], got: Mapping[Told, Judged]
) -> Balance:
    """All that a person is told of an answer."""
    terms = terms_of(problem, answer)
    missed = [key for key, one in got.items() if not one.holds]
    conflicts = _conflicts(problem, answer, terms) if missed else ()
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
        conflicts=conflicts,
        first_to_break=first_to_break(problem, answer, got, terms),
        says=(),
        findings=findings_of(problem, answer),
    )
    return replace_fields(result, says=balance_sentences(result))


def missed_by_all(problem: Problem, got: Mapping[Told, Judged]) -> float:
    """Weighed sum of squares of what is short, in scales of each target's own unit."""
    weights = weights_of(problem)
    return sum(weights[key] * as_stops(one) ** 2 for key, one in got.items())


def _all_hold(got: Mapping[Told, Judged]) -> bool:
    return all(one.holds for one in got.values())


def _conflicts(problem: Problem, answer: Answer, terms: tuple[Term, ...]) -> tuple[Conflict, ...]:
    """Targets that cannot be met at all, and the fewest of the others that exclude each other.

    First whatever the colours and exposures; where nothing stands in the way then, with those of
    the answer.
    """
    mine = terms_by_target(problem, terms)
    until = time.monotonic() + _LOOKED_FOR_S
    found = _excluding(problem, mine, Holding(problem, mine), until, anyhow=True)
    fixed = with_choices(problem, answer)
    return found or _excluding(problem, mine, Holding(fixed, mine), math.inf, anyhow=False)


def _excluding(
    problem: Problem,
    mine: Mapping[Told, Sequence[Term]],
    holding: Holding[Told],
    until: float,
    *,
    anyhow: bool,
) -> tuple[Conflict, ...]:
    """What one way of holding targets has in it; what cannot be told by then is left out."""

    def find(keys: Sequence[Told]) -> frozenset[Told] | None:
        if time.monotonic() > until:
            raise Undecided
        return holding.find(keys)

    def told(keys: tuple[Told, ...], *, smallest: bool) -> Conflict:
        says = conflict_sentence(problem, keys, anyhow=anyhow)
        return Conflict(targets=keys, smallest=smallest, says=says)

    found: list[Conflict] = []
    try:
        alone = [key for key in mine if find((key,)) is None]
        found += [told((key,), smallest=True) for key in alone]
        others = tuple(key for key in mine if key not in alone)
        together, smallest = smallest_conflict(others, find)
    except Undecided:
        return tuple(found)
    return (*found, *([told(together, smallest=smallest)] if together else []))


def _dims(problem: Problem, answer: Answer) -> tuple[DimSet, ...]:
    found = []
    for s, lever in enumerate(problem.levers):
        if not lever.free:
            continue
        share, choice = float(answer.shares[s]), answer.colours[s]
        stood = {table.setup: float(table.now[s]) for table in problem.tables}
        first = next(iter(stood.values()))
        end = ""
        if not lever.dims:
            end = ""  # it is on or off
        elif lever.is_full(share):
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
                colour=choice.name,
                entry=choice.edits,
                at=end,
                moved=bool(choice.name)
                or any(abs(share - one) > _SAME_SHARE for one in stood.values()),
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
