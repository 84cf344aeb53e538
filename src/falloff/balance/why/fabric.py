"""What a fabric in a light's beam scatters on: that light's own, through the fabric."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

import numpy as np

from falloff.balance.why.rays import NEAR
from falloff.constants import LUMINANCE_WEIGHTS
from falloff.readings import readings_matrix
from falloff.sources import Source
from falloff.stage import Probe, Stage
from falloff.transport import Solution, trace_probes
from falloff.transport.direct import middle_of
from falloff.types import Float64Array

_IN_BEAM: Final = 0.05  # of a light, from where a fabric that it falls on is in its beam
_WEIGHTS: Final = np.array(LUMINANCE_WEIGHTS)


def fabrics_in_beam(solution: Solution, s: int) -> tuple[str, ...]:
    """The fabrics, as surfaces, that source s shines on or that are its own shade."""
    stage = solution.stage
    surfaces, source = stage.surfaces, stage.sources[s]
    if source.kind not in NEAR:
        return ()
    power = solution.direct[s].astype(np.float64) * surfaces.element_area_m2
    on = np.bincount(surfaces.face_name[surfaces.element_face], power, len(surfaces.names))
    least = _IN_BEAM * max(float(on.sum()), 1e-12)
    return tuple(
        name
        for name in sorted(surfaces.fabric_names())
        if on[surfaces.names.index(name)] >= least or name.startswith(f"{source.name}: ")
    )


def passed_on(
    stage: Stage, source: Source, fabrics: Iterable[str], point: Float64Array
) -> tuple[str, ...]:
    """The fabrics of these that lie between a source and a point (3,): on its other side."""
    surfaces = stage.surfaces
    start = middle_of(source)[0].astype(np.float64)
    beyond = set()
    for sheet, faces in zip(surfaces.sheets, surfaces.sheet_faces, strict=True):
        sides = [float((one - sheet[:3]) @ sheet[9:12]) for one in (start, point)]
        if sides[0] * sides[1] < 0.0:
            beyond |= {surfaces.names[surfaces.face_name[face]] for face in faces if face >= 0}
    return tuple(name for name in fabrics if name in beyond or name.startswith(f"{source.name}: "))


def light_scattered_lux(solution: Solution, s: int, probe: Probe) -> float:
    """What a receptor gets of source s scattered by fabrics in its beam, white, at full."""
    stage = solution.stage
    fabrics = passed_on(stage, stage.sources[s], fabrics_in_beam(solution, s), probe.point)
    if not fabrics:
        return 0.0
    matrix = readings_matrix(solution, trace_probes(solution, (probe,)))
    share = sum(matrix.shares[s][0].get(name, 0.0) for name in fabrics)
    return share * float(_WEIGHTS @ np.array(matrix.bounced[s][0]))
