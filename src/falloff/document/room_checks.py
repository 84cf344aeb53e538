"""Checks of the walls and openings that need no more than lengths along a wall."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Any

from falloff import units
from falloff.document.corners import Corner
from falloff.document.draft import Draft
from falloff.document.records import KeyPath, Opening, Room, WallPlace

_SLACK_M = 1e-6  # rounding of sums of lengths as written


def check_room(draft: Draft) -> None:
    """Record faults of openings, of walls that are not there and of places on walls."""
    if draft.names["openings"] and not draft.has_sky:
        fix = "add `sky: {type: overcast, outside: 12000 lx}`"
        draft.fault(("openings",), "a scene with openings needs a 'sky'", fix=fix)
    if draft.room is None:
        return
    corners = [(x.si, y.si) for x, y in draft.room.floor]
    for wall in draft.room.wall_surfaces:
        _check_wall(draft, ("room", "wall_surfaces", wall), wall, len(corners))
    fitting = {
        name: opening
        for name, opening in draft.each("openings")
        if _check_opening(draft, name, opening, corners)
    }
    _check_overlaps(draft, fitting)
    for path, place in _wall_places(draft):
        _check_wall_place(draft, path, place, corners)


# Walls and openings ----------------------------------------------------------------------


def _check_wall(draft: Draft, path: KeyPath, wall: int, count: int) -> bool:
    if wall <= count:
        return True
    draft.fault(path, f"there is no wall {wall}", expected=f"1 to {count}", found=str(wall))
    return False


def _wall_length(corners: Sequence[Corner], wall: int) -> float:
    return math.dist(corners[wall - 1], corners[wall % len(corners)])


def _check_opening(draft: Draft, name: str, opening: Opening, corners: Sequence[Corner]) -> bool:
    path = ("openings", name)
    if not _check_wall(draft, (*path, "wall"), opening.wall, len(corners)):
        return False
    length_m = _wall_length(corners, opening.wall)
    height_m = _room(draft).height.si
    fits = True
    if opening.along.si + opening.width.si > length_m + _SLACK_M:
        what = f"{name} runs past the end of wall {opening.wall}"
        _told(draft, (*path, "width"), what, length_m, opening.along.si + opening.width.si)
        fits = False
    if opening.sill.si + opening.height.si > height_m + _SLACK_M:
        what = f"{name} reaches above the ceiling"
        _told(draft, (*path, "height"), what, height_m, opening.sill.si + opening.height.si)
        fits = False
    if opening.bars is not None:
        columns, rows = opening.bars
        bars_m = opening.bar_width.si
        if (columns + 1) * bars_m >= opening.width.si or (rows + 1) * bars_m >= opening.height.si:
            what = f"the bars of {name} and the frame round them leave no glass"
            draft.fault((*path, "bars"), what, fix="fewer panes, or a smaller bar_width")
    return fits


def _told(draft: Draft, path: KeyPath, what: str, most_m: float, found_m: float) -> None:
    system: units.System = "imperial" if draft.head.get("units") == "imperial" else "metric"
    most = units.format_length(most_m, units=system)
    found = units.format_length(found_m, units=system)
    draft.fault(path, what, expected=f"at most {most}", found=found)


def _check_overlaps(draft: Draft, openings: dict[str, Opening]) -> None:
    for (first, a), (second, b) in combinations(openings.items(), 2):
        beside = _overlap(a.along.si, a.width.si, b.along.si, b.width.si)
        if a.wall == b.wall and beside and _overlap(a.sill.si, a.height.si, b.sill.si, b.height.si):
            what = f"{second} overlaps {first} in wall {a.wall}"
            draft.fault(("openings", second), what, fix="move one of them, or make them one")


def _overlap(start_m: float, length_m: float, other_m: float, other_length_m: float) -> bool:
    shared_m = min(start_m + length_m, other_m + other_length_m) - max(start_m, other_m)
    return shared_m > _SLACK_M


def _wall_places(draft: Draft) -> Iterator[tuple[KeyPath, WallPlace]]:
    for section, named in draft.records.items():
        for name, one in named.items():
            place: Any = getattr(one, "at", None)
            if isinstance(place, WallPlace):
                yield (section, name, "at"), place


def _check_wall_place(
    draft: Draft, path: KeyPath, place: WallPlace, corners: Sequence[Corner]
) -> None:
    if not _check_wall(draft, (*path, "wall"), place.wall, len(corners)):
        return
    length_m, height_m = _wall_length(corners, place.wall), _room(draft).height.si
    if place.along.si > length_m + _SLACK_M:
        what = f"past the end of wall {place.wall}"
        _told(draft, (*path, "along"), what, length_m, place.along.si)
    if place.height.si > height_m + _SLACK_M:
        _told(draft, (*path, "height"), "above the ceiling", height_m, place.height.si)


def _room(draft: Draft) -> Room:
    assert draft.room is not None  # checked by check_room
    return draft.room
