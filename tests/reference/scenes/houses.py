"""Rooms written as records, for tests of what they measure: floors, slopes, doors and skylights."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import msgspec
import numpy as np

from falloff.document import (
    Door,
    Gable,
    LeanTo,
    Opening,
    Quantity,
    Room,
    SceneDocument,
    Skylight,
    Window,
    parse_document,
)
from falloff.rays import RayScene
from falloff.stage import Grain
from falloff.stage.places import Placer
from falloff.stage.records import Piece
from falloff.stage.rooms import build_room
from falloff.types import BoolArray, Float64Array

BARE = """
falloff: 1
title: House
units: metric
room: {floor: [[0 m, 0 m], [5 m, 0 m], [5 m, 4 m], [0 m, 4 m]], height: 2.5 m,
       floor_surface: planks, ceiling_surface: plaster, wall_surface: plaster}
sky: {type: overcast, outside: 10000 lx}
cameras:
  A: {at: [2 m, 0.4 m, 1.3 m], aim: [2 m, 3 m, 1.3 m], lens: 35 mm}
"""


def m(length: float) -> Quantity:
    """A length in metres."""
    return Quantity(length, f"{length} m")


def deg(angle: float) -> Quantity:
    """An angle in degrees."""
    return Quantity(math.radians(angle), f"{angle} deg")


def room(
    corners: Sequence[tuple[float, float]],
    height: float,
    *,
    slope: LeanTo | Gable | None = None,
    **more: Any,
) -> Room:
    """A room of planks and plaster."""
    return Room(
        floor=tuple((m(x), m(y)) for x, y in corners),
        height=m(height),
        slope=slope,
        floor_surface="planks",
        ceiling_surface="plaster",
        wall_surface="plaster",
        **more,
    )


def box(x: float, y: float, *, width: float, depth: float) -> list[tuple[float, float]]:
    """Four corners, the first at (x, y)."""
    return [(x, y), (x + width, y), (x + width, y + depth), (x, y + depth)]


def window(
    wall: int, along: float, *, size: tuple[float, float], sill: float, **more: Any
) -> Window:
    """A window by its width and height."""
    return Window(
        wall=wall, along=m(along), width=m(size[0]), sill=m(sill), height=m(size[1]), **more
    )


def door(wall: int, along: float, **more: Any) -> Door:
    """A door of the usual size."""
    return Door(wall=wall, along=m(along), **more)


def skylight(x: float, y: float, *, size: tuple[float, float], **more: Any) -> Skylight:
    """A skylight over a point of the plan."""
    return Skylight(at=(m(x), m(y)), size=(m(size[0]), m(size[1])), **more)


def house(
    own: Room,
    *,
    rooms: Mapping[str, Room] | None = None,
    openings: Mapping[str, Opening] | None = None,
    **more: Any,
) -> Placer:
    """The places of a document with these rooms and openings and little else."""
    return Placer(document(own, rooms=rooms, openings=openings, **more))


def document(
    own: Room,
    *,
    rooms: Mapping[str, Room] | None = None,
    openings: Mapping[str, Opening] | None = None,
    **more: Any,
) -> SceneDocument:
    """A document with these rooms and openings and little else."""
    bare = parse_document(BARE, "house.scene.yaml")
    return msgspec.structs.replace(
        bare, room=own, rooms=dict(rooms or {}), openings=dict(openings or {}), **more
    )


def built(placer: Placer, grain: Grain | None = None) -> Piece:
    """The surfaces of its rooms."""
    return build_room(placer, grain or Grain())


# Measures --------------------------------------------------------------------------------


def areas_m2(piece: Piece) -> dict[str, float]:
    """Area of all elements of each named surface."""
    found: dict[str, float] = {}
    faces = np.bincount(
        piece.element_face, piece.element_area_m2.astype(np.float64), len(piece.face_name)
    )
    for name, area in zip(piece.face_name, faces, strict=True):
        key = name.removeprefix(f"{piece.name}: ")
        found[key] = found.get(key, 0.0) + float(area)
    return found


def triangle_areas_m2(piece: Piece) -> dict[str, float]:
    """Area of all triangles of each named surface."""
    corners = piece.corners.astype(np.float64)
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    found: dict[str, float] = {}
    for face, area in zip(piece.triangle_face, 0.5 * np.linalg.norm(cross, axis=1), strict=True):
        key = piece.face_name[face].removeprefix(f"{piece.name}: ")
        found[key] = found.get(key, 0.0) + float(area)
    return found


def volume_m3(piece: Piece) -> float:
    """Volume inside a closed surface that looks inward, by the divergence theorem."""
    a, b, c = piece.corners.astype(np.float64).swapaxes(0, 1)
    return float(-np.einsum("td,td->t", a, np.cross(b, c)).sum() / 6.0)


def escapes(
    piece: Piece, origins: Float64Array, *, count: int = 4000, seed: int = 7
) -> tuple[Float64Array, Float64Array, BoolArray]:
    """Rays from points (n, 3) every way: origins, unit ways, and which met no front.

    A ray that meets a back first has escaped too: it came through where nothing should let it.
    """
    rng = np.random.default_rng(seed)
    ways = rng.normal(size=(count, 3))
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    starts = origins[rng.integers(0, len(origins), count)]
    hits = RayScene(piece.corners).first_hit(starts.astype(np.float32), ways.astype(np.float32))
    behind = np.einsum("nd,nd->n", hits.normal, ways) * _handedness(piece) > 0.0
    return starts, ways, (hits.triangle < 0) | behind


def _handedness(piece: Piece) -> float:
    """Which way the ray scene's own normals look against ours: +1 or −1."""
    corners = piece.corners[0].astype(np.float64)
    normal = np.cross(corners[1] - corners[0], corners[2] - corners[0])
    normal /= np.linalg.norm(normal)
    start = (corners.mean(0) + 1e-3 * normal).astype(np.float32)
    hit = RayScene(piece.corners[:1]).first_hit(start[None], -normal.astype(np.float32)[None])
    return float(np.sign(hit.normal[0] @ normal))


def crosses(
    starts: Float64Array,
    ways: Float64Array,
    corner: Float64Array,
    edge_u: Float64Array,
    edge_v: Float64Array,
) -> BoolArray:
    """Which rays (n, 3) pass a parallelogram ahead of them."""
    matrix = np.stack(
        [np.broadcast_to(edge_u, ways.shape), np.broadcast_to(edge_v, ways.shape), -ways], -1
    )
    u, v, along = np.linalg.solve(matrix, (starts - corner)[..., None])[..., 0].T
    found: BoolArray = (along > 0.0) & (u >= 0.0) & (u <= 1.0) & (v >= 0.0) & (v <= 1.0)
    return found
