"""A triangle surface that can be split along lines, smoothed, hemmed and closed."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix, diags

Array = NDArray[np.float64]
Indices = NDArray[np.int64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Surface:
    """Points (n, 3) in metres, triangles (m, 3), numbers carried by each.

    point_data: arrays (n, ...) mixed linearly when an edge is split; triangle_data: arrays (m,)
    inherited by the parts of a split triangle.
    """

    points: Array
    triangles: Indices
    point_data: dict[str, Array]
    triangle_data: dict[str, Indices]

    def moved(self, points: Array) -> Surface:
        """The same surface with its points elsewhere."""
        return replace(self, points=points)

    def only(self, keep: Mask) -> Surface:
        """The triangles of the mask (m,), all points kept."""
        data = {name: values[keep] for name, values in self.triangle_data.items()}
        return replace(self, triangles=self.triangles[keep], triangle_data=data)

    def labelled(self, name: str, values: Indices) -> Surface:
        """The same surface with one more number per triangle."""
        return replace(self, triangle_data={**self.triangle_data, name: values})


def triangles_of_quads(points: Array, quads: Indices) -> tuple[Indices, Indices]:
    """Split quads along their shorter diagonal; returns triangles and the quad each came from."""
    first = np.linalg.norm(points[quads[:, 0]] - points[quads[:, 2]], axis=1)
    second = np.linalg.norm(points[quads[:, 1]] - points[quads[:, 3]], axis=1)
    turned = np.where((first <= second)[:, None], quads, np.roll(quads, -1, axis=1))
    triangles = np.concatenate([turned[:, [0, 1, 2]], turned[:, [0, 2, 3]]])
    origin = np.tile(np.arange(len(quads)), 2)
    a, b, c = triangles.T
    real = (a != b) & (b != c) & (c != a)
    return triangles[real], origin[real]


def point_normals(points: Array, triangles: Indices) -> Array:
    """Area-weighted unit normals (n, 3); zero where no triangle meets."""
    corners = points[triangles]
    facing = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals = np.zeros_like(points)
    for k in range(3):
        np.add.at(normals, triangles[:, k], facing)
    return normals / np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-12)


def edges_of(triangles: Indices) -> tuple[Indices, Indices]:
    """Unique undirected edges (e, 2) and, per triangle, its edges 01, 12, 20 as (m, 3)."""
    pairs = np.stack([triangles, np.roll(triangles, -1, axis=1)], axis=2)
    ordered = np.sort(pairs.reshape(-1, 2), axis=1)
    edges, inverse = np.unique(ordered, axis=0, return_inverse=True)
    return edges, inverse.reshape(-1, 3)


def border_edges(triangles: Indices) -> Indices:
    """Directed edges (k, 2) that belong to one triangle only, as that triangle runs them."""
    pairs = np.stack([triangles, np.roll(triangles, -1, axis=1)], axis=2).reshape(-1, 2)
    _, inverse, count = np.unique(
        np.sort(pairs, axis=1), axis=0, return_inverse=True, return_counts=True
    )
    return pairs[count[inverse.ravel()] == 1]


def split_edges(surface: Surface, marked: Mask, where: Array, *, bulge: float = 0.0) -> Surface:
    """Put a point on every marked edge and re-triangulate without gaps.

    marked (e,), where (e,) in 0..1 from the lower-numbered end; bulge 0 keeps the new points on
    the straight edge, 0.75 lifts them towards the tangent planes of its ends.
    """
    edges, sides = edges_of(surface.triangles)
    ends, t = edges[marked], where[marked]
    fresh = np.full(len(edges), -1)
    fresh[marked] = len(surface.points) + np.arange(len(ends))
    points = _mixed(surface.points, ends, t)
    if bulge:
        points = points + bulge * _lift(surface, ends, t, points)
    grown = {k: np.concatenate([v, _mixed(v, ends, t)]) for k, v in surface.point_data.items()}
    triangles, origin = _cut_triangles(surface.triangles, fresh[sides])
    inherited = {k: v[origin] for k, v in surface.triangle_data.items()}
    return Surface(np.concatenate([surface.points, points]), triangles, grown, inherited)


def refine(surface: Surface, chosen: Mask, *, bulge: float = 0.75) -> Surface:
    """Split each chosen triangle in four and its neighbours to fit."""
    edges, sides = edges_of(surface.triangles)
    marked = np.zeros(len(edges), bool)
    marked[sides[chosen].ravel()] = True
    return split_edges(surface, marked, np.full(len(edges), 0.5), bulge=bulge)


def cut_along_zero(surface: Surface, name: str, *, snap: float = 0.22) -> Surface:
    """Split the surface along the zero line of a point number so that triangles lie on one side.

    Points within `snap` of an edge length from the line are drawn onto it, so that no slivers
    arise.
    """
    surface = _drawn_to_zero(surface, name, snap)
    field = surface.point_data[name]
    edges, _ = edges_of(surface.triangles)
    a, b = field[edges[:, 0]], field[edges[:, 1]]
    crossing = a * b < 0
    where = np.where(crossing, a / np.where(crossing, a - b, 1.0), 0.5)
    result = split_edges(surface, crossing, where)
    result.point_data[name][len(surface.points) :] = 0.0
    return result


def side_of(surface: Surface, name: str) -> Mask:
    """Which triangles lie on the positive side after `cut_along_zero`."""
    return surface.point_data[name][surface.triangles].sum(axis=1) > 0


def averaging(count: int, triangles: Indices) -> csr_matrix:
    """The operator that replaces each point by the mean of its neighbours."""
    edges, _ = edges_of(triangles)
    rows = np.concatenate([edges[:, 0], edges[:, 1]])
    columns = np.concatenate([edges[:, 1], edges[:, 0]])
    links = csr_matrix((np.ones(len(rows)), (rows, columns)), shape=(count, count))
    degree = np.maximum(np.asarray(links.sum(axis=1)).ravel(), 1.0)
    return diags(1.0 / degree) @ links


def smoothed(values: Array, mean: csr_matrix, *, rounds: int, free: Mask) -> Array:
    """Average the free entries with their neighbours, half way each round."""
    result = values.copy()
    for _ in range(rounds):
        result[free] = 0.5 * result[free] + 0.5 * (mean @ result)[free]
    return result


def joined(parts: list[Surface]) -> Surface:
    """Several surfaces as one; numbers that not all of them carry are dropped."""
    starts = np.cumsum([0] + [len(part.points) for part in parts])
    names = set.intersection(*(set(part.triangle_data) for part in parts))
    triangles = [part.triangles + start for part, start in zip(parts, starts, strict=False)]
    data = {name: np.concatenate([part.triangle_data[name] for part in parts]) for name in names}
    points = np.concatenate([part.points for part in parts])
    kept = set.intersection(*(set(part.point_data) for part in parts))
    numbers = {name: np.concatenate([part.point_data[name] for part in parts]) for name in kept}
    return Surface(points, np.concatenate(triangles), numbers, data)


def capped(surface: Surface, label: dict[str, int]) -> Surface:
    """Close every open border with a fan from its centre."""
    border = border_edges(surface.triangles)
    if not len(border):
        return surface
    points, fans = [surface.points], []
    count = len(surface.points)
    numbers = {name: [values] for name, values in surface.point_data.items()}
    for loop in loops_of(border):
        points.append(surface.points[loop].mean(axis=0)[None])
        for name, values in surface.point_data.items():
            numbers[name].append(values[loop].mean(axis=0)[None])
        following = np.roll(loop, -1)
        fans.append(np.stack([following, loop, np.full(len(loop), count)], axis=1))
        count += 1
    fan = np.concatenate(fans)
    data = {
        name: np.concatenate([values, np.full(len(fan), label.get(name, 0))])
        for name, values in surface.triangle_data.items()
    }
    carried = {name: np.concatenate(values) for name, values in numbers.items()}
    triangles = np.concatenate([surface.triangles, fan])
    return Surface(np.concatenate(points), triangles, carried, data)


def loops_of(border: Indices) -> list[Indices]:
    """Closed runs of points along directed border edges."""
    following = {int(a): int(b) for a, b in border}
    loops = []
    while following:
        start, current = next(iter(following.items()))
        loop = [start]
        del following[start]
        while current != start:
            loop.append(current)
            current = following.pop(current)
        loops.append(np.asarray(loop))
    return loops


def _mixed(values: Array, ends: Indices, t: Array) -> Array:
    t = t.reshape(-1, *([1] * (values.ndim - 1)))
    return (1 - t) * values[ends[:, 0]] + t * values[ends[:, 1]]


def _lift(surface: Surface, ends: Indices, t: Array, points: Array) -> Array:
    normals = point_normals(surface.points, surface.triangles)
    lift = np.zeros_like(points)
    for k, weight in ((0, 1 - t), (1, t)):
        normal, anchor = normals[ends[:, k]], surface.points[ends[:, k]]
        height = ((anchor - points) * normal).sum(axis=1, keepdims=True)
        lift += weight[:, None] * height * normal
    return lift


def _cut_triangles(triangles: Indices, fresh: Indices) -> tuple[Indices, Indices]:
    """Triangles after splitting, by how many of their edges carry a fresh point."""
    count = (fresh >= 0).sum(axis=1)
    parts, origins = [triangles[count == 0]], [np.nonzero(count == 0)[0]]

    def add(rows: Indices, *corners: tuple[Indices, Indices, Indices]) -> None:
        for corner in corners:
            parts.append(np.stack(corner, axis=1))
            origins.append(rows)

    for k in range(3):
        rows = np.nonzero((count == 1) & (fresh[:, k] >= 0))[0]
        a, b, c = (triangles[rows, (k + j) % 3] for j in range(3))
        m = fresh[rows, k]
        add(rows, (a, m, c), (m, b, c))
        rows = np.nonzero((count == 2) & (fresh[:, (k + 2) % 3] < 0))[0]
        a, b, c = (triangles[rows, (k + j) % 3] for j in range(3))
        m, n = fresh[rows, k], fresh[rows, (k + 1) % 3]
        add(rows, (m, b, n), (a, m, n), (a, n, c))
    rows = np.nonzero(count == 3)[0]
    a, b, c = triangles[rows].T
    m, n, o = fresh[rows].T
    add(rows, (a, m, o), (m, b, n), (o, n, c), (m, n, o))
    return np.concatenate(parts), np.concatenate(origins)


def _drawn_to_zero(surface: Surface, name: str, snap: float) -> Surface:
    field = surface.point_data[name].copy()
    edges, _ = edges_of(surface.triangles)
    both = np.concatenate([edges, edges[:, ::-1]])
    a, b = field[both[:, 0]], field[both[:, 1]]
    crossing = a * b < 0
    share = np.where(crossing, a / np.where(crossing, a - b, 1.0), 1.0)
    close = np.nonzero(crossing & (share < snap))[0]
    close = close[np.argsort(share[close])]
    chosen = close[np.unique(both[close, 0], return_index=True)[1]]
    ends, t = both[chosen], share[chosen]
    points = surface.points.copy()
    points[ends[:, 0]] = _mixed(surface.points, ends, t)
    data = {}
    for key, values in surface.point_data.items():
        data[key] = values.copy()
        data[key][ends[:, 0]] = _mixed(values, ends, t)
    data[name][ends[:, 0]] = 0.0
    return Surface(points, surface.triangles, data, surface.triangle_data)
