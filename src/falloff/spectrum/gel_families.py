"""The generic gels that are shipped, and which of them bring a light near to another."""

from __future__ import annotations

import difflib
import functools
import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

from falloff.errors import FalloffError, Fault
from falloff.spectrum.gels import (
    Gel,
    GelFigures,
    GelledLight,
    apply_gels,
    gel_of_curve,
    gel_of_figures,
)
from falloff.spectrum.shifts import ColourShift, LightColour, colour_shift
from falloff.spectrum.tables import shipped_toml

# What a person begins to mind, on either axis; common practice, from memory.
MINDED_MIRED: Final = 10.0
MINDED_CC: Final = 4.0
_SHADES_ALIKE: Final = 2.0  # the spread of a gel's own shift, 20 mired
_CORRECTING: Final = ("warming", "cooling", "green")


@dataclass(frozen=True, slots=True, eq=False)
class GelChoice:
    """One way to bring a light to a wanted colour.

    gels: none, one or two, in any order; result: the light after them; residual: what is still
    between, seen from the wanted colour; shades: how many times as far as a person begins to mind
    (10 mired, 4 CC; both axes squared and added).
    """

    gels: tuple[Gel, ...]
    result: GelledLight
    residual: ColourShift
    shades: float


@functools.cache
def generic_gels() -> tuple[Gel, ...]:
    """Every shipped gel, by family: warming, cooling, green, neutral, neutral and warming, accent.

    Source: common practice, from memory, generic; their spreads say how far makers stray.
    """
    data = shipped_toml("gels.toml")
    return tuple(
        _made(name, one, family=family, defaults=part, source=data["source"])
        for family, part in data["families"].items()
        for name, one in part["gels"].items()
    )


def find_gel(name: str) -> Gel:
    """The shipped gel of this name; FalloffError with the nearest name otherwise."""
    wanted = " ".join(name.lower().split())
    known = {gel.name: gel for gel in generic_gels()}
    if wanted in known:
        return known[wanted]
    near = difflib.get_close_matches(wanted, list(known), n=1)
    raise FalloffError(
        Fault(
            f"no gel is called {name!r}",
            expected="one of " + ", ".join(known),
            found=name,
            fix=f"did you mean {near[0]!r}?" if near else f"write {next(iter(known))!r}",
        )
    )


def gel_choices(
    light: LightColour, wanted: LightColour, *, gels: Iterable[Gel] | None = None
) -> tuple[GelChoice, ...]:
    """Ways to bring a light towards a wanted colour, the nearest and simplest first.

    Nothing, every single gel, and every pair along and across the locus; gels: which there are,
    by default the shipped warming, cooling and green ones. Gels themselves stray by some two
    shades, so that choices which are as near to within two are ordered by their number of gels,
    then by their loss. Raises FalloffError where either colour has no colour temperature.
    """
    colour_shift(light, wanted)  # refuses lights without a colour temperature
    there_are = [gel for gel in generic_gels() if gel.family in _CORRECTING]
    chosen = list(gels) if gels is not None else there_are
    across = [gel for gel in chosen if gel.figures.green_share and not gel.figures.shift_mired]
    along = [gel for gel in chosen if gel not in across]
    sets: list[tuple[Gel, ...]] = [(), *((gel,) for gel in chosen)]
    sets += itertools.product(along, across)
    found = [choice for one in sets if (choice := _choice(light, wanted, one)) is not None]
    return tuple(sorted(found, key=_order))


def _order(choice: GelChoice) -> tuple[int, int, float]:
    near = math.floor(choice.shades / _SHADES_ALIKE)
    return near, len(choice.gels), choice.result.loss_stops


def _choice(light: LightColour, wanted: LightColour, gels: tuple[Gel, ...]) -> GelChoice | None:
    """The choice, or None where it leaves no colour temperature."""
    try:
        result = apply_gels(light, gels)
        residual = colour_shift(wanted, result.light)
    except FalloffError:
        return None
    shades = math.hypot(residual.shift_mired / MINDED_MIRED, residual.green_cc / MINDED_CC)
    return GelChoice(gels, result, residual, shades)


def _made(
    name: str, one: dict[str, Any], *, family: str, defaults: dict[str, Any], source: str
) -> Gel:
    spreads = {key: float(defaults.get(key, 0.0)) for key in ("spread_mired", "spread_stops")}
    if "points" in one:
        waves, shares = zip(*one["points"], strict=True)
        return gel_of_curve(
            name,
            waves,
            transmittance=shares,
            spread_stops=spreads["spread_stops"],
            source=source,
            family=family,
        )
    figures = GelFigures(**spreads, **{key: float(value) for key, value in one.items()})
    return gel_of_figures(name, figures, source=source, family=family)
