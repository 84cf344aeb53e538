"""A chosen package as it is told: lines, places, circuits, targets."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from falloff.balance.package.judging import targets_got
from falloff.balance.package.problem import (
    Chosen,
    CircuitRoom,
    PackageProblem,
    filled,
    hire_of,
    weight_of,
)
from falloff.balance.package.records import CircuitLoad, Package, PackageLine, PlaceFilled
from falloff.balance.problem import Table, Told
from falloff.balance.records import ExposureSet
from falloff.balance.words import exposure_text
from falloff.kit.catalogue import knob_share
from falloff.readings import Judged


def package_told(
    problem: PackageProblem,
    chosen: Chosen,
    shares: Sequence[Mapping[str, float]],
    before: Mapping[Told, Judged],
    got: Mapping[Told, Judged],
    *,
    exposures: Sequence[int],
) -> Package:
    """A package with its dims (shares of full light by table and place), exposures and targets."""
    return Package(
        lines=_lines(problem, chosen),
        places=_places(problem, chosen, shares),
        circuits=tuple(
            load for room in problem.circuits if (load := _load(problem, chosen, room)) is not None
        ),
        exposures=tuple(
            exposure_told(table, k)
            for table, k in zip(problem.fixed.tables, exposures, strict=True)
            if table.exposures and k
        ),
        targets=targets_got(before, got),
        hire=hire_of(problem, chosen.packed),
        pieces=chosen.pieces,
        weight_kg=weight_of(problem, chosen.packed),
    )


def exposure_told(table: Table, k: int) -> ExposureSet:
    """A setup's exposure as it is written and as it is chosen."""
    before, after = table.exposures[0], table.exposures[k]
    return ExposureSet(
        setup=table.setup,
        before=exposure_text(before),
        after=exposure_text(after),
        stop=after.stop,
        iso=after.iso,
        nd_stops=after.nd_stops,
        stops=after.stops,
    )


def _lines(problem: PackageProblem, chosen: Chosen) -> tuple[PackageLine, ...]:
    found = []
    for i, (count, one) in enumerate(zip(chosen.packed, problem.stock, strict=True)):
        if not count:
            continue
        places = [
            place.name
            for p, place in enumerate(problem.places)
            if (k := chosen.candidates[p]) is not None
            and i in (*place.candidates[k].parts, *chosen.stands[p])
        ]
        found.append(
            PackageLine(
                item=one.name,
                kind=one.kind,
                count=count,
                owned=one.owned,
                day_rate=one.day_rate,
                assumed=one.assumed,
                weight_kg=one.weight_kg,
                places=tuple(places),
            )
        )
    return tuple(sorted(found, key=lambda line: (not line.owned, line.kind, line.item)))


def _places(
    problem: PackageProblem, chosen: Chosen, shares: Sequence[Mapping[str, float]]
) -> tuple[PlaceFilled, ...]:
    found = []
    setups = [table.setup for table in problem.fixed.tables]
    for p, place in enumerate(problem.places):
        k = chosen.candidates[p]
        if k is None:
            found.append(
                PlaceFilled(
                    place=place.name, light="", instead_of=place.instead_of, circuit="",
                    stands=(), dims={}, in_hand={},
                )
            )  # fmt: skip
            continue
        one = place.candidates[k]
        mine = {
            setup: light[place.name]
            for t, (setup, light) in enumerate(zip(setups, shares, strict=True))
            if place.heights_m[problem.arrangement[t]] is not None and place.name in light
        }
        found.append(
            PlaceFilled(
                place=place.name,
                light=one.name,
                instead_of=place.instead_of,
                circuit=chosen.circuits[p] or place.circuit,
                stands=tuple(problem.stock[i].name for i in chosen.stands[p]),
                dims={
                    setup: knob_share(one.curve, min(share, 1.0)) if share > 0.0 else 0.0
                    for setup, share in mine.items()
                },
                in_hand={
                    setup: -math.log2(share) if share > 0.0 else None
                    for setup, share in mine.items()
                },
                nets=not one.dims,
            )
        )
    return tuple(found)


def _load(problem: PackageProblem, chosen: Chosen, room: CircuitRoom) -> CircuitLoad | None:
    """What a circuit bears; None where nothing is plugged into it."""
    mine = [
        place.candidates[k]
        for place, k in filled(problem, chosen)
        if chosen.circuits[problem.places.index(place)] == room.name
    ]
    if not mine:
        return None
    inrush = [one.inrush_va for one in mine if one.inrush_va is not None]
    return CircuitLoad(
        circuit=room.name,
        power_w=sum(one.power_w for one in mine),
        amps=(sum(one.volt_amps for one in mine) + room.already_va) / room.volts,
        allowed_amps=room.allowed_amps,
        inrush_amps=max(inrush) / room.volts if inrush else None,
    )
