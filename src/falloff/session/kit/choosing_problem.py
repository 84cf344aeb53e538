"""From a scene and an offer to the problem of a package."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from falloff.balance import (
    CircuitRoom,
    Lever,
    PackageProblem,
    PlaceToFill,
    Posed,
    Problem,
    StandIn,
    Table,
)
from falloff.balance.posing import table_of
from falloff.document import SceneDocument
from falloff.kit.catalogue import knob_share, light_share
from falloff.session.balance import posed_setup, standing_layers
from falloff.session.kit.choosing_candidates import Fit, fits_at, with_fixture
from falloff.session.kit.choosing_light import light_of_fits
from falloff.session.kit.choosing_likes import look_of
from falloff.session.kit.choosing_stock import Offers, used_stock
from falloff.session.scene import Arrangement, Scene
from falloff.stage import dimmed_light, dimming_of, light_now
from falloff.stage.places import Placer
from falloff.transport import Progress
from falloff.types import Float64Array

LEAST_KNOB: Final = 0.01  # a dim below one per cent is not set by hand
LEAST_NETTED: Final = 2.0**-3  # of the light of one that does not dim: three stops of nets
_HOT: Final = ("tungsten", "daylight discharge")


@dataclass(frozen=True, slots=True)
class Posing:
    """A package's problem, and by place the candidates that its numbers stand for."""

    problem: PackageProblem
    fits: Mapping[str, tuple[Fit, ...]]
    written: tuple[Problem, ...]
    unlike: tuple[str, ...]


def problem_of(scene: Scene, offers: Offers, *, reserve_stops: float, progress: Progress) -> Posing:
    """Trace the scene, then each candidate at each place; what it all comes to as a problem.

    unlike: places at which nothing that is offered may stand.
    """
    document = scene.document
    traced = [standing_layers(standing, progress) for standing in scene.arrangements]
    posed = [
        (a, posed_setup(standing, setup, traced[a]))
        for a, standing in enumerate(scene.arrangements)
        for setup in standing.setups
    ]
    posed.sort(key=lambda one: scene.setups.index(one[1].setup))
    tables = [table_of(one) for _, one in posed]
    rows = [_rows_seen(one) for _, one in posed]
    places, kept, unlike = [], {}, []
    for n, name in enumerate(document.fixtures):
        progress("lights", n / len(document.fixtures))
        fits = fits_at(document, name, offers)
        lit = [
            {one.fit.name: one for one in light_of_fits(standing.document, layers, name, fits)}
            if name in standing.document.fixtures
            else None
            for standing, layers in zip(scene.arrangements, traced, strict=True)
        ]
        fits = tuple(fit for fit in fits if all(here is None or fit.name in here for here in lit))
        if not fits:
            unlike.append(name)
        light = [
            tuple(
                np.zeros((len(rows[t]), 3)) if (here := lit[a]) is None
                else here[fit.name].light[rows[t]]
                for t, (a, _) in enumerate(posed)
            )
            for fit in fits
        ]  # fmt: skip
        kept[name] = fits
        places.append(_place(scene, name, fits, light, reserve_stops=reserve_stops))
    progress("lights", 1.0)
    used = {part for place in places for one in place.candidates for part in one.parts}
    stock, renumbered = used_stock(offers.stock, used)
    places = [
        replace(
            place,
            candidates=tuple(
                replace(one, parts=tuple(renumbered[part] for part in one.parts))
                for one in place.candidates
            ),
        )
        for place in places
    ]
    problem = PackageProblem(
        fixed=_fixed(document, [one for _, one in posed], tables),
        arrangement=tuple(a for a, _ in posed),
        places=tuple(places),
        stock=stock,
        circuits=_circuits(document),
        stands_known=offers.stands_known,
        reserve_stops=reserve_stops,
    )
    written = tuple(
        Problem(
            document.title,
            tuple(Lever(name, float(share)) for name, share in zip(names, table.now, strict=True)),
            (table,),
        )
        for names, table in zip((one.layers.names for _, one in posed), tables, strict=True)
    )
    return Posing(problem, kept, written, tuple(unlike))


def _rows_seen(posed: Posed) -> list[int]:
    """The probes that a setup's camera takes, as `table_of` has them."""
    probes = posed.layers.probes.probes
    return [k for k, one in enumerate(probes) if one.view in {None, posed.light.camera}]


def _fixed(document: SceneDocument, posed: Sequence[Posed], tables: Sequence[Table]) -> Problem:
    """What gives light besides fixtures, one row for each in every setup."""
    names = tuple(
        dict.fromkeys(
            name for one in posed for name in one.layers.names if name not in document.fixtures
        )
    )
    found = []
    for one, table in zip(posed, tables, strict=True):
        rgb = np.zeros((len(names), *table.rgb.shape[1:]))
        now = np.zeros(len(names))
        for s, name in enumerate(one.layers.names):
            if name in names:
                tint = one.light.tints.get(name, np.ones(3))
                rgb[names.index(name)] = table.rgb[s] * tint
                now[names.index(name)] = table.now[s]
        found.append(replace(table, rgb=rgb, now=now))
    levers = tuple(
        Lever(name, 1.0, free=False, can_go_out=False, fixed_because=f"{name} stays as it is")
        for name in names
    )
    return Problem(document.title, levers, tuple(found))


def _place(
    scene: Scene,
    name: str,
    fits: tuple[Fit, ...],
    light: list[tuple[Float64Array, ...]],
    *,
    reserve_stops: float,
) -> PlaceToFill:
    document = scene.document
    fixture = document.fixtures[name]
    written = look_of(document, light_now(document, name))
    return PlaceToFill(
        name=name,
        candidates=tuple(
            _stand_in(document, name, fit, mine, reserve_stops)
            for fit, mine in zip(fits, light, strict=True)
        ),
        circuit=_known_circuit(document, fixture.circuit),
        heights_m=tuple(_height(standing, name) for standing in scene.arrangements),
        needs_stand=fixture.stand,
        instead_of="" if written is None else written.in_words(),
    )


def _stand_in(
    document: SceneDocument,
    name: str,
    fit: Fit,
    light: tuple[Float64Array, ...],
    reserve_stops: float,
) -> StandIn:
    stands = with_fixture(document, name, fit.fixture)
    how = dimming_of(stands, name)
    tint = dimmed_light(stands, name, knob_share(how.curve, 2.0**-reserve_stops)).tint
    item = fit.item
    mains = item.supply in ("mains", "mains or battery")
    volt_amps = item.power_w / max(0.1, item.power_factor) if mains else 0.0
    return StandIn(
        name=fit.name,
        parts=fit.parts,
        light=tuple(one * tint for one in light),
        lowest=light_share(how.curve, max(how.lowest_share, LEAST_KNOB))
        if how.dims
        else LEAST_NETTED,
        power_w=item.power_w if mains else 0.0,
        volt_amps=volt_amps,
        inrush_va=volt_amps * item.inrush_ratio if item.inrush_ratio else None,
        loads_kg=fit.loads_kg,
        curve=how.curve,
        dims=how.dims,
        hot=item.family in _HOT,
    )


def _height(standing: Arrangement, name: str) -> float | None:
    """How high a fixture's front is over the floor, or over the ground outside."""
    document = standing.document
    if name not in document.fixtures:
        return None
    height = float(Placer(document).origin(name)[2])
    outside = document.outside
    if document.fixtures[name].outside and outside is not None:
        height -= outside.ground_level.si
    return height


def _known_circuit(document: SceneDocument, circuit: str | None) -> str:
    power = document.house_power
    return circuit if circuit and power and circuit in power.circuits else ""


def _circuits(document: SceneDocument) -> tuple[CircuitRoom, ...]:
    """The circuits of the house, with what is in shot on them already."""
    power = document.house_power
    if power is None:
        return ()
    already: dict[str, float] = {}
    for name, light in document.practicals.items():
        if light.circuit:
            drawn = light_now(document, name).power_w or 0.0
            already[light.circuit] = already.get(light.circuit, 0.0) + drawn
    return tuple(
        CircuitRoom(name, one.breaker.si, power.supply.si, already.get(name, 0.0))
        for name, one in power.circuits.items()
    )
