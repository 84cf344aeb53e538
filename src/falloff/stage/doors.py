"""A door: lining, threshold, frame, and a leaf that fills it or stands open."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from falloff.document import Door
from falloff.stage.dice import PieceBuilder
from falloff.stage.joinery import TRIM, UP, WallHole, add_board, add_front, add_quad
from falloff.stage.openings import (
    Cutout,
    FarWall,
    Frame,
    WallKey,
    far_wall,
    leads_to_room,
    wall_hole,
)
from falloff.stage.places import Placer
from falloff.stage.solids import add_box

if TYPE_CHECKING:
    from shapely import Polygon

# Usual sizes of inside doors: common practice, no source.
_LEAF_M = 0.04  # thickness
_LEAF_SHARE = 0.8  # of the wall, where that is thinner
_FRAME_PROUD_M = 0.015  # a frame stands out of the wall by this much
_PIN_M = 0.01  # the hinges' pins stand out of the leaf's face by this much
_STILE_M = 0.11  # around and between the panels of a leaf
_PANEL_DEPTH_M = 0.008
_SMALLEST_PANELLED_M = (0.5, 1.2)
_HANDLE_UP_M = 1.05
_HANDLE_IN_M = 0.06  # from the leaf's free edge
_NECK_M = 0.04
_LEVER_M = 0.11
_BAR_M = 0.016  # of neck and lever
_HANDLE_SURFACE = "steel"


@dataclass(frozen=True, slots=True)
class Doorway:
    """A door in its hole; far: the wall it comes out of in another room."""

    name: str
    door: Door
    hole: WallHole
    far: FarWall | None
    floor_surface: str

    @property
    def shut(self) -> bool:
        """Whether its leaf fills it."""
        return self.door.open.si <= 0.0

    @property
    def leaf_m(self) -> float:
        """How thick its leaf is (m)."""
        return min(_LEAF_M, _LEAF_SHARE * self.hole.depth_m)


def add_door(
    builder: PieceBuilder, placer: Placer, name: str, cutouts: dict[WallKey, list[Cutout]]
) -> None:
    """All of a door, on both sides of the wall where it leads to another room."""
    doorway = doorway_of(placer, name)
    door = doorway.door
    _add_lining(builder, doorway)
    own = _frame_on(cutouts, (door.room, door.wall), name)
    _add_frame(builder, doorway.hole, own, door.frame_surface)
    if doorway.far is not None:
        other = _frame_on(cutouts, (doorway.far.room, doorway.far.wall), name)
        _add_frame(builder, doorway.hole.seen_from_beyond(), other, door.frame_surface)
    _add_leaf(builder, doorway)


def doorway_of(placer: Placer, name: str) -> Doorway:
    """A door's hole through its wall, or through both walls and what lies between."""
    door = placer.document.openings[name]
    assert isinstance(door, Door)
    far = far_wall(placer, name) if leads_to_room(door) else None
    assert far is None or isinstance(far, FarWall)  # opening_faults has told it
    depth = None if far is None else max(0.0, far.gap_m)
    hole = wall_hole(placer, name, depth_m=depth)
    return Doorway(name, door, hole, far, placer.room(door.room).floor_surface)


def leaf_hole(doorway: Doorway) -> WallHole:
    """The leaf as if it were a hole: `inward` out of the face on the side it opens to.

    depth_m: its thickness. Turned about its hinges as far as the door stands open.
    """
    hole, at_low = doorway.hole, hinged_at_low(doorway.door)
    if doorway.door.swings == "out":
        hole = hole.seen_from_beyond()
    angle = 0.0 if doorway.shut else doorway.door.open.si * (1.0 if at_low else -1.0)
    along = math.cos(angle) * hole.along + math.sin(angle) * hole.inward
    face = math.cos(angle) * hole.inward - math.sin(angle) * hole.along
    hinge = hole.at(0.0 if at_low else hole.width_m, 0.0, 0.0)
    if not doorway.shut:
        hinge = hinge + _PIN_M * (hole.inward - face)
    low = hinge if at_low else hinge - hole.width_m * along
    return replace(hole, low=low, along=along, inward=face, depth_m=doorway.leaf_m)


def hinged_at_low(door: Door) -> bool:
    """Whether, seen from the side it opens to, a door's hinges are where `along` starts.

    With one's face to a wall, `along` runs to the left.
    """
    return door.hinge == ("right" if door.swings == "in" else "left")


def leaf_plan(placer: Placer, name: str) -> Polygon:
    """What a door's leaf covers of the plan, for whoever must not stand in it."""
    import shapely

    leaf = leaf_hole(doorway_of(placer, name))
    ends = ((0.0, 0.0), (leaf.width_m, 0.0), (leaf.width_m, leaf.depth_m), (0.0, leaf.depth_m))
    return shapely.Polygon([leaf.at(s, d, 0.0)[:2] for s, d in ends])


def _frame_on(cutouts: dict[WallKey, list[Cutout]], key: WallKey, name: str) -> Frame:
    frame = next(cut.frame for cut in cutouts[key] if cut.name == name)
    assert frame is not None  # every door has one
    return frame


def _add_lining(builder: PieceBuilder, doorway: Doorway) -> None:
    """Jambs, head and threshold, as far as they can be seen past a shut leaf."""
    hole, door = doorway.hole, doorway.door
    near, far = 0.0, hole.depth_m
    if doorway.shut and door.swings == "out":
        far -= doorway.leaf_m
    elif doorway.shut:
        near = doorway.leaf_m if doorway.far is not None else far
    if far - near < 1e-6:
        return
    out = (near - far) * hole.inward
    across, rise = hole.width_m * hole.along, hole.height_m * UP
    for corner, edge, facing, material, part in (
        (hole.at(0.0, near, 0.0), rise, hole.along, door.frame_surface, "lining"),
        (hole.at(hole.width_m, near, 0.0), rise, -hole.along, door.frame_surface, "lining"),
        (hole.at(0.0, near, hole.height_m), across, -UP, door.frame_surface, "lining"),
        (hole.at(0.0, near, 0.0), across, UP, doorway.floor_surface, "threshold"),
    ):
        add_quad(
            builder,
            corner,
            (edge, out),
            facing=facing,
            material=material,
            name=f"{doorway.name} {part}",
        )


def _add_frame(builder: PieceBuilder, hole: WallHole, frame: Frame, material: str) -> None:
    """The frame round a door on one side of the wall, as wide as there is room for.

    frame: near, far as one looks along that side's wall.
    """
    import shapely

    width, height = hole.width_m, hole.height_m
    around = shapely.box(-frame.near, 0.0, width + frame.far, height + frame.top)
    shape = shapely.difference(around, shapely.box(0.0, 0.0, width, height))
    if shape.is_empty or shape.area < 1e-9:
        return
    add_board(
        builder,
        hole,
        shape,
        out_m=(-_FRAME_PROUD_M, 0.0),
        material=material,
        name=f"{hole.name} frame",
    )


# The leaf --------------------------------------------------------------------------------


def _add_leaf(builder: PieceBuilder, doorway: Doorway) -> None:
    """A closed slab with two panels let into each face and a handle on both."""
    leaf = leaf_hole(doorway)
    material, name = doorway.door.leaf_surface, f"{doorway.name} leaf"
    at_low = hinged_at_low(doorway.door)
    sides = [(leaf, at_low), (leaf.seen_from_beyond(), not at_low)]
    if doorway.shut and doorway.far is None:
        del sides[1 if doorway.door.swings == "in" else 0]
    for face, hinged_low in sides:
        _add_leaf_face(builder, face, material, name)
        _add_handle(builder, face, hinged_low=hinged_low)
    if doorway.shut:
        return
    through = -leaf.depth_m * leaf.inward
    across, rise = leaf.width_m * leaf.along, leaf.height_m * UP
    with builder.cut_by(TRIM):
        for corner, edge, facing in (
            (leaf.low, rise, -leaf.along),
            (leaf.at(leaf.width_m, 0.0, 0.0), rise, leaf.along),
            (leaf.at(0.0, 0.0, leaf.height_m), across, UP),
            (leaf.low, across, -UP),
        ):
            add_quad(builder, corner, (edge, through), facing=facing, material=material, name=name)


def _add_leaf_face(builder: PieceBuilder, face: WallHole, material: str, name: str) -> None:
    import shapely

    width, height = face.width_m, face.height_m
    plain = shapely.box(0.0, 0.0, width, height)
    panels = []
    if width >= _SMALLEST_PANELLED_M[0] and height >= _SMALLEST_PANELLED_M[1]:
        split = 0.45 * height
        left, right = _STILE_M, width - _STILE_M
        panels = [
            shapely.box(left, 2.0 * _STILE_M, right, split),
            shapely.box(left, split + _STILE_M, right, height - _STILE_M),
        ]
    shape = shapely.difference(plain, shapely.union_all(panels)) if panels else plain
    add_front(builder, face, shape, out_m=0.0, material=material, name=name)
    depth = min(_PANEL_DEPTH_M, 0.2 * face.depth_m)
    for panel in panels:
        add_board(builder, face, panel, out_m=(depth, 0.0), material=material, name=name)


def _add_handle(builder: PieceBuilder, face: WallHole, *, hinged_low: bool) -> None:
    """A lever on a short neck, near the free edge."""
    if face.height_m < _HANDLE_UP_M + 0.1 or face.width_m < 0.3:
        return
    at = face.width_m - _HANDLE_IN_M if hinged_low else _HANDLE_IN_M
    toward = -0.5 * _LEVER_M if hinged_low else 0.5 * _LEVER_M
    axes = (face.along, face.inward, UP)
    name = f"{face.name} handle"
    neck = face.at(at, -0.5 * _NECK_M, _HANDLE_UP_M)
    lever = face.at(at + toward, -_NECK_M - 0.5 * _BAR_M, _HANDLE_UP_M)
    with builder.cut_by(TRIM):
        add_box(builder, neck, axes, (_BAR_M, _NECK_M, _BAR_M), _HANDLE_SURFACE, name)
        add_box(builder, lever, axes, (_LEVER_M, _BAR_M, _BAR_M), _HANDLE_SURFACE, name)
