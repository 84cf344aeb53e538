"""Balancing: the dims that bring in what is wanted, as a window is told them."""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from falloff.balance import Balance, TargetGot
from falloff.document import AnyTarget, Edit, SceneDocument, Target
from falloff.page.answer_changes import edits_told
from falloff.page.ask_desk import Answer, Desk
from falloff.readings.target_words import as_asked
from falloff.session.balance import Group, group_of


def balance_answer(desk: Desk) -> Answer:
    """asked: setups, those that share one dim for each light; only: targets, all where none."""
    setups = tuple(str(one) for one in desk.task.asked.get("setups") or (desk.task.setup,))
    only = [str(one) for one in desk.task.asked.get("only") or ()]
    posed = tuple(desk.posed(name) for name in setups)
    group: Group = desk.beside(lambda: group_of(posed, only=only or None))
    return balance_told(group, label=f"balanced {', '.join(setups)}")


def balance_told(group: Group, *, label: str) -> Answer:
    """A balance as a window is told it; label: of the step that takes it."""
    result, document = group.result, group.posed[0].document
    return {
        "setups": list(result.setups),
        "says": list(result.says),
        "holds": result.holds,
        "targets": [_got(document, one) for one in result.targets],
        "dims": [msgspec.to_builtins(one) for one in result.dims],
        "exposures": [msgspec.to_builtins(one) for one in result.exposures],
        "findings": [msgspec.to_builtins(one) for one in result.findings],
        "changes": _changes(result, group.edits, label),
    }


def _got(document: SceneDocument, one: TargetGot) -> Answer:
    return {
        "setup": one.setup,
        "name": one.name,
        "asks": asks_text(document, document.targets.get(one.name)) or one.got.asks,
        "before": one.before.got,
        "got": one.got.got,
        "held": one.before.holds,
        "holds": one.got.holds,
        "short": one.short,
        "margin": one.got.margin,
        "unit": one.got.unit,
        "binds": list(one.binds),
    }


def asks_text(document: SceneDocument, target: AnyTarget | None) -> str:
    """What a level target asks: "at most 3 over middle grey"; "" for other kinds."""
    if not isinstance(target, Target):
        return ""
    limit = "" if target.limit == "equal" else f"{target.limit} "
    known = document.readings.get(target.reading)
    spot = known is not None and known.instrument == "spot"
    return limit + as_asked(target.level.si, target.over or ("middle grey" if spot else "key"))


def _changes(result: Balance, edits: tuple[Edit, ...], label: str) -> list[Answer]:
    """Dims as one change where they are all there is; else the edits as they are."""
    if not edits:
        return []
    knobs: Mapping[str, float] = {one.source: one.knob for one in result.dims if one.moved}
    touched = {edit.key_path[1] for edit in edits}
    dims_alone = all(len(edit.key_path) > 2 and edit.key_path[2] == "dims" for edit in edits)
    if dims_alone and touched <= set(result.setups):
        return [{"do": "dims", "knobs": knobs, "setups": list(result.setups), "label": label}]
    return [{"do": "edits", "label": label, "edits": edits_told(edits)}]
