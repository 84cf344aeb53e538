"""Soft random variation over space, the same on every machine."""

from __future__ import annotations

import numpy as np

from figure_parts.surface import Array


def smooth_noise(points: Array, length_m: float, *, seed: int) -> Array:
    """Value noise (n,) of about unit spread that varies over `length_m`."""
    scaled = points / length_m
    cell = np.floor(scaled).astype(np.int64)
    inside = scaled - cell
    blend = inside * inside * (3 - 2 * inside)
    result = np.zeros(len(points))
    for corner in np.ndindex(2, 2, 2):
        step = np.asarray(corner)
        weight = np.prod(np.where(step, blend, 1 - blend), axis=1)
        result += weight * _scattered(cell + step, seed)
    return 2.0 * result


def _scattered(cells: Array, seed: int) -> Array:
    """A number in -1..1 for each integer cell (n, 3)."""
    mixed = np.full(len(cells), np.uint64(0x9E3779B97F4A7C15 + seed), dtype=np.uint64)
    for k in range(3):
        mixed ^= cells[:, k].astype(np.int64).astype(np.uint64)
        mixed *= np.uint64(0xBF58476D1CE4E5B9)
        mixed ^= mixed >> np.uint64(29)
    return (mixed >> np.uint64(11)).astype(float) / 2.0**52 - 1.0
