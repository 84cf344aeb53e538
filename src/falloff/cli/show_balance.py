"""How a balance looks in a terminal, and as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import msgspec
from rich.table import Table

from falloff.balance import Balance, DimSet, TargetGot, per_cent
from falloff.cli import show
from falloff.readings import Judged
from falloff.units import format_stops_tenths

if TYPE_CHECKING:
    from falloff.session import Balanced, Matched, StillTargets


_AT_ITS_EDGE_STOPS: Final = 0.05


def print_balanced(result: Balanced, scene: Path) -> None:
    """Each group's answer: sentences, targets, dims, findings."""
    if result.still is not None:
        _print_still(result.still)
    for group in result.groups:
        print_balance(group.result)
    _after(result.written, scene, short=any(not one.result.holds for one in result.groups))


def print_matched(result: Matched, scene: Path) -> None:
    """The second setup as it is to be set, and what no dim can hold."""
    show.print_line("")
    show.print_line(f"{result.second} to match {result.first}:")
    print_balance(result.group.result)
    for sentence in result.besides:
        show.print_line(sentence)
    _after(result.written, scene, short=not result.group.result.holds)


def print_balance(result: Balance) -> None:
    """One group's answer."""
    show.print_line("")
    show.print_heading(f"{result.scene} — {', '.join(result.setups)}")
    for sentence in result.says:
        show.print_plain(sentence)
    if result.targets:
        show.print_line("")
        show.print_plain("Off: from what is wanted, in stops where no unit stands.")
        show.print_table(targets_table(result.setups, result.targets))
        show.print_line("")
    if result.dims:
        show.print_table(_dims_table(result))
    show.print_findings(result.findings)


def _print_still(made: StillTargets) -> None:
    """What each place of a still became."""
    show.print_line("")
    for one in made.targets:
        show.print_plain(one.says)
        for note in one.notes:
            show.print_plain(f"  {note}")
    show.print_findings(made.findings)


def targets_table(setups: Sequence[str], targets: Sequence[TargetGot]) -> Table:
    """Each target's words once, its setups together, and how far off it is in each."""
    several = len(setups) > 1
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 1, 0, 0))
    table.add_column("wanted", max_width=34)
    for name in (*(("setup",) if several else ()), "off now", "off then", "short", "margin"):
        table.add_column(name, no_wrap=True, justify="left" if name == "setup" else "right")
    names = [one.name for one in targets]
    for one in sorted(targets, key=lambda one: names.index(one.name)):
        first = targets[names.index(one.name)] is one
        table.add_row(
            f"{one.name}: {one.got.asks}" if first else "",
            *((one.setup,) if several else ()),
            _off(one.before),
            _off(one.got),
            "" if one.got.holds else _amount(one.short, one.got.unit),
            _margin(one),
        )
    return table


def _off(one: Judged) -> str:
    if one.off is None:
        return "no light"
    return format_stops_tenths(one.off) if one.unit == "stops" else f"{one.off:+.0f} {one.unit}"


def _margin(one: TargetGot) -> str:
    if one.got.margin is None or not one.got.holds:
        return ""
    if one.got.unit == "stops" and one.got.margin < _AT_ITS_EDGE_STOPS:
        return "at its edge"
    return _amount(one.got.margin, one.got.unit)


def _amount(value: float, unit: str) -> str:
    return f"{value:.1f}" if unit == "stops" else f"{value:.0f} {unit}"


def _dims_table(result: Balance) -> Table:
    table = show.plain_table("light")
    for name in ("dim now", "dim then", "its light", ""):
        table.add_column(name)
    for one in result.dims:
        table.add_row(one.source, *_dim_cells(one))
    return table


def _dim_cells(one: DimSet) -> tuple[str, str, str, str]:
    ends = {"full": "nothing in hand", "lowest": "as low as it holds steady", "": ""}
    note = ", ".join(part for part in (one.colour, ends[one.at]) if part)
    if not one.moved:
        return _before(one), "as it is", "", note
    light = "" if one.light_stops is None else f"{format_stops_tenths(one.light_stops)} stop"
    return _before(one), _dim(one.knob), light, note


def _before(one: DimSet) -> str:
    """As it is written; in each setup, where they differ."""
    told = [_dim(knob) for knob in one.before.values()]
    return told[0] if len(set(told)) == 1 else ", ".join(told)


def _dim(knob: float) -> str:
    return "off" if knob <= 0.0 else per_cent(knob)


def _after(written: Path | None, scene: Path, *, short: bool) -> None:
    if short:
        show.print_line(f"falloff fixes {scene} tells what else would help, and what it costs.")
    if written is not None:
        show.print_line(f"Written to {written}.")


def balance_document(result: Balanced) -> dict[str, Any]:
    """A balance as JSON."""
    return {
        "falloff_json": show.JSON_VERSION,
        "groups": [msgspec.to_builtins(group.result) for group in result.groups],
        "still": result.still,
        "written": None if result.written is None else str(result.written),
    }


def match_document(result: Matched) -> dict[str, Any]:
    """A match as JSON."""
    return {
        "falloff_json": show.JSON_VERSION,
        "first": result.first,
        "second": result.second,
        "balance": msgspec.to_builtins(result.group.result),
        "besides": list(result.besides),
        "written": None if result.written is None else str(result.written),
    }
