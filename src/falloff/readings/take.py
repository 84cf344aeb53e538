"""Readings from light layers: dims and colours applied, parts told apart, errors kept."""

from __future__ import annotations

import math

import msgspec
import numpy as np

from falloff.constants import LUMINANCE_WEIGHTS
from falloff.findings import Finding, Weight
from falloff.layers import LightLayers
from falloff.readings.colour import uv_of
from falloff.readings.records import Reading, Readings, SourcePart, contrasts_of
from falloff.readings.setup import SetupLight
from falloff.readings.softness import softness_from
from falloff.transport import surface_shares
from falloff.types import Float64Array

_ERROR_WORTH_TELLING_STOPS = 1.0 / 6.0


def take_readings(layers: LightLayers, setup: SetupLight) -> Readings:
    """Every reading that the scene asks for, under one setup.

    A source without a dim is at 100 %. Illuminance at key and middle grey follow from the camera's
    settings (ISO 2720); every other number is the traced light, weighed by dims.
    """
    layers = setup.coloured(layers)
    dims = np.array([setup.dims.get(name, 1.0) for name in layers.names])
    stage = layers.solution.stage
    blank = setup.no_readings(stage.title, layers.names)
    readings = tuple(
        _one(layers, k, dims, blank.key_lux, blank.mid_grey_nit)
        for k, probe in enumerate(layers.probes.probes)
        if probe.view in (None, setup.camera)
    )
    subjects = {probe.name: probe.subject for probe in layers.probes.probes if probe.subject}
    lit = [name for name, dim in zip(layers.names, dims, strict=True) if dim > 0.0]
    return msgspec.structs.replace(
        blank,
        readings=readings,
        contrasts=contrasts_of(readings, subjects),
        softness=softness_from(stage, lit),
        findings=stage.findings + setup.findings + _findings(readings),
    )


def _one(layers: LightLayers, k: int, dims: Float64Array, key: float, grey: float) -> Reading:
    probe = layers.probes.probes[k]
    weights = np.array(LUMINANCE_WEIGHTS)
    tinted = dims[:, None] * layers.colours * weights  # (s, 3)
    direct = np.einsum("sc,scn->sn", tinted, layers.probes.direct[:, k])
    bounced = np.einsum("sc,scn->sn", tinted, layers.probes.bounced[:, k])
    whole = (direct + bounced).sum(0)
    value = float(whole.mean())
    error = float(whole.std(ddof=1) / math.sqrt(whole.size)) if whole.size > 1 else 0.0
    spot = probe.instrument == "spot"
    reference = grey if spot else key
    light = (layers.probes.direct[:, k] + layers.probes.bounced[:, k]).mean(-1)  # (s, 3)
    parts = tuple(
        SourcePart(
            source=name,
            direct=float(direct[s].mean()),
            bounced=float(bounced[s].mean()),
            share=float((direct[s] + bounced[s]).mean() / value) if value > 0.0 else 0.0,
            stops_over_key=_stops(float((direct[s] + bounced[s]).mean()), reference),
        )
        for s, name in enumerate(layers.names)
    )
    fabrics = layers.solution.stage.surfaces.fabric_names()
    bounce_from = _bounce_from(layers, k, dims, float(bounced.mean(1).sum()), value)
    return Reading(
        name=probe.name,
        instrument=probe.instrument,
        place=probe.place,
        faces=probe.faces,
        unit="cd/m²" if spot else "lx",
        value=value,
        standard_error=error,
        error_stops=error / value / math.log(2.0) if value > 0.0 else 0.0,
        stops_over_key=None if spot else _stops(value, key),
        stops_over_grey=_stops(value, grey) if spot else _surface_stops(layers, k, dims, grey),
        direct=float(direct.mean(1).sum()),
        bounced=float(bounced.mean(1).sum()),
        parts=parts,
        bounce_from=bounce_from,
        fabrics=tuple(name for name in bounce_from if name in fabrics),
        position_m=_triple(probe.point),
        normal=_triple(probe.normal),
        uv=uv_of((dims[:, None] * layers.colours * light).sum(0)),
    )


def _surface_stops(layers: LightLayers, k: int, dims: Float64Array, grey: float) -> float | None:
    """Stops over middle grey of the matte surface under a square receptor, as pictured."""
    probe = layers.probes.probes[k]
    stage = layers.solution.stage
    if probe.material is None or probe.material not in stage.material_names:
        return None
    albedo = stage.surfaces.albedo[stage.material_names.index(probe.material)]
    light = (layers.probes.direct[:, k] + layers.probes.bounced[:, k]).mean(-1)  # (s, 3)
    rgb = (dims[:, None] * layers.colours * light).sum(0) * albedo / math.pi
    return _stops(float(rgb @ np.array(LUMINANCE_WEIGHTS)), grey)


def _bounce_from(
    layers: LightLayers, k: int, dims: Float64Array, bounced: float, value: float
) -> dict[str, float]:
    """Share of a reading's whole light by the surface it last left; largest first."""
    totals: dict[str, float] = {}
    for s, dim in enumerate(dims):
        if dim > 0.0:
            shares = surface_shares(layers.solution, layers.probes, k, dim * layers.colours[s], s)
            for surface, light in shares.items():
                totals[surface] = totals.get(surface, 0.0) + light
    # Hit lists miss what hot spots give by shadow rays only in their sampling: the shares are
    # scaled to the bounced light that was measured.
    gathered = sum(totals.values())
    if gathered <= 0.0 or value <= 0.0:
        return {}
    scale = bounced / gathered / value
    ranked = sorted(totals.items(), key=lambda item: -item[1])
    return {surface: light * scale for surface, light in ranked if light * scale >= 0.005}


def _findings(readings: tuple[Reading, ...]) -> tuple[Finding, ...]:
    return tuple(
        Finding(
            weight=Weight.WARNING,
            about=reading.name,
            says=f"sampling leaves {reading.name} uncertain by {reading.error_stops:.2f} stop",
            do="trace again with a larger budget before you rely on it",
        )
        for reading in readings
        if reading.error_stops > _ERROR_WORTH_TELLING_STOPS
    )


def _stops(value: float, reference: float) -> float | None:
    return math.log2(value / reference) if value > 0.0 else None


def _triple(vector: Float64Array) -> tuple[float, float, float]:
    return (float(vector[0]), float(vector[1]), float(vector[2]))
