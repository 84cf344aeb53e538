"""Targets as terms of a least-squares problem in log light, with exact gradients.

A level's gradient by a source's stops is the share of the reading's light that the source gives; a
colour's follows by the quotient rule. Each term has a band in which its target holds.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from falloff.balance.problem import Answer, Problem, Table, Told
from falloff.document import (
    AnyTarget,
    ColourTarget,
    EvenTarget,
    HueTarget,
    KeepTarget,
    Limit,
    Target,
    ValueTarget,
)
from falloff.readings.colour import USUAL_BALANCE_KELVIN, white_uv
from falloff.spectrum import (
    XYZ_FROM_WORKING,
    cct_duv,
    full_green_duv,
    light_of_kelvin,
    uv_1976_from_xy,
    xy_from_uv_1976,
    xy_of_cct_duv,
)
from falloff.types import Float64Array

FULL_GREEN_CC: Final = 30.0
_USUAL_SCALE_STOPS: Final = 1.0 / 3.0
_LEAST_SCALE: Final = 0.05
_A_WHITE_CC: Final = 60.0  # off the line, past which a temperature says little
_HOPELESS: Final = 1e-4  # of its weight, that is left to a target that cannot be met
_INSIDE: Final = 0.99  # of a tolerance that an answer stays within


@dataclass(frozen=True, slots=True)
class LevelTerm:
    """Stops of reading k over what it is told against: its band is [low, high] about `wanted`.

    over: another reading, None: a fixed level. reference: log2 of what k is told against, less
    that of `over`'s; keyed: whether it moves with the exposure. pull: whether the middle of the
    band is better than its edge.
    """

    table: int
    target: str
    reading: int
    over: int | None
    reference: float
    keyed: bool
    wanted: float
    low: float
    high: float
    scale: float
    weight: float
    pull: bool


@dataclass(frozen=True, slots=True)
class ColourTerm:
    """A direction (2,) in u'v' along which reading k lies within `half` of `wanted`.

    over: another reading whose u'v' is taken away first.
    """

    table: int
    target: str
    reading: int
    over: int | None
    direction: Float64Array
    wanted: float
    half: float
    weight: float


@dataclass(frozen=True, slots=True)
class HueTerm:
    """Reading k's hue about a white, and how saturated it is at the least."""

    table: int
    target: str
    reading: int
    white: Float64Array
    hue_rad: float
    half_rad: float
    saturation: float
    weight: float


Term = LevelTerm | ColourTerm | HueTerm


def terms_of(problem: Problem, answer: Answer) -> tuple[Term, ...]:
    """Every target of every setup as terms; those whose reading is not taken give none.

    answer: from which what is told relative to the present is taken, and the exposure.
    """
    found: list[Term] = []
    for t, table in enumerate(problem.tables):
        light = _uv_now(problem, answer, t)
        for name, target in table.targets.items():
            found += _terms(t, table, name, target, light)
    return tuple(found)


def _uv_now(problem: Problem, answer: Answer, t: int) -> Float64Array:
    """The colour u'v' (p, 2) of every reading; not a number where there is no light."""
    return uv_of(totals(problem, answer)[t])


def terms_by_target(problem: Problem, terms: Iterable[Term]) -> dict[Told, list[Term]]:
    """The terms of each target."""
    found: dict[Told, list[Term]] = {}
    for term in terms:
        found.setdefault((problem.tables[term.table].setup, term.target), []).append(term)
    return found


def played_down(
    problem: Problem, terms: Iterable[Term], some: Collection[Told]
) -> tuple[Term, ...]:
    """The terms with those of some targets hardly counted, so that nothing is bent for them."""
    return tuple(
        replace(term, weight=_HOPELESS * term.weight)
        if (problem.tables[term.table].setup, term.target) in some
        else term
        for term in terms
    )


def totals(problem: Problem, answer: Answer) -> list[Float64Array]:
    """Light (p, 3) at every reading of each table."""
    return [np.einsum("sc,spc->pc", gains(problem, answer), table.rgb) for table in problem.tables]


def gains(problem: Problem, answer: Answer) -> Float64Array:
    """What each source's light at full is times (s, 3)."""
    by = np.empty((len(problem.levers), 3))
    for s, (lever, choice) in enumerate(zip(problem.levers, answer.colours, strict=True)):
        share = float(answer.shares[s])
        tint = np.ones(3) if lever.warming is None else lever.warming.at(share)[0]
        by[s] = share * tint * choice.rgb
    return by


def uv_of(rgb: Float64Array) -> Float64Array:
    """CIE 1976 u'v' (p, 2) of light (p, 3) in the working space."""
    xyz = rgb @ np.asarray(XYZ_FROM_WORKING).T
    below = xyz @ (1.0, 15.0, 3.0)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(np.stack([4.0 * xyz[:, 0], 9.0 * xyz[:, 1]], -1) / below[:, None])


# Targets to terms ------------------------------------------------------------------------


def _terms(t: int, table: Table, name: str, target: AnyTarget, uv: Float64Array) -> list[Term]:
    found: list[Term] = []
    match target:
        case Target():
            found += _level_terms(t, table, name, target)
        case ValueTarget(value=value) if value.si > 0.0:
            wanted = math.log2(value.si)
            found += [_fixed(t, name, target, k, wanted) for k in _rows(table, target.reading)]
        case KeepTarget():
            found += [
                _fixed(t, name, target, k, math.log2(kept))
                for k in _rows(table, target.reading)
                if (kept := table.kept.get(table.readings[k], 0.0)) > 0.0
            ]
        case EvenTarget():
            found += _even_terms(t, table, name, target)
        case ColourTarget():
            found += _colour_terms(t, table, name, target, uv)
        case HueTarget():
            found += _hue_terms(t, table, name, target)
    return found


def _rows(table: Table, reading: str) -> list[int]:
    return [
        table.readings.index(one)
        for one in table.points.get(reading, (reading,))
        if one in table.readings
    ]


def _band(limit: Limit, tolerance: float) -> tuple[float, float]:
    low = -math.inf if limit == "at most" else -_INSIDE * tolerance
    high = math.inf if limit == "at least" else _INSIDE * tolerance
    return low, high


def _reference(table: Table, k: int) -> float:
    return math.log2(table.grey_nit if table.spots[k] else table.key_lux)


def _level_terms(t: int, table: Table, name: str, target: Target) -> list[LevelTerm]:
    low, high = _band(target.limit, target.tolerance.si)
    others: list[int | None] = [None] if target.over is None else list(_rows(table, target.over))
    scale = max(target.tolerance.si, _LEAST_SCALE)
    return [
        LevelTerm(
            table=t,
            target=name,
            reading=k,
            over=over,
            reference=_reference(table, k) - (0.0 if over is None else _reference(table, over)),
            keyed=over is None,
            wanted=target.level.si,
            low=low,
            high=high,
            scale=scale,
            weight=target.weight,
            pull=target.limit == "equal",
        )
        for k in _rows(table, target.reading)
        for over in others
    ]


def _fixed(t: int, name: str, target: ValueTarget | KeepTarget, k: int, wanted: float) -> LevelTerm:
    """A level told in the reading's own unit, as its log2."""
    limit = target.limit if isinstance(target, ValueTarget) else "equal"
    low, high = _band(limit, target.tolerance.si)
    return LevelTerm(
        table=t, target=name, reading=k, over=None, reference=0.0, keyed=False, wanted=wanted,
        low=low, high=high, scale=max(target.tolerance.si, _LEAST_SCALE), weight=target.weight,
        pull=limit == "equal",
    )  # fmt: skip


def _even_terms(t: int, table: Table, name: str, target: EvenTarget) -> list[LevelTerm]:
    rows = [k for reading in target.readings for k in _rows(table, reading)]
    within = target.within.si
    return [
        LevelTerm(
            table=t, target=name, reading=k, over=over, reference=0.0, keyed=False, wanted=0.0,
            low=-math.inf, high=_INSIDE * within, scale=max(within, _USUAL_SCALE_STOPS),
            weight=target.weight, pull=False,
        )
        for k in rows
        for over in rows
        if k != over
    ]  # fmt: skip


def _colour_terms(
    t: int, table: Table, name: str, target: ColourTarget, uv: Float64Array
) -> list[ColourTerm]:
    found = []
    overs: list[int | None] = [None] if target.over is None else list(_rows(table, target.over))
    for k in _rows(table, target.reading):
        for over in overs:
            if target.colour is not None:
                centre = np.asarray(uv_1976_from_xy(light_of_kelvin(target.colour.si).xy))
                along, wanted = _axes(centre)[0], 0.0
            else:
                near = uv[k] if over is None else uv[over]
                if not np.isfinite(near).all():
                    continue
                centre = np.zeros(2)
                along, wanted = _axes(near)[0], float(target.mired or 0.0)
            found.append(
                ColourTerm(
                    t, name, k, over, along, wanted + float(along @ centre),
                    _INSIDE * target.tolerance, target.weight,
                )
            )  # fmt: skip
        if target.green is None and target.colour is not None:
            # What is too far off the line is no white, and has no temperature to be judged by.
            white = np.asarray(uv_1976_from_xy(light_of_kelvin(target.colour.si).xy))
            across = _axes(white)[1]
            middle = float(across @ white)
            found.append(ColourTerm(t, name, k, None, across, middle, _A_WHITE_CC, target.weight))
        if target.green is not None:
            kelvin = target.colour.si if target.colour is not None else None
            near = np.asarray(uv_1976_from_xy(light_of_kelvin(kelvin).xy)) if kelvin else uv[k]
            if not np.isfinite(near).all():
                continue
            across, at = _axes(near)[1], _green_cc(near)
            found.append(
                ColourTerm(
                    t, name, k, None, across, target.green - at + float(across @ near),
                    _INSIDE * target.green_tolerance, target.weight,
                )
            )  # fmt: skip
    return found


def _axes(uv: Float64Array) -> tuple[Float64Array, Float64Array]:
    """How mired (2,) and CC of green (2,) go with u'v' about a colour."""
    kelvin, _ = cct_duv(xy_from_uv_1976(uv))
    step_mired, step_duv = 5.0, 0.002
    mired = 1e6 / (kelvin or USUAL_BALANCE_KELVIN)
    duv = light_of_kelvin(1e6 / mired).temperature.duv
    warm = uv_1976_from_xy(xy_of_cct_duv(1e6 / (mired + step_mired), duv))
    cool = uv_1976_from_xy(xy_of_cct_duv(1e6 / (mired - step_mired), duv))
    green = uv_1976_from_xy(xy_of_cct_duv(1e6 / mired, duv + step_duv))
    magenta = uv_1976_from_xy(xy_of_cct_duv(1e6 / mired, duv - step_duv))
    moves = np.stack([(warm - cool) / (2.0 * step_mired), (green - magenta) / (2.0 * step_duv)], -1)
    by_mired, by_duv = np.linalg.inv(moves)
    return by_mired, by_duv * FULL_GREEN_CC / full_green_duv(mired)


def _green_cc(uv: Float64Array) -> float:
    kelvin, duv = cct_duv(xy_from_uv_1976(uv))
    if kelvin is None:
        return 0.0
    line = light_of_kelvin(kelvin).temperature.duv
    return FULL_GREEN_CC * (duv - line) / full_green_duv(1e6 / kelvin)


def _hue_terms(t: int, table: Table, name: str, target: HueTarget) -> list[HueTerm]:
    return [
        HueTerm(
            t, name, k, white_uv(table.balance_kelvin), target.hue.si,
            _INSIDE * target.tolerance.si, target.saturation, target.weight,
        )
        for k in _rows(table, target.reading)
    ]  # fmt: skip
