"""What cannot be: things in walls, in one another or out of the room, faults told all at once."""

from __future__ import annotations

import math

import numpy as np
import shapely

from falloff.document import Box, Cylinder
from falloff.errors import Fault
from falloff.stage.places import Placer
from falloff.stage.records import Piece, Probe
from falloff.types import Float64Array
from falloff.units import format_length

_CLEAR_M = {"subjects": 0.15, "cameras": 0.02, "fixtures": 0.0, "practicals": 0.0}
_TOUCH_M = 0.01  # things may lean against a wall, or be let into it by this much


def misplaced(placer: Placer) -> list[Fault]:
    """Faults of all people, cameras and lights in walls, in props or outside the room."""
    outline = _outline(placer)
    faults: list[Fault] = []
    for kind, clear in _CLEAR_M.items():
        for name in getattr(placer.document, kind):
            point = placer.origin(name)
            spot = shapely.Point(point[0], point[1])
            if not outline.contains(spot):
                faults.append(_outside(placer, kind, name, point))
            elif outline.exterior.distance(spot) < clear:
                gap = _said(placer, clear)
                faults.append(
                    placer.fault_at(
                        (kind, name, "at"),
                        what=f"{name} stands too near a wall",
                        expected=f"a place {gap} clear of every wall",
                        found=_said(placer, outline.exterior.distance(spot)) + " clear",
                        fix=f"move {name} into the room",
                    )
                )
            inside = point_of_body(placer, kind, name)
            prop = prop_around(placer, inside)
            if prop is not None:
                faults.append(
                    placer.fault_at(
                        (kind, name, "at"),
                        what=f"{name} is inside {prop}",
                        fix=f"move {name} or {prop}",
                    )
                )
    return faults


def oversize(placer: Placer, pieces: list[Piece]) -> list[Fault]:
    """Faults of all things that stick out of the room."""
    outline = _outline(placer).buffer(_TOUCH_M)
    shapely.prepare(outline)
    height = placer.document.room.height.si
    faults: list[Fault] = []
    for piece in pieces[1:]:  # the first is the room itself
        points = piece.corners.reshape(-1, 3)
        kind = placer.kind_of(piece.name)
        if not outline.contains(shapely.Point(placer.origin(piece.name)[:2])) and kind in _CLEAR_M:
            continue  # told already
        out = ~shapely.contains_xy(outline, points[:, 0], points[:, 1])
        low, high = float(points[:, 2].min()), float(points[:, 2].max())
        if out.any():
            far = points[out]
            gap = max(
                outline.distance(shapely.Point(p[0], p[1])) for p in far[:: len(far) // 50 + 1]
            )
            faults.append(
                placer.fault_at(
                    (kind, piece.name, "at"),
                    what=f"{piece.name} goes through a wall",
                    expected="all of it inside the floor's outline",
                    found=f"{_said(placer, gap + _TOUCH_M)} of it outside",
                    fix="move it or make it smaller",
                )
            )
        if low < -_TOUCH_M or high > height + _TOUCH_M:
            faults.append(
                placer.fault_at(
                    (kind, piece.name, "at"),
                    what=f"{piece.name} does not fit between floor and ceiling",
                    expected=f"all of it between {_said(placer, 0.0)} and {_said(placer, height)}",
                    found=f"from {_said(placer, low)} to {_said(placer, high)}",
                    fix="move it, make it smaller, or raise the ceiling",
                )
            )
    return faults


def unreadable(placer: Placer, probes: tuple[Probe, ...]) -> list[Fault]:
    """Faults of all readings outside the room or inside a prop."""
    outline = _outline(placer).buffer(_TOUCH_M)
    height = placer.document.room.height.si
    faults: dict[str, Fault] = {}
    for probe in probes:
        path = ("readings", probe.name, "at")
        x, y, z = (float(part) for part in probe.point)
        if not outline.contains(shapely.Point(x, y)) or not -_TOUCH_M <= z <= height + _TOUCH_M:
            faults[probe.name] = placer.fault_at(
                path,
                what=f"{probe.name} is read outside the room",
                expected="a place inside the room",
                found=_place(placer, probe.point),
                fix="a window is read from inside, with a spot or a receptor that faces it",
            )
            continue
        prop = prop_around(placer, probe.point)
        if prop is not None and probe.instrument != "spot":
            faults[probe.name] = placer.fault_at(
                path,
                what=f"{probe.name} is read inside {prop}",
                fix=f"read it on the surface, at: {{on: {prop}}}, or beside it",
            )
    return list(faults.values())


def point_of_body(placer: Placer, kind: str, name: str) -> Float64Array:
    """A point that no prop may hold: a person's face, a camera's eye, a light's front."""
    return placer.subject(name).points["face"] if kind == "subjects" else placer.origin(name)


def prop_around(placer: Placer, point: Float64Array) -> str | None:
    """The prop that holds a point well inside it, if any."""
    for name, prop in placer.document.props.items():
        way = point - placer.origin(name)
        turn = prop.turn.si
        u = math.cos(turn) * way[0] + math.sin(turn) * way[1]
        v = math.cos(turn) * way[1] - math.sin(turn) * way[0]
        match prop.shape:
            case Box(size=(x, y, z)):
                held = abs(u) < 0.5 * x.si - 1e-3 and abs(v) < 0.5 * y.si - 1e-3
                tall = z.si
            case Cylinder(diameter=diameter, height=z):
                held = bool(np.hypot(u, v) < 0.5 * diameter.si - 1e-3)
                tall = z.si
        if held and 1e-3 < way[2] < tall - 1e-3:
            return name
    return None


def _outside(placer: Placer, kind: str, name: str, point: Float64Array) -> Fault:
    start = getattr(getattr(placer.document, kind)[name].at, "from_name", None)
    move = f"move {name} into the room, or widen the room's floor"
    if start is not None:
        move = f"it is placed from {start}: move {start}, or bring {name} nearer to it"
    return placer.fault_at(
        (kind, name, "at"),
        what=f"{name} stands outside the room",
        expected="a place inside the floor's outline",
        found=_place(placer, point),
        fix=move,
    )


def _outline(placer: Placer) -> shapely.Polygon:
    return shapely.Polygon([(x.si, y.si) for x, y in placer.document.room.floor])


def _said(placer: Placer, length_m: float) -> str:
    return format_length(length_m, units=placer.document.units)


def _place(placer: Placer, point: Float64Array) -> str:
    return "[" + ", ".join(_said(placer, float(part)) for part in point) + "]"
