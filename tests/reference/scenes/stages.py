"""Stages for tests, built from bare faces and sources: what a scene file cannot say."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

import numpy as np

from falloff.document import SceneDocument, parse_document
from falloff.photometry import IntensityDistribution, round_beam
from falloff.sources import Source
from falloff.stage import OFFSET_M, Grain, Probe, Stage
from falloff.stage.assemble import join_pieces
from falloff.stage.dice import PieceBuilder
from falloff.stage.records import Piece
from falloff.transport.bounce import Rows
from falloff.types import Float32Array, Float64Array

WHITE: Float32Array = np.ones(3, np.float32)
AXES = {"x": 0, "y": 1, "z": 2}


def stage_of(
    pieces: Iterable[Piece],
    *,
    sources: Iterable[Source] = (),
    reflectances: Mapping[str, float] | None = None,
    probes: Iterable[Probe] = (),
) -> Stage:
    """A stage of these pieces alone; a material not named reflects nothing."""
    parts, lights = list(pieces), tuple(sources)
    named = {name: 0.0 for piece in parts for name in piece.face_material}
    named.update(reflectances or {})
    surfaces, bodies, materials = join_pieces(
        parts, [source.name for source in lights], _document(named)
    )
    return Stage("test", surfaces, materials, lights, bodies, {}, tuple(probes), {}, ())


def box_room(
    size_m: tuple[float, float, float],
    *,
    grain: Grain | None = None,
    materials: Mapping[str, str] | None = None,
    leave_out: tuple[str, ...] = (),
) -> Piece:
    """The six faces of a box seen from inside, one corner at the origin.

    Faces are called x0, x1, y0, y1, z0 and z1; `materials` names those that are not "black".
    """
    builder = PieceBuilder("room", grain or Grain())
    x, y, z = (np.eye(3)[k] * size_m[k] for k in range(3))
    far = {"x1": x, "y1": y, "z1": z}
    edges = {"x0": (y, z), "x1": (z, y), "y0": (z, x), "y1": (x, z), "z0": (x, y), "z1": (y, x)}
    for name, (edge_u, edge_v) in edges.items():
        if name not in leave_out:
            builder.add_rectangle(
                far.get(name, np.zeros(3)),
                edge_u=edge_u,
                edge_v=edge_v,
                material=(materials or {}).get(name, "black"),
                name=name,
            )
    return builder.build()


def rectangle(
    name: str,
    origin: tuple[float, float, float],
    *,
    edge_u: tuple[float, float, float],
    edge_v: tuple[float, float, float],
    grain: Grain | None = None,
    material: str = "black",
) -> Piece:
    """One rectangle seen from the side of edge_u × edge_v."""
    builder = PieceBuilder(name, grain or Grain())
    builder.add_rectangle(
        np.array(origin), edge_u=np.array(edge_u), edge_v=np.array(edge_v), material=material
    )
    return builder.build()


def disc(
    name: str,
    centre: tuple[float, float, float],
    *,
    radius_m: float,
    up: bool,
    rings: int = 8,
    sides: int = 256,
) -> Piece:
    """A level disc as a mesh of rings, looking up or down; its area is 1e-4 short of round."""
    angle = np.linspace(0.0, 2.0 * math.pi, sides + 1)
    radius = radius_m * np.sqrt(np.arange(rings + 1) / rings)
    point = np.zeros((rings + 1, sides + 1, 3)) + np.array(centre)
    point[..., 0] += radius[:, None] * np.cos(angle)
    point[..., 1] += radius[:, None] * np.sin(angle)
    a, b = point[:-1, :-1], point[1:, :-1]
    c, d = point[1:, 1:], point[:-1, 1:]
    corners = np.concatenate(
        [np.stack([a, b, c], 2).reshape(-1, 3, 3), np.stack([a, c, d], 2).reshape(-1, 3, 3)]
    )
    if not up:
        corners = corners[:, ::-1]
    normal = np.array([0.0, 0.0, 1.0 if up else -1.0])
    builder = PieceBuilder(
        name, Grain(mesh_patch_area_m2=math.pi * radius_m**2 / 96, mesh_patches=(1, 96))
    )
    builder.add_mesh(
        corners, normals=np.broadcast_to(normal, corners.shape).copy(), material="black"
    )
    return builder.build()


def probe_at(
    name: str,
    point: tuple[float, float, float],
    normal: tuple[float, float, float],
    *,
    instrument: str = "flat",
) -> Probe:
    """A receptor just off a surface point, facing along `normal`."""
    way = np.array(normal, np.float64)
    way /= np.linalg.norm(way)
    return Probe(name, instrument, np.array(point) + OFFSET_M * way, way)


def matte_beam(steps: int = 512) -> IntensityDistribution:
    """I = I0 cosθ, finely tabulated (the trade profile "matte" is linear between 5° steps)."""
    angle = np.linspace(0.0, 0.5 * math.pi, steps + 1)
    return round_beam(angle, np.maximum(0.0, np.cos(angle)))


def area_factor(stage: Stage, rows: Rows, start: str, target: str) -> float:
    """The share of light leaving body `start` evenly that first meets body `target`."""
    return float(factors_to(stage, rows, start, stage.bodies[target].elements))


def factors_to(stage: Stage, rows: Rows, start: str, elements: tuple[int, int]) -> float:
    """The share of rays of body `start`, by area, that first meet a range of elements."""
    surfaces = stage.surfaces
    low, high = stage.bodies[start].patches
    ids = rows.ids[low:high]
    met = ((ids >= elements[0]) & (ids < elements[1])).sum(1)
    counted = (ids != surfaces.element_count + 1).sum(1)
    area = patch_area(stage)[low:high]
    return float((area * met / counted).sum() / area.sum())


def patch_area(stage: Stage) -> Float64Array:
    """Area of every patch, (p,) in m²."""
    surfaces = stage.surfaces
    area = surfaces.element_area_m2.astype(np.float64)
    return np.asarray(np.bincount(surfaces.element_patch, area, surfaces.patch_count), np.float64)


def face_means(stage: Stage, per_element: Float64Array) -> dict[str, float]:
    """The mean over each face of the room, by area; per_element: (e,)."""
    surfaces = stage.surfaces
    area = surfaces.element_area_m2.astype(np.float64)
    name = surfaces.face_name[surfaces.element_face]
    total = np.bincount(name, area * per_element, len(surfaces.names))
    size = np.bincount(name, area, len(surfaces.names))
    return {label: float(total[k] / size[k]) for k, label in enumerate(surfaces.names)}


def _document(reflectances: Mapping[str, float]) -> SceneDocument:
    lines = "".join(
        f"  {name}: {{reflectance: {value!r}}}\n" for name, value in reflectances.items()
    )
    first = next(iter(reflectances))
    return parse_document(
        "falloff: 1\ntitle: test\nunits: metric\n"
        "room:\n  floor: [[0 m, 0 m], [1 m, 0 m], [1 m, 1 m], [0 m, 1 m]]\n  height: 1 m\n"
        f"  floor_surface: {first}\n  ceiling_surface: {first}\n  wall_surface: {first}\n"
        f"materials:\n{lines}"
    )
