"""Where the sun falls in a room: on what, how much of it, and its outline on level surfaces."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import contourpy
import numpy as np

from falloff.day.records import SunPatch
from falloff.sources import Source
from falloff.stage import Surfaces
from falloff.transport import Solution, sun_on_grid
from falloff.types import BoolArray, Float32Array, Float64Array

_LEAST_SHARE: Final = 0.004  # of the sun that comes in; less is told of no surface
_LEAST_M2: Final = 0.003
_HALF: Final = 0.5  # of full sun, where an outline runs
_LEVEL: Final = 0.999  # upward part of the normal of a level surface
_FLOOR_PART_M2: Final = 0.02  # smaller level faces have no outline
_GRID_M: Final = 0.04
_ABOVE_M: Final = 2e-3
_SPECK_M2: Final = 0.004  # a smaller outline is of the half shadow alone

Outline = tuple[tuple[float, float], ...]
_NO_OUTLINE: Final[tuple[float | None, tuple[Outline, ...]]] = (None, ())


@dataclass(frozen=True, slots=True)
class _LevelFace:
    """A flat face that looks up: a grid of points on it (rows, columns, 3), and which lie on it."""

    name: str
    height_m: float
    points: Float64Array
    there: BoolArray


class SunFinder:
    """Finds the sun's patches among the surfaces of one solution's stage."""

    def __init__(self, solution: Solution) -> None:
        surfaces = solution.stage.surfaces
        self._solution, self._surfaces = solution, surfaces
        self._names = surfaces.face_name[surfaces.element_face]
        self._normals = surfaces.element_normals.mean(1).astype(np.float64)
        self._level = _level_faces(surfaces)

    def patches(
        self, sun: Source, lit: Float32Array, *, outlined: bool = True
    ) -> tuple[SunPatch, ...]:
        """Patches of direct sun (e,) lux on the elements, the largest first.

        outlined: whether those on level surfaces are outlined, which takes rays of its own.
        """
        full_lux = sun.shape[13] * math.pi * math.sin(sun.shape[3]) ** 2
        if full_lux <= 0.0 or not lit.any():
            return ()
        area = self._surfaces.element_area_m2.astype(np.float64)
        flux = lit * area
        facing = np.maximum(0.05, self._normals @ sun.shape[:3])
        count = len(self._surfaces.names)
        by_name = np.bincount(self._names, flux, count)
        area_by_name = np.bincount(self._names, flux / (full_lux * facing), count)
        whole = float(by_name.sum())
        found = []
        for n in np.argsort(-by_name):
            name = self._surfaces.names[n]
            if by_name[n] < _LEAST_SHARE * whole or area_by_name[n] < _LEAST_M2:
                break
            height, lines = self._outlines(name, sun) if outlined else _NO_OUTLINE
            found.append(
                SunPatch(
                    surface=name,
                    area_m2=float(area_by_name[n]),
                    share=float(by_name[n] / whole),
                    height_m=height,
                    outlines=lines,
                )
            )
        return tuple(found)

    def _outlines(self, name: str, sun: Source) -> tuple[float | None, tuple[Outline, ...]]:
        """Height of a level surface and lines round its sun; None and nothing for any other."""
        height: float | None = None
        found: list[Outline] = []
        for face in self._level:
            if face.name != name:
                continue
            height = face.height_m
            level_lux = sun.shape[13] * math.pi * math.sin(sun.shape[3]) ** 2 * sun.shape[2]
            light = np.zeros(face.there.shape)
            points = face.points[face.there].astype(np.float32)
            light[face.there] = sun_on_grid(self._solution, sun, points) / level_lux
            made = contourpy.contour_generator(face.points[..., 0], face.points[..., 1], light)
            found += [
                tuple((round(float(x), 3), round(float(y), 3)) for x, y in np.asarray(line))
                for line in made.lines(_HALF)
                if _area_m2(np.asarray(line)) > _SPECK_M2
            ]
        return height, tuple(found)


def _area_m2(line: Float64Array) -> float:
    """Inside a closed line (n, 2), by the shoelace formula."""
    x, y = line[:, 0], line[:, 1]
    return 0.5 * abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1)))


def _level_faces(surfaces: Surfaces) -> list[_LevelFace]:
    found = []
    for f, frame in enumerate(surfaces.face_frame.astype(np.float64)):
        origin, u, v, normal = frame.reshape(4, 3)
        columns, rows, first, flat = (int(part) for part in surfaces.face_grid[f])
        wide, high = (float(side) for side in surfaces.face_step_m[f])
        if not flat or normal[2] < _LEVEL or columns * rows * wide * high < _FLOOR_PART_M2:
            continue
        cells = surfaces.cell_element[first : first + columns * rows].reshape(rows, columns)
        # A step past every edge, where nothing is, so that lines close there.
        a = np.arange(-1, math.ceil(columns * wide / _GRID_M) + 1) * _GRID_M + 0.5 * _GRID_M
        b = np.arange(-1, math.ceil(rows * high / _GRID_M) + 1) * _GRID_M + 0.5 * _GRID_M
        across, up = np.meshgrid(a, b)
        i, j = np.floor(across / wide).astype(int), np.floor(up / high).astype(int)
        inside = (i >= 0) & (i < columns) & (j >= 0) & (j < rows)
        there = inside & (cells[np.clip(j, 0, rows - 1), np.clip(i, 0, columns - 1)] >= 0)
        points = origin + across[..., None] * u + up[..., None] * v + (0.0, 0.0, _ABOVE_M)
        name = surfaces.names[surfaces.face_name[f]]
        found.append(_LevelFace(name, float(origin[2]), points, there))
    return found
