"""What a fixture is to reach: the point, the line to it, and the fixture as it might be set."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from typing import Any, Final

import msgspec
import numpy as np

from falloff.balance.why.complaints import same_name, unknown
from falloff.balance.why.places import spot_meant
from falloff.balance.why.scene import TracedSetup
from falloff.balance.why.words import spot_text, surface_text, the_name
from falloff.document import NamedAim, PointAim, Quantity
from falloff.sources import BEAM, Source
from falloff.stage import Grain, Probe
from falloff.stage.fixtures import build_fixture
from falloff.stage.places import Placer
from falloff.types import Float64Array

BACK_M: Final = 0.004  # that a point stands before the surface it lies on
_MOST_THINGS: Final = 12
_ABOUT_M: Final = 0.5  # a point so close behind somebody's surface is meant as them
_FAR_SIDE_M: Final = 0.02  # a line that meets a person so far before a place meets another side


@dataclass(frozen=True, slots=True)
class Throw:
    """A fixture and the point (m) that its light should reach; target: that point's name.

    thing: what the point lies on. normal: the way a place of a person faces, None elsewhere.
    behind: the place aimed at, where that lies beyond the side of a person that light meets first.
    """

    source: Source
    start: Float64Array
    point: Float64Array
    target: str
    thing: str | None
    normal: Float64Array | None = None
    behind: str = ""

    @property
    def way(self) -> Float64Array:
        """The unit way from the fixture to the point."""
        away = self.point - self.start
        return np.asarray(away / np.linalg.norm(away))

    @property
    def distance_m(self) -> float:
        """How far it is."""
        return float(np.linalg.norm(self.point - self.start))

    @property
    def turned_away(self) -> bool:
        """Whether the point lies on a place of a person that looks away from the fixture."""
        return self.normal is not None and float(self.normal @ self.way) >= 0.0

    def probe(self) -> Probe:
        """A flat receptor there that faces the fixture."""
        return Probe("landing", "flat", self.point, -self.way)


def throw_of(traced: TracedSetup, name: str, toward: str) -> Throw:
    """A fixture and what it should reach: its aim, or what is said."""
    placer = Placer(traced.document)
    source = traced.stage.sources[traced.layers.names.index(name)]
    start = placer.origin(name)
    aim = traced.document.fixtures[name].aim
    assert aim is not None
    if toward:
        return _thrown_to(traced, source, start, toward)
    thing: str | None = None
    point, target = placer.aim_point(aim), "its aim point"
    if point is None:  # straight down, to the floor
        point = np.array([start[0], start[1], 0.0])
    if isinstance(aim, NamedAim):
        thing, target = aim.name, aim.name
        if aim.place is not None:
            return _at_place(traced, source, start, (aim.name, aim.place))
    else:
        person = _person_there(traced, Throw(source, start, point, target, None))
        if person is not None:
            return person
    return Throw(source, start, _on_thing(traced, start, point, thing), target, thing)


def _thrown_to(traced: TracedSetup, source: Source, start: Float64Array, toward: str) -> Throw:
    """To a point by its name: a reading, a person's place, or a thing's middle."""
    for name in traced.readings:
        if same_name(name, toward):
            probe = traced.probes[name]
            point = probe.point + BACK_M * probe.normal
            return Throw(source, start, point, the_name(name), probe.subject, probe.normal)
    spot = spot_meant(traced, toward)
    if spot is not None:
        said = toward.casefold()
        whole = said == "face" or same_name(toward, spot[0]) or re.search(r"(?:'s |\.)face$", said)
        return placed(traced, source, start, (spot[0], "face" if whole else spot[1]))
    for name in traced.stage.bodies:
        if name and name != "room" and same_name(name, toward):
            point = Placer(traced.document).middle(name)
            return Throw(source, start, _on_thing(traced, start, point, name), name, name)
    known = [*traced.readings, *traced.stage.subjects, *traced.stage.bodies]
    raise unknown("thing to light", toward, [one for one in known if one], where=traced.setup.name)


def placed(
    traced: TracedSetup, source: Source, start: Float64Array, spot: tuple[str, str]
) -> Throw:
    """To a place of a person as it is, whatever of them is before it."""
    person, place = spot
    subject = traced.stage.subjects[person]
    normal = subject.normals[place]
    point = subject.points[place] + BACK_M * normal
    return Throw(source, start, point, f"{person}'s {spot_text(place)}", person, normal)


def _at_place(
    traced: TracedSetup, source: Source, start: Float64Array, spot: tuple[str, str]
) -> Throw:
    """To what a light is aimed at: of a place on a person's far side, to where it meets them."""
    there = placed(traced, source, start, spot)
    met = first_met(traced, there)
    return there if met is None else met


def first_met(traced: TracedSetup, throw: Throw) -> Throw | None:
    """To where the line to a place of a person first meets them; None: there itself."""
    body = traced.stage.bodies.get(throw.thing or "")
    if body is None:
        return None
    surfaces = traced.stage.surfaces
    for distance, face in faces_met(traced, throw.start, throw.way, throw.distance_m):
        if body.faces[0] <= face < body.faces[1] and distance < throw.distance_m - _FAR_SIDE_M:
            name = surfaces.names[surfaces.face_name[face]]
            point = throw.start + (distance - BACK_M) * throw.way
            return replace(
                throw, point=point, target=surface_text(name, {}), normal=None, behind=throw.target
            )
    return None


def _person_there(traced: TracedSetup, throw: Throw) -> Throw | None:
    """To somebody who sits or stands where a light is aimed by a bare point; None: nobody does."""
    for name in traced.subjects:
        met = first_met(traced, replace(throw, thing=name))
        if met is not None and throw.distance_m - met.distance_m < _ABOUT_M:
            return replace(met, behind="the point in the plan")
    return None


def _on_thing(
    traced: TracedSetup, start: Float64Array, point: Float64Array, thing: str | None
) -> Float64Array:
    """Where the line to a thing's middle first meets that thing, just before its surface."""
    body = traced.stage.bodies.get(thing or "")
    away = point - start
    length = float(np.linalg.norm(away))
    way = away / length
    if body is None:
        return np.asarray(point - BACK_M * way)
    for distance, face in faces_met(traced, start, way, length + 1.0):
        if body.faces[0] <= face < body.faces[1]:
            return np.asarray(start + (distance - BACK_M) * way)
    return np.asarray(point - BACK_M * way)


def faces_met(
    traced: TracedSetup, start: Float64Array, way: Float64Array, most_m: float
) -> list[tuple[float, int]]:
    """Faces that a line meets one after another: distance (m) and face."""
    found: list[tuple[float, int]] = []
    gone = 0.0
    for _ in range(_MOST_THINGS):
        origin = (start + gone * way).astype(np.float32)[None]
        hits = traced.layers.solution.scene.first_hit(origin, way.astype(np.float32)[None])
        if hits.triangle[0] < 0 or gone + float(hits.distance[0]) > most_m:
            break
        gone += float(hits.distance[0]) + 1e-3
        face = int(traced.stage.surfaces.triangle_face[hits.triangle[0]])
        found.append((gone - 1e-3, face))
    return found


def turned_source(traced: TracedSetup, throw: Throw, *, bare: bool) -> Source:
    """The fixture were it aimed at the point; bare: without its shutters too."""
    document, name = traced.document, throw.source.name
    fixture = document.fixtures[name]
    x, y, z = (Quantity(float(part), f"{part:.3f} m") for part in throw.point)
    changes: dict[str, Any] = {"aim": PointAim(x, y, z)}
    if bare and getattr(fixture.light, "shutters", None) is not None:
        changes["light"] = msgspec.structs.replace(fixture.light, shutters=None)
    fixtures = {**document.fixtures, name: msgspec.structs.replace(fixture, **changes)}
    turned = msgspec.structs.replace(document, fixtures=fixtures)
    return build_fixture(Placer(turned), name, Grain())[1]


def off_axis_rad(throw: Throw) -> float:
    """The angle of the point off the source's axis (rad)."""
    shape = throw.source.shape
    axis = shape[3:6] if throw.source.kind == BEAM else shape[9:12]
    length = float(np.linalg.norm(axis))
    if length < 1e-9:
        return 0.0
    return math.acos(float(np.clip(axis @ throw.way / length, -1.0, 1.0)))
