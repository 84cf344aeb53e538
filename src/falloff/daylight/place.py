"""Where the sun and the moon stand, seen from a place on the earth at an instant."""

from __future__ import annotations

import datetime as dt
import math
from typing import Any

import msgspec

from falloff.clock import FIRST_YEAR, LAST_YEAR, require_aware
from falloff.daylight.refraction import lifted_rad
from falloff.daylight.where import Location
from falloff.errors import DaylightError, Fault

_MEAN_MOON_KM = 384_400.0  # from memory: the mean distance of the moon
_AU_KM = 149_597_870.7  # IAU 2012, resolution B2, exact


class SunPlace(msgspec.Struct, frozen=True):
    """Where the middle of the sun's disc stands.

    altitude_rad: above the level horizon as it is seen, lifted by the air; geometric_rad: the
    same without air; azimuth_rad: 0 to 2π from true north, clockwise (east is π/2); distance_au:
    in astronomical units, 0.983 to 1.017.
    """

    altitude_rad: float
    geometric_rad: float
    azimuth_rad: float
    distance_au: float


class MoonPlace(msgspec.Struct, frozen=True):
    """Where the middle of the moon stands, and how much of it is lit.

    altitude_rad, geometric_rad, azimuth_rad: as in `SunPlace`, seen from the place itself;
    phase_rad: the angle at the moon between sun and earth, 0 full to π new; distance_over_mean:
    from that place, 0.91 to 1.08.
    """

    altitude_rad: float
    geometric_rad: float
    azimuth_rad: float
    phase_rad: float
    distance_over_mean: float


def sun_place(location: Location, instant: dt.datetime) -> SunPlace:
    """Where the sun stands at an aware instant, from 1900 to 2100, within 0.01°.

    Raises DaylightError for a naive time and for another century.
    Source: the ephem library (VSOP87), topocentric; refraction as in `lifted_rad`.
    """
    import ephem  # type: ignore[import-untyped]

    body = ephem.Sun()
    body.compute(observer(location, instant))
    geometric = float(body.alt)
    return SunPlace(
        altitude_rad=lifted_rad(geometric, height_m=location.height_m),
        geometric_rad=geometric,
        azimuth_rad=float(body.az),
        distance_au=float(body.earth_distance),
    )


def moon_place(location: Location, instant: dt.datetime) -> MoonPlace:
    """Where the moon stands at an aware instant, from 1900 to 2100, within 0.02°.

    Raises DaylightError for a naive time and for another century. Source: as `sun_place`.
    """
    import ephem

    body = ephem.Moon()
    body.compute(observer(location, instant))
    geometric = float(body.alt)
    lit = min(1.0, max(0.0, float(body.moon_phase)))
    return MoonPlace(
        altitude_rad=lifted_rad(geometric, height_m=location.height_m),
        geometric_rad=geometric,
        azimuth_rad=float(body.az),
        phase_rad=math.acos(2.0 * lit - 1.0),
        distance_over_mean=float(body.earth_distance) * _AU_KM / _MEAN_MOON_KM,
    )


def observer(location: Location, instant: dt.datetime) -> Any:  # noqa: ANN401
    """Someone of the ephem library at a place and an aware instant, without air; or DaylightError.

    Its type is the library's, which has none.
    """
    import ephem

    require_aware(instant)
    utc = instant.astimezone(dt.UTC).replace(tzinfo=None)
    if not FIRST_YEAR <= utc.year <= LAST_YEAR:
        raise DaylightError(
            Fault(
                what="the sun cannot be placed well so far from our time",
                expected=f"a year from {FIRST_YEAR} to {LAST_YEAR}",
                found=str(utc.year),
                fix="give the year of the shoot",
            )
        )
    someone = ephem.Observer()
    someone.lat, someone.lon = location.latitude_rad, location.longitude_rad
    someone.elevation = location.height_m
    someone.pressure = 0.0
    someone.date = ephem.Date(utc)
    return someone
