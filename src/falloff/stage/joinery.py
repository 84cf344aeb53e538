"""Faces that are fitted to a wall: quadrilaterals by the way they face, and boards standing out."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from falloff.stage.dice import PieceBuilder
from falloff.stage.grain import Grain
from falloff.types import Float64Array

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

UP: Final = np.array([0.0, 0.0, 1.0])
TRIM: Final = Grain(patch_m=0.5, element_m=0.5)  # of narrow strips, which hold little light


@dataclass(frozen=True, slots=True)
class WallHole:
    """A rectangular way through a wall as seen from inside a room.

    low: (3,) its lower corner at the wall's first corner's side, on the wall's inside (m); along,
    inward: (3,) unit ways along the wall and into the room; depth_m: through the wall.
    """

    name: str
    low: Float64Array
    along: Float64Array
    inward: Float64Array
    width_m: float
    height_m: float
    depth_m: float

    def at(self, along_m: float, out_m: float, up_m: float) -> Float64Array:
        """A point so far along, out through the wall (negative: into the room) and up."""
        return np.asarray(self.low + along_m * self.along - out_m * self.inward + up_m * UP)

    def seen_from_beyond(self) -> WallHole:
        """The same hole as seen from the room on the other side."""
        low = self.at(self.width_m, self.depth_m, 0.0)
        return WallHole(
            self.name, low, -self.along, -self.inward, self.width_m, self.height_m, self.depth_m
        )


def add_quad(
    builder: PieceBuilder,
    corner: Float64Array,
    edges: tuple[Float64Array, Float64Array],
    *,
    facing: Float64Array,
    material: str,
    name: str,
) -> None:
    """A rectangle seen from the side that `facing` points to; nothing if it has no area."""
    first, second = edges
    if min(float(np.linalg.norm(first)), float(np.linalg.norm(second))) < 1e-6:
        return
    if float(np.cross(first, second) @ facing) < 0.0:
        first, second = second, first
    builder.add_rectangle(corner, edge_u=first, edge_v=second, material=material, name=name)


def add_front(
    builder: PieceBuilder,
    hole: WallHole,
    shape: BaseGeometry,
    *,
    out_m: float,
    material: str,
    name: str,
) -> None:
    """A flat shape (along, up) of the hole's own frame, seen from the room."""
    import shapely

    builder.add_region(
        hole.at(0.0, out_m, 0.0),
        axis_u=-hole.along,
        axis_v=UP,
        shape=shapely.transform(shape, lambda points: points * (-1.0, 1.0)),
        material=material,
        name=name,
    )


def add_board(
    builder: PieceBuilder,
    hole: WallHole,
    shape: BaseGeometry,
    *,
    out_m: tuple[float, float],
    material: str,
    name: str,
) -> None:
    """A flat shape (along, up) with a front at out_m[0] and rims from there to out_m[1].

    Its front faces the room. Rims face outward where the front is nearer to the room, inward (a
    recess) where it lies deeper. Rims on the floor are left out.
    """
    front, back = out_m
    add_front(builder, hole, shape, out_m=front, material=material, name=name)
    outward = 1.0 if front < back else -1.0
    with builder.cut_by(TRIM):
        for start, end in _edges(shape):
            if hole.low[2] + max(start[1], end[1]) < 1e-6:
                continue
            way = end - start
            add_quad(
                builder,
                hole.at(float(start[0]), front, float(start[1])),
                (way[0] * hole.along + way[1] * UP, (front - back) * hole.inward),
                facing=outward * (way[1] * hole.along - way[0] * UP),
                material=material,
                name=name,
            )


def _edges(shape: BaseGeometry) -> list[tuple[Float64Array, Float64Array]]:
    """The outer edges of a shape, counter-clockwise: its inside lies on their left."""
    import shapely

    found = []
    for part in shapely.get_parts(shapely.orient_polygons(shapely.simplify(shape, 0.0))):
        ring = shapely.get_coordinates(part.exterior)
        found += list(itertools.pairwise(ring))
    return found
