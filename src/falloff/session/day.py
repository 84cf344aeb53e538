"""day: a scene's setups from one night to the next, and an order of shots that suits the sun."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Final

import msgspec

from falloff.camera.atomic_write import write_whole
from falloff.clock import read_clock
from falloff.day import STEP, Day, ShotTurn, order_of_shots, through_day
from falloff.daylight import SKY_WORDS
from falloff.document import (
    HAZIEST_BY_HOUR,
    Quantity,
    SceneDocument,
    arranged,
    at_hour,
    has_sun,
    read_document,
)
from falloff.drawing import draw_day, plan_of, svg_of, write_png
from falloff.errors import DaylightError, DocumentError, Fault
from falloff.layers import HourLayers, cached_layers, keep_hours
from falloff.session.picture import prepare_folder
from falloff.session.scene import alike, known_names, setup_light, setup_names
from falloff.stage import build_stage
from falloff.transport import Progress, silent

MOST_BESIDE: Final = 3
_NOON: Final = "12:00"


@dataclass(frozen=True, slots=True)
class DayAsked:
    """What is asked of a day: other dates, other facings and other skies stand side by side.

    dates: the scene's own where none; turned_deg: the house turned by so much, clockwise; skies:
    words, the scene's own where none. Setups but the first are shown under the first of each.
    """

    setups: tuple[str, ...] = ()
    dates: tuple[date, ...] = ()
    turned_deg: tuple[float, ...] = ()
    skies: tuple[str, ...] = ()
    step: timedelta = STEP


@dataclass(frozen=True, slots=True)
class DaysShown:
    """Days of the first setup side by side, and of every setup under the first of what was asked.

    beside: what was asked to stand side by side, of the first setup; days: one a setup; files: the
    sheet as SVG and PNG.
    """

    beside: tuple[Day, ...]
    days: tuple[Day, ...]
    order: tuple[ShotTurn, ...]
    files: tuple[Path, ...] = ()

    @property
    def differs(self) -> bool:
        """Whether days stand side by side."""
        return len(self.beside) > 1


def run_day(
    path: Path,
    asked: DayAsked | None = None,
    *,
    out: Path | None = None,
    progress: Progress = silent,
) -> DaysShown:
    """Trace a scene once and read every hour of its day; draw a sheet into the folder `out`.

    Raises what reading and building find wrong, DocumentError for a scene without a place, without
    a window or without a date, DaylightError for an unknown sky.
    """
    asked = asked or DayAsked()
    _check(asked)
    if out is not None:
        prepare_folder(out)
    document = dated(read_document(path, known=known_names()), asked.dates)
    names = setup_names(document, asked.setups)
    days: dict[str, Day] = {}
    beside: list[Day] = []
    for group in _standing_alike(document, names):
        kept: HourLayers | None = None
        for name in group:
            standing = arranged(document, name)
            if kept is None:
                stage = build_stage(_sunny(standing, asked.skies))
                layers, _ = cached_layers(stage, sizes={}, progress=progress)
                kept = keep_hours(layers)
            light = setup_light(standing, name)
            shown = [
                through_day(
                    kept, _turned(standing, turned), light, day=day, word=word, step=asked.step
                )
                for turned in asked.turned_deg or (0.0,)
                for day in asked.dates or (None,)
                for word in asked.skies or (None,)
                if name == names[0] or not days.get(name)
            ][: None if name == names[0] else 1]
            days[name] = shown[0]
            if name == names[0]:
                beside += shown
    every = tuple(days[name] for name in names)
    order = order_of_shots(every)
    files = () if out is None else _sheet(out, document, beside, order)
    return DaysShown(tuple(beside), every, order, files)


def _sheet(
    out: Path, document: SceneDocument, days: list[Day], order: tuple[ShotTurn, ...]
) -> tuple[Path, ...]:
    room = plan_of(arranged(document, days[0].setup))
    drawing = draw_day(tuple(days), room=room, order=order if len(order) > 1 else ())
    stem = "".join(one if one.isalnum() else "-" for one in f"{days[0].setup} day".lower())
    svg, png = out / f"{stem}.svg", out / f"{stem}.png"
    write_whole(svg, lambda part: _write(part, svg_of(drawing)))
    write_whole(png, functools.partial(write_png, drawing))
    return svg, png


def _write(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")


def dated(document: SceneDocument, dates: tuple[date, ...]) -> SceneDocument:
    """The scene with an hour to its sky: its own, or noon of the first date that is asked for."""
    if document.location is None:
        raise _lacks(
            document,
            ("location",),
            what="where the sun stands hangs on the place, and this scene has none",
            fix="add `location: {latitude: 51.5 N, longitude: 0.13 W, zone: Europe/London}`",
        )
    sky = document.sky
    if sky is None or not document.openings:
        raise _lacks(
            document,
            ("openings",),
            what="no daylight comes into this scene, so every hour is alike",
            fix="add a window to `openings`, and a `sky`",
        )
    if sky.at is None and not dates:
        raise _lacks(
            document,
            ("sky",),
            what="it is not said of which date",
            fix="add `at: 2026-06-21 15:40` to the sky, or say --date 2026-06-21",
        )
    hour = sky.at
    if hour is None and sky.sun is not None and sky.sun.turbidity > HAZIEST_BY_HOUR:
        raise _lacks(
            document,
            ("sky", "sun", "turbidity"),
            what="the light of an hour is not known in air that hazy",
            fix=f"write {HAZIEST_BY_HOUR:g} at most; 6 is hazy",
        )
    if dates:
        clock = _NOON if hour is None else f"{read_clock(hour):%H:%M}"
        hour = f"{dates[0].isoformat()} {clock}"
    placed = sky.sun
    if placed is not None and placed.altitude is not None:
        placed = msgspec.structs.replace(placed, altitude=None, azimuth=None)
    assert hour is not None
    dated_sky = msgspec.structs.replace(at_hour(sky, hour), sun=placed)
    return msgspec.structs.replace(document, sky=dated_sky)


def _standing_alike(document: SceneDocument, names: tuple[str, ...]) -> list[tuple[str, ...]]:
    """Setups in which all stands alike, whatever their hours: one trace serves them."""
    same_hour = {
        name: msgspec.structs.replace(one, at=None) for name, one in document.setups.items()
    }
    return alike(msgspec.structs.replace(document, setups=same_hour), names)


def _sunny(document: SceneDocument, skies: tuple[str, ...]) -> SceneDocument:
    """The scene with a sun among its sources, where a sky that has one is asked for."""
    sky = document.sky
    assert sky is not None
    if has_sun(sky.type) or not any(has_sun(word) for word in skies):
        return document
    bare = msgspec.structs.replace(sky, type="clear", outside=None, zenith=None, at_glass=None)
    return msgspec.structs.replace(document, sky=bare)


def _turned(document: SceneDocument, by_deg: float) -> SceneDocument:
    """The house turned clockwise: on its plan, north goes round the other way."""
    sky = document.sky
    assert sky is not None
    if by_deg == 0.0:
        return document
    north_rad = sky.north.si + math.radians(by_deg)
    north = Quantity(north_rad, f"{math.degrees(north_rad):g} deg")
    return msgspec.structs.replace(document, sky=msgspec.structs.replace(sky, north=north))


def _check(asked: DayAsked) -> None:
    count = max(1, len(asked.dates)) * max(1, len(asked.turned_deg)) * max(1, len(asked.skies))
    if count > MOST_BESIDE:
        raise DaylightError(
            Fault(
                what="that many days do not fit side by side",
                expected=f"{MOST_BESIDE} at most: dates times turns times skies",
                found=str(count),
                fix="ask for fewer at a time",
            )
        )
    for word in asked.skies:
        if word not in SKY_WORDS:
            raise DaylightError(
                Fault(
                    what=f"there is no sky called {word!r}",
                    expected=", ".join(SKY_WORDS),
                    fix="take one of these",
                )
            )


def _lacks(document: SceneDocument, path: tuple[str, ...], *, what: str, fix: str) -> DocumentError:
    line, column = document.position_of(path)
    where = document.file_name
    if getattr(document, path[0]):
        where += f", line {line}, column {column} ({'.'.join(path)})"
    return DocumentError(Fault(what=what, where=where, fix=fix, line=line, column=column))
