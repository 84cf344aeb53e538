"""A traced setup as complaints need it: every place's light by source, and places of its own."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from falloff.balance.why.causes import Known, doors_of
from falloff.balance.why.cures import Handle
from falloff.balance.why.fabric import fabrics_in_beam, passed_on
from falloff.balance.why.light import Given, Lit, Measure, pictured
from falloff.balance.why.rays import (
    DOORS,
    NEAR,
    alone,
    in_between,
    lifted,
    light_straight_lux,
    sheets_between,
    things_of,
)
from falloff.balance.why.words import per_cent
from falloff.constants import LUMINANCE_WEIGHTS
from falloff.document import SceneDocument
from falloff.kit.catalogue import knob_share
from falloff.layers import LightLayers
from falloff.rays import RayScene
from falloff.readings import MatrixReading, ReadingsMatrix, SetupLight, readings_matrix
from falloff.sources import SKY, SUN, Source
from falloff.stage import OFFSET_M, Probe, Stage, View, dimming_of
from falloff.transport import ProbeTrace, Solution, revise, trace_probes
from falloff.transport.direct import middle_of
from falloff.types import Float64Array

_WEIGHTS: Final = np.array(LUMINANCE_WEIGHTS)
_FACE_PLACES: Final = (
    "cheek_key", "cheek_shadow", "cheek_left", "cheek_right", "forehead", "eye_left", "eye_right",
)  # fmt: skip
_BLOCKED_SHARE: Final = 0.05
_BEFORE_EYE_M: Final = 0.02


@dataclass
class TracedSetup:
    """A setup with its light: readings of the scene by name, and a face's places by theirs.

    document: as it stands in the setup. own: by "ANNA.eye_left" and the like; probes: of both.
    """

    document: SceneDocument
    layers: LightLayers
    setup: SetupLight
    readings: dict[str, Lit] = field(default_factory=dict)
    own: dict[str, Lit] = field(default_factory=dict)
    grey: dict[str, float] = field(default_factory=dict)
    probes: dict[str, Probe] = field(default_factory=dict)
    _alone: dict[tuple[str, ...], RayScene] = field(default_factory=dict)
    _in_beam: dict[int, tuple[str, ...]] = field(default_factory=dict)

    @property
    def stage(self) -> Stage:
        """What stands where."""
        return self.layers.solution.stage

    @property
    def view(self) -> View:
        """The setup's camera in place."""
        return self.stage.views[self.setup.camera]

    @functools.cached_property
    def gains(self) -> Mapping[str, Float64Array]:
        """What each source's white light at full is times (3,)."""
        colours = dict(zip(self.layers.names, self.layers.colours, strict=True))
        return self.setup.gains(colours)

    def read(self, probes: Sequence[Probe]) -> dict[str, Lit]:
        """Light at more places, by their names."""
        new = tuple(one for one in probes if one.name not in self.own)
        if new:
            traced = trace_probes(self.layers.solution, new)
            self.own |= self.lits_of(traced)
        return {one.name: self.own[one.name] for one in probes}

    def place(self, name: str) -> Lit:
        """A subject's place or an own probe that was read."""
        return self.own[name]

    def in_picture(self, lit: Lit) -> Lit:
        """A reading against middle grey as the surface there is pictured."""
        return pictured(lit, self.grey.get(lit.name, lit.reference))

    def lits_of(self, traced: ProbeTrace, solution: Solution | None = None) -> dict[str, Lit]:
        """Every probe's light by source, those of other cameras left out.

        solution: that the probes were traced in, the setup's own where None.
        """
        matrix = readings_matrix(solution or self.layers.solution, traced)
        blank = self.setup.no_readings(matrix.scene, matrix.sources)
        found: dict[str, Lit] = {}
        for k, one in enumerate(matrix.readings):
            if one.view not in (None, self.setup.camera):
                continue
            probe = traced.probes[k]
            spot = one.instrument == "spot"
            reference = blank.mid_grey_nit if spot else blank.key_lux
            given = self._given(matrix, k, probe)
            found[one.name] = Lit(one.name, given, reference, one.unit)
            self.grey[one.name] = self._grey(one, blank.mid_grey_nit)
            self.probes[one.name] = probe
        return found

    def _grey(self, one: MatrixReading, grey_nit: float) -> float:
        """The light at which the surface under a receptor is pictured as middle grey."""
        if one.unit != "lx":
            return grey_nit
        albedo = 0.18 if one.albedo is None else float(_WEIGHTS @ np.array(one.albedo))
        return grey_nit * math.pi / max(albedo, 1e-6)

    def _given(self, matrix: ReadingsMatrix, k: int, probe: Probe) -> tuple[Given, ...]:
        given = []
        for s, name in enumerate(matrix.sources):
            gain = self.gains[name] * _WEIGHTS
            direct = float(gain @ np.array(matrix.direct[s][k]))
            bounced = float(gain @ np.array(matrix.bounced[s][k]))
            off = {on: share * bounced for on, share in matrix.shares[s][k].items()}
            source = self.stage.sources[s]
            own = 0.0
            # What a fabric in its beam scatters on is its own light, not bounce.
            for fabric in passed_on(self.stage, source, self._fabrics(s), probe.point):
                passed = off.pop(fabric, 0.0)
                direct, bounced = direct + passed, max(0.0, bounced - passed)
                own += passed if fabric.startswith(f"{name}: ") else 0.0  # its shade stays on it
            unhindered = bare = None
            if probe.instrument == "flat" and source.kind in NEAR and gain.sum() > 0.0:
                bodies = [(name,), *([(name, probe.subject)] if probe.subject else [])]
                bare, unhindered = (
                    max(direct, own + float(gain.sum()) * self._straight_lux(one, source, probe))
                    for one in (bodies[0], bodies[-1])
                )
            given.append(Given(name, direct, bounced, off, unhindered, bare=bare))
        return tuple(given)

    def _fabrics(self, s: int) -> tuple[str, ...]:
        """The fabrics in a source's beam."""
        if s not in self._in_beam:
            self._in_beam[s] = fabrics_in_beam(self.layers.solution, s)
        return self._in_beam[s]

    def _straight_lux(self, bodies: tuple[str, ...], source: Source, probe: Probe) -> float:
        """What a receptor gets straight from a source were only some bodies there."""
        if bodies not in self._alone:
            self._alone[bodies] = alone(self.stage, bodies)
        return float(light_straight_lux(self._alone[bodies], source, (probe,))[0])

    def with_black(self, measure: Measure, surface: str) -> Measure:
        """A measure with a surface turned black, every bounce settled anew over the same rays."""
        dark = revise(self.layers.solution, _with_black(self.stage, surface))
        probes = {lit.name: self.probes[lit.name] for lit in measure.places}
        lits = self.lits_of(trace_probes(dark, tuple(probes.values())), dark)
        over, under = (
            tuple(replace(lits[lit.name], reference=lit.reference) for lit in part)
            for part in (measure.over, measure.under)
        )
        return Measure(over, under)

    def hindrances(self, lit: Lit) -> dict[str, str]:
        """What stands before each source that a receptor would see, in words.

        A light's own body is not in its way, its doors are; whoever is read is not either.
        """
        probe = self.probes.get(lit.name)
        if probe is None or probe.instrument != "flat":
            return {}
        found = {}
        start = lifted(probe.point, probe.normal)
        for one in lit.given:
            if one.open is None or one.open - one.direct < _BLOCKED_SHARE * one.open:
                continue
            source = self.stage.sources[self.layers.names.index(one.source)]
            _, names = in_between(self.stage, self.layers.solution.scene, source, start)
            middle = middle_of(source)[0].astype(np.float64)
            doors = f"{one.source}: {DOORS}"
            things = [doors_of(one.source)] if doors in names else []
            things += [*things_of(names), *sheets_between(self.stage, start, middle)]
            things = [thing for thing in things if thing not in (one.source, probe.subject)]
            if things:
                found[one.source] = " and ".join(list(dict.fromkeys(things))[:2])
        return found

    def built_in(self, lit: Lit, hindered: Iterable[str]) -> list[str]:
        """Lights of those hindered that a part of the building, or somebody, stands before."""
        probe = self.probes.get(lit.name)
        if probe is None or probe.instrument != "flat":
            return []
        found = []
        for name in hindered:
            source = self.stage.sources[self.layers.names.index(name)]
            start = lifted(probe.point, probe.normal)
            _, before = in_between(self.stage, self.layers.solution.scene, source, start)
            others = {one.partition(": ")[0] for one in before} - {probe.subject}
            if others & {"room", *self.stage.subjects}:
                found.append(name)
        return found

    def turned_from(self, lit: Lit) -> tuple[str, ...]:
        """The lights that are on and that a flat receptor looks away from."""
        probe = self.probes.get(lit.name)
        if probe is None or probe.instrument != "flat":
            return ()
        found = []
        for one in lit.given:
            source = self.stage.sources[self.layers.names.index(one.source)]
            way = middle_of(source)[0] - probe.point
            if one.bare is not None and one.bare <= 0.0 and float(way @ probe.normal) <= 0.0:
                found.append(one.source)
        return tuple(found)

    def known(self, lead: str | None = None, *places: Lit) -> Known:
        """What is known of the sources besides their light."""
        hindered: dict[str, str] = {}
        far: dict[str, float] = {}
        for lit in places[:1]:
            point = self.probes[lit.name].point
            far = {
                source.name: float(np.linalg.norm(middle_of(source)[0] - point))
                for source in self.stage.sources
                if source.kind in NEAR
            }
        for lit in places:
            hindered = self.hindrances(lit) | hindered
        first = self.probes.get(places[0].name) if places else None
        return Known(
            lead=lead,
            traced=True,
            own=own_part(first),
            built_in=frozenset(
                source for lit in places for source in self.built_in(lit, hindered.keys())
            ),
            turned_from=self.turned_from(places[0]) if places else (),
            shares={name: self.setup.dims.get(name, 1.0) for name in self.layers.names},
            in_the_way=hindered,
            distance_m=far,
            windows=frozenset(n for n, one in self.handles.items() if one.kind == "window"),
        )

    @functools.cached_property
    def handles(self) -> Mapping[str, Handle]:
        """What can be done with each source."""
        found = {}
        for source in self.stage.sources:
            name = source.name
            if source.kind == SKY:
                found[name] = Handle("window")
            elif source.kind == SUN or name not in (
                *self.document.fixtures,
                *self.document.practicals,
            ):
                found[name] = Handle("fixed")
            else:
                found[name] = self._light_handle(name)
        return found

    def _light_handle(self, name: str) -> Handle:
        dimming = dimming_of(self.document, name)
        share = self.setup.dims.get(name, 1.0)
        if not dimming.dims:
            return Handle("fixed", share)

        def knob(light_share: float) -> str:
            return per_cent(knob_share(dimming.curve, min(1.0, max(0.0, light_share))))

        return Handle("light", share, knob)

    @property
    def subjects(self) -> tuple[str, ...]:
        """The people in the setup, as they are written."""
        return tuple(self.stage.subjects)


def traced_setup(document: SceneDocument, layers: LightLayers, setup: SetupLight) -> TracedSetup:
    """A setup's light at the scene's readings and at the faces of everybody in it."""
    found = TracedSetup(document, layers, setup)
    found.readings = found.lits_of(layers.probes)
    scene = layers.solution.scene
    people = found.subjects
    found.read([one for name in people for one in face_probes(found.stage, scene, name)])
    return found


def own_part(probe: Probe | None) -> str:
    """What of a person may be in the way of a place of theirs: "ANNA's own head"; else ""."""
    if probe is None or probe.subject is None:
        return ""
    part = "body" if probe.place.endswith(".chest") else "head"
    return f"{probe.subject}'s own {part}"


def face_probes(stage: Stage, scene: RayScene, name: str) -> list[Probe]:
    """Flat receptors square to a face's places; those of the eyes lie on the eyes themselves."""
    places = stage.subjects[name]
    points = {
        spot: _on_eye(scene, places.points[spot], places.normals[spot])
        if spot.startswith("eye")
        else places.points[spot]
        for spot in _FACE_PLACES
    }
    return [
        Probe(
            name=f"{name}.{spot}", instrument="flat", point=points[spot],
            normal=places.normals[spot], place=f"{name}.{spot}", faces="square",
            material=f"skin of {name}", subject=name,
        )
        for spot in _FACE_PLACES
    ]  # fmt: skip


def _with_black(stage: Stage, surface: str) -> Stage:
    """The stage with one surface's faces black."""
    surfaces = stage.surfaces
    black = len(stage.material_names)
    mine = surfaces.face_name == surfaces.names.index(surface)
    material = np.where(mine, np.int32(black), surfaces.face_material).astype(np.int32)
    changed = replace(
        surfaces,
        face_material=material,
        albedo=np.vstack([surfaces.albedo, np.zeros((1, 3), np.float32)]),
        through=np.vstack([surfaces.through, np.zeros((1, 3), np.float32)]),
        landing=np.append(surfaces.landing, np.float32(1.0)),
        coats=np.vstack([surfaces.coats, np.array([[0.0, 1.0]], np.float32)]),
    )
    return replace(stage, surfaces=changed, material_names=(*stage.material_names, "black"))


def _on_eye(scene: RayScene, point: Float64Array, normal: Float64Array) -> Float64Array:
    """The place where someone who looks an eye in the face sees it, just before lid or cornea."""
    start = point + _BEFORE_EYE_M * normal
    hits = scene.first_hit(start.astype(np.float32)[None], -normal.astype(np.float32)[None])
    near = float(hits.distance[0]) if hits.triangle[0] >= 0 else _BEFORE_EYE_M
    return np.asarray(start - (min(near, 2.0 * _BEFORE_EYE_M) - 2.0 * OFFSET_M) * normal)
