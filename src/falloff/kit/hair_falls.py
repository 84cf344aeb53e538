"""Hair parted in the middle that falls past the ears, and a fringe over the forehead."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from falloff.kit.hair_locks import Limit, Locks, lock_columns, smooth_step, spread
from falloff.kit.head_shape import HeadShape, Points, Values, direction
from falloff.kit.shells import Closed, flat_patch, parted_patch, shell

_CLEAR_M = 0.002
_ON_HEAD, _OFF_HEAD = 11, 11  # rows on the head and below its widest


@dataclass(frozen=True, slots=True)
class Fall:
    """Falling hair.

    face_deg: azimuth of its edges beside the face; end_m: height of its ends; curl_in_m: how far
    these turn in; depth_m; behind: it lies behind the shoulders; crown_deg: the parting's end.
    """

    face_deg: float
    end_m: float
    curl_in_m: float
    depth_m: float
    behind: bool = False
    crown_deg: float = 118.0


def falling_hair(shape: HeadShape, fall: Fall, limit: Limit) -> Closed:
    """One sheet of locks from the parting round the head, face edge to face edge."""
    locks = lock_columns(36, seed=5, open_ended=True)
    thick = _thickness(fall, locks, _ON_HEAD + _OFF_HEAD + 1)
    base, room = _limited(_sheet(shape, fall, locks), limit)
    room = 0.5 * (room + np.minimum(np.roll(room, 1, axis=0), np.roll(room, -1, axis=0)))
    thick = np.maximum(np.minimum(thick, room), 0.0016)
    out = _outward(base)
    if fall.behind:
        square, out = out, _backward(base, out)
        along = np.einsum("rcd,rcd->rc", square, out)
        thick = np.maximum(thick * np.clip(along, 0.0, 1.0) ** 2, 0.0016)
        thick = _eased(base, thick)
    outer = base + thick[..., None] * out
    sunk = np.interp(np.arange(len(base)), [0, 4, _ON_HEAD], [0.0, 0.0005, 0.003])
    inner = (base - sunk[:, None, None] * out)[:, :: 2 if fall.behind else locks.per_lock]
    inner[0] *= 1 - 0.0012 / np.linalg.norm(inner[0], axis=-1, keepdims=True)
    return shell(parted_patch(_folded(outer)), parted_patch(_folded(inner)))


def _folded(rows: Points) -> Points:
    """The first row made exactly its own mirror image along the parting."""
    folded = rows.copy()
    folded[0, :, 0] = 0.0
    folded[0] = 0.5 * (folded[0] + folded[0, ::-1])
    return folded


def _limited(base: Points, limit: Limit) -> tuple[Points, Values]:
    """The underside held below what covers the head, and the room left over it (rows, columns)."""
    reach = np.linalg.norm(base, axis=-1)
    ways = base / reach[..., None]
    allowed = limit(ways)
    held = np.minimum(reach, allowed - 0.0024)
    room = np.where(np.isfinite(allowed), 0.8 * (allowed - held) - 0.0008, 1.0)
    return held[..., None] * ways, room


def _outward(base: Points) -> Points:
    """Unit vectors out of a sheet (rows, columns, 3), evened out."""
    down = np.gradient(base, axis=0)
    across = np.gradient(base, axis=1)
    out = np.cross(down, across)
    out[0] = out[1] * np.array([0.3, 1.0, 1.0])
    out /= np.maximum(np.linalg.norm(out, axis=-1, keepdims=True), 1e-12)
    for _ in range(8):
        wide = np.pad(out, ((1, 1), (1, 1), (0, 0)), mode="edge")
        out = 2 * out + wide[:-2, 1:-1] + wide[2:, 1:-1] + wide[1:-1, :-2] + wide[1:-1, 2:]
        out /= np.maximum(np.linalg.norm(out, axis=-1, keepdims=True), 1e-12)
    return out


def _sheet(shape: HeadShape, fall: Fall, locks: Locks) -> Points:
    """Where the hair's underside runs (rows, columns, 3)."""
    side = 2 * locks.place - 1  # -1 at the left face edge, 0 behind, 1 at the right one
    azimuth = np.pi - (np.pi - np.radians(fall.face_deg)) * np.abs(side)
    end = direction(azimuth, np.full_like(azimuth, np.radians(-4.0)))
    end[:, 0] *= np.sign(side)
    root = _roots(shape, fall, azimuth)
    share = np.linspace(0, 1, _ON_HEAD + 1)[:, None, None]
    ahead = np.clip((np.radians(120) - azimuth) / np.radians(60), 0, 1)
    middle = root + end + np.array([0.0, 0.0, 1.0]) * (0.25 + 0.35 * ahead)[:, None]
    middle /= np.linalg.norm(middle, axis=1, keepdims=True)
    ways = (1 - share) ** 2 * root + 2 * share * (1 - share) * middle + share**2 * end
    ways /= np.linalg.norm(ways, axis=-1, keepdims=True)
    skull = shape.skull(ways) + _CLEAR_M
    lacking = np.maximum(shape.outside(ways) + _CLEAR_M - skull, 0.0)
    if fall.behind:
        scalp = (skull + spread(lacking, 2, 9))[..., None] * ways
        below = _below(shape, fall, locks, scalp[-1], (azimuth, side))
        return np.concatenate([scalp, _behind_shoulders(shape, below, side)[1:]])
    scalp = skull[..., None] * ways
    below = _below(shape, fall, locks, scalp[-1], (azimuth, side))[1:]
    flat = _flat(azimuth, side)
    pushed = spread(np.concatenate([lacking, _inside(shape, below, flat)]), 3, 9)
    out = np.concatenate([ways, np.tile(flat, (len(below), 1, 1))])
    sheet: Points = np.concatenate([scalp, below]) + pushed[..., None] * out
    return sheet


def _roots(shape: HeadShape, fall: Fall, azimuth: Values) -> Points:
    """Where each column leaves the parting: the front ones along it, all others at the crown."""
    front = np.degrees(np.arctan2(*shape.marks_m["hairline_front"][[2, 1]])) + 1.0
    back = np.radians(135.0)
    edge = np.radians(fall.face_deg)
    share = np.clip((azimuth - edge) / (back - edge), 0, 1)
    tilt = np.radians(front + (fall.crown_deg - front) * share)
    return np.stack([0 * tilt, np.cos(tilt), np.sin(tilt)], axis=-1)


def _below(
    shape: HeadShape,
    fall: Fall,
    locks: Locks,
    start: Points,
    place: tuple[Values, Values],
) -> Points:
    """Rows from the head's widest down to the ends."""
    azimuth, side = place
    share = np.linspace(0, 1, _OFF_HEAD + 1)[:, None]
    length = start[:, 2] - fall.end_m * shape.size
    uneven = 0.004 * (1 - locks.ridge) + 0.008 * locks.shade(3)
    if fall.behind:
        uneven = 3 * uneven + 0.05 * np.abs(side) ** 2
    height = start[:, 2] - share * (length - uneven)
    points = np.stack([start[:, 0] + 0 * share, start[:, 1] + 0 * share, height], axis=-1)
    points -= (fall.curl_in_m * share**2.5)[..., None] * _flat(azimuth, side)
    fallen: Points = points
    return fallen


def _flat(azimuth: Values, side: Values) -> Points:
    """Level unit vectors out of each column."""
    return np.stack([np.sin(azimuth) * np.sign(side), np.cos(azimuth), 0 * azimuth], axis=-1)


def _inside(shape: HeadShape, points: Points, flat: Points) -> Values:
    """How far points (rows, columns, 3) must go out to be clear of ears, jaw and neck."""
    axis = points * np.array([0.0, 0.0, 1.0])
    ways = np.tile(flat, (len(points), 1, 1))
    skin = shape.reach(axis.reshape(-1, 3), ways.reshape(-1, 3)).reshape(points.shape[:2])
    radius = np.einsum("rck,ck->rc", points, flat)
    lacking = np.maximum(skin + _CLEAR_M + 0.001 - radius, 0.0)
    return np.where(skin > 0.16, 0.0, lacking)


def _eased(base: Points, thick: Values) -> Values:
    """No steeper from column to column than their distance allows, so that no lock overhangs."""
    step = np.diff(base, axis=1)
    down = np.gradient(base, axis=0)
    down /= np.maximum(np.linalg.norm(down, axis=-1, keepdims=True), 1e-12)
    down = 0.5 * (down[:, 1:] + down[:, :-1])
    apart = np.linalg.norm(step - np.einsum("rcd,rcd->rc", step, down)[..., None] * down, axis=-1)
    eased = thick.copy()
    for column in range(1, thick.shape[1]):
        room = eased[:, column - 1] + 0.6 * apart[:, column - 1]
        eased[:, column] = np.minimum(eased[:, column], room)
    for column in range(thick.shape[1] - 2, -1, -1):
        room = eased[:, column + 1] + 0.6 * apart[:, column]
        eased[:, column] = np.minimum(eased[:, column], room)
    return eased


def _backward(base: Points, out: Points) -> Points:
    """Straight backward on the back, so that no lock grows into another; out elsewhere."""
    level = _level(base)[..., None]
    turned = (1 - level) * out + level * np.array([0.0, -1.0, 0.0])
    unit: Points = turned / np.linalg.norm(turned, axis=-1, keepdims=True)
    return unit


def _level(points: Points) -> Values:
    """0 on the head, 1 where hair lies on the back."""
    return smooth_step((-0.02 - points[..., 2]) / 0.12)


def _behind_shoulders(shape: HeadShape, points: Points, side: Values) -> Points:
    """Swept back over the shoulders and laid on the back."""
    laid = points.copy()
    level = _level(points)
    wide = 0.088 * shape.size * side * (1.1 - 0.1 * side**2)  # side by side on the back
    laid[..., 0] = (1 - level) * points[..., 0] + level * wide
    flat = laid * np.array([1.0, 0.0, 1.0])
    back = np.tile([0.0, -1.0, 0.0], (flat.size // 3, 1))
    skin = -shape.reach(flat.reshape(-1, 3), back).reshape(points.shape[:2])
    low = points[..., 2] < -0.10
    wall = np.where(low & np.isfinite(skin), skin - 0.006, 0.1)
    wall = 0.1 - spread(0.1 - wall, 1, 6)  # no farther ahead anywhere, but smooth
    height = points[..., 2]
    for row in range(len(wall) - 1, 0, -1):  # no steeper than one to one on the way there
        wall[row - 1] = np.minimum(wall[row - 1], wall[row] + height[row - 1] - height[row])
    laid[..., 1] = np.minimum(points[..., 1], wall)
    for _ in range(8):
        mean = laid[1:-1, :, 1] * 0.5 + 0.25 * (laid[:-2, :, 1] + laid[2:, :, 1])
        laid[1:-1, :, 1] = np.minimum(mean, wall[1:-1])
        across = 0.5 * laid[:, 1:-1, 1] + 0.25 * (laid[:, :-2, 1] + laid[:, 2:, 1])
        laid[1:, 1:-1, 1] = np.minimum(across[1:], wall[1:, 1:-1])
    for near in (3, 2, 1, 0):
        for edge, beside in ((near, near + 1), (-1 - near, -2 - near)):
            even = np.minimum(laid[..., beside, 1], wall[..., edge])
            laid[..., edge, 1] += level[..., edge] ** 3 * (even - laid[..., edge, 1])
    return laid


def _thickness(fall: Fall, locks: Locks, rows: int) -> Values:
    """Thin at the parting and the ends, in locks between."""
    share = np.linspace(0, 1, rows)[:, None]
    rise = 0.22 + 0.4 * smooth_step(share / 0.12) + 0.38 * smooth_step(share / 0.5)
    end = 1 - 0.75 * smooth_step((share - 0.80) / 0.20)
    grooves = smooth_step(share / 0.12) * (0.34 * (1 - locks.ridge) + 0.16 * locks.shade(8))
    waves = 1 + 0.05 * np.sin(8 * share + 6.3 * locks.shade(13))
    edge = np.minimum(locks.place, 1 - locks.place)
    face = 0.45 + 0.55 * smooth_step(edge / 0.05)
    thick: Values = fall.depth_m * rise * end * face * (1 - grooves) * waves
    return thick


def fringe(shape: HeadShape, limit: Limit) -> Closed:
    """Locks combed forward over the forehead, ending above the brows."""
    locks = lock_columns(17, seed=41, open_ended=True)
    azimuth = np.radians(42.0) * (2 * locks.place - 1)
    share = np.linspace(0, 1, 9)[:, None]
    brow = np.degrees(np.arctan2(0.026, 0.1)) + 4.0 * np.abs(2 * locks.place - 1) ** 2 - 4.0
    end = brow + 3.0 * (1 - locks.ridge) + 4.0 * locks.shade(43)
    up = np.radians(66.0 + (end - 66.0) * share)
    narrow = 0.55 + 0.45 * smooth_step(share / 0.7)
    ways = direction(azimuth * narrow, up)
    rise = smooth_step(share / 0.45)
    thin = 1 - 0.7 * smooth_step((share - 0.75) / 0.25)
    lift = 0.003 + 0.007 * np.sin(np.pi * np.clip(share * 0.8, 0, 1))
    edge = np.minimum(locks.place, 1 - locks.place)
    side = 0.4 + 0.6 * smooth_step(edge / 0.12)
    thick = 0.0055 * rise * thin * side * (1 - 0.5 * (1 - locks.ridge) - 0.25 * locks.shade(8))
    base = shape.skull(ways) + lift * side
    held = limit(ways)
    outer = np.minimum(base + 0.001 + thick, held - 0.0008)[..., None] * ways
    few = slice(None, None, locks.per_lock)
    inner = (np.minimum(base, held - 0.002)[..., None] * ways)[::2, few]
    return shell(flat_patch(outer), flat_patch(inner))
