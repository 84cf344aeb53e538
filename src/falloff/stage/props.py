"""Surfaces of the things that stand in a room."""

from __future__ import annotations

import difflib
import functools
import math
from collections.abc import Mapping
from typing import Final, cast

import numpy as np

from falloff.document import Box, Cylinder, Furniture, Prop
from falloff.errors import GeometryError
from falloff.kit import BoxSolid, Solid, furniture, solid_mesh
from falloff.stage.boards import parted
from falloff.stage.clusters import facing_and_area
from falloff.stage.dice import PieceBuilder
from falloff.stage.grain import Grain, finer
from falloff.stage.meshes import MeshData
from falloff.stage.places import Placer, direction
from falloff.stage.records import Piece
from falloff.stage.shapes import PropShape, shape_in
from falloff.stage.solids import add_box, add_cylinder, add_surface, box_faces
from falloff.types import Float64Array

_UP = np.array([0.0, 0.0, 1.0])
# A face of furniture is cut flat from these sides on (m); smaller ones of a part share clusters.
_FLAT_LONG_M: Final = 0.25
_FLAT_SHORT_M: Final = 0.12
_ALONE_M2: Final = 0.3  # round and soft solids from this area on have clusters of their own


def build_prop(placer: Placer, name: str, grain: Grain) -> Piece:
    """A box, a cylinder, a mesh from a file or a piece of furniture, standing where it was put.

    Raises GeometryError for a mesh that cannot be read, furniture that cannot be made, and
    surfaces of parts that a thing does not have.
    """
    prop = placer.document.props[name]
    shape = shape_in(placer.document, name)
    surfaces = _surfaces(placer, name, prop, shape)
    axes = np.array([direction(prop.turn.si), direction(prop.turn.si + 0.5 * math.pi), _UP])
    base = placer.origin(name)
    if isinstance(prop.shape, Box | Cylinder):
        builder = PieceBuilder(name, grain)
        _add_plain(builder, base, axes, prop.shape, prop.surface)
        return builder.build()
    if shape.mesh is not None:
        builder = PieceBuilder(name, grain)
        _add_file_mesh(builder, base, axes, shape.mesh, prop.surface)
        return builder.build()
    assert isinstance(prop.shape, Furniture)
    return _own_furniture(name, prop.shape, tuple(surfaces.items()), grain).placed(base, axes.T)


def _add_plain(
    builder: PieceBuilder,
    base: Float64Array,
    axes: Float64Array,
    shape: Box | Cylinder,
    material: str,
) -> None:
    if isinstance(shape, Cylinder):
        top = base + shape.height.si * _UP
        add_cylinder(builder, base, top, shape.diameter.si / 2, material)
        return
    size = (shape.size[0].si, shape.size[1].si, shape.size[2].si)
    x, y, z = axes
    add_box(builder, base + 0.5 * size[2] * _UP, (x, y, z), size, material, "")


def _add_file_mesh(
    builder: PieceBuilder,
    base: Float64Array,
    axes: Float64Array,
    mesh: MeshData,
    material: str,
) -> None:
    """Both sides of an open surface have clusters of their own, since their light differs."""
    corners, normals = base + mesh.corners @ axes, mesh.normals @ axes
    for side in (slice(0, mesh.second_side), slice(mesh.second_side, None)):
        if len(corners[side]):
            add_surface(builder, corners[side], normals[side], material=material)


# Furniture -------------------------------------------------------------------------------


@functools.lru_cache(maxsize=128)
def _own_furniture(
    name: str, shape: Furniture, surfaces: tuple[tuple[str, str], ...], grain: Grain
) -> Piece:
    """A piece of furniture in its own frame; kept, since cutting one up is slow."""
    size = None if shape.size is None else tuple(side.si for side in shape.size)
    made = furniture(
        shape.kind,
        size_m=cast("tuple[float, float, float] | None", size),
        count=shape.count,
        open_rad=None if shape.open is None else shape.open.si,
    )
    # A lamp inside lights one shelf and leaves the next one dark.
    stands_open = shape.open is not None and shape.open.si > 0.0
    builder = PieceBuilder(name, finer(grain) if stands_open else grain)
    _add_furniture(builder, made.solids, dict(surfaces))
    return builder.build()


def _add_furniture(
    builder: PieceBuilder, solids: tuple[Solid, ...], surfaces: Mapping[str, str]
) -> None:
    """Large boards as flat faces; of what is small, all of a part as one mesh of few clusters."""
    small: dict[str, list[tuple[Float64Array, Float64Array]]] = {}
    boards = [one for one in solids if isinstance(one, BoxSolid) and one.soft == 0.0]
    for solid in solids:
        if isinstance(solid, BoxSolid) and solid.soft == 0.0:
            _add_board(builder, solid, boards, surfaces[solid.part], small)
            continue
        corners, normals = solid_mesh(solid)
        if float(facing_and_area(corners)[1].sum()) < _ALONE_M2:
            small.setdefault(solid.part, []).append((corners, normals))
        else:
            add_surface(builder, corners, normals, material=surfaces[solid.part], name=solid.part)
    for part, pieces in small.items():
        add_surface(
            builder,
            np.concatenate([corners for corners, _ in pieces]),
            np.concatenate([normals for _, normals in pieces]),
            material=surfaces[part],
            name=part,
        )


def _add_board(
    builder: PieceBuilder,
    solid: BoxSolid,
    boards: list[BoxSolid],
    material: str,
    small: dict[str, list[tuple[Float64Array, Float64Array]]],
) -> None:
    """The faces of a sharp box: flat where they are large, else put with what is small."""
    for corner, edge_u, edge_v in box_faces(solid.centre, solid.axes, solid.size):
        sides = sorted((float(np.linalg.norm(edge_u)), float(np.linalg.norm(edge_v))))
        if sides[0] >= _FLAT_SHORT_M and sides[1] >= _FLAT_LONG_M:
            for part, along, across in parted((corner, edge_u, edge_v), boards):
                builder.add_rectangle(
                    part, edge_u=along, edge_v=across, material=material, name=solid.part
                )
            continue
        at = np.array([corner, corner + edge_u, corner + edge_u + edge_v, corner + edge_v])
        facing = np.cross(edge_u, edge_v)
        facing /= np.linalg.norm(facing)
        triangles = np.array([at[[0, 1, 2]], at[[0, 2, 3]]])
        small.setdefault(solid.part, []).append(
            (triangles, np.broadcast_to(facing, triangles.shape))
        )


def _surfaces(placer: Placer, name: str, prop: Prop, shape: PropShape) -> dict[str, str]:
    """The material of every part: the one named, else the piece's own default, else its main."""
    parts = shape.piece.part_names if shape.piece is not None else ()
    unknown = [part for part in prop.surfaces if part not in parts]
    if unknown:
        raise GeometryError(
            *(
                placer.fault_at(
                    ("props", name, "surfaces", part),
                    what=f"{name} has no part called {part!r}",
                    expected="one of " + ", ".join(parts) if parts else "surface alone",
                    found=part,
                    fix=_nearest(part, parts),
                )
                for part in unknown
            )
        )
    defaults = shape.piece.default_surfaces if shape.piece is not None else {}
    return {part: prop.surfaces.get(part, defaults.get(part, prop.surface)) for part in parts}


def _nearest(part: str, parts: tuple[str, ...]) -> str:
    near = difflib.get_close_matches(part, parts, n=1)
    if near:
        return f"did you mean {near[0]!r}?"
    return "leave it out" if parts else "only furniture has parts: give it a surface"
