"""Believable people as meshes: dressed, posed, with named places on the face and body."""

from __future__ import annotations

import difflib
import functools
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from falloff.errors import Fault, GeometryError

# Name in a scene -> shipped file.
_FILES: Mapping[str, str] = MappingProxyType({"seated": "seated_maker.npz"})


@dataclass(frozen=True, slots=True)
class Figure:
    """A person as a mesh in metres: x to the figure's right, y ahead, z up, floor at z = 0.

    vertices, vertex_normals (v, 3) float32, normals of unit length and doubled at creases;
    triangles (t, 3) int32, counter-clockwise seen from outside; triangle_region (t,) uint8 into
    region_names; places and place_normals: points on the surface and outward unit normals (3,)
    float32 by name; seat_height_m: of the flat underside, right above the origin, 0 if standing;
    stature_m: standing, barefoot; hand_left_m, hand_right_m: middle of each hand (3,) float32.
    All arrays are read-only.
    """

    name: str
    vertices: NDArray[np.float32]
    vertex_normals: NDArray[np.float32]
    triangles: NDArray[np.int32]
    triangle_region: NDArray[np.uint8]
    region_names: tuple[str, ...]
    places: Mapping[str, NDArray[np.float32]]
    place_normals: Mapping[str, NDArray[np.float32]]
    seat_height_m: float
    stature_m: float
    hand_left_m: NDArray[np.float32]
    hand_right_m: NDArray[np.float32]


def figure_names() -> tuple[str, ...]:
    """Every figure of the catalogue, in alphabetical order."""
    return tuple(sorted(_FILES))


def find_figure(name: str) -> Figure:
    """A figure by name; raises GeometryError with the nearest known name.

    >>> find_figure("seated").region_names[0]
    'skin'
    """
    if name not in _FILES:
        near = difflib.get_close_matches(name, _FILES, n=1)
        raise GeometryError(
            Fault(
                what=f"no figure is called {name!r}",
                expected="one of " + ", ".join(figure_names()),
                found=name,
                fix=f"did you mean {near[0]!r}?" if near else f"write {figure_names()[0]}",
            )
        )
    return _loaded(name)


@functools.cache
def _loaded(name: str) -> Figure:
    path = resources.files("falloff.kit").joinpath("data", "figures", _FILES[name])
    with path.open("rb") as stream, np.load(stream, allow_pickle=False) as data:
        held = {key: _read_only(data[key]) for key in data.files}
    names = [str(place) for place in held["place_names"]]
    left, right = held["hand_points"]
    return Figure(
        name=name,
        vertices=held["vertices"],
        vertex_normals=held["vertex_normals"],
        triangles=held["triangles"],
        triangle_region=held["triangle_region"],
        region_names=tuple(str(region) for region in held["region_names"]),
        places=MappingProxyType(dict(zip(names, held["place_points"], strict=True))),
        place_normals=MappingProxyType(dict(zip(names, held["place_normals"], strict=True))),
        seat_height_m=float(held["seat_height_m"]),
        stature_m=float(held["stature_m"]),
        hand_left_m=left,
        hand_right_m=right,
    )


def _read_only(array: NDArray[Any]) -> NDArray[Any]:
    array.setflags(write=False)
    return array
