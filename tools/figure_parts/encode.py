"""The compact form of a figure: what `falloff.kit.figures` decodes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from figure_parts.finish import REGIONS, Finished
from figure_parts.surface import Array, Indices

STEP_M = 2.0**-17  # 7.6 um between neighbouring values of a coordinate
SCALP_STEP_M = 0.0005

Packed = dict[str, NDArray[np.generic]]


def packed(figure: Finished) -> Packed:
    """The arrays of the shipped file, in its types.

    Points in the order in which the triangles use them, as steps from the point before; corners
    as steps from the corner before; both as planes of bytes of zigzag numbers. Normals are not
    kept: they follow from points and triangles.
    """
    order, triangles = _in_order_of_use(figure.triangles)
    points = np.round(figure.points[order] / STEP_M).astype(np.int64)
    names, marks = sorted(figure.places), sorted(figure.marks)
    weight = np.round(255 * figure.head_weight[order]).astype(np.uint8)
    return {
        "vertex_steps": _planes(np.diff(points, axis=0, prepend=0), 3),
        "vertex_step_m": np.float64(STEP_M),
        "triangle_steps": _planes(np.diff(triangles.ravel(), prepend=0), 3),
        "triangle_region": figure.region.astype(np.uint8),
        "head_weight": weight,
        "scalp": np.round(figure.scalp_m[order] / SCALP_STEP_M).astype(np.uint8),
        "scalp_step_m": np.float32(SCALP_STEP_M),
        "region_names": np.asarray(REGIONS),
        "place_names": np.asarray(names),
        "place_points": _small(np.stack([figure.places[n][0] for n in names])),
        "place_normals": _small(np.stack([figure.places[n][1] for n in names])),
        "mark_names": np.asarray(marks),
        "mark_points": _small(np.stack([figure.marks[n] for n in marks])),
        "hand_points": _small(figure.hands),
        "head_pivot": _small(figure.head_pivot),
        "head_axes": _small(figure.head_axes),
        "eyes": _small(figure.eyes),
        "seat_height_m": np.float32(figure.seat_height_m),
        "stature_m": np.float32(figure.stature_m),
        "pose": np.asarray(figure.pose),
        "rest": np.asarray(figure.rest),
    }


def _small(values: Array) -> NDArray[np.float32]:
    return np.asarray(values, dtype=np.float32)


def _in_order_of_use(triangles: Indices) -> tuple[Indices, Indices]:
    """Old numbers of the points in the order of first use, and the triangles in new numbers."""
    used, first = np.unique(triangles.ravel(), return_index=True)
    order = used[np.argsort(first)]
    renumber = np.empty(used.max() + 1, np.int64)
    renumber[order] = np.arange(len(order))
    return order, renumber[triangles]


def _planes(steps: Indices, count: int) -> NDArray[np.uint8]:
    """Zigzag numbers (0, -1, 1, -2, ...) as their lowest bytes, plane by plane (count, n)."""
    flat = steps.T.ravel() if steps.ndim == 2 else steps
    zigzag = np.where(flat < 0, -2 * flat - 1, 2 * flat)
    if zigzag.max() >= 256**count:
        raise ValueError(f"a step of {zigzag.max()} does not fit into {count} bytes")
    return np.stack([(zigzag >> (8 * k) & 255).astype(np.uint8) for k in range(count)])
