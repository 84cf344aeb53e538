"""The bounce operator: where the rays of every patch land, and the light that settles on it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.rays import Hits, RayScene
from falloff.sources import BEAM, SKY, SUN, Source
from falloff.stage import POINTS_PER_ELEMENT, Surfaces
from falloff.transport.budget import Budget
from falloff.transport.change import NO_BOXES, NO_MARKS, Change
from falloff.transport.direct import Receivers, Renewal, direct_light
from falloff.transport.kept import Keeping
from falloff.transport.kernels_bounce import first_bounce, mark_crossing, solve_bounce, tilt
from falloff.transport.kernels_rays import read_elements, row_rays
from falloff.transport.kernels_sheets import land_on_sheets
from falloff.transport.kernels_shoot import beam_rays, sun_rays
from falloff.transport.tiles import RAYS_PER_TILE, over_tiles
from falloff.types import BoolArray, Float32Array, Float64Array, Uint16Array

_MOST_TURNS = 200
_SHARE_THAT_DOES = 0.5  # of a beam's rays that land in the room
_MOST_TIMES = 32
CREVICE_M: Final = 0.015  # a plate on a hob, a door before its carcass
_MOST_MIRRORS = 4  # that a ray is sent on by


@dataclass(frozen=True, slots=True)
class Rows:
    """F as hit lists: ids (p, k) of elements met, and which sample points lie in the open.

    Id e (the element count) stands for a ray that left the room, e + 1 for one not to be counted.
    exposed: (e, 16). patch_ids: (p, k) the same hits by patch, p or p + 1 for none; share: (p,)
    one over the count of rays that are counted.
    """

    ids: Uint16Array
    exposed: BoolArray
    patch_ids: Uint16Array
    share: Float32Array


def read_hits(
    surfaces: Surfaces,
    scene: RayScene,
    count: int,
    origins: Float32Array,
    directions: Float32Array,
    slots: np.ndarray,
    ids: Uint16Array,
    *,
    carry_light: bool = False,
    turned: BoolArray | None = None,
) -> None:
    """Trace rays and write the element that each meets into the flat list ids[slot].

    carry_light: whether they are light shot from a source, of which panes keep their part;
    turned: where turned[slot] is written for rays that a pane or a mirror has sent on.
    """
    elements = surfaces.element_count
    for turn in range(_MOST_MIRRORS):
        hits = scene.first_hit(origins[:count], directions[:count])
        again = 0
        if len(scene.sheets):
            onward = np.empty_like(origins), np.empty_like(directions), np.empty_like(slots)
            again = land_on_sheets(
                count,
                origins,
                directions,
                slots,
                hits.triangle,
                hits.distance,
                hits.normal,
                scene.sheets,
                surfaces.sheet_faces,
                turn,
                carry_light,
                *onward,
            )
        _read(surfaces, hits, count, origins, directions, slots, ids, elements)
        if again == 0:
            return
        (origins, directions, slots), count = onward, again
        if turned is not None:
            turned[slots[:count]] = True
    ids[slots[:count]] = elements


def _read(
    surfaces: Surfaces,
    hits: Hits,
    count: int,
    origins: Float32Array,
    directions: Float32Array,
    slots: np.ndarray,
    ids: Uint16Array,
    elements: int,
) -> None:
    read_elements(
        count,
        origins,
        directions,
        slots,
        hits.triangle,
        hits.distance,
        hits.normal,
        surfaces.triangle_face,
        surfaces.triangle_element,
        surfaces.face_frame,
        surfaces.face_grid,
        surfaces.face_step_m,
        surfaces.cell_element,
        elements,
        elements + 1,
        ids,
    )


def exposed_points(
    surfaces: Surfaces,
    scene: RayScene,
    before: BoolArray | None = None,
    change: Change | None = None,
) -> BoolArray:
    """Which sample points (e, 16) do not lie inside a solid, nor in a crevice between two.

    In a crevice both ways out meet a surface nearer than CREVICE_M. Hardly any light gets there,
    but an element that reaches into it from outside would light it as brightly as its open part.

    A point is buried when a way out of its surface first meets the back of a face. Two ways are
    tried, straight out and aslant: where one solid stands on another, two faces lie in one plane,
    and which of them a straight ray meets first is left to chance.
    """
    points = surfaces.element_points.reshape(-1, 3)
    normals = surfaces.element_normals.reshape(-1, 3)
    aslant = np.empty_like(normals)
    tilt(normals, aslant)
    if before is None or change is None:
        todo = np.arange(len(points))
        exposed = np.ones(len(points), np.bool_)
    else:
        # Only points whose ways out pass the moved body's boxes can have changed.
        exposed = before.reshape(-1).copy()
        marks = np.repeat(change.own_elements(surfaces.element_count), POINTS_PER_ELEMENT)
        mark_crossing(points, normals, change.boxes, marks)
        mark_crossing(points, aslant, change.boxes, marks)
        todo = np.flatnonzero(marks)

    def work(start: int, stop: int) -> None:
        part = todo[start:stop]
        buried, narrow = np.zeros(len(part), np.bool_), np.ones(len(part), np.bool_)
        for ways in (normals[part], aslant[part]):
            hits = scene.first_hit(points[part], ways)
            back = np.einsum("ij,ij->i", hits.normal, ways) > 0.0
            buried |= (hits.triangle >= 0) & back
            narrow &= (hits.triangle >= 0) & (hits.distance < CREVICE_M)
        exposed[part] = ~(buried | narrow)

    over_tiles(len(todo), RAYS_PER_TILE, work)
    return exposed.reshape(-1, POINTS_PER_ELEMENT)


def trace_rows(
    surfaces: Surfaces,
    scene: RayScene,
    budget: Budget,
    before: Rows | None = None,
    change: Change | None = None,
) -> Rows:
    """Shoot the rays of every patch, or only those that a moved body may cross."""
    patches, rays = surfaces.patch_count, budget.row_rays
    if before is None or change is None:
        exposed = exposed_points(surfaces, scene)
        boxes, renew = NO_BOXES, NO_MARKS
        ids = np.full(patches * rays, surfaces.element_count + 1, np.uint16)
    else:
        exposed = exposed_points(surfaces, scene, before.exposed, change)
        boxes = change.mirrored
        renew = change.own_patches(patches)
        # Rows whose points were buried or freed are done anew.
        turned = np.flatnonzero((exposed != before.exposed).any(1))
        renew[surfaces.element_patch[turned]] = True
        ids = before.ids.reshape(-1).copy()
        ids.reshape(patches, rays)[renew] = surfaces.element_count + 1

    def work(start: int, stop: int) -> None:
        most = (stop - start) * rays
        origins, directions = np.empty((most, 3), np.float32), np.empty((most, 3), np.float32)
        slots = np.empty(most, np.int64)
        count = row_rays(
            surfaces.patch_first,
            surfaces.element_area_m2,
            surfaces.element_points,
            surfaces.element_normals,
            exposed,
            start,
            stop,
            rays,
            budget.seed + 1,
            boxes,
            renew,
            origins,
            directions,
            slots,
        )
        read_hits(surfaces, scene, count, origins, directions, slots, ids)

    over_tiles(patches, RAYS_PER_TILE // rays, work)
    return fold_rows(surfaces, ids.reshape(patches, rays), exposed)


def fold_rows(surfaces: Surfaces, ids: Uint16Array, exposed: BoolArray) -> Rows:
    """Rows from hit lists, with what the solve needs of them."""
    patches, elements = surfaces.patch_count, surfaces.element_count
    fold = np.concatenate([surfaces.element_patch, [patches, patches + 1]]).astype(np.uint16)
    valid = (ids != elements + 1).sum(1)
    share = (1.0 / np.maximum(valid, 1)).astype(np.float32)
    return Rows(ids, exposed, fold[ids], share)


def element_light(
    surfaces: Surfaces,
    scene: RayScene,
    source: Source,
    exposed: BoolArray,
    budget: Budget,
    before: Float32Array | None = None,
    change: Change | None = None,
    turned: BoolArray | None = None,
    *,
    keep: Keeping | None = None,
) -> Float32Array:
    """Direct illuminance (lux, at 100 %) of every element from one source; (e,).

    A beam is shot from its mouth and the sun through the holes it shines into, so that their flux
    is exact whatever it lands on; other sources are sampled from a few points of each element.
    """
    if source.kind == BEAM or (source.kind == SUN and source.flux_lm > 0.0):
        return _shot_light(surfaces, scene, source, exposed, budget)
    receivers = Receivers(
        surfaces.element_points.reshape(-1, 3),
        surfaces.element_normals.reshape(-1, 3),
        exposed.reshape(-1),
    )
    renewal = None
    if before is not None and change is not None and turned is not None:
        renewal = Renewal(before, change, turned)
    return direct_light(
        scene,
        source,
        receivers,
        per_point=budget.opening_rays if source.kind == SKY else budget.element_rays,
        group=budget.element_points,
        stride=POINTS_PER_ELEMENT,
        pool_all=True,
        seed=budget.seed + 2,
        renewal=renewal,
        keep=keep,
    )


def _shot_light(
    surfaces: Surfaces, scene: RayScene, source: Source, exposed: BoolArray, budget: Budget
) -> Float32Array:
    """What lands on each element over the part of it that nothing stands on."""
    rays = budget.beam_rays
    landed = _landed(surfaces, scene, source, rays, budget.seed + 3)
    share = float(landed.sum()) / rays
    if 0.0 < share < _SHARE_THAT_DOES:  # most of it misses: a head outside, through a window
        rays *= min(_MOST_TIMES, 2 ** math.ceil(math.log2(_SHARE_THAT_DOES / share)))
        landed = _landed(surfaces, scene, source, rays, budget.seed + 3)
    free_m2 = surfaces.element_area_m2 * np.maximum(exposed.mean(1), 1.0 / POINTS_PER_ELEMENT)
    light = landed * (source.flux_lm / rays) / free_m2 / landing_of(surfaces)
    return np.asarray(light, np.float32)


def _landed(
    surfaces: Surfaces, scene: RayScene, source: Source, rays: int, seed: int
) -> Float64Array:
    """How many of a beam's rays land on each element (e,)."""
    origins, directions = np.empty((rays, 3), np.float32), np.empty((rays, 3), np.float32)
    count = rays
    if source.kind == SUN:
        count = sun_rays(source.shape, source.table, rays, seed, origins, directions)
        # What stands outside, before the hole, keeps its rays out.
        back = scene.reaches(origins[:count], -directions[:count], np.full(count, 1e3, np.float32))
        count = int(np.count_nonzero(back < 0))
        free = np.flatnonzero(back < 0)
        origins[:count], directions[:count] = origins[free], directions[free]
    else:
        beam_rays(source.shape, source.angle_of_share, rays, seed, origins, directions)
    ids = np.empty(count, np.uint16)
    slots = np.arange(count)
    read_hits(surfaces, scene, count, origins, directions, slots, ids, carry_light=True)
    counts = np.bincount(ids, minlength=surfaces.element_count + 2)[: surfaces.element_count]
    return counts.astype(np.float64)


def settle(
    surfaces: Surfaces, rows: Rows, direct: Float32Array, budget: Budget
) -> tuple[Float32Array, Float32Array]:
    """Bounced irradiance of patches and radiosity of elements, three channels.

    direct: (s, e) lux of white sources. Returns (s, 3, p) and (s, 3, e + 2), the last two of
    which are zero and stand for rays that met nothing. Channels with the same reflectance
    everywhere share one solve.
    """
    sources, elements = direct.shape
    patches = surfaces.patch_count
    material = surfaces.face_material[surfaces.element_face]
    gain = 1.0 / landing_of(surfaces)
    albedo = surfaces.albedo[material] * gain[:, None]
    through = surfaces.through[material] * gain[:, None]
    partner = surfaces.element_partner
    first_of_patch = surfaces.patch_first[:-1]
    patch_partner = surfaces.element_patch[partner[first_of_patch]]
    bounced = np.empty((sources, 3, patches), np.float32)
    radiosity = np.zeros((sources, 3, elements + 2), np.float32)
    both = np.concatenate([albedo, through])
    grey = [0, *(c if np.any(both[:, c] != both[:, 0]) else 0 for c in (1, 2))]

    def leaving(light: Float32Array, c: int) -> Float32Array:
        return np.asarray(albedo[:, c] * light + through[:, c] * light[partner])

    def work(start: int, stop: int) -> None:
        for column in range(start, stop):
            s, c = divmod(column, 3)
            if grey[c] != c:
                continue
            begun = np.zeros(elements + 2, np.float32)
            begun[:elements] = leaving(direct[s], c)
            start_light = np.empty(patches, np.float32)
            first_bounce(rows.ids, 0, patches, begun, rows.share, start_light)
            solve_bounce(
                rows.patch_ids,
                start_light,
                albedo[first_of_patch, c],
                through[first_of_patch, c],
                patch_partner,
                rows.share,
                budget.tolerance,
                _MOST_TURNS,
                np.zeros(patches + 2, np.float32),
                bounced[s, c],
            )
            light = direct[s] + bounced[s, c][surfaces.element_patch]
            radiosity[s, c, :elements] = leaving(light, c)

    over_tiles(3 * sources, 1, work)
    for c in (1, 2):
        if grey[c] != c:
            bounced[:, c], radiosity[:, c] = bounced[:, 0], radiosity[:, 0]
    return bounced, radiosity


def landing_of(surfaces: Surfaces) -> Float32Array:
    """The share of rays (e,) that end on an element they meet; below one on a fabric."""
    return np.asarray(surfaces.landing[surfaces.face_material[surfaces.element_face]])
