"""What comparing plan and meter leaves: what was corrected, what is doubted, what tells most next.

Levels are compared in stops, log2 of a ratio of light. A spread is one standard deviation: of a
hundred true values, 68 are expected within it and 95 within two.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import msgspec

from falloff.findings import Finding

Kind = Literal["output", "modifier", "reflectance", "sky", "sun"]


class Taken(msgspec.Struct, frozen=True, kw_only=True):
    """One meter reading: where, in which setup, what was on, what it said.

    name: what it is called; value: lx, or cd/m² of a spot; text: as written; lit: the sources that
    were on, None: all of the setup; knobs: dims (0 to 1) that were not the setup's; hour: date and
    time by the location's clock, None: the setup's own; on: what was on, in words; typed: not in
    the scene's file.
    """

    name: str
    reading: str
    value: float
    text: str
    setup: str
    lit: tuple[str, ...] | None = None
    knobs: dict[str, float] = {}
    hour: str | None = None
    on: str = ""
    typed: bool = False


class Corrected(msgspec.Struct, frozen=True, kw_only=True):
    """One thing that the plan assumed, and what the readings say of it.

    name: of the light, modifier or material; "sky" or "sun". assumed, found, low, high: in `unit`
    (lm, lx, cd/m²; a reflectance, or a factor on what a modifier passes, has none), low and high
    one spread about found. stops: log2 of found over assumed; spread_stops, prior_stops: how far
    it may still be out, and might have been before; of a reflectance half the range about found,
    from low to high now. moved: the change over the spread before; learned_share: of the variance
    before, what the readings took away, 0 to 1. mixed_with: what it cannot be told apart from by
    these readings.
    says_something: whether the readings say enough of it to be told; where not it is left, and
    written, as assumed.
    """

    kind: Kind
    name: str
    unit: str
    assumed: float
    found: float
    low: float
    high: float
    stops: float
    spread_stops: float
    prior_stops: float
    moved: float
    learned_share: float
    mixed_with: tuple[str, ...] = ()
    says_something: bool = True


class ReadBack(msgspec.Struct, frozen=True, kw_only=True):
    """One reading against the plan, before and after: stops of the meter over the plan.

    planned, corrected: what the plan expected and expects; measured: what the meter said; all in
    `unit`. used: whether it was believed; the stops are None where there is no light to compare.
    """

    name: str
    reading: str
    setup: str
    on: str
    unit: str
    measured: float
    planned: float
    corrected: float
    before_stops: float | None
    after_stops: float | None
    used: bool


class MightBe(msgspec.Struct, frozen=True, kw_only=True):
    """What a doubted reading would need to be: a value, or other lights on; and why so."""

    says: str
    value: float
    off_stops: float


class Doubted(msgspec.Struct, frozen=True, kw_only=True):
    """A reading that was left out: how far over (+) or under (−) what all else allows.

    expected: what the plan says once the other readings have corrected it; spread_stops: how far a
    good reading may lie from that; stops None where no light is expected or none was read.
    """

    name: str
    reading: str
    on: str
    unit: str
    value: float
    expected: float
    stops: float | None
    spread_stops: float
    might_be: tuple[MightBe, ...]
    says: str


class Followed(msgspec.Struct, frozen=True, kw_only=True):
    """A reading of the plan before and after it was corrected, with how far it may be out."""

    reading: str
    setup: str
    unit: str
    before: float
    after: float
    stops: float | None
    spread_before_stops: float
    spread_after_stops: float


class NextReading(msgspec.Struct, frozen=True, kw_only=True):
    """The one further reading that would tell most, and what it would do.

    expected: what the meter should say; plan_before_stops, plan_after_stops: spread of the plan's
    readings (root mean square) without and with it; about: the correction that it tells most of.
    """

    reading: str
    setup: str
    on: str
    unit: str
    expected: float
    plan_before_stops: float
    plan_after_stops: float
    about: str
    about_before_stops: float
    about_after_stops: float


class Corrections(msgspec.Struct, frozen=True, kw_only=True):
    """The plan put right by readings: what changed, what each reading said, what is doubted.

    reading_spread_stops: of one reading against others of that meter; further: None where nothing
    tells more; materials that hardly matter at these readings are not among the corrected.
    """

    scene: str
    setups: tuple[str, ...]
    reading_spread_stops: float
    corrected: tuple[Corrected, ...]
    readings: tuple[ReadBack, ...]
    doubted: tuple[Doubted, ...]
    plan: tuple[Followed, ...]
    further: NextReading | None
    findings: tuple[Finding, ...]


def named_apart(some: Sequence[Taken], others: Sequence[Taken], whence: str) -> tuple[Taken, ...]:
    """Readings named apart from others, where they share a name, by whence they are."""
    taken = {one.name for one in others}
    return tuple(
        msgspec.structs.replace(one, name=f"{one.name} ({whence})") if one.name in taken else one
        for one in some
    )
