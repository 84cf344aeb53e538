"""Loose coils of hair strewn over the scalp."""

from __future__ import annotations

import numpy as np

from falloff.kit.hair_locks import Limit
from falloff.kit.head_shape import HeadShape, Points
from falloff.kit.shells import Closed, tube

_STREWN = 168  # over the whole sphere; those outside the hairline are left out
_TURNS, _STEPS, _SIDES = 1.5, 12, 4


def curls(shape: HeadShape, depth_m: float, limit: Limit) -> list[Closed]:
    """Coils lying on hair of about a depth, each a closed tube."""
    step = np.arange(_STREWN) + 0.5
    up = 1 - 2 * step / _STREWN
    turn = np.pi * (1 + 5**0.5) * step
    ways = np.stack([np.sqrt(1 - up**2) * np.cos(turn), np.sqrt(1 - up**2) * np.sin(turn), up], 1)
    ways = ways[(shape.scalp(ways) > 0.004) & (ways[:, 2] > -0.52)]
    chance = np.random.default_rng(23).random((len(ways), 6))
    return [
        _coil(shape, way, drawn, (depth_m, limit)) for way, drawn in zip(ways, chance, strict=True)
    ]


def _coil(shape: HeadShape, way: Points, drawn: Points, room: tuple[float, Limit]) -> Closed:
    """One coil: its axis along the head, mostly downwards, its ends thin."""
    depth_m, limit = room
    down = np.array([0.0, 0.0, -1.0]) + 0.9 * way * way[2] + np.array([0.0, -0.2, 0.0])
    aside = np.cross(way, down)
    tilt = 2.2 * (drawn[0] - 0.5)
    axis = np.cos(tilt) * down + np.sin(tilt) * aside
    axis -= (axis @ way) * way
    axis /= np.linalg.norm(axis)
    aside = np.cross(way, axis)
    share = np.linspace(0, 1, _STEPS)
    angle = 2 * np.pi * (_TURNS * share + drawn[1])
    hand = 1.0 if drawn[2] > 0.5 else -1.0
    wide = (0.0085 + 0.004 * drawn[3]) * np.sin(np.pi * (0.12 + 0.76 * share))
    inside = np.clip(float(shape.scalp(way)) / 0.02, 0.35, 1.0)
    base = float(shape.skull(way)) + depth_m * (0.62 + 0.35 * drawn[4]) * inside
    length = 0.030 + 0.012 * drawn[5]
    path = (
        base * way
        + ((share - 0.5) * length)[:, None] * axis
        + (wide * np.cos(angle))[:, None] * way
        + (hand * wide * np.sin(angle))[:, None] * aside
    )
    thick = 0.0058 * (0.35 + 0.65 * np.sin(np.pi * (0.08 + 0.84 * share)))
    path = _kept(shape, path, thick, limit)
    return tube(path, np.stack([thick, thick], axis=1), _SIDES)


def _kept(shape: HeadShape, path: Points, thick: Points, limit: Limit) -> Points:
    """Out of the skin and below what covers the head."""
    reach = np.linalg.norm(path, axis=1)
    ways = path / reach[:, None]
    skull = shape.skull(ways)
    skin = np.minimum(shape.outside(ways), skull + 0.016)  # the ears, not the shoulders
    reach = np.maximum(reach, skin + thick + 0.0015)
    held = np.minimum(reach, np.maximum(limit(ways) - thick - 0.001, skull))
    kept: Points = held[:, None] * ways
    return kept
