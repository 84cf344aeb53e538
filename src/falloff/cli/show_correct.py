"""How corrections look in a terminal, and as JSON."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

import msgspec
from rich.table import Table

from falloff.cli import show
from falloff.record import Corrected, Corrections
from falloff.units import format_illuminance, format_luminance, format_stops_tenths

if TYPE_CHECKING:
    from falloff.session import CorrectAsked, CorrectedScene

System = Literal["metric", "imperial"]


def print_corrected(result: CorrectedScene, scene: Path, asked: CorrectAsked) -> None:
    """Readings against the plan, doubts, what changed, the plan then, and what to read next."""
    found = result.corrections
    units = result.document.units
    show.print_line("")
    show.print_heading(f"{found.scene} — {', '.join(found.setups)}")
    show.print_plain(
        "Each reading against the plan, in stops, before and after it was corrected; a reading "
        f"is taken to be {found.reading_spread_stops:.2f} stop out either way."
    )
    show.print_table(_readings_table(found, units))
    for one in found.doubted:
        show.print_plain(one.says)
    names = " ".join(f"--believe '{one.name}'" for one in found.doubted if one.stops is not None)
    if names:
        show.print_plain(f"To take it all the same: {names}")
    _print_changes(found, units)
    show.print_line("")
    show.print_plain("The plan's readings, before and after, with how far each may still be out:")
    show.print_table(_plan_table(found, units))
    _print_next(found, units)
    show.print_findings(found.findings)
    _print_written(result, scene, asked)


def _readings_table(found: Corrections, units: System) -> Table:
    table = show.plain_table("reading")
    for name in ("on", "meter", "plan", "before", "after", ""):
        table.add_column(name)
    for one in found.readings:
        table.add_row(
            one.name,
            one.on,
            _level(one.measured, one.unit, units),
            _level(one.planned, one.unit, units),
            _stops(one.before_stops),
            _stops(one.after_stops),
            "" if one.used else "asked about",
        )
    return table


def _print_changes(found: Corrections, units: System) -> None:
    told = [one for one in found.corrected if one.says_something]
    untold = [one.name for one in found.corrected if not one.says_something]
    show.print_line("")
    if told:
        show.print_plain(
            "What the plan assumed, and what the readings say; ±: stops it may be out now, and "
            "might have been before; moved: by how many times that."
        )
        show.print_table(_changes_table(told, units))
    if untold:
        head = "These readings say nothing of" if told else "The readings say nothing of"
        show.print_plain(f"{head} {', '.join(untold)}: as assumed.")
    for one in told:
        if one.mixed_with:
            show.print_plain(
                f"{one.name} and {' and '.join(one.mixed_with)} are hard to tell apart by these "
                "readings: the two together are surer than either."
            )


def _changes_table(told: list[Corrected], units: System) -> Table:
    table = show.plain_table("what")
    for name in ("assumed", "found", "from, to", "stops", "±", "± before", "moved"):
        table.add_column(name)
    for one in told:
        table.add_row(
            f"{one.name}, {_KINDS[one.kind]}",
            _figure(one, one.assumed, units),
            _figure(one, one.found, units),
            f"{_bare(one, one.low, units)}, {_bare(one, one.high, units)}",
            format_stops_tenths(one.stops),
            f"{one.spread_stops:.1f}",
            f"{one.prior_stops:.1f}",
            f"{abs(one.moved):.1f} ×" if abs(one.moved) >= 0.05 else "",
        )
    return table


_KINDS: Final = {
    "output": "output",
    "modifier": "what it passes",
    "reflectance": "reflectance",
    "sky": "level",
    "sun": "level",
}


def _figure(one: Corrected, value: float, units: System) -> str:
    if one.unit == "":
        return f"{value:.2f}" if one.kind == "reflectance" else f"× {value:.2f}"
    if one.unit == "lm":
        return f"{float(f'{value:.3g}'):.10g} lm"
    return _level(value, one.unit, units)


def _bare(one: Corrected, value: float, units: System) -> str:
    return _figure(one, value, units).removeprefix("× ").rsplit(" ", 1)[0]


def _plan_table(found: Corrections, units: System) -> Table:
    several = len(found.setups) > 1
    table = show.plain_table("reading")
    for name in (*(("setup",) if several else ()), "plan", "now", "stops", "before ±", "now ±"):
        table.add_column(name)
    for one in found.plan:
        table.add_row(
            one.reading,
            *((one.setup,) if several else ()),
            _level(one.before, one.unit, units),
            _level(one.after, one.unit, units),
            _stops(one.stops),
            f"{one.spread_before_stops:.1f}",
            f"{one.spread_after_stops:.1f}",
        )
    return table


def _print_next(found: Corrections, units: System) -> None:
    further = found.further
    show.print_line("")
    if further is None:
        show.print_plain("No further single reading would tell much more.")
        return
    show.print_plain(
        f"If you read one more: {further.reading}, {further.on} (the corrected plan has "
        f"{_level(further.expected, further.unit, units)}). It would bring the plan's readings "
        f"from ± {further.plan_before_stops:.2f} to ± {further.plan_after_stops:.2f} stop, and "
        f"{further.about} from ± {further.about_before_stops:.2f} to "
        f"± {further.about_after_stops:.2f}."
    )


def _print_written(result: CorrectedScene, scene: Path, asked: CorrectAsked) -> None:
    for one in result.learned:
        show.print_plain(f"Your kit's {one.item}: {one.says}.")
    keeps = [one.item for one in result.learned if one.keeps]
    if result.kit_written is not None:
        show.print_plain(f"Kept in {result.kit_written}: {', '.join(keeps)}.")
    elif keeps:
        show.print_plain(f"Add --keep to keep that of {', '.join(keeps)} in your kit.")
    elif asked.keep:
        show.print_plain("Nothing was learned of your own kit that is worth keeping.")
    if result.written is not None:
        what = "as it was, since the readings change nothing"
        if result.edits and (asked.write or asked.out):
            what = "corrected"
        elif asked.record:
            what = "with its readings"
        show.print_plain(f"Written, {what}: {result.written}")
    elif asked.write:
        show.print_plain("Nothing to write: the readings change nothing of the plan.")
    elif result.edits:
        show.print_plain(f"Add --write to write this into {scene}, or --out for another file.")


def _level(value: float, unit: str, units: System) -> str:
    if unit == "lx":
        return format_illuminance(value, units=units)
    return format_luminance(value, units=units)


def _stops(value: float | None) -> str:
    return "" if value is None else format_stops_tenths(value)


def correct_document(result: CorrectedScene) -> dict[str, Any]:
    """Corrections as JSON has them."""
    return {
        "falloff_json": show.JSON_VERSION,
        "corrections": msgspec.to_builtins(result.corrections),
        "kit": msgspec.to_builtins(result.learned),
        "written": None if result.written is None else str(result.written),
        "kit_written": None if result.kit_written is None else str(result.kit_written),
    }
