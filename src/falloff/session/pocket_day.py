"""The day in a pocket copy: daylight of a few hours as pictures and readings, and when it suits."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final

import msgspec
import numpy as np

from falloff.clock import clock_words
from falloff.constants import LUMINANCE_WEIGHTS
from falloff.day import Day, through_day
from falloff.day.advice import countdown
from falloff.daylight import sun_place
from falloff.document import SceneDocument, instant_of
from falloff.layers import HourLayers, LightLayers, keep_hours, read_hour, read_sky
from falloff.readings import SetupLight
from falloff.session.pocket_exposure import short_number
from falloff.session.pocket_hours import PocketMoment
from falloff.sources import SKY
from falloff.stage import HourOutside, place_of, skies_by_hour
from falloff.transport import (
    KeptView,
    ViewTrace,
    behind_skyline,
    hour_in_shade,
    hour_light,
    keep_view,
    picture_bounced,
    picture_direct,
    solution_at,
    trace_view,
    view_at,
)
from falloff.types import BoolArray, Float32Array, Float64Array

_WEIGHTS: Final = np.array(LUMINANCE_WEIGHTS)
_OWN_WORD: Final = "plan"

Levels = tuple[float, float, float]


class PocketStay(msgspec.Struct, frozen=True, kw_only=True):
    """How long a reading stays within half a stop of what it is at an hour, lights as planned.

    minutes: None where it does till the day is over.
    """

    reading: str
    minutes: float | None
    falls: bool


class PocketHour(msgspec.Struct, frozen=True, kw_only=True):
    """One hour: its picture, what is outside, and its daylight at every reading.

    light, scale: number of the layer of all its daylight in its own colour, and what that is to be
    multiplied by, cd/m²; light is None at the setup's own hour, which has its sources' own layers.
    sky_lux: on open ground without the sun's disc; sun_lux: square to the sun. readings: by
    reading, by source, expected, low and high: lux or (spot) cd/m², by luminance.
    """

    clock: str
    word: str
    instant: str
    light: int | None
    scale: float
    sun_altitude_deg: float
    sun_azimuth_deg: float
    sky_lux: float
    sun_lux: float
    readings: tuple[tuple[Levels, ...], ...]
    stays: PocketStay | None = None


class PocketTarget(msgspec.Struct, frozen=True, kw_only=True):
    """When a target holds with the lights as planned: clock times; sure: over the whole spread."""

    name: str
    asks: str
    holds: tuple[tuple[str, str, bool], ...]


class PocketDay(msgspec.Struct, frozen=True, kw_only=True):
    """A setup's day: its hours by time; own: place of its own; sources: windows and the sun.

    left_out: hours for which the file has no room.
    """

    date: str
    sky: str
    hours: tuple[PocketHour, ...]
    own: int
    sources: tuple[str, ...]
    targets: tuple[PocketTarget, ...]
    left_out: tuple[str, ...]


@dataclass(slots=True)
class HourMaker:
    """Any hour's daylight of setups that stand alike, over one trace of them.

    views: rays of each camera; made: number and scale of each picture, by camera and instant.
    """

    layers: LightLayers
    kept: HourLayers
    outside: Callable[[datetime, str | None], HourOutside]
    behind: BoolArray
    views: dict[str, KeptView] = field(default_factory=dict)
    made: dict[tuple[str, datetime], tuple[int, float]] = field(default_factory=dict)

    @classmethod
    def of(cls, layers: LightLayers, document: SceneDocument) -> HourMaker:
        """From the layers of an arranged document that has an hour and an opening."""
        own = instant_of(document)
        assert own is not None
        outside = skies_by_hour(document)
        behind = behind_skyline(outside(own, None).sources[0])
        return cls(layers, keep_hours(layers), outside, behind)

    def picture(self, camera: str, size: tuple[int, int], instant: datetime) -> Float32Array:
        """All daylight of an hour in its own colour, (h, w, 3) cd/m²."""
        if camera not in self.views:
            self.views[camera] = keep_view(self.layers.solution, self._rays(camera, size))
        hour = hour_light(self.layers.solution.stage, self.outside(instant, None).sources)
        solution = solution_at(self.layers.solution, self.kept.elements, hour)
        seen = view_at(self.views[camera], solution, hour)
        total = np.zeros((size[1], size[0], 3), np.float32)
        for s, source in hour.sources.items():
            white = picture_direct(seen, solution.stage, s)
            white += picture_bounced(seen, solution, solution.radiosity[s], solution.hot[s])
            total += white * source.colour.astype(np.float32)
        return total

    def readings(self, instant: datetime) -> dict[str, Float64Array]:
        """By source, daylight (p, 3) at every probe: expected, low and high, by luminance."""
        out = self.outside(instant, None)
        stage = self.layers.solution.stage
        hour = hour_light(stage, out.sources)
        shade = hour_in_shade(hour, stage, out.in_shade, self.behind)
        read = read_hour(self.kept, hour)
        in_shade = read_sky(self.kept, shade.luminance)
        sky, sun = out.outdoors.sky_spread, out.outdoors.sun_spread
        found = {}
        for s, source in hour.sources.items():
            by = source.colour.astype(np.float64) * _WEIGHTS
            whole = (read.direct[s] + read.bounced[s]) @ by
            of_sky = in_shade[s] @ by if source.kind == SKY else np.zeros_like(whole)
            of_sun = whole - of_sky
            low, high = (sky.low * of_sky + sun.low * of_sun, sky.high * of_sky + sun.high * of_sun)
            found[source.name] = np.stack([whole, low, high], axis=1)
        return found

    def _rays(self, camera: str, size: tuple[int, int]) -> ViewTrace:
        """A camera's rays; layers that were read from the cache have none."""
        view = self.layers.views.get(camera)
        if view is not None and view.trace is not None:
            return view.trace
        solution = self.layers.solution
        seen = solution.stage.views[camera]
        return trace_view(solution, seen, width=size[0], height=size[1])


def pocket_day(
    maker: HourMaker,
    document: SceneDocument,
    setup: SetupLight,
    *,
    moments: tuple[PocketMoment, ...],
    left_out: tuple[PocketMoment, ...],
    told_first: str | None,
) -> PocketDay:
    """A setup's day; the maker has made a picture of each of the moments.

    document: as it stands in the setup; moments: without its own hour, which is put among them;
    told_first: the reading that is told how long it stays.
    """
    own = instant_of(document)
    assert own is not None
    assert document.sky is not None
    day = through_day(maker.kept, document, setup)
    mine = PocketMoment(own, _OWN_WORD)
    ordered = sorted([*moments, mine], key=lambda one: one.instant)
    return PocketDay(
        date=day.date,
        sky=document.sky.type,
        hours=tuple(
            msgspec.structs.replace(
                _hour(maker, document, setup, one), stays=_stays(day, told_first, one.instant)
            )
            for one in ordered
        ),
        own=ordered.index(mine),
        sources=tuple(one.name for one in maker.outside(own, None).sources),
        targets=tuple(
            PocketTarget(
                name=one.name,
                asks=one.asks,
                holds=tuple(
                    (clock_words(held.start), clock_words(held.end), held.sure)
                    for held in one.holds
                ),
            )
            for one in day.targets
        ),
        left_out=tuple(one.clock for one in left_out),
    )


def _hour(
    maker: HourMaker, document: SceneDocument, setup: SetupLight, moment: PocketMoment
) -> PocketHour:
    instant = moment.instant
    light, scale = (None, 1.0) if moment.word == _OWN_WORD else maker.made[setup.camera, instant]
    daylight = maker.outside(instant, None).outdoors.daylight
    place = sun_place(place_of(document), instant)
    levels = maker.readings(instant)
    probes = maker.layers.probes.probes
    return PocketHour(
        clock=moment.clock,
        word=moment.word,
        instant=instant.isoformat(timespec="minutes"),
        light=light,
        scale=scale,
        sun_altitude_deg=round(math.degrees(place.altitude_rad), 2),
        sun_azimuth_deg=round(math.degrees(place.azimuth_rad), 2),
        sky_lux=short_number(daylight.horizontal_lux),
        sun_lux=short_number(daylight.sun_normal_lux),
        readings=tuple(
            tuple(_three(one[k]) for one in levels.values())
            for k, probe in enumerate(probes)
            if probe.view in (None, setup.camera)
        ),
    )


def _stays(day: Day, name: str | None, instant: datetime) -> PocketStay | None:
    """The countdown of a reading from an hour on."""
    if name is None:
        return None
    times = [one.instant for one in day.moments]
    stops = [one.levels[name].stops for one in day.moments]
    found = countdown(times, stops, reading=name, start=instant)
    if found is None:
        return None
    minutes = None if found.minutes is None else round(found.minutes, 1)
    return PocketStay(reading=name, minutes=minutes, falls=found.falls)


def _three(levels: Float64Array) -> Levels:
    expected, low, high = (short_number(float(one)) for one in levels)
    return expected, low, high
