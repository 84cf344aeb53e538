"""What a setup's camera sees: points in its frame, readings, and somebody's face."""

from __future__ import annotations

from typing import Final

import numpy as np

from falloff.balance.why.rays import lifted
from falloff.balance.why.scene import TracedSetup
from falloff.stage import Probe
from falloff.types import BoolArray, Float64Array

_ROUND_M: Final = 0.15  # what stands on a thing may hide one spot of it
_FACE: Final = ("face", "cheek_left", "cheek_right", "forehead", "chin")


def in_sight(traced: TracedSetup, points: Float64Array) -> BoolArray:
    """Which points (n, 3) the camera sees: inside its frame, with nothing solid before them."""
    view = traced.view
    found = np.zeros(len(points), np.bool_)
    rows = np.flatnonzero(view.in_frame(points))
    away = points[rows] - view.eye
    length = np.linalg.norm(away, axis=1)
    origins = np.tile(view.eye.astype(np.float32), (len(rows), 1))
    ways = (away / length[:, None]).astype(np.float32)
    free = traced.layers.solution.scene.reaches(origins, ways, (0.995 * length).astype(np.float32))
    found[rows] = free < 0
    return found


def sees(traced: TracedSetup, probe: Probe) -> bool:
    """Whether the camera sees where a reading is taken, or close round it.

    Of a spot meter's, whether it is framed: it reads what it meets.
    """
    if probe.subject is not None:
        return sees_face(traced, probe.subject)
    if probe.instrument == "spot":
        return bool(traced.view.in_frame(probe.point[None])[0])
    upright = np.array([0.0, 0.0, 1.0]) if abs(probe.normal[2]) < 0.9 else np.array([1.0, 0.0, 0.0])
    along = np.cross(upright, probe.normal)
    along /= np.linalg.norm(along)
    up = np.cross(probe.normal, along)
    points = lifted(probe.point, probe.normal) + np.array(
        [_ROUND_M * (a * along + b * up) for a in (0.0, -1.0, 1.0) for b in (0.0, -1.0, 1.0)]
    )
    return bool(in_sight(traced, points).any())


def sees_face(traced: TracedSetup, person: str) -> bool:
    """Whether the camera sees any of somebody's face."""
    places = traced.stage.subjects[person]
    points = [lifted(places.points[one], places.normals[one]) for one in _FACE]
    return bool(in_sight(traced, np.array(points)).any())
