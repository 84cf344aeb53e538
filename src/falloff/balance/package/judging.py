"""A package judged: dims for each setup, the middle of every band where it can be had."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from falloff.balance.judging import as_stops, judged, short_of, weights_of
from falloff.balance.levels import settle_levels
from falloff.balance.package.problem import Chosen, PackageProblem, chosen_problem, filled
from falloff.balance.problem import AS_IT_STANDS, WEIGHTS, Answer, Problem, Told
from falloff.balance.records import TargetGot
from falloff.balance.search import best_answer
from falloff.balance.terms import terms_of, totals
from falloff.readings import Judged


def settled_package(
    problem: PackageProblem, chosen: Chosen
) -> tuple[tuple[dict[str, float], ...], dict[Told, Judged], tuple[int, ...]]:
    """A package's light by table and place, as shares of full; every target with it; exposures."""
    exposures: list[int] = []
    shares: list[dict[str, float]] = []
    got: dict[Told, Judged] = {}
    for t in range(len(problem.fixed.tables)):
        single = chosen_problem(problem, chosen, t)
        start = {place.name: float(chosen.shares[t, p]) for p, place in enumerate(problem.places)}
        answer = settled_answer(
            without_hopeless(problem, single),
            start,
            chosen.exposures[t],
            holds=chosen.missed == 0.0,
        )
        got |= judged(single, answer)
        at = len(problem.fixed.levers)
        names = [place.name for place, _ in filled(problem, chosen)]
        shares.append(dict(zip(names, answer.shares[at:].tolist(), strict=True)))
        exposures += answer.exposures
    return tuple(shares), got, tuple(exposures)


def without_hopeless(problem: PackageProblem, single: Problem) -> Problem:
    """A setup's problem without the targets that nothing can bring in."""
    tables = tuple(
        replace(
            table,
            targets={
                name: one
                for name, one in table.targets.items()
                if (table.setup, name) not in problem.hopeless
            },
        )
        for table in single.tables
    )
    return replace(single, tables=tables)


def settled_answer(
    single: Problem, start: Mapping[str, float], exposure: int, *, holds: bool
) -> Answer:
    """One setup's dims from those that the programme found, by the name of each free light.

    holds: whether those hold every target; they are kept where settling would lose one.
    """
    shares = single.now.copy()
    for s, lever in enumerate(single.levers):
        if lever.free:
            shares[s] = min(max(start.get(lever.source, 0.0), 0.0), lever.highest)
            shares[s] = 0.0 if shares[s] < 0.5 * lever.lowest else max(shares[s], lever.lowest)
    found = Answer(shares, (AS_IT_STANDS,) * len(single.levers), (exposure,))
    if not holds:
        weights = weights_of(single)
        return min(
            found, best_answer(single), key=lambda one: demerit(judged(single, one), weights)
        )
    terms = terms_of(single, found)
    settled = settle_levels(single, terms, found).answer
    if _held(single, settled) or not _held(single, found):
        return settled
    return found


def demerit(got: Mapping[Told, Judged], weights: Mapping[Told, float]) -> tuple[float, float]:
    """How bad targets stand, the less the better: the weight not held, then what it is missed by.

    The second is weighed too, what is as bad as a stop counting one.
    """
    out = {key: one for key, one in got.items() if not one.holds}
    return (
        sum(weights[key] for key in out),
        sum(weights[key] * as_stops(one) for key, one in out.items()),
    )


def _held(single: Problem, answer: Answer) -> bool:
    return all(one.holds for one in judged(single, answer).values())


def over_key_stops(problem: Problem, answer: Answer, reading: str) -> float | None:
    """How far a reading of a setup is over key, a spot over middle grey; None where it is dark."""
    (table,) = problem.tables
    (light,) = totals(problem, answer)
    k = table.index(reading)
    value = float(light[k] @ WEIGHTS)
    if value <= 0.0:
        return None
    middle = table.grey_nit if table.spots[k] else table.key_lux
    return math.log2(value / middle) - table.exposure_stops(answer.exposures[0])


def targets_got(
    before: Mapping[Told, Judged],
    got: Mapping[Told, Judged],
    *,
    binds: Mapping[Told, Sequence[str]] | None = None,
) -> tuple[TargetGot, ...]:
    """Every target as it stood and as it is, in the order of `got`."""
    why = binds or {}
    return tuple(
        TargetGot(
            setup=setup,
            name=name,
            before=before.get((setup, name), one),
            got=one,
            short=short_of(one),
            binds=tuple(why.get((setup, name), ())),
        )
        for (setup, name), one in got.items()
    )


def with_light(
    problem: PackageProblem, chosen: Chosen, traced: Sequence[Problem]
) -> PackageProblem:
    """The problem with a package's light, and the light that stays, as they were traced together.

    traced: one problem for each table, levers by name as its sources are.
    """
    fixed, places = problem.fixed, list(problem.places)
    tables = []
    for table, single in zip(fixed.tables, traced, strict=True):
        rows = {lever.source: s for s, lever in enumerate(single.levers)}
        rgb = table.rgb.copy()
        for s, lever in enumerate(fixed.levers):
            if lever.source in rows:
                rgb[s] = single.tables[0].rgb[rows[lever.source]]
        tables.append(replace(table, rgb=rgb))
    for p, k in enumerate(chosen.candidates):
        if k is None:
            continue
        place = places[p]
        one = place.candidates[k]
        light = list(one.light)
        for t, single in enumerate(traced):
            rows = {lever.source: s for s, lever in enumerate(single.levers)}
            if place.name in rows:
                light[t] = single.tables[0].rgb[rows[place.name]]
        better = replace(one, light=tuple(light))
        candidates = (*place.candidates[:k], better, *place.candidates[k + 1 :])
        places[p] = replace(place, candidates=candidates)
    return replace(problem, fixed=replace(fixed, tables=tuple(tables)), places=tuple(places))
