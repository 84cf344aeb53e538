"""A measured figure in place of the catalogue's, and a finding that says so."""

from __future__ import annotations

import datetime as dt
import math
from typing import Any, Final

import msgspec

from falloff.errors import Fault
from falloff.findings import Finding, Weight
from falloff.kit.catalogue.beams import axis_of_flux, flux_by_axis
from falloff.kit.catalogue.near_field import axis_of_matte_reading_cd, is_near
from falloff.kit.catalogue.reading import build_item, item_faults, read_record
from falloff.kit.catalogue.records import (
    BY_USER,
    Beam,
    Fixture,
    FullAngle,
    Item,
    Modifier,
    ModifierBeam,
    Opening,
    Positive,
    Share,
)
from falloff.kit.catalogue.wanted import as_written
from falloff.units import stops_from_factor

# What is said of an item, not measured.
_SAID: Final = frozenset(
    ("name", "also", "provenance", "provenance_of", "spread_of", "day_rate", "note", "family",
     "form", "beams", "takes", "mount", "accepts", "supply")
)  # fmt: skip
METER_SPREAD_STOPS: Final = 0.2  # of one reading by one meter: common practice, no source


class _BeamMeasured(msgspec.Struct, frozen=True, kw_only=True):
    """What can be measured of a fixture's beam; illuminance_lux needs at_m."""

    flux_lm: Positive | None = None
    axis_cd: Positive | None = None
    beam_angle_rad: FullAngle | None = None
    illuminance_lux: Positive | None = None
    at_m: Positive | None = None


class _FrontMeasured(msgspec.Struct, frozen=True, kw_only=True):
    """What can be measured of a modifier's front."""

    passes_share: Share | None = None
    beam_angle_rad: FullAngle | None = None


def with_measured(
    item: Item, raw: object, *, name: str, where: str
) -> tuple[Item, tuple[Finding, ...], list[Fault]]:
    """An item with measured figures, a finding for each, and faults.

    raw: a table of figures in handy units, "on" (the day) and, for a fixture or a modifier, "beams"
    by their names. Of a beam's flux, axis and angle, what was not measured is made to fit.
    """
    if not isinstance(raw, dict):
        fault = Fault(what="what was measured is a table", where=where, found=as_written(raw),
                      fix="write measured.power_w = 310, and so on")  # fmt: skip
        return item, (), [fault]
    figures = dict(raw)
    day, faults = figures.pop("on", None), []
    if day is not None and not isinstance(day, dt.date):
        faults.append(Fault(what="this is no day", where=f"{where}.on", expected="2024-05-31",
                            found=as_written(day), fix="write it without quotes"))  # fmt: skip
    source = f"{BY_USER}, {day.isoformat()}" if isinstance(day, dt.date) else BY_USER
    beams = figures.pop("beams", None)
    fields, wrong = _plain_figures(item, figures, where)
    faults += wrong
    changed = _with_fields(item, fields, source)
    findings = [_told(item, key, value, source, name) for key, value in fields.items()
                if key != "spread_stops"]  # fmt: skip
    if beams is not None:
        changed, more, wrong = _with_beams(
            changed, beams, source, name=name, where=f"{where}.beams"
        )
        findings += more
        faults += wrong
    if not faults:
        faults += item_faults(changed, where=where)
    return changed, tuple(findings), faults


def _plain_figures(
    item: Item, figures: dict[str, Any], where: str
) -> tuple[dict[str, Any], list[Fault]]:
    asked = {key: value for key, value in figures.items() if key not in _SAID}
    fields, faults = read_record(type(item), asked, where=where, whole=False)
    for key in sorted(_SAID & set(figures)):
        faults.append(Fault(what=f"{key} is nothing that one measures", where=f"{where}.{key}",
                            fix="leave it out, or write an item of your own"))  # fmt: skip
    return fields, faults


def _with_fields(item: Item, fields: dict[str, Any], source: str) -> Item:
    """The item with the fields, each told to be measured, and with what follows from them."""
    if not fields:
        return item
    spread = float(fields.get("spread_stops") or METER_SPREAD_STOPS)
    values = dict(fields)
    if isinstance(item, Fixture):
        values |= _followers(item, fields)
    told = [key for key in fields if key != "spread_stops"]
    values["provenance_of"] = item.provenance_of | dict.fromkeys(told, source)
    light = [key for key in told if key in {"flux_lm", "loss_stops", "luminance_nit"}]
    light += ["beams"] if "flux_lm" in told and isinstance(item, Fixture) else []
    values["spread_of"] = item.spread_of | dict.fromkeys(light, spread)
    return build_item(type(item), msgspec.structs.asdict(item) | values)


def _followers(item: Fixture, fields: dict[str, Any]) -> dict[str, Any]:
    """What goes with a measured flux or colour."""
    values: dict[str, Any] = {}
    if "flux_lm" in fields:
        ratio = fields["flux_lm"] / item.flux_lm
        values["beams"] = tuple(
            msgspec.structs.replace(one, flux_lm=one.flux_lm * ratio, axis_cd=one.axis_cd * ratio)
            for one in item.beams
        )
    if "kelvin" in fields:
        values["kelvin_low"] = min(fields.get("kelvin_low", item.kelvin_low), fields["kelvin"])
        values["kelvin_high"] = max(fields.get("kelvin_high", item.kelvin_high), fields["kelvin"])
        if item.kelvin_low == item.kelvin_high:
            values["kelvin_low"] = values["kelvin_high"] = fields["kelvin"]
    return values


def _with_beams(
    item: Item, raw: object, source: str, *, name: str, where: str
) -> tuple[Item, list[Finding], list[Fault]]:
    """The item with measured beams."""
    if not isinstance(item, Fixture | Modifier):
        return item, [], [Fault(what="only fixtures and modifiers have beams", where=where,
                                fix="leave it out")]  # fmt: skip
    names = [one.name for one in item.beams]
    if not isinstance(raw, dict) or not all(isinstance(one, dict) for one in raw.values()):
        fault = Fault(what="measured beams are tables by their names", where=where,
                      expected="one of " + ", ".join(names), found=as_written(raw),
                      fix=f'write measured.beams."{names[0]}".flux_lm = ...')  # fmt: skip
        return item, [], [fault]
    findings: list[Finding] = []
    faults = [
        Fault(what=f"{item.name} has no beam called {one!r}", where=f"{where}.{one}",
              expected="one of " + ", ".join(names), found=one, fix=f"write {names[0]!r}")
        for one in raw
        if one not in names
    ]  # fmt: skip
    made: list[Any] = []
    for beam in item.beams:
        figures = raw.get(beam.name)
        if figures is None:
            made.append(beam)
        elif isinstance(beam, Beam):
            assert isinstance(item, Fixture)
            new, wrong = _beam(beam, figures, item.opening, f"{where}.{beam.name}")
            made.append(new)
            faults += wrong
            findings += _beam_findings(beam, new, figures, item, name)
        else:
            new_front, wrong = _front(beam, figures, f"{where}.{beam.name}")
            made.append(new_front)
            faults += wrong
            findings.append(_front_finding(beam, new_front, name))
    whole = set(raw) == set(names)
    part = ", ".join(one for one in names if one in raw)
    values: dict[str, Any] = {
        "beams": tuple(made),
        "provenance_of": item.provenance_of
        | {"beams": source if whole else f"{item.provenance}; {source}: {part}"},
        "spread_of": item.spread_of | ({"beams": METER_SPREAD_STOPS} if whole else {}),
    }
    return build_item(type(item), msgspec.structs.asdict(item) | values), findings, faults


def _beam(
    beam: Beam, raw: dict[str, Any], opening: Opening, where: str
) -> tuple[Beam, list[Fault]]:
    """A beam with what was measured; the figure that was not is made to fit the others."""
    fields, faults = read_record(_BeamMeasured, raw, where=where, whole=False)
    if ("illuminance_lux" in fields) != ("at_m" in fields):
        faults.append(Fault(what="a reading needs its distance, and a distance its reading",
                            where=where, fix="write illuminance_lux and at_m, or _fc and _ft")
                      )  # fmt: skip
    if "illuminance_lux" in fields and "axis_cd" in fields:
        faults.append(Fault(what="the axis is said twice, as intensity and as a reading",
                            where=where, fix="keep one of the two"))  # fmt: skip
    if faults:
        return beam, faults
    angle = fields.get("beam_angle_rad", beam.beam_angle_rad)
    axis = fields.get("axis_cd")
    if "illuminance_lux" in fields:
        axis = _axis_of_reading_cd(beam, opening, fields["illuminance_lux"], fields["at_m"])
    flux = fields.get("flux_lm")
    if axis is None:
        flux = flux or beam.flux_lm
        axis = float(axis_of_flux(beam.shape, angle, flux))
    new = msgspec.structs.replace(beam, beam_angle_rad=angle, axis_cd=axis)
    return msgspec.structs.replace(new, flux_lm=flux or float(flux_by_axis(new))), []


def _axis_of_reading_cd(beam: Beam, opening: Opening, illuminance_lux: float, at_m: float) -> float:
    """The far intensity that a reading means: near a wide front by the whole of it."""
    if beam.shape == "matte" or is_near(opening, at_m):
        return axis_of_matte_reading_cd(opening, illuminance_lux, distance_m=at_m)
    return illuminance_lux * at_m**2


def _front(
    front: ModifierBeam, raw: dict[str, Any], where: str
) -> tuple[ModifierBeam, list[Fault]]:
    fields, faults = read_record(_FrontMeasured, raw, where=where, whole=False)
    return (front if faults else msgspec.structs.replace(front, **fields)), faults


def _beam_findings(
    old: Beam, new: Beam, raw: dict[str, Any], item: Fixture, name: str
) -> list[Finding]:
    off = stops_from_factor(new.axis_cd / old.axis_cd)
    findings = [
        Finding(
            weight=Weight.NOTE,
            about=name,
            says=f"{old.name}: measured, {_figure(new)}, in place of the catalogue's "
            f"{_figure(old)} ({off:+.1f} stops)",
        )
    ]
    at_m = read_record(_BeamMeasured, raw, where="", whole=False)[0].get("at_m")
    if at_m is not None and is_near(item.opening, at_m):
        findings.append(
            Finding(
                weight=Weight.WARNING,
                about=name,
                says=f"{old.name}: the reading at {at_m:.2f} m is nearer than five widths of the "
                "front; it was taken through a matte front of that size, not by inverse square",
                do="meter again from farther off",
            )
        )
    return findings


def _front_finding(old: ModifierBeam, new: ModifierBeam, name: str) -> Finding:
    off = stops_from_factor(new.passes_share / old.passes_share if old.passes_share else math.inf)
    return Finding(
        weight=Weight.NOTE,
        about=name,
        says=f"{old.name}: measured, passes {100.0 * new.passes_share:.0f} %, in place of the "
        f"catalogue's {100.0 * old.passes_share:.0f} % ({off:+.1f} stops)",
    )


def _told(item: Item, key: str, value: object, source: str, name: str) -> Finding:
    old = getattr(item, key)
    told = f"{old:g}" if isinstance(old, float | int) else "its own"
    new = f"{value:g}" if isinstance(value, float | int) else "as measured"
    return Finding(weight=Weight.NOTE, about=name,
                   says=f"{key}: {new}, {source}, in place of the catalogue's {told}")  # fmt: skip


def _figure(beam: Beam) -> str:
    degrees = math.degrees(beam.beam_angle_rad)
    return f"{beam.axis_cd:.0f} cd, {beam.flux_lm:.0f} lm, {degrees:.0f}°"
