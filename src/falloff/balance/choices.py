"""Which lights are on, which colour each has, which exposure: a mixed-integer linear programme.

In linear light every level is a sum over sources, so a target's band is one linear inequality or
two: against key, with the exposure chosen by a binary; against another reading, as a difference. A
colour's band is linear too, since u'v' are quotients of linear sums. HiGHS solves it.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final, Generic, TypeVar

import numpy as np

from falloff.balance.problem import (
    AS_IT_STANDS,
    KNOB_COSTS,
    LEAST_SHARE,
    WEIGHTS,
    Answer,
    ColourChoice,
    Lever,
    Problem,
    Table,
)
from falloff.balance.terms import ColourTerm, HueTerm, LevelTerm, Term
from falloff.spectrum import XYZ_FROM_WORKING
from falloff.types import Float64Array

_INNER: Final = 0.3  # of a colour's band, past which it costs to be off its middle
_OFF_CENTRE: Final = 0.02  # of a tolerance off the middle, against one beyond its edge
_TURNED: Final = 1.0  # tolerances off the middle that putting a light on or out is worth
_TIME_LIMIT_S: Final = 1.0
_FAR: Final = 6.0  # stops: bands wider than that are open
_OUT_OF_TIME: Final = 1  # scipy's word for it
_GAP: Final = 0.01
_NEAR: Final = 1e-7
Key = TypeVar("Key", bound=Hashable)
_LEAST_LIGHT: Final = 2.0**-10  # of what a reading typically has, below which it is dark


class Undecided(Exception):
    """A programme whose time was over before anything was known of it."""


@dataclass(slots=True)
class Programme:
    """A linear programme as it is put together: columns with costs and bounds, rows with bounds."""

    costs: list[float] = field(default_factory=list)
    least: list[float] = field(default_factory=list)
    most: list[float] = field(default_factory=list)
    whole: list[int] = field(default_factory=list)
    rows: list[dict[int, float]] = field(default_factory=list)
    row_least: list[float] = field(default_factory=list)
    row_most: list[float] = field(default_factory=list)

    def column(
        self, cost: float = 0.0, least: float = 0.0, most: float = math.inf, *, whole: bool = False
    ) -> int:
        """A new variable; its number."""
        self.costs.append(cost)
        self.least.append(least)
        self.most.append(most)
        self.whole.append(int(whole))
        return len(self.costs) - 1

    def row(self, entries: dict[int, float], least: float, most: float) -> None:
        """Least <= sum of entries times their variables <= most."""
        self.rows.append(entries)
        self.row_least.append(least)
        self.row_most.append(most)

    def with_rows(self, rows: Iterable[tuple[dict[int, float], float]]) -> Programme:
        """The same with more rows, each with the most that it may come to."""
        more = list(rows)
        return Programme(
            self.costs,
            self.least,
            self.most,
            self.whole,
            [*self.rows, *(entries for entries, _ in more)],
            [*self.row_least, *(-math.inf for _ in more)],
            [*self.row_most, *(most for _, most in more)],
        )

    def solve(
        self, *, time_limit_s: float = _TIME_LIMIT_S, gap: float = _GAP
    ) -> Float64Array | None:
        """The best values of the variables (n,), None where there are none that keep every row.

        Raises Undecided where the time was over before either was known.
        """
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csr_array

        counts = [len(row) for row in self.rows]
        matrix = csr_array(
            (
                np.array([value for row in self.rows for value in row.values()]),
                np.array([column for row in self.rows for column in row], np.int32),
                np.concatenate([[0], np.cumsum(counts)]).astype(np.int32),
            ),
            shape=(len(self.rows), len(self.costs)),
        )
        found = milp(
            np.array(self.costs),
            integrality=np.array(self.whole),
            bounds=Bounds(np.array(self.least), np.array(self.most)),
            constraints=LinearConstraint(matrix, np.array(self.row_least), np.array(self.row_most)),
            options={"time_limit": time_limit_s, "mip_rel_gap": gap},
        )
        if found.x is not None:
            return np.asarray(found.x, np.float64)
        if found.status == _OUT_OF_TIME:
            raise Undecided
        return None


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
    """Where a programme has what: the ways of each source, the exposures of each table."""

    light: tuple[tuple[Way, ...], ...]
    exposure: tuple[tuple[int, ...], ...]

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


def choose(
    problem: Problem, terms: Sequence[Term], *, time_limit_s: float = _TIME_LIMIT_S
) -> Answer | None:
    """Choices and dims that miss the targets least, by sums of stops told linearly.

    None where the solver found nothing in its time. Dims are a start for `settle_levels`.
    """
    programme = Programme()
    columns = _levers(programme, problem)
    for term in terms:
        add_soft_term(programme, problem, columns, term)
        if not isinstance(term, LevelTerm):
            _draw_in(programme, problem, columns, term)
    try:
        found = programme.solve(time_limit_s=time_limit_s)
    except Undecided:
        return None
    return None if found is None else _answer(problem, columns, found)


def can_hold(problem: Problem, terms: Iterable[Term]) -> bool:
    """Whether these terms can all hold at once, whatever the dims, colours and exposure.

    Where that cannot be told in time, they are not called impossible.
    """
    try:
        return Holding(problem, {"all": tuple(terms)}).find(("all",)) is not None
    except Undecided:
        return True


class Holding(Generic[Key]):
    """Asks again and again which targets can hold together; the rows are put together once.

    terms: of each target, by any key.
    """

    def __init__(self, problem: Problem, terms: Mapping[Key, Sequence[Term]]) -> None:
        self._levers = Programme()
        columns = _levers(self._levers, problem)
        self._rows = {
            key: [row for term in mine for row in _hard(problem, columns, term)]
            for key, mine in terms.items()
        }

    def find(
        self, keys: Iterable[Key], *, time_limit_s: float = _TIME_LIMIT_S
    ) -> frozenset[Key] | None:
        """All that holds at a point where these hold; None where they cannot hold together.

        Raises Undecided where that cannot be told in time.
        """
        wanted = [row for key in keys for row in self._rows[key]]
        found = self._levers.with_rows(wanted).solve(time_limit_s=time_limit_s)
        if found is None:
            return None
        return frozenset(
            key
            for key, rows in self._rows.items()
            if all(
                sum(value * found[column] for column, value in entries.items()) <= most + _NEAR
                for entries, most in rows
            )
        )


def with_choices(problem: Problem, answer: Answer) -> Problem:
    """The problem with the colours and exposures of an answer, and nothing left but its dims.

    Any light may be as low as one likes: a linear programme then says whether dims can do it.
    """
    levers = tuple(
        replace(
            lever,
            colours=(choice,),
            mixing=None,
            lowest=0.0 if lever.free and lever.can_go_out else lever.lowest,
        )
        for lever, choice in zip(problem.levers, answer.colours, strict=True)
    )
    tables = tuple(
        replace(table, exposures=(table.exposures[k],) if table.exposures else ())
        for table, k in zip(problem.tables, answer.exposures, strict=True)
    )
    return replace(problem, levers=levers, tables=tables)


# Levers and exposures --------------------------------------------------------------------


def _levers(programme: Programme, problem: Problem) -> Columns:
    light = tuple(_ways(programme, lever) for lever in problem.levers)
    exposure = []
    for table in problem.tables:
        choices_here = [
            programme.column(_OFF_CENTRE * one.costs, most=1.0, whole=True)
            for one in table.exposures
        ]
        if choices_here:
            programme.row(dict.fromkeys(choices_here, 1.0), 1.0, 1.0)
        exposure.append(tuple(choices_here))
    return Columns(light, tuple(exposure))


def _ways(programme: Programme, lever: Lever) -> tuple[Way, ...]:
    """The ways in which a light can be on, at most one of them."""
    lows, highs = (lever.lowest, lever.highest) if lever.free else (lever.now, lever.now)
    choices = lever.colours if lever.free else lever.colours[:1]
    mixing = lever.mixing if lever.free else None
    if len(choices) == 1 and mixing is None and lows == 0.0:  # no choice: a plain amount
        alone = programme.column(most=max(highs, 1e-9))
        return (Way(choices[0], alone, ((alone, choices[0].rgb),)),)
    # A light that is on is not put out, nor one that is off lit, for nothing.
    turned = -_TURNED if lever.now > 0.0 else _TURNED
    found: list[Way] = []
    for choice in choices:
        amount = programme.column(most=max(highs, 1e-9))
        switch = programme.column(_OFF_CENTRE * (choice.costs + turned), most=1.0, whole=True)
        programme.row({amount: 1.0, switch: -lows}, 0.0, math.inf)
        programme.row({amount: 1.0, switch: -highs}, -math.inf, 0.0)
        found.append(Way(choice, switch, ((amount, choice.rgb),)))
    if mixing is not None:
        switch = programme.column(_OFF_CENTRE * (KNOB_COSTS + turned), most=1.0, whole=True)
        drives = [programme.column(most=1.0) for _ in mixing.rgb]
        for drive in drives:
            programme.row({drive: 1.0, switch: -highs}, -math.inf, 0.0)
        light = (mixing.rgb * mixing.colour) @ WEIGHTS
        mixed = {drive: float(one) for drive, one in zip(drives, light, strict=True)}
        programme.row(mixed | {switch: -lows}, 0.0, math.inf)
        found.append(Way(None, switch, tuple(zip(drives, mixing.rgb, strict=True))))
    least = 0.0 if lever.free and lever.can_go_out else 1.0
    programme.row({one.switch: 1.0 for one in found}, least, 1.0)
    return tuple(found)


def _answer(problem: Problem, columns: Columns, found: Float64Array) -> Answer:
    shares, colours = np.zeros(len(problem.levers)), []
    for s, lever in enumerate(problem.levers):
        way = max(columns.light[s], key=lambda one: found[one.switch])
        amounts = np.array([found[column] for column, _ in way.parts])
        if way.choice is None and lever.mixing is not None and amounts.max() > LEAST_SHARE:
            choice, share = lever.mixing.mixed(np.maximum(amounts, 0.0))
        else:
            choice, share = way.choice or lever.colours[0], float(amounts[0])
        is_on = found[way.switch] >= 0.5 or len(columns.light[s]) == 1
        shares[s] = share if is_on else 0.0
        colours.append(choice if is_on else lever.colours[0])
        if not lever.free:
            shares[s] = lever.now
        elif shares[s] > 0.0:
            shares[s] = min(max(shares[s], lever.lowest), lever.highest)
    exposures = tuple(
        int(np.argmax([found[one] for one in mine])) if mine else 0 for mine in columns.exposure
    )
    return Answer(shares, tuple(colours), exposures)


# Terms -----------------------------------------------------------------------------------


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
        scale = max(factor * _typical(problem, table, term.over), 1e-9)
        return _plus(mine, other, -factor), 0.0, scale
    if term.keyed and table.exposures:
        chosen = {
            column: -factor * 2.0**one.stops
            for column, one in zip(columns.exposure[term.table], table.exposures, strict=True)
        }
        return mine | chosen, 0.0, factor
    return mine, factor, factor


def _typical(problem: Problem, table: Table, k: int) -> float:
    """What a reading comes to with every light as it is, or at a third where it is out."""
    shares = np.array([one.now if one.now > 0.0 else one.highest / 3.0 for one in problem.levers])
    return float(shares @ (table.rgb[:, k] @ WEIGHTS))


def _hard(problem: Problem, columns: Columns, term: Term) -> list[tuple[dict[int, float], float]]:
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
        up, down = (programme.column(_OFF_CENTRE * term.weight / term.scale) for _ in range(2))
        row = {column: value / scale for column, value in entries.items()}
        row |= {up: -1.0, down: 1.0}
        programme.row(row, offset / scale, offset / scale)


def _draw_in(
    programme: Programme, problem: Problem, columns: Columns, term: ColourTerm | HueTerm
) -> None:
    """It costs a little to be off the middle of a colour's band."""
    edges = (
        _hue_edges(problem, columns, term, within=_INNER)
        if isinstance(term, HueTerm)
        else _colour_edges(problem, columns, term, within=_INNER)
    )
    for entries, offset, scale, cost, most in edges:
        over = programme.column(_OFF_CENTRE * cost)
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
    least = _LEAST_LIGHT * _typical(problem, problem.tables[term.table], k)
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
    size = 15.0 * _typical(problem, problem.tables[t], k)
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
