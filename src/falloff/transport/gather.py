"""What receivers gather of settled light: hit lists, and shadow rays to hot spots."""

from __future__ import annotations

import numpy as np

from falloff.rays import RayScene
from falloff.stage import Stage
from falloff.transport.bounce import landing_of, read_hits
from falloff.transport.change import NO_BOXES, NO_MARKS, Change
from falloff.transport.direct import Receivers
from falloff.transport.kernels_bounce import add_hot, hot_rays
from falloff.transport.kernels_rays import hemisphere_rays
from falloff.transport.kernels_sheets import dim_by_sheets
from falloff.transport.tiles import RAYS_PER_TILE, over_tiles
from falloff.transport.trace import HotSpots, Solution
from falloff.types import BoolArray, Float32Array, Uint16Array

_FROM_SKY = False  # what comes off elements holds no pane


def gather_lists(
    stage: Stage,
    scene: RayScene,
    receivers: Receivers,
    per_point: int,
    seed: int,
    *,
    dome: bool = False,
    turned: BoolArray | None = None,
) -> Uint16Array:
    """Elements met by each receiver's rays; (r, per_point), the element count for none.

    turned: (r · per_point,), set for rays that a pane or a mirror has sent on.
    """
    ids = np.full((len(receivers.points), per_point), stage.surfaces.element_count, np.uint16)
    regather(stage, scene, receivers, ids, seed, None, NO_MARKS, dome=dome, turned=turned)
    return ids


def regather(
    stage: Stage,
    scene: RayScene,
    receivers: Receivers,
    ids: Uint16Array,
    seed: int,
    change: Change | None,
    renew: BoolArray,
    *,
    dome: bool = False,
    turned: BoolArray | None = None,
) -> None:
    """Fill gather lists in place; with a change, only rays that it may touch."""
    per_point = ids.shape[1]
    flat_ids = ids.reshape(-1)
    boxes = NO_BOXES if change is None else change.mirrored

    def work(start: int, stop: int) -> None:
        most = (stop - start) * per_point
        origins, directions = np.empty((most, 3), np.float32), np.empty((most, 3), np.float32)
        slots = np.empty(most, np.int64)
        count = hemisphere_rays(
            receivers.points,
            receivers.normals,
            receivers.alive,
            start,
            stop,
            per_point,
            dome,
            seed,
            boxes,
            renew,
            origins,
            directions,
            slots,
        )
        read_hits(stage.surfaces, scene, count, origins, directions, slots, flat_ids, turned=turned)

    over_tiles(len(ids), max(1, RAYS_PER_TILE // per_point), work)


def hot_light(
    solution: Solution,
    receivers: Receivers,
    radiosity: Float32Array,
    hot: HotSpots,
    *,
    per_point: int,
    gather_rays: int,
    seed: int,
    dome: bool = False,
) -> Float32Array:
    """Illuminance (r, 3) lux by shadow rays to hot elements: what gather rays leave of it."""
    surfaces = solution.stage.surfaces
    out = np.zeros((len(receivers.points), 3), np.float32)
    sending_m2 = surfaces.element_area_m2 * landing_of(surfaces)

    def work(start: int, stop: int) -> None:
        most = (stop - start) * per_point
        origins, directions = np.empty((most, 3), np.float32), np.empty((most, 3), np.float32)
        lengths, weights = np.empty(most, np.float32), np.empty(most, np.float32)
        slots, elements = np.empty(most, np.int64), np.empty(most, np.int64)
        count = hot_rays(
            hot.elements,
            hot.share,
            hot.chance,
            surfaces.element_points,
            surfaces.element_normals,
            sending_m2,
            hot.table,
            gather_rays,
            receivers.points,
            receivers.normals,
            receivers.alive,
            start,
            stop,
            per_point,
            dome,
            seed,
            origins,
            directions,
            lengths,
            weights,
            slots,
            elements,
        )
        if len(solution.scene.sheets):
            sheets = solution.scene.sheets
            dim_by_sheets(count, origins, directions, lengths, weights, sheets, _FROM_SKY)
        free = solution.scene.reaches(origins[:count], directions[:count], lengths[:count])
        add_hot(count, free, weights, slots, elements, radiosity, out)

    over_tiles(len(receivers.points), RAYS_PER_TILE // per_point, work)
    return out
