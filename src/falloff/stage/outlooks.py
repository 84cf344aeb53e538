"""What stands outside a scene, as light as the daylight makes it: buildings and a skyline."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from falloff.constants import LUMINANCE_WEIGHTS
from falloff.daylight import Daylight, facade_luminance
from falloff.document import Building
from falloff.sources import BUILDING_SIZE, OPEN_COUNTRY, Outlook
from falloff.stage.assemble import albedo_of
from falloff.stage.places import Placer
from falloff.types import Float64Array

_SKYLINE_STEPS: Final = 720


def outlook_of(placer: Placer, daylight: Daylight, skyline: Float64Array | None = None) -> Outlook:
    """Buildings and the skyline, as light as that daylight makes them.

    What stands on the skyline is taken to be as dark as the ground, and upright.
    """
    outside = placer.document.outside
    if outside is None:
        return OPEN_COUNTRY
    line = skyline_of(placer) if skyline is None else skyline
    rows = np.empty((len(outside.buildings), BUILDING_SIZE))
    for row, building in zip(rows, outside.buildings.values(), strict=True):
        row[:] = _row(placer, building, outside.ground_level.si, daylight)
    far = 0.0
    if line.size and placer.document.sky is not None:
        turn = np.arange(4) * 0.5 * math.pi
        facing = np.stack([np.cos(turn), np.sin(turn), 0.0 * turn], -1)
        far = float(facade_luminance(daylight, placer.document.sky.ground, facing).mean())
    return Outlook(rows, line, far)


def _row(
    placer: Placer, building: Building, ground_m: float, daylight: Daylight
) -> tuple[float, ...]:
    albedo = albedo_of(building.surface, placer.document)
    reflectance = float(albedo @ np.array(LUMINANCE_WEIGHTS))
    cosine, sine = math.cos(building.turn.si), math.sin(building.turn.si)
    facing = np.array(
        [
            [-cosine, -sine, 0.0],
            [cosine, sine, 0.0],
            [sine, -cosine, 0.0],
            [-sine, cosine, 0.0],
            [0.0, 0.0, 1.0],
        ]
    )
    return (
        building.at[0].si,
        building.at[1].si,
        cosine,
        sine,
        0.5 * building.size[0].si,
        0.5 * building.size[1].si,
        ground_m,
        ground_m + building.size[2].si,
        *facade_luminance(daylight, reflectance, facing).tolist(),
    )


def skyline_of(placer: Placer) -> Float64Array:
    """Sines of the skyline's altitude at even steps of azimuth on the plan, or none."""
    outside, sky = placer.document.outside, placer.document.sky
    if outside is None or not outside.skyline or sky is None:
        return np.empty(0)
    azimuth = np.array([point.azimuth.si for point in outside.skyline])
    altitude = np.array([point.altitude.si for point in outside.skyline])
    turn = 2.0 * math.pi * np.arange(_SKYLINE_STEPS) / _SKYLINE_STEPS
    at = np.interp(sky.north.si - turn, azimuth, altitude, period=2.0 * math.pi)
    return np.asarray(np.sin(at))
