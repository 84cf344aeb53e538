"""What bounds a package: what circuits bear, what stands hold, how many there are of each."""

from __future__ import annotations

import math
from collections.abc import Sequence

from falloff.balance.package.problem import Limits, PackageProblem
from falloff.balance.programme import Programme


def lay_circuits(
    programme: Programme,
    problem: PackageProblem,
    taken: tuple[tuple[int, ...], ...],
    limits: Limits,
) -> tuple[tuple[tuple[str, int], ...], ...]:
    """Each place on its own circuit, or on one that it may take; no circuit over its room."""
    found: list[tuple[tuple[str, int], ...]] = []
    loads: dict[tuple[int, int], dict[int, float]] = {}
    for p, place in enumerate(problem.places):
        draws = {
            taken[p][k]: one.volt_amps
            for k, one in enumerate(place.candidates)
            if one.volt_amps > 0.0
        }
        on = [c for c, room in enumerate(problem.circuits) if place.circuit in ("", room.name)]
        plugs = []
        if draws and on:
            greatest = max(draws.values())
            shares = {}
            for c in on:
                plug = programme.column(most=1.0, whole=True)
                share = programme.column()
                programme.row({share: 1.0, plug: -greatest}, -math.inf, 0.0)
                for a, height in enumerate(place.heights_m):
                    if height is not None:
                        loads.setdefault((a, c), {})[share] = 1.0
                shares[share] = 1.0
                plugs.append((problem.circuits[c].name, plug))
            programme.row({plug: 1.0 for _, plug in plugs}, 0.0, 1.0)
            programme.row(shares | {taken_: -va for taken_, va in draws.items()}, 0.0, 0.0)
        found.append(tuple(plugs))
    if limits.circuits:
        for (_, c), load in loads.items():
            programme.row(load, -math.inf, problem.circuits[c].volt_amps)
    return tuple(found)


def lay_stands(
    programme: Programme,
    problem: PackageProblem,
    taken: tuple[tuple[int, ...], ...],
    limits: Limits,
) -> tuple[tuple[tuple[int, int], ...], ...]:
    """A stand for each that a candidate needs, high enough and strong enough: (stock, column)."""
    found: list[tuple[tuple[int, int], ...]] = []
    for p, place in enumerate(problem.places):
        mine: list[tuple[int, int]] = []
        if problem.stands_known and limits.stands and place.needs_stand:
            heights = [one for one in place.heights_m if one is not None]
            for j in range(max((len(one.loads_kg) for one in place.candidates), default=0)):
                loads = {
                    taken[p][k]: one.loads_kg[j]
                    for k, one in enumerate(place.candidates)
                    if len(one.loads_kg) > j
                }
                able = stands_able(problem, heights)
                columns = {i: programme.column(most=1.0, whole=True) for i in able}
                need = dict.fromkeys(loads, -1.0)
                programme.row(dict.fromkeys(columns.values(), 1.0) | need, 0.0, 0.0)
                holds = {column: load_of(problem, i) for i, column in columns.items()}
                programme.row(holds | {one: -kg for one, kg in loads.items()}, 0.0, math.inf)
                mine += columns.items()
        found.append(tuple(mine))
    return tuple(found)


def stands_able(problem: PackageProblem, heights_m: Sequence[float]) -> list[int]:
    """Which stock are stands that reach every one of these heights."""
    return [
        i
        for i, one in enumerate(problem.stock)
        if one.holds and all(one.holds[0] <= high <= one.holds[1] for high in heights_m)
    ]


def load_of(problem: PackageProblem, i: int) -> float:
    """What a stand bears, kg; 0 for all else."""
    holds = problem.stock[i].holds
    return 0.0 if holds is None else holds[2]


def lay_counts(
    programme: Programme,
    problem: PackageProblem,
    taken: tuple[tuple[int, ...], ...],
    stands: tuple[tuple[tuple[int, int], ...], ...],
    packed: tuple[int, ...],
) -> None:
    """As many of each stock are packed as stand at once in any arrangement."""
    for a in range(problem.arrangements):
        uses: list[dict[int, float]] = [{} for _ in problem.stock]
        for p, place in enumerate(problem.places):
            if place.heights_m[a] is None:
                continue
            for k, one in enumerate(place.candidates):
                for part in one.parts:
                    column = taken[p][k]
                    uses[part][column] = uses[part].get(column, 0.0) - 1.0
            for i, column in stands[p]:
                uses[i][column] = -1.0
        for i, use in enumerate(uses):
            if use:
                programme.row(use | {packed[i]: 1.0}, 0.0, math.inf)
