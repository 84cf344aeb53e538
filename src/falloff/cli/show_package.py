"""How a chosen package looks in a terminal, and as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import msgspec
from rich.table import Table

from falloff.balance import Package, PlaceFilled, per_cent
from falloff.balance.package.words import money
from falloff.cli import show
from falloff.cli.show_balance import targets_table

if TYPE_CHECKING:
    from falloff.session.kit.choosing import KitChosen

_ONE: Final = 1.05  # stops, up to which it is one
_AS_MUCH: Final = 0.05


def print_choice(result: KitChosen) -> None:
    """Sentences, what to pack, what stands where, targets, findings."""
    choice = result.choice
    show.print_line("")
    show.print_heading(f"{choice.scene} — {', '.join(choice.setups)}")
    for sentence in choice.says:
        show.print_plain(sentence)
    show.print_line("")
    if choice.best.lines:
        show.print_table(_lines(choice.best, choice.currency))
    if choice.best.places:
        show.print_table(_places(choice.best))
    if choice.best.targets:
        show.print_table(targets_table(choice.setups, choice.best.targets))
    show.print_findings(choice.findings)
    if result.written is not None:
        show.print_line(f"Written to {result.written}.")


def _lines(package: Package, currency: str) -> Table:
    table = show.plain_table("for")
    for name in ("to pack", "a day", "weight"):
        table.add_column(name)
    for one in package.lines:
        rate = "own" if one.owned else money(one.day_rate * one.count, currency)
        table.add_row(
            ", ".join(one.places),
            f"{one.count} × {one.item}",
            ("about " if one.assumed else "") + rate,
            f"{one.count * one.weight_kg:.1f} kg",
        )
    return table


def _places(package: Package) -> Table:
    table = show.plain_table("place")
    for name in ("light", "dim", "least in hand", "circuit"):
        table.add_column(name)
    for one in package.places:
        light = one.light or "nothing"
        if one.stands:
            light += f", on {' and '.join(one.stands)}"
        table.add_row(one.place, light, _dims(one), _in_hand(one), one.circuit)
    return table


def _dims(one: PlaceFilled) -> str:
    told = {
        setup: "off"
        if knob <= 0.0
        else (f"nets to {per_cent(knob)}" if one.nets else per_cent(knob))
        for setup, knob in one.dims.items()
    }
    return _alike(told)


def _in_hand(one: PlaceFilled) -> str:
    """The least that is left over its dim, and in which setup where they differ."""
    stops = {setup: each for setup, each in one.in_hand.items() if each is not None}
    if not stops:
        return ""
    setup, least = min(stops.items(), key=lambda item: item[1])
    told = f"{least:.1f} stop{'' if least < _ONE else 's'}"
    alike = max(stops.values()) - least < _AS_MUCH
    return told if alike else f"{told}, {setup}"


def _alike(told: dict[str, str]) -> str:
    """What is told of setups: once, where it is alike in all."""
    if len(set(told.values())) <= 1:
        return next(iter(told.values()), "")
    return "; ".join(f"{setup} {what or '-'}" for setup, what in told.items())


def choice_document(result: KitChosen) -> dict[str, Any]:
    """A chosen package as JSON."""
    return {
        "falloff_json": show.JSON_VERSION,
        **msgspec.to_builtins(result.choice),
        "written": None if result.written is None else str(result.written),
    }
