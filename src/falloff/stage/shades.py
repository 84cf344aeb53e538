"""Lampshades: flat facets of fabric around a bulb."""

from __future__ import annotations

import math

import numpy as np

from falloff.document import Shade
from falloff.stage.dice import PieceBuilder
from falloff.stage.grain import Grain
from falloff.stage.records import Cloth
from falloff.types import Float64Array

FACETS = 12
_CONE_RINGS = 4  # of a shade that widens: its facets are rectangles, a little wider than needed
_GRAIN = Grain(patch_m=0.3, element_m=0.15)


def add_shade(builder: PieceBuilder, middle: Float64Array, shade: Shade, cloth: Cloth) -> None:
    """A shade open above and below round a middle, twelve facets about its axis.

    A straight one is closed exactly, with the area of the round one. One that widens is made of
    rings of rectangles as wide as the wide end of each ring, so that no light slips between them;
    neighbours lap over one another there.
    """
    top, bottom, height = 0.5 * shade.top.si, 0.5 * shade.bottom.si, shade.height.si
    rings = 1 if math.isclose(top, bottom) else _CONE_RINGS
    level = np.linspace(-0.5 * height, 0.5 * height, rings + 1)
    # The facets' own perimeter is that of the circle.
    scale = math.pi / (FACETS * math.sin(math.pi / FACETS))
    radius = scale * np.interp(level, [-0.5 * height, 0.5 * height], [bottom, top])
    with builder.cut_by(_GRAIN):
        for k in range(rings):
            for facet in range(FACETS):
                corner, edge_u, edge_v = _facet(
                    middle, (radius[k], radius[k + 1]), (level[k], level[k + 1]), facet
                )
                builder.add_fabric(
                    corner, edge_u=edge_u, edge_v=edge_v, fabric=cloth, name=f"{builder.name} shade"
                )


def _facet(
    middle: Float64Array, radius: tuple[float, float], level: tuple[float, float], facet: int
) -> tuple[Float64Array, Float64Array, Float64Array]:
    """Corner and edges of a facet whose edge_u × edge_v looks outward."""
    turn = 2.0 * math.pi * facet / FACETS
    out = np.array([math.cos(turn), math.sin(turn), 0.0])
    along = np.array([-math.sin(turn), math.cos(turn), 0.0])
    half = math.pi / FACETS
    inner = math.cos(half)
    width = 2.0 * max(radius) * math.sin(half)
    up = np.array([0.0, 0.0, 1.0])
    low = middle + radius[0] * inner * out + level[0] * up
    high = middle + radius[1] * inner * out + level[1] * up
    return low - 0.5 * width * along, width * along, high - low
