"""Where on the earth a scene stands, and what its clocks show."""

from __future__ import annotations

import math

import msgspec

from falloff.clock import unknown_zone
from falloff.errors import DaylightError, Fault

LOWEST_M, HIGHEST_M = -430.0, 9000.0  # the shore of the Dead Sea; the highest mountain


class Location(msgspec.Struct, frozen=True, kw_only=True):
    """A place on the earth and the name of the time that its clocks keep.

    latitude_rad: −π/2 to π/2, north positive; longitude_rad: −π to π, east positive; zone: a name
    of the IANA time zone data, such as Europe/Paris; height_m: above the sea, −430 to 9000.
    """

    latitude_rad: float
    longitude_rad: float
    zone: str
    height_m: float = 0.0


def location(
    latitude_rad: float, longitude_rad: float, *, zone: str, height_m: float = 0.0
) -> Location:
    """A place that was checked; see `Location`.

    Raises DaylightError for a place that is not on the earth and for an unknown zone; several
    faults are told at once.
    """
    faults = [
        _off_range("latitude", latitude_rad, 90.0, "south of the equator it is negative"),
        _off_range("longitude", longitude_rad, 180.0, "west of Greenwich it is negative"),
        _off_height(height_m),
        unknown_zone(zone),
    ]
    if found := [fault for fault in faults if fault]:
        raise DaylightError(*found)
    return Location(
        latitude_rad=float(latitude_rad),
        longitude_rad=float(longitude_rad),
        zone=zone,
        height_m=float(height_m),
    )


def _off_range(what: str, angle_rad: float, most_deg: float, hint: str) -> Fault | None:
    if abs(angle_rad) <= math.radians(most_deg) * (1.0 + 1e-12):
        return None
    return Fault(
        what=f"no place has this {what}",
        expected=f"{-most_deg:g} to {most_deg:g} deg",
        found=f"{math.degrees(angle_rad):g} deg",
        fix=hint,
    )


def _off_height(height_m: float) -> Fault | None:
    if LOWEST_M <= height_m <= HIGHEST_M:
        return None
    return Fault(
        what="no ground lies at this height",
        expected=f"{LOWEST_M:g} to {HIGHEST_M:g} m above the sea",
        found=f"{height_m:g} m",
        fix="leave it out for a place near the sea",
    )
