"""Every reading at every moment of a day, from one trace."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Final

import numpy as np

from falloff.camera import key_illuminance_lux, mid_grey_luminance_nit
from falloff.clock import midnight, zone_of
from falloff.constants import LUMINANCE_WEIGHTS
from falloff.day.patches import SunFinder
from falloff.day.records import DayMoment, HourLevel, ViewLevel
from falloff.day.sights import SunInView, WindowsInView
from falloff.day.spread import Judging, Spread
from falloff.daylight import Location, SunEvents, sun_place
from falloff.document import AnyTarget, ColourTarget, HueTarget, KeepTarget, Target
from falloff.layers import HourLayers, read_hour, read_whole
from falloff.readings import Metered, SetupLight
from falloff.readings.colour import uv_of
from falloff.sources import SKY, Source
from falloff.stage import SUN_NAME, HourOutside
from falloff.transport import HourLight, hour_in_shade, hour_light
from falloff.types import BoolArray, Float32Array, Float64Array, IntArray

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
class _Light:
    """What is outside at a moment, and the light (p, 3) at every probe with its spread.

    straight: (p,) what the sun itself gives.
    """

    out: HourOutside
    hour: HourLight
    sun: Source | None
    lit: Float32Array
    expected: Float64Array
    low: Float64Array
    high: Float64Array
    straight: Float64Array


@dataclass(frozen=True, slots=True)
class Reader:
    """What is needed to read any moment of a day: the kept light, the sky by hour, the setup.

    targets: by name, with the points of readings; hour: the setup's own; written: as the file has
    it; behind, cells: cells of the sky that the skyline hides, and that are looked at from
    anywhere; judged: every target at each moment that was read, by its time (s).
    """

    kept: HourLayers
    outside: Callable[[datetime, str | None], HourOutside]
    where: Location
    setup: SetupLight
    targets: Mapping[str, AnyTarget]
    points: Mapping[str, tuple[str, ...]]
    finder: SunFinder
    windows: WindowsInView
    sun_in_view: SunInView
    behind: BoolArray
    cells: IntArray
    hour: datetime
    written: datetime
    word: str | None = None
    judged: dict[float, dict[str, Spread]] = field(default_factory=dict)
    _judging: list[Judging] = field(default_factory=list)

    def moment(self, instant: datetime) -> DayMoment:
        """One moment."""
        light = self._light(instant, self.word)
        out, hour, sun, lit = light.out, light.hour, light.sun, light.lit
        value, low, high = (rgb @ _WEIGHTS for rgb in (light.expected, light.low, light.high))
        levels = self._levels(value, low, high, light.straight)
        metered = self._metered(light.expected)
        told = self._judge().at(metered, self._metered(light.low), self._metered(light.high))
        self.judged[instant.timestamp()] = told
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
            target_levels={
                name: self._judge().level(self.targets[name], one, metered)
                for name, one in told.items()
                if isinstance(self.targets[name], Target)
            },
            holds={name: one.holds for name, one in told.items()},
            views=self._views(hour.luminance, levels),
            patches=patches,
            sun_in_frame=in_frame,
            sun_on_lens=on_lens,
        )

    def _light(self, instant: datetime, word: str | None) -> _Light:
        """All light at the probes at a moment."""
        out = self.outside(instant, word)
        stage = self.kept.layers.solution.stage
        hour = hour_light(stage, out.sources, self.cells)
        shade = hour_in_shade(hour, stage, out.in_shade, self.behind)
        read, in_shade, sun_straight, lit = read_whole(self.kept, hour, shade)
        sun = next((one for one in out.sources if one.name == SUN_NAME), None)
        fixed = self._steady()
        sky_part, sun_part = np.zeros_like(fixed), np.zeros_like(fixed)
        for s, source in hour.sources.items():
            colour = source.colour.astype(np.float64) * self._dims(source.name)
            if source.kind == SKY:
                sky_part += in_shade[s] * colour
                sun_part += (read[s] - in_shade[s]) * colour
            else:
                sun_part += read[s] * colour
        sky, direct = out.outdoors.sky_spread, out.outdoors.sun_spread
        straight = np.zeros(len(fixed))
        if sun is not None:
            straight = sun_straight @ (sun.colour.astype(np.float64) * _WEIGHTS)
        return _Light(
            out,
            hour,
            sun,
            lit,
            expected=fixed + sky_part + sun_part,
            low=fixed + sky.low * sky_part + direct.low * sun_part,
            high=fixed + sky.high * sky_part + direct.high * sun_part,
            straight=straight,
        )

    def _metered(self, rgb: Float64Array) -> dict[str, Metered]:
        """Light (p, 3) at the probes as the setup's camera takes it; its colour where one asks."""
        colours = any(isinstance(one, ColourTarget | HueTarget) for one in self.targets.values())
        return {
            probe.name: Metered(
                float(rgb[k] @ _WEIGHTS),
                uv_of(rgb[k]) if colours else None,
                probe.instrument == "spot",
            )
            for k, probe in enumerate(self.kept.layers.probes.probes)
            if probe.view in {None, self.setup.camera}
        }

    def _judge(self) -> Judging:
        """What the targets are judged by; what is kept is as the file's own hour has it."""
        if not self._judging:
            kept: dict[str, float] = {}
            if any(isinstance(one, KeepTarget) for one in self.targets.values()):
                written = self._metered(self._light(self.written, None).expected)
                kept = {name: one.value for name, one in written.items()}
            self._judging.append(
                Judging(
                    self.targets,
                    key_lux=float(key_illuminance_lux(self.setup.settings)),
                    grey_nit=float(mid_grey_luminance_nit(self.setup.settings)),
                    balance_kelvin=self.setup.settings.balance_kelvin,
                    points=self.points,
                    kept=kept,
                )
            )
        return self._judging[0]

    def sun_at(self, instant: datetime) -> Source | None:
        """The sun as it shines at a moment; None under a sky that never shows it."""
        sources = self.outside(instant, self.word).sources
        return next((one for one in sources if one.name == SUN_NAME), None)

    def shares(self, instant: datetime) -> dict[str, tuple[float, float]]:
        """By opening, the share that it gives of the key reading and of all readings' light."""
        out = self.outside(instant, self.word)
        hour = hour_light(self.kept.layers.solution.stage, out.sources)
        read = read_hour(self.kept, hour)
        total = self._steady() @ _WEIGHTS
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
        """What all lights but daylight give every probe (p, 3)."""
        layers = self.setup.coloured(self.kept.layers)
        direct, bounced = layers.probes.mean()
        total = np.zeros(direct.shape[1:])
        for s, source in enumerate(layers.solution.stage.sources):
            if source.kind == SKY or source.name == SUN_NAME:
                continue
            total += (direct[s] + bounced[s]) * (layers.colours[s] * self._dims(source.name))
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


def _stops(value: float, reference: float) -> float | None:
    return math.log2(value / reference) if value > 0.0 else None
