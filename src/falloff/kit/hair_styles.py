"""Hair as locks over a figure's own scalp: closed surfaces in the head's frame."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from falloff.kit.hair_curls import curls
from falloff.kit.hair_falls import Fall, falling_hair, fringe
from falloff.kit.hair_locks import Limit, Locks, lock_columns, smooth_step
from falloff.kit.head_shape import HeadShape, Points, Values
from falloff.kit.shells import Closed, Patch, capped_tube, domed_patch, ring, shell

_CLEAR_M = 0.0012  # the least distance of hair from the skin below it


@dataclass(frozen=True, slots=True)
class Cut:
    """Hair that grows from one point of the head out to the hairline.

    pole_deg: elevation of that point, on the middle line, over 90 is behind; top_m, side_m: depth;
    groove: how much of the depth lies between locks; tip_m: how far lock ends draw back;
    sweep_rad: how far locks bend round the pole on their way; edge_m: over which length from the
    hairline the depth grows; rough: unevenness along them; locks, rows: how fine.
    """

    pole_deg: float
    top_m: float
    side_m: float
    groove: float = 0.3
    tip_m: float = 0.006
    sweep_rad: float = 0.0
    edge_m: float = 0.022
    rough: float = 0.0
    locks: int = 60
    rows: int = 18


_CUTS = {
    "cropped": Cut(
        118, 0.0058, 0.0034, groove=0.45, rough=0.75, tip_m=0.006, edge_m=0.016, rows=17
    ),
    "short": Cut(116, 0.019, 0.0075, groove=0.30, sweep_rad=0.55, locks=62, rows=17),
    "curly": Cut(112, 0.022, 0.017, groove=0.2, tip_m=0.004, edge_m=0.015, locks=24, rows=9),
    "bun": Cut(152, 0.0075, 0.006, groove=0.26, tip_m=0.004, edge_m=0.016, locks=46, rows=17),
    "under": Cut(118, 0.003, 0.0022, groove=0.2, tip_m=0.003, edge_m=0.014, locks=24, rows=9),
    "ponytail": Cut(160, 0.008, 0.006, groove=0.26, tip_m=0.004, edge_m=0.016, locks=46, rows=17),
}
_FALLS = {
    "bob": Fall(face_deg=64.0, end_m=-0.118, curl_in_m=0.016, depth_m=0.013),
    "long": Fall(face_deg=101.0, end_m=-0.315, curl_in_m=0.0, depth_m=0.012, behind=True),
}
STYLES = ("bob", "bun", "cropped", "curly", "long", "ponytail", "short")


def styled_hair(shape: HeadShape, style: str, limit: Limit, *, low: bool) -> list[Closed]:
    """The closed surfaces of a style; `low` keeps a bun or tail clear of what covers the head."""
    if style in _FALLS:
        parts = [_grown(shape, _CUTS["under"], limit), falling_hair(shape, _FALLS[style], limit)]
        return [*parts, fringe(shape, limit)] if style == "bob" else parts
    cut = _CUTS[style]
    if low and style in ("bun", "ponytail"):
        cut = Cut(203, 0.006, 0.006, groove=0.26, tip_m=0.004, edge_m=0.016, locks=46, rows=17)
    parts = [_grown(shape, cut, limit)]
    if style == "curly":
        parts += curls(shape, cut.top_m, limit)
    if style == "bun":
        parts.append(_bun(shape, cut, 0.72 if low else 1.0))
    if style == "ponytail":
        parts += _tail(shape, cut)
    return parts


def _pole(cut: Cut) -> Points:
    tilt = np.radians(cut.pole_deg)
    return np.array([0.0, np.cos(tilt), np.sin(tilt)])


def _ways(cut: Cut, round_rad: Values, off_rad: Values) -> Points:
    """Unit vectors at angles round the pole (from ahead, towards the right) and off it."""
    tilt = np.radians(cut.pole_deg)
    pole = _pole(cut)
    ahead = np.array([0.0, np.sin(tilt), -np.cos(tilt)])
    aside = np.array([1.0, 0.0, 0.0])
    round_rad, off_rad = np.broadcast_arrays(round_rad, off_rad)
    tangent = np.cos(round_rad)[..., None] * ahead + np.sin(round_rad)[..., None] * aside
    ways: Points = np.cos(off_rad)[..., None] * pole + np.sin(off_rad)[..., None] * tangent
    return ways


def _reach_rad(shape: HeadShape, cut: Cut, round_rad: Values) -> Values:
    """How far off the pole the hairline lies, per angle round it."""
    off = np.arange(0.3, 2.7, 0.01)
    inside = shape.scalp(_ways(cut, round_rad[None, :], off[:, None])) > 0.002
    gone = ~inside
    first = np.where(gone.any(axis=0), gone.argmax(axis=0), len(off) - 1)
    found = off[first]
    padded = np.concatenate([found[-3:], found, found[:3]])
    low = np.min(np.lib.stride_tricks.sliding_window_view(padded, 3), axis=1)
    mean = np.mean(np.lib.stride_tricks.sliding_window_view(low, 5), axis=1)
    reach: Values = np.minimum(mean, found)
    return reach


def _grown(shape: HeadShape, cut: Cut, limit: Limit) -> Closed:
    """A shell of locks from the pole to the hairline."""
    locks = lock_columns(cut.locks, seed=11)
    round_rad = 2 * np.pi * locks.place
    reach = _reach_rad(shape, cut, round_rad)
    drawn_m = cut.tip_m * (0.4 * (1 - locks.ridge) + 1.6 * locks.shade(21) ** 2)
    reach = reach - drawn_m / 0.095
    share = 1 - (1 - np.linspace(0, 1, cut.rows + 1)[1:]) ** 1.4
    outer = _layer(shape, cut, limit, locks, (round_rad, reach, share))
    few = share[1 :: max(1, cut.rows // 9)]
    few = np.append(few[few < 0.97], 1.0)
    every = slice(None, None, locks.per_lock)
    ways = _ways(cut, round_rad[None, every], few[:, None] * reach[None, every])
    radius = np.minimum(shape.skull(ways) + 0.0006, limit(ways) - 0.001)
    pole = _pole(cut)
    inner = domed_patch(radius[..., None] * ways, pole * (shape.skull(pole) + 0.0006))
    return shell(outer, inner)


def _layer(
    shape: HeadShape,
    cut: Cut,
    limit: Limit,
    locks: Locks,
    grid: tuple[Values, Values, Values],
) -> Patch:
    round_rad, reach, share = grid
    bend = cut.sweep_rad * np.sin(np.pi * share) ** 1.2
    bend = bend[:, None] * np.cos(0.5 * (round_rad - 0.4))[None, :] ** 6
    bend = bend + (0.05 * np.sin(np.pi * share)[:, None] * (locks.shade(5) - 0.5))
    ways = _ways(cut, round_rad[None, :] + bend, share[:, None] * reach[None, :])
    depth = _depth(cut, ways)
    left_m = (1 - share[:, None]) * reach[None, :] * 0.095
    rise = np.clip(left_m / cut.edge_m, 0, 1)
    rise = np.sqrt(rise * (2 - rise))
    crown = smooth_step(share / 0.3)[:, None]
    between = (
        1 - crown * cut.groove * (1 - locks.ridge) - crown * 0.22 * cut.groove * locks.shade(7)
    )
    along = 1 + 0.10 * crown * np.sin(9 * share[:, None] + 6.3 * locks.shade(9))
    rough = 1 + cut.rough * (np.random.default_rng(3).random(ways.shape[:2]) - 0.5)
    thick = depth * rise * between * along * rough
    held = np.minimum(shape.skull(ways) + _CLEAR_M + thick, limit(ways) - 0.0008)
    pole = _pole(cut)
    top = min(float(held[0].mean()), float(limit(pole)) - 0.0008)
    return domed_patch(held[..., None] * ways, pole * top)


def _depth(cut: Cut, ways: Points) -> Values:
    """Full depth by elevation: the sides' to just above the ears, the top's from there."""
    up = ways[..., 2]
    low = np.interp(up, [-0.7, -0.3], [0.45, 1.0]) * cut.side_m
    return low + (cut.top_m - cut.side_m) * smooth_step((up - 0.05) / 0.6)


def _bun(shape: HeadShape, cut: Cut, size: float) -> Closed:
    """A coil of hair wound round an axis that leaves the head at the pole."""
    pole = _pole(cut)
    aside = np.array([1.0, 0.0, 0.0])
    square = np.cross(pole, aside)
    base = float(shape.skull(pole)) - 0.004
    polar = np.linspace(0, np.pi, 24)[1:-1]
    turn = np.arange(56) * 2 * np.pi / 56
    wound = np.abs(np.sin(2.5 * turn[None, :] + 3.0 * polar[:, None])) ** 0.6
    fine = np.abs(np.sin(9 * polar[:, None] + 1.2 * np.sin(turn)[None, :]))
    radius = 0.037 * size * (0.78 + 0.19 * wound + 0.03 * fine)
    height = base + size * (0.016 - 0.023 * np.cos(polar))
    hollow = 1 - 0.16 * np.exp(-(((np.pi - polar) / 0.5) ** 2))
    rings = (
        (height[:, None] * hollow[:, None] ** 0.3)[..., None] * pole
        + (radius * np.sin(polar)[:, None] * np.cos(turn))[..., None] * aside
        + (radius * np.sin(polar)[:, None] * np.sin(turn))[..., None] * square
    )
    ends = np.stack([pole * (base - 0.008 * size), pole * (base + 0.034 * size)])
    path = np.concatenate([ends[:1], np.zeros((len(polar) - 2, 3)), ends[1:]])
    return capped_tube(path, rings)


def _tail(shape: HeadShape, cut: Cut) -> list[Closed]:
    """A tail from the pole, out and down behind the neck, and the tie about its start."""
    pole = _pole(cut)
    base = float(shape.skull(pole)) + 0.002
    along = np.linspace(0, 1, 30)
    path = pole * base + np.stack([0 * along, 0 * along, 0 * along], axis=1)
    out = 0.045 * (1 - np.exp(-along / 0.10))
    path[:, 1] -= out + 0.01 * along
    path[:, 2] += (
        0.012 * np.sin(np.pi * np.clip(along / 0.2, 0, 1))
        - 0.25 * np.clip(along - 0.05, 0, 1) ** 1.15
    )
    radius = np.interp(
        along, [0, 0.06, 0.12, 0.35, 0.7, 1.0], [0.016, 0.011, 0.017, 0.025, 0.021, 0.004]
    )
    flat = path * np.array([0.0, 0.0, 1.0])
    behind = shape.reach(flat, np.tile([0.0, -1.0, 0.0], (len(path), 1)))
    low = path[:, 2] < -0.06
    path[:, 1] = np.where(low, np.minimum(path[:, 1], -behind - radius - 0.003), path[:, 1])
    for _ in range(4):
        path[2:-1, 1] = np.minimum(path[2:-1, 1], (path[1:-2, 1] + path[2:-1, 1] + path[3:, 1]) / 3)
    locks = lock_columns(12, seed=31)
    turn = 2 * np.pi * locks.place
    grooved = 1 - 0.24 * (1 - locks.ridge)[None, :] * smooth_step((along - 0.05) / 0.1)[:, None]
    way = np.gradient(path, axis=0)
    way /= np.linalg.norm(way, axis=1, keepdims=True)
    aside = np.array([1.0, 0.0, 0.0])
    square = np.cross(way, aside)
    spread = radius[:, None] * grooved
    rings = (
        path[:, None]
        + (1.15 * spread * np.cos(turn))[..., None] * aside
        + (0.9 * spread * np.sin(turn))[..., None] * square[:, None]
    )
    tips = path[[0, -1]] + np.array([[0, 0.004, 0], [0, 0, -0.012]])
    tail = capped_tube(np.concatenate([tips[:1], path[1:-1], tips[1:]]), rings)
    return [tail, _tie(path[2], way[2], aside, square[2])]


def _tie(middle: Points, way: Points, aside: Points, square: Points) -> Closed:
    turn = np.arange(28) * 2 * np.pi / 28
    section = np.arange(8) * 2 * np.pi / 8
    out = np.cos(turn)[:, None] * aside * 1.15 + np.sin(turn)[:, None] * square
    reach = 0.0115 + 0.004 * np.cos(section)
    rings = (
        middle
        + reach[None, :, None] * out[:, None]
        + (0.005 * np.sin(section))[None, :, None] * way
    )
    return ring(rings)
