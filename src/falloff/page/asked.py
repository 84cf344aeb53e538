"""What is asked of a scene's light, answered in the worker: the answer in plain parts for a window.

Each answer says in `changes` what would make it so, and in `setups` which setups it is for.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

import msgspec

from falloff.balance import Balance, TargetGot
from falloff.document import Edit
from falloff.page.answer_changes import edits_told
from falloff.page.ask_desk import Answer, Desk
from falloff.page.asked_why import why_answer
from falloff.page.places import cannot
from falloff.session.balance import Group, group_of


def answer_to(desk: Desk) -> Answer:
    """The answer to a question; raises FalloffError where there is none."""
    found = _ANSWERS.get(desk.task.what)
    if found is None:
        raise cannot(f"nobody can be asked about {desk.task.what!r}")
    return {"what": desk.task.what, "setup": desk.task.setup, **found(desk)}


# Balance ---------------------------------------------------------------------------------


def _balance(desk: Desk) -> Answer:
    """asked: setups, those that share one dim for each light; only: targets, all where none."""
    setups = tuple(str(one) for one in desk.task.asked.get("setups") or (desk.task.setup,))
    only = [str(one) for one in desk.task.asked.get("only") or ()]
    posed = tuple(desk.posed(name) for name in setups)
    group: Group = desk.beside(lambda: group_of(posed, only=only or None))
    return balance_told(group.result, group.edits)


def balance_told(result: Balance, edits: tuple[Edit, ...]) -> Answer:
    """A balance as a window is told it; edits: that make it so."""
    return {
        "setups": list(result.setups),
        "says": list(result.says),
        "holds": result.holds,
        "targets": [_got(one) for one in result.targets],
        "dims": [msgspec.to_builtins(one) for one in result.dims],
        "exposures": [msgspec.to_builtins(one) for one in result.exposures],
        "findings": [msgspec.to_builtins(one) for one in result.findings],
        "changes": _changes(result, edits),
    }


def _got(one: TargetGot) -> Answer:
    return {
        "setup": one.setup,
        "name": one.name,
        "asks": one.got.asks,
        "before": one.before.got,
        "got": one.got.got,
        "held": one.before.holds,
        "holds": one.got.holds,
        "short": one.short,
        "margin": one.got.margin,
        "unit": one.got.unit,
        "binds": list(one.binds),
    }


def _changes(result: Balance, edits: tuple[Edit, ...]) -> list[Answer]:
    """Dims as one change where they are all there is; else the edits as they are."""
    knobs = {one.source: one.knob for one in result.dims if one.moved}
    plain = all(len(edit.key_path) > 2 and edit.key_path[2] == "dims" for edit in edits)
    label = f"balanced {', '.join(result.setups)}"
    if not edits:
        return []
    if plain:
        return [{"do": "dims", "knobs": knobs, "setups": list(result.setups), "label": label}]
    return [{"do": "edits", "label": label, "edits": edits_told(edits)}]


_ANSWERS: Final[Mapping[str, Callable[[Desk], Answer]]] = {
    "balance": _balance,
    "why": why_answer,
}
