"""Where things stand: places, aims and named points of a document, in metres and unit vectors."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from falloff.document import (
    Aim,
    CameraAim,
    DownAim,
    NamedAim,
    NamedPlace,
    OnPlace,
    PlaceAim,
    PointAim,
    PointPlace,
    Quantity,
    ReadingPlace,
    RelativePlace,
    Room,
    SceneDocument,
    Skylight,
    WallPlace,
    Window,
)
from falloff.errors import Fault, GeometryError
from falloff.kit import Look, find_figure, look
from falloff.stage.ceilings import skylight_frame
from falloff.stage.records import OFFSET_M, SubjectPlaces
from falloff.stage.shapes import rest_in, shape_in
from falloff.types import Float64Array

DOWN = np.array([0.0, 0.0, -1.0])
_BY_THEIR_MIDDLE = ("fixtures", "practicals", "grip")
_LEVELLING = 3
_KINDS = ("props", "subjects", "fixtures", "practicals", "grip", "cameras", "openings")


def direction(angle_rad: float) -> Float64Array:
    """The unit vector at an angle on the plan, counter-clockwise from +x."""
    return np.array([math.cos(angle_rad), math.sin(angle_rad), 0.0])


def clock_direction(facing: Float64Array, clock_hour: float) -> Float64Array:
    """The way to a clock hour, seen from above, when 6 o'clock is the way something faces."""
    angle = math.atan2(facing[1], facing[0]) - math.radians(30.0 * (clock_hour - 6.0))
    return direction(angle)


@dataclass(slots=True)
class Placer:
    """Resolves every place of one document; what stands on what is followed, circles refused."""

    document: SceneDocument
    _open: list[str] = field(default_factory=list)
    _origins: dict[str, Float64Array] = field(default_factory=dict)
    _subjects: dict[str, SubjectPlaces] = field(default_factory=dict)
    _looks: dict[str, Look] = field(default_factory=dict)

    def fault_at(self, key_path: tuple[str | int, ...], **parts: str) -> Fault:
        """A fault that points at a place in the file."""
        line, column = self.document.position_of(key_path)
        path = ".".join(map(str, key_path))
        where = f"{self.document.file_name}, line {line}, column {column} ({path})"
        return Fault(where=where, line=line, column=column, **parts)

    def fault(self, key_path: tuple[str | int, ...], **parts: str) -> GeometryError:
        """A geometry error that points at a place in the file."""
        return GeometryError(self.fault_at(key_path, **parts))

    def kind_of(self, name: str) -> str:
        """The section of the document that a named thing stands in."""
        return self._thing(name)[0]

    def origin(self, name: str) -> Float64Array:
        """Where a named thing is put: the base of a prop or subject, the front of a light."""
        if name in self._origins:
            return self._origins[name]
        if name in self._open:
            ring = " → ".join([*self._open[self._open.index(name) :], name])
            raise self.fault(
                self._path(name),
                what="things are placed by one another in a circle",
                found=ring,
                fix="give one of them a place of its own, such as [2 m, 1.5 m]",
            )
        self._open.append(name)
        kind, thing = self._thing(name)
        if kind == "openings":
            low, along, up = self.opening_frame(name)
            found = low + 0.5 * (along + up)
        else:
            found = self.point(thing.at)
            if isinstance(thing.at, OnPlace) and kind in _BY_THEIR_MIDDLE:
                found = found + self._rise(kind, name, found)
        self._open.pop()
        self._origins[name] = found
        return found

    def _rise(self, kind: str, name: str, spot: Float64Array) -> Float64Array:
        """How far something placed by its middle goes up so that its lowest point is at a spot."""
        from falloff.stage.fixtures import build_fixture, build_practical  # they place by this
        from falloff.stage.grain import Grain
        from falloff.stage.grip import build_grip

        if kind != "practicals" and getattr(self.document, kind)[name].stand:
            return np.zeros(3)  # its stand holds it up
        rise = 0.0
        for _ in range(_LEVELLING):  # as it goes up, it turns a little to what it is aimed at
            at = spot + np.array([0.0, 0.0, rise])
            apart = Placer(self.document, _origins={name: at})
            if kind == "grip":
                piece = build_grip(apart, name, Grain())
            else:
                build = build_fixture if kind == "fixtures" else build_practical
                piece, _ = build(apart, name, Grain())
            rise = max(0.0, float(at[2] - piece.all_corners()[:, 2].min()))
        return np.array([0.0, 0.0, round(rise, 6)])

    def middle(self, name: str) -> Float64Array:
        """The middle of a named thing: what a light aimed at it is aimed at."""
        kind, _ = self._thing(name)
        if kind == "subjects":
            return self.subject(name).points["face"]
        if kind == "props":
            height = shape_in(self.document, name).size_m[2]
            rise: Float64Array = np.array([0.0, 0.0, 0.5 * height])
            return np.add(self.origin(name), rise)
        return self.origin(name)

    def facing(self, name: str) -> Float64Array:
        """The way on the plan that a thing faces; down the plan where it faces nowhere."""
        kind, thing = self._thing(name)
        if kind == "subjects":
            return self.subject_facing(name)
        if kind == "props":
            return direction(thing.turn.si - 0.5 * math.pi)
        if kind in ("fixtures", "cameras", "grip", "practicals") and thing.aim is not None:
            way = self.aim_direction(self.origin(name), thing.aim, (kind, name, "aim"))
            flat = np.array([way[0], way[1], 0.0])
            if np.linalg.norm(flat) > 1e-6:
                return unit(flat)
        return np.array([0.0, -1.0, 0.0])

    def point(self, place: ReadingPlace) -> Float64Array:
        """A place as a point in the room (metres)."""
        match place:
            case PointPlace(x=x, y=y, z=z):
                return _vector(x, y, z)
            case RelativePlace():
                start = self.origin(place.from_name)
                way = clock_direction(self.facing(place.from_name), place.clock_hour)
                spot = start + place.distance.si * way
                return np.array([spot[0], spot[1], place.height.si])
            case OnPlace():
                return self._on(place)
            case WallPlace():
                corner, way, _ = self.wall_frame(place.wall, place.room)
                rise = np.array([0.0, 0.0, place.height.si])
                return np.asarray(corner + place.along.si * way + rise)
            case NamedPlace(name=name, place=None):
                return self.middle(name)
            case NamedPlace(name=name, place=spot):
                return self.subject(name).points[str(spot)]

    def _on(self, place: OnPlace) -> Float64Array:
        """Where something stands that was put on a prop."""
        turn = self.document.props[place.on].turn.si
        along, across = place.offset[0].si, place.offset[1].si
        rest = rest_in(self.document, place.on, place.level, offset_m=(along, across))
        u, v = direction(turn), direction(turn + 0.5 * math.pi)
        top = np.array([0.0, 0.0, rest])
        return np.asarray(self.origin(place.on) + top + along * u + across * v)

    def aim_point(self, aim: Aim) -> Float64Array | None:
        """The point an aim looks at; None for straight down."""
        match aim:
            case PointAim(x=x, y=y, z=z):
                return _vector(x, y, z)
            case PlaceAim(at=at):
                return self.point(at)
            case NamedAim(name=name, place=None):
                return self.middle(name)
            case NamedAim(name=name, place=str(spot)):
                return self.subject(name).points[spot]
            case _:
                return None

    def aim_direction(
        self, start: Float64Array, aim: Aim, key_path: tuple[str, ...] = ()
    ) -> Float64Array:
        """The unit vector from a point along an aim; key_path is where a fault would point."""
        if isinstance(aim, DownAim):
            return DOWN
        target = self.aim_point(aim)
        assert target is not None
        if float(np.linalg.norm(target - start)) < 1e-4:
            name = key_path[1] if len(key_path) > 1 else "it"
            raise self.fault(
                key_path,
                what=f"{name} is aimed at the very point where it stands",
                fix=f"move {name} or aim it elsewhere",
            )
        return unit(target - start)

    def room(self, name: str | None) -> Room:
        """A room by its name; None is the scene's own."""
        return self.document.room if name is None else self.document.rooms[name]

    @property
    def room_names(self) -> tuple[str | None, ...]:
        """The scene's own room, as None, and the others as written."""
        return (None, *self.document.rooms)

    def wall_frame(
        self, wall: int, room: str | None = None
    ) -> tuple[Float64Array, Float64Array, Float64Array]:
        """First corner, unit way along, and unit way into the room of wall `wall` (from 1).

        room: whose wall it is; None is the scene's own.
        """
        corners = self.room(room).floor
        a, b = corners[wall - 1], corners[wall % len(corners)]
        start = np.array([a[0].si, a[1].si, 0.0])
        along = np.array([b[0].si, b[1].si, 0.0]) - start
        along /= np.linalg.norm(along)
        return start, along, np.array([-along[1], along[0], 0.0])

    def opening_frame(self, name: str) -> tuple[Float64Array, Float64Array, Float64Array]:
        """Lower corner (inside of the wall), and the edges along and up, of an opening.

        Of a skylight: the corner of its hole in the ceiling, and the edges along its own x and y.
        """
        opening = self.document.openings[name]
        if isinstance(opening, Skylight):
            return skylight_frame(self.room(opening.room), opening)
        sill = opening.sill.si if isinstance(opening, Window) else 0.0
        start, along, _ = self.wall_frame(opening.wall, opening.room)
        low = start + opening.along.si * along + np.array([0.0, 0.0, sill])
        return low, opening.width.si * along, np.array([0.0, 0.0, opening.height.si])

    def subject(self, name: str) -> SubjectPlaces:
        """A subject's named places in the room."""
        if name in self._subjects:
            return self._subjects[name]
        origin = self.origin(name)
        facing = self.subject_facing(name)
        turn = figure_turn(facing)
        figure = self.gazing(name).figure
        points = {
            key: origin + turn @ np.asarray(point) + OFFSET_M * (turn @ figure.place_normals[key])
            for key, point in figure.places.items()
        }
        normals = {key: turn @ np.asarray(normal) for key, normal in figure.place_normals.items()}
        key_side, shadow_side = self._sides(points["cheek_left"], points["cheek_right"])
        for alias, side in (("cheek_key", key_side), ("cheek_shadow", shadow_side)):
            points[alias], normals[alias] = points[side], normals[side]
        places = SubjectPlaces(name, facing, points, normals)
        self._subjects[name] = places
        return places

    def gazing(self, name: str) -> Look:
        """A subject's figure in its own frame, its head and eyes turned to what it looks at."""
        if name not in self._looks:
            self._looks[name] = _looking(self.document.subjects[name].figure, self.gaze_way(name))
        return self._looks[name]

    def gaze_way(self, name: str) -> tuple[float, ...] | None:
        """The way that a subject looks, in its figure's own frame; None for straight ahead."""
        subject = self.document.subjects[name]
        if subject.gaze is None or isinstance(subject.gaze, CameraAim):
            return None  # which camera, only a setup can say: `arranged` puts its name here
        turn = figure_turn(self.subject_facing(name))
        middle = find_figure(subject.figure).eye_centres_m.mean(0).astype(np.float64)
        eyes = self.origin(name) + turn @ middle
        way = turn.T @ self.aim_direction(eyes, subject.gaze, ("subjects", name, "gaze"))
        return tuple(float(part) for part in way)

    def subject_facing(self, name: str) -> Float64Array:
        """The way on the plan that a subject faces."""
        subject = self.document.subjects[name]
        if isinstance(subject.facing, Quantity):
            return direction(subject.facing.si)
        way = self.origin(subject.facing) - self.origin(name)
        flat = np.array([way[0], way[1], 0.0])
        if np.linalg.norm(flat) < 1e-4:
            raise self.fault(
                ("subjects", name, "facing"),
                what=f"{name} cannot face what stands in the same spot",
                found=subject.facing,
                fix="give an angle, such as -90 deg",
            )
        return unit(flat)

    def _sides(self, left: Float64Array, right: Float64Array) -> tuple[str, str]:
        """Key side and shadow side: the first fixture is the key, else the first opening."""
        for name in (*self.document.fixtures, *self.document.openings):
            key = self.origin(name)
            if np.linalg.norm(key - right) < np.linalg.norm(key - left):
                return "cheek_right", "cheek_left"
            break
        return "cheek_left", "cheek_right"

    def _thing(self, name: str) -> tuple[str, Any]:
        for kind in _KINDS:
            group = getattr(self.document, kind)
            if name in group:
                return kind, group[name]
        raise GeometryError(Fault(what=f"there is no {name} in the scene"))

    def _path(self, name: str) -> tuple[str, ...]:
        kind, _ = self._thing(name)
        return (kind, name, "at")


@functools.lru_cache(maxsize=64)
def _looking(figure: str, way: tuple[float, ...] | None) -> Look:
    """A figure that looks a way; turning a head takes a while, and most heads stay as they are."""
    return look(find_figure(figure), None if way is None else np.array(way))


def figure_turn(facing: Float64Array) -> Float64Array:
    """The rotation from a figure (x its right, y ahead, z up) to a room it faces `facing` in."""
    right = np.array([facing[1], -facing[0], 0.0])
    return np.stack([right, facing, np.array([0.0, 0.0, 1.0])], axis=1)


def unit(vector: Float64Array) -> Float64Array:
    """A vector at length one."""
    return np.asarray(vector / np.linalg.norm(vector))


def _vector(x: Quantity, y: Quantity, z: Quantity) -> Float64Array:
    return np.array([x.si, y.si, z.si])
