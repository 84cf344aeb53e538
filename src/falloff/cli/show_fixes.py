"""How fixes look in a terminal, and as JSON."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import msgspec

from falloff.balance.fixes.records import Confirmed, Fix, Fixes, FixTarget
from falloff.balance.fixes.words import amount, cost_text
from falloff.balance.words import listed
from falloff.cli import show

_SEEN: Final = 0.05

if TYPE_CHECKING:
    from falloff.session.fixes import FixesFound


def print_fixes(result: FixesFound, scene: Path) -> None:
    """Each group's fixes, numbered through; what was written."""
    number = 0
    for group in result.groups:
        number = _print_group(group.told, number)
    if result.taken is not None and result.written is not None:
        show.print_line("")
        show.print_line(f"Written to {result.written}: {result.taken.fix.says}, and its dims.")
    elif number:
        show.print_line("")
        show.print_line(f"falloff fixes {scene} --take 1 --out NEW.scene.yaml writes the first.")


def _print_group(found: Fixes, number: int) -> int:
    show.print_line("")
    show.print_heading(f"{found.scene} — {', '.join(found.setups)}")
    for sentence in found.says:
        show.print_plain(sentence)
    for one in found.fixes:
        number += 1
        _print_fix(one, number)
    if found.fixes:
        show.print_line("")
        show.print_plain(f"Of {found.tried} weighed, {found.rule}.")
    show.print_findings(found.findings)
    return number


def _print_fix(one: Fix, number: int) -> None:
    show.print_line("")
    worth = "" if one.kind == "accept" else f": {one.worth_stops:.1f} stops nearer"
    whole = ", everything holds" if one.brings_all else ""
    later = ", later" if one.later else ""
    cost = "" if one.kind == "accept" else f"; {cost_text(one)}{later}"
    show.print_heading(f"{number}. {one.says}{worth}{whole}{cost}")
    for line in _lines(one):
        show.print_plain(f"   {line}")


def _lines(one: Fix) -> list[str]:
    lines = []
    if one.kind != "accept":
        lines.append(f"{'; '.join(one.does)}")
    if one.dims:
        lines.append(f"with {listed(one.dims)}")
    if one.kind != "accept":
        lines += [_target_text(target) for target in one.targets if _moves(target)]
    lines += one.side_effects
    lines += [f"caution: {caution}" for caution in one.cautions]
    if one.confirmed is not None:
        lines.append(_confirmed_text(one.confirmed))
    return lines


def _moves(one: FixTarget) -> bool:
    """Whether a missed target comes nearer, or goes farther, by more than anybody would see."""
    return one.before > 0.0 and (one.after <= 0.0 or abs(one.after - one.before) > _SEEN)


def _target_text(one: FixTarget) -> str:
    then = "then held" if one.after <= 0.0 else f"then by {amount(one.after, one.unit)}"
    return f"{one.name} in {one.setup}: missed by {amount(one.before, one.unit)}, {then}"


def _confirmed_text(one: Confirmed) -> str:
    if one.keeps:
        return f"{one.says}, within {max(one.worst_stops, 0.005):.2f} stop"
    parts = [
        f"{target.name} in {target.setup} {target.traced - target.promised:+.1f}"
        for target in one.targets
        if target.unit == "stops" and abs(target.traced - target.promised) > 0.1
    ]
    return one.says if not parts else f"{one.says} ({'; '.join(parts)}): told as traced"


def fixes_document(result: FixesFound) -> dict[str, Any]:
    """Fixes as JSON."""
    return {
        "falloff_json": show.JSON_VERSION,
        "groups": [msgspec.to_builtins(group.told) for group in result.groups],
        "taken": None if result.taken is None else msgspec.to_builtins(result.taken.fix),
        "written": None if result.written is None else str(result.written),
    }
