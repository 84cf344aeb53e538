"""Every reading at every moment of a day, from one trace."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final

import numpy as np

from falloff.camera import key_illuminance_lux, mid_grey_luminance_nit
from falloff.clock import midnight, zone_of
from falloff.constants import LUMINANCE_WEIGHTS
from falloff.day.patches import SunFinder
from falloff.day.records import DayMoment, HourLevel, ViewLevel
from falloff.day.sights import SunInView, WindowsInView
from falloff.daylight import Location, SunEvents, sun_place
from falloff.document import Target
from falloff.layers import HourLayers, read_hour, read_whole
from falloff.readings import SetupLight
from falloff.sources import SKY, Source
from falloff.stage import SUN_NAME, HourOutside
from falloff.transport import hour_in_shade, hour_light
from falloff.types import BoolArray, Float64Array, IntArray

_FINE: Final = timedelta(minutes=5)  # between moments while the light outside changes fast
_FAST_RAD: Final = (math.radians(-7.5), math.radians(6.0))


def moments_of(
    where: Location, day: date, events: SunEvents, *, step: timedelta
) -> tuple[datetime, ...]:
    """The moments that a day is told by: from one night to the next, closer about rise and set."""
    zone = zone_of(where.zone)
    begins = midnight(day, where.zone)
    ends = midnight(day + timedelta(days=1), where.zone)
    # A summer's night may begin after midnight: then dusk comes before dawn on the calendar.
    dawn, dusk = events.nautical_dawn, events.nautical_dusk
    first = begins if dawn is None else _down(dawn, step)
    late = dusk is None or (dawn is not None and dusk < dawn)
    last = ends if dusk is None or late else _down(dusk, step) + step
    first, last = max(first, begins), min(last, ends)
    found = [first]
    # Steps are of real time, so that no hour is lost or told twice where the clock is set.
    utc, end = first.timestamp(), last.timestamp()
    while utc < end:
        altitude = sun_place(where, found[-1]).geometric_rad
        gap = min(step, _FINE) if _FAST_RAD[0] < altitude < _FAST_RAD[1] else step
        # Stay on the clock's round quarters.
        utc = min(end, (utc // gap.total_seconds() + 1.0) * gap.total_seconds())
        found.append(datetime.fromtimestamp(utc, zone))
    return tuple(found)


def _down(when: datetime, step: timedelta) -> datetime:
    seconds = step.total_seconds()
    return datetime.fromtimestamp(when.timestamp() // seconds * seconds, when.tzinfo)


@dataclass(frozen=True, slots=True)
class Reader:
    """What is needed to read any moment of a day: the kept light, the sky by hour, the setup.

    targets: by name; hour: the setup's own; behind, cells: cells of the sky that the skyline hides,
    and that are looked at from anywhere.
    """

    kept: HourLayers
    outside: Callable[[datetime, str | None], HourOutside]
    where: Location
    setup: SetupLight
    targets: Mapping[str, Target]
    finder: SunFinder
    windows: WindowsInView
    sun_in_view: SunInView
    behind: BoolArray
    cells: IntArray
    hour: datetime
    word: str | None = None

    def moment(self, instant: datetime) -> DayMoment:
        """One moment."""
        out = self.outside(instant, self.word)
        stage = self.kept.layers.solution.stage
        hour = hour_light(stage, out.sources, self.cells)
        shade = hour_in_shade(hour, stage, out.in_shade, self.behind)
        read, in_shade, sun_straight, lit = read_whole(self.kept, hour, shade)
        sun = next((one for one in out.sources if one.name == SUN_NAME), None)
        fixed, sky_part, sun_part = self._steady(), 0.0, 0.0
        for s, source in hour.sources.items():
            colour = source.colour.astype(np.float64) * self._dims(source.name)
            whole = read[s] @ (colour * _WEIGHTS)
            if source.kind == SKY:
                shaded = in_shade[s] @ (colour * _WEIGHTS)
                sky_part, sun_part = sky_part + shaded, sun_part + (whole - shaded)
            else:
                sun_part = sun_part + whole
        spread = out.outdoors
        value = fixed + sky_part + sun_part
        low = fixed + spread.sky_spread.low * sky_part + spread.sun_spread.low * sun_part
        high = fixed + spread.sky_spread.high * sky_part + spread.sun_spread.high * sun_part
        straight = np.zeros(len(value))
        if sun is not None:
            straight = sun_straight @ (sun.colour.astype(np.float64) * _WEIGHTS)
        levels = self._levels(value, low, high, straight)
        told = {name: target_level(one, levels) for name, one in self.targets.items()}
        place, outlined = (
            sun_place(self.where, instant),
            instant.minute == 0 or instant == self.hour,
        )
        in_frame, on_lens = (False, False) if sun is None else self.sun_in_view.at(sun)
        patches = () if sun is None else self.finder.patches(sun, lit, outlined=outlined)
        return DayMoment(
            instant=instant,
            sun_altitude_deg=math.degrees(place.altitude_rad),
            sun_azimuth_deg=math.degrees(place.azimuth_rad),
            sky_lux=out.outdoors.daylight.horizontal_lux,
            sun_lux=out.outdoors.daylight.sun_normal_lux,
            sky_kelvin=out.outdoors.sky_kelvin,
            levels=levels,
            target_levels={name: one[0] for name, one in told.items()},
            holds={name: target_holds(self.targets[name], one) for name, one in told.items()},
            views=self._views(hour.luminance, levels),
            patches=patches,
            sun_in_frame=in_frame,
            sun_on_lens=on_lens,
        )

    def sun_at(self, instant: datetime) -> Source | None:
        """The sun as it shines at a moment; None under a sky that never shows it."""
        sources = self.outside(instant, self.word).sources
        return next((one for one in sources if one.name == SUN_NAME), None)

    def shares(self, instant: datetime) -> dict[str, tuple[float, float]]:
        """By opening, the share that it gives of the key reading and of all readings' light."""
        out = self.outside(instant, self.word)
        hour = hour_light(self.kept.layers.solution.stage, out.sources)
        read = read_hour(self.kept, hour)
        total = self._steady()
        mine: dict[str, Float64Array] = {}
        for s, source in hour.sources.items():
            by = source.colour.astype(np.float64) * self._dims(source.name) * _WEIGHTS
            mine[source.name] = (read.direct[s] + read.bounced[s]) @ by
            total = total + mine[source.name]
        probes = self.kept.layers.probes.probes
        lux = [k for k, probe in enumerate(probes) if probe.instrument != "spot"]
        names = [probe.name for probe in probes]
        found = {}
        for name, light in mine.items():
            each = light / np.maximum(total, 1e-12)
            room = float(each[lux].mean()) if lux else 0.0
            key = float(each[names.index(self.setup.key)]) if self.setup.key in names else room
            found[name] = (key, room)
        return found

    def _dims(self, name: str) -> float:
        return self.setup.dims.get(name, 1.0)

    def _steady(self) -> Float64Array:
        """What all lights but daylight give every probe."""
        layers = self.setup.coloured(self.kept.layers)
        direct, bounced = layers.probes.mean()
        total = np.zeros(direct.shape[1])
        for s, source in enumerate(layers.solution.stage.sources):
            if source.kind == SKY or source.name == SUN_NAME:
                continue
            by = layers.colours[s] * self._dims(source.name) * _WEIGHTS
            total += (direct[s] + bounced[s]) @ by
        return total

    def _levels(
        self, value: Float64Array, low: Float64Array, high: Float64Array, sun: Float64Array
    ) -> dict[str, HourLevel]:
        key = float(key_illuminance_lux(self.setup.settings))
        grey = float(mid_grey_luminance_nit(self.setup.settings))
        found = {}
        for k, probe in enumerate(self.kept.layers.probes.probes):
            if probe.view not in {None, self.setup.camera}:
                continue
            against = grey if probe.instrument == "spot" else key
            found[probe.name] = HourLevel(
                float(value[k]),
                float(low[k]),
                float(high[k]),
                _stops(float(value[k]), against),
                _stops(float(low[k]), against),
                _stops(float(high[k]), against),
                float(sun[k]),
            )
        return found

    def _views(
        self, luminance: Mapping[int, np.ndarray], levels: Mapping[str, HourLevel]
    ) -> tuple[ViewLevel, ...]:
        grey = float(mid_grey_luminance_nit(self.setup.settings))
        key = levels.get(self.setup.key or "")
        face = None if key is None else key.stops
        found = []
        for name, nit in self.windows.nits(luminance).items():
            over_grey = _stops(nit, grey)
            over_face = None if over_grey is None or face is None else over_grey - face
            found.append(ViewLevel(opening=name, nit=nit, over_grey=over_grey, over_face=over_face))
        return tuple(found)


_WEIGHTS: Final = np.array(LUMINANCE_WEIGHTS)


def target_level(
    target: Target, levels: Mapping[str, HourLevel]
) -> tuple[float | None, float | None, float | None]:
    """A target's level in stops: as expected, and least and most over the spread."""
    one = levels.get(target.reading)
    other = None if target.over is None else levels.get(target.over)
    if one is None or (target.over is not None and other is None):
        return None, None, None
    found = []
    for part in ("stops", "low_stops", "high_stops"):
        a = getattr(one, part)
        b = 0.0 if other is None else getattr(other, part)
        found.append(None if a is None or b is None else a - b)
    value, low, high = found
    if low is not None and high is not None and low > high:
        low, high = high, low
    return value, low, high


def target_margin(target: Target, level: float | None) -> float | None:
    """How far within its tolerance a target's level is, stops; below zero where it is missed."""
    if level is None:
        return None
    off = level - target.level.si
    if target.limit == "at most":
        return target.tolerance.si - off
    if target.limit == "at least":
        return off + target.tolerance.si
    return target.tolerance.si - abs(off)


def target_holds(
    target: Target, told: tuple[float | None, float | None, float | None]
) -> bool | None:
    """True over the whole spread, None over a part of it or as expected alone, False nowhere."""
    margins = [target_margin(target, level) for level in told]
    known = [margin for margin in margins if margin is not None]
    if not known or len(known) < len(margins):
        return False
    if all(margin >= 0.0 for margin in known):
        return True
    _, low, high = told
    reach = low is not None and high is not None and low <= target.level.si <= high
    return None if reach or any(margin >= 0.0 for margin in known) else False


def _stops(value: float, reference: float) -> float | None:
    return math.log2(value / reference) if value > 0.0 else None
