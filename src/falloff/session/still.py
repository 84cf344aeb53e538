"""still: targets from a picture that a person owns, and their way into the scene file.

A still shows luminance, a meter in the scene reads illuminance: between them stands the surface.
So a face is told against a face as it is, two places whose surfaces are said to be of the scene's
kind are corrected by the scene's own reflectances, and every other place becomes what the scene's
own surface has to show in the picture, in stops over middle grey.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import msgspec

from falloff.camera.still import Still
from falloff.camera.still_points import (
    StillLimit,
    StillPoint,
    sample_still,
    still_difference,
)
from falloff.constants import GREY_CARD_REFLECTANCE, LUMINANCE_WEIGHTS
from falloff.document import (
    Edit,
    NamedPlace,
    ReadingWanted,
    SceneDocument,
    SquareAim,
    quoted,
    rewrite_or_add,
    scalar,
)
from falloff.document.cursor import nearest_fix
from falloff.errors import DocumentError, Fault
from falloff.findings import Finding, Weight
from falloff.stage import Stage, build_stage
from falloff.units import format_stops_tenths

_LEAST_TOLERANCE_STOPS: Final = 1.0 / 3.0
# Two skins may differ by log2(36 / 10): from fair to deep, common practice, no source.
_SKINS_APART_STOPS: Final = 1.85
_MOST_ERROR_STOPS: Final = 2.0  # that a target may have and still say anything
_TOLD_STOPS: Final = 0.05  # less is none, in tenths
_SKIN_PLACES: Final = frozenset(
    {"face", "cheek_key", "cheek_shadow", "cheek_left", "cheek_right", "forehead", "chin"}
)


@dataclass(frozen=True, slots=True)
class StillAsked:
    """What is asked of a still.

    against: the reading that differences are told over; left out, a setup's key reading if it is
    among the places, else the first. alike: readings whose surface in the still is of the same
    kind as in the scene.
    """

    against: str | None = None
    alike: tuple[str, ...] = ()


class StillTarget(msgspec.Struct, frozen=True, kw_only=True):
    """What a place of a still became: a target as the scene file has it, or none and why.

    target: its name in the scene; yaml: its text, None where none was made; level_stops over key,
    over middle grey for a spot, or over the reading `over`; error_stops: of the level.
    """

    target: str
    reading: str
    says: str
    yaml: str | None = None
    level_stops: float | None = None
    over: str | None = None
    limit: StillLimit = "equal"
    error_stops: float | None = None
    tolerance_stops: float | None = None
    notes: tuple[str, ...] = ()


class StillTargets(msgspec.Struct, frozen=True, kw_only=True):
    """Targets from a still: the places as sampled, what each became, and what is assumed."""

    against: str
    points: tuple[StillPoint, ...]
    targets: tuple[StillTarget, ...]
    findings: tuple[Finding, ...]


def targets_from_still(
    document: SceneDocument,
    still: Still,
    points: Mapping[str, tuple[float, float]],
    *,
    asked: StillAsked | None = None,
    stage: Stage | None = None,
) -> StillTargets:
    """Places of a still, named by the scene's readings, as lighting targets; nothing is traced.

    points: shares of width and height, by the names of readings. stage: of the document, built
    where it is needed and not given. Raises DocumentError for names that the scene does not have,
    all at once, and FalloffError for places outside the picture.
    """
    asked = asked or StillAsked()
    _check_names(document, points, asked)
    sampled = sample_still(still, points)
    against = asked.against or _key_among(document, points) or next(iter(points))
    places = _places(document, sampled, asked, stage)
    base = next(place for place in places if place.name == against)
    return StillTargets(
        against=against,
        points=sampled,
        targets=tuple(_target(place, base) for place in places),
        findings=(*still.findings, *_held_already(document, places)),
    )


def still_edits(document: SceneDocument, made: StillTargets) -> tuple[Edit, ...]:
    """The edits that write the targets into their scene; one of the same name is written anew."""
    return tuple(
        rewrite_or_add(document, ("targets", one.target), one.yaml)
        for one in made.targets
        if one.yaml is not None
    )


# Names -----------------------------------------------------------------------------------


def _check_names(
    document: SceneDocument, points: Mapping[str, tuple[float, float]], asked: StillAsked
) -> None:
    known = tuple(document.readings)
    faults = []
    if not points:
        fix = "click at least one place and name its reading"
        faults.append(Fault("no place of the still is named", document.file_name, fix=fix))
    for name in points:
        if name not in document.readings:
            what = f"the scene has no reading called {name!r}"
            fix = nearest_fix(name, known) or "add it to the scene's readings"
            faults.append(Fault(what, document.file_name, ", ".join(known), fix=fix))
    for name in (*asked.alike, *((asked.against,) if asked.against else ())):
        if name not in points:
            what = f"{name!r} is not among the places of the still"
            faults.append(Fault(what, document.file_name, ", ".join(points)))
    if faults:
        raise DocumentError(*faults)


def _key_among(document: SceneDocument, points: Mapping[str, tuple[float, float]]) -> str | None:
    keys = (setup.key for setup in document.setups.values())
    return next((key for key in keys if key in points), None)


# Places ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Place:
    """A place of the still with its reading.

    skin: whose face it is on; offset: stops that the scene's surface shows in the picture over
    what the meter reads, nought for a spot, None where there is no surface or not one place;
    kind: what it is, in words; alike: whether the still's surface is of the scene's kind.
    """

    name: str
    point: StillPoint
    skin: str | None
    offset: float | None
    kind: str
    alike: bool


def _places(
    document: SceneDocument,
    sampled: tuple[StillPoint, ...],
    asked: StillAsked,
    stage: Stage | None,
) -> tuple[_Place, ...]:
    wanted = {point.name: document.readings[point.name] for point in sampled}
    if stage is None and any(one.instrument != "spot" for one in wanted.values()):
        stage = build_stage(document)
    return tuple(
        _place(point, wanted[point.name], stage, alike=point.name in asked.alike)
        for point in sampled
    )


def _place(point: StillPoint, wanted: ReadingWanted, stage: Stage | None, *, alike: bool) -> _Place:
    name = point.name
    if wanted.points:
        return _Place(name, point, None, None, "it is taken at several places", alike)
    if wanted.instrument == "spot":
        return _Place(name, point, None, 0.0, "a spot reading", True)  # noqa: FBT003
    reflectance = _reflectance(stage, name)
    if wanted.instrument != "flat" or reflectance is None:
        kind = "its receptor is not square on a surface, and a still shows surfaces only"
        return _Place(name, point, None, None, kind, alike)
    offset = math.log2(max(reflectance, 1e-3) / GREY_CARD_REFLECTANCE)
    skin = None
    if isinstance(wanted.at, NamedPlace) and wanted.at.place in _SKIN_PLACES:
        skin = wanted.at.name if isinstance(wanted.aim, SquareAim) else None
    kind = f"a surface that gives back {100.0 * reflectance:.0f} %"
    return _Place(name, point, skin, offset, kind, alike)


def _reflectance(stage: Stage | None, reading: str) -> float | None:
    """The luminous reflectance of the matte surface under a receptor, None where there is none."""
    probe = next((one for one in stage.probes if one.name == reading), None) if stage else None
    if stage is None or probe is None or probe.material not in stage.material_names:
        return None
    albedo = stage.surfaces.albedo[stage.material_names.index(probe.material)]
    return float(sum(w * a for w, a in zip(LUMINANCE_WEIGHTS, albedo, strict=True)))


# Targets ---------------------------------------------------------------------------------


def _target(place: _Place, base: _Place) -> StillTarget:
    """What a place becomes: a difference over the base, what it shows, or nothing and why."""
    if place.offset is None:
        return _none(place, f"{place.name}: no target, since {place.kind}")
    both = place.offset is not None and base.offset is not None
    faces = place.skin is not None and base.skin is not None
    if place is not base and both and (faces or (place.alike and base.alike)):
        return _over(place, base)
    if place is base and not place.alike:
        says = f"{place.name}: the others are told against it; it has no target of its own"
        return _none(place, says)
    return _shown(place)


def _over(place: _Place, base: _Place) -> StillTarget:
    """A difference, as the picture has it or corrected by the scene's own surfaces."""
    told = still_difference(place.point, base.point)
    if told.limit is not None and told.error_stops > _MOST_ERROR_STOPS:
        says = (
            f"{place.name}: no target, since the still does not tell it against {base.name} to "
            f"within {_size(_MOST_ERROR_STOPS)}; choose places of one tone"
        )
        return _none(place, says)
    if told.limit is None:
        says = f"{place.name}: no target, since it and {base.name} are both past the picture's end"
        return _none(place, says)
    assert place.offset is not None
    assert base.offset is not None
    apart = place.offset - base.offset
    level = told.stops
    how = ""
    if place.alike and base.alike:
        level -= apart
        if abs(apart) >= _TOLD_STOPS:
            by = _told(level, base.name)
            how = f"; by the scene's own reflectances the meters are to read {by}"
    elif place.skin == base.skin:
        how = "; one face, one skin"
    else:
        how = (
            f"; both skins taken as alike: two may differ by up to {_SKINS_APART_STOPS} stops, the "
            f"scene's by {_size(apart)}; say that they are of the scene's kind to correct it"
        )
    shown = f"{_bound(told.limit)}{_told(told.stops, base.name)}"
    says = f"{place.name}: {shown} in the still, ±{_size(told.error_stops)}{how}"
    return _made(place, says, level, told.error_stops, told.limit, over=base.name)


def _shown(place: _Place) -> StillTarget:
    """What the scene's own surface has to show in the picture."""
    assert place.offset is not None
    point = place.point
    level = point.stops_over_grey - place.offset
    shown = f"{_bound(point.limit)}{_told(point.stops_over_grey, 'middle grey')}"
    says = f"{place.name}: to show {shown} as in the still, ±{_size(point.error_stops)}"
    if place.offset:
        says += f"; here that is {place.kind}, {_told(level, 'key')}"
    return _made(place, says, level, point.error_stops, point.limit, over=None)


def _made(
    place: _Place, says: str, level: float, error: float, limit: StillLimit, *, over: str | None
) -> StillTarget:
    tenths = max(_LEAST_TOLERANCE_STOPS, math.ceil(10.0 * error - 1e-9) / 10.0)
    tolerance = "1/3 stop" if tenths == _LEAST_TOLERANCE_STOPS else f"{tenths:.1f} stops"
    keys = {
        "reading": quoted(place.name),
        "level": scalar(f"{round(level, 1) + 0.0:.1f} stops"),
        "over": quoted(over) if over else None,
        "limit": limit if limit != "equal" else None,
        "tolerance": scalar(tolerance),
    }
    inside = ", ".join(f"{key}: {told}" for key, told in keys.items() if told is not None)
    return StillTarget(
        target=_name(place),
        reading=place.name,
        says=says,
        yaml=f"{{{inside}}}",
        level_stops=level,
        over=over,
        limit=limit,
        error_stops=error,
        tolerance_stops=tenths,
        notes=place.point.notes,
    )


def _none(place: _Place, says: str) -> StillTarget:
    return StillTarget(target=_name(place), reading=place.name, says=says, notes=place.point.notes)


def _name(place: _Place) -> str:
    return f"{place.name} as in the still"


def _size(stops: float) -> str:
    size = format_stops_tenths(abs(stops)).lstrip("+")
    return f"{size} stop" if size == "1.0" else f"{size} stops"


def _told(stops: float, reference: str) -> str:
    if abs(stops) < _TOLD_STOPS:
        return f"at {reference}"
    return f"{_size(stops)} {'over' if stops > 0.0 else 'under'} {reference}"


def _bound(limit: StillLimit) -> str:
    return "" if limit == "equal" else f"{limit} "


def _held_already(document: SceneDocument, places: tuple[_Place, ...]) -> tuple[Finding, ...]:
    """Targets that the scene has of the same readings: both will count."""
    own = {_name(place) for place in places}
    readings = {place.name for place in places}
    held = [
        name
        for name, target in document.targets.items()
        if name not in own and getattr(target, "reading", None) in readings
    ]
    if not held:
        return ()
    return (
        Finding(
            weight=Weight.NOTE,
            about="the still",
            says=f"the scene has targets of these readings already: {', '.join(held)}; all count",
            do="take out those that the still is to stand for",
        ),
    )
