"""Where the plan's things are: places found quickly, aims by name, distances as people say them."""

from __future__ import annotations

import dataclasses
import functools
import math

import numpy as np

from falloff.document import (
    Aim,
    NamedAim,
    OnPlace,
    Quantity,
    ReadingPlace,
    RelativePlace,
    SceneDocument,
)
from falloff.drawing.plan_outlines import degrees, number
from falloff.drawing.plan_records import Distance, PlanSize, Spot
from falloff.kit import Figure, Look, find_figure, look
from falloff.stage.places import Placer
from falloff.types import Float64Array
from falloff.units import format_length

_EYES = ("sclera", "iris")
_NEAR_M = 0.005
_SIZES = ("size", "length", "diameter", "aperture", "height")
_SIDES = {2: ("width", "height"), 3: ("width", "depth", "height")}


class QuickPlacer(Placer):
    """A placer that turns heads without their skin: named places come out alike, but sooner."""

    __slots__ = ()

    def gazing(self, name: str) -> Look:
        """A subject's figure with its head turned; its vertices are those of the eyes alone."""
        return _looking(self.document.subjects[name].figure, self.gaze_way(name))


@functools.lru_cache(maxsize=64)
def _looking(figure: str, way: tuple[float, ...] | None) -> Look:
    return look(_bare(figure), None if way is None else np.array(way))


@functools.lru_cache(maxsize=32)
def _bare(name: str) -> Figure:
    """A figure of which a triangle of each eye is left."""
    figure = find_figure(name)
    regions = [figure.region_names.index(one) for one in _EYES]
    of_eyes = np.flatnonzero(np.isin(figure.triangle_region, regions))
    sides = figure.vertices[figure.triangles[of_eyes]].mean(1) @ figure.head_axes[0]
    eyes = of_eyes[[int(np.argmin(sides)), int(np.argmax(sides))]]
    used, corners = np.unique(figure.triangles[eyes], return_inverse=True)
    return dataclasses.replace(
        figure,
        vertices=figure.vertices[used],
        vertex_normals=figure.vertex_normals[used],
        triangles=corners.reshape(-1, 3).astype(np.int32),
        triangle_region=figure.triangle_region[eyes],
        head_weight=figure.head_weight[used],
        scalp_m=figure.scalp_m[used],
    )


# Aims ------------------------------------------------------------------------------------


@dataclasses.dataclass(frozen=True, slots=True)
class Aimed:
    """What an aim looks at: the point, its name, and the way there on the plan and up."""

    at: Spot | None = None
    z_m: float | None = None
    name: str | None = None
    pan_deg: float | None = None
    tilt_deg: float | None = None


def aimed(placer: Placer, aim: Aim | None, axis: Float64Array) -> Aimed:
    """An aim as the plan tells it; axis: the unit way (3,) from the thing along it."""
    flat = math.hypot(axis[0], axis[1])
    pan = degrees(math.atan2(axis[1], axis[0])) if flat > 1e-3 else None
    tilt = number(math.degrees(math.atan2(axis[2], flat)), 1)
    point = None if aim is None else placer.aim_point(aim)
    if point is None:
        return Aimed(pan_deg=pan, tilt_deg=tilt, name=None if aim is None else "down")
    name = None
    if isinstance(aim, NamedAim):
        name = aim.name if aim.place is None else f"{aim.name}.{aim.place}"
    return Aimed(spot(point), number(point[2]), name, pan, tilt)


def spot(point: Float64Array) -> Spot:
    """The plan's point of a point (3,) or (2,), to the millimetre."""
    return (number(point[0]), number(point[1]))


def carrier(place: ReadingPlace) -> str | None:
    """The prop that a thing stands on, if it stands on one."""
    return place.on if isinstance(place, OnPlace) else None


# Sizes -----------------------------------------------------------------------------------


def written_sizes(document: SceneDocument, section: str, name: str) -> tuple[PlanSize, ...]:
    """The sizes of a thing that its file has, in the order in which people say them."""
    found = []
    thing = getattr(document, section)[name]
    for holder in (thing, getattr(thing, "light", None), getattr(thing, "shape", None)):
        for key in _SIZES:
            value = getattr(holder, key, None)
            if isinstance(value, Quantity) and document.seen.has((section, name, key)):
                found.append(PlanSize(says=key, path=(section, name, key), size_m=number(value.si)))
            elif isinstance(value, tuple):
                for k, (word, one) in enumerate(zip(_SIDES[len(value)], value, strict=True)):
                    path = (section, name, key, k)
                    if isinstance(one, Quantity) and document.seen.has(path):
                        found.append(PlanSize(says=word, path=path, size_m=number(one.si)))
    return tuple(found)


# Distances -------------------------------------------------------------------------------


def distance_of(
    placer: Placer, at: Float64Array, *, place: ReadingPlace, aim: Aim | None
) -> Distance | None:
    """How a thing at a point (3,) stands to its subject; None where there is nobody.

    Its subject: the one it is placed from, else the one it is aimed at, else the nearest.
    """
    subject = _subject_of(placer, at, place, aim)
    if subject is None:
        return None
    mark = placer.origin(subject)
    away = at[:2] - mark[:2]
    distance_m = float(np.hypot(*away))
    hour = clock_hour(placer.facing(subject), away) if distance_m > _NEAR_M else 12.0
    units = placer.document.units
    told = (format_length(distance_m, units=units), clock_text(hour),
            f"{format_length(float(at[2]), units=units)} up")  # fmt: skip
    return Distance(
        from_name=subject,
        distance_m=number(distance_m),
        clock_hour=number(hour, 4),
        height_m=number(at[2]),
        distance=told[0],
        clock=told[1],
        height=told[2],
        says=", ".join(told),
    )


def clock_hour(facing: Float64Array, away: Float64Array) -> float:
    """The hour, above 0 to 12, at which something lies that is `away` (2,) on the plan.

    6 is the way that `facing` (2,) or (3,) points; hours run clockwise as seen from above.
    """
    turn = math.atan2(facing[1], facing[0]) - math.atan2(away[1], away[0])
    hour = (6.0 + math.degrees(turn) / 30.0) % 12.0
    return hour or 12.0


def clock_text(hour: float) -> str:
    """A clock hour to five minutes, "7:40"; 0 is said as 12."""
    minutes = round(hour * 12.0) * 5 % 720
    return f"{minutes // 60 or 12}:{minutes % 60:02d}"


def _subject_of(
    placer: Placer, at: Float64Array, place: ReadingPlace, aim: Aim | None
) -> str | None:
    subjects = placer.document.subjects
    if isinstance(place, RelativePlace) and place.from_name in subjects:
        return place.from_name
    if isinstance(aim, NamedAim) and aim.name in subjects:
        return aim.name
    return nearest_subject(placer, at)


def nearest_subject(placer: Placer, at: Float64Array) -> str | None:
    """The subject whose mark is nearest on the plan."""
    return min(
        placer.document.subjects,
        key=lambda name: float(np.hypot(*(placer.origin(name)[:2] - at[:2]))),
        default=None,
    )
