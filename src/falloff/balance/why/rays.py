"""Straight lines from a place to a source: its light in open air, and what stands between."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

import numpy as np

from falloff.rays import RayScene
from falloff.sources import BEAM, PANEL, POLYGON, SPHERE, TUBE, Source
from falloff.stage import OFFSET_M, Probe, Stage
from falloff.transport.direct import Receivers, direct_light
from falloff.types import Float64Array

NEAR: Final = (PANEL, POLYGON, SPHERE, TUBE, BEAM)  # kinds that stand in the room
_SAMPLES: Final = 256
_RAYS: Final = 1024
_SEED: Final = 71
_FAR_M: Final = 1e5
_LEAST_SHARE: Final = 0.03
_FAR_AWAY: Final = np.array([[[0, 0, 0], [1, 0, 0], [0, 1, 0]]], np.float32) + np.float32(_FAR_M)
DOORS: Final = "barndoor"  # what the leaves of a light are called among its surfaces


def open_air() -> RayScene:
    """A scene in which nothing is in the way of anything."""
    return RayScene(_FAR_AWAY)


def alone(stage: Stage, names: Iterable[str]) -> RayScene:
    """A scene of some bodies alone, as they stand; the doors of lights left out."""
    surfaces = stage.surfaces
    leaves = [name.endswith(f": {DOORS}") for name in surfaces.names]
    mine = np.zeros(len(surfaces.face_name), np.bool_)
    for body in (stage.bodies[name] for name in names if name in stage.bodies):
        mine[slice(*body.faces)] = True
    mine &= ~np.array(leaves, np.bool_)[surfaces.face_name]
    corners = surfaces.corners[mine[surfaces.triangle_face]]
    sheets = np.array([any(mine[n] for n in pair if n >= 0) for pair in surfaces.sheet_faces])
    if not len(corners):
        corners = _FAR_AWAY
    return RayScene(corners, surfaces.sheets[sheets.astype(np.bool_)])


def light_straight_lux(scene: RayScene, source: Source, probes: tuple[Probe, ...]) -> Float64Array:
    """What flat receptors (p,) get straight from a source among what stands in a scene, at full."""
    points = np.array([one.point for one in probes], np.float32).reshape(-1, 3)
    normals = np.array([one.normal for one in probes], np.float32).reshape(-1, 3)
    receivers = Receivers(points, normals, np.ones(len(probes), np.bool_))
    light = direct_light(scene, source, receivers, per_point=_RAYS, seed=_SEED)
    return np.asarray(light, np.float64)


def points_on(source: Source, toward: Float64Array) -> Float64Array:
    """Points (n, 3) spread over a source as it is seen from a point (3,)."""
    k = np.arange(_SAMPLES) + 0.5
    across, along = (k * 0.6180339887498949) % 1.0, k / _SAMPLES  # the golden ratio spreads evenly
    shape = source.shape
    if source.kind in (PANEL, POLYGON):
        inward = 0.02 + 0.96 * np.stack([across, along])
        return np.asarray(
            shape[:3] + inward[0][:, None] * shape[3:6] + inward[1][:, None] * shape[6:9]
        )
    if source.kind == TUBE:
        return np.asarray(shape[:3] + (0.98 * (along - 0.5))[:, None] * shape[6] * shape[3:6])
    if source.kind == BEAM:
        radius, turn = 0.98 * np.sqrt(along), 2.0 * math.pi * across
        u, v = radius * np.cos(turn), radius * np.sin(turn)
        return np.asarray(shape[:3] + u[:, None] * shape[6:9] + v[:, None] * shape[9:12])
    way = (toward - shape[:3]) / max(1e-9, float(np.linalg.norm(toward - shape[:3])))
    helper = np.array([0.0, 0.0, 1.0]) if abs(way[2]) < 0.9 else np.array([1.0, 0.0, 0.0])
    side = np.cross(helper, way)
    side /= np.linalg.norm(side)
    radius, turn = 0.95 * shape[3] * np.sqrt(along), 2.0 * math.pi * across
    u, v = radius * np.cos(turn), radius * np.sin(turn)
    return np.asarray(shape[:3] + u[:, None] * side + v[:, None] * np.cross(way, side))


def in_between(
    stage: Stage, scene: RayScene, source: Source, point: Float64Array
) -> tuple[float, dict[str, float]]:
    """Share of a source that a point (3,) sees, and of the rest what stands before it, by surface.

    Sheets of cloth, net and glass are not solid and are not in it: see `sheets_between`.
    """
    ends = points_on(source, point)
    way = ends - point
    length = np.linalg.norm(way, axis=1)
    origins = np.tile(point.astype(np.float32), (len(ends), 1))
    ways = (way / length[:, None]).astype(np.float32)
    hits = scene.first_hit(origins, ways)
    before = (hits.triangle >= 0) & (hits.distance < length - 2e-3 - 1e-4 * length)
    surfaces = stage.surfaces
    found: dict[str, float] = {}
    for triangle in hits.triangle[before]:
        face = surfaces.triangle_face[triangle]
        name = surfaces.names[surfaces.face_name[face]]
        if surfaces.face_source[face] >= 0 and name.split(": ")[0] == source.name:
            continue
        found[name] = found.get(name, 0.0) + 1.0 / len(ends)
    seen = 1.0 - sum(found.values())
    ranked = sorted(found.items(), key=lambda item: -item[1])
    return seen, {name: share for name, share in ranked if share >= _LEAST_SHARE}


def sheets_between(stage: Stage, start: Float64Array, end: Float64Array) -> list[str]:
    """Names of the cloths, nets, panes and mirrors that a line crosses."""
    surfaces = stage.surfaces
    found: list[str] = []
    way = end - start
    for sheet, faces in zip(surfaces.sheets, surfaces.sheet_faces, strict=True):
        normal = sheet[9:12]
        slope = float(way @ normal)
        if abs(slope) < 1e-9:
            continue
        share = float((sheet[:3] - start) @ normal) / slope
        if not 1e-6 < share < 1.0 - 1e-6:
            continue
        inside = start + share * way - sheet[:3]
        u = float(inside @ sheet[3:6]) / float(sheet[3:6] @ sheet[3:6])
        v = float(inside @ sheet[6:9]) / float(sheet[6:9] @ sheet[6:9])
        if 0.0 <= u <= 1.0 and 0.0 <= v <= 1.0:
            face = next((int(one) for one in faces if one >= 0), -1)
            name = surfaces.names[surfaces.face_name[face]] if face >= 0 else "glass"
            found.append(name.split(": ")[0] if name.startswith("room: ") is False else name)
    return list(dict.fromkeys(found))


def things_of(names: Iterable[str]) -> tuple[str, ...]:
    """The things that surfaces belong to: "SOLID" of "SOLID: front"."""
    things = (name.partition(": ") for name in names)
    return tuple(dict.fromkeys(part if thing == "room" else thing for thing, _, part in things))


def lifted(point: Float64Array, normal: Float64Array) -> Float64Array:
    """A point off its surface, so that rays from it do not meet that."""
    return np.asarray(point + 5.0 * OFFSET_M * normal)
