"""What shines in from outside: the sky, the ground and the buildings seen through each hole."""

from __future__ import annotations

import math

import numpy as np

from falloff.constants import LUMINANCE_WEIGHTS
from falloff.daylight import Daylight, facade_luminance, overcast_sky
from falloff.document import Building, Sky
from falloff.sources import BUILDING_SIZE, Source, sky_opening
from falloff.spectrum import colour_of_kelvin
from falloff.stage.assemble import albedo_of
from falloff.stage.openings import SkyHole, sky_holes
from falloff.stage.places import Placer
from falloff.types import Float64Array
from falloff.units import Lux


def build_skies(placer: Placer) -> tuple[Source, ...]:
    """A source for each hole through which the outside is seen."""
    holes = sky_holes(placer)
    sky = placer.document.sky
    if not holes:
        return ()
    if sky is None:
        raise placer.fault(
            ("openings", holes[0].name),
            what=f"{holes[0].name} looks out on nothing",
            expected="a sky, since there is a window",
            fix="add sky: {type: overcast, outside: 12000 lx}",
        )
    daylight = overcast_sky(Lux(sky.outside.si), ground_reflectance=sky.ground)
    buildings = _buildings(placer, daylight)
    return tuple(_source(hole, sky, daylight, buildings) for hole in holes)


def _source(hole: SkyHole, sky: Sky, daylight: Daylight, buildings: Float64Array | None) -> Source:
    return sky_opening(
        hole.name,
        hole.corner,
        edge_u=hole.edge_u,
        edge_v=hole.edge_v,
        daylight=daylight,
        colour=colour_of_kelvin(sky.colour.si).astype(np.float32),
        straight=hole.passes,
        buildings=buildings,
    )


def _buildings(placer: Placer, daylight: Daylight) -> Float64Array | None:
    """Rows of Source.table for the buildings outside, or None where there are none."""
    outside = placer.document.outside
    if outside is None or not outside.buildings:
        return None
    rows = np.empty((len(outside.buildings), BUILDING_SIZE))
    for row, building in zip(rows, outside.buildings.values(), strict=True):
        row[:] = _row(placer, building, outside.ground_level.si, daylight)
    return rows


def _row(
    placer: Placer, building: Building, ground_m: float, daylight: Daylight
) -> tuple[float, ...]:
    albedo = albedo_of(building.surface, placer.document)
    reflectance = float(albedo @ np.array(LUMINANCE_WEIGHTS))
    return (
        building.at[0].si,
        building.at[1].si,
        math.cos(building.turn.si),
        math.sin(building.turn.si),
        0.5 * building.size[0].si,
        0.5 * building.size[1].si,
        ground_m,
        ground_m + building.size[2].si,
        float(facade_luminance(daylight, reflectance)),
    )
