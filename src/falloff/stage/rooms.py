"""Surfaces of the rooms: floors, ceilings and walls, with what is fitted in their openings."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from falloff.document import Door, Skylight, Window
from falloff.errors import GeometryError
from falloff.stage.ceilings import (
    CeilingPlane,
    ceiling_planes,
    floor_corners_m,
    is_flat,
    wall_outline_m,
)
from falloff.stage.dice import PieceBuilder
from falloff.stage.doors import add_door
from falloff.stage.grain import Grain
from falloff.stage.joinery import UP
from falloff.stage.opening_checks import opening_faults
from falloff.stage.openings import Cutout, WallKey, cutouts, skylight_outline, wall_name
from falloff.stage.places import Placer
from falloff.stage.records import Piece
from falloff.stage.windows import add_skylight, add_window

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

ROOM_ELEMENTS_MOST: Final = 40_000  # of all rooms' surfaces at the grain that fitting_grain gives


def build_room(placer: Placer, grain: Grain) -> Piece:
    """Every room: floor, ceiling, walls with their openings, and what is fitted in those.

    Raises GeometryError where an opening does not fit.
    """
    faults = opening_faults(placer)
    if faults:
        raise GeometryError(*faults)
    build = _Build(placer, PieceBuilder("room", grain), cutouts(placer))
    for room in placer.room_names:
        _add_room(build, room)
    return build.builder.build()


def fitting_grain(placer: Placer, wanted: Grain | None = None) -> Grain:
    """The grain wanted (None: the usual), or a coarser one where rooms have too much surface."""
    usual = wanted or Grain()
    area_m2 = sum(surface_m2(placer, room) for room in placer.room_names)
    scale = math.sqrt(max(1.0, area_m2 / usual.element_m**2 / ROOM_ELEMENTS_MOST))
    return replace(usual, patch_m=scale * usual.patch_m, element_m=scale * usual.element_m)


def surface_m2(placer: Placer, room: str | None) -> float:
    """Area of a room's floor, ceiling and walls, openings not taken out (m²)."""
    import shapely

    held = placer.room(room)
    slopes = [
        plane.plan.area * math.sqrt(1.0 + float(plane.gradient @ plane.gradient))
        for plane in ceiling_planes(held)
    ]
    walls = [
        shapely.Polygon(outline).area
        for wall in range(1, len(held.floor) + 1)
        if len(outline := wall_outline_m(held, wall)) > 2
    ]
    return float(shapely.Polygon(floor_corners_m(held)).area + sum(slopes) + sum(walls))


@dataclass(frozen=True, slots=True)
class _Build:
    placer: Placer
    builder: PieceBuilder
    cutouts: dict[WallKey, list[Cutout]]


def _add_room(build: _Build, room: str | None) -> None:
    held = build.placer.room(room)
    label = "" if room is None else f"{room} "
    build.builder.add_polygon(
        np.zeros(3),
        axis_u=np.array([1.0, 0.0, 0.0]),
        axis_v=np.array([0.0, 1.0, 0.0]),
        outline=floor_corners_m(held),
        material=held.floor_surface,
        name=f"{label}floor",
    )
    skylights = [
        name
        for name, opening in build.placer.document.openings.items()
        if isinstance(opening, Skylight) and opening.room == room
    ]
    for plane in ceiling_planes(held):
        _add_ceiling(build, plane, skylights, held.ceiling_surface, f"{label}ceiling")
    for wall in range(1, len(held.floor) + 1):
        _add_wall(build, room, wall)
    for name in skylights:
        add_skylight(build.builder, build.placer, name)


def _add_ceiling(
    build: _Build, plane: CeilingPlane, skylights: list[str], material: str, name: str
) -> None:
    """One plane of a ceiling, seen from below."""
    import shapely

    shape: BaseGeometry = plane.plan
    for skylight in skylights:
        shape = shapely.difference(shape, skylight_outline(build.placer, skylight))
    across, up_slope = np.array([1.0, 0.0]), np.array([0.0, 1.0])
    rise = 0.0
    if not is_flat(plane.gradient):
        rise = math.hypot(*plane.gradient)
        up_slope = plane.gradient / rise
        across = np.array([up_slope[1], -up_slope[0]])
    stretch = math.sqrt(1.0 + rise**2)
    to_face = np.stack([across, -stretch * up_slope], axis=1)
    build.builder.add_region(
        np.array([0.0, 0.0, plane.level_m]),
        axis_u=np.array([*across, 0.0]),
        axis_v=-np.array([*up_slope, rise]) / stretch,
        shape=shapely.transform(shape, lambda points: points @ to_face),
        material=material,
        name=name,
    )


def _add_wall(build: _Build, room: str | None, wall: int) -> None:
    """A wall with its holes, and what is fitted in those that are its own."""
    placer, held = build.placer, build.placer.room(room)
    outline = wall_outline_m(held, wall)
    cuts = build.cutouts.get((room, wall), [])
    material = held.wall_surfaces.get(wall, held.wall_surface)
    if len(outline) > 2:
        start, along, _ = placer.wall_frame(wall, room)
        length = float(outline[:, 0].max())
        # Seen from inside, a wall runs from its second corner to its first.
        seen = np.roll(_mirrored(outline, length), 2, axis=0)
        holes = tuple(_mirrored(part, length) for cut in cuts for part in (cut.hole, *cut.around))
        build.builder.add_polygon(
            start + length * along,
            axis_u=-along,
            axis_v=UP,
            outline=seen,
            holes=holes,
            material=material,
            name=wall_name(room, wall),
        )
    for cut in cuts:
        opening = placer.document.openings[cut.name]
        if isinstance(opening, Window):
            add_window(build.builder, placer, cut.name, material)
        elif isinstance(opening, Door) and (opening.room, opening.wall) == (room, wall):
            add_door(build.builder, placer, cut.name, build.cutouts)


def _mirrored(outline: np.ndarray, length: float) -> np.ndarray:
    """An outline measured from a wall's other end, its order turned so that it stays as it was."""
    return (np.array([length, 0.0]) + outline * (-1.0, 1.0))[::-1]
