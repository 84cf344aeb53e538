"""Checks on the plan: rooms, skylights and buildings that must lie in or beside one another."""

from __future__ import annotations

import math
from itertools import combinations
from typing import Any, Final

from falloff.document.draft import Draft
from falloff.document.records import Quantity, Room, Skylight

_SLACK_M2: Final = 1e-6  # rounding of corners as written


def check_plan(draft: Draft) -> None:
    """Record faults of rooms that overlap, skylights off their room, buildings in rooms."""
    floors = draft.rooms()
    if len(floors) > 1:
        _check_rooms_apart(draft, floors)
    skylights = {
        name: one
        for name, one in draft.each("openings")
        if isinstance(one, Skylight) and one.room in floors
    }
    fitting = {
        name: one
        for name, one in skylights.items()
        if _check_skylight(draft, name, one, floors[one.room])
    }
    _check_skylights_apart(draft, fitting)
    outside = draft.singles.get("outside")
    for name, building in (outside.buildings if outside else {}).items():
        footprint = _rectangle(building.at, building.size[:2], building.turn)
        for room in floors.values():
            if _shared_m2(footprint, _floor(room)) > _SLACK_M2:
                what = f"{name} stands in a room"
                fix = "move it away from the rooms' floors"
                draft.fault(("outside", "buildings", name, "at"), what, fix=fix)
                break


def _check_rooms_apart(draft: Draft, rooms: dict[str | None, Room]) -> None:
    for (first, a), (second, b) in combinations(rooms.items(), 2):
        if _shared_m2(_floor(a), _floor(b)) > _SLACK_M2:
            what = f"{second} overlaps {first or 'the room'} on the plan"
            fix = "all rooms stand in one plan: give its corners beside the other's"
            draft.fault((*draft.room_path(second), "floor"), what, fix=fix)


def _check_skylight(draft: Draft, name: str, skylight: Skylight, room: Room) -> bool:
    hole = _rectangle(skylight.at, skylight.size, skylight.turn)
    if hole.area - _shared_m2(hole, _floor(room)) <= _SLACK_M2:
        return True
    what = f"{name} reaches past the ceiling of {skylight.room or 'the room'}"
    draft.fault(("openings", name, "at"), what, fix="move it over the floor, or make it smaller")
    return False


def _check_skylights_apart(draft: Draft, skylights: dict[str, Skylight]) -> None:
    for (first, a), (second, b) in combinations(skylights.items(), 2):
        holes = [_rectangle(one.at, one.size, one.turn) for one in (a, b)]
        if a.room == b.room and _shared_m2(*holes) > _SLACK_M2:
            what = f"{second} overlaps {first} in the ceiling"
            draft.fault(("openings", second), what, fix="move one of them, or make them one")


def _floor(room: Room) -> Any:
    import shapely

    return shapely.Polygon([(x.si, y.si) for x, y in room.floor])


def _rectangle(at: tuple[Quantity, ...], sides: tuple[Quantity, ...], turn: Quantity) -> Any:
    """A rectangle on the plan by its middle, its sides along its own x and y, and its turn."""
    import shapely

    half_x, half_y = sides[0].si / 2.0, sides[1].si / 2.0
    cos, sin = math.cos(turn.si), math.sin(turn.si)
    corners = ((-half_x, -half_y), (half_x, -half_y), (half_x, half_y), (-half_x, half_y))
    return shapely.Polygon(
        [(at[0].si + x * cos - y * sin, at[1].si + x * sin + y * cos) for x, y in corners]
    )


def _shared_m2(one: Any, other: Any) -> float:
    return float(one.intersection(other).area)
