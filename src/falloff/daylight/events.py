"""When the sun rises and sets, when it is noon and twilight, and when it stands at a height."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable
from typing import Final

import msgspec

from falloff.clock import midnight, real_minutes, zone_of
from falloff.daylight.place import observer
from falloff.daylight.refraction import lifted_rad
from falloff.daylight.where import Location

# The usual lift of the air at the horizon, 34′, and how far the sun's middle is below the horizon
# at either twilight: definitions of the almanacs (from memory).
_HORIZON_LIFT_RAD: Final = math.radians(34.0 / 60.0)
_CIVIL_RAD: Final = math.radians(-6.0)
_NAUTICAL_RAD: Final = math.radians(-12.0)
_STEP_S: Final = 600.0
_CLOSE_S: Final = 0.05

# Height over a threshold, rad, by seconds from the day's beginning.
_Height = Callable[[float], float]


class SunEvents(msgspec.Struct, frozen=True, kw_only=True):
    """What the sun does on one calendar day of a place; each time is aware, in the place's zone.

    rise, set: the upper edge at a level horizon, lifted 34′; noon: the sun due south or north,
    highest; the twilights: its middle 6° and 12° under the horizon, without air. None where that
    does not happen on that day. always_up, always_down: the upper edge stays on one side of the
    horizon all day.
    """

    rise: dt.datetime | None
    set: dt.datetime | None
    noon: dt.datetime | None
    civil_dawn: dt.datetime | None
    civil_dusk: dt.datetime | None
    nautical_dawn: dt.datetime | None
    nautical_dusk: dt.datetime | None
    always_up: bool
    always_down: bool


def sun_events(location: Location, day: dt.date) -> SunEvents:
    """What the sun does from midnight to midnight by the clocks of a place, within 10 s.

    day: of the local calendar, 1900 to 2100. The land is taken as level: a hill hides the sun
    earlier. Raises DaylightError for another century and for an unknown zone.
    """
    course = _Course(location, day)
    edge = course.crossings(course.upper_edge_rad)
    civil = course.crossings(lambda at_s: course.geometric_rad(at_s) - _CIVIL_RAD)
    nautical = course.crossings(lambda at_s: course.geometric_rad(at_s) - _NAUTICAL_RAD)
    noon_s = course.noon_s()
    still = not (edge[True] or edge[False])
    above = course.upper_edge_rad(0.5 * course.length_s) > 0.0
    return SunEvents(
        rise=course.dawn(edge[True], noon_s),
        set=course.dusk(edge[False], noon_s),
        noon=None if noon_s is None else course.instant(noon_s),
        civil_dawn=course.dawn(civil[True], noon_s),
        civil_dusk=course.dusk(civil[False], noon_s),
        nautical_dawn=course.dawn(nautical[True], noon_s),
        nautical_dusk=course.dusk(nautical[False], noon_s),
        always_up=still and above,
        always_down=still and not above,
    )


def when_altitude(
    location: Location, day: dt.date, altitude_rad: float, *, rising: bool
) -> dt.datetime | None:
    """When the sun passes an altitude on its way up or down that day, or None.

    altitude_rad: as seen, like `SunPlace.altitude_rad`. Of two such times, that nearer to the
    day's noon on its own side. Raises as `sun_events`.
    """
    course = _Course(location, day)
    height_m = location.height_m
    found = course.crossings(
        lambda at_s: lifted_rad(course.geometric_rad(at_s), height_m=height_m) - altitude_rad
    )
    choose = course.dawn if rising else course.dusk
    return choose(found[rising], course.noon_s())


class _Course:
    """The sun over one local day, by seconds from the day's first instant."""

    def __init__(self, location: Location, day: dt.date) -> None:
        import ephem  # type: ignore[import-untyped]

        self._clock = zone_of(location.zone)
        begins = midnight(day, location.zone)
        next_day = dt.date.fromordinal(min(day.toordinal() + 1, dt.date.max.toordinal()))
        self._start = begins.astimezone(dt.UTC)
        self.length_s = 60.0 * real_minutes(begins, midnight(next_day, location.zone))
        self._observer = observer(location, begins)
        self._date0 = float(self._observer.date)
        self._sun = ephem.Sun()

    def geometric_rad(self, at_s: float) -> float:
        """Altitude of the sun's middle without air."""
        self._observer.date = self._date0 + at_s / 86_400.0
        self._sun.compute(self._observer)
        return float(self._sun.alt)

    def upper_edge_rad(self, at_s: float) -> float:
        """Height of the sun's upper edge over a level horizon, lifted 34′."""
        return self.geometric_rad(at_s) + float(self._sun.radius) + _HORIZON_LIFT_RAD

    def noon_s(self) -> float | None:
        """When the sun crosses the meridian above the pole's side; None on a day without."""
        import ephem

        self._observer.date = self._date0
        found = self._observer.next_transit(ephem.Sun())
        at_s = (float(found) - self._date0) * 86_400.0
        return at_s if at_s < self.length_s else None

    def crossings(self, height: _Height) -> dict[bool, list[float]]:
        """When a height passes nought, in order: True upwards, False downwards."""
        count = math.ceil(self.length_s / _STEP_S)
        times = [self.length_s * k / count for k in range(count + 1)]
        heights = [height(at_s) for at_s in times]
        # Tops and bottoms besides, so that no short day and no short night slips through.
        turns = [
            times[k] + shift * self.length_s / count
            for k in range(1, count)
            if (shift := _turn(heights[k - 1], heights[k], heights[k + 1])) is not None
        ]
        times = sorted(times + turns)
        heights = [height(at_s) for at_s in times]
        found: dict[bool, list[float]] = {True: [], False: []}
        for k in range(len(times) - 1):
            if (heights[k] < 0.0) != (heights[k + 1] < 0.0):
                found[heights[k] < 0.0].append(_root(height, times[k], times[k + 1]))
        return found

    def dawn(self, times: list[float], noon_s: float | None) -> dt.datetime | None:
        """The last of some times before noon, else the first."""
        before = [at_s for at_s in times if noon_s is None or at_s <= noon_s]
        chosen = before[-1:] or times[:1]
        return self.instant(chosen[0]) if chosen else None

    def dusk(self, times: list[float], noon_s: float | None) -> dt.datetime | None:
        """The first of some times after noon, else the last."""
        after = [at_s for at_s in times if noon_s is None or at_s >= noon_s]
        chosen = after[:1] or times[-1:]
        return self.instant(chosen[0]) if chosen else None

    def instant(self, at_s: float) -> dt.datetime:
        """The aware time of the place's clocks."""
        return (self._start + dt.timedelta(seconds=at_s)).astimezone(self._clock)


def _turn(before: float, here: float, after: float) -> float | None:
    """Where, in steps from the middle one, three heights have a top or a bottom, or None."""
    bend = before + after - 2.0 * here
    if (here - before) * (after - here) > 0.0 or bend == 0.0:
        return None
    return 0.5 * (before - after) / bend


def _root(height: _Height, low_s: float, high_s: float) -> float:
    """Where a height passes nought between two times, by halving."""
    rises = height(low_s) < 0.0
    while high_s - low_s > _CLOSE_S:
        middle_s = 0.5 * (low_s + high_s)
        if (height(middle_s) < 0.0) == rises:
            low_s = middle_s
        else:
            high_s = middle_s
    return 0.5 * (low_s + high_s)
