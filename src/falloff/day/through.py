"""through_day(...) -> Day: one setup of a scene from one night to the next."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from datetime import date, datetime, timedelta
from itertools import pairwise
from typing import Final

import numpy as np

from falloff.camera import describe_settings, key_illuminance_lux
from falloff.clock import local_instant, require_aware
from falloff.day.advice import countdown, dusk_of, nd_pulls, view_fix
from falloff.day.moments import Reader, moments_of
from falloff.day.patches import SunFinder
from falloff.day.records import Day, DayMoment, Dusk, Stretch, TargetDay, ViewFix
from falloff.day.sights import SunInView, WindowsInView
from falloff.day.stretches import stretches, value_at
from falloff.daylight import Location, sun_events, sun_place
from falloff.document import (
    AnyTarget,
    SceneDocument,
    instant_of,
    points_of,
    targets_in,
)
from falloff.findings import Finding, Weight
from falloff.layers import HourLayers
from falloff.readings import SetupLight
from falloff.readings.target_words import asks
from falloff.sources import SKY_CELLS
from falloff.stage import SUN_NAME, place_of, skies_by_hour, way_to_sun
from falloff.transport import behind_skyline
from falloff.types import IntArray

STEP: Final = timedelta(minutes=15)
_HALF_STOP: Final = 0.5
_CLOSEST: Final = timedelta(minutes=2)  # of moments where the sun's edge crosses a reading
_MOST_EXTRA: Final = 60
_LOOK: Final = timedelta(minutes=3)


def _silent() -> None:
    pass


def through_day(  # noqa: PLR0913  what is asked of a day, each by its name
    kept: HourLayers,
    document: SceneDocument,
    setup: SetupLight,
    *,
    day: date | None = None,
    word: str | None = None,
    step: timedelta = STEP,
    progress: Callable[[], None] = _silent,
) -> Day:
    """A day of one setup: every reading, when targets hold, where the sun falls, what to do.

    document: as it stands in the setup, with the hour of that, and north where it may be another's;
    day: another date than the scene's; word: another sky; progress: called before each moment, and
    what it raises ends the work. Raises DaylightError where that date's clock skips the hour; of an
    hour that it shows twice, the first is meant.
    """
    where = place_of(document)
    hour = instant_of(document)
    assert hour is not None
    written = hour
    assert document.sky is not None
    require_aware(hour)
    if day is not None:
        hour = local_instant(datetime.combine(day, hour.time()), where.zone)
    view = kept.layers.solution.stage.views[setup.camera]
    targets = targets_in(document, setup.name)
    solution = kept.layers.solution
    outside, windows = skies_by_hour(document), WindowsInView.of(solution, view)
    reader = Reader(
        kept,
        outside,
        where,
        setup,
        targets,
        points_of(document),
        SunFinder(solution),
        windows,
        SunInView(solution, view),
        behind_skyline(outside(hour, word).sources[0]),
        _looked_at(kept, windows),
        hour,
        written,
        word,
    )
    events = sun_events(where, hour.date())
    wanted = sorted({*moments_of(where, hour.date(), events, step=step), hour})
    moments = _read(reader, wanted, progress)
    times = [one.instant for one in moments]
    sun_seen = _sun_seen(reader, moments, document.sky.north.si)
    names = tuple(moments[0].levels)
    levels = {name: [one.levels[name].stops for one in moments] for name in names}
    key = setup.key if setup.key in levels else None
    told_first = (key,) if key else names[:1]
    return Day(
        scene=document.title,
        setup=setup.name,
        camera=setup.camera,
        place=_place(where),
        date=hour.date().isoformat(),
        zone=where.zone,
        sky=document.sky.type if word is None else word,
        north_deg=math.degrees(document.sky.north.si),
        exposure=describe_settings(setup.settings),
        key_lux=float(key_illuminance_lux(setup.settings)),
        key_reading=key,
        hour=hour,
        events={
            name: None if at is None else at.replace(microsecond=0)
            for name, at in (
                ("dawn", events.civil_dawn),
                ("sunrise", events.rise),
                ("noon", events.noon),
                ("sunset", events.set),
                ("dusk", events.civil_dusk),
                ("night", events.nautical_dusk),
            )
        },
        always_up=events.always_up,
        always_down=events.always_down,
        moments=moments,
        targets=tuple(_target_day(name, one, reader, moments) for name, one in targets.items()),
        near_hour=() if key is None else _near(times, levels[key], hour),
        sun_out=_while(times, [one.sun_lux > 0.0 for one in moments]),
        sun_in_room=_while(times, [bool(one.patches) for one in moments]),
        sun_in_frame=sun_seen[0],
        sun_on_lens=sun_seen[1],
        nd=()
        if key is None
        else nd_pulls(times, levels[key], nd_stops=setup.settings.nd_stops, start=hour),
        dusk=_dusks(moments),
        view_fixes=_view_fixes(reader, moments, hour),
        countdowns=tuple(
            one
            for name in told_first
            if (one := countdown(times, levels[name], reading=name, start=hour)) is not None
        ),
        findings=_findings(solution.stage.findings, setup.findings),
    )


def _findings(of_stage: Sequence[Finding], of_setup: Sequence[Finding]) -> tuple[Finding, ...]:
    """What is to be told of a setup, each once.

    Notes on sky and sun are of one hour, and the day itself tells every hour's.
    """
    told = {
        one.says: one
        for one in (*of_stage, *of_setup)
        if not (one.weight is Weight.NOTE and one.about in {"sky", SUN_NAME})
    }
    return tuple(told.values())


def _read(
    reader: Reader, wanted: Sequence[datetime], progress: Callable[[], None]
) -> tuple[DayMoment, ...]:
    """The moments, and more between two where a reading jumps: the sun's edge crosses it there."""
    made: list[DayMoment] = []
    extra = 0
    for instant in wanted:
        progress()
        ahead = [reader.moment(instant)]
        while ahead:
            gap = ahead[-1].instant - made[-1].instant if made else timedelta(0)
            if extra == _MOST_EXTRA or gap <= 2 * _CLOSEST or not _jumps(made[-1], ahead[-1]):
                made.append(ahead.pop())
                continue
            progress()
            extra += 1
            half = timedelta(minutes=round(gap / timedelta(minutes=2)))
            ahead.append(reader.moment(made[-1].instant + half))
    return tuple(made)


def _looked_at(kept: HourLayers, windows: WindowsInView) -> IntArray:
    """The cells of the sky that readings or the camera see."""
    seen = [one.cells for one in kept.worths.values()]
    cells = np.unique(np.concatenate([*seen, windows.cells[windows.seen >= 0]]))
    return cells[cells < SKY_CELLS].astype(np.int64)


def _jumps(one: DayMoment, other: DayMoment) -> bool:
    """Whether direct sun comes on or goes off at a reading for which that is much."""
    return any(
        (level.sun > 0.0) != (other.levels[name].sun > 0.0)
        and abs(math.log2(max(level.value, 1e-9) / max(other.levels[name].value, 1e-9)))
        > _HALF_STOP
        for name, level in one.levels.items()
    )


def _sun_seen(
    reader: Reader, moments: tuple[DayMoment, ...], north_rad: float
) -> tuple[tuple[Stretch, ...], tuple[Stretch, ...]]:
    """While the sun is in the frame, and while it is on the lens, looked at every few minutes."""
    sun = reader.sun_at(max(moments, key=lambda one: one.sun_lux).instant)
    if sun is None or sun.flux_lm <= 0.0:
        return (), ()
    shines = [one.sun_lux > 0.0 for one in moments]
    times, seen = [], []
    for (one, up), (other, still) in pairwise(zip(moments, shines, strict=True)):
        count = max(1, math.ceil((other.instant - one.instant) / _LOOK))
        for k in range(count):
            when = one.instant + k * (other.instant - one.instant) / count
            times.append(when)
            way = way_to_sun(sun_place(reader.where, when), north_rad)
            seen.append(reader.sun_in_view.along(sun, way) if up or still else (False, False))
    return _while(times, [one for one, _ in seen]), _while(times, [one for _, one in seen])


def _target_day(
    name: str, target: AnyTarget, reader: Reader, moments: tuple[DayMoment, ...]
) -> TargetDay:
    times = [one.instant for one in moments]
    told = [reader.judged[time.timestamp()][name] for time in times]
    margins, least = [one.margin for one in told], [one.least for one in told]
    said = next((one.expected.asks for one in told if one.expected is not None), "")
    return TargetDay(
        name=name,
        asks=said or asks(target),
        holds=stretches(times, margins, least),
    )


def _near(times: list[datetime], levels: list[float | None], hour: datetime) -> tuple[Stretch, ...]:
    begun = value_at(times, levels, hour)
    if begun is None:
        return ()
    margins = [None if one is None else _HALF_STOP - abs(one - begun) for one in levels]
    return stretches(times, margins)


def _while(times: list[datetime], flags: list[bool]) -> tuple[Stretch, ...]:
    """Stretches between moments, begun and ended half way."""
    return stretches(times, [1.0 if flag else -1.0 for flag in flags])


def _openings(moments: tuple[DayMoment, ...]) -> list[str]:
    return list(dict.fromkeys(one.opening for moment in moments for one in moment.views))


def _dusks(moments: tuple[DayMoment, ...]) -> tuple[Dusk, ...]:
    found = (dusk_of(moments, name) for name in _openings(moments))
    return tuple(one for one in found if one is not None)


def _view_fixes(
    reader: Reader, moments: tuple[DayMoment, ...], hour: datetime
) -> tuple[ViewFix, ...]:
    shares = reader.shares(hour)
    found = (
        view_fix(moments, name, hour=hour, shares=shares[name])
        for name in _openings(moments)
        if name in shares
    )
    return tuple(one for one in found if one is not None)


def _place(where: Location) -> str:
    north, east = math.degrees(where.latitude_rad), math.degrees(where.longitude_rad)
    latitude = f"{abs(north):.2f}° {'N' if north >= 0 else 'S'}"
    return f"{latitude}, {abs(east):.2f}° {'E' if east >= 0 else 'W'}"
