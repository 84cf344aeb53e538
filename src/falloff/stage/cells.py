"""Cells of a flat face cut by its outline: exact areas, and sample points inside each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from falloff.errors import BudgetExceeded, Fault
from falloff.stage.records import POINTS_PER_ELEMENT
from falloff.types import Float64Array, IntArray

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

EDGE_ROOM: Final = 1e-3  # share of a cell that its sample points keep clear of its edges
_MOST_CELLS = 500_000  # of one face; a scene may not hold as many elements
_SLIVER = 1e-4  # share of a cell below which its part goes to the nearest cell
_TRIALS = 40  # rounds of 64 points thrown at a part before it is cut into triangles


@dataclass(frozen=True, slots=True)
class Grid:
    """Cells of a face: their columns and rows (n,), the side of one (m), and the outline.

    low_m: (2,) where the first cell lies in the outline's own coordinates.
    """

    column: IntArray
    row: IntArray
    step_m: tuple[float, float]
    outline: BaseGeometry
    low_m: Float64Array


def cut_cells(
    grid: Grid, points_m: Float64Array, rng: np.random.Generator
) -> tuple[Float64Array, Float64Array, IntArray]:
    """Areas of cells cut by an outline, sample points moved inside it, and who stands for whom.

    points_m: (n, 16, 2) points of whole cells. Areas (n,) are 0 where there is no element; the
    third array (n,) names for each cell the one that holds its light: itself, the nearest one for
    a sliver, −1 outside. Areas of slivers are counted where their light is held.
    """
    import shapely

    step = np.array(grid.step_m)
    low = np.stack([grid.column, grid.row], 1) * step + grid.low_m
    high = np.stack([grid.column + 1, grid.row + 1], 1) * step + grid.low_m
    boxes = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
    shapely.prepare(grid.outline)
    full = shapely.contains(grid.outline, boxes)
    cut = np.flatnonzero(shapely.intersects(grid.outline, boxes) & ~full)
    parts = shapely.intersection(grid.outline, boxes[cut])
    cell_area = float(step.prod())
    area = np.where(full, cell_area, 0.0)
    area[cut] = shapely.area(parts)
    owner = _owners(area, cell_area, low)
    for k, part in zip(cut, parts, strict=True):
        if owner[k] == k:
            points_m[k] = _points_in(part, grid.step_m, rng) - grid.low_m
    held = owner >= 0
    sums = np.bincount(owner[held], area[held], len(area)).astype(np.float64)
    return sums, points_m, owner


def _owners(area: Float64Array, cell_area: float, low: Float64Array) -> IntArray:
    """For each cell the one that holds its light, −1 for none."""
    alive = area > _SLIVER * cell_area
    if not alive.any() and area.any():
        alive[np.argmax(area)] = True
    owner = np.where(alive, np.arange(len(area)), -1)
    holders = np.flatnonzero(alive)
    for k in np.flatnonzero((area > 0.0) & ~alive):
        owner[k] = holders[np.argmin(((low[holders] - low[k]) ** 2).sum(1))]
    return owner


def _points_in(
    part: BaseGeometry, step: tuple[float, float], rng: np.random.Generator
) -> Float64Array:
    """(16, 2) points inside a part of a cell, clear of its edges where it is large enough."""
    import shapely

    left, low, right, high = part.bounds
    kept = np.empty((0, 2))
    inner = part
    if part.area > 0.05 * step[0] * step[1]:
        shrunk = part.buffer(-EDGE_ROOM * min(step))
        inner = part if shrunk.is_empty else shrunk
    for _ in range(_TRIALS):
        trial = rng.random((64, 2)) * (right - left, high - low)
        trial += (left, low)
        kept = np.vstack([kept, trial[shapely.contains_xy(inner, trial[:, 0], trial[:, 1])]])
        if len(kept) >= POINTS_PER_ELEMENT:
            return kept[:POINTS_PER_ELEMENT]
    return _points_by_triangles(inner, rng)


def _points_by_triangles(part: BaseGeometry, rng: np.random.Generator) -> Float64Array:
    """(16, 2) points spread evenly over a part too thin to be hit by chance."""
    triangles = triangles_of(part)
    first, second = triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    share = np.cumsum(first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0])
    at = (np.arange(POINTS_PER_ELEMENT) + rng.random(POINTS_PER_ELEMENT)) / POINTS_PER_ELEMENT
    pick = np.minimum(np.searchsorted(share, at * share[-1]), len(share) - 1)
    a, b = np.sqrt(rng.random(POINTS_PER_ELEMENT)), rng.random(POINTS_PER_ELEMENT)
    a, b = 1e-3 + 0.998 * a, 1e-3 + 0.998 * b
    weights = np.stack([1 - a, a * (1 - b), a * b], 1)
    return np.asarray(np.einsum("kc,kcd->kd", weights, triangles[pick]))


def triangles_of(shape: BaseGeometry) -> Float64Array:
    """A flat shape cut into (t, 3, 2) triangles, counter-clockwise, no new corners."""
    import shapely

    pieces = shapely.get_parts(shapely.constrained_delaunay_triangles(shape))
    uv = np.array([shapely.get_coordinates(piece)[:3] for piece in pieces]).reshape(-1, 3, 2)
    first, second = uv[:, 1] - uv[:, 0], uv[:, 2] - uv[:, 0]
    double = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    uv[double < 0.0] = uv[double < 0.0][:, ::-1]
    return np.asarray(uv[double != 0.0])


def flat_parts(shape: BaseGeometry) -> BaseGeometry:
    """What of a shape has area, made valid: a polygon, several, or an empty one."""
    import shapely

    if not shape.is_valid:
        shape = shapely.make_valid(shape)
    if shape.geom_type == "Polygon":
        return shape
    parts = [p for p in shapely.get_parts(shape) if p.geom_type.endswith("Polygon") and p.area > 0]
    return shapely.union_all(parts) if parts else shapely.Polygon()


def check_cells(count: int, name: str) -> None:
    """Raises BudgetExceeded where a face would be cut in more cells than a scene can hold."""
    if count > _MOST_CELLS:
        raise BudgetExceeded(
            Fault(
                what=f"{name} is too large to be cut so finely",
                expected=f"at most {_MOST_CELLS} cells of a face",
                found=str(count),
                fix="feet written as metres? check the units, or ask for a coarser grain",
            )
        )
