"""Targets judged at an answer: the same rule as readings have, on the light of the problem."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from falloff.balance.problem import WEIGHTS, Answer, Problem, Table
from falloff.balance.terms import totals, uv_of
from falloff.readings import Judged, Metered, judge


def judged(problem: Problem, answer: Answer) -> dict[tuple[str, str], Judged]:
    """Every target by (setup, name) at an answer; those that are not read there are left out."""
    found: dict[tuple[str, str], Judged] = {}
    for table, light, k in zip(
        problem.tables, totals(problem, answer), answer.exposures, strict=True
    ):
        exposure = table.exposures[k].stops if table.exposures else 0.0
        for name, one in judged_in(table, light, exposure):
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
