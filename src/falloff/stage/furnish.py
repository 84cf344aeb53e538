"""Surfaces of the room, its props and the people in it."""

from __future__ import annotations

import math

import numpy as np

from falloff.document import Box
from falloff.kit import find_figure
from falloff.stage.dice import Grain, PieceBuilder
from falloff.stage.places import Placer, direction, figure_turn, prop_height_m
from falloff.stage.records import Piece
from falloff.types import Float64Array

_SIDES = 28  # of a cylinder
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


def build_prop(placer: Placer, name: str, grain: Grain) -> Piece:
    """A box or a cylinder standing where it was put."""
    prop = placer.document.props[name]
    builder = PieceBuilder(name, grain)
    base = placer.origin(name)
    if isinstance(prop.shape, Box):
        axes = (direction(prop.turn.si), direction(prop.turn.si + 0.5 * math.pi), _UP)
        size = (prop.shape.size[0].si, prop.shape.size[1].si, prop.shape.size[2].si)
        add_box(builder, base + 0.5 * size[2] * _UP, axes, size, prop.surface, "")
    else:
        add_cylinder(
            builder,
            base,
            base + prop_height_m(prop) * _UP,
            prop.shape.diameter.si / 2,
            prop.surface,
        )
    return builder.build()


def build_subject(placer: Placer, name: str, grain: Grain) -> Piece:
    """A person's skin, hair and clothes, and the stool that carries a seated one."""
    subject = placer.document.subjects[name]
    figure = find_figure(subject.figure)
    builder = PieceBuilder(name, grain)
    turn = figure_turn(placer.facing(name))
    origin = placer.origin(name)
    corners = (figure.vertices @ turn.T + origin)[figure.triangles]
    normals = (figure.vertex_normals @ turn.T)[figure.triangles]
    wear = {
        "skin": f"skin of {name}",
        "lips": f"lips of {name}",
        "hair": subject.hair,
        "brows": subject.hair,
        "sclera": "eye white",
        "iris": "eye iris",
        "top": subject.top,
        "trousers": subject.trousers,
        "shoes": subject.shoes,
    }
    for region, label in enumerate(figure.region_names):
        mine = figure.triangle_region == region
        if mine.any():
            builder.add_mesh(corners[mine], normals=normals[mine], material=wear[label], name=label)
    if subject.seat is not None and figure.seat_height_m > 0.0:
        _add_stool(builder, origin, figure.seat_height_m - 0.001, subject.seat)
    return builder.build()


def _add_stool(builder: PieceBuilder, base: Float64Array, height: float, material: str) -> None:
    """A round seat on four legs."""
    add_cylinder(builder, base + (height - 0.045) * _UP, base + height * _UP, 0.17, material)
    for k in range(4):
        foot = base + 0.135 * direction(math.pi / 4 + k * math.pi / 2)
        add_box(
            builder,
            foot + 0.5 * (height - 0.045) * _UP,
            (direction(0.0), direction(math.pi / 2), _UP),
            (0.032, 0.032, height - 0.046),
            material,
            "",
        )


def add_cylinder(
    builder: PieceBuilder, low: Float64Array, high: Float64Array, radius: float, material: str
) -> None:
    """A closed cylinder between two points, its sides shaded round."""
    axis = high - low
    length = float(np.linalg.norm(axis))
    axis = axis / length
    helper = _UP if abs(axis[2]) < 0.9 else np.array([1.0, 0.0, 0.0])
    u = np.cross(helper, axis)
    u /= np.linalg.norm(u)
    v = np.cross(axis, u)
    angle = np.linspace(0.0, 2.0 * math.pi, _SIDES + 1)
    round_ = np.cos(angle)[:, None] * u + np.sin(angle)[:, None] * v
    a, b = low + radius * round_[:-1], low + radius * round_[1:]
    c, d = b + length * axis, a + length * axis
    corners = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
    na, nb = round_[:-1], round_[1:]
    normals = np.concatenate([np.stack([na, nb, nb], 1), np.stack([na, nb, na], 1)])
    builder.add_mesh(corners, normals=normals, material=material)
    for centre, facing, first, second in ((low, -axis, b, a), (high, axis, d, c)):
        cap = np.stack([np.broadcast_to(centre, a.shape), first, second], 1)
        builder.add_mesh(cap, normals=np.broadcast_to(facing, cap.shape), material=material)


def add_box(
    builder: PieceBuilder,
    centre: Float64Array,
    axes: tuple[Float64Array, Float64Array, Float64Array],
    size: tuple[float, float, float],
    material: str,
    name: str,
) -> None:
    """Six faces looking outward."""
    x, y, z = (0.5 * s * a for s, a in zip(size, axes, strict=True))
    for out, u, v in ((x, y, z), (-x, z, y), (y, z, x), (-y, x, z), (z, x, y), (-z, y, x)):
        builder.add_rectangle(
            centre + out - u - v, edge_u=2.0 * u, edge_v=2.0 * v, material=material, name=name
        )


def _box_outline(left: float, low: float, right: float, high: float) -> Float64Array:
    return np.array([[left, low], [right, low], [right, high], [left, high]])
