"""What is told of fixes: what each does, is worth and costs, and what a trace made of it."""

from __future__ import annotations

from typing import Literal

import msgspec

from falloff.findings import Finding

FixKind = Literal[
    "window", "hour", "move", "swap", "cut", "board", "wall", "units", "exposure", "grade", "accept"
]
Unit = Literal["stops", "mired", "CC", "degrees"]


class FixTarget(msgspec.Struct, frozen=True, kw_only=True):
    """One target that is missed, or would be: by how much without the fix and with it.

    before, after: beyond its tolerance, in its unit, 0 where it holds; got: its level with the fix;
    asks: what is wanted; miss: how it is missed without the fix, "" where it is not; in words.
    """

    setup: str
    name: str
    before: float
    after: float
    unit: Unit
    got: str
    asks: str = ""
    miss: str = ""


class Promised(msgspec.Struct, frozen=True, kw_only=True):
    """One target as the fix promised it and as a trace has it, at the same dims, in its unit."""

    setup: str
    name: str
    promised: float
    traced: float
    unit: Unit


class Confirmed(msgspec.Struct, frozen=True, kw_only=True):
    """A fix traced from nothing: every target, and by how many stops the promise was off at worst.

    worth_stops: what the trace makes of the fix, its dims settled anew; keeps: within 0.1 stop.
    """

    targets: tuple[Promised, ...]
    worst_stops: float
    worth_stops: float
    keeps: bool
    says: str


class Fix(msgspec.Struct, frozen=True, kw_only=True):
    """One change that brings missed targets nearer, with the dims that go with it.

    does: each edit of the scene in words; dims: what else is set otherwise than it is written, be
    it a dim, a colour or an exposure; worth_stops: how much nearer all targets come together, by
    their weights; brings_all: none is missed with it;
    day_rate: of what is hired, in the kit's currency, None where nothing is hired or no rate is
    known, which hire_says; effort_minutes: what the rank is by; later: done after the shoot;
    confirmed: None where it was not traced.
    """

    kind: FixKind
    says: str
    does: tuple[str, ...]
    dims: tuple[str, ...]
    worth_stops: float
    brings_all: bool
    targets: tuple[FixTarget, ...]
    minutes: float
    hands: int
    day_rate: float | None
    hire_says: str
    effort_minutes: float
    side_effects: tuple[str, ...]
    cautions: tuple[str, ...]
    later: bool = False
    confirmed: Confirmed | None = None


class Fixes(msgspec.Struct, frozen=True, kw_only=True):
    """What would bring in the targets that no dim brings in, the best for its effort first.

    missed: with the best dims alone; tried: how many changes were weighed; rule: how they are
    ranked, in a sentence.
    """

    scene: str
    setups: tuple[str, ...]
    missed: tuple[FixTarget, ...]
    fixes: tuple[Fix, ...]
    tried: int
    rule: str
    says: tuple[str, ...]
    findings: tuple[Finding, ...] = ()
