"""The problem of a package: places, what may stand at each, what there is to pack and to plug in.

Each candidate at a place is one more source of a balance's problem; which stands there is chosen
by the programme in `package_programme`. Everything here is bare arrays.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from falloff.balance.problem import LINEAR, Lever, Problem, Table
from falloff.kit import DimCurve
from falloff.types import Float64Array

BREAKER_SHARE: Final = 0.8  # of a breaker that is loaded for hours: common practice
NEARLY_OUT: Final = 2.0**-6  # of full light: as low as that, a light may as well be out
_ALIKE: Final = 1e-6
USUAL_RESERVE_STOPS: Final = 1.0  # common practice, no source


@dataclass(frozen=True, slots=True)
class Stock:
    """One thing to pack: how many there are (None: no end), what one costs a day, what it weighs.

    day_rate: 0 for what is owned; assumed: whether that rate is a guess by power. holds: lowest
    and highest (m) and load (kg) of a stand, None for all else.
    """

    name: str
    kind: str
    count: int | None
    owned: bool
    day_rate: float
    assumed: bool = False
    weight_kg: float = 0.0
    holds: tuple[float, float, float] | None = None


@dataclass(frozen=True, slots=True)
class StandIn:
    """What may stand at a place in its stead.

    parts: indices of stock, one for each piece; light: by table (p, 3) at full, lx or cd/m²;
    lowest: of its light, as a share of full; volt_amps: what its circuit bears; inrush_va: when it
    is switched on, None where it is not known; loads_kg: on each stand that it needs; curve: from
    its knob to its light; dims: if not, nets or wires take away what is too much; hot: whether it
    burns what touches it.
    """

    name: str
    parts: tuple[int, ...]
    light: tuple[Float64Array, ...]
    lowest: float
    power_w: float = 0.0
    volt_amps: float = 0.0
    inrush_va: float | None = None
    loads_kg: tuple[float, ...] = (0.0,)
    curve: DimCurve = LINEAR
    dims: bool = True
    hot: bool = False


@dataclass(frozen=True, slots=True)
class PlaceToFill:
    """Where a fixture of the scene stands, and what may stand there in its stead.

    circuit: the one that its file names, "" where any will do. heights_m: of its front over what
    it stands on, by arrangement; None where it is not there. needs_stand: whether it has one.
    """

    name: str
    candidates: tuple[StandIn, ...]
    circuit: str = ""
    heights_m: tuple[float | None, ...] = (1.5,)
    needs_stand: bool = False
    instead_of: str = ""


@dataclass(frozen=True, slots=True)
class CircuitRoom:
    """A circuit: its breaker and supply, and what is on it already and stays (VA)."""

    name: str
    breaker_amps: float
    volts: float
    already_va: float = 0.0

    @property
    def allowed_amps(self) -> float:
        """What its breaker bears for hours."""
        return BREAKER_SHARE * self.breaker_amps

    @property
    def volt_amps(self) -> float:
        """What there is room for."""
        return max(0.0, self.allowed_amps * self.volts - self.already_va)


@dataclass(frozen=True, slots=True)
class PackageProblem:
    """Setups' targets, the light that stays, places to fill, stock, circuits, stands.

    fixed: sources that stay as they are (windows, practicals), each table with its own dims;
    arrangement: which one each table is of. grip_heights_m: of grip on stands, by arrangement.
    stands_known: whether stock has the stands; else they are no limit. hopeless: targets (setup,
    name) that no light at these places can bring in, which count for nothing.
    """

    fixed: Problem
    arrangement: tuple[int, ...]
    places: tuple[PlaceToFill, ...]
    stock: tuple[Stock, ...]
    circuits: tuple[CircuitRoom, ...] = ()
    grip_heights_m: tuple[tuple[float, ...], ...] = ()
    stands_known: bool = False
    reserve_stops: float = USUAL_RESERVE_STOPS
    hopeless: frozenset[tuple[str, str]] = frozenset()

    @property
    def highest(self) -> float:
        """The share of full light that leaves the reserve in hand."""
        return float(2.0**-self.reserve_stops)

    @property
    def arrangements(self) -> int:
        """How many arrangements there are."""
        return 1 + max(self.arrangement, default=0)


@dataclass(frozen=True, slots=True)
class Limits:
    """Which limits hold; letting one go tells whether it stands in the way."""

    reserve: bool = True
    circuits: bool = True
    stands: bool = True
    counts: bool = True


@dataclass(frozen=True, slots=True)
class Chosen:
    """A package: the candidate at each place (None: nothing), its circuit, its stands, its light.

    shares: of full light by table and place; exposures: by table; packed: (n,) pieces of each
    stock; missed: weighed sum of what targets are missed by, 0 where all hold.
    """

    candidates: tuple[int | None, ...]
    circuits: tuple[str, ...]
    stands: tuple[tuple[int, ...], ...]
    shares: Float64Array
    exposures: tuple[int, ...]
    packed: tuple[int, ...]
    missed: float

    @property
    def pieces(self) -> int:
        """How many pieces are packed."""
        return sum(self.packed)


def hire_of(problem: PackageProblem, packed: tuple[int, ...]) -> float:
    """What a day of what is hired costs, in the kit's currency."""
    return sum(n * one.day_rate for n, one in zip(packed, problem.stock, strict=True))


def weight_of(problem: PackageProblem, packed: tuple[int, ...]) -> float:
    """What a package weighs, kg."""
    return sum(n * one.weight_kg for n, one in zip(packed, problem.stock, strict=True))


@dataclass(frozen=True, slots=True)
class Alike:
    """Candidates of one place whose light differs in strength alone: numbers, each one's strength.

    Their light is `light` (by table, as of a candidate) times their strength; those that cannot go
    as good as out are each alone.
    """

    place: int
    members: tuple[int, ...]
    strengths: tuple[float, ...]
    light: tuple[Float64Array, ...]
    lowest: float


def alike_of(problem: PackageProblem) -> tuple[Alike, ...]:
    """Every place's candidates by the form of their light, place by place."""
    found: list[Alike] = []
    for p, place in enumerate(problem.places):
        mine: list[Alike] = []
        for k, one in enumerate(place.candidates):
            for n, group in enumerate(mine):
                factor = _strength(group, one)
                if factor is not None:
                    mine[n] = replace(
                        group,
                        members=(*group.members, k),
                        strengths=(*group.strengths, factor),
                    )
                    break
            else:
                mine.append(Alike(p, (k,), (1.0,), one.light, one.lowest))
        found += mine
    return tuple(found)


def _strength(group: Alike, one: StandIn) -> float | None:
    """How much stronger a candidate is than a group's light; None where it is of another form."""
    if max(group.lowest, one.lowest) > NEARLY_OUT:
        return None
    known, mine = (
        np.concatenate([each.ravel() for each in light]) for light in (group.light, one.light)
    )
    total = float(known @ known)
    if total <= 0.0:
        return None
    factor = float(mine @ known) / total
    if factor <= 0.0 or not np.allclose(mine, factor * known, rtol=_ALIKE, atol=0.0):
        return None
    return factor


def whole_problem(problem: PackageProblem, groups: tuple[Alike, ...]) -> Problem:
    """A balance's problem with every form of light at every place as a source."""
    fixed = problem.fixed
    levers, rows = list(fixed.levers), [list(table.rgb) for table in fixed.tables]
    counts = [sum(group.place == p for group in groups) for p in range(len(problem.places))]
    for group in groups:
        # Of several one shines, with what the middle one gives: for scales alone.
        few = float(np.median(group.strengths)) / counts[group.place]
        levers.append(Lever(problem.places[group.place].name, 0.0, lowest=0.0, highest=few))
        for t, light in enumerate(group.light):
            rows[t].append(light)
    return _with_rows(fixed, levers, rows)


def chosen_problem(problem: PackageProblem, chosen: Chosen, t: int) -> Problem:
    """One table's problem with what a package puts at each place, its dims free below the reserve.

    Levers are the fixed ones, then one for each place that is filled, in their order.
    """
    fixed = problem.fixed
    table = fixed.tables[t]
    levers = [replace(lever, now=float(table.now[s])) for s, lever in enumerate(fixed.levers)]
    rows = [list(table.rgb)]
    for place, k in filled(problem, chosen):
        one = place.candidates[k]
        top = problem.highest
        low = min(one.lowest, top)
        levers.append(Lever(place.name, top, lowest=low, highest=top, curve=one.curve))
        rows[0].append(one.light[t])
    single = replace(fixed, tables=(table,))
    return _with_rows(single, levers, rows)


def filled(problem: PackageProblem, chosen: Chosen) -> list[tuple[PlaceToFill, int]]:
    """The places that something stands at, with its number."""
    both = zip(problem.places, chosen.candidates, strict=True)
    return [(place, k) for place, k in both if k is not None]


def _with_rows(fixed: Problem, levers: list[Lever], rows: list[list[Float64Array]]) -> Problem:
    tables = tuple(
        _table(table, np.array(light).reshape(len(levers), len(table.readings), 3), levers)
        for table, light in zip(fixed.tables, rows, strict=True)
    )
    return replace(fixed, levers=tuple(levers), tables=tables)


def _table(table: Table, rgb: Float64Array, levers: list[Lever]) -> Table:
    more = [lever.now for lever in levers[len(table.now) :]]
    return replace(table, rgb=rgb, now=np.concatenate([table.now, more]))
