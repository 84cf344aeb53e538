"""What a modifier costs a head by the catalogue alone: absorbed and spread told apart."""

from __future__ import annotations

import math

import msgspec

from falloff.errors import Fault, GeometryError
from falloff.kit.catalogue.beams import axis_of_flux
from falloff.kit.catalogue.records import (
    BY_USER,
    Beam,
    Fixture,
    Modifier,
    ModifierBeam,
    provenance_of,
    spread_of,
)
from falloff.units import Stops, factor_from_stops, stops_from_factor


class ModifierCost(msgspec.Struct, frozen=True, kw_only=True):
    """What leaves a modifier's front, and the stops it costs on the axis.

    against: the head's own beam that it is compared with. absorbed_stops: flux that is lost, also
    light that the modifier catches beyond that beam, so below 0 where more leaves it; spread_stops:
    what is left, in a wider beam (below 0: a narrower one); their sum is total_stops. Uncertainty
    of the total is expected_spread_stops either way.
    """

    front: Beam
    against: Beam
    absorbed_stops: Stops
    spread_stops: Stops
    total_stops: Stops
    expected_spread_stops: Stops
    provenance: str


def modified(
    given: Beam, modifier: Modifier, *, head_lm: float | None = None, front: str = ""
) -> Beam:
    """The beam that leaves a modifier's front when a beam is given to it.

    head_lm: all that the bare head gives, for a modifier on its mount; else the beam's own flux.
    front: one of the modifier's ways of use, the first if not said.
    """
    made = _front(modifier, front)
    fed_lm = head_lm if modifier.takes == "head" and head_lm is not None else given.flux_lm
    flux_lm = fed_lm * made.passes_share
    if made.shape == "unchanged":
        share = flux_lm / given.flux_lm
        return msgspec.structs.replace(given, flux_lm=flux_lm, axis_cd=given.axis_cd * share)
    angle = made.beam_angle_rad or (math.tau / 3.0 if made.shape == "matte" else math.tau)
    return Beam(
        name=made.name,
        shape=made.shape,
        beam_angle_rad=angle,
        flux_lm=flux_lm,
        axis_cd=axis_of_flux(made.shape, angle, flux_lm),
    )


def modifier_cost(
    fixture: Fixture, *modifiers: Modifier, beam: str = "", front: str = ""
) -> ModifierCost:
    """The stops that modifiers, from the head outward, cost on the axis, far off.

    Compared with one of the fixture's own beams, the first if not said. front: how the first
    modifier is used. A loss that the user measured overrides that of one modifier alone. Valid
    beyond five widths of the last front; nearer it loses less. What walls give back is traced, not
    looked up. Source: flux shares from memory, beams by their shapes.
    """
    given = find_beam(fixture, beam)
    made, spreads = given, [spread_of(fixture, "flux_lm")]
    for place, modifier in enumerate(modifiers):
        head_lm = fixture.flux_lm if place == 0 else None
        made = modified(made, modifier, head_lm=head_lm, front="" if place else front)
        spreads.append(spread_of(modifier, "beams"))
    measured = modifiers[0].loss_stops if len(modifiers) == 1 and not front else None
    if measured is not None and provenance_of(modifiers[0], "loss_stops").startswith(BY_USER):
        share = given.axis_cd / factor_from_stops(measured) / made.axis_cd
        made = msgspec.structs.replace(
            made, flux_lm=made.flux_lm * share, axis_cd=made.axis_cd * share
        )
        spreads = [spread_of(modifiers[0], "loss_stops")]
    absorbed = stops_from_factor(given.flux_lm / made.flux_lm)
    total = stops_from_factor(given.axis_cd / made.axis_cd)
    figure = "beams" if len(spreads) > 1 else "loss_stops"
    told = dict.fromkeys(provenance_of(one, figure) for one in modifiers)
    return ModifierCost(
        front=made,
        against=given,
        absorbed_stops=absorbed,
        spread_stops=Stops(total - absorbed),
        total_stops=total,
        expected_spread_stops=Stops(math.hypot(*spreads)),
        provenance="; ".join(told),
    )


def find_beam(fixture: Fixture, name: str = "") -> Beam:
    """A beam of a fixture by its name, or its first; raises GeometryError that tells them all."""
    for beam in fixture.beams:
        if name in ("", beam.name):
            return beam
    raise _no_such("beam", name, fixture.name, [beam.name for beam in fixture.beams])


def _front(modifier: Modifier, name: str) -> ModifierBeam:
    for one in modifier.beams:
        if name in ("", one.name):
            return one
    raise _no_such("front", name, modifier.name, [one.name for one in modifier.beams])


def _no_such(what: str, name: str, owner: str, known: list[str]) -> GeometryError:
    return GeometryError(
        Fault(
            what=f"{owner} has no {what} called {name!r}",
            expected="one of " + ", ".join(known),
            found=name,
            fix=f"write {known[0]!r}, or leave it out",
        )
    )
