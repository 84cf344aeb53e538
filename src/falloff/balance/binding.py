"""What keeps a target from being met, and what would break an answer first."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Final

import numpy as np

from falloff.balance.fewest import BYSTANDER
from falloff.balance.problem import WEIGHTS, Answer, Lever, Problem, Told
from falloff.balance.records import Breaks
from falloff.balance.terms import LevelTerm, Term, gains, totals
from falloff.readings import Judged
from falloff.types import Float64Array

_MOST_STOPS: Final = 3.0
_LEAST_TOLD: Final = 0.05
_FIRST: Final = 2.0  # told before any light's share
_ONE: Final = 1.05
_MOST_TOLD: Final = 3


def bindings(
    problem: Problem, answer: Answer, key: Told, terms: tuple[Term, ...]
) -> tuple[str, ...]:
    """What stands in a missed target's way, the weightiest first, as sentences."""
    setup, name = key
    found: list[tuple[float, str]] = []
    mine = [
        term for term in terms if term.target == name and problem.tables[term.table].setup == setup
    ]
    lights = totals(problem, answer)
    by = gains(problem, answer)
    for term in mine:
        table, light = problem.tables[term.table], lights[term.table]
        exposure = table.exposure_stops(answer.exposures[term.table])
        if float(light[term.reading] @ WEIGHTS) <= 0.0:
            return (f"no light of this scene reaches {table.readings[term.reading]}",)
        parts = _parts(table.rgb[:, term.reading], by)
        if not isinstance(term, LevelTerm):
            found += _givers(problem, parts, table.readings[term.reading])
            continue
        off = _off(term, light, exposure)
        found += _at_the_utmost(problem, answer, term, exposure)
        over = None if term.over is None else _parts(table.rgb[:, term.over], by)
        if off < term.low:
            reading = table.readings[term.reading]
            found += _too_dark(problem, answer, parts, reading, times=2.0 ** (term.low - off))
            if term.over is not None and over is not None:
                found += _too_bright(problem, answer, over, table.readings[term.over])
        elif off > term.high:
            found += _too_bright(problem, answer, parts, table.readings[term.reading])
            if over is not None:
                assert term.over is not None
                found += _too_dark(problem, answer, over, table.readings[term.over])
    told: list[str] = []
    for _, sentence in sorted(found, key=lambda item: -item[0]):
        if sentence not in told:
            told.append(sentence)
    return tuple(told[:_MOST_TOLD])


def _parts(rgb: Float64Array, by: Float64Array) -> Float64Array:
    """What each source gives (s,) of a reading."""
    return np.asarray((rgb * by) @ WEIGHTS)


def _off(term: LevelTerm, light: Float64Array, exposure: float) -> float:
    stops = math.log2(max(float(light[term.reading] @ WEIGHTS), 1e-12))
    if term.over is not None:
        stops -= math.log2(max(float(light[term.over] @ WEIGHTS), 1e-12))
    return stops - term.reference - (exposure if term.keyed else 0.0) - term.wanted


def _at_the_utmost(
    problem: Problem, answer: Answer, term: LevelTerm, exposure: float
) -> list[tuple[float, str]]:
    """What a level over no other reading lacks with every light at full, or has with all out."""
    if term.over is not None:
        return []
    found = []
    for full, says in ((True, "with every light at 100 %"), (False, "with every light out")):
        shares = np.array(
            [
                (lever.highest if full else 0.0) if lever.free else lever.now
                for lever in problem.levers
            ]
        )
        utmost = replace(answer, shares=shares)
        off = _off(term, totals(problem, utmost)[term.table], exposure)
        short = term.low - off if full else off - term.high
        if short > 0.0:
            more = "short" if full else "too bright"
            told = f"{says} it would still be {short:.1f} stop{'s' if short >= _ONE else ''} {more}"
            found.append((_FIRST, told))
    return found


def _too_dark(
    problem: Problem,
    answer: Answer,
    parts: Float64Array,
    reading: str,
    *,
    times: float | None = None,
) -> list[tuple[float, str]]:
    """Lights at full, and those that others keep down; times: of what there is, that is wanted."""
    found = []
    total = max(float(parts.sum()), 1e-12)
    for s, lever in enumerate(problem.levers):
        share = float(parts[s]) / total
        if not lever.free or share < BYSTANDER:
            continue
        if lever.is_full(answer.shares[s]):
            more = ""
            if times is not None:
                more = f", and would have to give {1.0 + (times - 1.0) / share:.1f} times its light"
            found.append((share, f"{lever.source} is at 100 %{more}"))
        else:
            part = f"{lever.source} gives {100.0 * share:.0f} % of {reading}"
            found.append((0.1 * share, f"{part}, and other targets keep it down"))
    return found


def _too_bright(
    problem: Problem, answer: Answer, parts: Float64Array, reading: str
) -> list[tuple[float, str]]:
    """Lights that cannot go lower, or that others need, and what share of a reading they are."""
    found = []
    total = max(float(parts.sum()), 1e-12)
    for s, lever in enumerate(problem.levers):
        share = float(parts[s]) / total
        if share < BYSTANDER:
            continue
        part = f"{lever.source} gives {100.0 * share:.0f} % of {reading}"
        if not lever.free:
            found.append((share, f"{part} and has no dim"))
        elif not lever.dims and answer.shares[s] > 0.0:
            found.append((share, f"{part} and does not dim: it is on or off"))
        elif answer.shares[s] <= 0.0 or lever.is_lowest(answer.shares[s]):
            found.append((share, f"{part} and is as low as it holds steady"))
        else:
            found.append((0.1 * share, f"{part}, and other targets need it"))
    return found


def _givers(problem: Problem, parts: Float64Array, reading: str) -> list[tuple[float, str]]:
    """Of a colour: who gives the light, and what becomes of its colour."""
    total = max(float(parts.sum()), 1e-12)
    found = []
    for s, lever in enumerate(problem.levers):
        share = float(parts[s]) / total
        if share >= BYSTANDER:
            if not lever.free:
                why = "in a colour that is not for balance to change"
            elif len(lever.colours) < 2 and lever.mixing is None:
                why = "and has no colour but its own"
            else:
                why = "and the colours that it can have are wanted otherwise or help no more"
            found.append((share, f"{lever.source} gives {100.0 * share:.0f} % of {reading}, {why}"))
    return found


# What would break it ---------------------------------------------------------------------


def first_to_break(
    problem: Problem,
    answer: Answer,
    got: Mapping[Told, Judged],
    terms: tuple[Term, ...],
) -> Breaks | None:
    """The source whose light need stray least, against what it may, to take a held target out."""
    best: tuple[float, str, str, int, float] | None = None
    held = {key for key, one in got.items() if one.holds}
    lights, by = totals(problem, answer), gains(problem, answer)
    for term in terms:
        table = problem.tables[term.table]
        key = (table.setup, term.target)
        if key not in held or not isinstance(term, LevelTerm):
            continue
        exposure = table.exposure_stops(answer.exposures[term.table])
        mine = _shares(_parts(table.rgb[:, term.reading], by))
        other = np.zeros_like(mine)
        if term.over is not None:
            other = _shares(_parts(table.rgb[:, term.over], by))
        off = _off(term, lights[term.table], exposure)
        for s, lever in enumerate(problem.levers):
            for stops in _limits(term, off, float(mine[s]), float(other[s])):
                times = abs(stops) / lever.spread_stops
                if best is None or times < best[0]:
                    best = (times, table.setup, term.target, s, stops)
    if best is None:
        return None
    _, setup, target, s, stops = best
    lever = problem.levers[s]
    return Breaks(
        setup=setup,
        target=target,
        source=lever.source,
        stops=stops,
        spread_stops=lever.spread_stops,
        says=_breaks_sentence(problem, (setup, target), lever, stops),
    )


def _shares(parts: Float64Array) -> Float64Array:
    return np.asarray(parts / max(float(parts.sum()), 1e-12))


def _breaks_sentence(problem: Problem, key: Told, lever: Lever, stops: float) -> str:
    setup, target = key
    where = f" in {setup}" if len(problem.tables) > 1 else ""
    more = "more" if stops > 0.0 else "less"
    size = f"{abs(stops):.1f} stop" if abs(stops) >= _LEAST_TOLD else "hardly a tenth of a stop"
    return (
        f"{target}{where} goes first: {lever.source} giving {size} {more} than told takes it "
        f"out (it may stray by {lever.spread_stops:.1f})"
    )


def _limits(term: LevelTerm, off: float, share: float, other: float) -> list[float]:
    """By how many stops a source strays until the term is at an edge; at most three either way."""
    found = []
    for edge in (term.low, term.high):
        if not math.isfinite(edge):
            continue
        for sign in (1.0, -1.0):
            at = _crossing(off, share, other, edge, sign)
            if at is not None:
                found.append(at)
    return found


def _crossing(off: float, share: float, other: float, edge: float, sign: float) -> float | None:
    """Stops, of the sign, at which a source brings a term to an edge; None past three."""

    def level(stops: float) -> float:
        gain = 2.0**stops - 1.0
        return off + math.log2(1.0 + share * gain) - math.log2(1.0 + other * gain)

    far = sign * _MOST_STOPS
    if (level(far) - edge) * (off - edge) > 0.0:
        return None
    low, high = 0.0, far
    for _ in range(40):
        middle = 0.5 * (low + high)
        if (level(middle) - edge) * (off - edge) > 0.0:
            low = middle
        else:
            high = middle
    return high
