"""The frame of a pair of spectacles, set on a figure's own nose and ears."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from falloff.kit.head_shape import HeadShape, Points
from falloff.kit.shells import Closed, ring, tube

_WIRE_M = 0.0014
_EYE_RADIUS_M = 0.016  # the ball of the figures' eyes
_BEFORE_EYE_M = (0.013, 0.0198)  # from the front of an eye to the middle of a rim: least, most


@dataclass(frozen=True, slots=True)
class _Fit:
    """Where the rims stand: half the eyes' distance, half a rim's width and height, y and z; m."""

    half_m: float
    wide_m: float
    high_m: float
    ahead_m: float
    level_m: float


def spectacle_frame(shape: HeadShape) -> list[Closed]:
    """Two rims, a bridge and two temples that hook behind the ears; metres, head's frame."""
    fit = _fitted(shape)
    parts = [_bridge(shape, fit)]
    for side in (-1.0, 1.0):
        parts += [_rim(side, fit), _temple(shape, side, fit)]
    return parts


def _fitted(shape: HeadShape) -> _Fit:
    """Rims before the eyes, clear of cheeks and brows."""
    right = shape.marks_m["eye_right"]
    half = 0.5 * float(right[0] - shape.marks_m["eye_left"][0])
    scale = half / 0.030
    wide, high, level = 0.0226 * scale, 0.0210 * scale, float(right[2]) - 0.002
    turn = np.arange(48) * 2 * np.pi / 48
    across = half + wide * np.cos(turn)
    starts = np.stack([across, 0 * turn, level + high * np.sin(turn)], axis=-1)
    skin = shape.reach(starts, np.tile([0.0, 1.0, 0.0], (len(turn), 1)))
    beside_nose = across > 0.3 * half
    eye = float(right[1]) + _EYE_RADIUS_M
    clear = float((skin - _lean(high * np.sin(turn)))[beside_nose].max()) + _WIRE_M + 0.0015
    ahead = float(np.clip(clear, eye + _BEFORE_EYE_M[0], eye + _BEFORE_EYE_M[1]))
    return _Fit(half, wide, high, ahead, level)


def _lean(height: Points | float) -> Points | float:
    """The rims' upper ends stand farther ahead."""
    return 0.10 * height


def _rim(side: float, fit: _Fit) -> Closed:
    turn = np.arange(56) * 2 * np.pi / 56
    section = np.arange(8) * 2 * np.pi / 8
    flat = np.stack([np.cos(turn), 0 * turn, np.sin(turn)], axis=-1)
    shaped = flat * np.array([fit.wide_m, 0.0, fit.high_m])
    middle = shaped + np.array([side * fit.half_m, fit.ahead_m, fit.level_m])
    middle[:, 1] += _lean(shaped[:, 2]) - 0.10 * np.maximum(side * shaped[:, 0], 0)
    out = np.cos(section)[None, :, None] * flat[:, None] * _WIRE_M
    deep = np.sin(section)[None, :, None] * np.array([0.0, 1.25 * _WIRE_M, 0.0])
    return ring(middle[:, None] + out + deep)


def _bridge(shape: HeadShape, fit: _Fit) -> Closed:
    """An arch from rim to rim over the nose."""
    rise = 0.25 * fit.high_m
    inner = fit.half_m - fit.wide_m * np.sqrt(1 - (rise / fit.high_m) ** 2)
    across = np.linspace(-1.0, 1.0, 15)
    arch = 1 - across**2
    height = fit.level_m + rise + 0.0035 * arch
    starts = np.stack([inner * across, 0 * across, height], axis=-1)
    skin = shape.reach(starts, np.tile([0.0, 1.0, 0.0], (15, 1)))
    forward = fit.ahead_m + _lean(np.float64(rise)) + 0.001 * arch
    lacking = np.maximum(skin + _WIRE_M + 0.001 - forward, 0.0)
    forward = forward + lacking.max() * arch**0.5
    path = np.stack([inner * across, forward, height], axis=-1)
    return tube(path, np.full((15, 2), _WIRE_M), 8)


def _temple(shape: HeadShape, side: float, fit: _Fit) -> Closed:
    """From the rim's outer end back over the ear, then down behind it."""
    ear = 0.5 * (
        shape.marks_m["ear_right"] + shape.marks_m["ear_left"] * np.array([-1.0, 1.0, 1.0])
    )
    outer = fit.half_m + 0.94 * fit.wide_m
    height = fit.level_m + 0.34 * fit.high_m
    start = np.array([outer, fit.ahead_m - 0.10 * fit.wide_m, height])
    hinge = np.array([outer + 0.006, fit.ahead_m - 0.007, height])
    rest = np.array([ear[0] + 0.002, ear[1], ear[2] + 0.002])
    share = np.linspace(0, 1, 12)[:, None]
    straight = (1 - share) * hinge + share * rest
    turn = np.linspace(0.15, 1.15, 7)[:, None]
    hook = rest + np.concatenate(
        [-0.003 * turn, -0.022 * np.sin(turn), -0.039 * (1 - np.cos(turn))], axis=1
    )
    path = _clear(shape, np.concatenate([start[None], straight, hook]))
    path[:, 0] *= side
    radii = np.tile([0.0013, 0.0019], (len(path), 1))
    radii[-1] *= 0.8
    return tube(path, radii, 8)


def _clear(shape: HeadShape, path: Points) -> Points:
    """Bowed outward where the side of the head would be in the way."""
    lacking = np.zeros(len(path))
    for side in (-1.0, 1.0):
        level = path * np.array([0.0, 1.0, 1.0])
        skin = shape.reach(level, np.tile([side, 0.0, 0.0], (len(path), 1)))
        before_ear = path[:, 1] > shape.marks_m["ear_right"][1] + 0.012
        lacking = np.maximum(lacking, np.where(before_ear, skin + 0.003 - path[:, 0], 0.0))
    reach = np.linalg.norm(path, axis=1)
    lacking = np.maximum(lacking, shape.skull(path / reach[:, None]) + 0.003 - reach)
    lacking[:2] = 0.0
    for _ in range(4):
        wide = np.pad(lacking, 1, mode="edge")
        lacking = np.maximum(lacking, (wide[:-2] + wide[1:-1] + wide[2:]) / 3)
        lacking[:2] = 0.0
    bowed = path.copy()
    bowed[:, 0] += lacking
    return bowed
