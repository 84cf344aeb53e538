"""What every head of hair is made of: locks side by side, curls, and room below a covering."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from falloff.kit.head_shape import Points, Values

# How far from the head's middle hair may reach along unit directions (..., 3); m.
Limit = Callable[[Points], Values]
_PER_LOCK = 4


def no_limit(ways: Points) -> Values:
    """Hair with nothing on it."""
    return np.full(ways.shape[:-1], np.inf)


@dataclass(frozen=True, slots=True)
class Locks:
    """Columns of points, a few to a lock: place 0..1, ridge 0 between locks .. 1 on them."""

    place: Values
    ridge: Values
    lock: Values
    count: int
    per_lock: int = _PER_LOCK

    def shade(self, seed: int) -> Values:
        """A chance number 0..1 of each lock, at its columns."""
        drawn = np.random.default_rng(seed).random(self.count)
        smooth = 0.6 * drawn + 0.2 * np.roll(drawn, 1) + 0.2 * np.roll(drawn, -1)
        found: Values = smooth[self.lock.astype(int) % self.count]
        return found


def lock_columns(count: int, *, seed: int, open_ended: bool = False) -> Locks:
    """Locks of uneven width round a whole way; open_ended adds the last border."""
    width = 0.55 + 0.9 * np.random.default_rng(seed).random(count)
    if open_ended:
        width = 0.5 * (width + width[::-1])
    border = np.concatenate([[0.0], np.cumsum(width)]) / width.sum()
    within = np.arange(_PER_LOCK) / _PER_LOCK
    place = (border[:-1, None] + within * np.diff(border)[:, None]).ravel()
    ridge = np.tile(np.sin(np.pi * within) ** 0.7, count)
    lock = np.repeat(np.arange(count), _PER_LOCK).astype(float)
    if open_ended:
        place, ridge = np.append(place, 1.0), np.append(ridge, 0.0)
        lock = np.append(lock, count - 1.0)
    return Locks(place, ridge, lock, count)


def smooth_step(share: Values) -> Values:
    """0 up to 0, 1 from 1, smooth between."""
    held = np.clip(share, 0.0, 1.0)
    risen: Values = held * held * (3.0 - 2.0 * held)
    return risen


def spread(lacking: Values, rows: int, columns: int) -> Values:
    """Pushes shared with so many neighbours each way, softly, never less than asked for."""
    grown = _windowed(lacking, 2 * rows, 2 * columns, np.max)
    return _windowed(_windowed(grown, rows, columns, np.mean), rows, columns, np.mean)


def _windowed(values: Values, rows: int, columns: int, how: Callable[..., Values]) -> Values:
    padded = np.pad(values, ((rows, rows), (columns, columns)), mode="edge")
    for axis, reach in enumerate((rows, columns)):
        padded = how(
            np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1, axis=axis), axis=-1
        )
    return padded
