"""compare(stood, taken) -> Corrections: what readings from the shoot say of what was assumed."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from falloff.record.doubts import Expected, doubt
from falloff.record.fit import (
    READING_SPREAD_STOPS,
    Lines,
    covariance,
    good_readings,
    heavy_tailed,
    step,
)
from falloff.record.further import first_readings, further_reading, states
from falloff.record.materials import materials_that_matter
from falloff.record.notes import notes_of
from falloff.record.outside import DaylightSaid
from falloff.record.records import (
    Corrected,
    Corrections,
    Doubted,
    Followed,
    NextReading,
    ReadBack,
    Taken,
)
from falloff.record.room import Lit, Room, lit_as, lit_of, log_levels, sampling_stops
from falloff.record.stood import Stood
from falloff.record.unknowns import Unknown, unknowns_of
from falloff.types import BoolArray, Float64Array

_MOST_TURNS: Final = 6
_MOST_STEPS: Final = 40
_STILL_STOPS: Final = 0.02
_BENDS_AGAIN_STOPS: Final = 0.6  # of a reflectance's odds, after which it is stepped anew
_MIXED: Final = 0.7  # correlation from which two are told to be mixed
_HARDLY: Final = 0.5  # of its variance left, under which nothing is mixed up any more
_SLIP_PRIOR_STOPS: Final = 0.9
_NO_LIGHT: Final = 1e-6
# One rule for what is told, written and kept: told from a share of its variance or a change on,
# changed from a lesser change on; what is not told, or not changed, is as assumed.
_TOLD_SHARE: Final = 0.05
_TOLD_STOPS: Final = 0.05
_CHANGED_STOPS: Final = 0.02


@dataclass(frozen=True, slots=True)
class Compared:
    """Corrections, the unknowns and their x, for whoever writes them into a scene.

    x: 0 where it is left as assumed.
    """

    corrections: Corrections
    unknowns: tuple[Unknown, ...]
    x: Float64Array


def compare(
    stood: Sequence[Stood], taken: Sequence[Taken], *,
    daylight: DaylightSaid | None = None, believed: Collection[str] = (),
) -> Compared:  # fmt: skip
    """Outputs, modifiers, reflectances, sky and sun re-estimated from readings, with spreads.

    stood: how things stood wherever a reading was taken, that of the plan first; taken: at least
    one; believed: names of readings that are taken whatever they say. All light is settled anew
    at the end, so that what is told of the corrected plan is exact.
    """
    read = [lit_of(stood, one) for one in taken]
    plan = _plan(stood, [one.setup for one in taken])
    weights = [(one.stood, one.probe, one.weight) for one in (*read, *(p[2] for p in plan))]
    materials = materials_that_matter(stood, weights)
    room = Room(stood, unknowns_of(stood, daylight, materials), daylight)
    fitted = _fit(room, taken, read, believed)
    return Compared(_told(room, taken, read, plan, fitted), tuple(room.unknowns), fitted.x)


def begin_with(
    stood: Sequence[Stood], setup: str, *, daylight: DaylightSaid | None = None, count: int = 4
) -> tuple[NextReading, ...]:
    """The readings that would tell most of a setup's plan before any was taken."""
    plan = [one[2] for one in _plan(stood, (setup,))]
    weights = [(one.stood, one.probe, one.weight) for one in plan]
    room = Room(
        stood, unknowns_of(stood, daylight, materials_that_matter(stood, weights)), daylight
    )
    zero = np.zeros(len(room.unknowns))
    k = next(k for k, one in enumerate(stood) if setup in one.setups)
    _bend_plan(room, plan, [], zero)
    return first_readings(room, room.rows(plan, zero), told_now=[(k, setup)], count=count)


_Planned = tuple[str, str, Lit]  # reading, setup, as it is lit there


def _plan(stood: Sequence[Stood], setups: Sequence[str]) -> list[_Planned]:
    """Every reading of the setups that were read in, as the setup is lit."""
    found = []
    for setup in dict.fromkeys(setups):
        k = next(k for k, one in enumerate(stood) if setup in one.setups and one.hour is None)
        camera = stood[k].setups[setup].camera
        for p, probe in enumerate(stood[k].layers.probes.probes):
            if probe.view in {None, camera}:
                lit = lit_as(stood, k, p, setup=setup, on=None)
                found.append((probe.name, setup, lit))
    return found


# The fit ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Fitted:
    x: Float64Array
    left: Float64Array  # covariance (n, n)
    prior: Float64Array
    spread: Float64Array  # of each reading, stops
    good: BoolArray
    learned: Float64Array  # share of each variance that the readings took away (n,)
    told: BoolArray  # of which of them the readings say enough (n,)


def _fit(
    room: Room, taken: Sequence[Taken], read: Sequence[Lit], believed: Collection[str]
) -> _Fitted:
    count = len(room.unknowns)
    x = np.zeros(count)
    prior = np.array([one.prior for one in room.unknowns])
    low = np.array([one.low for one in room.unknowns])
    high = np.array([one.high for one in room.unknowns])
    values = np.array([one.value for one in taken])
    spread = np.array(
        [math.hypot(READING_SPREAD_STOPS, sampling_stops(room.stood, one)) for one in read]
    )
    sure = np.array([is_believed(one, believed) for one in taken], np.bool_)
    levels = room.levels(read, x)
    # What has no light, read or planned, has no level in stops.
    can = (values > 0.0) & (levels > _NO_LIGHT)
    good = can.copy()
    bent_at: Float64Array | None = None
    used = np.flatnonzero(can)
    some = [read[int(i)] for i in used]
    for _ in range(_MOST_TURNS if used.size else 0):
        if bent_at is None or np.abs(_reflecting(room, x - bent_at)).max() > _BENDS_AGAIN_STOPS:
            room.bend(some, x)
            bent_at = x.copy()
        room.base_at(some, x)
        lines = Lines(np.zeros(0), np.log2(values[used]), x, spread[used], prior, low, high)
        following, good[used] = _settled(room, some, lines, sure[used])
        moved = float(np.abs(following - x).max(initial=0.0))
        x = following
        if moved < _STILL_STOPS:
            break
    rows = room.rows(read, x) if used.size else np.zeros((len(read), count))
    left = covariance(rows[good], spread[good], heavy_tailed(prior, x))
    learned = np.maximum(0.0, 1.0 - np.diag(left) / heavy_tailed(prior, x) ** 2)
    told = (learned >= _TOLD_SHARE) | (np.abs(x) >= _TOLD_STOPS)
    x = np.where(told & (np.abs(x) >= _CHANGED_STOPS), x, 0.0)
    return _Fitted(x, left, prior, spread, good, learned, told)


def _settled(
    room: Room, read: Sequence[Lit], start: Lines, sure: BoolArray
) -> tuple[Float64Array, BoolArray]:
    """The x that fits best near the base of the room, and which readings are good.

    start: off holds the log2 of what was read.
    """
    x, good = start.x, np.ones(len(read), np.bool_)
    for turn in range(_MOST_STEPS):
        levels, rows = room.near(read, x)
        off = start.off - log_levels(levels)
        lines = replace(start, rows=rows, off=off, x=x)
        if turn < _MOST_STEPS // 2:  # after that, no more going to and fro
            good = good_readings(replace(lines, prior=_slip_prior(start.prior)), sure)
        following = step(replace(lines, prior=heavy_tailed(start.prior, x)), good)
        moved = float(np.abs(following - x).max(initial=0.0))
        x = following
        if moved < 0.1 * _STILL_STOPS:
            break
    return x, good


def _slip_prior(prior: Float64Array) -> Float64Array:
    """Spreads by which a slip is told: an assumption may be out by twice its spread, and be so.

    A scrim that was left in is two stops, a typist's slip three and more.
    """
    return np.asarray(np.maximum(prior, np.minimum(2.0 * prior, _SLIP_PRIOR_STOPS)))


def _reflecting(room: Room, x: Float64Array) -> Float64Array:
    chosen = [x[u] for u, one in enumerate(room.unknowns) if one.kind == "reflectance"]
    return np.array(chosen or [0.0])


def is_believed(taken: Taken, believed: Collection[str]) -> bool:
    """Whether a reading is named, by its own name or its place's."""
    return bool({taken.name, taken.reading} & set(believed))


# Told ------------------------------------------------------------------------------------


def _told(
    room: Room, taken: Sequence[Taken], read: Sequence[Lit], plan: Sequence[_Planned], fit: _Fitted
) -> Corrections:
    stood, x, zero = room.stood, fit.x, np.zeros(fit.x.size)
    doubted = _doubted(room, taken, read, fit)
    before, after = room.levels(read, zero), room.levels(read, x)
    planned = [one[2] for one in plan]
    _bend_plan(room, planned, read, x)
    rows = room.rows(planned, x)
    where = [(p[2].stood, p[1]) for p in plan]
    return Corrections(
        scene=stood[0].document.title,
        setups=tuple(dict.fromkeys(one.setup for one in taken)),
        reading_spread_stops=READING_SPREAD_STOPS,
        corrected=_corrected(room, fit),
        readings=tuple(
            _read_back(room, one, lit, (before[i], after[i]), used=bool(fit.good[i]))
            for i, (one, lit) in enumerate(zip(taken, read, strict=True))
        ),
        doubted=doubted,
        plan=_followed(room, plan, rows, fit),
        further=further_reading(
            room, x, fit.left, rows, taken=taken,
            told_now=tuple(dict.fromkeys(where)),
        ),
        findings=notes_of(room, fit.x, fit.prior, doubted=doubted),
    )  # fmt: skip


def _bend_plan(room: Room, planned: Sequence[Lit], read: Sequence[Lit], x: Float64Array) -> None:
    """How the plan's own light bends, where no reading was taken as things stand in it."""
    known = {one.stood for one in read}
    fresh = [one for one in planned if one.stood not in known]
    if fresh:
        room.bend(fresh, x)


def _corrected(room: Room, fit: _Fitted) -> tuple[Corrected, ...]:
    spreads = np.sqrt(np.diag(fit.left))
    linked = fit.left / np.outer(spreads, spreads)
    made = []
    for u, unknown in enumerate(room.unknowns):
        x = float(fit.x[u])
        mixed = tuple(
            room.unknowns[v].name
            for v in range(len(room.unknowns))
            if v != u and abs(linked[u, v]) > _MIXED and fit.learned[u] < 1.0 - _HARDLY**2
        )
        low, high = unknown.value(x - spreads[u]), unknown.value(x + spreads[u])
        made.append(
            Corrected(
                kind=unknown.kind,
                name=unknown.name,
                unit=unknown.unit,
                assumed=unknown.assumed,
                found=unknown.value(x),
                low=low,
                high=high,
                stops=math.log2(unknown.value(x) / unknown.assumed),
                spread_stops=unknown.half_range_stops(x, float(spreads[u])),
                prior_stops=unknown.half_range_stops(x, float(fit.prior[u])),
                moved=x / float(fit.prior[u]),
                learned_share=float(fit.learned[u]),
                mixed_with=mixed,
                says_something=bool(fit.told[u]),
            )
        )
    return tuple(made)


def _read_back(
    room: Room, taken: Taken, lit: Lit, levels: tuple[float, float], *, used: bool
) -> ReadBack:
    before, after = levels
    return ReadBack(
        name=taken.name,
        reading=taken.reading,
        setup=taken.setup,
        on=taken.on,
        unit=room.unit(lit),
        measured=taken.value,
        planned=float(before),
        corrected=float(after),
        before_stops=_stops(taken.value, before),
        after_stops=_stops(taken.value, after),
        used=used,
    )


def _stops(value: float, reference: float) -> float | None:
    return math.log2(value / reference) if value > 0.0 and reference > _NO_LIGHT else None


def _doubted(
    room: Room, taken: Sequence[Taken], read: Sequence[Lit], fit: _Fitted
) -> tuple[Doubted, ...]:
    out = [i for i in range(len(taken)) if not fit.good[i]]
    if not out:
        return ()
    lits = [read[i] for i in out]
    levels, rows = room.levels(lits, fit.x), room.rows(lits, fit.x)
    known = np.sqrt(((rows @ fit.left) * rows).sum(1) + fit.spread[out] ** 2)
    made = []
    for n, i in enumerate(out):
        one, lit = taken[i], lits[n]
        standing = room.stood[lit.stood]
        others = [
            (words, lit_as(room.stood, lit.stood, lit.probe, setup=one.setup, on=on))
            for words, on in states(standing, one.setup)
        ]
        other_levels = room.levels([other for _, other in others], fit.x)
        told = [(words, float(v)) for (words, _), v in zip(others, other_levels, strict=True)]
        expected = Expected(float(levels[n]), float(known[n]), told)
        made.append(doubt(one, expected, room.unit(lit), alone=not fit.good.any()))
    return tuple(made)


def _followed(
    room: Room, plan: Sequence[_Planned], rows: Float64Array, fit: _Fitted
) -> tuple[Followed, ...]:
    lits = [one[2] for one in plan]
    before, after = room.levels(lits, np.zeros(fit.x.size)), room.levels(lits, fit.x)
    was = np.sqrt((rows**2 * fit.prior**2).sum(1))
    now = np.sqrt(np.maximum(0.0, ((rows @ fit.left) * rows).sum(1)))
    return tuple(
        Followed(
            reading=reading,
            setup=setup,
            unit=room.unit(lit),
            before=float(before[i]),
            after=float(after[i]),
            stops=_stops(float(after[i]), float(before[i])),
            spread_before_stops=float(was[i]),
            spread_after_stops=float(now[i]),
        )
        for i, (reading, setup, lit) in enumerate(plan)
    )
