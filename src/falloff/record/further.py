"""The readings that would tell most: of every place, with every light on in turn."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.record.fit import READING_SPREAD_STOPS
from falloff.record.records import NextReading, Taken
from falloff.record.room import Lit, Room, is_daylight, lit_as
from falloff.record.stood import Stood
from falloff.types import Float64Array

_LEAST_LUX: Final = 2.0  # under it a meter is not to be relied on: common practice, no source
_LEAST_NIT: Final = 0.5
_WORTH_STOPS: Final = 0.02  # that the plan's spread must fall by


def states(one: Stood, setup: str) -> list[tuple[str, tuple[str, ...] | None]]:
    """What may be on for a reading, in words and by name: all, daylight alone, each light in turn.

    Daylight cannot be switched off, so it is there beside each light.
    """
    names = one.layers.names
    day = [name for name, by_day in zip(names, is_daylight(one), strict=True) if by_day]
    dims = one.setups[setup].dims
    lights = [name for name in names if name not in day and dims.get(name, 1.0) > 0.0]
    found: list[tuple[str, tuple[str, ...] | None]] = [("all on", None)]
    if day and lights:
        found.append(("daylight alone", tuple(day)))
    if len(lights) > 1 or day:
        beside = " and daylight" if day else " alone"
        found += [(f"{name}{beside}", (name, *day)) for name in lights]
    return found


@dataclass(frozen=True, slots=True)
class _Tried:
    """What may be read next: reading, setup, what is on, in words and as it is lit."""

    reading: str
    setup: str
    on: str
    lit: Lit


def further_reading(
    room: Room, x: Float64Array, left: Float64Array, plan: Float64Array,
    *, taken: Sequence[Taken], told_now: Sequence[tuple[int, str]],
) -> NextReading | None:  # fmt: skip
    """The reading that lowers the spread of the plan's readings most; None where none is worth it.

    left: covariance of the unknowns (n, n); plan: rows of the plan's readings (r, n); told_now:
    where things stood, and the setup, of what may be read.
    """
    done = {(one.reading, one.setup, one.on) for one in taken}
    tried = [one for one in _tried(room, told_now) if (one.reading, one.setup, one.on) not in done]
    return next(iter(_best_readings(room, x, left, plan, tried, count=1)), None)


def first_readings(
    room: Room, plan: Float64Array, *, told_now: Sequence[tuple[int, str]], count: int
) -> tuple[NextReading, ...]:
    """The readings to begin with, before any was taken, each best beside those before it."""
    prior = np.array([one.prior for one in room.unknowns])
    tried = _tried(room, told_now)
    return _best_readings(room, np.zeros(prior.size), np.diag(prior**2), plan, tried, count=count)


def _tried(room: Room, told_now: Sequence[tuple[int, str]]) -> list[_Tried]:
    """Every place, with every light on in turn."""
    found = []
    for k, setup in told_now:
        one = room.stood[k]
        camera = one.setups[setup].camera
        for p, probe in enumerate(one.layers.probes.probes):
            if probe.view not in {None, camera}:
                continue
            for words, on in states(one, setup):
                lit = lit_as(room.stood, k, p, setup=setup, on=on)
                found.append(_Tried(probe.name, setup, words, lit))
    return found


def _best_readings(
    room: Room, x: Float64Array, left: Float64Array, plan: Float64Array,
    tried: Sequence[_Tried], *, count: int,
) -> tuple[NextReading, ...]:  # fmt: skip
    """One after the other that lowers the plan's spread most, at most so many.

    What is widest counts most, so that no light is left unread while another is read twice.
    """
    if not tried or plan.size == 0:
        return ()
    lits = [one.lit for one in tried]
    levels, rows = room.levels(lits, x), room.rows(lits, x)
    spots = np.array([room.is_spot(one) for one in lits])
    dark = levels < np.where(spots, _LEAST_NIT, _LEAST_LUX)
    found: list[NextReading] = []
    for _ in range(count):
        through = rows @ left  # (c, n)
        own = (through * rows).sum(1) + READING_SPREAD_STOPS**2
        before = ((plan @ left) * plan).sum(1)  # (r,) variances of the plan's readings
        then = np.maximum(0.0, before[:, None] - (plan @ through.T) ** 2 / own)  # (r, c)
        then[:, dark] = before[:, None]
        best = int(np.argmin(_spread(then)))
        if _spread(before) - _spread(then[:, best]) < _WORTH_STOPS:
            break
        after = left - np.outer(through[best], through[best]) / own[best]
        about = int(np.argmax(np.diag(left) - np.diag(after)))
        unknown, at = room.unknowns[about], float(x[about])
        half = [math.sqrt(max(0.0, float(one[about, about]))) for one in (left, after)]
        one = tried[best]
        found.append(
            NextReading(
                reading=one.reading,
                setup=one.setup,
                on=one.on,
                unit=room.unit(one.lit),
                expected=float(levels[best]),
                plan_before_stops=math.sqrt(before.mean()),
                plan_after_stops=math.sqrt(then[:, best].mean()),
                about=unknown.name,
                about_before_stops=unknown.half_range_stops(at, half[0]),
                about_after_stops=unknown.half_range_stops(at, half[1]),
            )
        )
        left, dark = after, dark | (np.arange(len(tried)) == best)
    return tuple(found)


def _spread(variances: Float64Array) -> Float64Array:
    """A mean (of the first axis) in stops that the widest counts most in: of fourth powers."""
    return np.asarray((variances**2).mean(0) ** 0.25)
