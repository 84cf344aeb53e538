"""Where garments end on the resting body, and cloth over the posed one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_matrix

from figure_parts.body import Body
from figure_parts.pose import moved_point
from figure_parts.surface import (
    Array,
    Indices,
    Mask,
    Surface,
    averaging,
    border_edges,
    capped,
    cut_along_zero,
    point_normals,
    side_of,
    smoothed,
)

SKIN, LIPS, HAIR, BROWS, SCLERA, IRIS, TOP, TROUSERS, SHOES = range(9)
FOOT = 99  # taken away: the shoe replaces it
ELSEWHERE_M = 0.5
SUNK_M = 0.0015


# Where the rows of a hem lie, told from edge points, unit directions away from the cloth along
# it, and unit normals, each (k, 3): one (k, 3) array of points per row.
Rows = Callable[[Array, Array, Array], list[Array]]


@dataclass(frozen=True, slots=True)
class Hem:
    """How a garment ends along one line: rows beyond its edge, then back to the skin."""

    line: str
    rows: Rows


def plain_rows(*offsets_m: tuple[float, float]) -> Rows:
    """Rows at (along, outward) distances from the edge."""

    def rows(points: Array, along: Array, normals: Array) -> list[Array]:
        return [points + a * along + out * normals for a, out in offsets_m]

    return rows


@dataclass(frozen=True, slots=True)
class Cloth:
    """How far a garment stands off (m), how far its softening goes, and how it ends."""

    region: int
    clearance_m: float
    slack_m: Array  # more distance, per resting point
    folds_m: Array  # put on after softening, per resting point
    rounds: int
    hems: tuple[Hem, ...]


def with_lines(body: Body) -> Surface:
    """The resting skin cut along neckline, cuffs, waist and ankles, each triangle labelled."""
    surface = body.surface
    lines: dict[str, Callable[[Body, Surface], Array]] = {
        "neck": neck_field_m,
        "cuff": cuff_field_m,
        "waist": waist_field_m,
        "ankle": ankle_field_m,
    }
    for name, field in lines.items():
        surface.point_data[name] = field(body, surface)
        surface = cut_along_zero(surface, name)
    region = np.full(len(surface.triangles), TROUSERS)
    region[side_of(surface, "waist")] = TOP
    region[side_of(surface, "neck") | side_of(surface, "cuff")] = SKIN
    region[side_of(surface, "ankle")] = FOOT
    return surface.labelled("region", region)


def neck_field_m(body: Body, surface: Surface) -> Array:
    """Positive above the neckline: within a cylinder about the neck, wider in front."""
    start = body.head_of("neck01")
    axis = body.head_of("head") - start
    axis /= np.linalg.norm(axis)
    offset = surface.points - start
    height = offset @ axis
    radial = offset - height[:, None] * axis
    front = radial[:, 1] / np.maximum(np.linalg.norm(radial, axis=1), 1e-9)
    reach = 0.068 * _neck_scale(radial, height / np.linalg.norm(body.head_of("head") - start))
    reach = reach + 0.006 * np.clip(front, 0, 1) ** 2
    field = reach - np.linalg.norm(radial, axis=1) + 0.3 * head_share(body, surface)
    below = (height < -0.07) | (surface.points[:, 2] < start[2] - 0.12)
    return np.where(below, -ELSEWHERE_M, np.clip(field, -ELSEWHERE_M, ELSEWHERE_M))


def _neck_scale(radial: Array, share: Array) -> float:
    """Girth of the neck against the one that the neckline was drawn on (72 mm), half way there."""
    across = np.linalg.norm(radial, axis=1)
    girth = np.median(across[(share > 0.3) & (share < 0.7) & (across < 0.15)])
    return float(0.35 + 0.65 * girth / 0.072)


def head_share(body: Body, surface: Surface) -> Array:
    """How much of each point the head bone and its children carry, 0..1."""
    return surface.point_data["weights"][:, below_bone(body, "head")].sum(axis=1)


def below_bone(body: Body, bone: str) -> Mask:
    """Which bones are the given one or hang on it."""
    found = np.zeros(len(body.bones), bool)
    for k, name in enumerate(body.bones):
        found[k] = name == bone or (body.parents[k] >= 0 and found[body.parents[k]])
    return found


def cuff_field_m(body: Body, surface: Surface) -> Array:
    """Positive on the hands, from just above the wrists."""
    field = np.full(len(surface.points), -ELSEWHERE_M)
    for side in "LR":
        wrist = body.head_of(f"wrist.{side}")
        along = wrist - body.head_of(f"lowerarm02.{side}")
        along /= np.linalg.norm(along)
        offset = surface.points - wrist
        near = np.linalg.norm(offset, axis=1) < 0.3
        field = np.where(near, np.maximum(field, offset @ along + 0.008), field)
    return field


def waist_field_m(body: Body, surface: Surface) -> Array:
    """Positive above the end of the shirt, over the hips; arms lie above it."""
    belt = body.head_of("spine05")[2] + 0.028
    trunk = 1.0 - _arm_share(body, surface)
    level = surface.points[:, 2] - belt
    return np.where(trunk > 0.5, level, ELSEWHERE_M)


def ankle_field_m(body: Body, surface: Surface) -> Array:
    """Positive below the trouser ends."""
    return body.head_of("foot.R")[2] - 0.012 - surface.points[:, 2]


def _arm_share(body: Body, surface: Surface) -> Array:
    arms = below_bone(body, "upperarm01.L") | below_bone(body, "upperarm01.R")
    return surface.point_data["weights"][:, arms].sum(axis=1)


def dressed(surface: Surface, cloth: Cloth) -> Surface:
    """Replace the skin of one region by cloth standing off it, hemmed back to the skin."""
    mine = surface.triangle_data["region"] == cloth.region
    skin = surface.triangles[mine]
    used = np.unique(skin)
    renumber = np.full(len(surface.points), -1)
    renumber[used] = np.arange(len(used))
    triangles = renumber[skin]
    base = surface.points[used]
    mean = averaging(len(used), triangles)
    every = np.ones(len(used), bool)
    normals = _unit(smoothed(point_normals(base, triangles), mean, rounds=6, free=every))
    edge = border_edges(triangles)
    points = _hung(
        base,
        normals,
        edge,
        mean,
        (cloth.clearance_m + cloth.slack_m[used], cloth.rounds),
    )
    inner = np.ones(len(used))
    inner[edge.ravel()] = 0.0
    points += (inner * cloth.folds_m[used])[:, None] * normals
    garment = surface.triangles.copy()
    start = len(surface.points)
    garment[mine] = triangles + start
    whole = Surface(
        np.concatenate([surface.points, points]),
        garment,
        {k: np.concatenate([v, v[used]]) for k, v in surface.point_data.items()},
        surface.triangle_data,
    )
    for hem in cloth.hems:
        at_line = np.abs(surface.point_data[hem.line][used]) < 1e-12
        run = edge[at_line[edge].all(axis=1)]
        whole = _hemmed(whole, hem, cloth.region, run, (used, start), points, normals)
    return whole


def grown_over(surface: Surface, cloth: Cloth) -> Surface:
    """A closed shell over the skin of one region, its edge sunk a little into the skin."""
    mine = surface.triangles[surface.triangle_data["region"] == cloth.region]
    used = np.unique(mine)
    renumber = np.full(len(surface.points), -1)
    renumber[used] = np.arange(len(used))
    triangles = renumber[mine]
    base = surface.points[used]
    mean = averaging(len(used), triangles)
    every = np.ones(len(used), bool)
    normals = _unit(smoothed(point_normals(base, triangles), mean, rounds=6, free=every))
    edge = border_edges(triangles)
    stand_off = (cloth.clearance_m + cloth.slack_m[used], cloth.rounds)
    points = _hung(base, normals, edge, mean, stand_off)
    ring, inverse = np.unique(edge, return_inverse=True)
    run = inverse.reshape(-1, 2)
    sunk = base[ring] - SUNK_M * normals[ring]
    band = _band(ring, len(used) + np.arange(len(ring)), run)
    whole = np.concatenate([triangles, band])
    crease = np.repeat([0, 3], [len(triangles), len(band)])
    return capped(
        Surface(
            np.concatenate([points, sunk]),
            whole,
            {k: np.concatenate([v[used], v[used[ring]]]) for k, v in surface.point_data.items()},
            {"region": np.full(len(whole), cloth.region), "crease": crease},
        ),
        {"region": cloth.region, "crease": 4},
    )


def collar_rows(body: Body, motions: Array) -> Rows:
    """A turned-down collar: from the neckline out under its points, up to its fold, back in."""
    neck = motions[body.bones.index("neck01")]
    start = moved_point(body.head_of("neck01"), neck)
    axis = neck[:3, :3] @ _unit((body.head_of("head") - body.head_of("neck01"))[None])[0]
    aside = neck[:3, 0]

    def rows(points: Array, along: Array, normals: Array) -> list[Array]:
        offset = points - start
        radial = offset - (offset @ axis)[:, None] * axis
        around = _unit(radial)
        opening = np.abs(offset @ aside)
        ahead = np.clip(around[:, 1], 0, 1)
        gap = np.where(ahead > 0.5, np.clip((opening - 0.002) / 0.012, 0, 1), 1.0)
        stand = (0.026 - 0.012 * ahead**2)[:, None] * axis - 0.002 * around
        fall = (0.030 + 0.022 * np.exp(-(((opening - 0.030) / 0.016) ** 2)) * (ahead > 0.5)) * gap
        fall_along = -fall[:, None] * _unit(along)
        tip = points + fall_along + 0.004 * normals
        return [
            points + 0.3 * fall_along + 0.002 * normals,
            tip,
            tip + 0.003 * normals,
            points + 0.45 * fall_along + 0.007 * normals + 0.15 * stand,
            points + 0.6 * stand + 0.006 * normals * gap[:, None],
            points + stand + 0.002 * around,
            points + 0.9 * stand - 0.002 * around,
        ]

    return rows


def _hung(
    base: Array,
    normals: Array,
    edge: Indices,
    mean: csr_matrix,
    stand_off: tuple[Array, int],
) -> Array:
    """Cloth points: softened again and again, never nearer than wanted."""
    wanted, rounds = stand_off
    count = len(base)
    at_edge = np.zeros(count, bool)
    at_edge[edge.ravel()] = True
    along_edge = _edge_averaging(count, edge)
    points = base + wanted[:, None] * normals
    for _ in range(rounds):
        points = smoothed(points, mean, rounds=1, free=~at_edge)
        points = smoothed(points, along_edge, rounds=1, free=at_edge)
        height = ((points - base) * normals).sum(axis=1)
        points += np.maximum(wanted - height, 0.0)[:, None] * normals * 0.7
    return points


def _edge_averaging(count: int, edge: Indices) -> csr_matrix:
    rows, columns = edge[:, [0, 1]].ravel(), edge[:, [1, 0]].ravel()
    half = np.full(len(rows), 0.5)
    return csr_matrix((half, (rows, columns)), shape=(count, count))


def _hemmed(
    surface: Surface,
    hem: Hem,
    region: int,
    run: Indices,
    origin: tuple[Indices, int],
    points: Array,
    normals: Array,
) -> Surface:
    """Rows of cloth beyond an edge, the last joined to the skin below.

    origin: the skin point below each cloth point, and the number of the first cloth point.
    """
    used, start = origin
    ring, inverse = np.unique(run, return_inverse=True)
    run = inverse.reshape(-1, 2)
    along = _outward(points[ring], normals[ring], run)
    first, count = start + ring, len(surface.points)
    fresh = hem.rows(points[ring], along, normals[ring])
    parts, labels, previous = [], [], first
    for row in range(len(fresh)):
        current = count + row * len(ring) + np.arange(len(ring))
        parts.append(_band(previous, current, run))
        labels.append(np.full(2 * len(run), 1 + min(row, 1)))
        previous = current
    parts.append(_band(previous, used[ring], run))
    labels.append(np.full(2 * len(run), 3))
    band = np.concatenate(parts)
    grown = {
        k: np.concatenate([v] + [v[used[ring]]] * len(fresh)) for k, v in surface.point_data.items()
    }
    added = {"region": np.full(len(band), region), "crease": np.concatenate(labels)}
    data = {
        k: np.concatenate([v, added.get(k, np.zeros(len(band), int))])
        for k, v in surface.triangle_data.items()
    }
    triangles = np.concatenate([surface.triangles, band])
    return Surface(np.concatenate([surface.points, *fresh]), triangles, grown, data)


def _band(near: Indices, far: Indices, run: Indices) -> Indices:
    a, b = run.T
    return np.concatenate(
        [
            np.stack([near[b], near[a], far[a]], axis=1),
            np.stack([near[b], far[a], far[b]], axis=1),
        ]
    )


def _outward(points: Array, normals: Array, run: Indices) -> Array:
    """Unit directions in the cloth, away from it, at each point of an edge."""
    step = points[run[:, 1]] - points[run[:, 0]]
    across = np.cross(step, normals[run[:, 0]] + normals[run[:, 1]])
    result = np.zeros_like(points)
    for k in range(2):
        np.add.at(result, run[:, k], across)
    for _ in range(4):
        blurred = result.copy()
        np.add.at(blurred, run[:, 0], result[run[:, 1]])
        np.add.at(blurred, run[:, 1], result[run[:, 0]])
        result = blurred / 3.0
    return _unit(result)


def _unit(vectors: Array) -> Array:
    unit: Array = vectors / np.maximum(np.linalg.norm(vectors, axis=1, keepdims=True), 1e-12)
    return unit
