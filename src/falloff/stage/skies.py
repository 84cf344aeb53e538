"""What shines in from outside: the sky, the ground and the buildings seen through each hole."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from falloff.constants import LUMINANCE_WEIGHTS
from falloff.daylight import (
    TRADITIONAL_OVERCAST,
    Daylight,
    facade_luminance,
    general_sky,
    overcast_sky,
)
from falloff.document import Building, Sky, Sun
from falloff.findings import Finding, Weight
from falloff.sources import BUILDING_SIZE, Source, sky_opening, sun
from falloff.sources.make import opening_illuminance
from falloff.spectrum import colour_of_kelvin
from falloff.stage.assemble import albedo_of
from falloff.stage.openings import SkyHole, sky_holes
from falloff.stage.places import Placer
from falloff.types import Float64Array
from falloff.units import Lux

SUN_NAME: Final = "sun"
_UNIFORM, _CLEAR = 5, 12
_KINDS: Final = {
    "overcast": TRADITIONAL_OVERCAST,
    "uniform": _UNIFORM,
    "clear": _CLEAR,
    **{str(kind): kind for kind in range(1, 16)},
}
_CLEAR_KINDS: Final = range(11, 16)
_FIRST_WITH_SUN: Final = 7  # kinds below hide the disc unless its illuminance is written
_SUN_OUTSIDE_AIR_LUX: Final = 133_800.0  # from memory


def build_skies(placer: Placer) -> tuple[Source, ...]:
    """A source for each hole through which the outside is seen, and the sun if it shines."""
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
    daylight = daylight_of(placer, sky, holes)
    buildings = _buildings(placer, daylight)
    skies = [_source(hole, sky, daylight, buildings) for hole in holes]
    if daylight.sun_horizontal_lux > 0.0 and sky.sun is not None:
        skies.append(_sun(placer, sky.sun, holes, buildings))
    return tuple(skies)


def sky_findings(placer: Placer) -> list[Finding]:
    """What was taken of the sky and the sun where the scene does not say it."""
    sky = placer.document.sky
    if sky is None or sky.sun is None or not sky_holes(placer):
        return []
    found = []
    lux = sun_normal_lux(sky)
    if _KINDS[sky.type] in _CLEAR_KINDS and not placer.document.seen.has(("sky", "colour")):
        says = f"a clear sky is bluer than the {sky.colour.text} that are taken: 10000 K and more"
        do = "write the sky's colour, such as 12000 K"
        found.append(Finding(weight=Weight.NOTE, about="sky", says=says, do=do))
    if sky.sun.illuminance is None and lux > 0.0:
        says = (
            f"the sun is taken to give {float(f'{lux:.3g}'):.10g} lx square to it, at turbidity "
            f"{sky.sun.turbidity:g}; between very clear and hazy air it may be 0.7 stop either way"
        )
        do = "meter it outside, square to the sun, and write it as the sun's illuminance"
        found.append(Finding(weight=Weight.NOTE, about=SUN_NAME, says=says, do=do))
    if sky.sun.illuminance is None and lux == 0.0:
        says = f"no sun is seen through a sky of type {sky.type}: only the sky shines"
        do = "write the sun's illuminance if it comes through"
        found.append(Finding(weight=Weight.NOTE, about=SUN_NAME, says=says, do=do))
    return found


def daylight_of(placer: Placer, sky: Sky, holes: tuple[SkyHole, ...]) -> Daylight:
    """The sky and the ground in cd/m², by whichever reading the scene gives."""
    if sky.type == "overcast" and sky.outside is not None:
        return overcast_sky(Lux(sky.outside.si), ground_reflectance=sky.ground)
    if sky.outside is not None:
        return _sky(sky, horizontal_lux=sky.outside.si)
    if sky.zenith is not None:
        return _sky(sky, zenith_nit=sky.zenith.si)
    return _by_glass(placer, sky, holes)


def sun_normal_lux(sky: Sky) -> float:
    """Illuminance of a plane that faces the sun's disc; 0 where none is seen."""
    sun = sky.sun
    if sun is None or sun.altitude.si <= 0.0:
        return 0.0
    if sun.illuminance is not None:
        return sun.illuminance.si
    if _KINDS[sky.type] < _FIRST_WITH_SUN:
        return 0.0
    return clear_sun_lux(sun.altitude.si, turbidity=sun.turbidity)


def clear_sun_lux(altitude_rad: float, *, turbidity: float) -> float:
    """Illuminance (lx) of a plane that faces the sun: 133 800 lx · exp(−0.1 m T / (1 + 0.0045 m)).

    turbidity T: luminous, 1 in clean dry air, some 3 on a clear day; altitude_rad: above 0. The air
    mass m is that of Kasten, F. and Young, A. T. (1989), Applied Optics 28(22), 4735. Source:
    from memory (the luminous turbidity factor as used with ISO 15469); a fifth either way.
    """
    altitude_deg = math.degrees(altitude_rad)
    mass = 1.0 / (math.sin(altitude_rad) + 0.50572 * (altitude_deg + 6.07995) ** -1.6364)
    return _SUN_OUTSIDE_AIR_LUX * math.exp(-0.1 * mass * turbidity / (1.0 + 0.0045 * mass))


def toward_sun(sky: Sky) -> Float64Array:
    """The unit way to the sun; straight up where the scene has none."""
    if sky.sun is None:
        return np.array([0.0, 0.0, 1.0])
    flat, turn = math.cos(sky.sun.altitude.si), _plan_angle_rad(sky)
    return np.array([flat * math.cos(turn), flat * math.sin(turn), math.sin(sky.sun.altitude.si)])


def _plan_angle_rad(sky: Sky) -> float:
    """The sun's angle on the plan from +x: azimuths run clockwise from north."""
    return 0.0 if sky.sun is None else sky.north.si - sky.sun.azimuth.si


def _sky(
    sky: Sky, *, horizontal_lux: float | None = None, zenith_nit: float | None = None
) -> Daylight:
    altitude = sky.sun.altitude.si if sky.sun is not None else 0.5 * math.pi
    return general_sky(
        _KINDS[sky.type],
        sun_altitude_rad=min(altitude, 0.5 * math.pi),
        sun_azimuth_rad=_plan_angle_rad(sky),
        horizontal_lux=horizontal_lux,
        zenith_nit=zenith_nit,
        sun_horizontal_lux=sun_normal_lux(sky) * math.sin(altitude),
        ground_reflectance=sky.ground,
    )


def _by_glass(placer: Placer, sky: Sky, holes: tuple[SkyHole, ...]) -> Daylight:
    """The sky that makes a meter before an opening read what it read.

    What falls there is straight in the luminance of the zenith, ground and buildings included; what
    the sun puts there by way of them is there without a sky.
    """
    assert sky.at_glass is not None
    path = ("sky", "at_glass", "opening")
    hole = next((one for one in holes if one.name == sky.at_glass.opening), None)
    if hole is None:
        raise placer.fault(
            path,
            what=f"no daylight comes in through {sky.at_glass.opening}",
            expected="one of " + ", ".join(one.name for one in holes),
        )
    inward = np.cross(hole.edge_u, hole.edge_v)
    inward /= np.linalg.norm(inward)
    middle = hole.corner + 0.5 * (hole.edge_u + hole.edge_v)

    def falling(zenith_nit: float) -> float:
        daylight = _sky(sky, zenith_nit=zenith_nit)
        return opening_illuminance(middle, inward, daylight, _buildings(placer, daylight))

    by_sun = falling(0.0)
    per_nit = (falling(1000.0) - by_sun) / 1000.0
    if sky.at_glass.reads.si < by_sun:
        raise placer.fault(
            ("sky", "at_glass", "reads"),
            what="the sun alone puts more on the glass by way of the ground and the buildings",
            expected=f"at least {by_sun:.4g} lx",
            found=sky.at_glass.reads.text,
            fix="check the reading, or write a lower `ground`",
        )
    return _sky(sky, zenith_nit=(sky.at_glass.reads.si - by_sun) / per_nit)


def _sun(
    placer: Placer,
    said: Sun,
    holes: tuple[SkyHole, ...],
    buildings: Float64Array | None,
) -> Source:
    """The sun's disc through every hole; panes and cloths in them are sheets of their own."""
    document = placer.document
    taken = (*document.fixtures, *document.practicals, *document.openings)
    if SUN_NAME in taken:
        section = next(
            one
            for one in ("fixtures", "practicals", "openings")
            if SUN_NAME in getattr(document, one)
        )
        raise placer.fault(
            (section, SUN_NAME),
            what=f"{SUN_NAME!r} is the name of the sky's own sun",
            fix="call it something else",
        )
    assert document.sky is not None
    return sun(
        SUN_NAME,
        toward_sun=toward_sun(document.sky),
        normal_lux=sun_normal_lux(document.sky),
        colour=colour_of_kelvin(said.colour.si).astype(np.float32),
        holes=np.array([np.concatenate([one.corner, one.edge_u, one.edge_v]) for one in holes]),
        buildings=buildings,
    )


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
