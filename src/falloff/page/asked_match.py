"""Another setup's look held in the one that is shown, by its dims."""

from __future__ import annotations

from dataclasses import replace

import msgspec

from falloff.page.ask_desk import Answer, Desk
from falloff.page.asked_balance import balance_told
from falloff.page.told import cannot
from falloff.session.balance import Group, group_of
from falloff.session.match import held_from, held_of


def match_answer(desk: Desk) -> Answer:
    """asked: first, the setup that is held; hold: key, contrast, background; all where none."""
    asked, second = desk.task.asked, desk.task.setup
    first = str(asked.get("first") or "")
    if first not in desk.task.plans:
        raise cannot(f"there is no setup {first} to be held", "choose another one")
    if first == second:
        raise cannot("a setup matches itself", "choose another one to be held")
    hold = held_of(tuple(str(one) for one in asked.get("hold") or ()))
    own = desk.posed(second)
    held = held_from(desk.posed(first), own, hold)
    if not held.targets:
        what = f"{first} and {second} have no reading in common that can be held"
        raise cannot(what, "put a reading on a face's two cheeks, or on the wall behind it")
    document = msgspec.structs.replace(own.document, targets=held.targets)
    posed = replace(own, document=document)
    group: Group = desk.beside(lambda: group_of((posed,)))
    told = balance_told(group, label=f"{second} matched to {first}")
    return {**told, "first": first, "besides": list(held.besides)}
