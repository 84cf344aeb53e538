"""Surfaces of the people in a scene."""

from __future__ import annotations

import math

import numpy as np

from falloff.kit import find_figure
from falloff.stage.dice import Grain, PieceBuilder
from falloff.stage.places import Placer, direction, figure_turn
from falloff.stage.records import Piece
from falloff.stage.solids import add_box, add_cylinder
from falloff.types import Float64Array

_UP = np.array([0.0, 0.0, 1.0])


def build_subject(placer: Placer, name: str, grain: Grain) -> Piece:
    """A person's skin, hair and clothes, and the stool that carries a seated one."""
    subject = placer.document.subjects[name]
    figure = find_figure(subject.figure)
    builder = PieceBuilder(name, grain)
    turn = figure_turn(placer.facing(name))
    origin = placer.origin(name)
    corners = (figure.vertices @ turn.T + origin)[figure.triangles]
    normals = (figure.vertex_normals @ turn.T)[figure.triangles]
    wear = {
        "skin": f"skin of {name}",
        "lips": f"lips of {name}",
        "hair": subject.hair,
        "brows": subject.hair,
        "sclera": "eye white",
        "iris": "eye iris",
        "top": subject.top,
        "trousers": subject.trousers,
        "shoes": subject.shoes,
    }
    for region, label in enumerate(figure.region_names):
        mine = figure.triangle_region == region
        if mine.any():
            builder.add_mesh(corners[mine], normals=normals[mine], material=wear[label], name=label)
    if subject.seat is not None and figure.seat_height_m > 0.0:
        _add_stool(builder, origin, figure.seat_height_m - 0.001, subject.seat)
    return builder.build()


def _add_stool(builder: PieceBuilder, base: Float64Array, height: float, material: str) -> None:
    """A round seat on four legs."""
    add_cylinder(builder, base + (height - 0.045) * _UP, base + height * _UP, 0.17, material)
    for k in range(4):
        foot = base + 0.135 * direction(math.pi / 4 + k * math.pi / 2)
        add_box(
            builder,
            foot + 0.5 * (height - 0.045) * _UP,
            (direction(0.0), direction(math.pi / 2), _UP),
            (0.032, 0.032, height - 0.046),
            material,
            "",
        )
