"""plan_of(document) -> Plan: a scene from above and from two sides, to scale, ready to be drawn."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final, Literal

import numpy as np

from falloff.document import (
    CameraAim,
    DownAim,
    NamedPlace,
    PointPlace,
    ReadingPlace,
    SceneDocument,
    SquareAim,
    WallPlace,
    point_names,
)
from falloff.drawing.plan_beams import field_of
from falloff.drawing.plan_kept import kept
from falloff.drawing.plan_outlines import (
    degrees,
    hull,
    number,
    pieces_of,
    rounded,
    seen_from_sides,
)
from falloff.drawing.plan_places import QuickPlacer, aimed, spot
from falloff.drawing.plan_rays import Blocker
from falloff.drawing.plan_records import (
    Plan,
    PlanCamera,
    PlanReading,
    Section,
    Sections,
    SideRoom,
)
from falloff.drawing.plan_shell import Shell, shell_of
from falloff.drawing.plan_things import plan_grip, plan_prop, plan_subject
from falloff.drawing.plan_units import plan_unit
from falloff.stage.build import build_view
from falloff.stage.ceilings import ceiling_planes
from falloff.stage.places import Placer
from falloff.stage.probes import reading_places
from falloff.types import Float64Array

_CAMERA_M: Final = (0.34, 0.16, 0.2)  # of a body behind its lens: depth, width, height
_LENS_M: Final = (0.12, 0.1)  # depth and width


def plan_of(document: SceneDocument, *, beams: bool = True) -> Plan:
    """A document, as it stands in one arrangement, from above and from two sides.

    What stays alike since an earlier call is not worked out anew: one thing may be dragged about
    and the plan made again at each step. beams: whether lights have their beams, see
    `plan_beams` for what these leave out. Raises GeometryError where something cannot stand as it
    is written, and whatever a light's own file or the kit finds wrong.
    """
    placer = QuickPlacer(document)
    shell = shell_of(placer)
    people = [plan_subject(placer, name) for name in document.subjects]
    props = [plan_prop(placer, name) for name in document.props]
    grip = [plan_grip(placer, name) for name in document.grip]
    blockers: tuple[Blocker, ...] = tuple(
        part for _, parts in (*people, *props, *grip) for part in parts
    )
    lights = (*document.fixtures, *document.practicals)
    return Plan(
        bounds_m=shell.bounds_m,
        rooms=shell.rooms,
        shell=shell.shell,
        walls=shell.walls,
        openings=shell.openings,
        bodies=tuple(body for body, _ in (*props, *grip)),
        subjects=tuple(person for person, _ in people),
        cameras=tuple(_camera(placer, name, shell) for name in document.cameras),
        units=tuple(
            plan_unit(placer, name, number_=k, shell=shell, blockers=blockers if beams else None)
            for k, name in enumerate(lights, start=1)
        ),
        readings=tuple(_readings(placer)),
        sections=kept(
            ("sections", shell),
            lambda: Sections(front=_section(placer, 0), right=_section(placer, 1)),
        ),
    )


# Cameras ---------------------------------------------------------------------------------


def _camera(placer: Placer, name: str, shell: Shell) -> PlanCamera:
    """A camera with what it sees; kept as long as it and the rooms stay alike."""
    camera = placer.document.cameras[name]
    seen = placer.aim_point(camera.aim)
    place = (tuple(placer.origin(name).tolist()), None if seen is None else tuple(seen.tolist()))
    return kept((name, camera, place, shell), lambda: _new_camera(placer, name, shell))


def _new_camera(placer: Placer, name: str, shell: Shell) -> PlanCamera:
    camera = placer.document.cameras[name]
    view = build_view(placer, name)
    found = aimed(placer, camera.aim, view.forward)
    pan = math.atan2(view.forward[1], view.forward[0])
    # A frame that is tilted up or down sees wider on the plan than along its axis.
    flat = math.hypot(view.forward[0], view.forward[1])
    half = math.atan2(view.tan_half_width, flat)
    at = spot(view.eye)
    return PlanCamera(
        name=name,
        at=at,
        z_m=number(view.eye[2]),
        forward_deg=degrees(pan),
        tilt_deg=found.tilt_deg or 0.0,
        half_angle_deg=number(math.degrees(math.atan(view.tan_half_width)), 1),
        half_height_deg=number(math.degrees(math.atan(view.tan_half_height)), 1),
        body=rounded(hull(_camera_points(view.eye, view.forward, view.right)[:, :2])),
        field=field_of(at, pan, half, shell),
        aim=found.at,
        aim_z_m=found.z_m,
        aims_at=found.name,
        says=f"{camera.lens.text}, {number(camera.lens.si * 1000.0, 1):g} mm"
        if "mm" not in camera.lens.text
        else camera.lens.text,
        sides=seen_from_sides(_camera_points(view.eye, view.forward, view.right)),
    )


def _camera_points(eye: Float64Array, forward: Float64Array, right: Float64Array) -> Float64Array:
    """Corners (n, 3) of a body behind the lens and of the lens's front, at the pupil."""
    up = np.cross(right, forward)
    depth, width, height = _CAMERA_M
    corners = []
    for back, wide, high in (
        (0.0, _LENS_M[1], _LENS_M[1]),
        (_LENS_M[0], width, height),
        (depth, width, height),
    ):
        corners += [
            eye - back * forward + 0.5 * (i * wide * right + j * high * up)
            for i in (-1, 1)
            for j in (-1, 1)
        ]
    return np.array(corners)


# Readings --------------------------------------------------------------------------------


def _readings(placer: Placer) -> Iterator[PlanReading]:
    """Every point of every reading."""
    for name, wanted in placer.document.readings.items():
        places = reading_places(placer, wanted)
        for called, at in zip(point_names(name, wanted), places, strict=True):
            point = placer.point(at)
            way = _reading_way(placer, name, at, point)
            flat = 0.0 if way is None else math.hypot(way[0], way[1])
            yield PlanReading(
                name=called,
                instrument=wanted.instrument,
                at=spot(point),
                z_m=number(point[2]),
                faces_deg=None
                if way is None or flat < 0.1
                else degrees(math.atan2(way[1], way[0])),
                movable=isinstance(wanted.at, PointPlace) and not wanted.points,
            )


def _reading_way(
    placer: Placer, name: str, at: ReadingPlace, point: Float64Array
) -> Float64Array | None:
    """The way that a reading's receptor faces at a place; None where only a setup can say it."""
    wanted = placer.document.readings[name]
    if wanted.normal is not None:
        return np.asarray(wanted.normal, np.float64) / np.linalg.norm(wanted.normal)
    match wanted.aim:
        case None | CameraAim() | DownAim():
            return None
        case SquareAim():
            return _square_way(placer, at)
        case aim:
            return placer.aim_direction(point, aim, ("readings", name, "aim"))


def _square_way(placer: Placer, at: ReadingPlace) -> Float64Array | None:
    match at:
        case NamedPlace(name=subject, place=str(place)):
            return placer.subject(subject).normals[place]
        case WallPlace(wall=wall, room=room):
            return placer.wall_frame(wall, room)[2]
        case _:
            return None


# From the sides --------------------------------------------------------------------------


def _section(placer: Placer, side: Literal[0, 1]) -> Section:
    """The rooms from one side."""
    rooms = tuple(_side_room(placer, name, side) for name in placer.room_names)
    thick = max(placer.room(name).wall_thickness.si for name in placer.room_names)
    points = np.array([point for room in rooms for point in room.outline])
    low, high = points.min(0) - thick, points.max(0) + thick
    return Section(
        bounds_m=(number(low[0]), number(low[1]), number(high[0]), number(high[1])), rooms=rooms
    )


def _side_room(placer: Placer, name: str | None, side: Literal[0, 1]) -> SideRoom:
    outline = _profile(placer, name, side)
    thick = placer.room(name).wall_thickness.si
    ends = [one for one, _ in outline]
    walls = []
    for at, out in ((min(ends), -thick), (max(ends), thick)):
        top = max(up for along, up in outline if abs(along - at) < 1e-6)
        walls.append(rounded(np.array([[at, 0.0], [at + out, 0.0], [at + out, top], [at, top]])))
    return SideRoom(name=name, outline=outline, walls=tuple(walls))


def _profile(
    placer: Placer, name: str | None, side: Literal[0, 1]
) -> tuple[tuple[float, float], ...]:
    """A room's outline from the side: what each plane of its ceiling has under it, together."""
    import shapely

    parts = []
    for plane in ceiling_planes(placer.room(name)):
        for piece in pieces_of(plane.plan):
            plan = np.asarray(piece.exterior.coords)[:-1]
            top = np.column_stack([plan[:, side], plane.height_m(plan)])
            under = np.column_stack([plan[:, side], np.zeros(len(plan))])
            parts.append(shapely.Polygon(hull(np.concatenate([top, under]))))
    whole = max(pieces_of(shapely.union_all(parts)), key=lambda one: float(one.area))
    return rounded(np.asarray(shapely.simplify(whole, 1e-4).exterior.coords)[:-1])
