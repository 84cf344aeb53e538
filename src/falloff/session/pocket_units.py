"""Each light of a scene as one sets it up: what it is, from where, aimed where, how many watts."""

from __future__ import annotations

import math
from typing import Literal

import msgspec

from falloff.document import Fixture, Practical, SceneDocument
from falloff.drawing.plan import plan_of
from falloff.drawing.plan_places import clock_hour, clock_text
from falloff.drawing.plan_records import PlanUnit
from falloff.stage.lights import light_of
from falloff.stage.places import Placer
from falloff.types import Float64Array
from falloff.units import format_length

_NEAR_M = 0.005


class PocketUnit(msgspec.Struct, frozen=True, kw_only=True):
    """A light in words; number counts fixtures, then practicals, from 1; watts None: not told."""

    name: str
    number: int
    section: Literal["fixture", "practical"]
    says: str
    place: str
    aim: str
    watts: float | None
    circuit: str | None


def pocket_units(document: SceneDocument) -> tuple[PocketUnit, ...]:
    """The lights of an arranged document, fixtures first; raises GeometryError as `build_stage`."""
    placer = Placer(document)
    return tuple(_unit(placer, unit) for unit in plan_of(document, beams=False).units)


def _unit(placer: Placer, unit: PlanUnit) -> PocketUnit:
    return PocketUnit(
        name=unit.name,
        number=unit.number,
        section="fixture" if unit.section == "fixtures" else "practical",
        says=unit.says,
        place=_place(placer, unit),
        aim=_aim(placer, unit),
        watts=light_of(placer, unit.name).power_w,
        circuit=_light(placer, unit.name).circuit,
    )


def _place(placer: Placer, unit: PlanUnit) -> str:
    at = placer.origin(unit.name)
    said = _spot(placer, at, None if unit.distance is None else unit.distance.from_name)
    return f"{said}, outside" if unit.outside else said


def _aim(placer: Placer, unit: PlanUnit) -> str:
    if unit.tilt_deg is None:
        return "shines all round"
    aim = _light(placer, unit.name).aim
    if unit.aims_at == "down" or aim is None:
        return "aimed straight down"
    if unit.aims_at is not None:
        name, _, place = unit.aims_at.partition(".")
        at = f"{name}'s {place.replace('_', ' ')}" if place else name
    else:
        target = placer.aim_point(aim)
        assert target is not None
        subject = None if unit.distance is None else unit.distance.from_name
        at = f"{'a point ' if subject else ''}{_spot(placer, target, subject)}"
    return f"aimed at {at}; {_tilt(unit.tilt_deg)}"


def _light(placer: Placer, name: str) -> Fixture | Practical:
    document = placer.document
    return document.fixtures[name] if name in document.fixtures else document.practicals[name]


def _tilt(tilt_deg: float) -> str:
    whole = round(tilt_deg)
    return "level" if whole == 0 else f"{abs(whole)}° {'up' if whole > 0 else 'down'}"


def _spot(placer: Placer, point: Float64Array, subject: str | None) -> str:
    """A point by distance on the floor, clock hour and height; by x and y where nobody stands."""
    units = placer.document.units
    height = f"{format_length(float(point[2]), units=units)} up"
    if subject is None:
        x, y = (format_length(float(one), units=units) for one in point[:2])
        return f"x {x}, y {y}, {height}"
    away = point[:2] - placer.origin(subject)[:2]
    distance = math.hypot(away[0], away[1])
    if distance < _NEAR_M:
        return f"over {subject}, {height}"
    hour = clock_text(clock_hour(placer.facing(subject), away))
    return f"{format_length(distance, units=units)} from {subject}, {hour}, {height}"
