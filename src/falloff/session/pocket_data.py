"""What a pocket copy holds besides pictures: dims as gains, readings by source, exposure, units."""

from __future__ import annotations

from typing import Final, Literal

import msgspec
import numpy as np

from falloff.constants import LUMINANCE_WEIGHTS, LUX_PER_FOOTCANDLE, NITS_PER_FOOTLAMBERT
from falloff.document import KitLight, SceneDocument, points_of, readings_in, targets_in
from falloff.findings import Finding
from falloff.layers import LightLayers
from falloff.readings import SetupLight, take_readings
from falloff.session.pocket_day import PocketDay
from falloff.session.pocket_exposure import PocketExposure, pocket_exposure, short_number
from falloff.session.pocket_units import PocketUnit, pocket_units
from falloff.session.pocket_wanted import PocketFix, PocketTarget, pocket_targets
from falloff.stage import dim_gains, dimmed_light
from falloff.stage.kit_lights import kit_items
from falloff.stage.places import Placer

POCKET_VERSION: Final = 1

Kind = Literal["fixture", "practical", "window", "sun"]
Rgb = tuple[float, float, float]


class PocketSource(msgspec.Struct, frozen=True, kw_only=True):
    """A source: its gains (3,) at knob 0, 1 %, ... 100 %, or the one gain of what has no dim.

    knob, at_plan: its knob in this setup, and the gain there; steady_from: the lowest knob that it
    holds without flicker. gains times the white layer at 100 % is its light.
    """

    name: str
    kind: Kind
    dims: bool
    gains: tuple[Rgb, ...]
    knob: float
    at_plan: Rgb
    steady_from: float = 0.0


class PocketReading(msgspec.Struct, frozen=True, kw_only=True):
    """A reading by source, white and at 100 %: direct, bounced (s, 3), lux or (spot) cd/m².

    error_stops: one standard error of sampling, dims as planned; wanted: whether the scene says
    what it should come to.
    """

    name: str
    instrument: str
    place: str
    faces: str
    unit: str
    direct: tuple[Rgb, ...]
    bounced: tuple[Rgb, ...]
    planned: float
    error_stops: float
    wanted: bool


class PocketContrast(msgspec.Struct, frozen=True, kw_only=True):
    """A face whose two cheeks are read: places of the key and the shadow side in the readings."""

    subject: str
    key: int
    shadow: int


class PocketSetup(msgspec.Struct, frozen=True, kw_only=True):
    """One setup: its picture's size, exposure, sources, readings and units.

    first: place of the reading that is told first; light: number of its first source's layer, the
    others follow; scales: what each source's layer is to be multiplied by, cd/m²; fixes: where a
    target is missed with the best dims; day: not there in a scene without an hour.
    """

    name: str
    first: int
    light: int
    scales: tuple[float, ...]
    width: int
    height: int
    exposure: PocketExposure
    sources: tuple[PocketSource, ...]
    readings: tuple[PocketReading, ...]
    contrasts: tuple[PocketContrast, ...]
    units: tuple[PocketUnit, ...]
    findings: tuple[Finding, ...]
    targets: tuple[PocketTarget, ...] = ()
    fixes: tuple[PocketFix, ...] = ()
    day: PocketDay | msgspec.UnsetType = msgspec.UNSET


class PocketScene(msgspec.Struct, frozen=True, kw_only=True):
    """All that a pocket copy knows, without its layers."""

    falloff_pocket: int
    version: str
    title: str
    file: str
    stem: str
    checksum: str
    units: str
    luminance: tuple[float, ...]
    per_unit: dict[str, float]  # SI of one: lux of a foot-candle, cd/m² of a foot-lambert
    setups: tuple[PocketSetup, ...]
    left_out: tuple[str, ...]


def pocket_scene(
    document: SceneDocument,
    setups: tuple[PocketSetup, ...],
    *,
    stem: str,
    left_out: tuple[str, ...],
) -> PocketScene:
    """The setups with what is common to them."""
    from falloff import __version__

    return PocketScene(
        falloff_pocket=POCKET_VERSION,
        version=__version__,
        title=document.title,
        file=document.file_name,
        stem=stem,
        checksum=document.checksum,
        units=document.units,
        luminance=LUMINANCE_WEIGHTS,
        per_unit={"lx": 1.0, "fc": LUX_PER_FOOTCANDLE, "cd/m²": 1.0, "fL": NITS_PER_FOOTLAMBERT},
        setups=setups,
        left_out=left_out,
    )


def pocket_setup(
    document: SceneDocument,
    layers: LightLayers,
    setup: SetupLight,
    *,
    light: int,
    scales: tuple[float, ...],
) -> PocketSetup:
    """One setup of an arranged document and its layers, its day left out.

    light, scales: see `pocket_page`.
    """
    taken = take_readings(layers, setup)
    places = [
        k for k, probe in enumerate(layers.probes.probes) if probe.view in (None, setup.camera)
    ]
    points = points_of(document)
    wanted = {
        point
        for one in targets_in(document, setup.name).values()
        for name in readings_in(one)
        for point in points[name]
    }
    readings = tuple(
        PocketReading(
            name=reading.name,
            instrument=reading.instrument,
            place=reading.place,
            faces=reading.faces,
            unit=reading.unit,
            direct=_rgb_rows(layers.probes.direct[:, k].mean(-1)),
            bounced=_rgb_rows(layers.probes.bounced[:, k].mean(-1)),
            planned=reading.value,
            error_stops=reading.error_stops,
            wanted=reading.name in wanted,
        )
        for k, reading in zip(places, taken.readings, strict=True)
    )
    at = {(reading.place, reading.instrument): n for n, reading in enumerate(readings)}
    height, width = layers.views[setup.camera].direct.shape[1:3]
    contrasts = tuple(
        PocketContrast(
            subject=one.subject,
            key=at[(f"{one.subject}.cheek_key", "flat")],
            shadow=at[(f"{one.subject}.cheek_shadow", "flat")],
        )
        for one in taken.contrasts
    )
    return PocketSetup(
        name=setup.name,
        first=_first(setup.key, readings, contrasts),
        light=light,
        scales=scales,
        width=width,
        height=height,
        exposure=pocket_exposure(document.setups[setup.name], setup.settings),
        sources=tuple(
            _source(document, setup, name, layers.colours[s]) for s, name in enumerate(layers.names)
        ),
        readings=readings,
        contrasts=contrasts,
        units=pocket_units(document),
        findings=taken.findings,
        targets=pocket_targets(document, setup.name, [one.name for one in readings]),
    )


def _first(
    key: str | None, readings: tuple[PocketReading, ...], contrasts: tuple[PocketContrast, ...]
) -> int:
    """The setup's key; else the key side of a face, the first that is no spot, the first at all."""
    of_key = next((n for n, one in enumerate(readings) if one.name == key), None)
    if of_key is not None:
        return of_key
    if contrasts:
        return contrasts[0].key
    return next((n for n, one in enumerate(readings) if one.instrument != "spot"), 0)


def _source(
    document: SceneDocument, setup: SetupLight, name: str, colour: np.ndarray
) -> PocketSource:
    kind = _kind(document, name)
    knob = setup.knob(name)
    if kind in ("window", "sun"):
        return PocketSource(
            name=name, kind=kind, dims=False, gains=(_rgb(colour),), knob=1.0, at_plan=_rgb(colour)
        )
    dims, steady_from = _steadiness(document, name)
    return PocketSource(
        name=name,
        kind=kind,
        dims=dims,
        gains=_rgb_rows(dim_gains(document, name) * colour),
        knob=knob,
        at_plan=_gain(document, name, knob, colour),
        steady_from=steady_from,
    )


def _gain(document: SceneDocument, name: str, knob: float, colour: np.ndarray) -> Rgb:
    lit = dimmed_light(document, name, knob)
    return _rgb(lit.light_share * lit.tint * colour)


def _steadiness(document: SceneDocument, name: str) -> tuple[bool, float]:
    """Whether a light dims at all, and the lowest knob that it holds steady."""
    section = "fixtures" if name in document.fixtures else "practicals"
    light = (document.fixtures | document.practicals)[name].light
    if not isinstance(light, KitLight):
        return True, 0.0
    item, _ = kit_items(Placer(document), (section, name), light)
    return item.dims, item.lowest_steady_share


def _kind(document: SceneDocument, name: str) -> Kind:
    if name in document.fixtures:
        return "fixture"
    if name in document.practicals:
        return "practical"
    return "window" if name in document.openings else "sun"


def _rgb_rows(values: np.ndarray) -> tuple[Rgb, ...]:
    return tuple(_rgb(row) for row in values)


def _rgb(values: np.ndarray) -> Rgb:
    r, g, b = (short_number(float(one)) for one in values)
    return r, g, b
