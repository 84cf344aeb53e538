"""Walls, corners and openings moved."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import numpy as np

from falloff.document import Add, Door, Edit, KeyPath, Put, Remove, Rewrite, Skylight, Window
from falloff.page.told import cannot
from falloff.page.worked import Worked
from falloff.stage.moving import length

Made = tuple[list[Edit], str]


def _room_path(worked: Worked, room: str | None) -> KeyPath:
    if room is None:
        return ("room",)
    if room not in worked.document.rooms:
        raise cannot(f"there is no room {room}")
    return ("rooms", room)


def corner_moved(worked: Worked, change: Mapping[str, Any]) -> Made:
    """One corner of a floor, counted from 0, at another place."""
    room = change.get("room")
    path, index = _room_path(worked, room), int(change["corner"])
    floor = worked.placer.room(room).floor
    if not 0 <= index < len(floor):
        raise cannot(f"there is no corner {index}", f"corners count from 0 to {len(floor) - 1}")
    old = floor[index]
    edits: list[Edit] = [
        Put((*path, "floor", index, k), length(float(change[key]), worked.document, old[k]))
        for k, key in enumerate(("x_m", "y_m"))
    ]
    return edits, "corner moved"


def wall_moved(worked: Worked, change: Mapping[str, Any]) -> Made:
    """A wall, counted from 1, moved outward, both its corners with it."""
    room, wall, by_m = change.get("room"), int(change["wall"]), float(change["by_m"])
    path = _room_path(worked, room)
    floor = worked.placer.room(room).floor
    if not 1 <= wall <= len(floor):
        raise cannot(f"there is no wall {wall}", f"walls count from 1 to {len(floor)}")
    outward = -worked.placer.wall_frame(wall, room)[2][:2]
    edits: list[Edit] = []
    for index in (wall - 1, wall % len(floor)):
        corner = np.array([q.si for q in floor[index]]) + by_m * outward
        edits += [
            Put(
                (*path, "floor", index, k),
                length(float(corner[k]), worked.document, floor[index][k]),
            )
            for k in range(2)
            if abs(corner[k] - floor[index][k].si) > 1e-6
        ]
    return edits, f"wall {wall} moved"


# Typical figures, as the quick start takes them; a sheer's and a blind's are its own.
_DRESSINGS: Final[Mapping[str, str]] = {
    "sheer": "[{kind: sheer, straight: 0.3, scattered: 0.3}]",
    "blind": "[{kind: blind, slat: 5 cm, tilt: 40 deg}]",
    "ND 0.3": "[{kind: gel, loss: 1 stop}]",
    "ND 0.6": "[{kind: gel, loss: 2 stops}]",
    "ND 0.9": "[{kind: gel, loss: 3 stops}]",
    "blackout": "[{kind: curtain, open: 0 %, surface: black cloth}]",
}


def dressed(worked: Worked, change: Mapping[str, Any]) -> Made:
    """A window with something else before its glass, or with nothing."""
    name, what = str(change["name"]), str(change["what"])
    opening = worked.document.openings.get(name)
    if not isinstance(opening, Window):
        raise cannot(f"there is no window {name}")
    path: KeyPath = ("openings", name, "dressing")
    written = worked.wrote(path)
    if what == "bare":
        return ([Remove(path)] if written else []), f"{name} bare"
    if what not in _DRESSINGS:
        raise cannot(f"a window is not dressed with {what!r}", f"one of {', '.join(_DRESSINGS)}")
    told = _DRESSINGS[what]
    return [Rewrite(path, told) if written else Add(path, told)], f"{name} with {what}"


def opening_changed(worked: Worked, change: Mapping[str, Any]) -> Made:
    """A window or a door along its wall, or its size; a skylight's middle by x_m and y_m."""
    name = str(change["name"])
    opening = worked.document.openings.get(name)
    if opening is None:
        raise cannot(f"there is no opening {name}")
    path: KeyPath = ("openings", name)
    edits: list[Edit] = []
    if isinstance(opening, Skylight):
        for k, key in enumerate(("x_m", "y_m")):
            if key in change:
                told = length(float(change[key]), worked.document, opening.at[k])
                edits.append(Put((*path, "at", k), told))
        return edits, f"{name} moved"
    keys = ("along", "width", "height", *(("sill",) if isinstance(opening, Window) else ()))
    assert isinstance(opening, Window | Door)
    for key in keys:
        if f"{key}_m" in change:
            told = length(float(change[f"{key}_m"]), worked.document, getattr(opening, key))
            at = (*path, key)
            edits.append(Put(at, told) if worked.wrote(at) else Add(at, told))
    return edits, f"{name} moved" if set(change) <= {"do", "name", "along_m"} else f"{name} changed"
