"""Outlines of things as the plan and the two sides see them, kept for things that stay alike."""

from __future__ import annotations

import functools
import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from falloff.drawing.plan_records import Outline, Side, Sides
from falloff.kit import Figure, find_figure
from falloff.kit.furniture import BoxSolid, CylinderSolid, Solid
from falloff.stage.shapes import PropShape
from falloff.types import Float64Array

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

FINE_M: Final = 0.004  # outlines are told this finely
_CIRCLE: Final = 24
_MOST_TRIANGLES: Final = 3000  # a mesh of more is told by what goes round it
_BANDS: Final = 44  # a figure's silhouette is told in so many levels
_UNIT_CIRCLE: Final = np.array(
    [
        [math.cos(2.0 * math.pi * k / _CIRCLE), math.sin(2.0 * math.pi * k / _CIRCLE)]
        for k in range(_CIRCLE)
    ]
)


# Points ----------------------------------------------------------------------------------


def rounded(points: Float64Array) -> Outline:
    """Points (n, 2) to the millimetre, as plain numbers."""
    return tuple((x, y) for x, y in (np.round(points, 3) + 0.0).tolist())


def number(value: float, digits: int = 3) -> float:
    """A plain number to so many decimals, never minus zero."""
    return round(float(value), digits) + 0.0


def degrees(angle_rad: float) -> float:
    """Degrees to a tenth, above -180 up to 180."""
    turned = round(math.degrees(angle_rad), 1) % 360.0
    return number(turned - 360.0 if turned > 180.0 else turned, 1)


def circle(middle: Float64Array, radius_m: float) -> Float64Array:
    """A circle as 24 points (24, 2) about a point (2,), metres."""
    return np.asarray(middle + radius_m * _UNIT_CIRCLE)


def hull(points: Float64Array) -> Float64Array:
    """The convex outline (m, 2) of points (n, 2), one or more; on one line, its ends."""
    import shapely

    around = shapely.convex_hull(shapely.multipoints(points))
    if around.geom_type == "Polygon":
        return np.asarray(shapely.get_coordinates(around)[:-1])
    return np.asarray(shapely.get_coordinates(around))


def seen_from_sides(points: Float64Array) -> Sides:
    """The convex outlines of points (n, 3) from the front and from the right."""
    return Sides(
        front=Side(outlines=(rounded(hull(points[:, [0, 2]])),)),
        right=Side(outlines=(rounded(hull(points[:, [1, 2]])),)),
    )


def shifted(outlines: tuple[Float64Array, ...], by: tuple[float, float]) -> tuple[Outline, ...]:
    """Outlines moved by a step, rounded."""
    return tuple(rounded(one + by) for one in outlines)


# Props -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class PropOutline:
    """A prop turned as it stands, about the place where it is put (m).

    plan: what it covers; around: what goes round that; front, right: its silhouettes as (x or y,
    z), of one outline or more; parts: what it is made of, as (convex outline, low, high).
    """

    plan: Float64Array
    around: Float64Array
    front: tuple[Float64Array, ...]
    right: tuple[Float64Array, ...]
    low_m: float
    high_m: float
    parts: tuple[tuple[Float64Array, float, float], ...]


_kept: dict[tuple[int, float], tuple[PropShape, PropOutline]] = {}
_KEPT_MOST: Final = 600


def prop_outline(shape: PropShape, turn_rad: float) -> PropOutline:
    """The outlines of a prop's shape; kept, since joining its parts takes a while."""
    whole = shape.piece if shape.piece is not None else shape.mesh
    held: Any = whole if whole is not None else shape.solids
    key = (id(held), round(turn_rad, 6))
    found = _kept.get(key)
    if found is None:
        if len(_kept) >= _KEPT_MOST:
            _kept.clear()
        found = _kept[key] = (shape, _outline(shape, turn_rad))
    return found[1]


def _outline(shape: PropShape, turn_rad: float) -> PropOutline:
    c, s = math.cos(turn_rad), math.sin(turn_rad)
    to_room = np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
    points = [part @ to_room for part in _parts(shape)]
    every = np.concatenate(points)
    flat = _joined([part[:, :2] for part in points])
    plan = max(flat, key=_area) if len(flat) == 1 else hull(np.concatenate(flat))
    return PropOutline(
        plan=plan,
        around=hull(plan),
        front=_joined([part[:, [0, 2]] for part in points]),
        right=_joined([part[:, [1, 2]] for part in points]),
        low_m=float(every[:, 2].min()),
        high_m=float(every[:, 2].max()),
        parts=tuple(
            (hull(part[:, :2]), float(part[:, 2].min()), float(part[:, 2].max())) for part in points
        ),
    )


def _parts(shape: PropShape) -> list[Float64Array]:
    """Points of the convex parts of a shape in its own frame, (n, 3) each."""
    if shape.mesh is not None:
        if len(shape.corners) > _MOST_TRIANGLES:
            return [shape.corners.reshape(-1, 3)]
        return list(shape.corners)
    return [_solid_points(solid) for solid in shape.solids]


def _solid_points(solid: Solid) -> Float64Array:
    if isinstance(solid, BoxSolid):
        signs = np.array(np.meshgrid([-0.5, 0.5], [-0.5, 0.5], [-0.5, 0.5])).reshape(3, 8).T
        return np.asarray(solid.centre + (signs * solid.size) @ solid.axes)
    if isinstance(solid, CylinderSolid):
        axis = np.asarray(solid.high) - solid.low
        axis = axis / np.linalg.norm(axis)
        aside = np.eye(3)[0] if abs(axis[2]) > 0.9 else np.eye(3)[2]
        u = np.cross(aside, axis)
        u /= np.linalg.norm(u)
        rim = _UNIT_CIRCLE @ np.stack([u, np.cross(axis, u)])
        return np.concatenate(
            [solid.low + solid.radius_low * rim, solid.high + solid.radius_high * rim]
        )
    return np.asarray(solid.corners.reshape(-1, 3))


def _joined(parts: list[Float64Array]) -> tuple[Float64Array, ...]:
    """Outlines of what convex parts, given by their points, cover together, largest first."""
    import shapely

    polygons = []
    for part in parts:
        around = hull(part)
        if len(around) >= 3:
            polygons.append(shapely.Polygon(around).buffer(0.001, join_style="mitre"))
    if not polygons:
        return (hull(np.concatenate(parts)),)
    whole = shapely.union_all(polygons)
    whole = whole.buffer(0.006, join_style="mitre").buffer(-0.007, join_style="mitre")
    found = [_ring(one) for one in pieces_of(whole) if one.area > 1e-6]
    return tuple(sorted(found, key=_area, reverse=True)) or (hull(np.concatenate(parts)),)


def pieces_of(shape: BaseGeometry) -> list[Any]:
    """The polygons that a shapely shape is made of."""
    parts = getattr(shape, "geoms", [shape])
    return [one for one in parts if one.geom_type == "Polygon" and not one.is_empty]


def _ring(polygon: Polygon) -> Float64Array:
    return np.asarray(polygon.simplify(FINE_M).exterior.coords)[:-1]


def _area(outline: Float64Array) -> float:
    x, y = outline[:, 0], outline[:, 1]
    return abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2.0


# People ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class FigureOutline:
    """A figure in its own frame: x to its right, y ahead (m).

    shoulders: an ellipse, or of one who lies what goes round the body; head_middle, head_m: of a
    circle; bands: points (n, 2) of the plan at each of `levels`; a silhouette is what goes round
    them from a side.
    """

    shoulders: Float64Array
    head_middle: Float64Array
    head_m: float
    bands: tuple[tuple[float, float, Float64Array], ...]
    high_m: float
    pose: str


@functools.lru_cache(maxsize=32)
def figure_outline(name: str) -> FigureOutline:
    """The outlines of a figure of the kit, looking straight ahead."""
    figure = find_figure(name)
    points = figure.vertices.astype(np.float64)
    head = points[figure.head_weight > 0.95]
    low, high = head.min(0), head.max(0)
    middle = 0.5 * (low + high)
    return FigureOutline(
        shoulders=_shoulders(figure, points, chin_m=float(low[2])),
        head_middle=middle[:2],
        head_m=0.25 * float(high[0] - low[0] + high[1] - low[1]),
        bands=_bands(points),
        high_m=float(points[:, 2].max()),
        pose=figure.pose,
    )


def _shoulders(figure: Figure, points: Float64Array, *, chin_m: float) -> Float64Array:
    if figure.pose == "lying":
        return hull(points[:, :2])
    body = points[(figure.head_weight < 0.05) & (points[:, 2] > chin_m - 0.3)]
    low, high = body[:, :2].min(0), body[:, :2].max(0)
    half = 0.5 * (high - low)
    half[1] = max(min(half[1], 0.62 * half[0]), 0.1)
    return np.asarray(0.5 * (low + high) + half * _UNIT_CIRCLE)


def _bands(points: Float64Array) -> tuple[tuple[float, float, Float64Array], ...]:
    edges = np.linspace(0.0, float(points[:, 2].max()), _BANDS + 1)
    found = []
    for low, high in itertools.pairwise(edges):
        inside = points[(points[:, 2] >= low - 0.01) & (points[:, 2] <= high + 0.01)]
        if len(inside):
            found.append((float(low), float(high), hull(inside[:, :2])))
    return tuple(found)


def silhouette(figure: FigureOutline, turn: Float64Array, *, along: int) -> Float64Array:
    """A figure from a side, (n, 2) about its mark: x (along 0) or y (along 1) of the room, and up.

    turn: (2, 2) from its own plan to the room's, as rows of what x and y of the room are.
    """
    left, right = [], []
    for low, high, points in figure.bands:
        reach = points @ turn[along]
        height = 0.5 * (low + high)
        left.append((float(reach.min()), height))
        right.append((float(reach.max()), height))
    top = figure.bands[-1][1]
    middle = 0.5 * (left[-1][0] + right[-1][0])
    floor = [(left[0][0], 0.0), (right[0][0], 0.0)]
    return np.array([floor[0], *left, (middle, top), *right[::-1], floor[1]])
