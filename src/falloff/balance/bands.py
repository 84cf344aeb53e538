"""A target's band as rows of a linear programme.

In linear light every level is a sum over sources, so a band is one linear inequality or two:
against key, with the exposure chosen by a binary; against another reading, as a difference. A
colour's band is linear too, since u'v' are quotients of linear sums.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from falloff.balance.problem import (
    AS_IT_STANDS,
    LEAST_SHARE,
    WEIGHTS,
    ColourChoice,
    Problem,
    Table,
)
from falloff.balance.programme import Programme
from falloff.balance.terms import ColourTerm, HueTerm, LevelTerm, Term
from falloff.spectrum import XYZ_FROM_WORKING
from falloff.types import Float64Array

OFF_CENTRE: Final = 0.02  # of a tolerance off the middle, against one beyond its edge
_INNER: Final = 0.3  # of a colour's band, past which it costs to be off its middle
_FAR: Final = 6.0  # stops: bands wider than that are open
_LEAST_LIGHT: Final = 2.0**-10  # of what a reading typically has, below which it is dark


@dataclass(frozen=True, slots=True)
class Way:
    """A way in which a light can be on: its switch, and its columns with what each is times (3,).

    choice: None where its emitters are mixed.
    """

    choice: ColourChoice | None
    switch: int
    parts: tuple[tuple[int, Float64Array], ...]


@dataclass(frozen=True, slots=True)
class Columns:
    """Where a programme has what: the ways of each source, the exposures of each table.

    dark: by table and reading, what it has of the light of a usual answer where that is much less:
    misses are counted against it, else a colour would be bettered by putting lights out.
    """

    light: tuple[tuple[Way, ...], ...]
    exposure: tuple[tuple[int, ...], ...]
    dark: Mapping[tuple[int, int], float] = field(default_factory=dict)

    @classmethod
    def plain(
        cls, light: Iterable[tuple[int, ...]], exposure: tuple[tuple[int, ...], ...]
    ) -> Columns:
        """Columns of lights that have no choice but how much; several of one light add up."""
        ways = tuple(
            tuple(Way(AS_IT_STANDS, column, ((column, AS_IT_STANDS.rgb),)) for column in mine)
            for mine in light
        )
        return cls(ways, exposure)


def _sum_of(
    problem: Problem, columns: Columns, t: int, k: int, weights: Float64Array
) -> dict[int, float]:
    """A weighed sum of the light (3,) at reading k, as entries."""
    found: dict[int, float] = {}
    for s, lever in enumerate(problem.levers):
        light = problem.tables[t].rgb[s, k] * weights
        if lever.warming is not None:
            light = light * lever.warming.at(max(lever.now, LEAST_SHARE))[0]
        for way in columns.light[s]:
            for column, rgb in way.parts:
                found[column] = float(light @ rgb)
    return found


def _plus(entries: dict[int, float], other: dict[int, float], factor: float) -> dict[int, float]:
    found = dict(entries)
    for column, value in other.items():
        found[column] = found.get(column, 0.0) + factor * value
    return found


def _compared(
    problem: Problem, columns: Columns, term: LevelTerm, stops: float
) -> tuple[dict[int, float], float, float]:
    """Light of a term less what it is `stops` over, as entries; what is to be taken off; a scale.

    The light lies at those stops where the entries come to the second of the three.
    """
    table = problem.tables[term.table]
    mine = _sum_of(problem, columns, term.table, term.reading, WEIGHTS)
    factor = 2.0 ** (stops + term.reference)
    if term.over is not None:
        other = _sum_of(problem, columns, term.table, term.over, WEIGHTS)
        dark = columns.dark.get((term.table, term.over), 1.0)
        scale = max(factor * dark * typical(problem, table, term.over), 1e-9)
        return _plus(mine, other, -factor), 0.0, scale
    if term.keyed and table.exposures:
        chosen = {
            column: -factor * 2.0**one.stops
            for column, one in zip(columns.exposure[term.table], table.exposures, strict=True)
        }
        return mine | chosen, 0.0, factor
    return mine, factor, factor


def typical(problem: Problem, table: Table, k: int) -> float:
    """What a reading comes to with every light as it is, or at a third where it is out."""
    shares = np.array([one.now if one.now > 0.0 else one.highest / 3.0 for one in problem.levers])
    return float(shares @ (table.rgb[:, k] @ WEIGHTS))


def hard_rows(
    problem: Problem, columns: Columns, term: Term
) -> list[tuple[dict[int, float], float]]:
    """Rows of a term, each with the most that it may come to."""
    return [
        ({column: value / scale for column, value in entries.items()}, (offset + most) / scale)
        for entries, offset, scale, _, most in _edges(problem, columns, term)
    ]


def add_soft_term(programme: Programme, problem: Problem, columns: Columns, term: Term) -> None:
    """Each edge may be passed at a cost, and so, at a small one, the middle of a level's band."""
    for entries, offset, scale, cost, most in _edges(problem, columns, term):
        over = programme.column(cost)
        row = {column: value / scale for column, value in entries.items()}
        row[over] = -1.0
        programme.row(row, -math.inf, (offset + most) / scale)
    if isinstance(term, LevelTerm) and term.pull:
        entries, offset, scale = _compared(problem, columns, term, term.wanted)
        up, down = (programme.column(OFF_CENTRE * term.weight / term.scale) for _ in range(2))
        row = {column: value / scale for column, value in entries.items()}
        row |= {up: -1.0, down: 1.0}
        programme.row(row, offset / scale, offset / scale)


def draw_in(
    programme: Programme, problem: Problem, columns: Columns, term: ColourTerm | HueTerm
) -> None:
    """It costs a little to be off the middle of a colour's band."""
    edges = (
        _hue_edges(problem, columns, term, within=_INNER)
        if isinstance(term, HueTerm)
        else _colour_edges(problem, columns, term, within=_INNER)
    )
    for entries, offset, scale, cost, most in edges:
        over = programme.column(OFF_CENTRE * cost)
        row = {column: value / scale for column, value in entries.items()}
        programme.row(row | {over: -1.0}, -math.inf, (offset + most) / scale)


Edge = tuple[dict[int, float], float, float, float, float]


def _edges(problem: Problem, columns: Columns, term: Term) -> list[Edge]:
    """Upper bounds: entries <= offset + most, told in `scale`, passed at a cost for each scale."""
    if isinstance(term, LevelTerm):
        found: list[Edge] = []
        cost = term.weight / term.scale
        if term.high < _FAR:
            entries, offset, scale = _compared(problem, columns, term, term.wanted + term.high)
            found.append((entries, offset, scale, cost, 0.0))
        if term.low > -_FAR:
            entries, offset, scale = _compared(problem, columns, term, term.wanted + term.low)
            turned = {column: -value for column, value in entries.items()}
            found.append((turned, -offset, scale, cost, 0.0))
        if term.over is not None:
            found += [_lit(problem, columns, term, term.over), _lit(problem, columns, term)]
        return found
    if isinstance(term, ColourTerm):
        edges = _colour_edges(problem, columns, term)
    else:
        edges = _hue_edges(problem, columns, term)
    return [*edges, _lit(problem, columns, term)]


def _lit(problem: Problem, columns: Columns, term: Term, k: int | None = None) -> Edge:
    """That a reading has any light: in the dark every ratio and every colour would hold."""
    k = term.reading if k is None else k
    full = _sum_of(problem, columns, term.table, k, WEIGHTS)
    least = _LEAST_LIGHT * typical(problem, problem.tables[term.table], k)
    dark = {column: -value for column, value in full.items()}
    return dark, -least, max(least, 1e-9), term.weight, 0.0


def _plane(
    problem: Problem, columns: Columns, at: tuple[int, int], direction: Float64Array, bound: float
) -> tuple[dict[int, float], float]:
    """Entries that are at most 0 where u'v' lie no farther along a direction than a bound.

    at: table and reading. Also a scale of the entries.
    """
    to_xyz = np.asarray(XYZ_FROM_WORKING)
    weights = (
        4.0 * direction[0] * to_xyz[0]
        + 9.0 * direction[1] * to_xyz[1]
        - bound * (to_xyz[0] + 15.0 * to_xyz[1] + 3.0 * to_xyz[2])
    )
    t, k = at
    entries = _sum_of(problem, columns, t, k, weights)
    size = 15.0 * columns.dark.get((t, k), 1.0) * typical(problem, problem.tables[t], k)
    return entries, max(size, 1e-9)


def _colour_edges(
    problem: Problem, columns: Columns, term: ColourTerm, *, within: float = 1.0
) -> list[Edge]:
    """Both sides of a band; none of a colour over another's, which is no linear thing."""
    found: list[Edge] = []
    if term.over is not None:
        return found
    at = (term.table, term.reading)
    for sign in (1.0, -1.0):
        bound = sign * term.wanted + within * term.half
        entries, size = _plane(problem, columns, at, sign * term.direction, bound)
        found.append((entries, 0.0, size * term.half, term.weight, 0.0))
    return found


def _hue_edges(
    problem: Problem, columns: Columns, term: HueTerm, *, within: float = 1.0
) -> list[Edge]:
    """Two half planes through the white, and one far enough from it."""
    found: list[Edge] = []
    at = (term.table, term.reading)
    for sign in (1.0, -1.0):
        turned = term.hue_rad + sign * (within * term.half_rad + 0.5 * math.pi)
        direction = np.array([math.cos(turned), math.sin(turned)])
        entries, size = _plane(problem, columns, at, direction, float(direction @ term.white))
        found.append((entries, 0.0, size * 0.01, term.weight, 0.0))
    outward = np.array([math.cos(term.hue_rad), math.sin(term.hue_rad)])
    least = term.saturation * (1.0 + 0.5 * (1.0 - within))
    bound = -(float(outward @ term.white) + least / 13.0)
    entries, size = _plane(problem, columns, at, -outward, bound)
    found.append((entries, 0.0, size * 0.01, term.weight, 0.0))
    return found
