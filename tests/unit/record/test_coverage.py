"""Rooms whose true values are known: the method finds them within its own spread."""

from __future__ import annotations

import math

import numpy as np
from scipy.stats import binom
from tests.unit.record.rooms import compared, read_at, room_of, small_room, taken, with_values

from falloff.record import Compared, Unknown
from falloff.record.fit import READING_SPREAD_STOPS

DRAWS = 48
READ = [
    taken("key side", 1.0, "PANEL", "WINDOW", name="key side, PANEL"),
    taken("back wall", 1.0),
    taken("up", 1.0, "WINDOW"),
    taken("away", 1.0),
]
_SURE = 1e-3  # both ends together; a test that fails once in a thousand seeds


def x_within(unknown: Unknown, value: float) -> float:
    """The x at which an unknown has a value."""
    if unknown.kind != "reflectance":
        return math.log2(value / unknown.assumed)
    odds = unknown.assumed / (1.0 - unknown.assumed)
    return math.log2(value / (1.0 - value) / odds)


def spread_in_x(found: Compared, u: int) -> float:
    one, unknown = found.corrections.corrected[u], found.unknowns[u]
    return 0.5 * (x_within(unknown, one.high) - x_within(unknown, one.low))


def test_true_values_lie_within_the_spreads_as_often_as_they_should() -> None:
    # Gauss: 68.3 % within one spread, 95.4 % within two; binomial limits, unknowns and readings
    # of the plan apart.
    stood = small_room()
    first = compared(stood, with_values(READ, [400.0] * len(READ)))
    room, unknowns = room_of(stood, first), first.unknowns
    prior = np.array([one.prior for one in unknowns])
    low, high = ([getattr(one, end) for one in unknowns] for end in ("low", "high"))
    rng = np.random.default_rng(20)
    off: list[float] = []
    off_plan: list[float] = []
    for _ in range(DRAWS):
        true = np.clip(rng.normal(0.0, prior), low, high)
        error = 2.0 ** rng.normal(0.0, READING_SPREAD_STOPS, len(READ))
        found = compared(
            stood, with_values(READ, (np.array(read_at(room, READ, true)) * error).tolist())
        )
        assert [one.name for one in found.unknowns] == [one.name for one in unknowns]
        off += [(true[u] - found.x[u]) / spread_in_x(found, u) for u in range(len(unknowns))]
        plan = found.corrections.plan
        truth = read_at(room, [taken(one.reading, 1.0) for one in plan], true)
        off_plan += [
            math.log2(value / one.after) / one.spread_after_stops
            for value, one in zip(truth, plan, strict=True)
        ]
    for gone in (np.abs(off), np.abs(off_plan)):
        for spreads, share in ((1.0, 0.6827), (2.0, 0.9545)):
            within = int((gone <= spreads).sum())
            least, most = binom.ppf([_SURE / 2, 1 - _SURE / 2], gone.size, share)
            assert least <= within <= most, (spreads, within / gone.size)


def test_more_readings_leave_less_spread() -> None:
    stood = small_room()
    first = compared(stood, READ[:1])
    room = room_of(stood, first)
    values = read_at(room, READ, np.zeros(len(first.unknowns)))
    left = []
    for count in (1, 2, 4):
        plan = compared(stood, with_values(READ[:count], values[:count])).corrections.plan
        left.append(math.sqrt(np.mean([one.spread_after_stops**2 for one in plan])))
    assert left[0] > left[1] > left[2]


def test_readings_that_agree_with_the_plan_change_nothing() -> None:
    stood = small_room()
    room = room_of(stood, compared(stood, READ[:1]))
    values = read_at(room, READ, np.zeros(len(room.unknowns)))
    found = compared(stood, with_values(READ, values)).corrections
    assert max(abs(one.stops) for one in found.corrected) < 0.005
    assert not found.doubted
