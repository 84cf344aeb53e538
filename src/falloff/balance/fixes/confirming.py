"""The first fixes traced: what was promised against what a trace has, and the rank after it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from msgspec.structs import replace as replace_fields

from falloff.balance.fixes.records import Confirmed, Fix, Promised
from falloff.balance.fixes.settling import settled
from falloff.balance.fixes.start import Start
from falloff.balance.fixes.weighing import (
    Weighed,
    counted,
    fix_of,
    weighed_at,
    with_fewest,
)
from falloff.balance.judging import judged
from falloff.balance.posing import Posed, pose
from falloff.balance.problem import AS_IT_STANDS, Answer, Problem, Told
from falloff.document import Edit
from falloff.errors import FalloffError
from falloff.readings import Judged

OFF_STOPS: Final = 0.1  # of a promise that a trace breaks
_SAME_WORTH: Final = 0.05  # stops, that no other dims are told for

Trace = Callable[[Sequence[Edit]], tuple[Posed, ...]]


@dataclass(frozen=True, slots=True)
class TakenFix:
    """A fix with what makes it so: its edits, its problem and the dims that go with it.

    problem: None for what is done later, or not at all.
    """

    fix: Fix
    edits: tuple[Edit, ...] = ()
    weighed: Weighed | None = None


def with_confirmed(
    start: Start,
    taken: tuple[TakenFix, ...],
    trace: Trace,
    count: int,
) -> tuple[TakenFix, ...]:
    """The first few traced; ranked anew where a promise was broken, and so on down the list."""
    order = list(taken)
    for _ in range(2 * count):
        todo = [one for one in order[:count] if one.fix.confirmed is None and one.edits]
        if not todo:
            break
        one = todo[0]
        order[order.index(one)] = confirm(start, one, trace)
        order.sort(key=lambda fix: rank_of(fix.fix))
    return tuple(order)


def rank_of(fix: Fix) -> tuple[bool, float]:
    """What fixes are sorted by: what brings all in, then stops for the effort."""
    worth_stops = fix.worth_stops if fix.confirmed is None else fix.confirmed.worth_stops
    comes_in = sum((one.before > 0.0) - (one.after > 0.0) for one in fix.targets)
    return not fix.brings_all, -counted(worth_stops, comes_in) / fix.effort_minutes


def confirm(start: Start, taken: TakenFix, trace: Trace) -> TakenFix:
    """A fix with what a trace makes of it, at the same dims."""
    assert taken.weighed is not None
    try:
        posed = trace(taken.edits)
    except FalloffError as error:
        told = "; ".join(fault.what for fault in error.faults)
        broken = Confirmed(
            targets=(), worst_stops=0.0, worth_stops=0.0, keeps=False,
            says=f"it cannot be built so: {told}",
        )  # fmt: skip
        gone = replace_fields(taken.fix, confirmed=broken, worth_stops=0.0, brings_all=False)
        return replace(taken, fix=gone)
    problem = traced_problem(start, posed)
    same = answer_for(taken, problem)
    traced = judged(problem, same)
    targets = _promises(taken, traced)
    worst = max(
        (
            abs(one.traced - one.promised)
            for one in targets
            if one.unit == "stops" and _matters(start, taken, one, traced)
        ),
        default=0.0,
    )
    keeps = worst <= OFF_STOPS
    again = _settled_anew(start, taken.weighed, problem, same, traced)
    fix = fix_of(start, again)
    says = "a trace confirms it" if keeps else f"a trace is {worst:.1f} stop off what was estimated"
    confirmed = Confirmed(
        targets=targets,
        worst_stops=worst,
        worth_stops=again.worth_stops,
        keeps=keeps,
        says=says,
    )
    return TakenFix(replace_fields(fix, confirmed=confirmed), taken.edits, again)


def _settled_anew(
    start: Start, was: Weighed, problem: Problem, same: Answer, traced: dict[Told, Judged]
) -> Weighed:
    """The traced problem with the dims that were told, unless others do more with it."""
    told = weighed_at(start, was.candidate, problem, same)
    again = weighed_at(start, was.candidate, problem, settled(problem, same))
    again = with_fewest(start, again)
    held = [key for key, one in was.got.items() if one.holds or again.got[key].holds]
    kept = all(traced[key].holds for key in held)
    return told if kept and told.worth_stops >= again.worth_stops - _SAME_WORTH else again


def _matters(start: Start, taken: TakenFix, one: Promised, traced: dict[Told, Judged]) -> bool:
    """Whether it is of account: not of a limit that is kept both ways, however far."""
    assert taken.weighed is not None
    key = (one.setup, one.name)
    target = next(
        table.targets[one.name] for table in start.problem.tables if table.setup == one.setup
    )
    limited = getattr(target, "limit", "equal") != "equal"
    return not (limited and taken.weighed.got[key].holds and traced[key].holds)


def traced_problem(start: Start, posed: tuple[Posed, ...]) -> Problem:
    """The problem of setups that were traced after a fix; what is kept is as it was before."""
    only = {table.setup: tuple(table.targets) for table in start.problem.tables}
    problem = pose(posed, only=only)
    kept = {table.setup: table.kept for table in start.problem.tables}
    tables = tuple(replace(one, kept=kept[one.setup]) for one in problem.tables)
    return replace(problem, tables=tables)


def answer_for(taken: TakenFix, problem: Problem) -> Answer:
    """The same dims on the sources of a traced problem; a light that was added takes its twin's."""
    assert taken.weighed is not None
    old, answer = taken.weighed.problem, taken.weighed.answer
    at = {lever.source: s for s, lever in enumerate(old.levers)}
    alike = taken.weighed.candidate.alike
    rows = [at.get(alike.get(lever.source, lever.source)) for lever in problem.levers]
    shares = [
        lever.now if s is None else float(answer.shares[s])
        for s, lever in zip(rows, problem.levers, strict=True)
    ]
    colours = tuple(AS_IT_STANDS if s is None else answer.colours[s] for s in rows)
    exposures = answer.exposures
    if taken.weighed.candidate.kind == "exposure":  # what it sets is what is written then
        changed = {edit.key_path[1] for edit in taken.edits}
        exposures = tuple(
            0 if table.setup in changed else k
            for table, k in zip(problem.tables, exposures, strict=True)
        )
    return Answer(np.array(shares), colours, exposures)


def _promises(taken: TakenFix, traced: dict[Told, Judged]) -> tuple[Promised, ...]:
    assert taken.weighed is not None
    return tuple(
        Promised(
            setup=setup, name=name, promised=one.off, traced=traced[setup, name].off or 0.0,
            unit=one.unit,
        )
        for (setup, name), one in taken.weighed.got.items()
        if one.off is not None and (setup, name) in traced
    )  # fmt: skip
