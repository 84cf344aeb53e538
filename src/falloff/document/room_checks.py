"""Checks of rooms, walls and openings that need no more than lengths along walls."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Final

from falloff import units
from falloff.document.ceilings import ceiling_height_m
from falloff.document.corners import Corner
from falloff.document.draft import Draft
from falloff.document.plan_checks import check_plan
from falloff.document.records import (
    Door,
    KeyPath,
    Opening,
    PlaceAim,
    Room,
    Skylight,
    WallPlace,
    Window,
)
from falloff.document.sections import OPEN_AIR

_SLACK_M: Final = 1e-6  # rounding of sums of lengths as written


def check_rooms(draft: Draft) -> None:
    """Record faults of openings, of walls that are not there and of places on walls."""
    openings = dict(draft.each("openings"))
    if any(_sees_sky(one) for one in openings.values()) and not draft.written("sky"):
        fix = "add `sky: {type: overcast, outside: 12000 lx}`"
        draft.fault(("openings",), "a scene with openings needs a 'sky'", fix=fix)
    for name, room in draft.rooms().items():
        path = draft.room_path(name)
        for wall in room.wall_surfaces:
            _check_wall(draft, (*path, "wall_surfaces", wall), _Wall(name, room, wall))
    for name, opening in openings.items():
        if isinstance(opening, Door):
            _check_door(draft, name, opening)
        if isinstance(opening, Skylight):
            _check_bars(draft, name, opening, (opening.size[0].si, opening.size[1].si))
    _check_overlaps(draft, [hole for hole in _holes(draft) if _check_hole(draft, hole)])
    for path, place in _wall_places(draft):
        _check_wall_place(draft, path, place)
    check_plan(draft)


# Walls -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Wall:
    """Wall `number` (from 1) of a room; the scene's own room has no name."""

    room_name: str | None
    room: Room
    number: int

    @property
    def count(self) -> int:
        return len(self.room.floor)

    @property
    def told(self) -> str:
        return f"wall {self.number}" + (f" of {self.room_name}" if self.room_name else "")

    def corner(self, index: int) -> Corner:
        x, y = self.room.floor[index % self.count]
        return x.si, y.si

    def length_m(self) -> float:
        return math.dist(self.corner(self.number - 1), self.corner(self.number))

    def height_m(self, along_m: float) -> float:
        """How high the wall is, so far from its first corner."""
        (ax, ay), (bx, by) = self.corner(self.number - 1), self.corner(self.number)
        share = min(1.0, max(0.0, along_m / self.length_m()))
        x_m, y_m = ax + share * (bx - ax), ay + share * (by - ay)
        return ceiling_height_m(self.room, x_m=x_m, y_m=y_m)


def _check_wall(draft: Draft, path: KeyPath, wall: _Wall) -> bool:
    if wall.number <= wall.count:
        return True
    what, expected = f"there is no {wall.told}", f"1 to {wall.count}"
    draft.fault(path, what, expected=expected, found=str(wall.number))
    return False


# Openings --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Hole:
    """A window or a doorway as a rectangle of its wall; metres."""

    name: str
    wall: _Wall
    along_m: float
    width_m: float
    sill_m: float
    opening: Window | Door

    @property
    def height_m(self) -> float:
        return self.opening.height.si


def _sees_sky(opening: Opening) -> bool:
    return not isinstance(opening, Door) or opening.to == OPEN_AIR


def _holes(draft: Draft) -> Iterator[_Hole]:
    """The openings in walls of rooms that could be read."""
    rooms = draft.rooms()
    for name, one in draft.each("openings"):
        if isinstance(one, Skylight) or one.room not in rooms:
            continue
        wall = _Wall(one.room, rooms[one.room], one.wall)
        sill_m = one.sill.si if isinstance(one, Window) else 0.0
        yield _Hole(name, wall, one.along.si, one.width.si, sill_m, one)


def _check_door(draft: Draft, name: str, door: Door) -> None:
    path = ("openings", name)
    if door.to is None and door.open.si > 0.0:
        what = f"{name} stands open, but is not said to lead anywhere"
        fix = "add `to: outside` or `to:` another room; or shut it"
        draft.fault((*path, "open"), what, found=door.open.text, fix=fix)
    elif door.to is not None and door.to == door.room:
        what = f"{name} leads from {door.to} into {door.to}"
        draft.fault((*path, "to"), what, fix="name another room, or outside")


def _check_hole(draft: Draft, hole: _Hole) -> bool:
    path, wall, name = ("openings", hole.name), hole.wall, hole.name
    if not _check_wall(draft, (*path, "wall"), wall):
        return False
    fits = True
    end_m, top_m = hole.along_m + hole.width_m, hole.sill_m + hole.height_m
    if end_m > wall.length_m() + _SLACK_M:
        what = f"{name} runs past the end of {wall.told}"
        _told(draft, (*path, "width"), what, wall.length_m(), end_m)
        fits = False
    most_m = min(wall.height_m(hole.along_m), wall.height_m(end_m))
    if top_m > most_m + _SLACK_M:
        _told(draft, (*path, "height"), f"{name} reaches above the ceiling", most_m, top_m)
        fits = False
    if isinstance(hole.opening, Window):
        _check_bars(draft, name, hole.opening, (hole.width_m, hole.height_m))
    return fits


def _check_bars(
    draft: Draft, name: str, opening: Window | Skylight, sides_m: tuple[float, float]
) -> None:
    """Record a fault where bars and the frame round them leave no glass."""
    if opening.bars is None:
        return
    bars_m = opening.bar_width.si
    if any(
        (panes + 1) * bars_m >= side_m for panes, side_m in zip(opening.bars, sides_m, strict=True)
    ):
        what = f"the bars of {name} and the frame round them leave no glass"
        draft.fault(("openings", name, "bars"), what, fix="fewer panes, or a smaller bar_width")


def _told(draft: Draft, path: KeyPath, what: str, most_m: float, found_m: float) -> None:
    system: units.System = "imperial" if draft.head.get("units") == "imperial" else "metric"
    most = units.format_length(most_m, units=system)
    found = units.format_length(found_m, units=system)
    draft.fault(path, what, expected=f"at most {most}", found=found)


def _check_overlaps(draft: Draft, holes: list[_Hole]) -> None:
    for a, b in combinations(holes, 2):
        same_wall = (a.wall.room_name, a.wall.number) == (b.wall.room_name, b.wall.number)
        beside = _overlap(a.along_m, a.width_m, b.along_m, b.width_m)
        if same_wall and beside and _overlap(a.sill_m, a.height_m, b.sill_m, b.height_m):
            what = f"{b.name} overlaps {a.name} in {a.wall.told}"
            draft.fault(("openings", b.name), what, fix="move one of them, or make them one")


def _overlap(start_m: float, length_m: float, other_m: float, other_length_m: float) -> bool:
    shared_m = min(start_m + length_m, other_m + other_length_m) - max(start_m, other_m)
    return shared_m > _SLACK_M


# Places on walls -------------------------------------------------------------------------


def _wall_places(draft: Draft) -> Iterator[tuple[KeyPath, WallPlace]]:
    for section, named in draft.records.items():
        for name, one in named.items():
            for key in ("at", "aim", "gaze"):
                place = _on_wall(getattr(one, key, None))
                if place is not None:
                    yield (section, name, key), place
    for setup, one in draft.each("setups"):
        for name, moved in one.moved.items():
            for key in ("at", "aim", "gaze"):
                path = ("setups", setup, "moved", name, key)
                place = _on_wall(getattr(moved, key, None))
                if place is not None and draft.wrote(path):
                    yield path, place


def _on_wall(told: object) -> WallPlace | None:
    """A place, or what an aim is at, that is on a wall."""
    place = told.at if isinstance(told, PlaceAim) else told
    return place if isinstance(place, WallPlace) else None


def _check_wall_place(draft: Draft, path: KeyPath, place: WallPlace) -> None:
    rooms = draft.rooms()
    if place.room not in rooms:
        return
    wall = _Wall(place.room, rooms[place.room], place.wall)
    if not _check_wall(draft, (*path, "wall"), wall):
        return
    if place.along.si > wall.length_m() + _SLACK_M:
        what = f"past the end of {wall.told}"
        _told(draft, (*path, "along"), what, wall.length_m(), place.along.si)
    most_m = wall.height_m(place.along.si)
    if place.height.si > most_m + _SLACK_M:
        _told(draft, (*path, "height"), "above the ceiling", most_m, place.height.si)
