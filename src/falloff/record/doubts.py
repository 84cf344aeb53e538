"""A reading that cannot be true: how far it is off, and what it would need to be."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from falloff.record.figures import to_three, written_like
from falloff.record.records import Doubted, MightBe, Taken
from falloff.units import UnitFault, lux_from_footcandles, nits_from_footlamberts

_NEAR: Final = 2.0  # spreads within which another value or other lights would do
_MOST_TOLD: Final = 3
_METERS_LEAST: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Expected:
    """What a reading should have been: its level, how far a good one may lie off, stops.

    others: what it would have been with other lights on, by their words.
    """

    level: float
    spread_stops: float
    others: Sequence[tuple[str, float]]


def doubt(taken: Taken, expected: Expected, unit: str, *, alone: bool) -> Doubted:
    """The doubt about one reading; alone: no other reading speaks against it, the plan does."""
    stops = None
    if taken.value > 0.0 and expected.level > _METERS_LEAST:
        stops = math.log2(taken.value / expected.level)
    might = () if stops is None else tuple(_might_be(taken, expected, unit))
    return Doubted(
        name=taken.name,
        reading=taken.reading,
        on=taken.on,
        unit=unit,
        value=taken.value,
        expected=expected.level,
        stops=stops,
        spread_stops=expected.spread_stops,
        might_be=might,
        says=_says(taken, expected, unit, stops, might, alone=alone),
    )


def _might_be(taken: Taken, expected: Expected, unit: str) -> Iterator[MightBe]:
    """Slips that would explain it, the nearest first."""
    found = []
    for says, value in _slips(taken, unit):
        off = math.log2(value / expected.level)
        if abs(off) <= _NEAR * expected.spread_stops:
            found.append((0, MightBe(says=says, value=value, off_stops=off)))
    for words, level in expected.others:
        if level > _METERS_LEAST and words != taken.on:
            off = math.log2(taken.value / level)
            if abs(off) <= expected.spread_stops:
                found.append((1, MightBe(says=f"with {words}", value=taken.value, off_stops=off)))
    found.sort(key=lambda one: (one[0], abs(one[1].off_stops)))
    yield from (one for _, one in found[:_MOST_TOLD])


def _slips(taken: Taken, unit: str) -> Iterator[tuple[str, float]]:
    """Values that may have been meant: a nought too many or too few, the other unit."""
    for factor in (0.1, 10.0, 0.01, 100.0):
        value = taken.value * factor
        yield _told(value, taken, unit), value
    other, scale = (
        ("fL", nits_from_footlamberts(1.0))
        if unit == "cd/m²"
        else ("fc", lux_from_footcandles(1.0))
    )
    if taken.text.strip().lower().endswith(other.lower()):
        value = taken.value / scale
        yield f"{to_three(value)} {'cd/m²' if unit == 'cd/m²' else 'lx'}", value
    else:
        value = taken.value * scale
        yield f"{to_three(taken.value)} {other}", value


def _told(value: float, taken: Taken, unit: str) -> str:
    try:
        return written_like(value, taken.text, figures=3)
    except UnitFault:
        return f"{to_three(value)} {unit}"


def _says(
    taken: Taken, expected: Expected, unit: str, stops: float | None,
    might: Sequence[MightBe], *, alone: bool,
) -> str:  # fmt: skip
    said = f"{taken.name}: {taken.text}"
    if taken.value <= 0.0:
        return (
            f"{said} says nothing in stops: the plan has {_told(expected.level, taken, unit)} "
            "there; left out. Was the meter's range right?"
        )
    if stops is None:
        return (
            f"{said} cannot be: nothing that was on ({taken.on}) reaches it in the plan; left out. "
            "Was something else on, or is it another place?"
        )
    against = "the plan allows" if alone else "the other readings and the plan allow"
    side = "over" if stops > 0.0 else "under"
    head = (
        f"{said} ({taken.on}) is {abs(stops):.1f} stops {side} what {against}: "
        f"{_told(expected.level, taken, unit)}, give or take {expected.spread_stops:.1f} stop; "
        "left out."
    )
    if not might:
        return f"{head} No slip that is usual explains it: read it again."
    meant = ", or ".join(one.says for one in might)
    return f"{head} Was it {meant}?"
