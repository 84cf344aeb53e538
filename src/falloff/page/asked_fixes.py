"""Fixes: what would bring in the targets that no dim brings in, told before any is traced."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec

from falloff.balance.fixes.confirming import TakenFix, with_confirmed
from falloff.balance.fixes.find import CONFIRMED, FoundFixes, find_fixes
from falloff.page.answer_changes import edits_told
from falloff.page.ask_desk import Answer, Desk
from falloff.session.fixes import case_of, edits_with_dims, tracer
from falloff.session.scene import Arrangement


def fixes_answer(desk: Desk) -> Answer:
    """asked: setups that are fixed together, the one that is shown where none; hours: true, false.

    The fixes as weighed are told first; the first few are traced then.
    """
    asked, task = desk.task.asked, desk.task
    setups = tuple(str(one) for one in asked.get("setups") or (task.setup,))
    posed = tuple(desk.posed(name) for name in setups)
    case = case_of(posed, task.document, task.text)
    found = find_fixes(case, hours=bool(asked.get("hours", True)), progress=desk.progress)
    traced = [one for one in found.taken if one.weighed is not None]
    if not traced:
        return _told(found, found.taken)
    desk.partly(_told(found, found.taken))
    stage = posed[0].layers.solution.stage
    standing = Arrangement(setups, posed[0].document, stage)
    trace = tracer(standing, task.document, task.text, progress=desk.progress)
    again = with_confirmed(found.start, tuple(traced), trace, CONFIRMED)
    rest = [one for one in found.taken if one.weighed is None]
    return _told(found, (*again, *rest))


def _told(found: FoundFixes, taken: Sequence[TakenFix]) -> Answer:
    told = found.told
    return {
        "setups": list(told.setups),
        "says": list(told.says),
        "rule": told.rule,
        "tried": told.tried,
        "findings": [msgspec.to_builtins(one) for one in told.findings],
        "parts": [_fix(found, one) for one in taken],
    }


def _fix(found: FoundFixes, taken: TakenFix) -> dict[str, Any]:
    fix = taken.fix
    edits = edits_with_dims(found, taken) if taken.edits else ()
    return {
        "step": True,
        "kind": fix.kind,
        "says": fix.says,
        "does": list(fix.does),
        "dims": list(fix.dims),
        "worth_stops": fix.worth_stops,
        "brings_all": fix.brings_all,
        "minutes": fix.minutes,
        "hands": fix.hands,
        "hire": fix.hire_says,
        "side_effects": list(fix.side_effects),
        "cautions": list(fix.cautions),
        "later": fix.later,
        "confirmed": None if fix.confirmed is None else fix.confirmed.says,
        "keeps": None if fix.confirmed is None else fix.confirmed.keeps,
        "targets": [msgspec.to_builtins(one) for one in fix.targets],
        "changes": [{"do": "edits", "label": fix.says, "edits": edits_told(edits)}]
        if edits
        else [],
    }
