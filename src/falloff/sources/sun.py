"""The sun: a disc at infinity that reaches in through holes."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from falloff.sources.outlook import OPEN_COUNTRY, Outlook
from falloff.sources.records import HOLE_SIZE, SHAPE_SIZE, SUN, Source
from falloff.types import Float32Array, Float64Array

# Source: the sun's mean semidiameter, 959.63 arc seconds at one astronomical unit.
SUN_RADIUS_RAD: Final = math.radians(0.2666)
_NOTHING = np.zeros(1)


def sun(
    name: str,
    *,
    toward_sun: Float64Array,
    normal_lux: float,
    colour: Float32Array,
    holes: Float64Array | None = None,
    straight_share: Float64Array | None = None,
    outlook: Outlook = OPEN_COUNTRY,
) -> Source:
    """The sun's disc, even in luminance, seen through holes in a closed place.

    toward_sun: unit; normal_lux: illuminance of a plane that faces it, outside. holes: (h, 9)
    corner, edge_u and edge_v of each, edge_u × edge_v pointing in; None for an open place, where
    all sunrays count. straight_share: (h,) share of light that goes through each as it came, one
    where None. Its flux is what comes in through the holes, were nothing before them, 0 in an open
    place.
    """
    shape = np.zeros(SHAPE_SIZE)
    shape[0:3], shape[3] = toward_sun, SUN_RADIUS_RAD
    shape[4] = 2.0 * math.sin(0.5 * SUN_RADIUS_RAD) ** 2
    shape[12] = 2.0 * math.pi * shape[4]
    shape[13] = normal_lux / (math.pi * math.sin(SUN_RADIUS_RAD) ** 2)
    openings = np.zeros((0 if holes is None else len(holes), HOLE_SIZE))
    flux = 0.0
    if holes is not None and len(holes):
        openings[:, :9] = holes
        openings[:, 9] = 1.0 if straight_share is None else straight_share
        inward = np.cross(holes[:, 3:6], holes[:, 6:9])
        passing = openings[:, 9] * np.maximum(0.0, -inward @ toward_sun)
        flux = float(passing.sum()) * normal_lux
        openings[:, 10] = np.cumsum(passing) / max(passing.sum(), np.finfo(float).tiny)
    table = np.concatenate([outlook.table(None), [float(len(openings))], openings.ravel()])
    return Source(name, SUN, shape, table, _NOTHING, colour, flux, None)
