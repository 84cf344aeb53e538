"""Surfaces of the room: floor, ceiling, walls, and the openings in them."""

from __future__ import annotations

import math

import numpy as np

from falloff.stage.dice import Grain, PieceBuilder
from falloff.stage.places import Placer
from falloff.stage.records import Piece
from falloff.stage.solids import add_box
from falloff.types import Float64Array

_UP = np.array([0.0, 0.0, 1.0])


def build_room(placer: Placer, grain: Grain) -> Piece:
    """Floor, ceiling, walls with their openings, and the openings' reveals and bars."""
    room = placer.document.room
    builder = PieceBuilder("room", grain)
    outline = np.array([[x.si, y.si] for x, y in room.floor])
    builder.add_polygon(
        np.zeros(3),
        axis_u=np.array([1.0, 0.0, 0.0]),
        axis_v=np.array([0.0, 1.0, 0.0]),
        outline=outline,
        material=room.floor_surface,
        name="floor",
    )
    builder.add_polygon(
        np.array([0.0, 0.0, room.height.si]),
        axis_u=np.array([1.0, 0.0, 0.0]),
        axis_v=np.array([0.0, -1.0, 0.0]),
        outline=outline * (1.0, -1.0),
        material=room.ceiling_surface,
        name="ceiling",
    )
    for wall in range(1, len(room.floor) + 1):
        _add_wall(builder, placer, wall)
    return builder.build()


def _add_wall(builder: PieceBuilder, placer: Placer, wall: int) -> None:
    room = placer.document.room
    start, along, _ = placer.wall_frame(wall)
    a, b = room.floor[wall - 1], room.floor[wall % len(room.floor)]
    length = math.hypot(b[0].si - a[0].si, b[1].si - a[1].si)
    openings = [o for o in placer.document.openings.items() if o[1].wall == wall]
    # Seen from inside, a wall runs from its second corner to its first.
    holes = tuple(
        _box_outline(
            length - o.along.si - o.width.si,
            o.sill.si,
            length - o.along.si,
            o.sill.si + o.height.si,
        )
        for _, o in openings
    )
    material = room.wall_surfaces.get(wall, room.wall_surface)
    builder.add_polygon(
        start + length * along,
        axis_u=-along,
        axis_v=_UP,
        outline=_box_outline(0.0, 0.0, length, room.height.si),
        holes=holes,
        material=material,
        name=f"wall {wall}",
    )
    for name, _ in openings:
        _add_reveal(builder, placer, name, material)


def _add_reveal(builder: PieceBuilder, placer: Placer, name: str, material: str) -> None:
    """The four sides of an opening through the wall's thickness, and its bars."""
    opening = placer.document.openings[name]
    thickness = placer.document.room.wall_thickness.si
    low, along, up = placer.opening_frame(name)
    _, _, inward = placer.wall_frame(opening.wall)
    out = -thickness * inward
    label = f"{name} reveal"
    for origin, edge_u, edge_v in (
        (low, out, along),  # the sill looks up
        (low + up, along, out),  # the head looks down
        (low, up, out),
        (low + along, out, up),
    ):
        builder.add_rectangle(origin, edge_u=edge_u, edge_v=edge_v, material=material, name=label)
    if opening.bars is None:
        return
    width = opening.bar_width.si
    depth = min(0.04, 0.5 * thickness)
    middle = low - 0.6 * thickness * inward
    unit = along / np.linalg.norm(along)
    columns, rows = opening.bars
    # A frame all round, then a bar between panes; the bars run through, the rows between them.
    uprights = np.linspace(0.5 * width, opening.width.si - 0.5 * width, columns + 1)
    levels = np.linspace(0.5 * width, opening.height.si - 0.5 * width, rows + 1)
    for at in uprights:
        centre = middle + at * unit + 0.5 * up
        add_box(
            builder,
            centre,
            (unit, inward, _UP),
            (width, depth, opening.height.si),
            opening.bar_surface,
            f"{name} frame",
        )
    gap = uprights[1] - uprights[0] - width
    for level in levels:
        for left in uprights[:-1]:
            centre = middle + (left + 0.5 * width + 0.5 * gap) * unit + level * _UP
            add_box(
                builder,
                centre,
                (unit, inward, _UP),
                (gap, depth, width),
                opening.bar_surface,
                f"{name} frame",
            )


def _box_outline(left: float, low: float, right: float, high: float) -> Float64Array:
    return np.array([[left, low], [right, low], [right, high], [left, high]])
