"""Where a light's beam reaches on the plan and from the sides, clipped by what stands in its way.

What is approximated: a beam is a cone of its angle at half peak about its axis, from a point as
far behind the face as makes it as wide as the face there; penumbras, spill, barndoors and shutters
are left out. In each way on the plan the cone has a span of elevations. Walls end it; openings let
through what is between sill and head, from indoors as far as the wall's outside; floor and ceiling
end it where the whole span runs into them. What stands in the room ends it where the middle of the
span meets its outline between its lowest and its highest point, as if it were solid; things under
20 cm long or 10 cm high are passed over, and so are frames and nets. From the sides only the rooms
and their openings end it. Light that comes back from anything is not drawn.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.drawing.plan_outlines import circle, rounded
from falloff.drawing.plan_rays import (
    STEP_RAD,
    Blocker,
    crossings,
    is_inside,
    segments_of,
    thinned,
    turns_over,
    ways_of,
    within,
)
from falloff.drawing.plan_records import Outline
from falloff.drawing.plan_shell import RoofHole, Shell
from falloff.types import Float64Array

FARTHEST_M: Final = 12.0
ROUND_M: Final = 3.0  # what shines all round is drawn as far as this
_SLACK_M: Final = 0.02
_UPRIGHT: Final = 0.5 * math.pi - 1e-3
_SIDE_LAYERS: Final = (0.0, -0.45, 0.45, -0.9, 0.9)  # of the span square to a side's drawing


@dataclass(frozen=True, slots=True)
class Cone:
    """A beam: where its face is (m), the way it looks, half its angle and half its face's width.

    Tuples, so that it can be a key. half_rad: None for what shines all round.
    """

    at: tuple[float, float, float]
    axis: tuple[float, float, float]
    half_rad: float | None
    face_m: float


@dataclass(frozen=True, slots=True)
class Reach:
    """A beam on the plan and from both sides; the plan's may be None where there is none."""

    plan: Outline | None
    front: Outline | None
    right: Outline | None


def reach_of(cone: Cone, shell: Shell, blockers: tuple[Blocker, ...]) -> Reach:
    """How far a beam reaches; kept for beams, rooms and what is in the way that stay alike."""
    near = tuple(one for one in blockers if _may_block(one, cone))
    return Reach(plan=_on_plan(cone, shell, near), front=_from_side(cone, shell, 0),
                 right=_from_side(cone, shell, 1))  # fmt: skip


@functools.lru_cache(maxsize=64)
def field_of(at: tuple[float, float], pan_rad: float, half_rad: float, shell: Shell) -> Outline:
    """What a camera sees up to the walls and through openings, whatever stands in the room."""
    start = np.array(at)
    segments = shell.solid
    turns = turns_over(start, segments, pan_rad, half_rad)
    walls = _walls_for(at, shell)
    s = crossings(start, ways_of(turns), walls).min(axis=1, initial=FARTHEST_M)
    return thinned(np.vstack([start, start + s[:, None] * ways_of(turns)]))


# On the plan -----------------------------------------------------------------------------


@functools.lru_cache(maxsize=512)
def _on_plan(cone: Cone, shell: Shell, blockers: tuple[Blocker, ...]) -> Outline | None:
    apex, behind = _apex(cone)
    pan, half = _pan_span(cone.axis, cone.half_rad)
    start = apex[:2]
    near = list(blockers)
    near += [
        (rounded(leaf), 0.0, top) for leaf, top in shell.leaves if not is_inside(leaf, cone.at[:2])
    ]
    body_segments, body_heights = segments_of(near)
    every = np.concatenate([shell.solid, body_segments])
    turns = turns_over(start, every, pan, half)
    ways = ways_of(turns)
    middle, spread = _elevations(cone, turns)
    first = _first(behind, turns - pan, half)
    reach = _Rays(start, float(apex[2]), ways, middle - spread, middle + spread, first)
    if _comes_through_roof(cone, shell):
        _through_roof(reach, shell)
    s = _through_rooms(reach, shell, cone)
    aimed = np.clip(middle, reach.low, reach.high)
    if len(body_segments):
        hits = crossings(start, ways, body_segments)
        known = np.where(np.isfinite(hits), hits, 0.0)
        heights = reach.z + known * np.tan(np.clip(aimed, -_UPRIGHT, _UPRIGHT))[:, None]
        met = (heights > body_heights[:, 0] - _SLACK_M) & (heights < body_heights[:, 1] + _SLACK_M)
        hits[~met | (hits < first[:, None])] = np.inf
        s = np.minimum(s, hits.min(axis=1))
    s = np.maximum(s, first)
    ends = start + s[:, None] * ways
    if half > math.pi - 1e-6:
        return thinned(ends)
    begin = start + first[[-1, 0], None] * ways[[-1, 0]]
    return thinned(np.vstack([ends, begin]))


@dataclass(slots=True)
class _Rays:
    """Ways (n, 2) on the plan from a start at height z; spans of elevation (rad), nearest reach."""

    start: Float64Array
    z: float
    ways: Float64Array
    low: Float64Array
    high: Float64Array
    first: Float64Array


def _through_rooms(rays: _Rays, shell: Shell, cone: Cone) -> Float64Array:
    """How far each way goes before walls, floor or ceiling end all of its span."""
    ceiling = _ceiling_over(shell, cone.at)
    far_m = ROUND_M if cone.half_rad is None else FARTHEST_M
    above = rays.z > ceiling
    hits = crossings(rays.start, rays.ways, _walls_for(cone.at, shell))
    hits[hits < rays.first[:, None] - 1e-9] = np.inf
    if above:
        hits[_heights(rays, hits) > ceiling] = np.inf
    s = hits.min(axis=1, initial=far_m)
    x, y = rays.start.tolist()
    for gate in sorted(shell.gates, key=lambda one: one.away_m(x, y)):
        at = crossings(rays.start, rays.ways, np.array([[*gate.a, *gate.b]]))[:, 0]
        passes = (at < s) & (at > rays.first)
        if not passes.any():
            continue
        reach = np.maximum(at, 1e-6)
        low = np.maximum(rays.low, np.arctan2(gate.sill_m - rays.z, reach))
        high = np.minimum(rays.high, np.arctan2(gate.top_m - rays.z, reach))
        shut = passes & (low >= high)
        s[shut] = at[shut]
        goes = passes & ~shut
        rays.low[goes], rays.high[goes] = low[goes], high[goes]
    down = rays.high < -1e-4
    s[down] = np.minimum(s[down], rays.z / np.tan(-np.maximum(rays.high[down], -_UPRIGHT)))
    up = rays.low > 1e-4
    rise = np.inf if above else ceiling - rays.z
    s[up] = np.minimum(s[up], rise / np.tan(np.minimum(rays.low[up], _UPRIGHT)))
    return np.asarray(s)


def _heights(rays: _Rays, s: Float64Array) -> Float64Array:
    middle = np.clip(0.5 * (rays.low + rays.high), -_UPRIGHT, _UPRIGHT)
    return np.asarray(rays.z + np.where(np.isfinite(s), s, 0.0) * np.tan(middle)[:, None])


def _ceiling_over(shell: Shell, at: tuple[float, float, float]) -> float:
    """The ceiling of the room that a point is in or over, else the highest there is."""
    for _, floor, height in shell.floors:
        if is_inside(floor, at[:2]):
            return height
    return max(height for _, _, height in shell.floors)


def _walls_for(at: tuple[float, ...], shell: Shell) -> Float64Array:
    """The segments that end what starts at a point: from indoors, the walls' outsides too."""
    if any(is_inside(floor, at) for _, floor, _ in shell.floors):
        return np.concatenate([shell.solid, shell.outer])
    return shell.solid


def _comes_through_roof(cone: Cone, shell: Shell) -> bool:
    """Whether a beam from above meets the top of a room that has a skylight."""
    ceiling = _ceiling_over(shell, cone.at)
    if not shell.roof_holes or cone.at[2] <= ceiling or cone.axis[2] >= 0.0:
        return False
    share = (ceiling - cone.at[2]) / cone.axis[2]
    over = (cone.at[0] + share * cone.axis[0], cone.at[1] + share * cone.axis[1])
    return any(is_inside(floor, over) for _, floor, _ in shell.floors)


def _through_roof(rays: _Rays, shell: Shell) -> None:
    """Cut spans of elevation to what comes down through the shaft of a skylight."""
    low = np.full(len(rays.ways), np.inf)
    high = np.full(len(rays.ways), -np.inf)
    for hole in shell.roof_holes:
        one_low, one_high = _through_shaft(rays, hole)
        open_ = one_low < one_high
        low[open_] = np.minimum(low[open_], one_low[open_])
        high[open_] = np.maximum(high[open_], one_high[open_])
    shut = low >= high
    rays.low, rays.high = np.where(shut, -_UPRIGHT, low), np.where(shut, -_UPRIGHT, high)


def _through_shaft(rays: _Rays, hole: RoofHole) -> tuple[Float64Array, Float64Array]:
    ring = np.concatenate([hole.outline, np.roll(hole.outline, -1, axis=0)], axis=1)
    hits = crossings(rays.start, rays.ways, ring)
    inside = is_inside(hole.outline, tuple(rays.start.tolist()))
    far = np.where(np.isfinite(hits), hits, -np.inf).max(axis=1)
    near = np.zeros(len(far)) if inside else hits.min(axis=1)
    met = far > 0.0
    low, high = rays.low.copy(), rays.high.copy()
    for level in (hole.high_m, hole.low_m):
        drop = rays.z - level
        if drop <= 0.0:
            continue
        steepest = np.where(near > 0.0, -np.arctan2(drop, np.maximum(near, 1e-9)), -math.pi / 2.0)
        low = np.maximum(low, np.where(met, steepest, 1.0))
        high = np.minimum(high, np.where(met, -np.arctan2(drop, np.maximum(far, 1e-9)), -2.0))
    return low, high


# From the sides --------------------------------------------------------------------------


@functools.lru_cache(maxsize=1024)
def _from_side(cone: Cone, shell: Shell, side: int) -> Outline | None:
    """The beam as seen along +y (side 0) or -x (side 1): what is nearest to the eye is not told."""
    if cone.half_rad is None:
        return _ball_from_side(cone, shell, side)
    apex, _ = _apex(cone)
    axis = np.array(cone.axis)
    flat = (axis[side], axis[2], axis[1 - side])  # along the drawing, up it, square to it
    pan, half = _pan_span(flat, cone.half_rad)
    count = 2 + int(2.0 * half / STEP_RAD)
    turns = pan + np.linspace(-half, half, count)
    middle, spread = _elevations(Cone(cone.at, flat, cone.half_rad, cone.face_m), turns)
    out = middle + np.array(_SIDE_LAYERS)[:, None] * spread  # (layers, ways)
    ways = np.empty((*out.shape, 3))
    ways[..., side] = np.cos(out) * np.cos(turns)
    ways[..., 2] = np.cos(out) * np.sin(turns)
    ways[..., 1 - side] = np.sin(out)
    ways = ways.reshape(-1, 3)
    behind = float((np.array(cone.at) - apex) @ axis)
    first = behind / np.maximum(ways @ axis, 0.05)
    s = _first_stop(cone, ways, first, shell).reshape(out.shape)
    reach = (s * np.cos(out)).max(axis=0)
    drawn = apex[[side, 2]] + reach[:, None] * ways_of(turns)
    if half > math.pi - 1e-6:
        return thinned(drawn)
    rise = np.array([-math.sin(pan), math.cos(pan)])
    face = np.array(cone.at)[[side, 2]]
    ends = [face + rise * cone.face_m, face - rise * cone.face_m]
    return thinned(np.vstack([drawn, ends]))


def _ball_from_side(cone: Cone, shell: Shell, side: int) -> Outline:
    """A circle of the reach of what shines all round, cut by its own room."""
    import shapely

    at = np.array(cone.at)
    low, high, floor, ceiling = -np.inf, np.inf, 0.0, np.inf
    for _, corners, height in shell.floors:
        if is_inside(corners, (cone.at[0], cone.at[1])):
            low, high = float(corners[:, side].min()), float(corners[:, side].max())
            ceiling = height
    ball = shapely.Polygon(circle(at[[side, 2]], ROUND_M))
    room = shapely.box(max(low, -1e3), floor, min(high, 1e3), min(ceiling, 1e3))
    cut = shapely.intersection(ball, room)
    return () if cut.is_empty else rounded(np.asarray(cut.exterior.coords)[:-1])


def _first_stop(cone: Cone, ways: Float64Array, first: Float64Array, shell: Shell) -> Float64Array:
    """How far each way (n, 3) goes from the apex before it meets a wall, floor or ceiling (m)."""
    apex, _ = _apex(cone)
    flat = np.hypot(ways[:, 0], ways[:, 1])
    level = np.maximum(flat, 1e-9)
    on_plan = ways[:, :2] / level[:, None]
    rise = ways[:, 2] / level
    start, z = apex[:2], float(apex[2])
    tops = max(height for _, _, height in shell.floors)
    hits = crossings(start, on_plan, _walls_for(cone.at, shell))
    heights = z + np.where(np.isfinite(hits), hits, 0.0) * rise[:, None]
    hits[(heights > tops) | (hits < (first * flat)[:, None])] = np.inf
    s = hits.min(axis=1, initial=FARTHEST_M)
    if shell.gates:
        at = crossings(start, on_plan, np.array([[*gate.a, *gate.b] for gate in shell.gates]))
        met = np.isfinite(at)
        up = z + np.where(met, at, 0.0) * rise[:, None]
        sills, heads = (np.array([getattr(gate, one) for gate in shell.gates])
                        for one in ("sill_m", "top_m"))  # fmt: skip
        at[~met | ((up >= sills) & (up <= heads))] = np.inf
        s = np.minimum(s, at.min(axis=1))
    s = s / level
    going_down = ways[:, 2] < -1e-6
    s[going_down] = np.minimum(s[going_down], z / -ways[going_down, 2])
    ceiling = _ceiling_over(shell, cone.at)
    going_up = ways[:, 2] > 1e-6
    if z < ceiling:
        s[going_up] = np.minimum(s[going_up], (ceiling - z) / ways[going_up, 2])
    elif _comes_through_roof(cone, shell):
        s = np.minimum(s, _roof_stop(apex, ways, shell))
    return np.asarray(np.minimum(s, FARTHEST_M))


def _roof_stop(apex: Float64Array, ways: Float64Array, shell: Shell) -> Float64Array:
    """How far ways that come from above the roof go before they meet what is no skylight."""
    stop = np.full(len(ways), np.inf)
    down = np.minimum(ways[:, 2], -1e-9)
    tops = max(hole.high_m for hole in shell.roof_holes)
    for level in (tops, min(hole.low_m for hole in shell.roof_holes)):
        s = (level - apex[2]) / down
        points = apex[:2] + s[:, None] * ways[:, :2]
        free = np.zeros(len(ways), bool)
        for hole in shell.roof_holes:
            free |= within(hole.outline, points)
        stop = np.where(free, stop, np.minimum(stop, s))
    return stop


# Cones -----------------------------------------------------------------------------------


def _apex(cone: Cone) -> tuple[Float64Array, float]:
    """The point the cone spreads from, and how far behind the face it lies on the plan."""
    at, axis = np.array(cone.at), np.array(cone.axis)
    if cone.half_rad is None:
        return at, 0.0
    behind = cone.face_m / math.tan(min(cone.half_rad, 1.5))
    return at - behind * axis, behind * math.hypot(axis[0], axis[1])


def _pan_span(axis: tuple[float, float, float], half_rad: float | None) -> tuple[float, float]:
    """The middle of the ways on the plan that a cone goes, and half their span (rad)."""
    pan = math.atan2(axis[1], axis[0])
    flat = math.hypot(axis[0], axis[1])
    if half_rad is None:
        return pan, math.pi
    share = (math.cos(half_rad) ** 2 - axis[2] ** 2) / max(flat**2, 1e-12)
    if share <= 0.0 or half_rad >= 0.5 * math.pi:
        return pan, math.pi
    return pan, math.acos(min(1.0, math.sqrt(share)))


def _elevations(cone: Cone, turns: Float64Array) -> tuple[Float64Array, Float64Array]:
    """The middle of each way's span of elevations in a cone, and half the span (rad).

    A way at `turn` from the axis and elevation e is within the cone where
    cos e · cos tilt · cos turn + sin e · sin tilt ≥ cos half.
    """
    if cone.half_rad is None:
        return np.zeros(len(turns)), np.full(len(turns), _UPRIGHT)
    flat = math.hypot(cone.axis[0], cone.axis[1])
    level = flat * np.cos(turns - math.atan2(cone.axis[1], cone.axis[0]))
    length = np.hypot(level, cone.axis[2])
    middle = np.arctan2(cone.axis[2], level)
    spread = np.arccos(np.clip(math.cos(cone.half_rad) / np.maximum(length, 1e-9), -1.0, 1.0))
    low = np.clip(middle - spread, -_UPRIGHT, _UPRIGHT)
    high = np.clip(middle + spread, -_UPRIGHT, _UPRIGHT)
    return 0.5 * (low + high), 0.5 * (high - low)


def _first(behind_m: float, aside: Float64Array, half: float) -> Float64Array:
    """Where each way crosses the face, on the plan, from the apex (m)."""
    if half > math.pi - 1e-6:
        return np.zeros(len(aside))
    return np.asarray(behind_m / np.maximum(np.cos(aside), 0.2))


# What stands in the way -------------------------------------------------------------------


def _may_block(blocker: Blocker, cone: Cone) -> bool:
    """Whether a body lies in the reach of a beam and does not hold its face or its apex."""
    outline, low, high = blocker
    x, y, z = cone.at
    xs, ys = [point[0] for point in outline], [point[1] for point in outline]
    over = min(xs) <= x <= max(xs) and min(ys) <= y <= max(ys)
    if over and low - 0.05 < z < high + 0.05 and is_inside(np.array(outline), (x, y)):
        return False
    if cone.half_rad is None:
        away = math.hypot(max(min(xs) - x, 0.0, x - max(xs)), max(min(ys) - y, 0.0, y - max(ys)))
        return low - _SLACK_M < z < high + _SLACK_M and away < ROUND_M
    ahead = (cone.axis[0] * (u - x) + cone.axis[1] * (v - y) for u, v in outline)
    return abs(cone.axis[2]) > 0.7 or any(one > 0.0 for one in ahead)
