"""Closed meshes from few numbers: turned, swept, extruded, sheet and cushion shapes.

All return corners and unit shading normals, both (t, 3, 3), counter-clockwise seen from outside,
lengths in metres.
"""

from __future__ import annotations

import itertools
import math
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from falloff.types import Float64Array, IntArray

Mesh: TypeAlias = tuple[Float64Array, Float64Array]

_CREASE_RAD = math.radians(40.0)
_LEAST_AREA_M2 = 1e-12
_NO_AREA_M2 = 1e-10  # of corners that lie on one line


def lathe(
    profile: ArrayLike,
    *,
    sides: int = 32,
    hollow: bool = False,
    stretch: tuple[float, float] = (1.0, 1.0),
    crease_rad: float = _CREASE_RAD,
) -> Mesh:
    """A solid of revolution about z: profile (n, 2) of radius and height, outside upward.

    It starts and ends on the axis, or at flat ends that are closed. hollow: the profile is a ring
    that runs back to its start (a shade). stretch: along x and y, for ovals.
    """
    radius, height = np.asarray(profile, dtype=np.float64).T
    angle = 2.0 * math.pi * np.arange(sides) / sides
    loops = np.empty((len(radius), sides, 3))
    loops[..., 0] = stretch[0] * radius[:, None] * np.cos(angle)
    loops[..., 1] = stretch[1] * radius[:, None] * np.sin(angle)
    loops[..., 2] = height[:, None]
    return loft(loops, ring=hollow, crease_rad=crease_rad)


def loft(loops: Float64Array, *, ring: bool = False, crease_rad: float = _CREASE_RAD) -> Mesh:
    """A skin over loops (n, m, 3), each counter-clockwise seen from where the loops go to.

    ring: the last loop joins the first; else both ends are closed by flat fans.
    """
    parts = [_band(low, high) for low, high in itertools.pairwise(loops)]
    if ring:
        parts.append(_band(loops[-1], loops[0]))
    else:
        parts += [_fan(loops[0][::-1]), _fan(loops[-1])]
    return shaded(np.concatenate(parts), crease_rad)


def tube(path: ArrayLike, radius: ArrayLike, *, sides: int = 12) -> Mesh:
    """A round rod along a path (n, 3), its radius one number or one a point."""
    points = np.asarray(path, dtype=np.float64)
    radii = np.broadcast_to(np.asarray(radius, dtype=np.float64), (len(points),))
    angle = 2.0 * math.pi * np.arange(sides) / sides
    section = np.stack([np.cos(angle), np.sin(angle)], 1)
    u, v = _frames(points)
    loops = np.einsum("n,mk,nkd->nmd", radii, section, np.stack([u, v], 1))
    return loft(points[:, None] + loops)


def upright(path: ArrayLike, radius: ArrayLike, *, sides: int = 14) -> Mesh:
    """A round leg or stem along a path (n, 3) that rises; its ends and sections are level."""
    points = np.asarray(path, dtype=np.float64)
    radii = np.broadcast_to(np.asarray(radius, dtype=np.float64), (len(points),))
    angle = 2.0 * math.pi * np.arange(sides) / sides
    loops = np.zeros((len(points), sides, 3))
    loops[..., 0], loops[..., 1] = np.cos(angle), np.sin(angle)
    return loft(points[:, None] + radii[:, None, None] * loops)


def surround(size: tuple[float, float], profile: ArrayLike) -> Mesh:
    """A mitred frame about the origin in (x, z), outer size (2,); -y is its front.

    profile (n, 2): steps inward from the outer edge and to the front, a ring drawn from the outer
    back edge over the outer front edge to the inner edge.
    """
    inward, forward = np.asarray(profile, dtype=np.float64).T
    corner = 0.5 * np.array([(-1.0, -1.0), (-1.0, 1.0), (1.0, 1.0), (1.0, -1.0)])
    sides = np.asarray(size) - 2.0 * inward[:, None]
    loops = np.empty((len(inward), 4, 3))
    loops[..., 0] = corner[:, 0] * sides[:, None, 0]
    loops[..., 1] = -forward[:, None]
    loops[..., 2] = corner[:, 1] * sides[:, None, 1]
    return loft(loops[:, ::-1], ring=True, crease_rad=0.5)


def bar(path: ArrayLike, *, size: tuple[float, float], up: ArrayLike) -> Mesh:
    """A bent board along a path (n, 3): size across and along `up` (3,), a unit vector."""
    points = np.asarray(path, dtype=np.float64)
    along = _tangents(points)
    high = np.asarray(up, dtype=np.float64)
    high = high - (along @ high)[:, None] * along
    high /= np.linalg.norm(high, axis=1)[:, None]
    across = np.cross(high, along)
    corner = 0.5 * np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]) * size
    loops = np.einsum("mk,nkd->nmd", corner, np.stack([across, high], 1))
    return loft(points[:, None] + loops)


def prism(outline: ArrayLike, *, axis: str, low: float, high: float) -> Mesh:
    """A simple outline (n, 2) drawn along an axis; it lies in (y, z), (z, x) or (x, y)."""
    flat = np.asarray(outline, dtype=np.float64)
    if _signed_area(flat) < 0.0:
        flat = flat[::-1]
    faces = _ears(flat)
    k = "xyz".index(axis)
    points = np.empty((2, len(flat), 3))
    points[..., (k + 1) % 3], points[..., (k + 2) % 3] = flat[:, 0], flat[:, 1]
    points[0, :, k], points[1, :, k] = low, high
    sides = _band(points[0], points[1])
    return shaded(np.concatenate([sides, points[0][faces[:, ::-1]], points[1][faces]]), _CREASE_RAD)


def frustum(low: tuple[ArrayLike, ArrayLike], high: tuple[ArrayLike, ArrayLike]) -> Mesh:
    """A tapered or leaning post: centre (3,) and sides (2,) of its level bottom and top."""
    corner = 0.5 * np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)])
    loops = np.empty((2, 4, 3))
    for loop, (centre, sides) in zip(loops, (low, high), strict=True):
        loop[:] = np.asarray(centre)
        loop[:, :2] += corner * np.asarray(sides)
    return loft(loops, crease_rad=0.1)


def plate(outline: ArrayLike, *, low: float, high: float, ease: float) -> Mesh:
    """A level board of a convex outline (n, 2) whose edges are rounded by `ease`."""
    flat = np.asarray(outline, dtype=np.float64)
    middle = flat.mean(axis=0)
    reach = np.linalg.norm(flat - middle, axis=1).max()
    r = min(ease, 0.5 * (high - low))
    turn = np.linspace(0.0, 0.5 * math.pi, 4)
    inset = r * (1.0 - np.concatenate([np.sin(turn), np.cos(turn)]))
    height = np.concatenate([low + r - r * np.cos(turn), high - r + r * np.sin(turn)])
    # A narrow level ring inside each edge keeps the shading of the flat faces flat.
    inset = np.concatenate([[1.3 * r], inset, [1.3 * r]])
    height = np.concatenate([[low], height, [high]])
    loops = np.empty((len(inset), len(flat), 3))
    loops[..., :2] = middle + (1.0 - inset / reach)[:, None, None] * (flat - middle)
    loops[..., 2] = height[:, None]
    return loft(loops)


def sheet(middle: Float64Array, thickness: float) -> Mesh:
    """A thin closed skin about a grid of points (n, m, 3), smooth on both faces."""
    out = np.cross(np.gradient(middle, axis=0), np.gradient(middle, axis=1))
    out /= np.maximum(np.linalg.norm(out, axis=2), 1e-12)[..., None]
    half = 0.5 * thickness * out
    return between(middle + half, middle - half, crease_rad=math.radians(60.0))


def between(front: Float64Array, back: Float64Array, *, crease_rad: float = _CREASE_RAD) -> Mesh:
    """What lies between two grids of points (n, m, 3); rows × columns of the front looks out."""
    band = _band(_rim(back), _rim(front))
    return shaded(np.concatenate([_grid(front), _grid(back)[:, ::-1], band]), crease_rad)


def rounded_box_mesh(size: ArrayLike, radius: float, *, segments: int = 4) -> Mesh:
    """A box about the origin, size (3,), its edges rounded with `segments` facets a quarter."""
    return cushion_mesh(size, radius, segments=segments, cells=1)


def cushion_mesh(
    size: ArrayLike,
    radius: float,
    *,
    crown: float = 0.0,
    segments: int = 4,
    cells: int = 6,
) -> Mesh:
    """A rounded box about the origin whose top and bottom swell by `crown` in their middle.

    size (3,) is over all, crowns included; cells: parts across each flat face.
    """
    whole = np.asarray(size, dtype=np.float64)
    body = whole - (0.0, 0.0, 2.0 * crown)
    r = min(radius, 0.5 * float(body.min()))
    core = 0.5 * body - r
    angle = np.linspace(-0.25 * math.pi, 0.25 * math.pi, segments + 1)
    half = segments // 2
    # One side of a face: round, flat middle, round; tan of the angle, and place along the flat.
    lean = np.concatenate([np.tan(angle[: half + 1]), np.zeros(cells - 1), np.tan(angle[half:])])
    place = np.concatenate([np.full(half, -1.0), np.linspace(-1.0, 1.0, cells + 1), np.ones(half)])
    parts, ways = [], []
    for axis in range(3):
        for sign in (1.0, -1.0):
            order = (
                [(axis + 1) % 3, (axis + 2) % 3] if sign > 0 else [(axis + 2) % 3, (axis + 1) % 3]
            )
            out = np.ones((len(lean), len(lean), 3))
            out[..., axis] = sign
            out[..., order[0]], out[..., order[1]] = lean[:, None], lean[None, :]
            out /= np.linalg.norm(out, axis=2)[..., None]
            at = np.ones_like(out)
            at[..., axis] = sign
            at[..., order[0]], at[..., order[1]] = place[:, None], place[None, :]
            parts.append(_grid(at * core + r * out))
            ways.append(_grid(out))
    corners = np.concatenate(parts)
    if crown == 0.0:
        keep = _areas(corners) > _LEAST_AREA_M2
        return np.ascontiguousarray(corners[keep]), np.concatenate(ways)[keep]
    u, v, w = (corners[..., k] / (0.5 * body[k]) for k in range(3))
    corners[..., 2] += crown * (1.0 - u * u) * (1.0 - v * v) * w
    return shaded(corners, math.radians(75.0))


def rounded_rectangle(
    size: tuple[float, float], radius: float, *, segments: int = 4
) -> Float64Array:
    """An outline (n, 2) about the origin, counter-clockwise, its corners rounded."""
    r = min(radius, 0.5 * min(size))
    angle = np.linspace(0.0, 0.5 * math.pi, segments + 1)
    parts = []
    for k, (x, y) in enumerate(((1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0))):
        turn = angle + 0.5 * math.pi * k
        centre = (x * (0.5 * size[0] - r), y * (0.5 * size[1] - r))
        parts.append(np.asarray(centre) + r * np.stack([np.cos(turn), np.sin(turn)], 1))
    return np.concatenate(parts)


def joined(*meshes: Mesh) -> Mesh:
    """Several closed meshes as one."""
    return np.concatenate([m[0] for m in meshes]), np.concatenate([m[1] for m in meshes])


def shaded(corners: Float64Array, crease_rad: float) -> Mesh:
    """Triangles without the empty ones, normals smoothed across edges flatter than a crease."""
    area = _areas(corners)
    keep = area > _LEAST_AREA_M2
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    corners = np.ascontiguousarray(corners[keep])
    flat = cross[keep] / (2.0 * area[keep, None])
    point = _numbered(corners.reshape(-1, 3))
    weight = _corner_angles(corners).ravel()
    own, other = _sharing(point)
    near = np.einsum("pi,pi->p", flat[own // 3], flat[other // 3]) >= math.cos(crease_rad)
    own, other = own[near], other[near]
    total = np.zeros((len(point), 3))
    for k in range(3):
        total[:, k] = np.bincount(own, weight[other] * flat[other // 3, k], len(point))
    total /= np.linalg.norm(total, axis=1)[:, None]
    return corners, total.reshape(-1, 3, 3)


def _areas(corners: Float64Array) -> Float64Array:
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    area: Float64Array = 0.5 * np.linalg.norm(cross, axis=1)
    return area


def _numbered(points: Float64Array) -> IntArray:
    """A number for each point, equal where points are the same to a micrometre."""
    keys = np.round(points * 1e6).astype(np.int64)
    _, number = np.unique(keys, axis=0, return_inverse=True)
    return number.reshape(-1)


def _sharing(point: IntArray) -> tuple[IntArray, IntArray]:
    """All ordered pairs of corners that stand on one point, each with itself too."""
    order = np.argsort(point, kind="stable")
    count = np.bincount(point)
    start = np.concatenate([[0], np.cumsum(count)[:-1]])
    mine = count[point]
    own = np.repeat(np.arange(len(point)), mine)
    step = np.arange(len(own)) - np.repeat(np.cumsum(mine) - mine, mine)
    return own, order[start[point[own]] + step]


def _corner_angles(corners: Float64Array) -> Float64Array:
    angles = np.empty(corners.shape[:2])
    for k in range(3):
        a = corners[:, (k + 1) % 3] - corners[:, k]
        b = corners[:, (k + 2) % 3] - corners[:, k]
        sine = np.linalg.norm(np.cross(a, b), axis=1)
        angles[:, k] = np.arctan2(sine, np.einsum("ti,ti->t", a, b))
    return angles


def _band(low: Float64Array, high: Float64Array) -> Float64Array:
    """Triangles between two closed loops (m, 3)."""
    a, b, c, d = low, np.roll(low, -1, axis=0), np.roll(high, -1, axis=0), high
    return np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])


def _fan(loop: Float64Array) -> Float64Array:
    """A loop (m, 3) closed about its middle."""
    middle = np.broadcast_to(loop.mean(axis=0), loop.shape)
    return np.stack([middle, loop, np.roll(loop, -1, axis=0)], 1)


def _grid(points: Float64Array) -> Float64Array:
    """Triangles of a grid (n, m, 3), facing rows × columns."""
    a, b = points[:-1, :-1].reshape(-1, 3), points[1:, :-1].reshape(-1, 3)
    c, d = points[1:, 1:].reshape(-1, 3), points[:-1, 1:].reshape(-1, 3)
    return np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])


def _rim(points: Float64Array) -> Float64Array:
    """The border of a grid (n, m, 3) as one loop."""
    return np.concatenate([points[:-1, 0], points[-1, :-1], points[:0:-1, -1], points[0, :0:-1]])


def _tangents(points: Float64Array) -> Float64Array:
    along = np.gradient(points, axis=0)
    unit: Float64Array = along / np.linalg.norm(along, axis=1)[:, None]
    return unit


def _frames(points: Float64Array) -> tuple[Float64Array, Float64Array]:
    """Two unit vectors square to a path at each point, turning as little as can be."""
    along = _tangents(points)
    aside = np.array([0.0, 0.0, 1.0]) if abs(along[0, 2]) < 0.9 else np.array([1.0, 0.0, 0.0])
    u = np.empty_like(points)
    for k, tangent in enumerate(along):
        aside = aside - (aside @ tangent) * tangent
        aside = aside / np.linalg.norm(aside)
        u[k] = aside
    return u, np.cross(along, u)


def _signed_area(outline: Float64Array) -> float:
    x, y = outline.T
    return 0.5 * float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum())


def _ears(outline: Float64Array) -> IntArray:
    """Triangles (n - 2, 3) of a simple counter-clockwise outline, by clipping ears."""
    left = list(range(len(outline)))
    faces = []
    while len(left) > 3:
        k = max(range(len(left)), key=lambda k: _ear_merit(outline, left, k))
        faces.append((left[k - 1], left[k], left[(k + 1) % len(left)]))
        del left[k]
    faces.append((left[0], left[1], left[2]))
    return np.array(faces)


def _ear_merit(outline: Float64Array, left: list[int], k: int) -> float:
    """How good it is to cut off corner k: its least angle's sine, negative where it cannot be."""
    a, b, c = outline[left[k - 1]], outline[left[k]], outline[left[(k + 1) % len(left)]]
    turn = _cross(b - a, c - a)
    if turn <= _NO_AREA_M2:
        return -1.0
    others = outline[
        [i for i in left if i not in (left[k - 1], left[k], left[(k + 1) % len(left)])]
    ]
    inside = (
        (_cross(b - a, others - a) >= -_NO_AREA_M2)
        & (_cross(c - b, others - b) >= -_NO_AREA_M2)
        & (_cross(a - c, others - c) >= -_NO_AREA_M2)
    )
    if inside.any():
        return -0.5
    longest = max(float(((q - p) ** 2).sum()) for p, q in ((a, b), (b, c), (c, a)))
    return float(turn / longest)


def _cross(a: Float64Array, b: Float64Array) -> Float64Array:
    product: Float64Array = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
    return product
