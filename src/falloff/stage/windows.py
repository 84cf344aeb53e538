"""What is fitted in a window or a skylight: lining, bars and a board at the sill."""

from __future__ import annotations

import math

import numpy as np
import shapely

from falloff.document import Sheer, Skylight, Window
from falloff.stage.dice import PieceBuilder
from falloff.stage.dressing import BARS_AT, add_dressing, bar_depth_m
from falloff.stage.grain import Grain
from falloff.stage.joinery import UP, add_board
from falloff.stage.openings import board_of, gel_loss_stops, wall_hole
from falloff.stage.places import Placer
from falloff.stage.records import CLEAR_PANES_PASS, Cloth
from falloff.stage.solids import add_box
from falloff.types import Float64Array

_TWO_PANES_PASS = 0.86  # glass that passes more than this has one pane (Fresnel, n = 1.52)
_GIVEN_BACK = 0.75  # of what a sheer does not let through: common practice, no source
_SHEER_GRAIN = Grain(patch_m=0.25, element_m=0.05)  # coarser was 0.07 stop bright at its edges
_REVEAL_STRIP_M = 0.05
_GLASS_DOWN_M = 0.01  # under the top of a skylight's shaft


def add_window(builder: PieceBuilder, placer: Placer, name: str, material: str) -> None:
    """The four sides of a window through the wall's thickness, its bars, board and dressing."""
    window = placer.document.openings[name]
    assert isinstance(window, Window)
    thickness = placer.room(window.room).wall_thickness.si
    low, along, up = placer.opening_frame(name)
    _, _, inward = placer.wall_frame(window.wall, window.room)
    out = -thickness * inward
    # What hangs in a window parts its reveal in a bright side and a dark one.
    strips = math.ceil(thickness / _REVEAL_STRIP_M) if window.dressing else 1
    for origin, edge_u, edge_v in (
        (low, out, along),  # the sill looks up
        (low + up, along, out),  # the head looks down
        (low, up, out),
        (low + along, out, up),
    ):
        builder.add_rectangle(
            origin,
            edge_u=edge_u,
            edge_v=edge_v,
            material=material,
            name=f"{name} reveal",
            least=(strips, 1) if edge_u is out else (1, strips),
        )
    if window.bars is not None:
        _add_window_bars(builder, placer, name, window.bars)
    if window.sill_board is not None and window.sill.si > 0.0:
        hole = wall_hole(placer, name)
        first, last, under = board_of(placer, name)
        add_board(
            builder,
            hole,
            shapely.box(first, under, last, 0.0),
            out_m=(-window.sill_board.si, 0.0),
            material=window.bar_surface,
            name=f"{name} sill",
        )

    def at(out_m: float) -> tuple[Float64Array, Float64Array, Float64Array]:
        return low - out_m * inward, along, up

    _add_glass(builder, placer, name)
    sheers = [one for one in window.dressing if isinstance(one, Sheer)]
    for k, sheer in enumerate(sheers):
        _add_sheer(builder, sheer, at(min(0.5, 0.1 * (k + 1)) * thickness), f"{name} sheer {k + 1}")
    add_dressing(builder, placer, name)


def glass_place(placer: Placer, name: str) -> tuple[Float64Array, Float64Array, Float64Array]:
    """Corner and edges (m) of the panes of a window or a skylight."""
    opening = placer.document.openings[name]
    low, edge_u, edge_v = placer.opening_frame(name)
    if isinstance(opening, Skylight):
        return low + (opening.shaft.si - _GLASS_DOWN_M) * UP, edge_u, edge_v
    assert isinstance(opening, Window)
    _, _, inward = placer.wall_frame(opening.wall, opening.room)
    depth = BARS_AT * placer.room(opening.room).wall_thickness.si
    return low - depth * inward, edge_u, edge_v


def panes_of(opening: Window | Skylight) -> tuple[float, int] | None:
    """What the glass with its gels passes over clear glass, and how many panes; None for none."""
    passes = opening.glass * 2.0 ** -gel_loss_stops(opening)
    if passes >= 1.0:
        return None
    panes = 2 if opening.glass <= _TWO_PANES_PASS else 1
    return passes / CLEAR_PANES_PASS[panes], panes


def _add_glass(builder: PieceBuilder, placer: Placer, name: str) -> None:
    opening = placer.document.openings[name]
    assert isinstance(opening, Window | Skylight)
    glass = panes_of(opening)
    if glass is not None:
        corner, edge_u, edge_v = glass_place(placer, name)
        builder.add_pane(corner, edge_u=edge_u, edge_v=edge_v, passes=glass[0], panes=glass[1])


def _add_sheer(
    builder: PieceBuilder,
    sheer: Sheer,
    place: tuple[Float64Array, Float64Array, Float64Array],
    name: str,
) -> None:
    corner, edge_u, edge_v = place
    rest = 1.0 - sheer.straight - sheer.scattered
    reflected = _GIVEN_BACK * rest if sheer.reflected is None else sheer.reflected
    fabric = Cloth(sheer.straight, np.full(3, sheer.scattered), np.full(3, reflected))
    with builder.cut_by(_SHEER_GRAIN):
        builder.add_fabric(corner, edge_u=edge_u, edge_v=edge_v, fabric=fabric, name=name)


def _add_window_bars(
    builder: PieceBuilder, placer: Placer, name: str, panes: tuple[int, int]
) -> None:
    """A frame all round, then a bar between panes; the bars run through, the rows between them."""
    window = placer.document.openings[name]
    assert isinstance(window, Window)
    thickness = placer.room(window.room).wall_thickness.si
    low, along, up = placer.opening_frame(name)
    _, _, inward = placer.wall_frame(window.wall, window.room)
    width = window.bar_width.si
    depth = bar_depth_m(thickness)
    middle = low - BARS_AT * thickness * inward
    unit = along / np.linalg.norm(along)
    columns, rows = panes
    uprights = np.linspace(0.5 * width, window.width.si - 0.5 * width, columns + 1)
    levels = np.linspace(0.5 * width, window.height.si - 0.5 * width, rows + 1)
    axes = (unit, inward, UP)
    for at in uprights:
        centre = middle + at * unit + 0.5 * up
        size = (width, depth, window.height.si)
        add_box(builder, centre, axes, size, window.bar_surface, f"{name} frame")
    gap = uprights[1] - uprights[0] - width
    for level in levels:
        for left in uprights[:-1]:
            centre = middle + (left + 0.5 * width + 0.5 * gap) * unit + level * UP
            size = (gap, depth, width)
            add_box(builder, centre, axes, size, window.bar_surface, f"{name} frame")


# Skylights -------------------------------------------------------------------------------


def add_skylight(builder: PieceBuilder, placer: Placer, name: str) -> None:
    """The upright lining of a skylight's shaft, and the bars under its glass."""
    skylight = placer.document.openings[name]
    assert isinstance(skylight, Skylight)
    low, across, upward = placer.opening_frame(name)
    # Counter-clockwise seen from above, so that the shaft lies on the left of each.
    for corner, edge in (
        (low, across),
        (low + across, upward),
        (low + across + upward, -across),
        (low + upward, -upward),
    ):
        depth, material = skylight.shaft.si, skylight.shaft_surface
        _add_lining(builder, corner, edge, depth, material, f"{name} shaft")
    _add_glass(builder, placer, name)
    sheers = [one for one in skylight.dressing if isinstance(one, Sheer)]
    for k, sheer in enumerate(sheers):
        place = (low + 0.01 * (k + 1) * UP, across, upward)
        _add_sheer(builder, sheer, place, f"{name} sheer {k + 1}")
    if skylight.bars is not None:
        _add_skylight_bars(builder, placer, name, skylight.bars)


def _add_lining(
    builder: PieceBuilder,
    corner: Float64Array,
    edge: Float64Array,
    depth: float,
    material: str,
    name: str,
) -> None:
    """One upright side of a shaft over an edge that may slope, its hole on the edge's left."""
    flat = np.array([edge[0], edge[1], 0.0])
    length = float(np.linalg.norm(flat))
    sides = np.array([[0.0, 0.0], [0.0, depth], [-length, edge[2] + depth], [-length, edge[2]]])
    builder.add_polygon(
        corner, axis_u=-flat / length, axis_v=UP, outline=sides, material=material, name=name
    )


def _add_skylight_bars(
    builder: PieceBuilder, placer: Placer, name: str, panes: tuple[int, int]
) -> None:
    """Bars along both sides of the hole, in a plane just under the glass."""
    skylight = placer.document.openings[name]
    assert isinstance(skylight, Skylight)
    low, across, upward = placer.opening_frame(name)
    normal = np.cross(across, upward)
    normal /= np.linalg.norm(normal)
    width = skylight.bar_width.si
    depth = bar_depth_m(skylight.shaft.si)
    low = low + (skylight.shaft.si - 0.75 * depth) * UP
    columns = np.linspace(0.5 * width, float(np.linalg.norm(across)) - 0.5 * width, panes[0] + 1)
    rows = np.linspace(0.5 * width, float(np.linalg.norm(upward)) - 0.5 * width, panes[1] + 1)
    u, v = across / np.linalg.norm(across), upward / np.linalg.norm(upward)
    labels = (skylight.bar_surface, f"{name} frame")
    # The bars along y run through, those along x lie between them.
    size = (width, float(np.linalg.norm(upward)), depth)
    for at in columns:
        centre = low + at * u + 0.5 * upward
        add_box(builder, centre, (np.cross(v, normal), v, normal), size, *labels)
    gap = columns[1] - columns[0] - width
    for at in rows:
        for left in columns[:-1]:
            centre = low + (left + 0.5 * width + 0.5 * gap) * u + at * v
            add_box(builder, centre, (u, np.cross(normal, u), normal), (gap, width, depth), *labels)
