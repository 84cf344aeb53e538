"""The rooms on the plan: walls with their gaps, openings, and what stops or passes light."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import msgspec
import numpy as np

from falloff.document import (
    Blind,
    Curtain,
    Door,
    Opening,
    Room,
    SceneDocument,
    Sheer,
    Skylight,
    Window,
    WindowGel,
)
from falloff.drawing.plan_outlines import number, pieces_of, rounded, seen_from_sides
from falloff.drawing.plan_places import spot
from falloff.drawing.plan_records import Outline, PlanOpening, PlanRoom, PlanWall
from falloff.stage.ceilings import floor_corners_m, wall_outline_m
from falloff.stage.doors import doorway_of, hinged_at_low, leaf_hole
from falloff.stage.openings import FarWall, far_wall, leads_to_room
from falloff.stage.places import Placer
from falloff.types import Float64Array
from falloff.units import format_length

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

_STRAY_M: Final = 0.002  # gaps in walls run past their faces by this much
_ARC_STEP: Final = math.radians(6.0)


@dataclass(frozen=True, slots=True)
class Gate:
    """An opening that lets light through: its ends on the plan, its sill and its top (m)."""

    a: tuple[float, float]
    b: tuple[float, float]
    sill_m: float
    top_m: float

    def away_m(self, x: float, y: float) -> float:
        """How far its middle is from a point of the plan (m)."""
        return math.hypot(0.5 * (self.a[0] + self.b[0]) - x, 0.5 * (self.a[1] + self.b[1]) - y)


@dataclass(frozen=True, slots=True)
class RoofHole:
    """A skylight: its outline on the plan (n, 2), and the heights between which its shaft is."""

    outline: Float64Array
    low_m: float
    high_m: float


@dataclass(frozen=True, slots=True, eq=False)
class Shell:
    """What the rooms are on the plan, and what they do to light.

    solid: (s, 4) ends of the segments that stop it; outer: (o, 4) of the walls' outsides; leaves:
    of open doors, outline and height; floors: (name, floor (n, 2), greatest height) of each room.
    """

    rooms: tuple[PlanRoom, ...]
    shell: tuple[tuple[Outline, ...], ...]
    walls: tuple[PlanWall, ...]
    openings: tuple[PlanOpening, ...]
    bounds_m: tuple[float, float, float, float]
    solid: Float64Array
    outer: Float64Array
    gates: tuple[Gate, ...]
    leaves: tuple[tuple[Float64Array, float], ...]
    roof_holes: tuple[RoofHole, ...]
    floors: tuple[tuple[str | None, Float64Array, float], ...]


def shell_of(placer: Placer) -> Shell:
    """The shell of a document's rooms; kept as long as rooms and openings stay alike."""
    document = placer.document
    return _shell(_Rooms(document, placer))


class _Rooms:
    """Rooms and openings as a key: by what they say, not by which document they are of."""

    __slots__ = ("_key", "placer")

    def __init__(self, document: SceneDocument, placer: Placer) -> None:
        self.placer: Placer | None = placer
        self._key = (
            document.units,
            _room_key(document.room),
            tuple((name, _room_key(room)) for name, room in document.rooms.items()),
            tuple(document.openings.items()),
        )

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Rooms) and self._key == other._key

    def __hash__(self) -> int:
        return hash(self._key)


def _room_key(room: Room) -> tuple[Any, ...]:
    return (room.floor, room.height, room.slope, room.wall_thickness)


@functools.lru_cache(maxsize=16)
def _shell(held: _Rooms) -> Shell:
    import shapely

    placer = held.placer
    assert placer is not None
    held.placer = None  # the key is kept, and must not keep a document alive
    document = placer.document
    rooms = [(name, placer.room(name)) for name in placer.room_names]
    floors = [shapely.Polygon(floor_corners_m(room)) for _, room in rooms]
    outer = shapely.union_all(
        [
            floor.buffer(room.wall_thickness.si, join_style="mitre", mitre_limit=8.0)
            for floor, (_, room) in zip(floors, rooms, strict=True)
        ]
    )
    walls = shapely.difference(outer, shapely.union_all(floors))
    holes = {
        name: _hole(placer, name)
        for name, opening in document.openings.items()
        if not isinstance(opening, Skylight)
    }
    cut = shapely.difference(walls, _union(list(holes.values())))
    passing = {name: hole for name, hole in holes.items() if _passes(document.openings[name])}
    solid = shapely.difference(walls, _union(list(passing.values())))
    rings = [ring for piece in pieces_of(solid) for ring in (piece.exterior, *piece.interiors)]
    low_x, low_y, high_x, high_y = (number(one) for one in outer.bounds)
    return Shell(
        rooms=tuple(
            PlanRoom(
                name=name,
                floor=rounded(floor_corners_m(room)),
                wall_thickness_m=number(room.wall_thickness.si),
                height_m=number(room.height.si),
            )
            for name, room in rooms
        ),
        shell=tuple(
            tuple(
                rounded(np.asarray(ring.coords)[:-1]) for ring in (piece.exterior, *piece.interiors)
            )
            for piece in pieces_of(cut)
        ),
        walls=tuple(
            _wall(room, name, k) for name, room in rooms for k in range(1, 1 + len(room.floor))
        ),
        openings=tuple(_opening(placer, name) for name in document.openings),
        bounds_m=(low_x, low_y, high_x, high_y),
        solid=np.concatenate([_segments(np.asarray(ring.coords)[:-1]) for ring in rings])
        if rings
        else np.empty((0, 4)),
        outer=np.concatenate(
            [_segments(np.asarray(one.exterior.coords)[:-1]) for one in pieces_of(outer)]
        ),
        gates=tuple(
            gate
            for name, hole in passing.items()
            for gate in _gates(np.asarray(hole.exterior.coords)[:4], document.openings[name])
        ),
        leaves=tuple(_leaves(placer)),
        roof_holes=tuple(
            _roof_hole(placer, name)
            for name, opening in document.openings.items()
            if isinstance(opening, Skylight)
        ),
        floors=tuple((name, floor_corners_m(room), room.height.si) for name, room in rooms),
    )


def _segments(ring: Float64Array) -> Float64Array:
    return np.concatenate([ring, np.roll(ring, -1, axis=0)], axis=1)


def _union(shapes: list[Any]) -> BaseGeometry:
    import shapely

    return shapely.union_all(shapes) if shapes else shapely.Polygon()


# Walls -----------------------------------------------------------------------------------


def _wall(room: Room, name: str | None, wall: int) -> PlanWall:
    corners = floor_corners_m(room)
    outline = wall_outline_m(room, wall)
    upper = sorted((along, up) for along, up in outline[2:].tolist())
    return PlanWall(
        room=name,
        number=wall,
        a=spot(corners[wall - 1]),
        b=spot(corners[wall % len(corners)]),
        thickness_m=number(room.wall_thickness.si),
        top=tuple((number(along), number(up)) for along, up in upper),
    )


# Openings --------------------------------------------------------------------------------


def _hole(placer: Placer, name: str) -> Polygon:
    """What an opening takes from the walls, through both where it leads to another room."""
    import shapely

    opening = placer.document.openings[name]
    assert not isinstance(opening, Skylight)
    low, along, _ = placer.opening_frame(name)
    _, _, inward = placer.wall_frame(opening.wall, opening.room)
    depth = placer.room(opening.room).wall_thickness.si
    if isinstance(opening, Door) and leads_to_room(opening):
        far = far_wall(placer, name)
        depth = max(0.0, far.gap_m) if isinstance(far, FarWall) else depth
    near, beyond = low + _STRAY_M * inward, low - (depth + _STRAY_M) * inward
    return shapely.Polygon([p[:2] for p in (near, near + along, beyond + along, beyond)])


def _passes(opening: Opening) -> bool:
    """Whether an opening lets light through at all."""
    if isinstance(opening, Window):
        return not any(isinstance(one, Curtain) and one.open.si <= 0.0 for one in opening.dressing)
    return isinstance(opening, Door) and opening.open.si > 0.0


def _gates(corners: Float64Array, opening: Opening) -> list[Gate]:
    """The two faces of the wall, each of which cuts a beam above and below."""
    sill = opening.sill.si if isinstance(opening, Window) else 0.0
    assert not isinstance(opening, Skylight)
    top = sill + opening.height.si
    ends = [(corners[0], corners[1]), (corners[3], corners[2])]
    return [Gate(tuple(a.tolist()), tuple(b.tolist()), sill, top) for a, b in ends]


def _leaves(placer: Placer) -> list[tuple[Float64Array, float]]:
    found = []
    for name, opening in placer.document.openings.items():
        if isinstance(opening, Door) and opening.open.si > 0.0:
            found.append((_leaf_corners(placer, name), opening.height.si))
    return found


def _leaf_corners(placer: Placer, name: str) -> Float64Array:
    leaf = leaf_hole(doorway_of(placer, name))
    ends = ((0.0, 0.0), (leaf.width_m, 0.0), (leaf.width_m, leaf.depth_m), (0.0, leaf.depth_m))
    return np.array([leaf.at(s, d, 0.0)[:2] for s, d in ends])


def _swing(placer: Placer, name: str, door: Door) -> Outline | None:
    """The way of an open door's free edge, from shut to where it stands."""
    if door.open.si <= 0.0:
        return None
    hole = doorway_of(placer, name).hole
    hole = hole.seen_from_beyond() if door.swings == "out" else hole
    at_low = hinged_at_low(door)
    hinge = hole.at(0.0 if at_low else hole.width_m, 0.0, 0.0)[:2]
    shut = (hole.along if at_low else -hole.along)[:2]
    turns = np.linspace(0.0, door.open.si, 2 + int(door.open.si / _ARC_STEP))[:, None]
    way = np.cos(turns) * shut + np.sin(turns) * hole.inward[:2]
    return rounded(hinge + hole.width_m * way)


def _roof_hole(placer: Placer, name: str) -> RoofHole:
    opening = placer.document.openings[name]
    assert isinstance(opening, Skylight)
    low, across, upward = placer.opening_frame(name)
    corners = np.array([low, low + across, low + across + upward, low + upward])
    top = float(corners[:, 2].max()) + opening.shaft.si
    return RoofHole(corners[:, :2], float(corners[:, 2].min()), top)


def _opening(placer: Placer, name: str) -> PlanOpening:
    opening = placer.document.openings[name]
    if isinstance(opening, Skylight):
        return _skylight(placer, name, opening)
    low, along, up = placer.opening_frame(name)
    hole = np.asarray(_hole(placer, name).exterior.coords)[:4]
    top = float(low[2] + up[2])
    box = np.array([[*corner, z] for corner in hole for z in (float(low[2]), top)])
    door = opening if isinstance(opening, Door) else None
    return PlanOpening(
        name=name,
        kind="window" if door is None else "door",
        room=opening.room,
        wall=opening.wall,
        a=spot(low),
        b=spot(low + along),
        along_m=number(opening.along.si),
        width_m=number(opening.width.si),
        sill_m=number(low[2]),
        top_m=number(top),
        hole=rounded(hole),
        leaf=None if door is None else rounded(_leaf_corners(placer, name)),
        swing=None if door is None else _swing(placer, name, door),
        open_deg=None if door is None else number(math.degrees(door.open.si), 1),
        says=_says(placer, opening),
        sides=seen_from_sides(box),
    )


def _skylight(placer: Placer, name: str, opening: Skylight) -> PlanOpening:
    hole = _roof_hole(placer, name)
    low, across, upward = placer.opening_frame(name)
    corners = np.array([low, low + across, low + across + upward, low + upward])
    shaft = np.concatenate([corners, corners + np.array([0.0, 0.0, opening.shaft.si])])
    middle = low + 0.5 * (across + upward)
    return PlanOpening(
        name=name,
        kind="skylight",
        room=opening.room,
        wall=None,
        a=spot(middle - 0.5 * across),
        b=spot(middle + 0.5 * across),
        along_m=None,
        width_m=number(opening.size[0].si),
        sill_m=number(hole.low_m),
        top_m=number(hole.high_m),
        hole=rounded(hole.outline),
        leaf=None,
        swing=None,
        open_deg=None,
        says=_says(placer, opening),
        sides=seen_from_sides(shaft),
    )


def _says(placer: Placer, opening: Opening) -> str:
    """An opening's size and what hangs in it, in words."""
    units = placer.document.units
    if isinstance(opening, Skylight):
        size = (opening.size[0].si, opening.size[1].si)
    else:
        size = (opening.width.si, opening.height.si)
    told = ["{} × {}".format(*(format_length(side, units=units) for side in size))]
    if isinstance(opening, Door):
        to = {None: "", "outside": "leads outside"}.get(opening.to, f"leads to {opening.to}")
        turned = f"open {math.degrees(opening.open.si):.0f}°" if opening.open.si > 0.0 else "shut"
        return ", ".join(one for one in (*told, turned, to) if one)
    return ", ".join([*told, *(_dressing_words(one) for one in opening.dressing)])


def _dressing_words(one: msgspec.Struct) -> str:
    match one:
        case Sheer():
            return "sheer"
        case Blind(tilt=tilt, drop=drop):
            down = "" if drop.si >= 1.0 else f", {100.0 * drop.si:.0f} % down"
            return f"blind at {math.degrees(tilt.si):.0f}°{down}"
        case Curtain(open=opened):
            return (
                "curtain drawn" if opened.si <= 0.0 else f"curtain {100.0 * opened.si:.0f} % open"
            )
        case WindowGel(loss=loss):
            return f"gel, {loss.si:g} stops"
        case _:
            return ""
