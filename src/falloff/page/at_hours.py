"""The worker's hours: a place's daylight at another hour, its whole day, its patches of sun."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

import numpy as np

from falloff.clock import midnight, real_minutes
from falloff.day import Day, DayMoment, SunPatch, through_day
from falloff.day.patches import SunFinder
from falloff.document import SceneDocument, instant_of, read_instant
from falloff.layers import Live, LiveHours, Shown, hour_glance, take_hours
from falloff.page.clocks import clock_of
from falloff.page.kept_light import light_fields
from falloff.page.tasks import Sight
from falloff.session.scene import setup_light
from falloff.sources import SKY
from falloff.stage import SUN_NAME, HourOutside, skies_by_hour
from falloff.transport import sun_on_elements

_PLACES = 6  # figures of a light that is told


@dataclass(slots=True)
class Hours:
    """What one place needs to be shown at any hour, made when it is first asked for."""

    document: SceneDocument
    live: Live
    _taken: dict[str, LiveHours] = field(default_factory=dict)
    _outside: Callable[[datetime, str | None], HourOutside] | None = None
    _finder: SunFinder | None = None

    def follow(self, document: SceneDocument, live: Live) -> Hours:
        """The same for a later pass of this very light, or for another light from nothing."""
        if document == self.document and live.solution is self.live.solution:
            return Hours(document, live, self._taken, self._outside, self._finder)
        return Hours(document, live)

    def ready(self, camera: str) -> bool:
        """Whether a camera's coarse picture is there, and daylight comes in at an hour."""
        held = self.live.views.get(camera)
        return held is not None and held.coarse is not None and has_hour(self.document, self.live)

    def taken(self, camera: str) -> LiveHours:
        """The rays that go outside, shot once."""
        known = self._taken.get(camera)
        if known is None or not known.fits(self.live, camera):
            known = take_hours(self.live, camera)
            self._taken[camera] = known
        return known

    def glance(self, camera: str, instant: datetime) -> Shown:
        """The coarse picture of its daylight at an aware instant; `ready` is asked before."""
        return hour_glance(self.taken(camera), self._at(instant).sources)

    def sun(self, instant: datetime) -> tuple[SunPatch, ...]:
        """Where the sun falls at an aware instant, outlined on level surfaces."""
        solution = self.live.solution
        sun = next((one for one in self._at(instant).sources if one.name == SUN_NAME), None)
        if sun is None:
            return ()
        if self._finder is None:
            self._finder = SunFinder(solution)
        return self._finder.patches(sun, sun_on_elements(solution, sun))

    def day(self, sight: Sight, progress: Callable[[], None]) -> dict[str, Any]:
        """A camera's day with no light on but daylight, as docs/page.md has it."""
        setup = setup_light(self.document, sight.plan)
        lights = (*self.document.fixtures, *self.document.practicals)
        dark = replace(setup, camera=sight.camera, dims=dict.fromkeys(lights, 0.0), key=None)
        kept = self.taken(sight.camera).kept
        return day_told(through_day(kept, self.document, dark, progress=progress))

    def _at(self, instant: datetime) -> HourOutside:
        if self._outside is None:
            self._outside = skies_by_hour(self.document)
        return self._outside(instant, None)


def has_hour(document: SceneDocument, live: Live) -> bool:
    """Whether a scene has an hour, and an opening that its daylight comes through."""
    outside = any(one.kind == SKY for one in live.stage.sources)
    return outside and instant_of(document) is not None


def day_fields(document: SceneDocument, sight: Sight) -> tuple[Any, ...]:
    """All that the daylight of a day hangs on: what light does, its hour apart, and the camera."""
    sky, hour = document.sky, instant_of(document)
    assert sky is not None
    assert hour is not None
    fields = light_fields(document)
    fields["sky"] = (*(getattr(sky, name) for name in sky.__struct_fields__ if name != "at"),)
    read = (sky.outside, sky.zenith, sky.at_glass, sky.sun and sky.sun.illuminance)
    read_when = read_instant(document) if any(one is not None for one in read) else None
    return (fields, hour.date(), sight.camera, read_when)


def day_told(day: Day) -> dict[str, Any]:
    """A day as a window is told it: times in real minutes from the midnight that it begins with."""
    begins = midnight(day.hour.date(), day.zone)

    def minute(when: datetime | None) -> float | None:
        return None if when is None else round(real_minutes(begins, when), 2)

    moments = day.moments
    return {
        "date": day.date,
        "zone": day.zone,
        "sky": day.sky,
        "clock": clock_of(day.hour.date(), day.zone),
        "events": {name: minute(when) for name, when in day.events.items()},
        "always": "up" if day.always_up else "down" if day.always_down else None,
        "minutes": [minute(one.instant) for one in moments],
        "altitude_deg": [round(one.sun_altitude_deg, 2) for one in moments],
        "azimuth_deg": [round(one.sun_azimuth_deg, 2) for one in moments],
        "sky_lux": [_short(one.sky_lux) for one in moments],
        "sun_lux": [_short(one.sun_lux) for one in moments],
        "levels": {name: _levels(moments, name) for name in moments[0].levels},
        "in_frame": [one.sun_in_frame for one in moments],
        "on_lens": [one.sun_on_lens for one in moments],
        "patches": [
            {"minute": minute(one.instant), "patches": patches_told(one.patches)}
            for one in moments
            if one.instant.minute == 0
        ],
        "targets": {one.name: one.asks for one in day.targets},
    }


def patches_told(patches: Sequence[SunPatch]) -> list[dict[str, Any]]:
    """Patches of sun as a window is told them."""
    return [
        {
            "surface": one.surface,
            "area_m2": round(one.area_m2, 3),
            "share": round(one.share, 4),
            "height_m": None if one.height_m is None else round(one.height_m, 3),
            "outlines": one.outlines,
        }
        for one in patches
    ]


def _levels(moments: Sequence[DayMoment], name: str) -> dict[str, list[float]]:
    each = [one.levels[name] for one in moments]
    return {part: [_short(getattr(one, part)) for one in each] for part in ("value", "low", "high")}


def _short(value: float) -> float:
    return float(np.format_float_scientific(value, _PLACES))
