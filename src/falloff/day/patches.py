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
from falloff.types import Float32Array, Float64Array

_LEAST_SHARE: Final = 0.004  # of the sun that comes in; less is told of no surface
_LEAST_M2: Final = 0.003
_HALF: Final = 0.5  # of full sun, where an outline runs
_LEVEL: Final = 0.999  # upward part of the normal of a level surface
_FLOOR_PART_M2: Final = 0.02  # smaller level faces have no outline


@dataclass(frozen=True, slots=True)
class _LevelFace:
    """A flat face that looks up: where its cells' middles lie, and the element of each."""

    name: str
    height_m: float
    x: Float64Array
    y: Float64Array
    cell_element: np.ndarray


class SunFinder:
    """Finds the sun's patches among the surfaces of one stage."""

    def __init__(self, surfaces: Surfaces) -> None:
        self._surfaces = surfaces
        self._names = surfaces.face_name[surfaces.element_face]
        self._normals = surfaces.element_normals.mean(1).astype(np.float64)
        self._level = _level_faces(surfaces)

    def patches(self, sun: Source, lit: Float32Array) -> tuple[SunPatch, ...]:
        """Patches of direct sun (e,) lux on the elements, the largest first."""
        full_lux = sun.shape[13] * math.pi * math.sin(sun.shape[3]) ** 2
        if full_lux <= 0.0 or not lit.any():
            return ()
        area = self._surfaces.element_area_m2.astype(np.float64)
        flux = lit * area
        facing = np.maximum(0.05, self._normals @ sun.shape[:3])
        covered = flux / (full_lux * facing)
        count = len(self._surfaces.names)
        by_name = np.bincount(self._names, flux, count)
        area_by_name = np.bincount(self._names, covered, count)
        whole = float(by_name.sum())
        outlines = self._outlines(lit, full_lux * sun.shape[2])
        found = [
            SunPatch(
                surface=self._surfaces.names[n],
                area_m2=float(area_by_name[n]),
                share=float(by_name[n] / whole),
                height_m=outlines.get(self._surfaces.names[n], (None, ()))[0],
                outlines=outlines.get(self._surfaces.names[n], (None, ()))[1],
            )
            for n in np.argsort(-by_name)
            if by_name[n] >= _LEAST_SHARE * whole and area_by_name[n] >= _LEAST_M2
        ]
        return tuple(found)

    def _outlines(
        self, lit: Float32Array, level_lux: float
    ) -> dict[str, tuple[float, tuple[tuple[tuple[float, float], ...], ...]]]:
        """By surface its height and lines round its sun; level_lux: of a level plane in it."""
        found: dict[str, tuple[float, tuple[tuple[tuple[float, float], ...], ...]]] = {}
        if level_lux <= 0.0:
            return found
        padded = np.append(lit / level_lux, 0.0)
        for face in self._level:
            field = padded[face.cell_element]
            if field.max() < _HALF:
                continue
            made = contourpy.contour_generator(face.x, face.y, np.pad(_eased(field), 1))
            lines = tuple(
                tuple((round(float(x), 3), round(float(y), 3)) for x, y in line)
                for line in made.lines(_HALF)
                if len(line) > 3
            )
            height, before = found.get(face.name, (face.height_m, ()))
            found[face.name] = (height, before + lines)
        return found


def _eased(field: Float64Array) -> Float64Array:
    """Each cell a little like its neighbours, for shot rays land by chance."""
    padded = np.pad(field, 1, mode="edge")
    across = 0.25 * padded[:-2] + 0.5 * padded[1:-1] + 0.25 * padded[2:]
    return np.asarray(0.25 * across[:, :-2] + 0.5 * across[:, 1:-1] + 0.25 * across[:, 2:])


def _level_faces(surfaces: Surfaces) -> list[_LevelFace]:
    found = []
    for f, frame in enumerate(surfaces.face_frame.astype(np.float64)):
        origin, u, v, normal = frame.reshape(4, 3)
        columns, rows, first, flat = surfaces.face_grid[f]
        wide, high = surfaces.face_step_m[f]
        if not flat or normal[2] < _LEVEL or columns * rows * wide * high < _FLOOR_PART_M2:
            continue
        cells = surfaces.cell_element[first : first + columns * rows].reshape(rows, columns)
        # One row of cells more on every side, so that lines close at the edge.
        a, b = np.meshgrid(np.arange(-1, columns + 1) + 0.5, np.arange(-1, rows + 1) + 0.5)
        a, b = np.clip(a, 0.0, columns), np.clip(b, 0.0, rows)
        place = origin + (a * wide)[..., None] * u + (b * high)[..., None] * v
        name = surfaces.names[surfaces.face_name[f]]
        found.append(_LevelFace(name, float(origin[2]), place[..., 0], place[..., 1], cells))
    return found
