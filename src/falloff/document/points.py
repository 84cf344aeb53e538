"""The points that a reading is taken at: one, or several along a walk or over an area."""

from __future__ import annotations

import math

from falloff.document.records import AnyTarget, EvenTarget, ReadingWanted, SceneDocument


def point_names(name: str, wanted: ReadingWanted) -> tuple[str, ...]:
    """A reading's points: itself alone, or numbered from 1; an area row by row from `at`."""
    if not wanted.points:
        return (name,)
    return tuple(f"{name} {k + 1}" for k in range(math.prod(wanted.points)))


def points_of(document: SceneDocument) -> dict[str, tuple[str, ...]]:
    """Every reading's points by name."""
    return {name: point_names(name, one) for name, one in document.readings.items()}


def reading_of(document: SceneDocument, point: str) -> str | None:
    """The reading that a point belongs to; None where the scene has none such."""
    return next((name for name, points in points_of(document).items() if point in points), None)


def readings_asked(target: AnyTarget) -> tuple[str, ...]:
    """The readings that a target is told of: its own, and the one that it is told against."""
    if isinstance(target, EvenTarget):
        return target.readings
    over = getattr(target, "over", None)
    return (target.reading,) if over is None else (target.reading, over)
