"""Words for what carries a figure that leans or lies, measured on the finished mesh."""

from __future__ import annotations

import numpy as np

from figure_parts.clothes import TOP, TROUSERS
from figure_parts.recipes import Recipe
from figure_parts.surface import Array, Indices

EDGE_HEIGHT_M = 0.90


def rest_words(
    recipe: Recipe, points: Array, triangles: Indices, region: Indices, head_weight: Array
) -> str:
    """The recipe's words with the measured distances put in."""
    if not recipe.rest:
        return ""

    def of(*regions: int) -> Array:
        return points[np.unique(triangles[np.isin(region, regions)])]

    cloth, sleeves, head = of(TOP, TROUSERS), of(TOP), points[head_weight == 1.0]
    at_edge = cloth[(np.abs(cloth[:, 2] - EDGE_HEIGHT_M) < 0.02) & (np.abs(cloth[:, 0]) < 0.2)]
    sleeves = sleeves[sleeves[:, 1] > sleeves[:, 1].max() - 0.25]
    on_counter = sleeves[sleeves[:, 2] < sleeves[:, 2].min() + 0.02]
    lowest = head[np.argmin(head[:, 2])]
    return recipe.rest.format(
        edge_m=-at_edge[:, 1].min() if len(at_edge) else 0.0,
        counter_m=sleeves[:, 2].min(),
        ahead_m=on_counter[:, 1].min(),
        pillow_m=lowest[2],
        pillow_at_m=-lowest[1],
    )
