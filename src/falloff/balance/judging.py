"""Targets judged at an answer: the same rule as readings have, on the light of the problem."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import numpy as np

from falloff.balance.problem import WEIGHTS, Answer, Problem, Table, Told, as_it_stands
from falloff.balance.terms import totals, uv_of
from falloff.readings import AS_A_STOP, Judged, Metered, judge

_NOTHING_STOPS: Final = 4.0


def judged_as_written(problem: Problem) -> dict[Told, Judged]:
    """Every target by (setup, name) with each setup's own dims as they are written."""
    start = as_it_stands(problem)
    return {
        key: one
        for table in problem.tables
        for key, one in judged(
            replace(problem, tables=(table,)), replace(start, shares=table.now, exposures=(0,))
        ).items()
    }


def judged(problem: Problem, answer: Answer) -> dict[Told, Judged]:
    """Every target by (setup, name) at an answer; those that are not read there are left out."""
    found: dict[Told, Judged] = {}
    for table, light, k in zip(
        problem.tables, totals(problem, answer), answer.exposures, strict=True
    ):
        for name, one in judged_in(table, light, table.exposure_stops(k)):
            found[table.setup, name] = one
    return found


def judged_in(
    table: Table, light: np.ndarray, exposure_stops: float
) -> Iterator[tuple[str, Judged]]:
    """Every target of a table at light (p, 3) and an exposure, by name."""
    colours = uv_of(light)
    metered = {
        name: Metered(
            value=float(light[k] @ WEIGHTS),
            uv=(float(colours[k, 0]), float(colours[k, 1]))
            if np.isfinite(colours[k]).all()
            else None,
            spot=bool(table.spots[k]),
        )
        for k, name in enumerate(table.readings)
    }
    gain = 2.0**exposure_stops
    for name, target in table.targets.items():
        one = judge(
            name,
            target,
            metered,
            key_lux=table.key_lux * gain,
            grey_nit=table.grey_nit * gain,
            balance_kelvin=table.balance_kelvin,
            kept=table.kept,
            points=table.points,
        )
        if one is not None:
            yield name, one


def short_of(one: Judged) -> float:
    """By how much a target is missed beyond its tolerance, 0 where it holds; in its own unit.

    What has no light, or no colour to tell, is as bad as four stops.
    """
    if one.holds:
        return 0.0
    if one.margin is None:
        return _NOTHING_STOPS * AS_A_STOP[one.unit]
    return max(0.0, -one.margin)


def as_stops(one: Judged) -> float:
    """By how much a target is missed, in what is as bad as a stop."""
    return short_of(one) / AS_A_STOP[one.unit]


def missed_count(one: Judged) -> float:
    """What a target counts as missed, before its weight: one, and by how much; 0 where it holds."""
    return 0.0 if one.holds else 1.0 + as_stops(one)


def weights_of(problem: Problem) -> dict[Told, float]:
    """What every target counts, by (setup, name)."""
    return {
        (table.setup, name): target.weight
        for table in problem.tables
        for name, target in table.targets.items()
    }
