"""Openings in walls and ceilings: where their holes lie, and through which one sees the sky."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np

from falloff.document import Curtain, Door, Skylight, Window, WindowGel
from falloff.errors import Fault
from falloff.stage.ceilings import floor_corners_m, wall_outline_m
from falloff.stage.joinery import UP, WallHole
from falloff.stage.places import Placer
from falloff.types import Float64Array
from falloff.units import format_length

if TYPE_CHECKING:
    from shapely import Polygon

OUTSIDE: Final = "outside"
SILL_BOARD_SIDES_M: Final = 0.03  # a sill's board runs past the window by this much on each side
SILL_BOARD_THICKNESS_M: Final = 0.025
_FARTHEST_M = 1.0  # between the two walls that a door goes through
_PARALLEL = 1e-3  # sine of the angle by which those walls may be out of parallel
SLACK_M: Final = 1e-6
_CORNER_ROOM_M = 0.016  # a door's frame keeps clear of a wall's ends by this much
_FRAME_SHARES = (1.0, 0.8, 0.6, 0.4, 0.2)

WallKey: TypeAlias = tuple[str | None, int]


@dataclass(frozen=True, slots=True)
class Frame:
    """Widths of a door's frame on its left and right as one looks along the wall, and on top, m."""

    near: float
    far: float
    top: float


@dataclass(frozen=True, slots=True)
class Cutout:
    """What an opening takes out of a wall: rectangles (along, up) in metres, its hole first.

    frame: of a door as seen on this wall, None for a window.
    """

    name: str
    hole: Float64Array
    around: tuple[Float64Array, ...] = ()
    frame: Frame | None = None


@dataclass(frozen=True, slots=True)
class SkyHole:
    """A parallelogram through which the sky is seen; edge_u × edge_v points into the room.

    corner, edges: (3,) metres; passes: share that panes and gels let through at right angles.
    """

    name: str
    corner: Float64Array
    edge_u: Float64Array
    edge_v: Float64Array
    passes: float = 1.0


@dataclass(frozen=True, slots=True)
class FarWall:
    """The wall of another room that a door comes out of, and how far away it is (m)."""

    room: str | None
    wall: int
    gap_m: float
    start_m: float


def sky_holes(placer: Placer) -> tuple[SkyHole, ...]:
    """The holes through which light from outside comes in, in the order of the document.

    A curtain that is wholly drawn leaves none; a door leaves one if it leads outside and is open.
    """
    found = []
    for name, opening in placer.document.openings.items():
        match opening:
            case Door(to="outside") if opening.open.si > 0.0:
                found.append(_wall_sky(placer, name))
            case Window() if not _blacked_out(opening):
                found.append(_wall_sky(placer, name))
            case Skylight():
                low, across, upward = placer.opening_frame(name)
                top = low + opening.shaft.si * UP
                found.append(_dressed(opening, SkyHole(name, top, upward, across)))
            case _:
                pass
    return tuple(found)


def wall_hole(placer: Placer, name: str, *, depth_m: float | None = None) -> WallHole:
    """The hole of a window or a door from its own room, as deep as the wall unless told."""
    opening = placer.document.openings[name]
    assert not isinstance(opening, Skylight)
    low, along, up = placer.opening_frame(name)
    _, way, inward = placer.wall_frame(opening.wall, opening.room)
    depth = placer.room(opening.room).wall_thickness.si if depth_m is None else depth_m
    width, height = float(np.linalg.norm(along)), float(np.linalg.norm(up))
    return WallHole(name, low, way, inward, width, height, depth)


def other_room(placer: Placer, door: Door) -> str | None:
    """The room that a door to another room leads to; the scene's own is called "room"."""
    assert door.to is not None
    return door.to if door.to in placer.document.rooms else None


def leads_to_room(door: Door) -> bool:
    """Whether a door leads to another room of the scene."""
    return door.to not in (None, OUTSIDE)


# Walls with holes ------------------------------------------------------------------------


def cutouts(placer: Placer) -> dict[WallKey, list[Cutout]]:
    """What is cut out of each wall that has an opening, doors from the other side included."""
    found = holes(placer)
    return {
        key: [_with_surround(placer, key, cut, cuts) for cut in cuts] for key, cuts in found.items()
    }


def holes(placer: Placer) -> dict[WallKey, list[Cutout]]:
    """The bare holes of each wall that has an opening; doors that lead nowhere have but one."""
    found: dict[WallKey, list[Cutout]] = {}
    for name, opening in placer.document.openings.items():
        if isinstance(opening, Skylight):
            continue
        sill = opening.sill.si if isinstance(opening, Window) else 0.0
        first, width = opening.along.si, opening.width.si
        outline = _rectangle(first, sill, first + width, sill + opening.height.si)
        found.setdefault((opening.room, opening.wall), []).append(Cutout(name, outline))
        if isinstance(opening, Door) and leads_to_room(opening):
            far = far_wall(placer, name)
            if isinstance(far, FarWall):
                outline = _rectangle(far.start_m, 0.0, far.start_m + width, opening.height.si)
                found.setdefault((far.room, far.wall), []).append(Cutout(name, outline))
    return found


def far_wall(placer: Placer, name: str) -> FarWall | Fault:
    """The wall that a door to another room comes out of, or why there is none."""
    door = placer.document.openings[name]
    assert isinstance(door, Door)
    room = other_room(placer, door)
    if room == door.room:
        return placer.fault_at(
            ("openings", name, "to"),
            what=f"{name} leads back into the room it is in",
            expected="another room, or outside",
            fix=f"name the room beyond {name}",
        )
    low, along, up = placer.opening_frame(name)
    _, _, inward = placer.wall_frame(door.wall, door.room)
    ends = np.array([low, low + along])
    corners = floor_corners_m(placer.room(room))
    facing = []
    for wall in range(1, len(corners) + 1):
        start, way, other_inward = placer.wall_frame(wall, room)
        gap = float((low - start) @ inward)
        if float(inward @ other_inward) < 0.0 and abs(float(way @ inward)) < _PARALLEL:
            length = float(np.hypot(*(corners[wall % len(corners)] - corners[wall - 1])))
            spots = sorted((ends - start) @ way)
            within = spots[0] > -1e-3 and spots[1] < length + 1e-3
            outline = wall_outline_m(placer.room(room), wall)
            fits = within and contains(outline, spots[0], spots[1], float(up[2]))
            facing.append((gap, FarWall(room, wall, gap, float(spots[0])), fits))
    facing = [one for one in facing if one[0] > -1e-3]
    good = [one for one in facing if one[0] <= _FARTHEST_M and one[2]]
    if good:
        return min(good, key=lambda one: one[0])[1]
    return _no_far_wall(placer, name, facing)


def _no_far_wall(placer: Placer, name: str, facing: list[tuple[float, FarWall, bool]]) -> Fault:
    door = placer.document.openings[name]
    assert isinstance(door, Door)
    where = f"wall {door.wall}"
    fitting = [one for one in facing if one[2]]
    if not facing:
        found = f"none of its walls is parallel to {where} and faces it"
    elif fitting:
        found = f"the nearest is {said(placer, min(one[0] for one in fitting))} away"
    else:
        found = "none that is parallel to it is long and high enough where the door is"
    return placer.fault_at(
        ("openings", name, "to"),
        what=f"{name} does not come out in {door.to}",
        expected=(
            f"a wall of {door.to} that faces {where}, at most {said(placer, _FARTHEST_M)} away, "
            "with room for the whole door"
        ),
        found=found,
        fix=f"move {name} or {door.to}",
    )


def _with_surround(placer: Placer, key: WallKey, cut: Cutout, cuts: list[Cutout]) -> Cutout:
    """A hole with what its frame or its sill's board takes from the wall besides."""
    opening = placer.document.openings[cut.name]
    (left, low), (right, high) = cut.hole[0], cut.hole[2]
    if isinstance(opening, Window):
        if opening.sill_board is None:
            return cut
        first, last, under = board_of(placer, cut.name)
        board = _rectangle(left + first, low + under, left + last, low)
        return Cutout(cut.name, cut.hole, (board,) if under < 0.0 else ())
    assert isinstance(opening, Door)
    wanted = opening.frame.si
    others = [one.hole for one in cuts if one is not cut]
    outline = wall_outline_m(placer.room(key[0]), key[1])

    def fits(near: float, far: float, top: float) -> bool:
        return _free(outline, (left - near, 0.1, right + far, high + top), others)

    shares = [share * wanted for share in _FRAME_SHARES]
    near = next((w for w in shares if fits(w, 0.0, 0.0)), 0.0)
    far = next((w for w in shares if fits(0.0, w, 0.0)), 0.0)
    top = next((w for w in shares if fits(near, far, w)), 0.0)
    frame = Frame(near, far, top)
    around = (
        _rectangle(left - near, 0.0, left, high + top),
        _rectangle(right, 0.0, right + far, high + top),
        _rectangle(left, high, right, high + top),
    )
    real = tuple(one for one in around if (one[2] - one[0]).min() > 0.0)
    return Cutout(cut.name, cut.hole, real, frame)


def board_of(placer: Placer, name: str) -> tuple[float, float, float]:
    """Of a sill's board its ends along and its underside, from the window's low corner (m)."""
    window = placer.document.openings[name]
    assert isinstance(window, Window)
    length = float(wall_outline_m(placer.room(window.room), window.wall)[:, 0].max())
    first = max(-SILL_BOARD_SIDES_M, -window.along.si)
    last = window.width.si + min(SILL_BOARD_SIDES_M, length - window.along.si - window.width.si)
    return first, last, -min(SILL_BOARD_THICKNESS_M, window.sill.si)


# Parts -----------------------------------------------------------------------------------


def skylight_outline(placer: Placer, name: str) -> Polygon:
    """The hole of a skylight on the plan."""
    import shapely

    low, across, upward = placer.opening_frame(name)
    return shapely.Polygon(
        [corner[:2] for corner in (low, low + across, low + across + upward, low + upward)]
    )


def wall_name(room: str | None, wall: int) -> str:
    """How a wall is called: "wall 2", or "HALL wall 2" in another room than the scene's own."""
    return f"wall {wall}" if room is None else f"{room} wall {wall}"


def _wall_sky(placer: Placer, name: str) -> SkyHole:
    opening = placer.document.openings[name]
    assert not isinstance(opening, Skylight)
    low, along, up = placer.opening_frame(name)
    _, _, inward = placer.wall_frame(opening.wall, opening.room)
    outer = low - placer.room(opening.room).wall_thickness.si * inward
    hole = SkyHole(name, outer + along, -along, up)
    return hole if isinstance(opening, Door) else _dressed(opening, hole)


def _dressed(opening: Window | Skylight, hole: SkyHole) -> SkyHole:
    """A hole with what its gels and panes take; what they do by the angle is the sheets'."""
    return replace(hole, passes=opening.glass * 2.0 ** -gel_loss_stops(opening))


def gel_loss_stops(opening: Window | Skylight) -> float:
    """What the gels on a window take away."""
    return sum(one.loss.si for one in opening.dressing if isinstance(one, WindowGel))


def _blacked_out(window: Window) -> bool:
    return any(isinstance(one, Curtain) and one.open.si <= 0.0 for one in window.dressing)


def _rectangle(left: float, low: float, right: float, high: float) -> Float64Array:
    return np.array([[left, low], [right, low], [right, high], [left, high]])


def contains(
    outline: Float64Array, left: float, right: float, high: float, low: float = 0.0
) -> bool:
    """Whether a wall's outline (along, up) holds a rectangle, edges included."""
    import shapely

    wall = shapely.Polygon(outline).buffer(SLACK_M, join_style="mitre")
    return bool(wall.contains(shapely.box(left, low, right, high)))


def _free(
    outline: Float64Array, box: tuple[float, float, float, float], others: list[Float64Array]
) -> bool:
    """Whether a frame lies clear of a wall's ends and of other openings."""
    import shapely

    wanted = shapely.box(*box)
    if not shapely.Polygon(outline).buffer(-_CORNER_ROOM_M).contains(wanted):
        return False
    return not any(shapely.Polygon(one).intersects(wanted) for one in others)


def said(placer: Placer, length_m: float) -> str:
    """A length as the scene's own units have it."""
    return format_length(float(length_m), units=placer.document.units)
