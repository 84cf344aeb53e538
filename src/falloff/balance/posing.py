"""pose(setups) -> Problem: what a scene's lights can do, and their light at its readings."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from falloff.balance.colours import ColoursWanted, colours_of, mixing_of
from falloff.balance.problem import (
    AS_IT_STANDS,
    LEAST_CHANNEL,
    LEAST_SHARE,
    WEIGHTS,
    ColourChoice,
    ExposureChoice,
    Lever,
    Problem,
    Table,
    Warming,
)
from falloff.camera import key_illuminance_lux, mid_grey_luminance_nit
from falloff.document import (
    CameraFreedom,
    ColourTarget,
    HueTarget,
    SceneDocument,
    Setup,
    points_of,
)
from falloff.kit.catalogue import knob_share, light_share
from falloff.layers import LightLayers
from falloff.readings import SetupLight
from falloff.sources import SKY, SUN
from falloff.stage import Dimming, dimmed_light, dimming_of

_LEAST_KNOB: Final = 0.01  # a dim below one per cent is not set by hand
_WARMING_KNOTS: Final = 2.0 ** np.linspace(-8.0, 0.0, 17)
_WINDOW_SPREAD_STOPS: Final = 0.5  # common practice, no source: a sky is never quite as it was told
_THIRD: Final = 1.0 / 3.0


@dataclass(frozen=True, slots=True)
class Posed:
    """One setup with its light: the document as it stands in it, and its layers."""

    document: SceneDocument
    setup: str
    light: SetupLight
    layers: LightLayers


def pose(setups: Sequence[Posed], *, only: Mapping[str, Sequence[str]] | None = None) -> Problem:
    """The problem of these setups with one dim for each light; at least one setup.

    only: by setup, the targets that are asked for; all that are wanted in it where None.
    """
    tables = tuple(
        table_of(one, None if only is None else only.get(one.setup, ())) for one in setups
    )
    names = tuple(dict.fromkeys(name for one in setups for name in one.layers.names))
    wanted = [target for table in tables for target in table.targets.values()]
    colours = ColoursWanted(
        white=any(isinstance(one, ColourTarget) for one in wanted),
        hue=any(isinstance(one, HueTarget) for one in wanted),
        mired=min((one.tolerance for one in wanted if isinstance(one, ColourTarget)), default=30.0),
    )
    levers = tuple(
        _lever(next(one for one in setups if name in one.layers.names), name, colours)
        for name in names
    )
    return Problem(
        scene=setups[0].document.title,
        levers=levers,
        tables=tuple(
            _with_rows(table, names, one.layers.names)
            for table, one in zip(tables, setups, strict=True)
        ),
    )


def _with_rows(table: Table, names: tuple[str, ...], own: tuple[str, ...]) -> Table:
    """The table with a row for every source of all setups, dark where one is not there."""
    if names == own:
        return table
    rgb, now = np.zeros((len(names), *table.rgb.shape[1:])), np.zeros(len(names))
    for s, name in enumerate(own):
        rgb[names.index(name)], now[names.index(name)] = table.rgb[s], table.now[s]
    return replace(table, rgb=rgb, now=now)


def table_of(posed: Posed, only: Sequence[str] | None = None) -> Table:
    """One setup's light at the readings that its camera takes."""
    layers, document = posed.layers, posed.document
    probes = layers.probes.probes
    rows = [k for k, probe in enumerate(probes) if probe.view in {None, posed.light.camera}]
    direct, bounced = layers.probes.mean()
    colours = np.maximum(layers.colours, LEAST_CHANNEL)
    rgb = (direct + bounced)[:, rows] * colours[:, None, :]
    settings = posed.light.settings
    shares = np.array([posed.light.dims.get(name, 1.0) for name in layers.names])
    tints = np.array([posed.light.tints.get(name, np.ones(3)) for name in layers.names])
    tints = tints.reshape(-1, 3)
    now = np.einsum("s,sc,spc->p", shares, tints * WEIGHTS, rgb)
    names = tuple(probes[k].name for k in rows)
    points = points_of(document)
    return Table(
        setup=posed.setup,
        readings=names,
        rgb=rgb,
        now=shares,
        spots=np.array([probes[k].instrument == "spot" for k in rows], bool),
        key_lux=float(key_illuminance_lux(settings)),
        grey_nit=float(mid_grey_luminance_nit(settings)),
        balance_kelvin=settings.balance_kelvin,
        targets={
            name: target
            for name, target in document.targets.items()
            if (only is None or name in only)
            and (not target.setups or posed.setup in target.setups)
        },
        points=points,
        kept=dict(zip(names, now.tolist(), strict=True)),
        exposures=exposures_of(document.setups[posed.setup]),
        out_of_frame=out_of_frame(posed),
    )


def out_of_frame(posed: Posed) -> frozenset[str]:
    """Spots that a setup's camera does not have in frame."""
    view = posed.layers.solution.stage.views.get(posed.light.camera)
    if view is None:
        return frozenset()
    return frozenset(
        probe.name
        for probe in posed.layers.probes.probes
        if probe.instrument == "spot"
        and probe.view in {None, posed.light.camera}
        and not view.in_frame(probe.point[None])[0]
    )


# Exposure --------------------------------------------------------------------------------


def exposures_of(setup: Setup) -> tuple[ExposureChoice, ...]:
    """What a setup's camera may be set to, the first as it is written; by thirds of a stop.

    Of those that take the same light, the one that changes least.
    """
    free = setup.free or CameraFreedom()
    written = ExposureChoice(setup.stop.si, setup.iso, setup.nd.si, 0.0)
    stops = [setup.stop.si, *_thirds(free)]
    found: dict[int, ExposureChoice] = {0: written}
    for stop in stops:
        for iso in (setup.iso, *free.iso):
            for nd in (setup.nd.si, *(one.si for one in free.nd)):
                by_stop = 2.0 * math.log2(stop / setup.stop.si)
                by_iso, by_nd = -math.log2(iso / setup.iso), nd - setup.nd.si
                costs = 0.3 * abs(by_stop) + 0.1 * abs(by_iso) + 0.05 * abs(by_nd)
                one = ExposureChoice(stop, iso, nd, by_stop + by_iso + by_nd, costs + 0.1)
                key = round(12.0 * one.stops)
                if key not in found or found[key].costs > one.costs:
                    found[key] = one
    return tuple(found.values())


def _thirds(free: CameraFreedom) -> list[float]:
    """The stops between the widest and the narrowest, by thirds."""
    if free.stop is None:
        return []
    low, high = (one.si for one in free.stop)
    count = max(0, round(3.0 * 2.0 * math.log2(high / low)))
    return [round(low * 2.0 ** (k * _THIRD / 2.0), 3) for k in range(count)] + [high]


# Levers ----------------------------------------------------------------------------------


def _lever(posed: Posed, name: str, wanted: ColoursWanted) -> Lever:
    document, layers = posed.document, posed.layers
    source = layers.solution.stage.sources[layers.names.index(name)]
    now = posed.light.dims.get(name, 1.0)
    if source.kind in {SKY, SUN} or name not in {**document.fixtures, **document.practicals}:
        return Lever(
            name, now, free=False, can_go_out=False, spread_stops=_WINDOW_SPREAD_STOPS,
            fixed_because=f"{name} has no dim",
        )  # fmt: skip
    how = dimming_of(document, name)
    knob = max(how.lowest_share, _LEAST_KNOB)
    lowest = max(light_share(how.curve, knob), LEAST_SHARE)
    if not how.dims:
        lowest = 1.0
    choices: tuple[ColourChoice, ...] = (AS_IT_STANDS,)
    if wanted.any:
        choices += colours_of(document, name, how, wanted)
    mixes = wanted.any and name in document.fixtures
    return Lever(
        source=name,
        now=now,
        lowest=lowest,
        curve=how.curve,
        colours=choices,
        mixing=mixing_of(document, name) if mixes else None,
        warming=_warming(document, name, how),
        spread_stops=how.spread_stops,
        fixed_because="" if how.dims else f"{name} does not dim",
        in_shot=name in document.practicals,
    )


def _warming(document: SceneDocument, name: str, how: Dimming) -> Warming | None:
    """What dimming does to a light's colour; None where it keeps it."""
    if how.colour.kind == "steady":
        return None
    shares, rgb = [], []
    for share in _WARMING_KNOTS:
        one = dimmed_light(document, name, knob_share(how.curve, float(share)))
        shares.append(float(share))
        rgb.append(one.tint)
    table = np.stack(rgb)
    return None if np.ptp(table, axis=0).max() < 1e-9 else Warming(np.array(shares), table)
