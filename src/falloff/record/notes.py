"""What a person should know of corrections beside their figures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from falloff.document import KitLight
from falloff.findings import Finding, Weight
from falloff.record.records import Doubted
from falloff.record.room import Room
from falloff.record.unknowns import Unknown
from falloff.types import Float64Array

_FAR: Final = 2.5  # spreads from which a correction is told to be out of the usual
_SEVERAL: Final = 2
_ALIKE_STOPS: Final = 0.5


def notes_of(
    room: Room, x: Float64Array, prior: Float64Array, *, doubted: Sequence[Doubted] = ()
) -> tuple[Finding, ...]:
    """Corrections out of the usual, modifiers that are in an output, walls that are outside too.

    And readings that were all doubted alike: then it may be the meter.
    """
    found = [*_all_alike(doubted)]
    for u, unknown in enumerate(room.unknowns):
        at_end = min(x[u] - unknown.low, unknown.high - x[u]) < 1e-6
        if unknown.kind == "reflectance" and at_end and x[u]:
            found.append(_at_end(unknown, float(x[u])))
        elif abs(x[u]) > _FAR * prior[u]:
            found.append(_far_off(unknown, float(x[u])))
    return (*found, *_in_output(room), *_into_outputs(room, x), *_outside_too(room, x))


def _all_alike(doubted: Sequence[Doubted]) -> Iterator[Finding]:
    """That several readings are off by the same, which is how a meter's setting looks."""
    stops = [one.stops for one in doubted if one.stops is not None]
    if len(stops) < _SEVERAL or max(stops) - min(stops) > _ALIKE_STOPS:
        return
    mean = sum(stops) / len(stops)
    side = "over" if mean > 0.0 else "under"
    says = (
        f"{len(stops)} readings are all some {abs(mean):.1f} stops {side}: that is how a "
        "meter's own setting looks, or the wrong unit for all of them"
    )
    do = "check its unit, its ISO and shutter if it showed a stop, and what is before its receptor"
    yield Finding(weight=Weight.WARNING, about="the meter", says=says, do=do)


def _at_end(unknown: Unknown, x: float) -> Finding:
    says = (
        f"{unknown.name} would have to reflect {100.0 * unknown.value(x):.0f} %: that is as far as "
        "a reflectance is let go"
    )
    do = "look for what else could be off: a unit moved, a curtain, another wall"
    return Finding(weight=Weight.WARNING, about=unknown.name, says=says, do=do)


def _far_off(unknown: Unknown, x: float) -> Finding:
    side = "more" if x > 0.0 else "less"
    check = {
        "output": "its dim, scrim, gel and lamp, and where it stands",
        "modifier": "how it hangs, and that it is this one",
        "sky": "the hour, the glass and what stands before it",
        "sun": "the hour, and haze or cloud before it",
        "reflectance": "what else is off there: a curtain, a unit that was moved",
    }[unknown.kind]
    says = (
        f"{unknown.name} would be {abs(x):.1f} stops {side} than assumed, far beyond the "
        f"{unknown.prior:.1f} stop that it is usually out by"
    )
    return Finding(weight=Weight.WARNING, about=unknown.name, says=says, do=f"check {check}")


def _in_output(room: Room) -> Iterator[Finding]:
    """Where a modifier's loss is in its one unit's output."""
    shared = {one.name for one in room.unknowns if one.kind == "modifier"}
    document = room.stood[0].document
    for unknown in room.unknowns:
        light = document.fixtures.get(unknown.name) if unknown.kind == "output" else None
        if light is None or light.output is not None or not isinstance(light.light, KitLight):
            continue
        own = [name for name in light.light.modifier if name not in shared]
        if own:
            says = (
                f"the output of {unknown.name} has what {' and '.join(own)} costs in it: with one "
                "unit behind it the two cannot be told apart"
            )
            do = "meter the bare head too, to tell them apart"
            yield Finding(weight=Weight.NOTE, about=unknown.name, says=says, do=do)


def _into_outputs(room: Room, x: Float64Array) -> Iterator[Finding]:
    """Where what a modifier passes goes into its units' outputs, a scene having no place for it."""
    for u, unknown in enumerate(room.unknowns):
        if unknown.kind == "modifier" and x[u]:
            units = " and ".join(unknown.sources)
            says = f"what {unknown.name} passes is written into the output of {units}"
            yield Finding(weight=Weight.NOTE, about=unknown.name, says=says)


def _outside_too(room: Room, x: Float64Array) -> Iterator[Finding]:
    """Where a wall's material is that of a building outside, which then changes with it."""
    outside = room.stood[0].document.outside
    for u, unknown in enumerate(room.unknowns):
        if unknown.kind != "reflectance" or not x[u] or outside is None:
            continue
        same = [name for name, one in outside.buildings.items() if one.surface == unknown.name]
        if same:
            says = f"{unknown.name} is what {' and '.join(same)} outside has too: both change"
            do = "give what stands outside a material of its own"
            yield Finding(weight=Weight.NOTE, about=unknown.name, says=says, do=do)
