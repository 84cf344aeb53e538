"""Light at a reading told apart by source, and what a reading would be were some of it gone.

Light is linear, so a reading without a source, without its bounce or with it dimmed is a sum.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Final, TypeAlias

NO_LIGHT: Final = 1e-9  # of the reference: less than that is dark


@dataclass(frozen=True, slots=True)
class Given:
    """What one source gives at one place, in the reading's own unit.

    off: of its bounced light, by the surface it last left. open: what it would give direct if
    nothing stood in its way but its own body and that of whoever is read; bare: if not even the
    latter did; None where that is not known. split: whether direct and bounced are known apart; if
    not, all counts as direct.
    """

    source: str
    direct: float
    bounced: float = 0.0
    off: Mapping[str, float] = field(default_factory=dict)
    open: float | None = None
    split: bool = True
    bare: float | None = None

    @property
    def light(self) -> float:
        """Direct and bounced together."""
        return self.direct + self.bounced


@dataclass(frozen=True, slots=True)
class Lit:
    """A place's light by source; reference: the light that is nought stops, in the same unit."""

    name: str
    given: tuple[Given, ...]
    reference: float
    unit: str = "lx"

    @property
    def light(self) -> float:
        """All of it."""
        return sum(one.light for one in self.given)

    @property
    def surfaces(self) -> dict[str, float]:
        """Bounced light by the surface that it last left, the most first."""
        found: dict[str, float] = {}
        for one in self.given:
            for surface, light in one.off.items():
                found[surface] = found.get(surface, 0.0) + light
        return dict(sorted(found.items(), key=lambda item: -item[1]))

    def of(self, source: str) -> Given:
        """What a source gives; nothing where it is not there."""
        return next((one for one in self.given if one.source == source), Given(source, 0.0))

    def share(self, light: float) -> float:
        """A part of its light as a share, 0 where there is none."""
        whole = self.light
        return light / whole if whole > 0.0 else 0.0


Weigh: TypeAlias = Callable[[Given], float]


def as_it_is(one: Given) -> float:
    """All that a source gives."""
    return one.light


def without(source: str) -> Weigh:
    """A source out."""
    return lambda one: 0.0 if one.source == source else one.light


def without_bounce(source: str) -> Weigh:
    """A source without what it bounces."""
    return lambda one: one.direct if one.source == source else one.light


def without_direct(source: str) -> Weigh:
    """A source kept off the place, its bounce left."""
    return lambda one: one.bounced if one.source == source else one.light


def without_surface(surface: str) -> Weigh:
    """A surface turned black, to the first order."""
    return lambda one: one.light - one.off.get(surface, 0.0)


def scaled(source: str, factor: float) -> Weigh:
    """A source so many times as strong."""
    return lambda one: factor * one.light if one.source == source else one.light


def opened(source: str) -> Weigh:
    """Nothing in the way of a source."""
    return lambda one: (
        one.light + max(0.0, one.open - one.direct)
        if one.source == source and one.open is not None
        else one.light
    )


def without_own_body(source: str) -> Weigh:
    """Whoever is read not in the way of a source."""
    return lambda one: (
        one.light + max(0.0, one.bare - max(one.direct, one.open))
        if one.source == source and one.open is not None and one.bare is not None
        else one.light
    )


@dataclass(frozen=True, slots=True)
class Measure:
    """What is complained of, in stops: the mean of `over` above that of `under`.

    under: none where it is told against the references of `over`.
    """

    over: tuple[Lit, ...]
    under: tuple[Lit, ...] = ()

    def stops(self, weigh: Weigh = as_it_is, *, only_over: bool = False) -> float:
        """Its stops with light weighed anew; infinite where one side is dark, 0 where both are.

        only_over: whether what is weighed anew is `over` alone.
        """
        over = _level(self.over, weigh)
        under = _level(self.under, as_it_is if only_over else weigh) if self.under else 1.0
        if over <= NO_LIGHT and under <= NO_LIGHT:
            return 0.0
        if over <= NO_LIGHT:
            return -math.inf
        return math.inf if under <= NO_LIGHT else math.log2(over / under)

    @property
    def dark(self) -> bool:
        """Whether there is no light at one of its places."""
        return any(one.light <= NO_LIGHT * one.reference for one in (*self.over, *self.under))

    @property
    def places(self) -> tuple[Lit, ...]:
        """All its places."""
        return (*self.over, *self.under)

    @property
    def sources(self) -> tuple[str, ...]:
        """Every source that gives light at one of its places, as they come."""
        return tuple(
            dict.fromkeys(one.source for lit in self.places for one in lit.given if one.light > 0.0)
        )


def _level(lits: tuple[Lit, ...], weigh: Weigh) -> float:
    """The mean of places over their references."""
    return sum(
        sum(max(0.0, weigh(one)) for one in lit.given) / lit.reference for lit in lits
    ) / len(lits)


def nearer(source: str, factor: float) -> Weigh:
    """A source's straight light so many times as strong, its bounce as it is."""
    return lambda one: one.bounced + factor * one.direct if one.source == source else one.light


def factor_for(
    measure: Measure,
    source: str,
    wanted_stops: float,
    *,
    most: float = 1.0,
    by: Callable[[str, float], Weigh] = scaled,
) -> float | None:
    """How many times a source's light brings a measure to so many stops; None where none does.

    Between 0 and `most`; by: what of it is so many times as strong. A measure goes one way with a
    source's light, so it is halved down to.
    """
    low, high = 0.0, most
    at_low = measure.stops(by(source, low)) - wanted_stops
    at_high = measure.stops(by(source, high)) - wanted_stops
    if math.isnan(at_low) or math.isnan(at_high) or at_low * at_high > 0.0:
        return None
    for _ in range(60):
        middle = 0.5 * (low + high)
        off = measure.stops(by(source, middle)) - wanted_stops
        if (off > 0.0) == (at_high > 0.0):
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)


def pictured(lit: Lit, reference: float) -> Lit:
    """The same light against what is middle grey of the surface there."""
    return replace(lit, reference=reference)
