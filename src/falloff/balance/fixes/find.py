"""find_fixes(case) -> FoundFixes: what brings in the targets that no dim brings in, ranked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from msgspec.structs import replace as replace_fields

from falloff.balance.fixes.boards import board_candidates
from falloff.balance.fixes.camera import accepted, camera_candidates
from falloff.balance.fixes.candidates import Candidate
from falloff.balance.fixes.confirming import TakenFix, Trace, rank_of, with_confirmed
from falloff.balance.fixes.efforts import NOTHING, RULE, Effort
from falloff.balance.fixes.grade import graded
from falloff.balance.fixes.lights import light_candidates
from falloff.balance.fixes.records import Fixes, FixTarget
from falloff.balance.fixes.settling import settled_but
from falloff.balance.fixes.start import FixCase, Start, start_of
from falloff.balance.fixes.swaps import swap_candidates
from falloff.balance.fixes.walls import wall_candidates
from falloff.balance.fixes.weighing import (
    Weighed,
    counted,
    fix_of,
    lost,
    weigh,
    weighed,
    weighed_at,
    with_fewest,
)
from falloff.balance.fixes.windows import (
    hour_candidate,
    hour_problems,
    wants_hours,
    window_candidates,
)
from falloff.balance.fixes.words import fixes_sentences
from falloff.balance.judging import as_stops, short_of, weights_of
from falloff.balance.problem import WEIGHTS
from falloff.balance.terms import totals
from falloff.document import instant_of
from falloff.transport import Progress, silent

NOTHING_DONE: Final = Candidate("accept", "nothing", (), (), lambda: None, NOTHING)
MOST_TRACED: Final = 14  # trials that trace a light or put something up
MOST_TOLD: Final = 12
CONFIRMED: Final = 3
_LEAST_WORTH: Final = 0.1  # stops: less is not told
_LEAST_SHARE: Final = 0.05  # of all that is missed: less is not told unless a target comes in by it
_AS_MUCH: Final = 0.9  # of what the grade does, that is as much on set
_SAME_WORTH: Final = 0.05
_OF_EACH: Final = 2  # fixes of one kind on one thing that are told


@dataclass(frozen=True, slots=True)
class FoundFixes:
    """What is told, and each fix in the same order with its edits."""

    told: Fixes
    taken: tuple[TakenFix, ...]
    start: Start


def find_fixes(
    case: FixCase,
    *,
    only: Sequence[str] | None = None,
    hours: bool = True,
    trace: Trace | None = None,
    confirmed: int = CONFIRMED,
    progress: Progress = silent,
) -> FoundFixes:
    """Weigh every change that may help, rank them, and confirm the first by a trace.

    only: targets by name, all where None; hours: whether other hours are tried; trace: gives the
    setups traced anew after edits, None where nothing is to be confirmed.
    """
    start = start_of(case, only=only)
    if not start.missed:
        return _found(start, (), 0)
    found = weigh_all(start, hours=hours, progress=progress)
    idle = weighed(start, NOTHING_DONE, start.problem)
    kept = ranked([one for one in found if _is_told(start, one, idle)])
    taken = _told(start, kept)
    if trace is not None:
        taken = with_confirmed(start, taken, trace, confirmed)
        taken = tuple(one for one in taken if one.fix.worth_stops >= _LEAST_WORTH)
    taken = _with_later(start, taken)
    return _found(start, taken, len(found))


def weigh_all(start: Start, *, hours: bool = True, progress: Progress = silent) -> list[Weighed]:
    """Every candidate that can stand, weighed."""
    progress("fixes", 0.0)
    every = candidates_of(start)
    found: list[Weighed] = []
    for k, candidate in enumerate(every):
        progress("fixes", (k + 1) / (len(every) + 1))
        one = weigh(start, candidate)
        if one is not None:
            found.append(one)
    if hours and wants_hours(start):
        found += _hours(start)
    progress("fixes", 1.0)
    return found


def candidates_of(start: Start) -> list[Candidate]:
    """What is worth a trial: all that is only scaled, and the likeliest of what is traced."""
    every = [
        *window_candidates(start),
        *light_candidates(start),
        *swap_candidates(start),
        *board_candidates(start),
        *wall_candidates(start),
        *camera_candidates(start),
    ]
    cheap = [one for one in every if not one.traced]
    costly = _by_turns([one for one in every if one.traced])
    return [*cheap, *costly[:MOST_TRACED]]


def _by_turns(costly: list[Candidate]) -> list[Candidate]:
    """The likeliest of every kind, then the second of every kind, and so on."""
    kinds: dict[str, list[Candidate]] = {}
    for one in sorted(costly, key=lambda one: -one.rank):
        kinds.setdefault(one.kind, []).append(one)
    turns: list[Candidate] = []
    while any(kinds.values()):
        for mine in kinds.values():
            turns += mine[:1]
            del mine[:1]
    return turns


def _hours(start: Start) -> list[Weighed]:
    """The nearest hour before and after that brings all in, else the best on either side."""
    own = instant_of(start.document)
    assert own is not None
    each = {
        instant: weighed(start, hour_candidate(start, instant, problem), problem)
        for instant, problem in hour_problems(start).items()
    }
    found = []
    for later in (False, True):
        side = [
            (abs((at - own).total_seconds()), one)
            for at, one in each.items()
            if (at > own) == later
        ]
        if not side:
            continue
        whole = [pair for pair in side if pair[1].brings_all]
        if whole:
            found.append(min(whole, key=lambda pair: pair[0])[1])
            continue
        most = max(one.worth_stops for _, one in side)
        near = [pair for pair in side if pair[1].worth_stops >= most - _SAME_WORTH]
        found.append(min(near, key=lambda pair: pair[0])[1])
    return found


# Ranks -----------------------------------------------------------------------------------


def ranked(found: list[Weighed]) -> list[Weighed]:
    """What brings all in, then by stops nearer for the effort; of a kind on one thing the best."""
    order = sorted(found, key=_order)
    met: dict[tuple[str, str, Effort], int] = {}
    kept = []
    for one in order:
        key = (one.candidate.kind, _about(one.candidate), one.candidate.effort)
        met[key] = met.get(key, 0) + 1
        if met[key] <= _OF_EACH:
            kept.append(one)
    return kept


def _order(one: Weighed) -> tuple[bool, float, float, str]:
    """Of those that do as much, to what anybody sees, for the same effort the smaller first."""
    worth = round(one.worth_stops / _SAME_WORTH) * _SAME_WORTH
    score = counted(worth, one.comes_in) / one.effort
    return not one.brings_all, -score, one.candidate.size, one.candidate.says


def _about(candidate: Candidate) -> str:
    """What a candidate changes, by the entry of the scene that its first edit is of."""
    path = candidate.edits[0].key_path if candidate.edits else ("",)
    return "/".join(str(part) for part in path[:2])


def _is_told(start: Start, one: Weighed, idle: Weighed) -> bool:
    """Whether it does enough to be told: a target comes in for it, or a part of all that is short.

    What costs one target as much as it brings another does not, nor what dims do as well without
    it, where they let go of what they held; idle: those.
    """
    by_dims = counted(idle.worth_stops, idle.comes_in)
    gain = counted(one.worth_stops, one.comes_in) - max(0.0, by_dims)
    if min(one.worth_stops, gain) < _LEAST_WORTH:
        return False
    weights = weights_of(start.problem)
    short = sum(weights[key] * as_stops(start.judged[key]) for key in start.missed)
    return one.comes_in > 0 or one.worth_stops >= _LEAST_SHARE * short


def dims_do_it(start: Start, one: Weighed) -> bool:
    """Whether dims from its own do as well without it, as where a stronger head is dimmed to less.

    They let go of what the best dims hold, and so does it.
    """
    if one.comes_in > 0 and not lost(start, one.got):
        return False
    missed = {key for key, got in one.got.items() if not got.holds}
    alone = weighed_at(
        start, NOTHING_DONE, start.problem, settled_but(start.problem, one.answer, missed)
    )
    by_dims = max(0.0, counted(alone.worth_stops, alone.comes_in))
    return counted(one.worth_stops, one.comes_in) - by_dims < _LEAST_WORTH


def _told(start: Start, kept: list[Weighed]) -> tuple[TakenFix, ...]:
    """With as few dims turned as will do, so that what is told is what would be written."""
    few = [with_fewest(start, one) for one in kept[:MOST_TOLD] if not dims_do_it(start, one)]
    found = [TakenFix(fix_of(start, one), one.candidate.edits, one) for one in few]
    return tuple(found)


def _with_later(start: Start, taken: tuple[TakenFix, ...]) -> tuple[TakenFix, ...]:
    """With the grade behind what does as much on set, and accepting it last."""
    found = list(taken)
    later = graded(start)
    if later is not None:
        much = min(_AS_MUCH * later.worth_stops, later.worth_stops - _SAME_WORTH)
        as_good = [k for k, one in enumerate(found) if one.fix.worth_stops >= much]
        by_score = sum(rank_of(one.fix) < rank_of(later) for one in found)
        found.insert(max(by_score, as_good[-1] + 1 if as_good else 0), TakenFix(later))
    found.append(TakenFix(accepted(start)))
    return tuple(found)


# Told ------------------------------------------------------------------------------------


def _found(start: Start, taken: tuple[TakenFix, ...], tried: int) -> FoundFixes:
    missed = tuple(
        FixTarget(
            setup=setup, name=name, before=short_of(one), after=short_of(one), unit=one.unit,
            got=one.got, asks=one.asks, miss=one.miss,
        )
        for (setup, name), one in start.judged.items()
        if not one.holds
    )  # fmt: skip
    told = Fixes(
        scene=start.problem.scene,
        setups=start.case.setups,
        missed=missed,
        fixes=tuple(one.fix for one in taken),
        tried=tried,
        rule=RULE,
        says=(),
    )
    says = fixes_sentences(told, unseen=_unseen(start), asked=bool(start.judged))
    return FoundFixes(replace_fields(told, says=says), taken, start)


def _unseen(start: Start) -> tuple[str, ...]:
    """Readings of missed targets that no light reaches."""
    found = []
    for t, (table, need) in enumerate(zip(start.problem.tables, start.needs, strict=True)):
        light = totals(start.problem, start.answer)[t] @ WEIGHTS
        full = table.rgb.sum((0, 2))
        found += [
            name for k, name in enumerate(table.readings)
            if need[k] != 0.0 and light[k] <= 0.0 and full[k] <= 0.0
        ]  # fmt: skip
    return tuple(dict.fromkeys(found))
