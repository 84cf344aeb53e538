"""balance(problem) -> Balance: dims, colours and exposure that bring every target nearest."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from msgspec.structs import replace as replace_fields

from falloff.balance.binding import bindings, first_to_break
from falloff.balance.choices import Holding, can_hold, choose, choose_again, with_choices
from falloff.balance.conflicts import smallest_conflict
from falloff.balance.doubts import findings_of
from falloff.balance.fewest import with_fewest_changes
from falloff.balance.judging import judged, judged_as_written, short_of
from falloff.balance.levels import Levelled, settle_levels
from falloff.balance.problem import Answer, Problem, Told, as_it_stands
from falloff.balance.programme import Undecided
from falloff.balance.records import Balance, Conflict, DimSet, ExposureSet, TargetGot
from falloff.balance.terms import Term, played_down, terms_by_target, terms_of
from falloff.balance.words import balance_sentences, conflict_sentence, exposure_text
from falloff.kit.catalogue import knob_share
from falloff.readings import AS_A_STOP, Judged

_SAME_SHARE: Final = 1e-3
_EXPOSURE: Final = 0.1  # of what its choice costs: turned at once, if it need be
_LOST: Final = 0.5
_HARDLY: Final = 1e-3
_NONE: Final = 1.0  # from which some target is missed: choices cost less
_FIRST_S: Final = 0.7  # that a choice may take
_HOPELESS: Final = 0.1
_BETTER_S: Final = 0.5
_LATER_S: Final = 0.3  # and one more, where not all can be held


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

    Of dims alone, of the best choice, and of one that holds as many targets as it can, the one that
    misses least: each target that is missed counts, and by how much. Choices that do not help are
    not made. Targets that nothing can meet hardly count: nothing else is bent for them.
    """
    start = as_it_stands(problem)
    terms = terms_of(problem, start)
    best = settle_levels(problem, terms, start)
    missed = {key for key, one in judged(problem, best.answer).items() if not one.holds}
    if not missed:
        return with_fewest_changes(problem, terms, best)
    mine = terms_by_target(problem, terms)
    hopeless = frozenset(key for key in missed if not can_hold(problem, mine.get(key, [])))
    tried = list(_tried(problem, hopeless, hopeless))
    if all(one.missing >= _NONE for one in tried):
        held = _most_held(problem, mine, _order(problem, mine, hopeless))
        if held != frozenset(mine) - hopeless:
            tried += _tried(problem, frozenset(mine) - held, hopeless, time_limit_s=_LATER_S)
        tried = _each_bettered(problem, tried, hopeless)
    found = min(tried, key=lambda one: one.missing)
    return with_fewest_changes(problem, found.terms, found.levelled)


@dataclass(frozen=True, slots=True)
class _Tried:
    """One answer, how badly it misses, what its choices cost, and the terms it was found by."""

    levelled: Levelled
    missing: float
    terms: tuple[Term, ...]


def _tried(
    problem: Problem,
    down: frozenset[Told],
    hopeless: frozenset[Told],
    *,
    time_limit_s: float = _FIRST_S,
) -> Iterator[_Tried]:
    """Answers with some targets played down: by dims alone, then with choices."""
    terms = played_down(problem, terms_of(problem, as_it_stands(problem)), down)
    levelled = settle_levels(problem, terms, as_it_stands(problem))
    yield _Tried(levelled, _missing(problem, levelled.answer, hopeless), terms)
    chosen = choose(problem, terms, time_limit_s=time_limit_s)
    if chosen is None:
        return
    other = settle_levels(problem, terms, chosen)
    # What is told relative to the present, as a colour's axes, is told anew.
    anew = played_down(problem, terms_of(problem, other.answer), down)
    other = settle_levels(problem, anew, other.answer)
    yield _Tried(other, _missing(problem, other.answer, hopeless), anew)


def _each_bettered(
    problem: Problem, tried: Sequence[_Tried], hopeless: frozenset[Told]
) -> list[_Tried]:
    """The answers bettered one missed target at a time, in a short while all together."""
    until = time.monotonic() + _BETTER_S
    found = []
    for one in sorted(tried, key=lambda one: one.missing):
        better: _Tried | None = one
        while better is not None:
            found.append(better)
            better = _bettered(problem, better, hopeless, until)
    return found


def _bettered(
    problem: Problem, one: _Tried, hopeless: frozenset[Told], until: float
) -> _Tried | None:
    """An answer that holds one more of what is missed, the nearest first; None where none does."""
    got = judged(problem, one.levelled.answer)
    held = {key for key, told in got.items() if told.holds}
    near = sorted(
        set(got) - held - hopeless, key=lambda key: short_of(got[key]) / AS_A_STOP[got[key].unit]
    )
    whole = terms_of(problem, one.levelled.answer)
    for key in near:
        if time.monotonic() > until:
            return None
        terms = played_down(problem, whole, set(got) - held - {key})
        starts = [one.levelled.answer]
        again = choose_again(problem, terms, one.levelled.answer, time_limit_s=_LATER_S)
        starts += [] if again is None else [again]
        for start in starts:
            levelled = settle_levels(problem, terms, start)
            missing = _missing(problem, levelled.answer, hopeless)
            if missing < one.missing - _HARDLY:
                return _Tried(levelled, missing, terms)
    return None


def _order(
    problem: Problem, mine: Mapping[Told, Sequence[Term]], hopeless: frozenset[Told]
) -> list[Told]:
    """Targets in the order in which they are to be held: the weightier, and what holds already."""
    weights = _weights(problem)
    held = {key for key, one in judged_as_written(problem).items() if one.holds}
    some = [key for key in mine if key not in hopeless]
    return sorted(some, key=lambda key: (-weights[key], key not in held))


def _most_held(
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


def _missing(problem: Problem, answer: Answer, hopeless: frozenset[Told]) -> float:
    """How badly an answer misses: each target that is missed, and by what is as bad as a stop.

    Of those that nothing can meet, hardly by how much; the more where a target held as things
    stand. Choices count with what they cost.
    """
    weights = _weights(problem)
    stood = {key for key, one in judged_as_written(problem).items() if one.holds}
    found = sum(
        one.costs for one, share in zip(answer.colours, answer.shares, strict=True) if share
    )
    for table, k in zip(problem.tables, answer.exposures, strict=True):
        found += _EXPOSURE * table.exposures[k].costs if table.exposures else 0.0
    for key, one in judged(problem, answer).items():
        short = short_of(one) / AS_A_STOP[one.unit]
        if key in hopeless:
            found += _HOPELESS * weights[key] * short
        elif not one.holds:
            found += weights[key] * (1.0 + short + _LOST * (key in stood))
    return found


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
    weights = _weights(problem)
    return sum(
        weights[key] * (short_of(one) / AS_A_STOP[one.unit]) ** 2 for key, one in got.items()
    )


def _weights(problem: Problem) -> dict[Told, float]:
    return {
        (table.setup, name): target.weight
        for table in problem.tables
        for name, target in table.targets.items()
    }


def _all_hold(got: Mapping[Told, Judged]) -> bool:
    return all(one.holds for one in got.values())


def _conflicts(problem: Problem, answer: Answer, terms: tuple[Term, ...]) -> tuple[Conflict, ...]:
    """Targets that cannot be met at all, and the fewest of the others that exclude each other.

    With the colours and the exposures of the answer.
    """
    mine = terms_by_target(problem, terms)
    holding = Holding(with_choices(problem, answer), mine)
    found: list[Conflict] = []
    try:
        alone = [key for key in mine if holding.find((key,)) is None]
        found += [
            Conflict(
                targets=(key,),
                smallest=True,
                says=conflict_sentence(problem, [key], otherwise=can_hold(problem, mine[key])),
            )
            for key in alone
        ]
        others = tuple(key for key in mine if key not in alone)
        together, smallest = smallest_conflict(others, holding.find)
    except Undecided:
        return tuple(found)
    if together:
        found.append(
            Conflict(
                targets=together,
                smallest=smallest,
                says=conflict_sentence(problem, together, otherwise=False),
            )
        )
    return tuple(found)


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
