"""Believable people as meshes: dressed, posed, with named places on the face and body."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from falloff.kit.unknown import unknown_name

# Names in a scene; the file of each has "_" for " ".
_NAMES = (
    "child seated",
    "child standing",
    "heavy man standing",
    "man lying",
    "man seated",
    "man standing",
    "older man standing",
    "older woman seated",
    "slim young woman standing",
    "tall man leaning",
    "woman leaning",
    "woman lying",
    "woman seated",
    "woman standing",
)

Points = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Figure:
    """A person as a mesh in metres: x to the figure's right, y ahead, z up, floor at z = 0.

    The origin is on the floor: between the feet of who stands or leans, under the middle of the
    hips of who sits or lies. One who lies has the feet at +y.

    vertices, vertex_normals (v, 3) float32, normals of unit length and doubled at creases;
    triangles (t, 3) int32, counter-clockwise seen from outside; triangle_region (t,) uint8 into
    region_names; places and place_normals: points on the surface and outward unit normals (3,)
    float32 by name; seat_height_m: of the flat underside, right above the origin, 0 if none;
    stature_m: standing, barefoot; hand_left_m, hand_right_m: middle of each hand (3,) float32.
    The region "hair" is a closed surface of its own: without it the head is bald and closed.

    head_weight (v,) float32: how much a vertex follows the head, 1 on it, smooth over the neck, 0
    below; head_pivot_m (3,): where the head turns; head_axes (3, 3): its right, ahead and up as
    rows of unit length; eye_centres_m (2, 3): left, right; eye_radius_m; scalp_m (v,) float32: on
    the skin under the hair, how far inside the hairline, 0 elsewhere; head_marks_m: points on the
    skin of the head (3,) by name. pose: "standing", "seated", "leaning" or "lying"; rest: words
    on what carries the figure, empty if only floor or seat. All arrays are read-only.
    """

    name: str
    vertices: Points
    vertex_normals: Points
    triangles: NDArray[np.int32]
    triangle_region: NDArray[np.uint8]
    region_names: tuple[str, ...]
    places: Mapping[str, Points]
    place_normals: Mapping[str, Points]
    seat_height_m: float
    stature_m: float
    hand_left_m: Points
    hand_right_m: Points
    head_weight: Points
    head_pivot_m: Points
    head_axes: Points
    eye_centres_m: Points
    eye_radius_m: float
    scalp_m: Points
    head_marks_m: Mapping[str, Points]
    pose: str
    rest: str


def figure_names() -> tuple[str, ...]:
    """Every figure of the catalogue, in alphabetical order."""
    return _NAMES


def find_figure(name: str) -> Figure:
    """A figure by name; raises GeometryError with the nearest known name.

    >>> find_figure("woman seated").region_names[0]
    'skin'
    """
    if name not in _NAMES:
        raise unknown_name("figure", name, figure_names())
    return _loaded(name)


def smooth_normals(vertices: NDArray[Any], triangles: NDArray[Any]) -> Points:
    """Unit normals (v, 3) float32: of the triangles around each vertex, weighted by their area."""
    corners = vertices.astype(np.float64)[triangles]
    facing = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals = np.empty((len(vertices), 3))
    for axis in range(3):
        shared = np.repeat(facing[:, axis], 3)
        normals[:, axis] = np.bincount(triangles.ravel(), shared, minlength=len(vertices))
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    return np.asarray(normals / np.maximum(lengths, 1e-30), dtype=np.float32)


@functools.cache
def _loaded(name: str) -> Figure:
    file = name.replace(" ", "_") + ".npz"
    path = resources.files("falloff.kit").joinpath("data", "figures", file)
    with path.open("rb") as stream, np.load(stream, allow_pickle=False) as data:
        held = {key: _read_only(data[key]) for key in data.files}
    vertices, triangles = _points(held), _corners(held)
    left, right = held["hand_points"]
    eyes = held["eyes"]
    return Figure(
        name=name,
        vertices=vertices,
        vertex_normals=_read_only(smooth_normals(vertices, triangles)),
        triangles=triangles,
        triangle_region=held["triangle_region"],
        region_names=tuple(str(region) for region in held["region_names"]),
        places=_by_name(held["place_names"], held["place_points"]),
        place_normals=_by_name(held["place_names"], held["place_normals"]),
        seat_height_m=float(held["seat_height_m"]),
        stature_m=float(held["stature_m"]),
        hand_left_m=left,
        hand_right_m=right,
        head_weight=_scaled(held["head_weight"], 1 / 255),
        head_pivot_m=held["head_pivot"],
        head_axes=held["head_axes"],
        eye_centres_m=eyes[:, :3],
        eye_radius_m=float(eyes[0, 3]),
        scalp_m=_scaled(held["scalp"], float(held["scalp_step_m"])),
        head_marks_m=_by_name(held["mark_names"], held["mark_points"]),
        pose=str(held["pose"]),
        rest=str(held["rest"]),
    )


def _points(held: Mapping[str, NDArray[Any]]) -> Points:
    """Vertices from their steps: coordinate after coordinate, each in the order of vertices."""
    steps = _numbers(held["vertex_steps"]).reshape(3, -1)
    places = np.cumsum(steps, axis=1).T * float(held["vertex_step_m"])
    return _read_only(np.ascontiguousarray(places, dtype=np.float32))


def _corners(held: Mapping[str, NDArray[Any]]) -> NDArray[np.int32]:
    corners = np.cumsum(_numbers(held["triangle_steps"])).reshape(-1, 3)
    return _read_only(corners.astype(np.int32))


def _numbers(planes: NDArray[np.uint8]) -> NDArray[np.int64]:
    """Signed numbers from planes (bytes, n) of zigzag ones, the lowest byte first."""
    zigzag = np.zeros(planes.shape[1], np.int64)
    for place, plane in enumerate(planes):
        zigzag |= plane.astype(np.int64) << (8 * place)
    return (zigzag >> 1) ^ -(zigzag & 1)


def _scaled(whole: NDArray[np.uint8], step: float) -> Points:
    return _read_only((whole.astype(np.float64) * step).astype(np.float32))


def _by_name(names: NDArray[Any], points: Points) -> Mapping[str, Points]:
    return MappingProxyType(dict(zip(map(str, names), points, strict=True)))


def _read_only(array: NDArray[Any]) -> NDArray[Any]:
    array.setflags(write=False)
    return array
