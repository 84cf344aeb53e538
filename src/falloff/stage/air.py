"""Where there is air: rooms up to their ceilings, the doorways between, reveals and shafts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from falloff.document import Door, Skylight
from falloff.stage.ceilings import ceiling_height_m, floor_corners_m
from falloff.stage.doors import doorway_of
from falloff.stage.joinery import WallHole
from falloff.stage.openings import skylight_outline, wall_hole
from falloff.stage.places import Placer
from falloff.types import BoolArray, Float64Array

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

TOUCH_M: Final = 0.01  # things may lean against a wall, or be let into it by this much


@dataclass(frozen=True, slots=True)
class Air:
    """The air of a scene: `holds` asks for points, `plan` is where one can stand.

    plan: a shapely (multi)polygon, rooms and open doorways as one; floors: of the rooms alone.
    """

    placer: Placer
    plan: BaseGeometry
    floors: dict[str | None, BaseGeometry]
    holes: tuple[WallHole, ...]

    def holds(self, points: Float64Array) -> BoolArray:
        """Whether points (n, 3) lie in the air, or not deeper in a surface than they may."""
        held = np.zeros(len(points), bool)
        for room in self.floors:
            held |= self._in_room(room, points)
        for hole in self.holes:
            held |= _in_hole(hole, points)
        for name, opening in self.placer.document.openings.items():
            if isinstance(opening, Skylight) and not held.all():
                held |= self._in_shaft(name, opening, points)
        return held

    def in_plan(self, points: Float64Array) -> BoolArray:
        """Whether points (n, 3) lie over a floor, whatever their height."""
        import shapely

        near = shapely.union_all(list(self.floors.values())).buffer(TOUCH_M)
        shapely.prepare(near)
        return np.asarray(shapely.contains_xy(near, points[:, 0], points[:, 1]))

    def encloses(self, point: Float64Array) -> bool:
        """Whether a point (3,) is in the air, or over a floor's outline and under its ceiling."""
        spot = point[None]
        if self.holds(spot)[0]:
            return True
        return bool(self.in_plan(spot)[0] and point[2] <= self.ceiling_m(spot)[0])

    def ceiling_m(self, points: Float64Array) -> Float64Array:
        """Height of the ceiling over points (n, 3), of the room they are in or nearest to."""
        import shapely

        spots = shapely.points(points[:, :2])
        away = np.stack([shapely.distance(floor, spots) for floor in self.floors.values()])
        heights = np.stack(
            [
                ceiling_height_m(self.placer.room(room), points[:, 0], points[:, 1])
                for room in self.floors
            ]
        )
        return np.asarray(heights[np.argmin(away, 0), np.arange(len(points))])

    def _in_room(self, room: str | None, points: Float64Array) -> BoolArray:
        import shapely

        near = self.floors[room].buffer(TOUCH_M)
        shapely.prepare(near)
        over = shapely.contains_xy(near, points[:, 0], points[:, 1])
        top = ceiling_height_m(self.placer.room(room), points[:, 0], points[:, 1])
        return np.asarray(over & (points[:, 2] >= -TOUCH_M) & (points[:, 2] <= top + TOUCH_M))

    def _in_shaft(self, name: str, skylight: Skylight, points: Float64Array) -> BoolArray:
        import shapely

        outline = skylight_outline(self.placer, name).buffer(TOUCH_M)
        over = shapely.contains_xy(outline, points[:, 0], points[:, 1])
        room = self.placer.room(skylight.room)
        top = ceiling_height_m(room, points[:, 0], points[:, 1]) + skylight.shaft.si
        return np.asarray(over & (points[:, 2] >= -TOUCH_M) & (points[:, 2] <= top + TOUCH_M))


def air_of(placer: Placer) -> Air:
    """The air of a document's rooms."""
    import shapely

    floors = {
        room: shapely.Polygon(floor_corners_m(placer.room(room))) for room in placer.room_names
    }
    holes: list[WallHole] = []
    plan = list(floors.values())
    for name, opening in placer.document.openings.items():
        if isinstance(opening, Door):
            if opening.open.si > 0.0 and opening.to is not None:
                hole = doorway_of(placer, name).hole
                holes.append(hole)
                plan.append(_base(hole))
        elif not isinstance(opening, Skylight):
            holes.append(wall_hole(placer, name))
    whole = plan[0] if len(plan) == 1 else shapely.union_all(plan)
    return Air(placer, whole, floors, tuple(holes))


def _base(hole: WallHole) -> BaseGeometry:
    """What a doorway covers of the plan, a hair more so that it joins the floors."""
    import shapely

    ends = ((0.0, 0.0), (hole.width_m, 0.0), (hole.width_m, hole.depth_m), (0.0, hole.depth_m))
    corners = [hole.at(along, out, 0.0)[:2] for along, out in ends]
    return shapely.Polygon(corners).buffer(1e-6, join_style="mitre")


def _in_hole(hole: WallHole, points: Float64Array) -> BoolArray:
    way = points - hole.low
    found = np.ones(len(points), bool)
    for measure, most in (
        (way @ hole.along, hole.width_m),
        (-way @ hole.inward, hole.depth_m),
        (way[:, 2], hole.height_m),
    ):
        found &= (measure >= -TOUCH_M) & (measure <= most + TOUCH_M)
    return found
