"""Readings that are taken at several points: along a walk, or over an area."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from falloff.document.cursor import Cursor
from falloff.document.records import OnPlace, PointPlace, ReadingPlace, RelativePlace, WallPlace
from falloff.document.values import Value, list_of, whole

_MOST_ALONG: Final = 50
_MOST_ACROSS: Final = 12
_ALONG: Final = whole(2, _MOST_ALONG, "5")
_ACROSS: Final = list_of(
    whole(2, _MOST_ACROSS, "4"), least=2, most=2, parts="columns and rows", example="[4, 3]"
)


def _points(cursor: Cursor) -> tuple[int, ...]:
    return _ACROSS.read(cursor) if cursor.node.kind == "list" else (_ALONG.read(cursor),)


POINTS: Final = Value(_points, "5", {"anyOf": [_ALONG.schema, _ACROSS.schema]})


def on_one_surface(at: ReadingPlace, to: ReadingPlace) -> bool:
    """Whether the straight line between two places lies on one wall, or on one prop's top."""
    if isinstance(at, WallPlace) and isinstance(to, WallPlace):
        return (at.wall, at.room) == (to.wall, to.room)
    if isinstance(at, OnPlace) and isinstance(to, OnPlace):
        return (at.on, at.level) == (to.on, to.level)
    return False


def check_walk(cursor: Cursor, values: Mapping[str, Any]) -> bool:
    """Whether a reading is taken at several points; faults where those are none."""
    if "to" not in values and "points" not in values:
        return False
    if "points" not in values:
        raise cursor.fault(
            "a reading from one place to another needs 'points'",
            fix="add `points: 5` for a walk, or `points: [4, 3]` for an area",
        )
    at_points = cursor.entries()["points"]
    if "to" not in values:
        what = "several points need the place where they end"
        raise at_points.fault(what, fix="add `to: [3 m, 1 m, 1.2 m]`, or take `points` out")
    at, to = values["at"], values["to"]
    sides = _sides(at, to)
    across = len(values["points"]) == 2
    if sides is not None and not any(sides):
        what = "a walk ends where it begins"
        raise cursor.entries()["to"].fault(what, fix="give `to` another place")
    if not across:
        return True
    if not on_one_surface(at, to) and not _on_a_level(at, to, values.get("normal")):
        raise at_points.fault(
            "an area lies on one wall, on the top of one prop, or flat at one height",
            expected="two opposite corners, both {wall: 2, ...}, both {on: BENCH, ...}, or two "
            "points at one height with `normal: [0, 0, 1]`",
            fix="give both corners so, or write one number for a walk",
        )
    if sides is not None and not all(sides):
        what = "an area has two sides, and these corners leave one without length"
        raise cursor.entries()["to"].fault(what, fix="give `to` the opposite corner")
    return True


def _sides(at: ReadingPlace, to: ReadingPlace) -> tuple[float, ...] | None:
    """How far it is from one place to the other each way, where that is written; else None."""
    if isinstance(at, WallPlace) and isinstance(to, WallPlace) and on_one_surface(at, to):
        return (to.along.si - at.along.si, to.height.si - at.height.si)
    if isinstance(at, OnPlace) and isinstance(to, OnPlace) and on_one_surface(at, to):
        return (to.offset[0].si - at.offset[0].si, to.offset[1].si - at.offset[1].si)
    if isinstance(at, PointPlace) and isinstance(to, PointPlace):
        flat = (to.x.si - at.x.si, to.y.si - at.y.si)
        rise = to.z.si - at.z.si
        return flat if abs(rise) < 1e-9 else (*flat, rise)
    return None


def _on_a_level(at: ReadingPlace, to: ReadingPlace, normal: tuple[float, ...] | None) -> bool:
    """Whether two places are at one height with a receptor that faces straight up."""
    heights = [
        place.z.si if isinstance(place, PointPlace) else place.height.si
        for place in (at, to)
        if isinstance(place, PointPlace | RelativePlace)
    ]
    up = normal is not None and normal[0] == normal[1] == 0.0 < normal[2]
    return up and len(heights) == 2 and abs(heights[0] - heights[1]) < 1e-9
