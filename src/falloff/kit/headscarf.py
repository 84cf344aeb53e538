"""A scarf that wraps head and neck and leaves the face free."""

from __future__ import annotations

import numpy as np

from falloff.kit.hair_locks import smooth_step, spread
from falloff.kit.head_shape import HeadShape, Points, Values, direction
from falloff.kit.shells import Closed, ring

_COLUMNS, _ROWS = 88, 30
_OFF_M = 0.006
_THICK_M = 0.0018


def headscarf(shape: HeadShape) -> Closed:
    """A band of cloth from the opening of the face to a hem on shoulders and chest."""
    angle = np.arange(_COLUMNS) * 2 * np.pi / _COLUMNS  # round the face from the forehead's middle
    paths = _through(_keys(shape, angle))
    for _ in range(2):
        paths = _clear(shape, paths, _OFF_M)
    paths = _folded(paths, angle)
    paths = _snug(shape, _clear(shape, paths, 0.006))
    out = _outward(paths)
    edge = np.exp(-np.arange(_ROWS) / 0.8) + np.exp(-np.arange(_ROWS)[::-1] / 0.8)
    outer = paths + (_THICK_M * (1 + 0.6 * edge))[:, None, None] * out
    return ring(np.concatenate([outer, paths[::-1]]).transpose(1, 0, 2))


def _keys(shape: HeadShape, angle: Values) -> Points:
    """Five points of each column's way: face edge, over the head, behind it, neck, hem."""
    top = np.cos(angle)
    side = np.sin(angle)
    down = np.degrees(np.minimum(angle, 2 * np.pi - angle))
    knots = (0.0, 60.0, 90.0, 110.0, 139.0, 180.0)  # forehead .. chin

    def told(azimuth: tuple[float, ...], up: tuple[float, ...], off_m: float) -> Points:
        ways = direction(
            np.radians(np.interp(down, knots, azimuth[::-1])) * np.where(angle <= np.pi, 1.0, -1.0),
            np.radians(np.interp(down, knots, up[::-1])),
        )
        return (np.minimum(shape.outside(ways), 0.165) + off_m)[:, None] * ways

    chin = shape.marks_m["chin"]
    face = told((0, 34, 56, 62, 48, 0), (-53, -47, -24, 0, 30, 38), 0.0022)
    under = np.clip((-0.62 - top) / 0.38, 0, 1)[:, None]
    below = np.stack([0.055 * side, -0.012 - 0.09 * np.abs(side), 0 * side - 0.012], axis=-1)
    below = below * shape.size + chin * np.array([0.0, 1.0, 1.0])
    face = (1 - smooth_step(under)) * face + smooth_step(under) * below
    over = told((0, 40, 70, 84, 100, 180), (-53, -47, -22, 2, 50, 84), _OFF_M)
    behind = told((0, 45, 82, 112, 145, 180), (-53, -45, -25, -8, 22, 30), _OFF_M)
    mix = smooth_step(np.clip((0.1 - top) / 0.9, 0, 1))[:, None]
    hem = _hem(shape, angle)
    over = (1 - mix) * over + mix * (0.72 * face + 0.28 * hem)
    behind = (1 - mix) * behind + mix * (0.42 * face + 0.58 * hem)
    neck = 0.30 * behind + 0.70 * hem + np.array([0.0, 0.0, 0.012])
    return np.stack([face, over, behind, neck, hem])


def _hem(shape: HeadShape, angle: Values) -> Points:
    """The lower edge: on the back behind, on the shoulders beside, on the chest before."""
    azimuth = np.pi - angle
    height = (-0.195 - 0.030 * np.cos(azimuth) ** 2) * shape.size
    flat = np.stack([np.sin(azimuth), np.cos(azimuth), 0 * azimuth], axis=-1)
    middle = np.stack([0 * height, np.full_like(height, -0.035 * shape.size), height], axis=-1)
    skin = np.clip(shape.reach(middle, flat), 0.055 * shape.size, 0.135 * shape.size)
    for _ in range(6):
        skin = (np.roll(skin, 1) + 2 * skin + np.roll(skin, -1)) / 4
    hem: Points = middle + (skin + 0.010)[:, None] * flat
    return hem


def _through(keys: Points) -> Points:
    """Smooth ways through the keys (5, c, 3): rows, evenly spread (r, c, 3)."""
    ends = np.concatenate([2 * keys[:1] - keys[1:2], keys, 2 * keys[-1:] - keys[-2:-1]])
    fine = np.linspace(0, len(keys) - 1 - 1e-9, 121)
    k = fine.astype(int)
    t = (fine - k)[:, None, None]
    a, b, c, d = (ends[k + i] for i in range(4))
    curve = 0.5 * (
        2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * b - a - 3 * c + d) * t**3
    )
    length = np.linalg.norm(np.diff(curve, axis=0), axis=-1).cumsum(axis=0)
    length = np.concatenate([np.zeros_like(length[:1]), length])
    rows = np.empty((_ROWS, *curve.shape[1:]))
    for column in range(curve.shape[1]):
        at = np.linspace(0, length[-1, column], _ROWS)
        for axis in range(3):
            rows[:, column, axis] = np.interp(at, length[:, column], curve[:, column, axis])
    return rows


def _clear(shape: HeadShape, paths: Points, off_m: float) -> Points:
    """Pushed out of head, neck and clothes: from the head's middle above, level below."""
    reach = np.linalg.norm(paths, axis=-1)
    ways = paths / reach[..., None]
    low = smooth_step((-0.075 - paths[..., 2]) / 0.04)
    off = np.interp(np.arange(_ROWS), [0, 5], [0.0022, off_m])[:, None]
    head = np.where(paths[..., 2] > -0.12, shape.outside(ways) + off - reach, 0.0)
    axis = paths * np.array([0.0, 0.0, 1.0]) + np.array([0.0, -0.035, 0.0])
    flat = (paths - axis) * np.array([1.0, 1.0, 0.0])
    across = np.linalg.norm(flat, axis=-1)
    flat /= np.maximum(across[..., None], 1e-9)
    skin = shape.reach(axis.reshape(-1, 3), flat.reshape(-1, 3)).reshape(across.shape)
    level = np.where(skin < 0.155 * shape.size, skin + off_m - across, 0.0)
    lift = _lift(shape, paths, off_m)
    pushed = paths + (_shared((1 - low) * np.clip(head, 0, 0.05)))[..., None] * ways
    pushed += (_shared(low * np.clip(level, 0, 0.06)))[..., None] * flat
    pushed[..., 2] += _shared(lift)
    cleared: Points = pushed
    return cleared


def _lift(shape: HeadShape, paths: Points, off_m: float) -> Values:
    """How far points within the shoulders must rise to lie on them."""
    up = np.tile([0.0, 0.0, 1.0], (paths.size // 3, 1))
    top = shape.reach(
        (paths * np.array([1.0, 1.0, 0.0]) - 0.4 * up.reshape(paths.shape)).reshape(-1, 3), up
    )
    height = top.reshape(paths.shape[:2]) - 0.4
    under = (paths[..., 2] < -0.13) & (height < -0.10)
    return np.where(under, np.clip(height + off_m - paths[..., 2], 0, 0.08), 0.0)


def _snug(shape: HeadShape, paths: Points) -> Points:
    """The edge of the face's opening drawn in until it lies on the skin."""
    reach = np.linalg.norm(paths[0], axis=-1)
    ways = paths[0] / reach[..., None]
    skin = shape.reach(np.zeros_like(ways), ways) + 0.0025
    loose = np.where(paths[0, :, 2] > -0.10, np.clip(reach - skin, 0.0, 0.02), 0.0)
    loose = (np.roll(loose, 1) + 2 * loose + np.roll(loose, -1)) / 4
    share = np.array([1.0, 0.75, 0.5, 0.25])[:, None]
    drawn = paths.copy()
    drawn[:4] -= (share * loose)[..., None] * ways
    return drawn


def _shared(push: Values) -> Values:
    wide = np.concatenate([push[:, -6:], push, push[:, :6]], axis=1)
    return spread(np.where(np.isfinite(wide), wide, 0.0), 1, 1)[:, 6:-6]


def _folded(paths: Points, angle: Values) -> Points:
    """Soft folds: round the neck where the cloth hangs, faint over the head."""
    out = _outward(paths)
    hang = smooth_step((-0.03 - paths[..., 2]) / 0.10)
    row = np.arange(_ROWS)[:, None] / _ROWS
    drawn = 0.6 * np.sin(9 * angle + 7 * row) + 0.4 * np.sin(17 * angle - 9 * row + 1.0)
    rings = np.sin(25 * row + 3.0 * np.cos(angle) + 1.1 * np.sin(2 * angle + 0.7))
    inner = np.clip(np.minimum(row, 1 - row) * 12, 0, 1)
    height = 0.0042 * hang * (0.5 * drawn + 0.6 * rings) + 0.0009 * (1 - hang) * drawn
    folded: Points = paths + (height * inner)[..., None] * out
    return folded


def _outward(paths: Points) -> Points:
    along = np.gradient(paths, axis=0)
    around = np.roll(paths, -1, axis=1) - np.roll(paths, 1, axis=1)
    out = np.cross(along, around)
    out /= np.maximum(np.linalg.norm(out, axis=-1, keepdims=True), 1e-12)
    middle = np.array([0.0, -0.02, -0.05])
    facing = np.sign(np.einsum("rcd,rcd->rc", out, paths - middle).sum())
    turned: Points = facing * out
    return turned
