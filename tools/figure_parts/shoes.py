"""A plain low shoe around a foot, lofted from its outline."""

from __future__ import annotations

import numpy as np

from figure_parts.clothes import SHOES
from figure_parts.surface import Array, Surface

SOLE_M = 0.022
AROUND = 26
STATIONS = 24


def make_shoe(foot: Array) -> Surface:
    """A closed shoe for foot points (n, 3) at rest, flat on the ground, z up."""
    ground_m = foot[:, 2].min()
    middle = foot[:, :2].mean(axis=0)
    _, _, axes = np.linalg.svd(foot[foot[:, 2] < ground_m + 0.03][:, :2] - middle)
    ahead = axes[0] * np.sign(axes[0][1])
    aside = np.array([ahead[1], -ahead[0]])
    along, across = (foot[:, :2] - middle) @ ahead, (foot[:, :2] - middle) @ aside
    stations, low, high, top = _outline(along, across, foot[:, 2] - ground_m)
    rings = [
        _section(low[k], high[k], top[k], taper)
        for k, taper in zip(range(len(stations)), _tapers(len(stations)), strict=True)
    ]
    points = np.stack(rings)
    xy = middle + points[..., :1] * aside + stations[:, None, None] * ahead
    placed = np.concatenate([xy, points[..., 1:] + ground_m], axis=2)
    return _closed(placed)


def _outline(along: Array, across: Array, height: Array) -> tuple[Array, Array, Array, Array]:
    """Stations from heel to toe with the foot's extent at each, smoothed and eased."""
    heel, toe = along.min() - 0.006, along.max() + 0.010
    stations = heel + (toe - heel) * 0.5 * (1 - np.cos(np.linspace(0, np.pi, STATIONS)))
    low, high, top = (np.zeros(STATIONS) for _ in range(3))
    for k, place in enumerate(stations):
        near = np.abs(along - np.clip(place, along.min() + 0.02, along.max() - 0.022)) < 0.016
        low[k], high[k] = across[near].min() - 0.005, across[near].max() + 0.005
        top[k] = min(height[near].max() + 0.006, 0.086)
    top = np.maximum.accumulate(top[::-1])[::-1]
    top = np.maximum(top, 0.040)
    for _ in range(4):
        for values in (low, high, top):
            values[1:-1] = 0.25 * values[:-2] + 0.5 * values[1:-1] + 0.25 * values[2:]
    return stations, low, high, top


def _tapers(count: int) -> Array:
    """Relative width of each section: round at heel and toe."""
    share = 0.5 * (1 - np.cos(np.linspace(0, np.pi, count)))
    heel = np.sqrt(1 - (1 - np.clip(share / 0.16, 0.001, 1)) ** 2)
    toe = np.sqrt(1 - (1 - np.clip((1 - share) / 0.24, 0.001, 1)) ** 2)
    return heel * toe


def _section(low: float, high: float, top: float, taper: float) -> Array:
    """One cross-section (AROUND, 2) as (across, up): flat sole with a welt, rounded upper."""
    centre, half = 0.5 * (low + high), 0.5 * (high - low) * taper
    turn = np.linspace(0, np.pi, AROUND - 6)
    crown = top * (0.55 + 0.45 * taper)
    across = np.sign(np.cos(turn)) * np.abs(np.cos(turn)) ** 0.75
    up = np.abs(np.sin(turn)) ** 0.85
    upper = np.stack([centre + half * across, 0.004 + (crown - 0.004) * up], axis=1)
    edge = half + 0.004 * min(1.0, 4 * taper)
    sole = np.array(
        [
            [centre - edge, 0.003],
            [centre - edge, -SOLE_M + 0.002],
            [centre - edge * 0.9, -SOLE_M],
            [centre + edge * 0.9, -SOLE_M],
            [centre + edge, -SOLE_M + 0.002],
            [centre + edge, 0.003],
        ]
    )
    return np.concatenate([upper, sole])


def _closed(rings: Array) -> Surface:
    """Rings (stations, around, 3) joined to a closed surface that faces outward."""
    stations, around, _ = rings.shape
    step = np.arange(around)
    following = (step + 1) % around
    parts = []
    for k in range(stations - 1):
        near, far = k * around, (k + 1) * around
        parts.append(np.stack([near + step, near + following, far + step], axis=1))
        parts.append(np.stack([near + following, far + following, far + step], axis=1))
    ends = np.stack([rings[0].mean(axis=0), rings[-1].mean(axis=0)])
    first, last = stations * around, stations * around + 1
    back = (stations - 1) * around
    parts.append(np.stack([np.full(around, first), following, step], axis=1))
    parts.append(np.stack([np.full(around, last), back + step, back + following], axis=1))
    triangles = np.concatenate(parts)
    points = np.concatenate([rings.reshape(-1, 3), ends])
    corners = points[triangles]
    if np.einsum("ij,ij->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) < 0:
        triangles = triangles[:, ::-1]
    count = len(triangles)
    return Surface(
        points,
        triangles,
        {},
        {"region": np.full(count, SHOES), "crease": np.zeros(count, int)},
    )
