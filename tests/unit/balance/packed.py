"""Package problems of a few places and heads, written by hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from tests.unit.balance.posed import problem, table

from falloff.balance import PackageProblem, PlaceToFill, StandIn, Stock
from falloff.balance import Table as LightTable
from falloff.document import AnyTarget

READING = "face"


def head(
    name: str, *, owned: bool = True, count: int | None = 1, rate: float = 0.0, kg: float = 2.0
) -> Stock:
    """A head to pack; what is hired has a rate."""
    return Stock(name, "fixture", count, owned, rate, weight_kg=kg)


def stand(
    name: str, highest_m: float, load_kg: float, *, owned: bool = True, rate: float = 0.0
) -> Stock:
    """A stand from 1 m up."""
    return Stock(name, "stand", 1, owned, rate, weight_kg=2.0, holds=(1.0, highest_m, load_kg))


def stand_in(name: str, part: int, lux: Sequence[Sequence[float]], **given: Any) -> StandIn:
    """A head that gives so many lux at each reading, table by table; grey light."""
    light = tuple(np.repeat(np.array(one, np.float64)[:, None], 3, 1) for one in lux)
    return StandIn(name, (part,), light, **({"lowest": 0.01} | given))


def package(
    places: Sequence[PlaceToFill],
    stock: Sequence[Stock],
    *tables: LightTable,
    **given: Any,
) -> PackageProblem:
    """The problem of these, one arrangement for all tables but where said."""
    made = {"arrangement": (0,) * len(tables)} | given
    return PackageProblem(
        fixed=problem([], *tables), places=tuple(places), stock=tuple(stock), **made
    )


def dark(
    targets: Mapping[str, AnyTarget],
    readings: Sequence[str] = (READING,),
    setup: str = "WIDE",
    key_lux: float | None = None,
) -> LightTable:
    """A setup in which nothing shines but what is brought."""
    made = table(dict.fromkeys(readings, ()), targets, setup=setup)
    return made if key_lux is None else replace(made, key_lux=key_lux)
