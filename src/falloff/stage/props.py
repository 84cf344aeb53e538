"""Surfaces of the things that stand in a room."""

from __future__ import annotations

import math

import numpy as np

from falloff.document import Box
from falloff.stage.dice import Grain, PieceBuilder
from falloff.stage.places import Placer, direction, prop_height_m
from falloff.stage.records import Piece
from falloff.stage.solids import add_box, add_cylinder

_UP = np.array([0.0, 0.0, 1.0])


def build_prop(placer: Placer, name: str, grain: Grain) -> Piece:
    """A box or a cylinder standing where it was put."""
    prop = placer.document.props[name]
    builder = PieceBuilder(name, grain)
    base = placer.origin(name)
    if isinstance(prop.shape, Box):
        axes = (direction(prop.turn.si), direction(prop.turn.si + 0.5 * math.pi), _UP)
        size = (prop.shape.size[0].si, prop.shape.size[1].si, prop.shape.size[2].si)
        add_box(builder, base + 0.5 * size[2] * _UP, axes, size, prop.surface, "")
    else:
        add_cylinder(
            builder,
            base,
            base + prop_height_m(prop) * _UP,
            prop.shape.diameter.si / 2,
            prop.surface,
        )
    return builder.build()
