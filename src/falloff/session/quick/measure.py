"""What a plan measures: its scene traced once, and again only for what a change can touch."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import msgspec
import numpy as np

from falloff.camera import key_illuminance_lux
from falloff.document import SceneDocument, parse_document
from falloff.layers import LightLayers
from falloff.readings import Reading, Readings, SetupLight, take_readings
from falloff.session.quick.plan import Plan
from falloff.session.quick.vary import differing, varied
from falloff.session.quick.write import scene_text
from falloff.session.scene import known_names, setup_light
from falloff.stage import Grain, Stage, build_stage, relit
from falloff.transport import Budget, Solution, retrace, revise, trace, trace_probes

# Coarser than a picture's: readings stay within 0.03 stop of the finest, and a change is told
# against the same grain. Measured in the tests of this module.
_GRAIN = Grain(
    patch_m=0.4,
    element_m=0.2,
    mesh_patch_area_m2=0.05,
    mesh_patches=(4, 14),
    mesh_element_area_m2=0.04,
    mesh_elements_least=12,
)
_BUDGET = Budget(row_rays=64, reading_replicates=4)


class Figures(msgspec.Struct, frozen=True, kw_only=True):
    """The figures of one answer; stops, or lux where named so. None: there is no such thing.

    The key side is the side of the face that gets more light, wherever the key stands.
    face_over_key: of it, incident, against key at the camera's exposure; ratio: key side over
    shadow side, 0 or more; window_over_face: in the picture, against the skin of the key side;
    wall_over_key: the wall behind in the picture, over middle grey; wall_light_over_key: the light
    that falls on it, incident, over key; other_face: the second person's key side over the first's.
    """

    face_lux: float
    face_over_key: float
    shadow_over_key: float
    ratio_stops: float
    face_in_picture: float
    window_over_face: float | None
    wall_over_key: float | None
    other_face: float | None
    wall_light_over_key: float | None = None


@dataclass(frozen=True, slots=True)
class Measured:
    """A plan's document, light and readings, and the figures told of them."""

    plan: Plan
    document: SceneDocument
    layers: LightLayers
    readings: Readings
    figures: Figures

    @property
    def sides(self) -> tuple[Reading, Reading]:
        """The face's key side and its shadow side: the one with more light comes first."""
        return _sides({reading.name: reading for reading in self.readings.readings})

    @property
    def window(self) -> Reading | None:
        """What a spot meter reads in the window."""
        named = {reading.name: reading for reading in self.readings.readings}
        return named.get("the window")


def measure(plan: Plan) -> Measured:
    """Trace a plan's scene from nothing."""
    document = _document(plan)
    stage = build_stage(document, grain=_GRAIN)
    return _read(plan, document, stage, trace(stage, _BUDGET))


def measure_again(base: Measured, plan: Plan) -> Measured:
    """Trace what differs between a measured plan and another one; the same to within noise."""
    fields = differing(base.plan, plan)
    document = varied(base.document, base.plan, plan)
    if document is None:
        document, fields = _document(plan), fields | {"text"}
    if fields <= _CAMERA:
        return replace(base, plan=plan, document=document, **_metered(base.layers, document))
    before = base.layers.solution
    if fields <= _LIGHT | _CAMERA:
        stage = relit(before.stage, document)
    else:
        # A guess that stands a little in a shelf is still a guess: nothing is made of it.
        stage = build_stage(document, grain=_GRAIN, guarded=False)
    moved = (
        fields <= _KEY_PLACE | _CAMERA
        and before.stage.bodies["KEY"].elements == stage.bodies["KEY"].elements
        and before.stage.bodies["KEY"].patches == stage.bodies["KEY"].patches
        and before.stage.bodies["KEY"].faces == stage.bodies["KEY"].faces
    )
    solution = retrace(before, stage, "KEY") if moved else revise(before, stage)
    return _read(plan, document, stage, solution)


_CAMERA = {"t_number", "stop_text", "iso", "nd_stops"}
_LIGHT = {
    "wall_reflectance",
    "ceiling_reflectance",
    "floor_reflectance",
    "skin",
    "dressing",  # bare or gelled: other dressing is another text
    "gel_stops",
    "glass",
    "outside_lux",
    "outside_kelvin",
    "ground_reflectance",
    "key_trim",
}
_KEY_PLACE = {"key_distance_m", "key_clock", "key_height_m"}


def _document(plan: Plan) -> SceneDocument:
    return parse_document(scene_text(plan), "quick.scene.yaml", known=known_names())


def _read(plan: Plan, document: SceneDocument, stage: Stage, solution: Solution) -> Measured:
    layers = LightLayers(
        names=tuple(source.name for source in stage.sources),
        colours=np.array([source.colour for source in stage.sources], np.float64).reshape(-1, 3),
        solution=solution,
        probes=trace_probes(solution, stage.probes),
        views={},
    )
    return Measured(plan, document, layers, **_metered(layers, document))


def _metered(layers: LightLayers, document: SceneDocument) -> dict[str, Any]:
    setup = setup_light(document, "SHOT")
    readings = take_readings(layers, setup)
    return {"readings": readings, "figures": _figures(readings, setup)}


def _figures(readings: Readings, setup: SetupLight) -> Figures:
    named = {reading.name: reading for reading in readings.readings}
    key = float(key_illuminance_lux(setup.settings))
    cheek, shadow = _sides(named)
    skin = _stops(cheek.stops_over_grey)
    window, wall = named.get("the window"), named["the wall behind"]
    others = [one.value for name, one in named.items() if name.startswith("the other face")]
    return Figures(
        face_lux=cheek.value,
        face_over_key=_log(cheek.value, key),
        shadow_over_key=_log(shadow.value, key),
        ratio_stops=_log(cheek.value, shadow.value),
        face_in_picture=skin,
        window_over_face=None if window is None else _stops(window.stops_over_grey) - skin,
        wall_over_key=_stops(wall.stops_over_grey),
        other_face=_log(max(others), cheek.value) if others else None,
        wall_light_over_key=_log(wall.value, key),
    )


def _sides(named: Mapping[str, Reading]) -> tuple[Reading, Reading]:
    one, other = named["key cheek"], named["shadow cheek"]
    return (other, one) if other.value > one.value else (one, other)


def share_of(reading: Reading, source: str) -> float:
    """The share of a reading that one source gives, direct and bounced."""
    return next((part.share for part in reading.parts if part.source == source), 0.0)


_DARK_STOPS = -20.0  # stands for no light at all


def _log(value: float, reference: float) -> float:
    return math.log2(value / reference) if value > 0.0 and reference > 0.0 else _DARK_STOPS


def _stops(value: float | None) -> float:
    return _DARK_STOPS if value is None else value
