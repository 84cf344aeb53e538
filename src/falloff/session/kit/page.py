"""What a fixture's sheet says, in words and columns: for the terminal and for the drawn page."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

import numpy as np

from falloff.drawing import Column, PolarCurve, SheetContent, SheetTable
from falloff.findings import Weight
from falloff.kit import Beam, Fixture
from falloff.kit.catalogue import AtDistance, beam_distribution, provenance_of
from falloff.kit.catalogue.sheet import BeamSheet
from falloff.photometry import field_angle_rad
from falloff.session.kit.figures import degrees, size_text, three_figures
from falloff.session.kit.from_light import NOT_SAID
from falloff.session.kit.known_light import KnownLight, beam_intensities, intensities
from falloff.session.kit.shown import KitShown, ModifierFit
from falloff.units import System, format_stops_tenths

POWER_CAUTION: Final = (
    "Amps are a planning aid. Switch heads on one by one; local codes and licensed people decide."
)
_METRES_PER_FOOT: Final = 0.3048
_CURVE_STEPS: Final = 361
_MOST_CURVES: Final = 4


def sheet_content(shown: KitShown, curves: tuple[PolarCurve, ...], units: System) -> SheetContent:
    """A fixture's page: beams two to a table, modifiers of one form and one cost in one row."""
    sheet = shown.sheet
    assert sheet is not None
    item = sheet.fixture
    return SheetContent(
        title=_capital(shown.name),
        subtitle=f"{_capital(item.family)}, {item.form}. Front: {_front(shown, units)}.",
        facts=facts(shown, units),
        curves=curves,
        tables=beam_tables(shown, units, together=2),
        costs=_grouped_costs(shown.fits, units) if shown.fits else None,
        notes=notes(shown, units),
        more="and {} more: falloff kit show tells them all",
    )


def facts(shown: KitShown, units: System) -> tuple[tuple[str, str], ...]:
    """What a sheet tells besides its tables, label by label."""
    sheet = shown.sheet
    assert sheet is not None
    item = sheet.fixture
    told = [("power", _power(item)), ("current", _amps(shown)), ("switch-on", _switch_on(shown))]
    told += [("colour", _colour(item)), ("rendering", _rendering(item)), ("dims", _dims(item))]
    told.append(("flicker", _flicker(item)))
    if sheet.cost is not None:
        told.append(("costs", _cost(shown)))
    for one in sheet.beams:
        told.append((beam_name(one.beam.name), beam_text(one.beam)))
    if item.weight_kg > 0.0:
        weight = f"{item.weight_kg:g} kg" if units == "metric" else f"{item.weight_kg / _LB:.1f} lb"
        told.append(("weight", f"{weight}, {item.mount}"))
    return tuple((label, text) for label, text in told if text)


_LB: Final = 0.45359237  # kg, international pound


def beam_tables(shown: KitShown, units: System, *, together: int) -> tuple[SheetTable, ...]:
    """Each beam at the usual distances, so many beams to a table, with softness in the first."""
    sheet = shown.sheet
    assert sheet is not None
    tables = []
    for first in range(0, len(sheet.beams), together):
        part = sheet.beams[first : first + together]
        tables.append(_beam_table(shown, part, units, title=first == 0, softness=True))
    return tuple(tables)


def cost_table(fits: Iterable[ModifierFit], units: System) -> SheetTable:
    """Every modifier that fits in a row of its own."""
    rows = tuple(
        (
            one.name + (f": {one.front}" if one.front else ""),
            *_stops_cells(one),
            f"{one.expected_spread_stops:.1f}",
            _front_cell([one], units),
        )
        for one in fits
    )
    heads = ("modifier", "lost", "spread", "in all", "±", "front")
    columns = [Column(head, 1.0, words=number == 0) for number, head in enumerate(heads)]
    title = "Modifiers that fit: stops that they cost its first beam on the axis"
    return SheetTable(title, tuple(columns), rows)


def notes(shown: KitShown, units: System) -> tuple[str, ...]:
    """Key, cautions, what a reader must know, and where the figures are from."""
    sheet = shown.sheet
    assert sheet is not None
    key = sheet.key
    behind = "metre" if units == "metric" else "foot"
    camera = f"T{key.t_number:g}, ISO {key.iso:.0f}, 1/{1.0 / key.exposure_time_s:.0f} s"
    meter = f"ISO 2720, C = {key.meter_constant_c:g}"
    told = [f"Stops: over or under key at {camera}, {three_figures(sheet.key_lux)} lx ({meter})."]
    told[0] += f" Edge: of a shadow, a {behind} behind what casts it."
    told += [
        f"{_capital(one.says)}: {one.do}." if one.do else f"{_capital(one.says)}."
        for one in sorted(shown.findings, key=lambda one: list(Weight).index(one.weight))
    ]
    if sheet.power:
        told.append(POWER_CAUTION)
    told.append(where_from(shown))
    return tuple(told)


def where_from(shown: KitShown) -> str:
    """In one line: where figures are from and how far light may be off, most of them together."""
    sheet = shown.sheet
    assert sheet is not None
    light = provenance_of(sheet.fixture, "beams")
    if sheet.cost is not None:
        light = "; ".join(dict.fromkeys((light, sheet.cost.provenance)))
    others: dict[str, list[str]] = {}
    for one in shown.figures:
        if one.figure != "beams" and one.provenance != sheet.provenance:
            others.setdefault(one.provenance, []).append(one.figure.replace("_", " "))
    told = f"From: light {light}, ± {sheet.spread_stops:.1f} stop"
    if sheet.fixture.provenance != light:
        told += f"; all else {sheet.fixture.provenance}"
    elif sheet.cost is None:
        told += "; all else alike"
    told += "".join(f"; {', '.join(names)}: {where}" for where, names in others.items())
    return told + "."


def curves_of(light: KnownLight, shown: KitShown) -> tuple[PolarCurve, ...]:
    """Candela by angle of each beam; of a file's web or a tube in both planes."""
    sheet = shown.sheet
    assert sheet is not None
    angle = np.linspace(-math.pi, math.pi, _CURVE_STEPS)
    level, upright = (
        np.stack([np.sin(angle), 0.0 * angle, np.cos(angle)], axis=1),
        np.stack([0.0 * angle, np.sin(angle), np.cos(angle)], axis=1),
    )
    turns = tuple(float(one) for one in angle)
    if light.web is not None:
        planes = (("across (C 0)", level), ("along (C 90)", upright))
        return tuple(
            PolarCurve(name, turns, tuple(float(i) for i in intensities(light, ways)))
            for name, ways in planes
        )
    curves = []
    for one in sheet.beams[:_MOST_CURVES]:
        ways = [(beam_name(one.beam.name), level)]
        if one.beam.shape == "tube":
            ways = [("along the tube", level), ("across it", upright)]
        curves += [
            PolarCurve(name, turns, tuple(float(i) for i in beam_intensities(one.beam, way)))
            for name, way in ways
        ]
    return tuple(curves)


def beam_name(name: str) -> str:
    """A beam's name for people; of a light that has but one, "its beam"."""
    return "its beam" if name == "fixed" else name


def beam_text(beam: Beam) -> str:
    """A beam in one line: its angles, its flux."""
    flux = f"{three_figures(beam.flux_lm)} lm"
    if beam.shape == "all round":
        return f"all round, {flux}"
    if beam.shape == "tube":
        return f"all round the tube, {flux}"
    field = degrees(field_angle_rad(beam_distribution(beam)))
    return f"{degrees(beam.beam_angle_rad)}, field {field}, {flux}"


# Tables ----------------------------------------------------------------------------------


def _beam_table(
    shown: KitShown, beams: tuple[BeamSheet, ...], units: System, *, title: bool, softness: bool
) -> SheetTable:
    other = "ft" if units == "metric" else "m"
    columns = [Column(units_of(units), 7.5), Column(other, 8.5)]
    if softness:
        columns += [Column("looks", 10.5), Column("edge", 13.0)]
    spans = [(2, 4, "softness")] if softness else []
    rows = [_distance_cells(one.distance_m, units) for one in shown.softness]
    if softness:
        rows = [
            [*row, degrees(soft.angular_size_rad), _edge(soft.edge_per_m, units)]
            for row, soft in zip(rows, shown.softness, strict=True)
        ]
    for one in beams:
        spans.append((len(columns), len(columns) + 4, beam_name(one.beam.name)))
        columns += [Column("wide", 14.0), Column("lux", 16.0), Column("fc", 14.0),
                    Column("stops", 11.5)]  # fmt: skip
        at = one.metric if units == "metric" else one.imperial
        rows = [
            row + _light_cells(there, one.beam, units) for row, there in zip(rows, at, strict=True)
        ]
    text = "Softness and light, square before the front" if title else ""
    return SheetTable(text, tuple(columns), tuple(map(tuple, rows)), tuple(spans))


def units_of(units: System) -> str:
    """The unit of distances."""
    return "m" if units == "metric" else "ft"


def _distance_cells(distance_m: float, units: System) -> list[str]:
    feet = distance_m / _METRES_PER_FOOT
    if units == "metric":
        return [f"{distance_m:.0f}", f"{feet:.1f}"]
    return [f"{feet:.0f}", f"{distance_m:.1f}"]


def _light_cells(there: AtDistance, beam: Beam, units: System) -> list[str]:
    near = "~" if there.near and beam.shape != "matte" else ""
    return [
        "–" if there.beam_diameter_m is None else _wide(there.beam_diameter_m, units),
        near + _light(there.illuminance_lux),
        _light(there.illuminance_footcandles),
        format_stops_tenths(there.stops_over_key).replace("-", "−"),
    ]


def _grouped_costs(fits: tuple[ModifierFit, ...], units: System) -> SheetTable:
    """Modifiers of one form that cost alike in one row, with the range of their sizes."""
    groups: dict[tuple[str, str, str, str, str], list[ModifierFit]] = {}
    for one in fits:
        key = (one.form, one.front, *_stops_cells(one))
        groups.setdefault(key, []).append(one)
    rows: list[tuple[str, ...]] = []
    for key, several in groups.items():
        name = several[0].name if len(several) == 1 else f"{key[0]}, {len(several)} sizes"
        name += f": {key[1]}" if key[1] else ""
        rows.append((name, *key[2:], _front_cell(several, units)))
    columns = (
        Column("modifier", 40.0, words=True),
        Column("lost", 10.0),
        Column("spread", 11.8),
        Column("in all", 10.5),
        Column("front", 19.0),
    )
    title = f"Modifiers that fit: stops lost, spread apart and in all, against {_first(fits)}"
    return SheetTable(title, columns, tuple(rows))


def _first(fits: tuple[ModifierFit, ...]) -> str:
    return beam_name(fits[0].against)


def _front_cell(fits: list[ModifierFit], units: System) -> str:
    """The new fronts by their wider side, as a range where there are several."""
    sizes = sorted(max(one.width_m, one.height_m or 0.0) for one in fits if one.width_m is not None)
    if not sizes:
        return "–"
    wide = _round_size(sizes[-1], units)
    if round(sizes[-1], 3) > round(sizes[0], 3):
        wide = f"{_round_size(sizes[0], units)}–{wide}"
    return f"{wide} {units_of(units)}"


def _round_size(length_m: float, units: System) -> str:
    value = length_m if units == "metric" else length_m / _METRES_PER_FOOT
    return f"{value:.2g}" if value < 10.0 else f"{value:.0f}"


def _stops_cells(one: ModifierFit) -> tuple[str, str, str]:
    absorbed, spread, total = (
        format_stops_tenths(value).replace("-", "−")
        for value in (one.absorbed_stops, one.spread_stops, one.total_stops)
    )
    return absorbed, spread, total


# Words -----------------------------------------------------------------------------------


def _front(shown: KitShown, units: System) -> str:
    assert shown.opening is not None
    return size_text(shown.opening, units)


def _wide(length_m: float, units: System) -> str:
    return f"{_number(length_m, units)} {units_of(units)}"


def _light(value: float) -> str:
    """Lux or foot-candles to three figures, a million and more in thousands."""
    return three_figures(value) if value < 999_500.0 else f"{three_figures(value / 1000.0)} k"


def _number(length_m: float, units: System) -> str:
    value = length_m if units == "metric" else length_m / _METRES_PER_FOOT
    return f"{value:.2f}" if value < 9.995 else f"{value:.1f}"


def _edge(edge_per_m: float, units: System) -> str:
    """A shadow's edge for each metre, or foot, behind what casts it."""
    if units == "imperial":
        return f"{12.0 * edge_per_m:.1f} in"
    return f"{100.0 * edge_per_m:.1f} cm" if edge_per_m < 1.0 else f"{edge_per_m:.2f} m"


def _power(item: Fixture) -> str:
    if provenance_of(item, "power_w").startswith(NOT_SAID):
        return NOT_SAID
    if item.power_w == 0.0:
        return "none"
    factor = f", power factor {item.power_factor:g}" if item.power_factor < 1.0 else ""
    return f"{item.power_w:g} W{factor}, {item.supply}"


def _amps(shown: KitShown) -> str:
    assert shown.sheet is not None
    return ", ".join(
        f"{one.current_amps:.1f} A at {one.voltage_v:.0f} V" for one in shown.sheet.power
    )


def _switch_on(shown: KitShown) -> str:
    assert shown.sheet is not None
    if not shown.sheet.power:
        return ""
    known = [
        f"{one.switch_on_amps:.0f} A at {one.voltage_v:.0f} V"
        for one in shown.sheet.power
        if one.switch_on_amps is not None
    ]
    if not known:
        return "inrush not known"
    return f"{', '.join(known)} for a moment"


def _colour(item: Fixture) -> str:
    if provenance_of(item, "kelvin").startswith(NOT_SAID):
        return "unknown"
    kelvin = f"{item.kelvin:.0f} K"
    if item.kelvin_low < item.kelvin_high:
        kelvin = f"{item.kelvin_low:.0f} to {item.kelvin_high:.0f} K"
    green = "neither green nor magenta"
    if item.green_cc:
        green = f"{abs(item.green_cc):g} CC {'green' if item.green_cc > 0.0 else 'magenta'}"
    return f"{kelvin}, {green}"


def _rendering(item: Fixture) -> str:
    return "CRI unknown" if item.cri is None else f"CRI {item.cri:.0f}"


def _dims(item: Fixture) -> str:
    if not item.dims:
        return "does not dim"
    told = {"measured": "measured curve"}.get(item.dim.kind, item.dim.kind)
    if item.lowest_steady_share > 0.0:
        told += f", steady from {100.0 * item.lowest_steady_share:.2g} % up"
    warms = {"filament": ", warms as it dims", "toward": ", warms as it dims"}
    return told + warms.get(item.colour_on_dim.kind, "")


def _flicker(item: Fixture) -> str:
    hint = item.flicker
    often = f", {three_figures(hint.frequency_hz)} a second" if hint.frequency_hz else ""
    return hint.kind + often + (" when dimmed" if hint.dimmed_only else "")


def _cost(shown: KitShown) -> str:
    assert shown.sheet is not None
    cost = shown.sheet.cost
    assert cost is not None
    absorbed, spread, total = (
        format_stops_tenths(value).replace("-", "−")
        for value in (cost.absorbed_stops, cost.spread_stops, cost.total_stops)
    )
    return (
        f"{total} stops on the axis against {cost.against.name}: {absorbed} absorbed, {spread} "
        f"spread, ± {cost.expected_spread_stops:.1f}"
    )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
