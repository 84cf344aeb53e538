"""The shape of a figure's head, seen from a point inside it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import astuple, dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from falloff.kit.figures import Figure
from falloff.rays import Hits, RayScene

Points = NDArray[np.float64]
Values = NDArray[np.float64]

_STEP_DEG = 3.0
_AZIMUTH_DEG = np.arange(0.0, 180.1, _STEP_DEG)
_UP_DEG = np.arange(-75.0, 90.1, _STEP_DEG)
_ABOVE_EYES_M = np.array([0.0, -0.078, 0.014])  # from between the eyes to the head's middle
_LIMIT_M = 0.2  # farther off than this is no head
_FAR_M = 0.6
_ASIDE_M = np.float32(2e-6)  # sideways of a ray that slipped between two triangles
_NEAR_M = 0.42  # what lies farther from the head's middle bears on nothing that is worn there


@dataclass(frozen=True, slots=True)
class HeadShape:
    """A head in its own frame: x to its right, y ahead, z up, origin inside it above the eyes.

    origin_m (3,) and axes (3, 3) rows are in the figure's frame. Over azimuth from straight ahead
    (the same for both sides) and elevation: skull_m and outside_m, distances to the skin without
    and with the ears; scalp_m, how far inside the hairline, 0 outside it. marks_m: points (3,) of
    the head's frame by name, those of Figure.head_marks_m and "eye_left", "eye_right", "chin".
    """

    origin_m: Points
    axes: Points
    skull_m: Values
    outside_m: Values
    scalp_m: Values
    marks_m: Mapping[str, Points]
    _rays: RayScene

    @property
    def size(self) -> float:
        """How large the head is, by the way from its middle to the chin; 1 for a grown-up."""
        return float(-self.marks_m["chin"][2] / 0.119)

    def to_figure(self, points: Points) -> Points:
        """Points (..., 3) of the head's frame in the figure's."""
        moved: Points = points @ self.axes + self.origin_m
        return moved

    def to_head(self, points: Points) -> Points:
        """Points (..., 3) of the figure's frame in the head's."""
        moved: Points = (points - self.origin_m) @ self.axes.T
        return moved

    def skull(self, ways: Points) -> Values:
        """Distance to the skin without the ears, along unit directions (..., 3); m."""
        return _looked_up(self.skull_m, ways)

    def outside(self, ways: Points) -> Values:
        """Distance to the outermost skin, ears included, a little smoothed; m."""
        return _looked_up(self.outside_m, ways)

    def scalp(self, ways: Points) -> Values:
        """How far inside the hairline the skin along unit directions lies; 0 outside it; m."""
        return _looked_up(self.scalp_m, ways)

    def reach(self, points: Points, ways: Points) -> Values:
        """How far from points (n, 3) along unit directions (n, 3) the last skin or cloth lies; m.

        Negative where it lies the other way, negative infinity where nothing lies within 0.6 m.
        """
        hits = _first_hits(self._rays, points + _FAR_M * ways, -ways)
        return (_FAR_M - hits.distance).astype(np.float64)


def shape_of_head(figure: Figure) -> HeadShape:
    """Measure a figure's head without its own hair."""
    left, _, right = np.linalg.svd(figure.head_axes.astype(np.float64))
    axes = left @ right  # square to one another in double precision
    eyes = figure.eye_centres_m.astype(np.float64)
    origin = eyes.mean(axis=0) + _ABOVE_EYES_M @ axes
    kept = [k for k, name in enumerate(figure.region_names) if name not in ("hair", "skin")]
    head = figure.head_weight[figure.triangles].max(axis=1) > 0.0  # hands may be near a face
    own = figure.triangle_region == figure.region_names.index("hair")
    triangles = figure.triangles[np.isin(figure.triangle_region, kept) | (head & ~own)]
    corners = (figure.vertices[triangles].astype(np.float64) - origin) @ axes.T
    near = np.linalg.norm(corners.mean(axis=1), axis=1) < _NEAR_M
    rays = RayScene(corners[near].astype(np.float32))
    first, last, scalp = _measured(rays, figure.scalp_m[triangles[near]].astype(np.float64))
    places = dict(figure.head_marks_m)
    places |= {"chin": figure.places["chin"], "eye_left": eyes[0], "eye_right": eyes[1]}
    marks = {name: (p.astype(np.float64) - origin) @ axes.T for name, p in places.items()}
    return HeadShape(
        origin, axes, _without_ears(first), _swollen(last), scalp, MappingProxyType(marks), rays
    )


def _measured(rays: RayScene, scalp_m: Values) -> tuple[Values, Values, Values]:
    """Nearest and farthest skin, and the scalp's field, over azimuth and elevation."""
    one = direction(np.radians(_AZIMUTH_DEG)[:, None], np.radians(_UP_DEG)[None, :])
    first, last, inside = [], [], []
    for ways in (one, one * np.array([-1.0, 1.0, 1.0])):
        flat = ways.reshape(-1, 3)
        hit = _first_hits(rays, np.zeros_like(flat), flat)
        outer = _FAR_M - _first_hits(rays, _FAR_M * flat, -flat).distance
        shares = np.stack([1.0 - hit.u - hit.v, hit.u, hit.v], axis=1)
        field = np.where(hit.triangle >= 0, (scalp_m[hit.triangle] * shares).sum(axis=1), 0.0)
        first.append(hit.distance)
        last.append(np.maximum(outer, hit.distance))
        inside.append(field)
    shape = one.shape[:2]
    found = [np.maximum(*pair).reshape(shape).astype(np.float64) for pair in (first, last)]
    return (
        np.minimum(found[0], _LIMIT_M),
        np.minimum(found[1], _LIMIT_M),
        np.mean(inside, axis=0).reshape(shape),
    )


def _first_hits(rays: RayScene, starts: Points, ways: Points) -> Hits:
    """The nearest triangle along each ray, the distance infinite where there is none.

    A ray may slip between two triangles that share an edge, so one that met nothing is asked again
    a little aside.
    """
    begun = np.ascontiguousarray(starts, np.float32)
    along = np.ascontiguousarray(ways, np.float32)
    hits = rays.first_hit(begun, along)
    lost = np.flatnonzero(hits.triangle < 0)
    again = rays.first_hit(begun[lost] + _ASIDE_M, along[lost])
    for kept, new in zip(astuple(hits), astuple(again), strict=True):
        kept[lost] = new
    hits.distance[hits.triangle < 0] = np.inf
    return hits


def direction(azimuth_rad: Values, up_rad: Values) -> Points:
    """Unit vectors from azimuth (from ahead, towards the right) and elevation."""
    azimuth, up = np.broadcast_arrays(azimuth_rad, up_rad)
    return np.stack(
        [np.sin(azimuth) * np.cos(up), np.cos(azimuth) * np.cos(up), np.sin(up)], axis=-1
    )


def angles_deg(ways: Points) -> tuple[Values, Values]:
    """Azimuth from ahead, 0..180 on both sides, and elevation of vectors (..., 3), in degrees."""
    azimuth = np.degrees(np.arctan2(np.abs(ways[..., 0]), ways[..., 1]))
    up = np.degrees(np.arctan2(ways[..., 2], np.hypot(ways[..., 0], ways[..., 1])))
    return azimuth, up


def _looked_up(grid: Values, ways: Points) -> Values:
    azimuth, up = angles_deg(ways)
    across = np.clip(azimuth / _STEP_DEG, 0, len(_AZIMUTH_DEG) - 1.001)
    rise = np.clip((up - _UP_DEG[0]) / _STEP_DEG, 0, len(_UP_DEG) - 1.001)
    i, j = across.astype(int), rise.astype(int)
    s, t = across - i, rise - j
    low = grid[i, j] * (1 - s) + grid[i + 1, j] * s
    high = grid[i, j + 1] * (1 - s) + grid[i + 1, j + 1] * s
    found: Values = low * (1 - t) + high * t
    return found


def _filtered(grid: Values, reach: int, how: Callable[..., Values]) -> Values:
    """A square window over the grid, its edges mirrored."""
    padded = np.pad(grid, reach, mode="reflect")
    windows = np.lib.stride_tricks.sliding_window_view(padded, (2 * reach + 1, 2 * reach + 1))
    result: Values = how(windows, axis=(2, 3))
    return result


def _without_ears(skull: Values) -> Values:
    """The skull with the ears ironed out."""
    opened = _filtered(_filtered(skull, 4, np.min), 4, np.max)
    opened = _filtered(opened, 1, np.mean)
    azimuth, up = np.meshgrid(_AZIMUTH_DEG, _UP_DEG, indexing="ij")
    beside = (azimuth > 70) & (azimuth < 120) & (up > -45) & (up < 12)
    smooth = np.where(beside, np.minimum(skull, opened + 0.002), skull)
    return np.where(beside, _filtered(smooth, 1, np.mean), smooth)


def _swollen(outside: Values) -> Values:
    """Grown by one step each way, then smoothed: never less than what it covers, nearly."""
    grown: Values = np.maximum(_filtered(_filtered(outside, 1, np.max), 1, np.mean), outside)
    return grown
