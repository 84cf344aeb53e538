"""Causes ranked: what a measure would be without a source, its bounce, or the light off a wall."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Final

from falloff.balance.why.light import (
    Lit,
    Measure,
    Weigh,
    opened,
    scaled,
    without,
    without_bounce,
    without_direct,
    without_own_body,
    without_surface,
)
from falloff.balance.why.records import Cause
from falloff.balance.why.words import Telling, per_cent
from falloff.balance.words import listed

FIRST_ORDER: Final = "(first order)"
TOLD_STOPS: Final = 0.1  # a cause that matters less is not told
_MOSTLY: Final = 0.7  # of what a source takes away, from where its bounce alone is named
_MOST: Final = 6
_Part = Callable[[Lit], float]


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of sources besides their light.

    lead: the source that is the key, not taken away whole from what is too high. shares: of full
    light that a dimmed source stands at, below 1; in_the_way: what stands before a source, by its
    name, in words. windows: sources that are openings. distance_m: from what is told of to each
    light. own: what of whoever is read may be in the way, "ANNA's own head", "" of a thing;
    turned_from: lights that what is told of faces away from. built_in: lights before which stands
    a part of the building, or somebody, whom nobody takes away. traced: whether it is known what
    stands before lights at all.
    """

    lead: str | None = None
    shares: Mapping[str, float] = field(default_factory=dict)
    in_the_way: Mapping[str, str] = field(default_factory=dict)
    windows: frozenset[str] = frozenset()
    distance_m: Mapping[str, float] = field(default_factory=dict)
    own: str = ""
    turned_from: tuple[str, ...] = ()
    built_in: frozenset[str] = frozenset()
    traced: bool = False


def causes_of(
    measure: Measure, telling: Telling, *, high: bool, known: Known | None = None
) -> tuple[Cause, ...]:
    """Causes of a measure that is too high, or too low, the one that matters most first.

    Exact but for those off a surface, which are of the first order and say so.
    """
    known = known or Known()
    found = _Search(measure, telling, 1.0 if high else -1.0, known)
    for source in measure.sources:
        found.add_source(source)
    for surface in _surfaces(measure):
        found.add_surface(surface)
    if not high:
        for source in measure.sources:
            found.add_missing(source)
    if not found.causes and not high and not measure.under:
        found.add_nothing_missing()
    ranked = sorted(found.causes, key=lambda one: -math.inf if one.stops is None else -one.stops)
    return tuple(ranked[:_MOST])


@dataclass(slots=True)
class _Search:
    measure: Measure
    telling: Telling
    sign: float
    known: Known
    causes: list[Cause] = field(default_factory=list)

    def over_alone(self, source: str) -> bool:
        """Whether a source's bounce is known at what is told of alone."""
        return is_split(Measure(self.measure.over), source) and not is_split(self.measure, source)

    def gain(self, weigh: Weigh, *, only_over: bool = False) -> float:
        """Stops by which the measure is better with light weighed anew."""
        changed = self.measure.stops(weigh, only_over=only_over)
        return self.sign * (self.measure.stops() - changed)

    def add_source(self, source: str) -> None:
        """What a source does: by its bounce, straight, or both."""
        leads = source == self.known.lead and self.sign > 0.0
        split = is_split(Measure(self.measure.over), source)
        if source in self.known.windows and any(lit.unit != "lx" for lit in self.measure.over):
            split = False  # it is looked into, not lit by it
        whole = -1.0 if leads else self.gain(without(source))
        alone = self.over_alone(source)
        bounce = self.gain(without_bounce(source), only_over=alone) if split else -1.0
        straight = -1.0
        if split:
            straight = self.gain(without_direct(source), only_over=leads or alone)
        if bounce >= TOLD_STOPS and bounce >= _MOSTLY * whole:
            self._add_bounce(source, bounce)
            whole = min(whole, straight)
        if leads and not split:
            self._add_unsplit(source)
        elif leads and straight >= TOLD_STOPS:
            self._add_frontal(source, straight)
        elif straight >= TOLD_STOPS and straight >= _MOSTLY * whole and straight < math.inf:
            self._add_straight(source, straight)
        elif whole >= TOLD_STOPS and bounce < _MOSTLY * whole:
            self._add_whole(source, whole)

    def _elsewhere(self, source: str) -> str:
        """Of a source that keeps a measure low by lighting what it is told against; else ""."""
        if self.sign > 0.0 or not self.measure.under:
            return ""
        it = "them" if self.telling.plural else "it"
        return f"{source} lights {self.telling.reference} more than {it}"

    def add_surface(self, surface: str) -> None:
        """What comes off a surface."""
        gain = self.gain(without_surface(surface))
        if gain < TOLD_STOPS:
            return
        share = self._share(lambda lit: lit.surfaces.get(surface, 0.0))
        most = max(
            self.measure.sources,
            key=lambda s: sum(lit.of(s).off.get(surface, 0.0) for lit in self.measure.places),
        )
        would = self.telling.would(self.measure.stops(without_surface(surface)))
        name = self.telling.surface(surface)
        says = (
            f"{per_cent(share)} of it comes off {name}, most of that {most}'s light: with {name} "
            f"black, {would} {FIRST_ORDER}"
        )
        self._add(
            says, gain, f"light off {name}", source=most, surface=surface, share=share,
            first_order=True,
        )  # fmt: skip

    def add_missing(self, source: str) -> None:
        """What a source does not give: dimmed, or stood before."""
        at = self.known.shares.get(source, 1.0)
        if 0.0 < at < 0.999:
            gain = self.gain(scaled(source, 1.0 / at))
            if gain >= TOLD_STOPS:
                would = self.telling.would(self.measure.stops(scaled(source, 1.0 / at)))
                says = f"{source} gives {per_cent(at)} of its light: at full, {would}"
                self._add(says, gain, f"{source} dimmed", source=source)
        gain, what = self.gain(opened(source)), self.known.in_the_way.get(source)
        if gain >= TOLD_STOPS and what is not None:
            would = self.telling.would(self.measure.stops(opened(source)))
            if what == doors_of(source):
                says = f"{what} keep it off: open, {would}"
            else:
                stand = "stand" if " and " in what else "stands"
                says = f"{what} {stand} before {source}: out of the way, {would}"
            self._add(says, gain, f"{what} before {source}", source=source)
        gain = self.gain(without_own_body(source))
        if gain >= TOLD_STOPS and self.known.own:
            would = self.telling.would(self.measure.stops(without_own_body(source)))
            says = f"{self.known.own} is in the way of {source}: were it not, {would}"
            self._add(says, gain, f"{self.known.own} before {source}", source=source)

    def add_nothing_missing(self) -> None:
        """Who lights a place that nothing dims or hides."""
        lit = self.measure.over[0]
        turned = listed(self.known.turned_from)
        says = f"its light is {shares_text(lit)}"
        if self.known.traced:
            says += ": nothing is dimmed, and nothing stands before it"
        says += f"; it faces away from {turned}" if turned else ""
        self.causes.append(
            Cause(
                says=says,
                brief="nothing in its way" if self.known.traced else "who lights it",
                stops=None,
                source=leader_of(lit),
            )
        )

    def _add_bounce(self, source: str, gain: float) -> None:
        share = self._share(lambda lit: lit.of(source).bounced)
        whole = self._share(lambda lit: sum(one.bounced for one in lit.given))
        surface = _most_off(self.measure, source)
        off = "" if surface is None else f", mostly off {self.telling.surface(surface)}"
        alone = self.over_alone(source)
        would = self.telling.would(self.measure.stops(without_bounce(source), only_over=alone))
        most = max(
            self.measure.sources,
            key=lambda one: sum(lit.of(one).bounced for lit in self.measure.over),
        )
        elsewhere = self._elsewhere(source)
        if elsewhere:
            head = f"by its bounce{off} {elsewhere}"
        elif whole - share >= 0.05 and source == most:
            head = f"{per_cent(whole)} of it is bounce{off}, {per_cent(share)} {source}'s"
        else:
            head = f"{per_cent(share)} of it is {source}'s bounce{off}"
        says = f"{head}: without {source}'s bounce, {would}"
        told = None if elsewhere else share
        self._add(says, gain, f"{source}'s bounce", source=source, surface=surface, share=told)

    def _add_frontal(self, source: str, gain: float) -> None:
        share = self._share(lambda lit: lit.of(source).direct)
        would = self.telling.would(self.measure.stops(without_direct(source), only_over=True))
        says = (
            f"{source} itself lights it: {per_cent(share)} of its light comes straight from there; "
            f"moved round until it does not, {would}"
        )
        self._add(says, gain, f"{source} straight", source=source, share=share)

    def _add_unsplit(self, source: str) -> None:
        """A key of which nobody knows what it gives straight and what by bounce."""
        gain = self.gain(without(source), only_over=True)
        if gain < TOLD_STOPS:
            return
        share = self._share(lambda lit: lit.of(source).light)
        would = self.telling.would(self.measure.stops(without(source), only_over=True))
        says = f"{source} gives {per_cent(share)} of it, straight or by bounce: kept off, {would}"
        self._add(says, gain, f"{source} on it", source=source, share=share)

    def _add_straight(self, source: str, gain: float) -> None:
        share = self._share(lambda lit: lit.of(source).direct)
        would = self.telling.would(self.measure.stops(without_direct(source)))
        head = f"{per_cent(share)} of it comes straight from {source}: kept off it"
        elsewhere = self._elsewhere(source)
        says = f"{elsewhere}: kept off both, {would}" if elsewhere else f"{head}, {would}"
        told = None if elsewhere else share
        self._add(says, gain, f"{source} straight", source=source, share=told)

    def _add_whole(self, source: str, gain: float) -> None:
        share = self._share(lambda lit: lit.of(source).light)
        would = self.telling.would(self.measure.stops(without(source)))
        elsewhere = self._elsewhere(source)
        says = f"{elsewhere or f'{per_cent(share)} of it is {source}'}: without {source}, {would}"
        told = None if elsewhere else share
        self._add(says, gain, source, source=source, share=told)

    def _add(  # noqa: PLR0913  the parts of a cause, each by its name
        self,
        says: str,
        gain: float,
        brief: str,
        *,
        source: str | None = None,
        surface: str | None = None,
        share: float | None = None,
        first_order: bool = False,
    ) -> None:
        self.causes.append(
            Cause(
                says=says, brief=brief, stops=gain if math.isfinite(gain) else None, source=source,
                surface=surface, share=share, first_order=first_order,
            )
        )  # fmt: skip

    def _share(self, part: _Part) -> float:
        """A part's share of the light at what is told of."""
        whole = sum(lit.light / lit.reference for lit in self.measure.over)
        mine = sum(part(lit) / lit.reference for lit in self.measure.over)
        return mine / whole if whole > 0.0 else 0.0


def is_split(measure: Measure, source: str) -> bool:
    """Whether direct and bounced light of a source are known apart at every place."""
    return all(lit.of(source).split for lit in measure.places)


def doors_of(source: str) -> str:
    """What the doors of a light are called."""
    return f"{source}'s doors"


def leader_of(lit: Lit) -> str | None:
    """The source that gives most of a place's light straight, or else at all."""
    given = [one for one in lit.given if one.light > 0.0]
    if not given:
        return None
    best = max(given, key=lambda one: (one.direct, one.light))
    return best.source


def shares_text(lit: Lit, *, most: int = 3) -> str:
    """Who gives a place its light: "BOOK 61 %, WINDOW 30 %"."""
    parts = sorted(lit.given, key=lambda one: -one.light)[:most]
    return ", ".join(
        f"{one.source} {per_cent(lit.share(one.light))}"
        for one in parts
        if lit.share(one.light) >= 0.01
    )


def _most_off(measure: Measure, source: str) -> str | None:
    """The surface that most of a source's bounce comes off, at what is told of."""
    found: dict[str, float] = {}
    for lit in measure.over:
        for surface, light in lit.of(source).off.items():
            found[surface] = found.get(surface, 0.0) + light
    return max(found, key=lambda one: found[one]) if found else None


def _surfaces(measure: Measure) -> list[str]:
    return list(dict.fromkeys(name for lit in measure.over for name in lit.surfaces))
