"""How causes and cures look in a terminal, and as JSON."""

from __future__ import annotations

from typing import Any

from falloff.balance.why.records import Why, Whys
from falloff.cli import show
from falloff.units import format_stops_tenths

_MOST_TOLD = 5


def print_whys(result: Whys) -> None:
    """Sentences first, then the causes in stops; what is as it should be in one line."""
    show.print_lines(result.says)
    told = result.whys if result.asked else tuple(one for one in result.whys if one.wrong)
    for setups, one in _alike(told[: None if result.asked else _MOST_TOLD]):
        _print_why(one, setups)
    if not result.asked:
        _print_rest(result, told)
    if result.findings:
        show.print_plain("")
        show.print_findings(result.findings)


def _alike(whys: tuple[Why, ...]) -> list[tuple[str, Why]]:
    """What is told, once for all setups of which it is the same."""
    setups: dict[tuple[object, ...], list[str]] = {}
    first: dict[tuple[object, ...], Why] = {}
    for one in whys:
        key = (one.complaint, one.says, one.fix)
        setups.setdefault(key, []).append(one.setup)
        first.setdefault(key, one)
    return [(", ".join(setups[key]), one) for key, one in first.items()]


def _print_why(one: Why, setups: str) -> None:
    show.print_line(f"{setups}: {one.complaint}")
    for says in one.says:
        show.print_plain(says)
    if one.fix:
        show.print_plain(f"The plan's cheapest fix: {one.fix}.")
    if len(one.causes) > 1:
        table = show.plain_table("cause")
        table.columns[0].max_width = 44
        table.add_column("better by, stops", justify="right", no_wrap=True)
        table.add_column("share", justify="right", no_wrap=True)
        for cause in one.causes:
            stops = "-" if cause.stops is None else format_stops_tenths(cause.stops)
            share = "" if cause.share is None else f"{100.0 * cause.share:.0f} %"
            table.add_row(cause.brief or cause.says.partition(": ")[0], stops, share)
        show.print_table(table)


def _print_rest(result: Whys, told: tuple[Why, ...]) -> None:
    """What was looked at besides."""
    if len(told) > _MOST_TOLD:
        more = ", ".join(f"{one.complaint} ({one.setup})" for one in told[_MOST_TOLD:])
        show.print_line(f"Off by less: {more}.")
    well: dict[str, list[str]] = {}
    for one in result.whys:
        if not one.wrong:
            well.setdefault(one.complaint, []).append(one.setup)
    if well:
        named = "; ".join(f"{what} ({', '.join(setups)})" for what, setups in well.items())
        show.print_line(f"Looked at, and no fault: {named}.")


def why_document(result: Whys) -> dict[str, Any]:
    """Causes and cures as JSON; docs/json.md tells the fields."""
    return {
        "falloff_json": show.JSON_VERSION,
        "scene": result.scene,
        "asked": result.asked,
        "says": result.says,
        "whys": result.whys,
        "findings": result.findings,
    }
