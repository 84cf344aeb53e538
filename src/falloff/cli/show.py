"""How results look in a terminal, and as JSON."""

from __future__ import annotations

import contextlib
import math
import sys
import time
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any, Literal, cast

import msgspec
from rich.console import Console
from rich.table import Table

from falloff.camera import EXPOSURE_TOLD_STOPS, Change, per_cent
from falloff.errors import FalloffError
from falloff.findings import Finding
from falloff.readings import Readings, SourcePart, colours_in, describe
from falloff.readings.colour import white_of
from falloff.readings.in_words import NO_KEY_TO_FILL
from falloff.units import (
    format_illuminance,
    format_length,
    format_luminance,
    format_stops_tenths,
)

if TYPE_CHECKING:
    from falloff.session import Checked, Demo, Metered, PictureFiles, Pictures, Pocket
    from falloff.transport import Progress

JSON_VERSION = 1
_SLOW_S = 1.0
_OUT_OF_DOORS_M = 1e6  # the sun, whose distance tells nobody anything
_out = Console(highlight=False)
_err = Console(stderr=True, highlight=False)


@contextlib.contextmanager
def progress(*, quiet: bool) -> Iterator[Progress]:
    """A progress bar on the error stream, shown once a second has passed."""
    if quiet or not sys.stderr.isatty():
        yield lambda _stage, _share: None
        return
    from rich.progress import BarColumn, TextColumn, TimeElapsedColumn
    from rich.progress import Progress as Bar

    bar = Bar(
        TextColumn("{task.description:<10}"),
        BarColumn(),
        TimeElapsedColumn(),
        console=_err,
        transient=True,
    )
    began = time.monotonic()
    tasks: dict[str, Any] = {}

    def advance(stage: str, share: float) -> None:
        if not bar.live.is_started and time.monotonic() - began > _SLOW_S:
            bar.start()
        if stage not in tasks:
            tasks[stage] = bar.add_task(stage, total=1.0)
        bar.update(tasks[stage], completed=share)

    try:
        yield advance
    finally:
        if bar.live.is_started:
            bar.stop()


def print_readings(readings: Readings, units: str, *, errors: bool = False) -> None:
    """A paragraph, a table of sources against places, the sizes of sources, and findings."""
    system = cast("Literal['metric', 'imperial']", units)
    _out.print()
    _out.print(f"[bold]{readings.scene} — {readings.setup}[/bold]  {readings.exposure}")
    _out.print(
        f"Key at this exposure is {format_illuminance(readings.key_lux, units=system)} "
        f"(ISO 2720, C = {readings.meter_constant_lux_s:g} lx·s). Columns: stops from that key, of "
        "a spot from middle grey; picture, how the surface lands from middle grey (an 18 % card "
        "at key); bounce, its share of the light."
    )
    _out.print()
    _out.print(describe(readings), soft_wrap=False)
    _out.print()
    if not readings.readings:
        _out.print("The scene asks for no readings: add some under readings:.", markup=False)
        return
    _out.print(_levels_table(readings, system, errors=errors))
    _out.print()
    for table in _source_tables(readings):
        _out.print(table)
        _out.print()
    for contrast in readings.contrasts:
        alone = contrast.key_to_fill
        _out.print(
            f"{contrast.subject}: contrast {contrast.key_and_fill_to_fill:.1f}:1 "
            f"(key and fill to fill), {'' if alone is None else f'{alone:.1f}:1 (key to fill), '}"
            f"{contrast.stops:z.1f} stops{f': {NO_KEY_TO_FILL}' if alone is None else ''}."
        )
    colours = colours_in(readings)
    if colours:
        _out.print(colours, markup=False)
    for line in softness_lines(readings, system):
        _out.print(line)
    print_findings(readings.findings)


def print_table(table: Table) -> None:
    """A table on the terminal."""
    _out.print(table)


def _levels_table(
    readings: Readings, system: Literal["metric", "imperial"], *, errors: bool
) -> Table:
    """Every reading with its level, its stops, and how much of it is bounced."""
    table = plain_table("reading")
    table.add_column("instrument, aim", no_wrap=True, style="dim", max_width=15)
    for title in ("level", *(("± stop",) if errors else ()), "stops", "picture", "bounce"):
        table.add_column(title, justify="right", no_wrap=True, min_width=len(title))
    for reading in readings.readings:
        level = (
            format_illuminance(reading.value, units=system)
            if reading.unit == "lx"
            else format_luminance(reading.value, units=system)
        )
        share = reading.bounced / reading.value if reading.value > 0 else 0.0
        table.add_row(
            reading.name,
            f"{reading.instrument}, {reading.faces}",
            level,
            *((f"{reading.error_stops:.3f}",) if errors else ()),
            _tenths(reading.stops_over_key if reading.unit == "lx" else reading.stops_over_grey),
            _tenths(reading.stops_over_grey) if reading.unit == "lx" else "",
            f"{100 * share:.0f} %",
        )
    return table


def _source_tables(readings: Readings) -> Iterator[Table]:
    """What each source gives alone, in stops, as many columns at a time as the terminal holds."""
    titles = [
        name if readings.dims[name] >= 0.9995 else f"{name} {100 * readings.dims[name]:.0f} %"
        for name in readings.sources
    ]
    room = _out.width - max((len(reading.name) for reading in readings.readings), default=0) - 4
    shown = list(range(len(titles)))
    while shown:
        fit: list[int] = []
        used = 0
        while shown and (not fit or used + max(9, len(titles[shown[0]]) + 2) <= room):
            used += max(9, len(titles[shown[0]]) + 2)
            fit.append(shown.pop(0))
        table = plain_table("each alone, stops, share")
        for k in fit:
            table.add_column(titles[k], justify="right", no_wrap=True, min_width=7)
        for reading in readings.readings:
            table.add_row(reading.name, *(_part(reading.parts[k]) for k in fit))
        yield table


def plain_table(first: str) -> Table:
    """An empty table, its first column named."""
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 1, 0, 0))
    table.add_column(first, no_wrap=True, max_width=26)
    return table


def _part(part: SourcePart) -> str:
    """A source's own stops, and its share where that is worth a glance."""
    if part.stops_over_key is None:
        return "–"
    stops = format_stops_tenths(part.stops_over_key)
    return f"{stops} {100 * part.share:3.0f}%" if part.share >= 0.01 else f"{stops}   <1%"


def _tenths(stops: float | None) -> str:
    return "–" if stops is None else format_stops_tenths(stops)


def softness_lines(readings: Readings, system: Literal["metric", "imperial"]) -> list[str]:
    """For each person, how large each source looks from that face and how far off it is."""
    seen: dict[str, list[str]] = {}
    for soft in readings.softness:
        across, upward = _degrees(soft.across_rad), _degrees(soft.upward_rad)
        size = across if across == upward else f"{across} × {upward}"
        told = f"{soft.source} {size}"
        if soft.distance_m < _OUT_OF_DOORS_M:
            told += f" at {format_length(soft.distance_m, units=system)}"
        seen.setdefault(soft.subject, []).append(told)
    return [f"Size seen from {who}'s face: {', '.join(told)}." for who, told in seen.items()]


def _degrees(angle_rad: float) -> str:
    degrees = math.degrees(angle_rad)
    return f"{degrees:.0f}°" if degrees >= 9.95 else f"{degrees:.1f}°"


def print_paragraph(readings: Readings) -> None:
    """One setup in words alone."""
    _out.print(f"[bold]{readings.scene} — {readings.setup}[/bold]  {readings.exposure}")
    _out.print(describe(readings))


def print_files(files: Sequence[PictureFiles]) -> None:
    """Where results were written, and how much of each frame the camera cannot hold."""
    for written in files:
        _out.print()
        _out.print(f"[bold]{written.setup}[/bold]")
        _out.print(f"  picture    {written.picture}", soft_wrap=True)
        _out.print(f"  stops map  {written.stops_map}", soft_wrap=True)
        _out.print(f"  waveform   {written.waveform}", soft_wrap=True)
        _out.print(f"  histogram  {written.histogram}", soft_wrap=True)
        _out.print(f"  layers     {written.layers}", soft_wrap=True)
        _out.print(
            f"  past the camera's limits: {per_cent(written.levels.clipped_share)} too bright, "
            f"{per_cent(written.levels.dark_share)} too dark"
        )


def _changed(change: Change) -> str:
    """How much of the frame changed in light, and what the camera's exposure does besides."""
    said = (
        f"{per_cent(change.changed_share)} of the frame changed by more than a third of a stop of "
        f"light; the median of all of it is {format_stops_tenths(change.median_stops)} stops"
    )
    if abs(change.exposure_stops) >= EXPOSURE_TOLD_STOPS:
        more = "more" if change.exposure_stops > 0.0 else "less"
        said += f"; the camera exposes {abs(change.exposure_stops):.1f} stops {more} besides"
    return said


def print_pictures(result: Pictures) -> None:
    """Files of each setup, the sheet of all, and what changed against an earlier scene."""
    print_files(result.files)
    for one in result.changes:
        change = one.change
        _out.print()
        _out.print(f"[bold]{one.setup}, before and after[/bold]")
        _out.print(f"  sheet      {one.sheet}", soft_wrap=True)
        _out.print(f"  {_changed(change)}")
    if result.contact_sheet is not None:
        print_line(f"All setups on one sheet: {result.contact_sheet}")


def print_checked(result: Checked) -> None:
    """What a sound scene holds, and what a person should know of it."""
    document = result.document
    counts = [
        (len(document.subjects), "subject"),
        (len(document.fixtures), "fixture"),
        (len(document.practicals), "practical"),
        (len(document.openings), "opening"),
        (len(document.props), "prop"),
        (len(document.setups), "setup"),
    ]
    told = ", ".join(f"{count} {name}{'s' * (count != 1)}" for count, name in counts if count)
    _out.print(f"{document.file_name}: no faults. {told}.", markup=False, soft_wrap=True)
    print_findings(result.findings)


def check_document(result: Checked) -> dict[str, Any]:
    """A sound scene as JSON."""
    return {
        "falloff_json": JSON_VERSION,
        "scene": result.document.path,
        "elements": result.elements,
        "findings": result.findings,
    }


def print_pocket(result: Pocket) -> None:
    """The file, what is in it, and what had no room."""
    print_line(f"Pocket copy: {result.file}, {result.size_bytes / 1e6:.1f} MB.")
    print_line(f"Setups: {', '.join(result.setups)}; pictures {result.width_px} pixels wide.")
    for setup, hours in result.hours.items():
        print_line(f"Hours of {setup}: {', '.join(hours)}.")
    for setup, hours in result.hours_left_out.items():
        print_line(f"Hours of {setup} left out for want of room: {', '.join(hours)}.")
    if result.left_out:
        named = ", ".join(result.left_out)
        print_line(f"Left out for want of room: {named}. Write them apart, with --setup and --out.")


def print_line(text: str) -> None:
    """A line of text."""
    _out.print()
    _out.print(text, soft_wrap=True, markup=False)


def print_plain(text: str) -> None:
    """A paragraph, broken at the terminal's width."""
    _out.print(text, markup=False)


def print_lines(lines: Sequence[str]) -> None:
    """Lines close together, a blank one before them."""
    if lines:
        print_line("\n".join(lines))


def print_heading(text: str) -> None:
    """A line that stands out."""
    _out.print(text, style="bold", markup=False, soft_wrap=True)


def print_findings(findings: Sequence[Finding]) -> None:
    """Each finding with its weight and what one may do."""
    for finding in findings:
        do = f"; {finding.do}" if finding.do else ""
        _out.print(f"[{finding.weight}] {finding.says}{do}", markup=False)


def print_error(error: FalloffError) -> None:
    """Every fault in its own words."""
    for fault in error.faults:
        _err.print(fault.sentence(), markup=False, soft_wrap=True)


def print_json(document: dict[str, Any]) -> None:
    """One JSON document on standard output."""
    sys.stdout.write(msgspec.json.format(msgspec.json.encode(document), indent=2).decode() + "\n")


def meter_document(result: Metered) -> dict[str, Any]:
    """Readings as JSON; docs/json.md tells the fields."""
    return {"falloff_json": JSON_VERSION, "readings": _with_colours(result.readings)}


def _with_colours(taken: Iterable[Readings]) -> list[Any]:
    """Sets of readings as plain data, each reading with its colour temperature and green."""
    told = []
    for readings in taken:
        plain = msgspec.to_builtins(readings)
        for one, reading in zip(plain["readings"], readings.readings, strict=True):
            white = None if reading.uv is None else white_of(reading.uv)
            one["kelvin"] = None if white is None else white.kelvin
            one["green_cc"] = None if white is None else white.green_cc
        told.append(plain)
    return told


def files_document(result: Pictures) -> dict[str, Any]:
    """Written files as JSON."""
    return {
        "falloff_json": JSON_VERSION,
        "files": [_file(written) for written in result.files],
        "contact_sheet": None if result.contact_sheet is None else str(result.contact_sheet),
        "changes": [
            {"setup": one.setup, "sheet": str(one.sheet), "change": one.change}
            for one in result.changes
        ],
    }


def demo_document(result: Demo) -> dict[str, Any]:
    """The demo as JSON: readings with their paragraph, and files."""
    return {
        "falloff_json": JSON_VERSION,
        "scene": str(result.scene),
        "readings": _with_colours(result.readings),
        "said": [describe(readings) for readings in result.readings],
        "files": [_file(written) for written in result.files],
    }


def _file(written: PictureFiles) -> dict[str, Any]:
    return {
        "setup": written.setup,
        "picture": str(written.picture),
        "stops_map": str(written.stops_map),
        "waveform": str(written.waveform),
        "histogram": str(written.histogram),
        "layers": str(written.layers),
        "levels": written.levels,
    }
