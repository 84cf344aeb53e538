"""Every figure of an item as people read it, where it is from, and how far it may be off."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

import msgspec

from falloff.kit import Beam, DimCurve, Flicker, Item
from falloff.kit import Opening as KitOpening
from falloff.kit.catalogue import ModifierBeam, provenance_of, spread_of
from falloff.kit.catalogue.dimming import ColourOnDim
from falloff.units import System, format_length, format_stops_tenths, parse_length

_SAID: Final = frozenset(
    ("name", "also", "provenance", "provenance_of", "spread_stops", "spread_of", "note")
)
# Figures of light, to which an item's spread in stops applies.
_OF_LIGHT: Final = frozenset(
    ("flux_lm", "beams", "luminance_nit", "loss_stops", "straight_share", "scattered_share",
     "reflected_share", "transmitted_share")
)  # fmt: skip
_JOULES_PER_WATT_HOUR: Final = 3600.0


class FigureTold(msgspec.Struct, frozen=True, kw_only=True):
    """One figure: its name in the record, what it says, where from; None where no spread is known.

    spread_stops: up or down, of figures of light.
    """

    figure: str
    says: str
    provenance: str
    spread_stops: float | None


def figures_of(item: Item, units: System) -> tuple[FigureTold, ...]:
    """Every figure that an item has, in the record's order; empty ones are left out."""
    told = []
    for name in type(item).__struct_fields__:
        value = getattr(item, name)
        if name in _SAID or value is None or value in ("", ()):
            continue
        told.append(
            FigureTold(
                figure=name,
                says=_says(name, value, units),
                provenance=provenance_of(item, name),
                spread_stops=spread_of(item, name) if name in _OF_LIGHT else None,
            )
        )
    return tuple(told)


def three_figures(value: float) -> str:
    """A number to three figures, thousands apart: "12 300", "0.482"."""
    return f"{float(f'{value:.3g}'):,.12g}".replace(",", " ")


def degrees(angle_rad: float) -> str:
    """An angle for people: "0.5°", "9.6°", "55°"."""
    angle = math.degrees(angle_rad)
    return f"{angle:.1f}°" if angle < 9.95 else f"{angle:.0f}°"


def size_text(opening: KitOpening, units: System) -> str:
    """A front's shape and size: "rectangle 0.90 × 0.60 m", "disc 3 in"."""
    wide, high = opening.width_m, opening.height_m
    if units == "imperial":
        told = [f"{one / _INCH:.3g} in" if one < 1.2 else format_length(one, units=units)
                for one in (wide, high)]  # fmt: skip
    else:
        told = [f"{100.0 * one:.3g} cm" if one < 1.0 else f"{one:.2f} m" for one in (wide, high)]
    if wide == high and opening.shape in {"disc", "ball"}:
        return f"{opening.shape}, {told[0]} wide"
    return f"{opening.shape}, {told[0]} × {told[1]}"


_INCH: Final = float(parse_length("1 in"))

_ENDINGS: Final[tuple[tuple[str, Callable[[float], str]], ...]] = (
    ("fills_m3_per_s", lambda value: f"{60.0 * value:.3g} m³ a minute"),
    ("section_m2", lambda value: f"{1e6 * value:.3g} mm²"),
    ("_w", lambda value: f"{value:g} W"),
    ("_kelvin", lambda value: f"{value:.0f} K"),
    ("kelvin", lambda value: f"{value:.0f} K"),
    ("_low", lambda value: f"{value:.0f} K"),
    ("_high", lambda value: f"{value:.0f} K"),
    ("_rad", degrees),
    ("_share", lambda value: f"{100.0 * value:.3g} %"),
    ("_stops", format_stops_tenths),
    ("_mired", lambda value: f"{value:+.0f} mired"),
    ("_cc", lambda value: f"{value:+.0f} CC"),
    ("_amps", lambda value: f"{value:g} A"),
    ("_v", lambda value: f"{value:g} V"),
    ("_lm", lambda value: f"{three_figures(value)} lm"),
    ("_nit", lambda value: f"{three_figures(value)} cd/m²"),
    ("_kg", lambda value: f"{value:g} kg"),
    ("_j", lambda value: f"{value / _JOULES_PER_WATT_HOUR:.0f} Wh"),
    ("_s", lambda value: f"{value:g} s"),
)


def _says(name: str, value: object, units: System) -> str:
    """A value in words and handy units."""
    if isinstance(value, tuple):
        return "; ".join(_says("", one, units) for one in value)
    if isinstance(value, msgspec.Struct):
        return _record(value, units)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return _number(name, value, units) if isinstance(value, int | float) else str(value)


def _number(name: str, value: float, units: System) -> str:
    """A number in the unit that its name ends in."""
    if name.startswith("focal_") or name in {"image_circle_m", "front_m"}:
        return f"{1000.0 * value:.3g} mm"
    if name.endswith("_m"):
        return format_length(value, units=units)
    shown = next((shown for ending, shown in _ENDINGS if name.endswith(ending)), None)
    return shown(float(value)) if shown else f"{value:.4g}"


def _record(value: msgspec.Struct, units: System) -> str:
    """A record of a record in one phrase."""
    if isinstance(value, Beam):
        return (
            f"{value.name}: {value.shape}, {degrees(value.beam_angle_rad)}, "
            f"{three_figures(value.axis_cd)} cd, {three_figures(value.flux_lm)} lm"
        )
    if isinstance(value, KitOpening):
        return size_text(value, units)
    if isinstance(value, ModifierBeam):
        wide = f", {degrees(value.beam_angle_rad)}" if value.beam_angle_rad else ""
        return f"{value.name}: passes {100.0 * value.passes_share:.3g} %, {value.shape}{wide}"
    if isinstance(value, DimCurve):
        return value.kind
    if isinstance(value, ColourOnDim):
        low = f" {value.low_kelvin:.0f} K" if value.low_kelvin else ""
        return {"steady": "does not change", "filament": "warms as a filament does"}.get(
            value.kind, f"goes toward{low}"
        )
    assert isinstance(value, Flicker)
    often = f", {value.frequency_hz:g} a second" if value.frequency_hz else ""
    return value.kind + often + (", only when dimmed" if value.dimmed_only else "")
