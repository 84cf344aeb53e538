"""Sights: what camera rays see, past panes and mirrors and through fabrics."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from falloff.rays import RayScene
from falloff.sources import SHAPE_SIZE, Source
from falloff.stage import OFFSET_M, Stage, Surfaces, View
from falloff.transport.budget import Budget
from falloff.transport.change import NO_BOXES, Change
from falloff.transport.direct import Receivers
from falloff.transport.kernels_rays import camera_rays, read_views
from falloff.transport.kernels_sheets import split_on_sheets
from falloff.transport.tiles import RAYS_PER_TILE, over_tiles
from falloff.types import BoolArray, Float32Array, Int32Array, Uint16Array, Uint32Array

_MOST_MIRRORS = 4  # that a ray is sent on by


@dataclass(frozen=True, slots=True)
class Sights:
    """What rays see, in the order they were made; arrays of (r, …).

    points, normals: lifted off the surface; material: index, m for nothing, past it that of a
    fabric lit from behind; seen: source looked into or −1; luminance: of that source at 100 %
    (cd/m²); weight: how much the ray counts, 1 where no sheet stands before what it sees.
    """

    points: Float32Array
    normals: Float32Array
    material: Uint16Array
    seen: Int32Array
    luminance: Float32Array
    weight: Float32Array

    def receivers(self, nothing: int) -> Receivers:
        """The sights that lie on a surface, as receivers."""
        return Receivers(self.points, self.normals, self.material != nothing)


def empty_sights(count: int) -> Sights:
    """Room for `count` sights."""
    return Sights(
        np.zeros((count, 3), np.float32),
        np.zeros((count, 3), np.float32),
        np.zeros(count, np.uint16),
        np.zeros(count, np.int32),
        np.zeros(count, np.float32),
        np.ones(count, np.float32),
    )


def look(
    stage: Stage,
    scene: RayScene,
    view: View,
    size: tuple[int, int],
    order: Uint32Array,
    budget: Budget,
    sights: Sights,
    change: Change | None = None,
    renew: BoolArray | None = None,
) -> None:
    """Shoot camera rays and write what they see; with a change, only those it may touch."""
    flat = _flat(view)
    boxes = NO_BOXES if change is None else change.mirrored
    width, height = size

    def work(start: int, stop: int) -> None:
        most = (stop - start) * budget.view_rays
        origins, directions = np.empty((most, 3), np.float32), np.empty((most, 3), np.float32)
        slots = np.empty(most, np.int64)
        count = camera_rays(
            order,
            width,
            height,
            flat,
            start,
            stop,
            budget.view_rays,
            budget.seed + 4,
            boxes,
            origins,
            directions,
            slots,
        )
        read_sights(stage, scene, count, origins, directions, slots, sights)
        if renew is not None:
            renew[slots[:count]] = True

    over_tiles(len(order), RAYS_PER_TILE // budget.view_rays, work)


def camera_ways(
    view: View, size: tuple[int, int], order: Uint32Array, rays: int, budget: Budget
) -> Float32Array:
    """The unit ways (pixels · rays, 3) of a view's rays as they leave the camera."""
    out = np.empty((len(order) * rays, 3), np.float32)
    flat = _flat(view)

    def work(start: int, stop: int) -> None:
        part = slice(start * rays, stop * rays)
        most = (stop - start) * rays
        slots, origins = np.empty(most, np.int64), np.empty((most, 3), np.float32)
        camera_rays(
            order, *size, flat, start, stop, rays, budget.seed + 4, NO_BOXES, origins, out[part],
            slots,
        )  # fmt: skip

    over_tiles(len(order), RAYS_PER_TILE // rays, work)
    return out


def _flat(view: View) -> np.ndarray:
    return np.concatenate(
        [view.eye, view.forward, view.right, view.up, [view.tan_half_width, view.tan_half_height]]
    )


def read_sights(
    stage: Stage,
    scene: RayScene,
    count: int,
    origins: Float32Array,
    directions: Float32Array,
    slots: np.ndarray,
    sights: Sights,
) -> None:
    """Trace rays and write what each sees into its slot."""
    surfaces = stage.surfaces
    sheets = surfaces.sheets
    kinds, shapes, tables = source_table(stage.sources)
    far_side = np.zeros(len(sights.points) if len(sheets) else 0, np.bool_)
    sights.weight[slots[:count]] = 1.0
    for turn in range(_MOST_MIRRORS):
        hits = scene.first_hit(origins[:count], directions[:count])
        again = 0
        if len(sheets):
            onward = np.empty_like(origins), np.empty_like(directions), np.empty_like(slots)
            again = split_on_sheets(
                count,
                origins,
                directions,
                slots,
                hits.triangle,
                hits.distance,
                hits.normal,
                sheets,
                surfaces.sheet_faces,
                turn,
                sights.weight,
                far_side,
                *onward,
            )
        read_views(
            count,
            origins,
            directions,
            slots,
            hits.triangle,
            hits.distance,
            hits.u,
            hits.v,
            hits.normal,
            surfaces.corner_normals,
            surfaces.triangle_face,
            surfaces.face_material,
            surfaces.face_source,
            kinds,
            shapes,
            tables,
            OFFSET_M,
            len(surfaces.albedo),
            far_side,
            sights.points,
            sights.normals,
            sights.material,
            sights.seen,
            sights.luminance,
        )
        if again == 0:
            return
        (origins, directions, slots), count = onward, again
    sights.material[slots[:count]] = len(surfaces.albedo)
    sights.seen[slots[:count]] = -1


def seen_albedo(surfaces: Surfaces) -> Float32Array:
    """What share of light comes off what a ray sees: materials, nothing, fabrics from behind."""
    return np.vstack([surfaces.albedo, np.zeros((1, 3), np.float32), surfaces.through])


def seen_coats(surfaces: Surfaces) -> Float32Array:
    """Coats (2m + 1, 2) by what a ray sees, as `seen_albedo`."""
    matte = np.zeros((len(surfaces.coats) + 1, 2), np.float32)
    return np.vstack([surfaces.coats, matte])


def source_table(sources: tuple[Source, ...]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Kinds (s,), shapes (s, SHAPE_SIZE) and tables (s, n), padded with zeros."""
    longest = max((len(source.table) for source in sources), default=1)
    tables = np.zeros((len(sources), longest))
    for row, source in zip(tables, sources, strict=True):
        row[: len(source.table)] = source.table
    kinds = np.array([source.kind for source in sources], np.int64)
    shapes = np.array([source.shape for source in sources], np.float64).reshape(-1, SHAPE_SIZE)
    return kinds, shapes, tables
