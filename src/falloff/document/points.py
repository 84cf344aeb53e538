"""The points that a reading is taken at: one, or several along a walk or over an area."""

from __future__ import annotations

import math

from falloff.document.records import SceneDocument


def points_of(document: SceneDocument) -> dict[str, tuple[str, ...]]:
    """Every reading's points by name: itself alone, or numbered from 1."""
    return {
        name: tuple(f"{name} {k + 1}" for k in range(math.prod(one.points)))
        if one.points
        else (name,)
        for name, one in document.readings.items()
    }
