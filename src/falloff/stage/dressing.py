"""What hangs in and before a window: blinds and curtains. Sheers and gels are sheets."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from falloff.document import Blind, Curtain, Window
from falloff.findings import Finding, Weight
from falloff.stage.ceilings import wall_outline_m
from falloff.stage.dice import PieceBuilder
from falloff.stage.grain import Grain
from falloff.stage.joinery import UP, WallHole
from falloff.stage.openings import wall_hole
from falloff.stage.places import Placer
from falloff.stage.solids import add_box, box_faces
from falloff.types import Float64Array

# Usual sizes: common practice, no source.
BARS_AT = 0.6  # share of the wall's thickness, from inside, where the middle of the bars lies
_BAR_DEPTH_M = 0.04
_BAR_DEPTH_SHARE = 0.5  # of the wall, where that is thinner
_SLAT_THICKNESS_M = 0.002
_SIDE_GAP_M = 0.005  # between a blind and the reveal
_RAIL_M = 0.04  # height of the head rail
_CLEAR_M = 0.005  # between a blind and the bars
# A slat is lit at its outer edge, and passes on what is lit; measured: docs/decisions/0013.
_SLAT_PART_M = 0.3  # along it
_TRIM_GRAIN = Grain(patch_m=0.6, element_m=0.6)  # of rails and edges
_USUAL_M = Grain().element_m  # a coarser grain of the room makes for fewer strips
_STRIPS = 8  # across a slat, fewer where blinds have more strips than this in all
_STRIPS_MOST = 15_000
_WARN_STRIPS = 4  # a blind cut in fewer is a tenth of a stop off, or more
_CURTAIN_OUT_M = 0.06  # middle of the folds, before the wall
_FOLD_M = 0.025  # half the depth of the folds
_FOLD_LENGTH_M = 0.14
_FOLD_STEPS = 12  # facets in one fold
_CLOTH_M = 0.003
_CURTAIN_SIDES_M = 0.10  # past the opening
_CURTAIN_ABOVE_M = 0.05
_CURTAIN_BELOW_M = 0.10
_LOW_SILL_M = 0.3  # below it a curtain hangs to the floor
_FLOOR_GAP_M = 0.01
_OVERLAP_M = 0.08
_WALL_END_M = 0.01


def add_dressing(builder: PieceBuilder, placer: Placer, name: str) -> None:
    """The bodies of what a window is dressed with."""
    window = placer.document.openings[name]
    assert isinstance(window, Window)
    for dressing in window.dressing:
        if isinstance(dressing, Blind):
            _add_blind(builder, placer, name, dressing)
        elif isinstance(dressing, Curtain):
            _add_curtain(builder, placer, name, dressing)


def bar_depth_m(thickness_m: float) -> float:
    """How deep the bars of a window are in a wall of some thickness (m)."""
    return min(_BAR_DEPTH_M, _BAR_DEPTH_SHARE * thickness_m)


def free_depth_m(window: Window, thickness_m: float) -> float:
    """How deep the reveal is up to the bars, or to the glass where there are none (m)."""
    if window.bars is None:
        return thickness_m
    return BARS_AT * thickness_m - 0.5 * bar_depth_m(thickness_m)


# Blinds ----------------------------------------------------------------------------------


def _add_blind(builder: PieceBuilder, placer: Placer, name: str, blind: Blind) -> None:
    """A head rail, slats down to where it is let down, and the rest of them gathered below."""
    window, hole = placer.document.openings[name], wall_hole(placer, name)
    assert isinstance(window, Window)
    free_m = free_depth_m(window, hole.depth_m)
    slat, width = blind.slat.si, hole.width_m - 2.0 * _SIDE_GAP_M
    rail = _rail_m(hole)
    out = min(0.5 * free_m, free_m - 0.5 * slat - _CLEAR_M)
    label = f"{hole.name} blind"
    levels, thickness = slat_levels_m(blind, hole.height_m - rail)
    all_levels, _ = slat_levels_m(blind, hole.height_m - rail, drop=1.0)
    bundle = max(0, len(all_levels) - len(levels)) * thickness
    tilt = blind.tilt.si
    # Above zero the room side is lower.
    across = math.cos(tilt) * hole.inward - math.sin(tilt) * UP
    up = np.cross(hole.along, across)
    upright = (hole.along, hole.inward, UP)
    top = hole.height_m - rail
    strips = min(slat_strips(placer), math.ceil(_STRIPS * _USUAL_M / builder.grain.element_m))
    with builder.cut_by(_TRIM_GRAIN):
        middle = hole.at(0.5 * hole.width_m, out, hole.height_m - 0.5 * rail)
        add_box(builder, middle, upright, (width, slat, rail), blind.surface, label)
        for level in levels:
            middle = hole.at(0.5 * hole.width_m, out, top - level)
            axes = np.array([hole.along, across, _facing_up(up)])
            size = np.array([width, slat, thickness])
            for corner, edge_u, edge_v in box_faces(middle, axes, size):
                builder.add_rectangle(
                    corner,
                    edge_u=edge_u,
                    edge_v=edge_v,
                    material=blind.surface,
                    name=label,
                    least=_slat_parts(edge_u, edge_v, (width, slat), strips),
                )
        if bundle > 0.0:
            half_slat = 0.5 * (slat * abs(math.sin(tilt)) + thickness)
            low = (levels[-1] + half_slat if levels else 0.0) + 0.001 + 0.5 * bundle
            middle = hole.at(0.5 * hole.width_m, out, top - low)
            add_box(builder, middle, upright, (width, slat, bundle), blind.surface, label)


def _slat_parts(
    edge_u: Float64Array, edge_v: Float64Array, size_m: tuple[float, float], strips: int
) -> tuple[int, int]:
    """Patches along both edges of a slat's face: only its two broad sides are cut finely."""
    width, depth = size_m
    parts = math.ceil(width / _SLAT_PART_M)
    lengths = [float(np.linalg.norm(edge)) for edge in (edge_u, edge_v)]
    if np.allclose(lengths, (width, depth)):
        return parts, strips
    if np.allclose(lengths, (depth, width)):
        return strips, parts
    return 1, 1


def slat_strips(placer: Placer) -> int:
    """How many strips every slat is cut in across its depth, so that all have room together."""
    one = 0
    for name, window in placer.document.openings.items():
        for dressing in window.dressing if isinstance(window, Window) else ():
            if isinstance(dressing, Blind):
                hole = wall_hole(placer, name)
                levels, _ = slat_levels_m(dressing, hole.height_m - _rail_m(hole))
                one += 2 * len(levels) * math.ceil(hole.width_m / _SLAT_PART_M)
    return max(1, min(_STRIPS, _STRIPS_MOST // max(1, one)))


def blind_findings(placer: Placer) -> tuple[Finding, ...]:
    """That there are more slats than can be traced finely."""
    strips = slat_strips(placer)
    if strips >= _WARN_STRIPS:
        return ()
    says = f"the blinds have too many slats to be cut finely: {strips} strips across each, not 8"
    off = "0.15 stop, half a stop" if strips == 1 else "a tenth of a stop, two tenths"
    do = f"expect the room too bright by {off} beside the window"
    return (Finding(weight=Weight.NOTE, about="blinds", says=says, do=do),)


def _rail_m(hole: WallHole) -> float:
    return min(_RAIL_M, 0.5 * hole.height_m)


def slat_levels_m(
    blind: Blind, height_m: float, *, drop: float | None = None
) -> tuple[list[float], float]:
    """How far under the head rail the slats' middles hang, and how thick a slat is (m).

    height_m: from the rail to the sill; drop: the blind's own unless told.
    """
    pitch = blind.pitch.si if blind.pitch is not None else 0.9 * blind.slat.si
    thickness = min(_SLAT_THICKNESS_M, 0.5 * pitch * max(math.cos(blind.tilt.si), 0.05))
    half_slat = 0.5 * (blind.slat.si * abs(math.sin(blind.tilt.si)) + thickness)
    first = half_slat + 0.001
    let_down = height_m * (blind.drop.si if drop is None else drop)
    count = math.floor((let_down - first - half_slat) / pitch + 1e-9) + 1
    return [first + k * pitch for k in range(max(0, count))], thickness


def _facing_up(normal: Float64Array) -> Float64Array:
    return normal if normal[2] >= 0.0 else -normal


# Curtains --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Cloth:
    """One panel of a curtain: its ends along the wall from the hole, and its heights from it, m."""

    start: float
    end: float
    low: float
    high: float
    out: float


def _add_curtain(builder: PieceBuilder, placer: Placer, name: str, curtain: Curtain) -> None:
    """Two folded panels, drawn apart by `open`; shut they overlap in the middle."""
    hole = wall_hole(placer, name)
    for k, cloth in enumerate(_cloths(placer, name, curtain.open.si)):
        _add_cloth(builder, hole, cloth, curtain.surface, f"{name} curtain {k + 1}")


def _cloths(placer: Placer, name: str, open_share: float) -> list[_Cloth]:
    window = placer.document.openings[name]
    assert isinstance(window, Window)
    sill, width, height = window.sill.si, window.width.si, window.height.si
    outline = wall_outline_m(placer.room(window.room), window.wall)
    before, behind = window.along.si, float(outline[:, 0].max()) - window.along.si - width
    first = -min(_CURTAIN_SIDES_M, max(0.0, before - _WALL_END_M))
    last = width + min(_CURTAIN_SIDES_M, max(0.0, behind - _WALL_END_M))
    ends = np.interp([before + first, before + last], *_top_line(outline))
    high = min(height + _CURTAIN_ABOVE_M, float(ends.min()) - sill - 0.005)
    low = -min(_CURTAIN_BELOW_M, sill - _FLOOR_GAP_M)
    if sill <= _LOW_SILL_M:
        low = _FLOOR_GAP_M - sill
    shut = open_share <= 0.0
    half = 0.5 * (1.0 - open_share) * width
    reach = half + (0.5 * _OVERLAP_M if shut else 0.0)
    shift = 2.0 * _FOLD_M + _CLOTH_M + 0.01 if shut else 0.0
    panels = [(first, reach, 0.0), (width - reach, last, shift)]
    return [
        _Cloth(start, end, low, high, _CURTAIN_OUT_M + more)
        for start, end, more in panels
        if end - start > 0.01 and high - low > 0.01
    ]


def _top_line(outline: Float64Array) -> tuple[Float64Array, Float64Array]:
    """A wall's top as places along it, ascending, and their heights."""
    top = outline[np.argsort(outline[:, 0], kind="stable")]
    along = np.unique(top[:, 0])
    return along, np.array([top[top[:, 0] == at, 1].max() for at in along])


def _add_cloth(
    builder: PieceBuilder, hole: WallHole, cloth: _Cloth, material: str, name: str
) -> None:
    """Folded cloth as a closed thin body: two sides, and hems round them."""
    width = cloth.end - cloth.start
    folds = max(1, round(width / _FOLD_LENGTH_M))
    along = np.linspace(0.0, width, folds * _FOLD_STEPS + 1)
    phase = 2.0 * math.pi * folds * along / width
    wave = _FOLD_M * np.sin(phase)
    lean = _FOLD_M * 2.0 * math.pi * folds / width * np.cos(phase)
    rows = np.linspace(cloth.low, cloth.high, max(2, math.ceil((cloth.high - cloth.low) / 0.4) + 1))
    # Out of the wall is towards the room: less `out` in the hole's own measure.
    room_side = -cloth.out - wave
    base = hole.low + (cloth.start + along)[:, None] * hole.along
    sides = [base - (room_side + s * 0.5 * _CLOTH_M)[:, None] * hole.inward for s in (-1.0, 1.0)]
    normals = hole.inward - lean[:, None] * hole.along
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    for line, facing in ((sides[0], normals), (sides[1], -normals)):
        corners, shading = _sheet(line, facing, rows)
        builder.add_mesh(corners, normals=shading, material=material, name=name)
    rim = _hems(sides[0], sides[1], rows)
    builder.add_mesh(rim, normals=_flat_normals(rim), material=material, name=name)


def _sheet(
    line: Float64Array, facing: Float64Array, rows: Float64Array
) -> tuple[Float64Array, Float64Array]:
    """A level line drawn up through rows: triangles that face the way `facing` does."""
    grid = line[None] + rows[:, None, None] * UP
    a, b, c, d = grid[:-1, :-1], grid[:-1, 1:], grid[1:, 1:], grid[1:, :-1]
    corners = np.concatenate(
        [np.stack([a, b, c], 2).reshape(-1, 3, 3), np.stack([a, c, d], 2).reshape(-1, 3, 3)]
    )
    shade = np.broadcast_to(facing[None], grid.shape)
    a, b, c, d = shade[:-1, :-1], shade[:-1, 1:], shade[1:, 1:], shade[1:, :-1]
    normals = np.concatenate(
        [np.stack([a, b, c], 2).reshape(-1, 3, 3), np.stack([a, c, d], 2).reshape(-1, 3, 3)]
    )
    return _turned(corners, normals)


def _hems(room_side: Float64Array, wall_side: Float64Array, rows: Float64Array) -> Float64Array:
    """The narrow strips that close a cloth round its edge, facing outward."""
    loop = np.concatenate([room_side, wall_side[::-1]])
    middle = loop.mean(0)
    strips = []
    for height, way in ((rows[0], -UP), (rows[-1], UP)):
        front, back = room_side + height * UP, wall_side + height * UP
        strips.append(_strip(front, back, np.broadcast_to(way, front[:-1].shape)))
    for end in (0, -1):
        front = room_side[end] + rows[:, None] * UP
        back = wall_side[end] + rows[:, None] * UP
        out = room_side[end] - middle
        strips.append(_strip(front, back, np.broadcast_to(out, front[:-1].shape)))
    return np.concatenate(strips)


def _strip(front: Float64Array, back: Float64Array, facing: Float64Array) -> Float64Array:
    corners = np.concatenate(
        [
            np.stack([front[:-1], front[1:], back[1:]], 1),
            np.stack([front[:-1], back[1:], back[:-1]], 1),
        ]
    )
    wanted = np.concatenate([facing, facing])[:, None].repeat(3, 1)
    return _turned(corners, wanted)[0]


def _turned(corners: Float64Array, normals: Float64Array) -> tuple[Float64Array, Float64Array]:
    """Triangles put in the order in which they face the way of their shading normals."""
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    wrong = np.einsum("td,td->t", cross, normals.sum(1)) < 0.0
    corners, normals = corners.copy(), normals.copy()
    corners[wrong] = corners[wrong][:, ::-1]
    normals[wrong] = normals[wrong][:, ::-1]
    return corners, normals


def _flat_normals(corners: Float64Array) -> Float64Array:
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    cross /= np.linalg.norm(cross, axis=1, keepdims=True)
    return np.asarray(cross[:, None].repeat(3, 1))
