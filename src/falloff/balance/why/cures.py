"""Usual cures by cause, with the stops that they gain by arithmetic: nothing is solved or traced.

A dim or a gel is exact, since light is linear; black on a surface is of the first order. What each
costs in time and hands is common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Final, Literal, TypeAlias

from falloff.balance.why.causes import FIRST_ORDER, Known, doors_of, is_split
from falloff.balance.why.light import (
    Lit,
    Measure,
    Weigh,
    factor_for,
    nearer,
    opened,
    scaled,
    without_bounce,
    without_direct,
    without_surface,
)
from falloff.balance.why.words import Telling, amount, per_cent
from falloff.units import density_from_stops, format_illuminance, format_length

HandleKind: TypeAlias = Literal["light", "window", "fixed"]

ENOUGH_STOPS: Final = 1.0 / 6.0  # short of what is wanted, and still near enough
_LEAST_GAIN: Final = 1.0 / 6.0
_GELS_STOPS: Final = (0.5, 1.0, 2.0, 3.0, 4.0)  # the window gels that are sold, as densities 0.15 …
_LOWEST_LIGHT: Final = 0.01
_MOST_FACE_STOPS: Final = 1.0
_NEVER: Final = 100.0
_NEARER_MOST: Final = 4.0  # times the light: half the distance
# Minutes, hands and hire together, as one number: common practice, no source.
_DIM: Final = 1.0
_CLEAR: Final = 1.5
_EXPOSE: Final = 1.8
_FLAG: Final = 2.0
_CARD: Final = 2.0
_SPILL: Final = 2.5
_GEL: Final = 3.0
_BLACK: Final = 3.5
_MOVE: Final = 4.0


@dataclass(frozen=True, slots=True)
class Handle:
    """What can be done with a source: dimmed, gelled, or nothing.

    share: of full light that it stands at; knob: the dim in words for a share of full light; of:
    what that is a share of, where it is not the knob.
    """

    kind: HandleKind = "light"
    share: float = 1.0
    knob: Callable[[float], str] = per_cent
    of: str = ""


@dataclass(frozen=True, slots=True)
class Cure:
    """What to do and the stops that it gains; cost: the less, the sooner done.

    light: of a source dimmed, brought up or gelled alone, and the factor on its light; surface:
    that is hung black.
    """

    says: str
    stops: float
    cost: float
    light: tuple[str, float] | None = None
    surface: str | None = None


@dataclass(frozen=True, slots=True)
class Wanted:
    """A measure that is off, and what is known for its cure.

    face: the key side of a face, whose light should stay, None where it is what is complained of.
    face_room_stops: how far it may rise, where it is not to be raised for the sake of a measure.
    """

    measure: Measure
    telling: Telling
    wanted_stops: float
    high: bool
    handles: Mapping[str, Handle] = field(default_factory=dict)
    known: Known = field(default_factory=Known)
    face: Lit | None = None
    face_room_stops: float = math.inf

    @property
    def need(self) -> float:
        """Stops that are missing; below nought where nothing is."""
        return (self.measure.stops() - self.wanted_stops) * (1.0 if self.high else -1.0)

    def gain(self, weigh: Weigh, *, only_over: bool = False) -> float:
        """Stops nearer, those past what is wanted not counted as better."""
        now, then = self.measure.stops(), self.measure.stops(weigh, only_over=only_over)
        return (now - then) * (1.0 if self.high else -1.0)

    def face_moves(self, weigh: Weigh) -> float:
        """Stops by which the face changes."""
        return 0.0 if self.face is None else Measure((self.face,)).stops(weigh) - _now(self.face)


def cheapest(wanted: Wanted) -> Cure | None:
    """The cure that costs least of those that do it; else the one that does most; None: none."""
    if not math.isfinite(wanted.need) or wanted.need <= 0.0:
        return None
    least = min(_LEAST_GAIN, wanted.need)
    cures = [one for one in _all(wanted) if one.stops >= least and one.cost < _NEVER]
    enough = [one for one in cures if one.stops >= wanted.need - ENOUGH_STOPS]
    if enough:
        return min(enough, key=lambda one: (one.cost, -one.stops))
    return max(cures, key=lambda one: one.stops / one.cost**0.5, default=None)


def eye_light_lux(measure: Measure, wanted_stops: float) -> float:
    """Light on eyes and brow alike (lx) that brings the one to so many stops, below 0, over it."""
    over, under = _means(measure)
    share = math.exp2(wanted_stops)
    return (share * under - over) / (1.0 - share)


def _means(measure: Measure) -> tuple[float, float]:
    """Mean light (lx) of the places that a measure is of, and of those it is told against."""
    over, under = (
        sum(lit.light for lit in part) / max(1, len(part)) for part in (measure.over, measure.under)
    )
    return over, under


def exposed_down(measure: Measure, telling: Telling, limit_stops: float) -> tuple[Cure, ...]:
    """A face brought down to its limit by the camera; none where it is told against a place."""
    gain = measure.stops() - limit_stops
    if measure.under or not math.isfinite(gain) or gain < _LEAST_GAIN:
        return ()
    says = f"close down {amount(gain)}, and all else in the picture with it: "
    return (Cure(says + telling.would(limit_stops), gain, _EXPOSE),)


def fill(
    measure: Measure, telling: Telling, wanted_stops: float, *, units: Literal["metric", "imperial"]
) -> tuple[Cure, ...]:
    """Light on what is too dark alone, from a lamp or a card; none where nothing is missing.

    What it adds on the other side is left out.
    """
    before = measure.stops()
    over, under = _means(measure)
    level = 2.0**wanted_stops * under - over
    if not math.isfinite(before) or level <= 0.0 or measure.places[0].unit != "lx":
        return ()
    told = format_illuminance(level, units=units)
    says = f"a fill or a white card on {telling.place}, {told} there: {telling.would(wanted_stops)}"
    return (Cure(says, wanted_stops - before, _CARD),)


def _all(wanted: Wanted) -> list[Cure]:
    cures: list[Cure] = []
    for source in wanted.measure.sources:
        handle = wanted.handles.get(source, Handle())
        if handle.kind == "light":
            cures += _dims(wanted, source, handle)
            cures += _flags(wanted, source)
            cures += _off_the_walls(wanted, source)
        elif handle.kind == "window":
            cures += _gels(wanted, source)
        cures += _clears(wanted, source)
        if handle.kind == "light":
            cures += _nearer(wanted, source)
    return cures + _blacks(wanted)


def _dims(wanted: Wanted, source: str, handle: Handle) -> list[Cure]:
    """A source dimmed, or brought up as far as it goes."""
    measure = wanted.measure
    most = 1.0 / handle.share if handle.share > 0.0 else 1.0
    falls = measure.stops(scaled(source, 0.0)) < measure.stops()
    down = falls == wanted.high
    if not down and most <= 1.001:
        return []
    limit = 0.0 if down else most
    factor = factor_for(measure, source, wanted.wanted_stops, most=1.0 if down else most)
    factor = limit if factor is None else factor
    gain = wanted.gain(scaled(source, factor))
    if not math.isfinite(gain):
        return []
    if down and factor > 0.0 and handle.knob(handle.share * factor) == per_cent(1e-6):
        factor = 0.0  # lower than a knob goes
        gain = wanted.gain(scaled(source, 0.0))
    face = wanted.face_moves(scaled(source, factor))
    if face > wanted.face_room_stops + ENOUGH_STOPS or not math.isfinite(gain):
        return []
    if factor < _LOWEST_LIGHT and source == wanted.known.lead:
        return []
    before, after = handle.knob(handle.share), handle.knob(handle.share * factor)
    would = wanted.telling.would(measure.stops(scaled(source, factor)))
    if factor < _LOWEST_LIGHT:
        says = f"turn {source} off: {would}"
    else:
        verb = "dim" if down else "bring up"
        says = f"{verb} {source} from {before} to {after}{handle.of}: {would}"
    light = (source, factor if factor >= _LOWEST_LIGHT else 0.0)
    return [Cure(f"{says}{_face_text(face)}", gain, _DIM + _face_cost(face), light)]


def _flags(wanted: Wanted, source: str) -> list[Cure]:
    """A source kept off the place by a flag, wholly."""
    if not wanted.high or not is_split(Measure(wanted.measure.over), source):
        return []
    if source == wanted.known.lead and wanted.measure.under:
        moved = wanted.gain(without_direct(source), only_over=True)
        if moved < _LEAST_GAIN or not math.isfinite(moved):
            return []
        would = wanted.telling.would(wanted.measure.stops(without_direct(source), only_over=True))
        return [Cure(f"move {source} round to the side: off it wholly, {would}", moved, _MOVE)]
    gain = wanted.gain(without_direct(source), only_over=True)
    if not math.isfinite(gain) or gain < _LEAST_GAIN:
        return []
    would = wanted.telling.would(wanted.measure.stops(without_direct(source), only_over=True))
    return [Cure(f"flag {source} off {wanted.telling.place}: wholly off, {would}", gain, _FLAG)]


def _gels(wanted: Wanted, source: str) -> list[Cure]:
    """ND on a window: the lightest that does it, and what the face loses by it."""
    found = []
    for stops in _GELS_STOPS:
        weigh = scaled(source, 2.0**-stops)
        gain, face = wanted.gain(weigh), wanted.face_moves(weigh)
        would = wanted.telling.would(wanted.measure.stops(weigh))
        says = f"ND {density_from_stops(stops):.2g} on the glass of {source}: {would}"
        cost = _GEL + 0.1 * stops + (0.0 if abs(face) <= _MOST_FACE_STOPS else _NEVER)
        found.append(Cure(f"{says}{_face_text(face)}", gain, cost, (source, 2.0**-stops)))
    return found


def _nearer(wanted: Wanted, source: str) -> list[Cure]:
    """A light brought nearer, by the inverse square of its distance."""
    far = wanted.known.distance_m.get(source, 0.0)
    if wanted.high or wanted.measure.under or far <= 0.0:
        return []
    factor = factor_for(wanted.measure, source, wanted.wanted_stops, most=_NEARER_MOST, by=nearer)
    if factor is None or factor <= 1.0:
        return []
    near = far / math.sqrt(factor)
    says = (
        f"bring {source} from {format_length(far)} to {format_length(near)}: "
        f"{wanted.telling.would(wanted.wanted_stops)} (by inverse square)"
    )
    return [Cure(says, wanted.gain(nearer(source, factor)), _MOVE)]


def _clears(wanted: Wanted, source: str) -> list[Cure]:
    """What stands before a source taken away."""
    gain = wanted.gain(opened(source))
    if gain < _LEAST_GAIN or not math.isfinite(gain):
        return []
    what = wanted.known.in_the_way.get(source)
    if what is None or source in wanted.known.built_in:  # nobody can move that
        return []
    would = wanted.telling.would(wanted.measure.stops(opened(source)))
    if what == doors_of(source):
        return [Cure(f"open {what}: {would}", gain, _CLEAR)]
    return [Cure(f"get {what} out of the way of {source}: {would}", gain, _CLEAR)]


def _blacks(wanted: Wanted) -> list[Cure]:
    """Black hung on a surface, to the first order."""
    if not wanted.high:
        return []
    found = []
    for surface in dict.fromkeys(name for lit in wanted.measure.over for name in lit.surfaces):
        weigh = without_surface(surface)
        gain = wanted.gain(weigh)
        if not surface.startswith("room: ") or not math.isfinite(gain):
            continue
        would = wanted.telling.would(wanted.measure.stops(weigh))
        name = wanted.telling.surface(surface)
        says = f"hang black on {name}: {would} {FIRST_ORDER}"
        found.append(Cure(says, gain, _BLACK, surface=surface))
    return found


def _off_the_walls(wanted: Wanted, source: str) -> list[Cure]:
    """A source's spill flagged off the room, so that it bounces nothing."""
    measure = wanted.measure
    if not wanted.high or not is_split(Measure(measure.over), source):
        return []
    alone = not is_split(measure, source)
    gain = wanted.gain(without_bounce(source), only_over=alone)
    if not math.isfinite(gain) or gain < _LEAST_GAIN:
        return []
    would = wanted.telling.would(measure.stops(without_bounce(source), only_over=alone))
    return [
        Cure(f"cut {source}'s spill off the walls: with none of it left, {would}", gain, _SPILL)
    ]


def _face_cost(stops: float) -> float:
    """What it costs that the face changes with it; past a stop it is no cure."""
    if not math.isfinite(stops) or abs(stops) > _MOST_FACE_STOPS:
        return _NEVER
    return 3.0 * max(0.0, abs(stops) - ENOUGH_STOPS)


def _face_text(stops: float) -> str:
    if abs(stops) < ENOUGH_STOPS or not math.isfinite(stops):
        return ""
    return f"; the face {'loses' if stops < 0.0 else 'gains'} {amount(stops)}"


def _now(lit: Lit) -> float:
    return Measure((lit,)).stops()
