"""A beam that does not land: where it is aimed, what stands in its way, what its edges cut off."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from falloff.balance.why.complaints import same_name, unknown
from falloff.balance.why.fabric import light_scattered_lux
from falloff.balance.why.places import wall_words
from falloff.balance.why.rays import (
    alone,
    in_between,
    light_straight_lux,
    open_air,
    sheets_between,
    things_of,
)
from falloff.balance.why.records import Cause, Why
from falloff.balance.why.scene import TracedSetup
from falloff.balance.why.throw import (
    BACK_M,
    Throw,
    faces_met,
    first_met,
    off_axis_rad,
    throw_of,
    turned_source,
)
from falloff.balance.why.words import amount, per_cent, sentence, surface_text
from falloff.balance.words import listed
from falloff.constants import LUMINANCE_WEIGHTS
from falloff.rays import RayScene
from falloff.sources import BEAM, Source
from falloff.units import format_illuminance, format_length

LOST_STOPS: Final = 1.0 / 3.0  # that a beam may lose before it is said not to land
_TOLD_STOPS: Final = 0.1
_ALL_STOPS: Final = 10.0  # how far off a beam is told to be that does not land at all
_MOST_SPILL: Final = 3
_WORTH_SHARE: Final = 0.05  # of what lands, from where it is told that a fabric scatters it
_DIMMED: Final = 0.95  # of its light, under which it is said that a light is dimmed
_WEIGHTS: Final = np.array(LUMINANCE_WEIGHTS)


def beam_fixtures(traced: TracedSetup, about: str) -> tuple[str, ...]:
    """The fixtures whose beam is meant: the one named, else every one that throws a beam."""
    fixtures = {name: one for name, one in traced.document.fixtures.items() if one.aim is not None}
    if about:
        found = tuple(name for name in fixtures if same_name(name, about))
        if not found:
            raise unknown("fixture with an aim", about, fixtures, where=traced.setup.name)
        return found
    if not fixtures:
        raise unknown(
            "beam", "beam", (), where=traced.setup.name,
            what="no fixture is aimed at anything, so no beam can miss",
        )  # fmt: skip
    kinds = {source.name: source.kind for source in traced.stage.sources}
    beams = tuple(name for name in fixtures if kinds.get(name) == BEAM)
    return beams or tuple(fixtures)


def why_beam(traced: TracedSetup, name: str, toward: str = "") -> Why:
    """Where a fixture's light lands, and what takes it away before that."""
    throw = throw_of(traced, name, toward)
    gain = float(traced.gains[name] @ _WEIGHTS)
    losses = _losses(traced, throw)
    whole = stops_lost(losses.best_lux, losses.landed_lux)
    causes = tuple(losses.causes())
    first = _landing(traced, throw, gain * losses.landed_lux, gain * losses.best_lux)
    says = [sentence(first) if gain > 0.0 else f"{name} is off in this setup: no beam lands."]
    share = losses.scattered_lux / losses.landed_lux if losses.landed_lux > 0.0 else 0.0
    if gain > 0.0 and share >= _WORTH_SHARE:
        cloth = listed(sheets_between(traced.stage, throw.start, throw.point)) or "cloth"
        says.append(f"{per_cent(share)} of that comes scattered through {cloth}.")
    told = " ".join(one.says for one in causes[:2])
    says += [sentence(one) for one in (_far_side(throw), _axis_lands(traced, throw, told)) if one]
    says += [sentence(one.says) for one in causes[:2]]
    says += [sentence(one) for one in (_spill(traced, name, throw),) if one]
    cure = losses.first if whole > LOST_STOPS else None
    if cure is not None:
        got = amount(cure.stops) if math.isfinite(cure.stops) else "all of it"
        says.append(f"Cheapest: {cure.cure}{'' if cure.own else f': {got} back'}.")
    elif not causes and gain > 0.0:
        says.append("Nothing is in its way, and nothing cuts it off.")
    off = min(_ALL_STOPS, whole - LOST_STOPS) if gain > 0.0 and whole > LOST_STOPS else 0.0
    return Why(
        complaint=f"{name} not landing on {throw.target}",
        setup=traced.setup.name,
        says=tuple(says),
        causes=causes,
        stops=-whole if math.isfinite(whole) else None,
        wanted_stops=0.0,
        off_stops=off,
        cure=None if cure is None else cure.cure,
        cure_stops=None
        if cure is None or cure.own or not math.isfinite(cure.stops)
        else cure.stops,
    )


def stops_lost(before: float, after: float) -> float:
    """Stops from one light down to another; infinite where nothing is left."""
    if before <= 0.0:
        return 0.0
    return math.inf if after <= 0.0 else math.log2(before / after)


@dataclass(frozen=True, slots=True)
class _Loss:
    stops: float
    brief: str
    says: str
    cure: str
    own: bool = False


@dataclass(slots=True)
class _Losses:
    """What lands of a fixture's light and what could (lx, at full), and what is lost by what.

    scattered_lux: of what lands, what a fabric scatters on.
    """

    source: str
    landed_lux: float
    best_lux: float
    scattered_lux: float = 0.0
    found: list[_Loss] = field(default_factory=list)

    def add(
        self,
        steps: tuple[float, float],
        brief: str,
        says: str,
        cure: str,
        *,
        own: bool = False,
    ) -> None:
        """A step from more to less light; own: what takes it cannot be moved away."""
        stops = stops_lost(*steps)
        if stops >= _TOLD_STOPS:
            self.found.append(_Loss(stops, brief, says, cure, own))
            self.found.sort(key=lambda one: -one.stops)

    @property
    def first(self) -> _Loss | None:
        """The step that costs most."""
        return self.found[0] if self.found else None

    def causes(self) -> list[Cause]:
        """The steps as causes."""
        return [
            Cause(
                says=f"{one.says} {amount(one.stops)}",
                brief=one.brief,
                stops=one.stops if math.isfinite(one.stops) else None,
                source=self.source,
            )
            for one in self.found
        ]


def _losses(traced: TracedSetup, throw: Throw) -> _Losses:
    """The level at the point step by step: bare, with shutters, off axis, past solids and cloth."""
    stage, scene, name = traced.stage, traced.layers.solution.scene, throw.source.name
    probe, air = (throw.probe(),), open_air()
    solids = RayScene(stage.surfaces.corners)
    bare, aimed = (turned_source(traced, throw, bare=bare) for bare in (True, False))
    own = alone(stage, [throw.thing or ""]) if throw.normal is not None else air
    free, best, on_axis, unhindered, through, landed = (
        float(light_straight_lux(among, source, probe)[0])
        for among, source in (
            (air, bare), (own, bare), (own, aimed), (own, throw.source),
            (solids, throw.source), (scene, throw.source),
        )
    )  # fmt: skip
    if throw.turned_away:  # however it grazes past
        best = on_axis = unhindered = through = landed = 0.0
    scattered = 0.0
    if not throw.turned_away and stops_lost(through, landed) >= _TOLD_STOPS:
        s = traced.layers.names.index(name)
        scattered = light_scattered_lux(traced.layers.solution, s, throw.probe())
        landed += scattered
    found = _Losses(name, landed, max(free, on_axis), scattered)
    if throw.thing and throw.normal is not None:
        found.add((free, best), *_own_body(traced, throw, bare), own=True)
    shutters = f"the shutters of {name}"
    found.add((best, on_axis), "shutters", f"{shutters} take", f"pull {shutters}")
    off = math.degrees(off_axis_rad(throw))
    found.add(
        (on_axis, unhindered),
        "off its axis",
        f"{throw.target} is {off:.0f}° off the axis of {name}, which costs",
        f"aim {name} at {throw.target}",
    )
    _, between = in_between(stage, scene, throw.source, throw.point - BACK_M * throw.way)
    things = [one for one in things_of(between) if one not in (name, throw.thing)]
    if things:
        several = len(things) > 1
        brief = listed(things)
        says = (
            f"{brief} {'stand in the way and take' if several else 'stands in the way and takes'}"
        )
        cure = f"move {brief} out of the way of {name}"
        built_in = [one for one in between if one.startswith("room: ")]
        if built_in or any(one in stage.subjects for one in things):
            cure = f"move {name} until {brief} {'are' if several else 'is'} clear of it"
    elif getattr(traced.document.fixtures[name].light, "barndoors", None) is not None:
        brief, says, cure = "doors", f"the doors of {name} take", f"open the doors of {name}"
    else:
        brief, says, cure = "its own body", f"the body of {name} takes", f"turn {name}"
    found.add((unhindered, through), brief, says, cure)
    cloth = listed(sheets_between(stage, throw.start, throw.point)) or "what it shines through"
    found.add((through, landed), cloth, f"{cloth} takes", f"take {cloth} away")
    return found


def _own_body(traced: TracedSetup, throw: Throw, aimed: Source) -> tuple[str, str, str]:
    """A person in the way of a place of their own: in brief, as a cause, and what is to be done.

    aimed: the fixture as it would be aimed there.
    """
    assert throw.normal is not None
    name = throw.source.name
    part = "body" if throw.target.endswith("chest") else "head"
    brief = f"{throw.thing}'s own {part}"
    met = first_met(traced, throw)
    if not throw.turned_away or met is None:
        turned = f"{throw.target} turns away from {name}, which takes"
        says = turned if throw.turned_away else f"{brief} is in the way and takes"
        brief = "turned away" if throw.turned_away else brief
        return brief, says, f"move {name} round to where {throw.target} faces it"
    gain = float(traced.gains[name] @ _WEIGHTS)
    scene = traced.layers.solution.scene
    lux, could = (
        gain * float(light_straight_lux(scene, source, (met.probe(),))[0])
        for source in (throw.source, aimed)
    )
    aim, most = f"meter {name}", format_illuminance(lux, units=traced.document.units)
    if stops_lost(could, lux) > LOST_STOPS:
        aim, most = f"aim {name}", format_illuminance(could, units=traced.document.units)
    says = f"{throw.target} turns away from {name}, and {brief} is in the way: it takes"
    cure = (
        f"{aim} where it meets {throw.thing} first, on {met.target}: {most}; no more output "
        f"lights {throw.target} from there, only {name} moved round does"
    )
    return brief, says, cure


# Words -----------------------------------------------------------------------------------


def _landing(traced: TracedSetup, throw: Throw, landed_lux: float, best_lux: float) -> str:
    """The level that lands against what would in open air."""
    units = traced.document.units
    far = format_length(throw.distance_m, units=units)
    got, open_level = (format_illuminance(one, units=units) for one in (landed_lux, best_lux))
    head = f"{throw.source.name} lands {got} on {throw.target}, {far} away"
    stops = stops_lost(best_lux, landed_lux)
    if best_lux <= 0.0:
        return f"{throw.source.name} sends nothing toward {throw.target}"
    if not math.isfinite(stops):
        at_all = f"{throw.source.name} does not land on {throw.target} at all"
        return at_all if throw.turned_away else f"{at_all}; in open air it would be {open_level}"
    if stops < _TOLD_STOPS:
        at = traced.setup.dims.get(throw.source.name, 1.0)
        if at >= _DIMMED:
            return f"{head}: all that it can give there"
        full = format_illuminance(landed_lux / at, units=units)
        return f"{head}: all that it can give there as it is dimmed; at full it would be {full}"
    return f"{head}; in open air it would be {open_level}, {amount(stops)} more"


def _far_side(throw: Throw) -> str:
    """Of a light aimed at a place on somebody's far side: what a meter there has of it; else ""."""
    if not throw.behind:
        return ""
    return (
        f"{throw.behind}, where {throw.source.name} is aimed, is on the far side of "
        f"{throw.thing}: a meter there reads none of it straight"
    )


def _axis_lands(traced: TracedSetup, throw: Throw, told: str) -> str:
    """What the axis meets before the target, "" where it gets there or that is told already."""
    way = throw.way
    for distance, face in faces_met(traced, throw.start, way, throw.distance_m - 2.0 * BACK_M):
        surfaces = traced.stage.surfaces
        name = surfaces.names[surfaces.face_name[face]]
        if name.split(": ")[0] in (throw.source.name, throw.thing):
            continue
        if any(name.startswith(f"{one}: ") for one in things_of([name]) if f"{one} stand" in told):
            return ""
        units = traced.document.units
        short = format_length(throw.distance_m - distance, units=units)
        what = surface_text(name, wall_words(traced))
        return f"the line to {throw.target} meets {what} first, {short} short of it"
    return ""


def _spill(traced: TracedSetup, name: str, throw: Throw) -> str:
    """Where else the fixture's light falls."""
    shares = spill_shares(traced, name)
    shares.pop(throw.thing or "", None)
    told = [
        f"{per_cent(share)} on {what}"
        for what, share in list(shares.items())[:_MOST_SPILL]
        if share >= 0.05
    ]
    return f"of its light, {listed(told)}" if told else ""


def spill_shares(traced: TracedSetup, name: str) -> dict[str, float]:
    """Shares of a source's direct light by the thing or wall that it falls on, the most first."""
    surfaces = traced.stage.surfaces
    s = traced.layers.names.index(name)
    power = traced.layers.solution.direct[s].astype(np.float64) * surfaces.element_area_m2
    by_name = np.bincount(
        surfaces.face_name[surfaces.element_face], power, minlength=len(surfaces.names)
    )
    total = float(by_name.sum())
    walls = wall_words(traced)
    found: dict[str, float] = {}
    for number in np.flatnonzero(by_name > 0.0):
        surface = surfaces.names[number]
        thing = surface.partition(": ")[0]
        what = surface_text(surface, walls) if thing == "room" else thing
        found[what] = found.get(what, 0.0) + float(by_name[number]) / total
    return dict(sorted(found.items(), key=lambda item: -item[1]))
