"""Where boards meet: faces cut along what stands across them, so that no element reaches past."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from falloff.kit import BoxSolid
from falloff.types import Float64Array

_TOUCHES_M: Final = 0.002  # a board this near a face stands on it
_ACROSS: Final = 0.6  # share of a face that a board spans to part it in two
_LEAST_M: Final = 0.01  # narrower parts stay with their neighbours

Face = tuple[Float64Array, Float64Array, Float64Array]


def parted(face: Face, boards: Sequence[BoxSolid]) -> Iterator[Face]:
    """A face (corner, edge_u, edge_v; metres) in the parts that boards standing on it leave.

    A shelf parts the side of a cupboard in what is above it and what is below: one is lit, the
    other dark. Only boards that are square to the face's edges part it.
    """
    corner, edge_u, edge_v = face
    lengths = np.array([np.linalg.norm(edge_u), np.linalg.norm(edge_v)])
    axes = np.array([edge_u / lengths[0], edge_v / lengths[1], np.cross(edge_u, edge_v)])
    axes[2] /= np.linalg.norm(axes[2])
    cuts: tuple[set[float], set[float]] = (set(), set())
    for board in boards:
        turn = np.abs(board.axes @ axes.T)
        if not np.all((turn < 1e-6) | (turn > 1.0 - 1e-6)):
            continue
        middle, half = axes @ (board.centre - corner), 0.5 * board.size @ turn
        low, high = middle - half, middle + half
        if low[2] > _TOUCHES_M or high[2] <= _TOUCHES_M:
            continue  # behind the face, or clear of it
        held = np.clip(high[:2], 0.0, lengths) - np.clip(low[:2], 0.0, lengths)
        for axis in (0, 1):
            if held[1 - axis] >= _ACROSS * lengths[1 - axis] and held[axis] > 0.0:
                cuts[axis].update((float(low[axis]), float(high[axis])))
    along_u, along_v = (_lines(cut, float(most)) for cut, most in zip(cuts, lengths, strict=True))
    for a, b in pairwise(along_u):
        for c, d in pairwise(along_v):
            yield corner + a * axes[0] + c * axes[1], (b - a) * axes[0], (d - c) * axes[1]


def _lines(cuts: set[float], length_m: float) -> list[float]:
    """Where to cut a side, its ends with it, ascending, no two nearer than a part may be."""
    lines = [0.0]
    for at in sorted(cuts):
        if at - lines[-1] >= _LEAST_M and length_m - at >= _LEAST_M:
            lines.append(at)
    return [*lines, length_m]
