"""Things moved, turned and aimed."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from falloff.document import (
    Edit,
    KeyPath,
    NamedAim,
    NamedPlace,
    PlaceAim,
    PointAim,
    Put,
    Quantity,
    quoted,
)
from falloff.page.told import cannot
from falloff.page.worked import Worked
from falloff.stage.moving import length, moved_edits, where
from falloff.types import Float64Array
from falloff.units import UnitFault, format_like

Made = tuple[list[Edit], str]


def placed(worked: Worked, change: Mapping[str, Any]) -> Made:
    """A thing at another place; where no height is given it keeps its own."""
    name = str(change["name"])
    section, one = worked.record(name)
    if section == "openings":
        raise cannot(f"{name} is part of the room", "move it along its wall, or in its ceiling")
    if isinstance(getattr(one, "at", None), str | None):  # a setup's is its hour
        raise cannot(f"{name} stands nowhere, so it cannot be moved")
    if isinstance(one.at, NamedPlace):
        raise cannot(f"{name} is read on {one.at.name}", f"move {one.at.name}, or add a reading")
    placer = worked.placer
    now = placer.point(one.at)
    given = (change.get("x_m"), change.get("y_m"), change.get("z_m"))
    x, y, z = (float(now[k]) if value is None else float(value) for k, value in enumerate(given))
    path = worked.path_of(section, name, "at")
    edits = moved_edits(placer, where(worked.document, one.at, path), (x, y, z))
    high = "z_m" in change and "x_m" not in change
    return edits, f"{name} raised" if high and z > now[2] else f"{name} moved"


def aimed(worked: Worked, change: Mapping[str, Any]) -> Made:
    """A light, a camera or grip aimed at something named, or at a point."""
    name = str(change["name"])
    section, one = worked.record(name)
    if getattr(one, "aim", None) is None and section not in {"fixtures", "grip", "cameras"}:
        raise cannot(f"{name} has nothing to aim")
    path = worked.path_of(section, name, "aim")
    if change.get("at"):
        target = str(change["at"])
        return _aim_text(worked, path, target), f"{name} aimed at {target}"
    point = np.array([float(change[key]) for key in ("x_m", "y_m", "z_m")])
    return aim_at_point(worked, path, one.aim, point), f"{name} aimed"


def _aim_text(worked: Worked, path: KeyPath, target: str) -> list[Edit]:
    parts = (0, "from", "on", "wall")
    if worked.wrote(path) and not any(worked.wrote((*path, part)) for part in parts):
        return [Put(path, target)]
    return [worked.rewrite_or_add(path, quoted(target))]


def aim_at_point(worked: Worked, path: KeyPath, old: object, point: Float64Array) -> list[Edit]:
    """The edits that aim a thing at a point (3,), metres."""
    if isinstance(old, PointAim) and worked.wrote((*path, 2)):
        parts = zip((old.x, old.y, old.z), point, strict=True)
        return [
            Put((*path, k), length(float(value), worked.document, was))
            for k, (was, value) in enumerate(parts)
        ]
    told = ", ".join(length(float(value), worked.document) for value in point)
    return [worked.rewrite_or_add(path, f"[{told}]")]


def turned(worked: Worked, change: Mapping[str, Any]) -> Made:
    """A thing turned on the plan, counter-clockwise; what has an aim turns that about itself."""
    name, by = str(change["name"]), math.radians(float(change["by_deg"]))
    section, one = worked.record(name)
    label = f"{name} turned"
    if section == "props":
        path = worked.path_of(section, name, "turn")
        angle = _angle(one.turn.si + by, one.turn)
        return [worked.put_or_add(path[:-1], "turn", angle)], label
    if section == "subjects":
        facing = worked.placer.subject_facing(name)
        now = math.atan2(facing[1], facing[0])
        was = one.facing if isinstance(one.facing, Quantity) else None
        return [Put(worked.path_of(section, name, "facing"), _angle(now + by, was))], label
    if getattr(one, "aim", None) is None:
        raise cannot(f"{name} shines all round: turning it changes nothing")
    start = worked.placer.origin(name)
    target = (
        worked.placer.aim_point(one.aim)
        if isinstance(one.aim, PointAim | PlaceAim | NamedAim)
        else None
    )
    if target is None:
        raise cannot(f"{name} looks straight down", f"aim {name} at something first")
    away = target - start
    cos, sin = math.cos(by), math.sin(by)
    away = np.array([cos * away[0] - sin * away[1], sin * away[0] + cos * away[1], away[2]])
    path = worked.path_of(section, name, "aim")
    return aim_at_point(worked, path, one.aim, start + away), label


def _angle(value_rad: float, like: Quantity | None) -> str:
    turn = math.remainder(value_rad, 2.0 * math.pi)
    turn = math.radians(round(math.degrees(turn), 1))
    try:
        return format_like(turn, like.text if like is not None else "0 deg")
    except UnitFault:
        return format_like(turn, "0 deg")
