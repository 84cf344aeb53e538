"""Readings as a matrix: each source's light at each place, so that dims are a weighing of it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

import msgspec
import numpy as np

from falloff.constants import LUMINANCE_WEIGHTS
from falloff.readings.colour import uv_of
from falloff.readings.records import Reading, Readings, Softness, SourcePart, contrasts_of
from falloff.readings.setup import SetupLight
from falloff.types import Float64Array

if TYPE_CHECKING:
    from falloff.transport import ProbeTrace, Solution

_SURFACES_KEPT = 12  # that bounced light last left, for each source at each place


class MatrixReading(msgspec.Struct, frozen=True, kw_only=True):
    """One place of the matrix: instrument, aim, and the surface it lies on.

    view: the camera that it belongs to, None for all; albedo: (3,) of the matte surface under a
    square receptor, None where there is none.
    """

    name: str
    instrument: str
    place: str
    faces: str
    unit: str
    subject: str | None
    view: str | None
    albedo: tuple[float, float, float] | None
    position_m: tuple[float, float, float]
    normal: tuple[float, float, float]


class ReadingsMatrix(msgspec.Struct, frozen=True, kw_only=True):
    """Light of source s at reading p: [s][p][3], white, at 100 %; lux or, for spots, cd/m².

    shares: [s][p] of its bounced light by the surface that it last left.
    """

    scene: str
    sources: tuple[str, ...]
    readings: tuple[MatrixReading, ...]
    direct: list[list[list[float]]]
    bounced: list[list[list[float]]]
    shares: list[list[dict[str, float]]]
    fabrics: tuple[str, ...]
    softness: tuple[Softness, ...]


def readings_matrix(
    solution: Solution,
    probes: ProbeTrace,
    *,
    only: tuple[int, ...] | None = None,
    before: ReadingsMatrix | None = None,
) -> ReadingsMatrix:
    """The matrix of a trace.

    only: the sources whose light the trace holds, all where None; the rows of others are taken
    from before, which has the same sources and readings.
    """
    from falloff.readings.softness import softness_from
    from falloff.transport import surface_shares

    stage = solution.stage
    direct, bounced = probes.mean()
    wanted = range(len(stage.sources)) if only is None else only
    rows: dict[int, tuple[list[list[float]], list[list[float]], list[dict[str, float]]]] = {}
    for s in wanted:
        shares = [
            _largest(surface_shares(solution, probes, k, np.ones(3), s))
            for k in range(len(probes.probes))
        ]
        rows[s] = (direct[s].tolist(), bounced[s].tolist(), shares)
    for s in range(len(stage.sources)):
        if s not in rows:
            assert before is not None
            rows[s] = (before.direct[s], before.bounced[s], before.shares[s])
    names = tuple(source.name for source in stage.sources)
    return ReadingsMatrix(
        scene=stage.title,
        sources=names,
        readings=tuple(
            MatrixReading(
                name=probe.name,
                instrument=probe.instrument,
                place=probe.place,
                faces=probe.faces,
                unit="cd/m²" if probe.instrument == "spot" else "lx",
                subject=probe.subject,
                view=probe.view,
                albedo=_albedo(solution, probe.material),
                position_m=_triple(probe.point),
                normal=_triple(probe.normal),
            )
            for probe in probes.probes
        ),
        direct=[rows[s][0] for s in range(len(names))],
        bounced=[rows[s][1] for s in range(len(names))],
        shares=[rows[s][2] for s in range(len(names))],
        fabrics=tuple(sorted(stage.surfaces.fabric_names())),
        softness=softness_from(stage, names),
    )


def read_matrix(
    matrix: ReadingsMatrix, setup: SetupLight, gains: Mapping[str, Float64Array]
) -> Readings:
    """Readings of one setup from the matrix; sampling errors and findings are not in it.

    gains: what each source's white light at full is times (3,), as `SetupLight.gains`.
    """
    blank = setup.no_readings(matrix.scene, matrix.sources)
    shape = (len(matrix.sources), len(matrix.readings), 3)
    by_source = np.array([gains[name] for name in matrix.sources]).reshape(-1, 3)
    direct = by_source[:, None] * np.array(matrix.direct).reshape(shape)
    bounced = by_source[:, None] * np.array(matrix.bounced).reshape(shape)
    taken = tuple(
        _reading(matrix, k, direct[:, k], bounced[:, k], (blank.key_lux, blank.mid_grey_nit))
        for k, one in enumerate(matrix.readings)
        if one.view in {None, setup.camera}
    )
    subjects = {one.name: one.subject for one in matrix.readings if one.subject}
    return msgspec.structs.replace(
        blank,
        readings=taken,
        contrasts=contrasts_of(taken, subjects),
        softness=matrix.softness,
    )


def _reading(
    matrix: ReadingsMatrix,
    k: int,
    direct_rgb: Float64Array,
    bounced_rgb: Float64Array,
    references: tuple[float, float],
) -> Reading:
    """One reading from each source's direct and bounced light (s, 3) at it.

    references: illuminance at key (lx), luminance of middle grey (cd/m²).
    """
    one = matrix.readings[k]
    spot = one.instrument == "spot"
    key, grey = references
    weights = np.array(LUMINANCE_WEIGHTS)
    whole = (direct_rgb + bounced_rgb).sum(0)
    direct, bounced = direct_rgb @ weights, bounced_rgb @ weights
    each = direct + bounced
    value = float(each.sum())
    pictured = value if spot else None
    if one.albedo is not None:  # a matte surface in that light
        pictured = float(whole * one.albedo @ weights) / math.pi
    left: dict[str, float] = {}
    for s in range(len(matrix.sources)):
        for surface, share in matrix.shares[s][k].items():
            light = share * float(bounced[s])
            left[surface] = left.get(surface, 0.0) + light
    bounce_from = {
        surface: light / value
        for surface, light in sorted(left.items(), key=lambda item: -item[1])
        if value > 0.0 and light / value >= 0.005
    }
    return Reading(
        name=one.name,
        instrument=one.instrument,
        place=one.place,
        faces=one.faces,
        unit=one.unit,
        value=value,
        standard_error=0.0,
        error_stops=0.0,
        stops_over_key=None if spot else _stops(value, key),
        stops_over_grey=None if pictured is None else _stops(pictured, grey),
        direct=float(direct.sum()),
        bounced=float(bounced.sum()),
        parts=tuple(
            SourcePart(
                source=name,
                direct=float(direct[s]),
                bounced=float(bounced[s]),
                share=float(each[s]) / value if value > 0.0 else 0.0,
                stops_over_key=_stops(float(each[s]), grey if spot else key),
            )
            for s, name in enumerate(matrix.sources)
        ),
        bounce_from=bounce_from,
        fabrics=tuple(name for name in bounce_from if name in matrix.fabrics),
        position_m=one.position_m,
        normal=one.normal,
        uv=uv_of(whole),
    )


def _largest(shares: dict[str, float]) -> dict[str, float]:
    """The largest few as shares of all of them."""
    total = sum(shares.values())
    if total <= 0.0:
        return {}
    ranked = sorted(shares.items(), key=lambda item: -item[1])[:_SURFACES_KEPT]
    return {surface: light / total for surface, light in ranked}


def _albedo(solution: Solution, material: str | None) -> tuple[float, float, float] | None:
    stage = solution.stage
    if material is None or material not in stage.material_names:
        return None
    return _triple(stage.surfaces.albedo[stage.material_names.index(material)])


def _stops(value: float, reference: float) -> float | None:
    return math.log2(value / reference) if value > 0.0 else None


def _triple(vector: np.ndarray) -> tuple[float, float, float]:
    return (float(vector[0]), float(vector[1]), float(vector[2]))
