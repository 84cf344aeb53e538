"""Where a thing is moved to, written as its place was written: relative places stay relative."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from falloff.document import (
    Add,
    Edit,
    KeyPath,
    OnPlace,
    Place,
    PointPlace,
    Put,
    Quantity,
    RelativePlace,
    Rewrite,
    SceneDocument,
    WallPlace,
)
from falloff.stage.places import Placer, direction
from falloff.types import Float64Array
from falloff.units import UnitFault, format_like, parse_length

_STAYS_WITHIN_M = 0.1  # nearer than that must another wall be to take over
_SAMPLE = {"metric": "1.2 m", "imperial": "5' 6\""}


@dataclass(frozen=True, slots=True)
class Where:
    """A place of the document and where it is written; is_text: all of it in one text."""

    place: Place
    key_path: KeyPath
    is_text: bool


def where(document: SceneDocument, place: Place, key_path: KeyPath) -> Where:
    """A place with where the file writes it."""
    parts = (document.seen.has((*key_path, part)) for part in ("from", 0))
    return Where(place, key_path, is_text=not any(parts))


def length(value_m: float, document: SceneDocument, like: Quantity | None = None) -> str:
    """A length in the unit that it was written in, or in the document's, to 3 mm or better."""
    sample = like.text if like is not None else _SAMPLE[document.units]
    try:
        return format_like(_rounded(value_m, sample), sample)
    except UnitFault:  # "0" and a default's text have no unit of their own
        return format_like(_rounded(value_m, "1 m"), _SAMPLE[document.units])


def _rounded(value_m: float, sample: str) -> float:
    """A length to as few decimals of its unit as tell 3 mm apart; one more below 10 cm."""
    unit = re.fullmatch(r"[^A-Za-z'\"]*([A-Za-z'\"]+)", sample.strip())
    if unit is None or not math.isfinite(value_m):  # feet with inches have steps of their own
        return value_m
    per_unit_m = parse_length(f"1 {unit[1]}")
    decimals = max(0, math.ceil(math.log10(per_unit_m / 0.0031))) + (abs(value_m) < 0.1)
    return round(value_m / per_unit_m, decimals) * per_unit_m


def moved_edits(placer: Placer, where: Where, point_m: tuple[float, float, float]) -> list[Edit]:
    """The edits that put a thing at a point; its place keeps the form it has."""
    document, place, path = placer.document, where.place, where.key_path
    x, y, z = point_m
    match place:
        case PointPlace():
            return list(_point(document, place, path, (x, y, z)))
        case RelativePlace():
            return _relative(placer, where, np.array([x, y, z]))
        case OnPlace():
            return _on(placer, place, path, (x, y, z))
        case WallPlace():
            return _wall(placer, place, path, np.array([x, y, z]))


def _point(
    document: SceneDocument, place: PointPlace, path: KeyPath, point: tuple[float, float, float]
) -> Iterator[Edit]:
    written = (place.x, place.y, place.z)
    is_list = document.seen.has((*path, 0))
    keys: tuple[str | int, ...] = (0, 1, 2) if is_list else ("x", "y", "z")
    if not document.seen.has((*path, keys[2])) and abs(point[2] - place.z.si) > 1e-6:
        if is_list:
            told = ", ".join(length(value, document) for value in point)
            yield Rewrite(path, f"[{told}]")
            return
        yield Add((*path, "z"), length(point[2], document))
    for key, old, value in zip(keys, written, point, strict=True):
        if document.seen.has((*path, key)) and abs(value - old.si) > 1e-6:
            yield Put((*path, key), length(value, document, old))


def _relative(placer: Placer, where: Where, point: Float64Array) -> list[Edit]:
    place = where.place
    assert isinstance(place, RelativePlace)
    document, path = placer.document, where.key_path
    start, facing = placer.origin(place.from_name), placer.facing(place.from_name)
    away = point[:2] - start[:2]
    distance = float(np.hypot(*away))
    turn = math.atan2(facing[1], facing[0]) - math.atan2(away[1], away[0])
    hour = (6.0 + math.degrees(turn) / 30.0) % 12.0 if distance > 1e-3 else place.clock_hour
    far, high = (
        length(distance, document, place.distance),
        length(float(point[2]), document, place.height),
    )
    if where.is_text:
        up = f", {high} up" if point[2] > 1e-6 or place.height.si > 0.0 else ""
        return [Put(path, f"{far} from {place.from_name}, {clock_text(hour)} o'clock{up}")]
    edits: list[Edit] = [
        Put((*path, "distance"), far),
        Put((*path, "clock"), clock_text(hour)),
    ]
    if document.seen.has((*path, "height")):
        edits.append(Put((*path, "height"), high))
    elif abs(point[2] - place.height.si) > 1e-6:
        edits.append(Add((*path, "height"), high))
    return edits


def clock_text(hour: float) -> str:
    """A clock hour to the minute, as a place is written: "7:40", "4"."""
    minutes = round(hour * 60.0) % 720 or 720
    whole, rest = divmod(minutes, 60)
    whole = whole or 12
    return f"{whole}:{rest:02d}" if rest else str(whole)


def _on(
    placer: Placer, place: OnPlace, path: KeyPath, point: tuple[float, float, float]
) -> list[Edit]:
    document = placer.document
    turn = document.props[place.on].turn.si
    away = np.array(point) - placer.origin(place.on)
    u, v = direction(turn), direction(turn + 0.5 * math.pi)
    offsets = float(away @ u), float(away @ v)
    if not document.seen.has((*path, "offset")):
        told = ", ".join(length(value, document) for value in offsets)
        return [Add((*path, "offset"), f"[{told}]")]
    return [
        Put((*path, "offset", k), length(value, document, old))
        for k, (value, old) in enumerate(zip(offsets, place.offset, strict=True))
    ]


def _wall(placer: Placer, place: WallPlace, path: KeyPath, point: Float64Array) -> list[Edit]:
    """Along its wall, or along another of the same room that the point is nearer to."""
    document = placer.document
    room = placer.room(place.room)
    best = (math.inf, place.wall, 0.0)
    for wall in range(1, len(room.floor) + 1):
        corner, way, _ = placer.wall_frame(wall, place.room)
        end = np.array([q.si for q in room.floor[wall % len(room.floor)]])
        long = float(np.hypot(*(end - corner[:2])))
        along = min(max(float((point - corner)[:2] @ way[:2]), 0.0), long)
        gap = float(np.hypot(*(point[:2] - (corner + along * way)[:2])))
        gap -= _STAYS_WITHIN_M if wall == place.wall else 0.0
        if gap < best[0]:
            best = (gap, wall, along)
    _, wall, along = best
    edits: list[Edit] = [Put((*path, "along"), length(along, document, place.along))]
    if wall != place.wall:
        edits.append(Put((*path, "wall"), str(wall)))
    edits.append(Put((*path, "height"), length(float(point[2]), document, place.height)))
    return edits
