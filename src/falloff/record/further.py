"""The one further reading that would tell most: of every place, with every light on in turn."""

from __future__ import annotations

import math
from collections.abc import Sequence
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


def further_reading(
    room: Room, x: Float64Array, left: Float64Array, plan: Float64Array,
    *, taken: Sequence[Taken], told_now: Sequence[tuple[int, str]],
) -> NextReading | None:  # fmt: skip
    """The reading that lowers the spread of the plan's readings most; None where none is worth it.

    left: covariance of the unknowns (n, n); plan: rows of the plan's readings (r, n); told_now:
    where things stood, and the setup, of what may be read.
    """
    done = {(one.reading, one.setup, one.on) for one in taken}
    tried: list[tuple[str, str, str, Lit]] = []
    for k, setup in told_now:
        one = room.stood[k]
        camera = one.setups[setup].camera
        for p, probe in enumerate(one.layers.probes.probes):
            if probe.view not in {None, camera}:
                continue
            for words, on in states(one, setup):
                if (probe.name, setup, words) not in done:
                    lit = lit_as(room.stood, k, p, setup=setup, on=on)
                    tried.append((probe.name, setup, words, lit))
    if not tried or plan.size == 0:
        return None
    lits = [one[3] for one in tried]
    levels, rows = room.levels(lits, x), room.rows(lits, x)
    through = rows @ left  # (c, n)
    own = (through * rows).sum(1) + READING_SPREAD_STOPS**2
    gained = ((plan @ through.T) ** 2).sum(0) / own
    spots = np.array([room.is_spot(one) for one in lits])
    gained[levels < np.where(spots, _LEAST_NIT, _LEAST_LUX)] = 0.0
    best = int(np.argmax(gained))
    before = float(((plan @ left) * plan).sum())
    count = len(plan)
    now, then = math.sqrt(before / count), math.sqrt(max(0.0, before - gained[best]) / count)
    if now - then < _WORTH_STOPS:
        return None
    after = left - np.outer(through[best], through[best]) / own[best]
    about = int(np.argmax(np.diag(left) - np.diag(after)))
    unknown, at = room.unknowns[about], float(x[about])
    left_after = math.sqrt(max(0.0, float(after[about, about])))
    reading, setup, words, lit = tried[best]
    return NextReading(
        reading=reading,
        setup=setup,
        on=words,
        unit=room.unit(lit),
        expected=float(levels[best]),
        plan_before_stops=now,
        plan_after_stops=then,
        about=unknown.name,
        about_before_stops=unknown.half_range_stops(at, math.sqrt(left[about, about])),
        about_after_stops=unknown.half_range_stops(at, left_after),
    )
