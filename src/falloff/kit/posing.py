"""Turning a figure's head and eyes towards something."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from falloff.errors import Fault, GeometryError
from falloff.kit.figures import Figure, smooth_normals
from falloff.types import Float64Array

# How a look is shared out; common practice of posing, no source.
HEAD_SHARE = 0.7
MOST_YAW_RAD = math.radians(60.0)
MOST_PITCH_RAD = math.radians(35.0)
MOST_EYES_RAD = math.radians(30.0)

_EYE_REGIONS = ("sclera", "iris")
_STAYS = ("chest",)


@dataclass(frozen=True, slots=True)
class Look:
    """A figure that looks somewhere, and the angle its gaze falls short by (rad, 0 or more)."""

    figure: Figure
    short_by_rad: float


def look(figure: Figure, direction: NDArray[np.floating] | None) -> Look:
    """The figure with its gaze towards a direction (3,) of its own frame; None changes nothing.

    The head goes 70 % of the way, up to 60 degrees aside and 35 up or down, the eyes the rest, up
    to 30 degrees; what is left is told. Raises GeometryError for a direction without length.
    """
    if direction is None:
        return Look(figure, 0.0)
    wanted = _unit(direction)
    yaw, pitch = _angles(figure, wanted)
    turned = turned_head(
        figure,
        yaw_rad=float(np.clip(HEAD_SHARE * yaw, -MOST_YAW_RAD, MOST_YAW_RAD)),
        pitch_rad=float(np.clip(HEAD_SHARE * pitch, -MOST_PITCH_RAD, MOST_PITCH_RAD)),
    )
    ahead = turned.head_axes[1].astype(np.float64)
    axis = np.cross(ahead, wanted)
    apart = math.atan2(float(np.linalg.norm(axis)), float(ahead @ wanted))
    if apart < 1e-9:
        return Look(turned, 0.0)
    if np.linalg.norm(axis) < 1e-9:  # straight behind: over either shoulder
        axis = turned.head_axes[2].astype(np.float64)
    by = min(apart, MOST_EYES_RAD)
    return Look(_turned_eyes(turned, _unit(axis) * by), apart - by)


def turned_head(figure: Figure, *, yaw_rad: float, pitch_rad: float) -> Figure:
    """The figure with its head turned: yaw to its left, pitch upwards, about its own axes.

    Vertices turn about `head_pivot_m` by their `head_weight` of the angle; places, marks and eyes
    go along. Both 0 gives the figure back as it is. Any angle is taken; a neck allows about 60
    degrees of yaw and 35 of pitch.
    """
    if yaw_rad == 0.0 and pitch_rad == 0.0:
        return figure
    axes = figure.head_axes.astype(np.float64)
    whole = _rotation(axes[2] * yaw_rad) @ _rotation(axes[0] * pitch_rad)
    pivot = figure.head_pivot_m.astype(np.float64)
    rotated = _by_share(figure, whole, pivot)

    def turn_point(point: NDArray[np.float32]) -> Float64Array:
        return np.asarray(whole @ (point.astype(np.float64) - pivot) + pivot)

    def turn_way(way: NDArray[np.float32]) -> Float64Array:
        return np.asarray(whole @ way.astype(np.float64))

    return dataclasses.replace(
        figure,
        vertices=rotated,
        vertex_normals=_frozen(smooth_normals(rotated, figure.triangles)),
        places=_mapped(figure.places, turn_point),
        place_normals=_mapped(figure.place_normals, turn_way),
        head_marks_m=_mapped(figure.head_marks_m, turn_point),
        head_axes=_frozen(axes @ whole.T),
        eye_centres_m=_frozen((figure.eye_centres_m.astype(np.float64) - pivot) @ whole.T + pivot),
    )


def _angles(figure: Figure, wanted: Float64Array) -> tuple[float, float]:
    """Yaw to the left and pitch upwards of a unit direction, from where the head looks."""
    right, ahead, up = figure.head_axes.astype(np.float64) @ wanted
    return math.atan2(-right, ahead), math.asin(float(np.clip(up, -1.0, 1.0)))


def _by_share(figure: Figure, whole: Float64Array, pivot: Float64Array) -> NDArray[np.float32]:
    """Vertices turned about the pivot, each by its share of the whole rotation's angle."""
    moving = np.nonzero(figure.head_weight > 0.0)[0]
    axis, angle = _axis_angle(whole)
    share = angle * figure.head_weight[moving].astype(np.float64)
    arm = figure.vertices[moving].astype(np.float64) - pivot
    along = (arm @ axis)[:, None] * axis
    turned = along + np.cos(share)[:, None] * (arm - along)
    turned += np.sin(share)[:, None] * np.cross(axis, arm)
    vertices = figure.vertices.copy()
    vertices[moving] = (turned + pivot).astype(np.float32)
    return _frozen(vertices)


def _turned_eyes(figure: Figure, turn: Float64Array) -> Figure:
    """Both eyes turned about their centres by a rotation vector (rad), with their places."""
    rotation = _rotation(turn)
    vertices = figure.vertices.copy()
    places, normals = dict(figure.places), dict(figure.place_normals)
    right = figure.head_axes[0]
    middle = figure.eye_centres_m.mean(axis=0)
    regions = [figure.region_names.index(name) for name in _EYE_REGIONS]
    balls = np.unique(figure.triangles[np.isin(figure.triangle_region, regions)])
    on_right = (figure.vertices[balls] - middle) @ right > 0.0
    for number, side in enumerate(("left", "right")):
        centre = figure.eye_centres_m[number].astype(np.float64)
        mine = balls[on_right == (side == "right")]
        vertices[mine] = (vertices[mine].astype(np.float64) - centre) @ rotation.T + centre
        name = f"eye_{side}"
        places[name] = _frozen(rotation @ (places[name].astype(np.float64) - centre) + centre)
        normals[name] = _frozen(rotation @ normals[name].astype(np.float64))
    return dataclasses.replace(
        figure,
        vertices=_frozen(vertices),
        vertex_normals=_frozen(smooth_normals(vertices, figure.triangles)),
        places=MappingProxyType(places),
        place_normals=MappingProxyType(normals),
    )


def _mapped(
    points: Mapping[str, NDArray[np.float32]],
    move: Callable[[NDArray[np.float32]], Float64Array],
) -> Mapping[str, NDArray[np.float32]]:
    return MappingProxyType(
        {name: p if name in _STAYS else _frozen(move(p)) for name, p in points.items()}
    )


def _unit(vector: NDArray[np.floating]) -> Float64Array:
    given = np.asarray(vector, dtype=np.float64)
    length = float(np.linalg.norm(given)) if given.shape == (3,) else math.nan
    if not (math.isfinite(length) and length > 0.0):
        raise GeometryError(
            Fault(
                what="a direction to look in must have three finite parts, not all zero",
                expected="such as (0, 1, 0), straight ahead",
                found=str(vector),
                fix="give the point looked at less the point between the eyes",
            )
        )
    return given / length


def _rotation(turn: Float64Array) -> Float64Array:
    """The rotation (3, 3) of a rotation vector (rad), right-handed (Rodrigues' formula)."""
    angle = float(np.linalg.norm(turn))
    if angle == 0.0:
        return np.eye(3)
    x, y, z = turn / angle
    skew = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    return np.asarray(np.eye(3) + math.sin(angle) * skew + (1 - math.cos(angle)) * skew @ skew)


def _axis_angle(rotation: Float64Array) -> tuple[Float64Array, float]:
    """Unit axis and angle in 0..pi of a rotation that is neither none nor half a turn."""
    twice = np.array(
        [
            rotation[2, 1] - rotation[1, 2],
            rotation[0, 2] - rotation[2, 0],
            rotation[1, 0] - rotation[0, 1],
        ]
    )
    sine = float(np.linalg.norm(twice)) / 2
    angle = math.atan2(sine, (float(np.trace(rotation)) - 1) / 2)
    return twice / (2 * sine), angle


def _frozen(array: NDArray[np.floating]) -> NDArray[np.float32]:
    held = np.asarray(array, dtype=np.float32)
    held.setflags(write=False)
    return held
