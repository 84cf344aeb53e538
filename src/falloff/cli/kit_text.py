"""What falloff kit tells, in eighty columns or as JSON."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any, Final, TypeVar

import msgspec
from rich.console import Console
from rich.table import Table

from falloff.cli.words import one_of
from falloff.session.kit.figures import degrees, size_text, three_figures
from falloff.session.kit.known_light import beam_intensities
from falloff.session.kit.listing import SURFACE
from falloff.session.kit.page import beam_name, beam_tables, cost_table, facts, notes
from falloff.units import (
    System,
    format_illuminance,
    format_length,
    format_stops_tenths,
    format_stops_thirds,
)

if TYPE_CHECKING:
    from falloff.drawing import SheetTable
    from falloff.findings import Finding
    from falloff.session.kit import (
        ComparedSide,
        KitCompared,
        KitImported,
        KitList,
        KitShown,
    )

JSON_VERSION: Final = 1
_POLAR_DEG: Final = (0, 5, 10, 15, 20, 30, 45, 60, 75, 90)
_out = Console(highlight=False)
T = TypeVar("T", bound=msgspec.Struct)


def tell(result: T, to_text: Callable[[T], None], *, json: bool) -> None:
    """A result as text, or as one JSON document on standard output."""
    if not json:
        to_text(result)
        return
    document: dict[str, Any] = {"falloff_json": JSON_VERSION, **msgspec.to_builtins(result)}
    encoded = msgspec.json.format(msgspec.json.encode(document), indent=2)
    sys.stdout.write(encoded.decode() + "\n")


def system_of(word: str) -> System:
    """The system of units that a word names; DocumentError where it names none."""
    systems: tuple[System, ...] = ("metric", "imperial")
    return one_of(word, systems, "system of units")


def print_list(result: KitList) -> None:
    """Names by kind, with what one looks for first."""
    if not result.items:
        _say("Nothing in the kit has all these words in its name.")
        return
    for kind in dict.fromkeys(one.kind for one in result.items):
        _out.print()
        _out.print(f"[bold]{kind}[/bold]")
        for one in result.items:
            if one.kind == kind:
                own = f"own, {one.count} × " if one.own else ""
                room = 80 - 3 - max(20, len(own + one.says))
                name = one.name if len(one.name) <= room else one.name[: room - 1] + "…"
                _say(f"  {name:<{room}} {own}{one.says}".rstrip())
    _out.print()
    surfaces = sum(one.kind == SURFACE for one in result.items)
    if surfaces:
        _say(
            f"{surfaces} surfaces. Their names go where a scene asks for one: wall_surface: oak. "
            "Stops: how it lands from middle grey where it is lit at key."
        )
    if surfaces < len(result.items):
        more = "" if surfaces else " What walls and things are made of: falloff kit list surface"
        items = len(result.items) - surfaces
        _say(f"{items} items. More of one: falloff kit show NAME{'.' if more else ''}{more}")


def print_shown(shown: KitShown, units: System) -> None:
    """An item's figures; of a fixture a sheet, then where its figures are from."""
    _out.print()
    owned = f", your own, {shown.count} of them" if shown.own else ""
    _out.print(f"[bold]{_safe(shown.name)}[/bold]  ({shown.kind}{owned})")
    if shown.sheet is None:
        _print_figures(shown)
        _findings(shown.findings)
        return
    assert shown.opening is not None
    item = shown.sheet.fixture
    _say(f"{item.family}, {item.form}. Front: {size_text(shown.opening, units)}.")
    _out.print()
    for label, text in facts(shown, units):
        _row(label, text, 15)
    for table in beam_tables(shown, units, together=1):
        _out.print()
        _print_table(table)
    _out.print()
    _print_polar(shown)
    if shown.fits:
        _out.print()
        _print_table(cost_table(shown.fits, units))
    _out.print()
    for note in notes(shown, units):
        _say(note)
    for path in shown.files:
        _out.print(f"sheet  {path}", markup=False, soft_wrap=True)


def print_imported(result: KitImported) -> None:
    """What was read, against what it says of itself, and what was forgiven."""
    _out.print()
    version = f" {result.version}" if result.version else ""
    _out.print(f"[bold]{_safe(result.name)}[/bold]  ({result.source}{version})")
    declared = "not declared"
    if result.declared_lm is not None:
        share = 100.0 * result.flux_lm / result.declared_lm
        whose = "on the sheet" if result.source == "data sheet" else "declared of its lamps"
        declared = f"{share:.0f} % of the {three_figures(result.declared_lm)} lm {whose}"
    _row("lumens", f"{three_figures(result.flux_lm)} lm summed, {declared}", 13)
    _row("peak", f"{three_figures(result.peak_cd)} cd", 13)
    for plane in result.planes:
        told = f"beam {degrees(plane.beam_angle_rad)}, field {degrees(plane.field_angle_rad)}"
        _row(plane.plane, told, 13)
    fixture = result.fixture
    _row("front", size_text(fixture.opening, "metric"), 13)
    _row("taken as", f"{fixture.beams[0].shape}, of the kit's beams", 13)
    _row("unsure by", f"{fixture.spread_stops:.1f} stop either way", 13)
    for miss in result.misses:
        _row(
            "the fit",
            f"{miss.stops:+.2f} stop from {miss.datum}: {three_figures(miss.given)} given, "
            f"{three_figures(miss.fitted)} fitted",
            13,
        )
    unsaid = [name.replace("_", " ") for name in fixture.provenance_of if name != "beams"]
    if unsaid:
        _row("not said", ", ".join(unsaid), 13)
    if result.findings:
        _out.print()
    _findings(result.findings)
    if result.written:
        _out.print()
        _say(f"Added to {result.written}.")


def print_compared(result: KitCompared, units: System) -> None:
    """Two lights side by side, how far apart they are, and how surely."""
    spot = result.spot
    where = format_length(spot.distance_m, units=units)
    turned = [(spot.off_rad, "off"), (spot.up_rad, "up")]
    where += "".join(f", {degrees(turn)} {way}" for turn, way in turned if turn)
    _out.print()
    _out.print(f"[bold]At {where}[/bold]  each alone and at full, walls left out")
    _out.print()
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    table.add_column("")
    for side in (result.first, result.second):
        table.add_column(_safe(side.name), overflow="fold", max_width=30)
    columns = [_side_rows(side, units) for side in (result.first, result.second)]
    for (label, first), (_, second) in zip(*columns, strict=True):
        table.add_row(label, first, second)
    _out.print(table)
    _out.print()
    for line in _difference(result):
        _say(line)
    _out.print()
    _say("What is assumed, and how far it could move the difference:")
    for one in result.assumptions:
        told = f"{one.light}: {one.figure}, {one.taken} ({one.provenance})"
        _say(f"  ± {one.stops:.1f} stop  {told}", indent=14)
    _findings(result.findings)


def _difference(result: KitCompared) -> Iterable[str]:
    first, second = result.first.name, result.second.name
    spread = f"give or take {result.combined_spread_stops:.1f}"
    if result.apart_stops is None:
        yield "One of them gives no light there."
    else:
        sure = (
            "within what their data allow" if result.within else "more than their data could err by"
        )
        more = "more" if result.apart_stops >= 0.0 else "less"
        stops = f"{abs(result.apart_stops):.1f} stops {more}"
        yield f"{second} gives {stops} than {first}, {spread}: {sure}."
    yield f"Its front looks {result.softer_ratio:.2g} times as wide."
    if result.shift_mired is None or result.green_cc is None:
        yield "Their difference in colour is unknown: one of them does not say its own."
    else:
        warmer = "warmer" if result.shift_mired > 0.0 else "cooler"
        mired = f"{abs(result.shift_mired):.0f} mired {warmer}" if result.shift_mired else "alike"
        green = f", {result.green_cc:+.0f} CC green" if result.green_cc else ", green alike"
        yield f"Its colour is {mired}{green}{_settable(result)}."
    if result.same_light_heads is not None and result.same_light_heads > 1:
        watts = "" if result.same_light_w is None else f", {three_figures(result.same_light_w)} W"
        yield f"It takes {result.same_light_heads} of it for the first one's light{watts}."
    elif result.same_light_w is not None:
        yield f"Dimmed to the first one's light it draws {three_figures(result.same_light_w)} W."
    a, b = result.first.lux_per_w, result.second.lux_per_w
    if a and b:
        yield f"For each watt it gives {b / a:.2g} times the first one's light there."


def _settable(result: KitCompared) -> str:
    a, b = result.first, result.second
    lows, highs = (a.kelvin_low, b.kelvin_low), (a.kelvin_high, b.kelvin_high)
    low, high = max(one or 0.0 for one in lows), min(one or 0.0 for one in highs)
    if not result.shift_mired or low > high:
        return ""
    both = f"{low:.0f} K" if low == high else f"{low:.0f} to {high:.0f} K"
    return f"; both can be set to {both}"


def _side_rows(side: ComparedSide, units: System) -> list[tuple[str, str]]:
    over = "no light" if side.stops_over_key is None else format_stops_thirds(side.stops_over_key)
    off = (
        "no light"
        if side.off_axis_stops is None
        else f"{format_stops_tenths(side.off_axis_stops)} stops"
    )
    edge = 100.0 * side.edge_per_m
    colour = "unknown" if side.kelvin is None else f"{side.kelvin:.0f} K"
    if side.kelvin is not None and side.green_cc:
        colour += f", {side.green_cc:+.0f} CC green"
    watts = side.power_w
    return [
        ("known by", side.origin),
        ("light", format_illuminance(side.illuminance_lux, units="metric")),
        ("", format_illuminance(side.illuminance_lux, units="imperial")),
        ("key", over),
        ("off its axis", off),
        ("unsure by", f"± {side.spread_stops:.1f} stop"),
        ("looks", degrees(side.angular_size_rad)),
        ("shadow edge", f"{edge:.0f} cm a metre" if units == "metric" else
         f"{12.0 * side.edge_per_m:.1f} in a foot"),
        ("colour", colour),
        ("power", "unknown" if watts is None else f"{watts:g} W"),
        ("for each watt", "–" if side.lux_per_w is None else f"{side.lux_per_w:.3g} lx"),
    ]  # fmt: skip


# Pieces ----------------------------------------------------------------------------------


def _print_figures(shown: KitShown) -> None:
    for one in shown.figures:
        spread = "" if not one.spread_stops else f" (± {one.spread_stops:.1f} stop)"
        _row(one.figure.replace("_", " "), one.says + spread, 24)
    item = shown.item
    if item.note:
        _row("note", item.note, 24)
    for where in dict.fromkeys(one.provenance for one in shown.figures):
        names = [one.figure for one in shown.figures if one.provenance == where]
        few = ", ".join(name.replace("_", " ") for name in names)
        every = len(names) == len(shown.figures)
        _row("from", where if every else f"{where}: {few}", 24)


def _print_polar(shown: KitShown) -> None:
    """Candela at a few angles from the axis, beam by beam."""
    import numpy as np

    assert shown.sheet is not None
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 1, 0, 0))
    table.add_column("candela", no_wrap=True, max_width=16)
    for angle in _POLAR_DEG:
        table.add_column(f"{angle}°", justify="right", no_wrap=True)
    turn = np.radians(np.array(_POLAR_DEG, np.float64))
    ways = np.stack([np.sin(turn), 0.0 * turn, np.cos(turn)], axis=1)
    for one in shown.sheet.beams:
        cells = (_candela(float(cd)) for cd in beam_intensities(one.beam, ways))
        table.add_row(_safe(beam_name(one.beam.name)), *cells)
    _out.print(table)


def _candela(candela: float) -> str:
    if candela >= 99_950.0:
        return f"{candela / 1000.0:.0f}k"
    return f"{float(f'{candela:.2g}'):.6g}" if candela >= 0.5 else "0"


def _print_table(table: SheetTable) -> None:
    if table.title:
        _say(table.title + ":")
    if table.spans:
        _out.print(f"[bold]{_safe(table.spans[-1][2])}[/bold]")
    shown = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    for column in table.columns:
        if column.words:
            shown.add_column(column.heading, overflow="fold", max_width=38)
        else:
            shown.add_column(column.heading, justify="right", no_wrap=True)
    for row in table.rows:
        shown.add_row(*(_safe(cell) for cell in row))
    _out.print(shown)


def _findings(findings: Iterable[Finding]) -> None:
    for one in findings:
        _say(f"[{one.weight}] {one.says}" + (f"; {one.do}" if one.do else ""))


def _row(label: str, text: str, width: int) -> None:
    _say(f"{label:<{width}}  {text}", indent=width + 2)


def _say(text: str, *, indent: int = 0) -> None:
    """Text in lines of the terminal's width, those after the first indented."""
    import textwrap

    wide = max(40, min(_out.width, 100))
    for line in textwrap.wrap(
        text, wide, subsequent_indent=" " * indent, break_long_words=False,
        break_on_hyphens=False,
    ) or [""]:  # fmt: skip
        _out.print(line.rstrip(), markup=False, soft_wrap=True)


def _safe(text: str) -> str:
    return text.replace("[", r"\[")
