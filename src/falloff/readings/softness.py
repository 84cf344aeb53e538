"""How large each source looks from a face: the one thing that decides how soft it is."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from falloff.readings.records import Softness
from falloff.sources import BEAM, SPHERE, SUN, TUBE, Source
from falloff.stage import Stage
from falloff.types import Float64Array


def softness_from(stage: Stage, names: Iterable[str]) -> tuple[Softness, ...]:
    """Angular size of the named sources from every subject's face; hidden or not."""
    wanted = set(names)
    return tuple(
        angular_size(source, places.points["face"], name)
        for name, places in stage.subjects.items()
        for source in stage.sources
        if source.name in wanted
    )


def angular_size(source: Source, point_m: Float64Array, subject: str) -> Softness:
    """Angles between the middles of a source's opposite sides, seen from a point (3,) in metres.

    For a source square to the view that is 2·atan(w/2d). A ball is 2·asin(r/d); the sun is
    endlessly far away.
    """
    shape = source.shape
    if source.kind == SPHERE:
        distance = float(np.linalg.norm(shape[:3] - point_m))
        angle = 2.0 * math.asin(min(1.0, float(shape[3]) / distance))
        return Softness(
            source=source.name,
            subject=subject,
            across_rad=angle,
            upward_rad=angle,
            distance_m=distance,
        )
    if source.kind == SUN:
        angle = 2.0 * float(shape[3])
        return Softness(
            source=source.name,
            subject=subject,
            across_rad=angle,
            upward_rad=angle,
            distance_m=math.inf,
        )
    if source.kind == TUBE:
        middle, half_u = shape[:3], 0.5 * shape[6] * shape[3:6]
        sideways = np.cross(shape[3:6], middle - point_m)
        half_v = shape[7] * sideways / max(1e-12, float(np.linalg.norm(sideways)))
    elif source.kind == BEAM:
        middle, half_u, half_v = shape[:3], shape[6:9], shape[9:12]
    else:
        half_u, half_v = 0.5 * shape[3:6], 0.5 * shape[6:9]
        middle = shape[:3] + half_u + half_v
    return Softness(
        source=source.name,
        subject=subject,
        across_rad=_angle(middle - half_u - point_m, middle + half_u - point_m),
        upward_rad=_angle(middle - half_v - point_m, middle + half_v - point_m),
        distance_m=float(np.linalg.norm(middle - point_m)),
    )


def _angle(a: Float64Array, b: Float64Array) -> float:
    return math.atan2(float(np.linalg.norm(np.cross(a, b))), float(a @ b))
