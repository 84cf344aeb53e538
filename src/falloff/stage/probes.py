"""Where readings are taken: a probe for each point, for each camera where that is looked from."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from falloff.document import (
    CameraAim,
    DownAim,
    NamedAim,
    NamedPlace,
    OnPlace,
    PointPlace,
    Quantity,
    ReadingAim,
    ReadingPlace,
    ReadingWanted,
    SquareAim,
    WallPlace,
    point_names,
)
from falloff.stage.openings import wall_name
from falloff.stage.places import Placer
from falloff.stage.records import OFFSET_M, Probe
from falloff.types import Float64Array


def place_probes(placer: Placer) -> tuple[Probe, ...]:
    """Every reading's probe, one for each camera where it looks at or from the camera."""
    return tuple(
        probe
        for name, wanted in placer.document.readings.items()
        for point, at in zip(point_names(name, wanted), reading_places(placer, wanted), strict=True)
        for probe in _probes(
            placer, name, wanted, _Point(point, placer.point(at), _site(placer, at))
        )
    )


def reading_places(placer: Placer, wanted: ReadingWanted) -> Iterator[ReadingPlace]:
    """The places that a reading is taken at: its own, or evenly spaced ones, ends included.

    Those of a walk lie on the straight line from `at` to `to`; those of an area on a rectangle of
    its surface, row by row from `at`, rows along the wall, the prop's own x or the plan's.
    """
    at, to = wanted.at, wanted.to
    if to is None:
        yield at
        return
    columns, rows = (*wanted.points, 1)[:2]
    for k in range(columns * rows):
        along = (k % columns) / (columns - 1)
        across = along if rows == 1 else (k // columns) / (rows - 1)
        yield _between(placer, at, to, (along, across))


def _between(
    placer: Placer, at: ReadingPlace, to: ReadingPlace, shares: tuple[float, float]
) -> ReadingPlace:
    """The place at shares of the way from one to the other, on the surface that both lie on."""
    along, across = shares
    if isinstance(at, WallPlace) and isinstance(to, WallPlace):
        if (at.wall, at.room) == (to.wall, to.room):
            return WallPlace(
                wall=at.wall,
                along=_part(at.along, to.along, along),
                height=_part(at.height, to.height, across),
                room=at.room,
            )
    elif isinstance(at, OnPlace) and isinstance(to, OnPlace):
        offset = (
            _part(at.offset[0], to.offset[0], along),
            _part(at.offset[1], to.offset[1], across),
        )
        if (at.on, at.level) == (to.on, to.level):
            return OnPlace(on=at.on, offset=offset, level=at.level)
    start, end = placer.point(at), placer.point(to)
    point = start + (end - start) * (along, across, across)
    return PointPlace(*(Quantity(float(one), f"{one:g} m") for one in point))


def _part(start: Quantity, end: Quantity, share: float) -> Quantity:
    metres = start.si + share * (end.si - start.si)
    return Quantity(metres, f"{metres:g} m")


@dataclass(frozen=True, slots=True)
class _Point:
    """One point of a reading: its own name, where it lies (m), and on what."""

    name: str
    at_m: Float64Array
    site: _Site


def _probes(placer: Placer, name: str, wanted: ReadingWanted, one: _Point) -> list[Probe]:
    """One probe, or one for each camera where the reading looks at or from the camera."""
    point, site = one.at_m, one.site
    if wanted.instrument == "spot" or isinstance(wanted.aim, CameraAim):
        return [_camera_probe(placer, name, wanted, one, view) for view in placer.document.cameras]
    material = None
    if wanted.normal is not None:
        normal = np.asarray(wanted.normal, np.float64)
        normal = normal / np.linalg.norm(normal)
        if site.normal is not None and float(normal @ site.normal) > 0.999:
            material = site.material
        faces = "up" if normal[2] > 0.99 else f"along ({', '.join(f'{n:.2g}' for n in normal)})"
    elif isinstance(wanted.aim, SquareAim):
        if site.normal is None:
            raise placer.fault(
                ("readings", name),
                what=f"{name} has no surface to be square to",
                expected="an aim or a normal",
                fix="add normal: [0, 0, 1] for a meter that faces up, or aim: KEY",
            )
        normal, material, faces = site.normal, site.material, "square"
    else:
        assert wanted.aim is not None
        normal, faces = (
            placer.aim_direction(point, wanted.aim, ("readings", name, "aim")),
            f"at {_aim_name(wanted.aim)}",
        )
    return [
        Probe(
            one.name,
            wanted.instrument,
            point + OFFSET_M * normal,
            normal,
            place=site.name,
            faces=faces,
            material=material,
            subject=site.subject,
        )
    ]


def _camera_probe(
    placer: Placer, name: str, wanted: ReadingWanted, one: _Point, view: str
) -> Probe:
    """A receptor that faces a camera, or a spot meter that looks from it."""
    point, site = one.at_m, one.site
    eye = placer.origin(view)
    if float(np.linalg.norm(eye - point)) < 1e-3:
        raise placer.fault(
            ("readings", name, "at"),
            what=f"{name} is read where {view} stands, so it cannot look at it",
            fix="read it elsewhere, or give it an aim",
        )
    toward = (eye - point) / np.linalg.norm(eye - point)
    spot = wanted.instrument == "spot"
    return Probe(
        one.name,
        wanted.instrument,
        point if spot else point + OFFSET_M * toward,
        toward,
        place=site.name,
        faces=f"from {view}" if spot else f"at {view}",
        material=None,
        subject=site.subject,
        eye=eye,
        view=view,
    )


@dataclass(frozen=True, slots=True)
class _Site:
    """Where a reading is taken: its name, surface normal and material where it lies on one."""

    name: str
    normal: Float64Array | None = None
    material: str | None = None
    subject: str | None = None


def _site(placer: Placer, at: ReadingPlace) -> _Site:
    document = placer.document
    match at:
        case WallPlace(wall=wall, room=room):
            held = placer.room(room)
            material = held.wall_surfaces.get(wall, held.wall_surface)
            return _Site(wall_name(room, wall), placer.wall_frame(wall, room)[2], material)
        case OnPlace(on=on):
            return _Site(f"on {on}", np.array([0.0, 0.0, 1.0]), document.props[on].surface)
        case NamedPlace(name=name, place=str(spot)):
            places = placer.subject(name)
            material = f"skin of {name}"
            if spot.startswith("hair"):
                material = document.subjects[name].hair
            elif spot == "chest":
                material = document.subjects[name].top
            return _Site(f"{name}.{spot}", places.normals[spot], material, name)
        case NamedPlace(name=name):
            return _Site(name)
        case _:
            return _Site("a point of the room")


def _aim_name(aim: ReadingAim) -> str:
    match aim:
        case NamedAim(name=name, place=None):
            return name
        case NamedAim(name=name, place=str(spot)):
            return f"{name}.{spot}"
        case DownAim():
            return "the floor"
        case _:
            return "a point"
