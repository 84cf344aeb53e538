"""Direct light of one source on receivers: closed form times the ratio of shadow rays."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from falloff.rays import RayScene
from falloff.sources import BEAM, SKY, SPHERE, SUN, TUBE, Source
from falloff.transport.change import NO_BOXES, NO_MARKS, Change
from falloff.transport.kept import Keeping, KeptPart
from falloff.transport.kernels_direct import add_visible, finish_direct, shadow_rays
from falloff.transport.kernels_emission import cells_of_rays
from falloff.transport.kernels_sheen import sheen_of_rays
from falloff.transport.kernels_sheets import dim_by_sheets
from falloff.transport.mirrors import (
    faces_mirror,
    image_of,
    mirrors_in,
    reach_by_mirror,
    turned,
)
from falloff.transport.tiles import RAYS_PER_TILE, over_tiles
from falloff.types import BoolArray, Float32Array, Float64Array, Int32Array, Uint16Array

_SUN_AT_M = 1e6
_PLACE_M = 100.0

_LEAST = 1e-30
_FEW_RAYS = 4096
_POOLED = False  # each point has a sheen of its own


@dataclass(frozen=True, slots=True)
class Receivers:
    """Points (n, 3) in metres, unit normals (n, 3), and which of them count (n,)."""

    points: Float32Array
    normals: Float32Array
    alive: BoolArray


@dataclass(frozen=True, slots=True)
class Gloss:
    """What is to be known of receivers that an eye looks at, and where their sheen is written.

    eye: (3,) metres; material: (n,); coats: (m, 2) as in Surfaces, for every material index; out:
    (n,) luminance (cd/m², at 100 % and white) of each receiver's coat towards the eye.
    """

    eye: Float32Array
    material: Uint16Array
    coats: Float32Array
    out: Float32Array


@dataclass(frozen=True, slots=True)
class Renewal:
    """Earlier illuminance, what moved since, and the groups to be done whatever moved."""

    before: Float32Array
    change: Change
    renew: BoolArray  # (g,)


def direct_light(
    scene: RayScene,
    source: Source,
    receivers: Receivers,
    *,
    per_point: int,
    seed: int,
    group: int = 1,
    stride: int = 1,
    pool_all: bool = False,
    dome: bool = False,
    renewal: Renewal | None = None,
    gloss: Gloss | None = None,
    keep: Keeping | None = None,
) -> Float32Array:
    """Illuminance (lux, at 100 % and white) on receivers, (n,), or on whole groups of them.

    A group is the first `group` receivers of every `stride`, whose shadow rays are shared by those
    on one surface; with pool_all by all, and there is one mean value a group, (n / stride,).
    With a renewal only those groups are done whose rays the moved body may cross, and the result
    equals a new trace bit for bit; where there are mirrors, all are done. gloss: to have the
    receivers' sheen too, by the same rays. keep: to have the rays that reach a sky besides. Light
    by way of one mirror is in it, of two is not.
    """
    how = _How(per_point, seed + 131 * source.kind + 7, group, stride, pool_all, dome)
    mirrors = mirrors_in(scene.sheets)
    if not mirrors.size:
        return _straight(scene, source, receivers, how, renewal=renewal, gloss=gloss, keep=keep)
    if gloss is not None:
        gloss.out[:] = 0.0
    light = _straight(scene, source, receivers, how, gloss=gloss, keep=keep)
    for k in mirrors:
        sheet = scene.sheets[k]
        alive = receivers.alive
        if not (pool_all or dome):
            alive = alive & faces_mirror(receivers.points, receivers.normals, sheet)
        images = Receivers(
            image_of(receivers.points, sheet), turned(receivers.normals, sheet), alive
        )
        coat = None
        if gloss is not None:
            eye = image_of(gloss.eye[None], sheet)[0]
            coat = replace(gloss, eye=eye, out=np.zeros_like(gloss.out))
        light += _straight(scene, source, images, how, gloss=coat, mirror=int(k), keep=keep)
        if gloss is not None and coat is not None:
            gloss.out[:] += coat.out
    return light


@dataclass(frozen=True, slots=True)
class _How:
    """How shadow rays are dealt out; see `direct_light`."""

    per_point: int
    seed: int
    group: int
    stride: int
    pool_all: bool
    dome: bool


def _straight(
    scene: RayScene,
    source: Source,
    receivers: Receivers,
    how: _How,
    *,
    renewal: Renewal | None = None,
    gloss: Gloss | None = None,
    mirror: int | None = None,
    keep: Keeping | None = None,
) -> Float32Array:
    """Light on straight lines; mirror: on receivers that are images in it, through it alone."""
    per_point, group, stride, pool_all = how.per_point, how.group, how.stride, how.pool_all
    groups = len(receivers.points) // stride
    middle, radius = middle_of(source)
    if renewal is None:
        boxes, tubes, renew = NO_BOXES, NO_BOXES, NO_MARKS
        illuminance = np.zeros(groups if pool_all else groups * stride, np.float32)
    else:
        boxes, renew = renewal.change.boxes, renewal.renew
        tubes = renewal.change.tubes(radius)
        illuminance = renewal.before.copy()
    from_sky = source.kind == SKY
    if keep is not None:
        keep.begin()

    def work(start: int, stop: int) -> None:
        most = (stop - start) * group * per_point
        origins, directions = np.empty((most, 3), np.float32), np.empty((most, 3), np.float32)
        lengths, weights = np.empty(most, np.float32), np.empty(most, np.float32)
        owners = np.empty(most, np.int32)
        size = stop - start
        below, whole, above = (np.zeros(size * stride) for _ in range(3))
        leads, touched = np.empty(size * stride, np.int32), np.zeros(size, np.bool_)
        chunk = slice(start * stride, stop * stride)
        alive = receivers.alive[chunk]
        count = shadow_rays(
            source.kind,
            source.shape,
            source.table,
            middle,
            receivers.points[chunk],
            receivers.normals[chunk],
            alive,
            group,
            stride,
            start * stride,
            size,
            per_point,
            how.dome,
            pool_all,
            how.seed,
            boxes,
            tubes,
            renew[start:stop] if renewal is not None else NO_MARKS,
            origins,
            directions,
            lengths,
            weights,
            owners,
            leads,
            below,
            whole,
            touched,
        )
        rays = (origins[:count], directions[:count], lengths[:count], weights[:count])
        if mirror is not None:
            free = reach_by_mirror(scene, mirror, rays, from_sky=from_sky)
        else:
            if len(scene.sheets):
                dim_by_sheets(count, *rays, scene.sheets, from_sky)
            free = scene.reaches(*rays[:3])
        add_visible(count, free, weights, owners, above)
        coats = None
        if gloss is not None:
            coats = _add_sheen(
                gloss, chunk, receivers, (count, directions, owners, weights), free,
                (size, group, stride, alive, leads, touched), below, whole,
            )  # fmt: skip
        if keep is not None:
            cells = np.empty(count, np.uint16)
            cells_of_rays(source.table, origins[:count], directions[:count], cells)
            part = KeptPart(cells, owners[:count], weights[:count], coats)
            keep.add(part, free, whole / np.maximum(below, _LEAST), leads, start * stride)
        finish_direct(
            size,
            group,
            stride,
            pool_all,
            alive,
            leads,
            touched,
            above,
            below,
            whole,
            illuminance[start:stop] if pool_all else illuminance[chunk],
        )

    if groups * group * per_point <= _FEW_RAYS:
        work(0, groups)  # handing it out would take longer
    else:
        over_tiles(groups, max(1, RAYS_PER_TILE // (group * per_point)), work)
    return illuminance


def _add_sheen(
    gloss: Gloss,
    chunk: slice,
    receivers: Receivers,
    rays: tuple[int, Float32Array, Int32Array, Float32Array],
    free: Int32Array,
    groups: tuple[int, int, int, BoolArray, Int32Array, BoolArray],
    below: Float64Array,
    whole: Float64Array,
) -> Float32Array | None:
    """Write the sheen of one stretch of receivers, by the rays that their light was found with.

    Returns the rays' weights in it, None where nothing is glossy.
    """
    count, directions, owners, weights = rays
    size, group, stride, alive, leads, touched = groups
    seen = np.empty_like(weights)
    glossy = sheen_of_rays(
        count,
        directions,
        owners,
        weights,
        receivers.points[chunk],
        receivers.normals[chunk],
        gloss.material[chunk],
        gloss.coats,
        gloss.eye,
        seen,
    )
    if not glossy:
        return None
    above = np.zeros(len(below))
    add_visible(count, free, seen, owners, above)
    finish_direct(
        size, group, stride, _POOLED, alive, leads, touched, above, below, whole, gloss.out[chunk]
    )
    return seen


def middle_of(source: Source) -> tuple[Float32Array, float]:
    """The middle of a source (3,) and the radius of a ball round it that holds it (m).

    The sun's middle is so far away that lines to it are as good as parallel; its radius is how far
    its rays spread within the longest place there is.
    """
    shape = source.shape
    if source.kind == SPHERE:
        return shape[:3].astype(np.float32), float(shape[3])
    if source.kind == SUN:
        return (_SUN_AT_M * shape[:3]).astype(np.float32), _PLACE_M * float(shape[3])
    if source.kind == TUBE:
        return shape[:3].astype(np.float32), math.hypot(0.5 * shape[6], shape[7])
    if source.kind == BEAM:
        wide, high = (float(np.linalg.norm(half)) for half in (shape[6:9], shape[9:12]))
        return shape[:3].astype(np.float32), math.hypot(wide, high) if shape[17] else max(
            wide, high
        )
    half = 0.5 * (shape[3:6] + shape[6:9])
    other = 0.5 * (shape[3:6] - shape[6:9])
    radius = max(float(np.linalg.norm(half)), float(np.linalg.norm(other)))
    return (shape[:3] + half).astype(np.float32), radius
