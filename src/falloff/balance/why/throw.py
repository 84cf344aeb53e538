"""What a fixture is to reach: the point, the line to it, and the fixture as it might be set."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final

import msgspec
import numpy as np

from falloff.balance.why.complaints import same_name, unknown
from falloff.balance.why.scene import TracedSetup
from falloff.document import NamedAim, PointAim, Quantity
from falloff.sources import BEAM, Source
from falloff.stage import Grain, Probe
from falloff.stage.fixtures import build_fixture
from falloff.stage.places import Placer
from falloff.types import Float64Array

BACK_M: Final = 0.004  # that a point stands before the surface it lies on
_MOST_THINGS: Final = 12


@dataclass(frozen=True, slots=True)
class Throw:
    """A fixture and the point (m) that its light should reach; target: that point's name."""

    source: Source
    start: Float64Array
    point: Float64Array
    target: str
    thing: str | None

    @property
    def way(self) -> Float64Array:
        """The unit way from the fixture to the point."""
        away = self.point - self.start
        return np.asarray(away / np.linalg.norm(away))

    @property
    def distance_m(self) -> float:
        """How far it is."""
        return float(np.linalg.norm(self.point - self.start))

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
    thing: str | None = None
    if toward:
        point, target, thing = _named_point(traced, placer, toward)
    else:
        found = placer.aim_point(aim)
        if found is None:  # straight down, to the floor
            found = np.array([start[0], start[1], 0.0])
        point, target = found, "its aim point"
        if isinstance(aim, NamedAim):
            thing = aim.name
            target = aim.name if aim.place is None else f"{aim.name}'s {aim.place}"
    return Throw(source, start, _on_thing(traced, start, point, thing), target, thing)


def _named_point(
    traced: TracedSetup, placer: Placer, toward: str
) -> tuple[Float64Array, str, str | None]:
    """A point by its name: a reading, a person's place, or a thing's middle."""
    for name in traced.readings:
        if same_name(name, toward):
            probe = traced.probes[name]
            return probe.point + BACK_M * probe.normal, name, probe.subject
    head, _, spot = toward.partition(".")
    for name, places in traced.stage.subjects.items():
        said = toward.casefold()
        if same_name(name, head) or said in ("face", f"{name}'s face".casefold()):
            place = spot or "face"
            if place not in places.points:
                raise unknown("place of a face", place, places.points, where=name)
            point = places.points[place] + BACK_M * places.normals[place]
            return point, f"{name}'s {place}", name
    for name in traced.stage.bodies:
        if name and name != "room" and same_name(name, toward):
            return placer.middle(name), name, name
    known = [*traced.readings, *traced.stage.subjects, *traced.stage.bodies]
    raise unknown("thing to light", toward, known, where=traced.setup.name)


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
