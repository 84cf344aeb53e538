"""Targets in words: what is asked, what there is, and by how much it is missed."""

from __future__ import annotations

import math
import re
from typing import Literal

from falloff.document import (
    AnyTarget,
    ColourTarget,
    EvenTarget,
    HueTarget,
    Target,
    ValueTarget,
)
from falloff.units import format_illuminance, format_luminance, format_stops_thirds

_NEAR_CC = 0.5
_A_THIRD = 0.11  # of a third off a whole one, as 1.3 stops are


def asks(target: AnyTarget, *, spot: bool = False, several: bool = False) -> str:
    """What a target asks: "shadow cheek 2 under key cheek, give or take a third".

    spot: whether its reading is taken with a spot meter, which is told over middle grey; several:
    whether it is taken at several points, everywhere along a walk or over an area.
    """
    if isinstance(target, EvenTarget):
        return f"{', '.join(target.readings)} even within {target.within.text}"
    reading = f"{target.reading} everywhere" if several else target.reading
    match target:
        case Target():
            said = as_asked(target.level.si, target.over or ("middle grey" if spot else "key"))
            return f"{reading} {_limit(target.limit)}{said}, {_take(target.tolerance.si)}"
        case ValueTarget():
            limit = _limit(target.limit)
            return f"{reading} {limit}{target.value.text}, {_take(target.tolerance.si)}"
        case ColourTarget():
            return f"{reading} {_colour(target)}"
        case HueTarget():
            hue, near = math.degrees(target.hue.si), math.degrees(target.tolerance.si)
            said = f"{reading} of hue {hue:.0f}°, give or take {near:.0f}°"
            pale = target.saturation
            return f"{said}, saturation {pale:g} or more" if pale > 0.0 else said
        case _:
            return f"{reading} as it is written, {_take(target.tolerance.si)}"


def as_asked(stops: float, reference: str) -> str:
    """A level as `beside`, but in tenths where it was written so: "2.5 over middle grey"."""
    if abs(3.0 * stops - round(3.0 * stops)) < _A_THIRD:
        return beside(stops, reference)
    return f"{abs(stops):.1f} {'over' if stops > 0.0 else 'under'} {reference}"


def beside(stops: float, reference: str, *, level: str = "") -> str:
    """A difference in thirds of a stop: "2 under key cheek", "at key", "level with back"."""
    said = format_stops_thirds(stops, reference="it")
    if said != "at it":
        return f"{said} {reference}"
    return level or (
        f"at {reference}" if reference in {"key", "middle grey"} else f"level with {reference}"
    )


def span(stops: float) -> str:
    """How many stops, without a side: "1 1/3", "a third", "a little"."""
    said = format_stops_thirds(abs(stops), reference="it").removesuffix(" over")
    return "a little" if said == "at it" else said


def too(stops: float) -> str:
    """By how much something is missed: "a third too bright"."""
    return f"{span(stops)} too {'bright' if stops > 0.0 else 'dark'}"


def amount(value: float, as_written: str, *, spot: bool) -> str:
    """A value in the system of units of an older text: "320 lx", "30 fc"."""
    unit = re.search(r"[^\W\d]", as_written)
    system: Literal["metric", "imperial"] = "metric"
    if unit is not None and unit[0] in "fF":
        system = "imperial"
    if spot:
        return format_luminance(value, units=system)
    return format_illuminance(value, units=system)


def white(kelvin: float, green_cc: float, *, least_cc: float = _NEAR_CC) -> str:
    """A white light: "3200 K", "4300 K, 12 CC of green", to the nearest 10 K and 1 CC.

    least_cc: what green or magenta is worth telling.
    """
    said = f"{10.0 * round(kelvin / 10.0):.0f} K"
    return said if abs(green_cc) < least_cc else f"{said}, {greens(green_cc)}"


def greens(cc: float) -> str:
    """CC of green or magenta: "12 CC of green", "no green"."""
    if abs(cc) < _NEAR_CC:
        return "no green"
    return f"{abs(cc):.0f} CC of {'green' if cc > 0.0 else 'magenta'}"


def warmer(mired: float) -> str:
    """One light beside another: "60 mired warmer", "as warm"."""
    if abs(mired) < 0.5:
        return "as warm"
    return f"{abs(mired):.0f} mired {'warmer' if mired > 0.0 else 'cooler'}"


def off_white(off: float, unit: str) -> str:
    """By how much a white is missed: "15 mired too warm", "6 CC too magenta"."""
    sides = ("warm", "cool") if unit == "mired" else ("green", "magenta")
    return f"{abs(off):.0f} {unit} too {sides[off <= 0.0]}"


def _limit(limit: str) -> str:
    return "" if limit == "equal" else f"{limit} "


def _take(tolerance: float) -> str:
    said = span(tolerance)
    # What is far from whole thirds is told as a decimal.
    if abs(tolerance * 3.0 - round(tolerance * 3.0)) > 0.05:
        said = {0.5: "half a stop"}.get(round(tolerance, 6), f"{tolerance:.2g} stop")
    return f"give or take {said}"


def _colour(target: ColourTarget) -> str:
    if target.colour is not None:
        said = target.colour.text
    else:
        said = f"{warmer(target.mired or 0.0)} {'as' if not target.mired else 'than'} {target.over}"
    said += f", give or take {target.tolerance:g} mired"
    if target.green is not None:
        said += f"; {greens(target.green)}, give or take {target.green_tolerance:g} CC"
    return said
