"""Laws that light keeps in any room: superposition, units, turning, distance, and moving a body.

Each trace is coarse on purpose: the laws hold at any grain. Where two traces are different samples
of the same thing they are judged by their standard errors; where they are the same samples they
must be equal.
"""

from __future__ import annotations

import math
from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal

from falloff.camera import CameraSettings
from falloff.document import SceneDocument, parse_document, read_document
from falloff.layers import LightLayers, drag_fixture, move_body, trace_layers
from falloff.readings import SetupLight, take_readings
from falloff.stage import Grain, Stage, build_stage
from falloff.transport import Budget, trace, trace_probes
from falloff.types import Float64Array

COARSE = Grain(patch_m=0.5, element_m=0.25)
CHEAP = Budget(row_rays=64, beam_rays=4096, reading_gather_rays=256)
FEW = settings(
    max_examples=8, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck)
)
SIZE = {"CAMERA": (48, 27)}
WITNESS_ROOM = Path(__file__).parents[1] / "reference" / "scenes" / "test_room.scene.yaml"

ROOM = """
falloff: 1
title: Room
units: metric
room:
  floor: [{floor}]
  height: {height}
  floor_surface: boards
  ceiling_surface: paint
  wall_surface: paint
openings:
  WINDOW: {{wall: 4, along: {w[0]}, width: {w[1]}, sill: {w[2]}, height: {w[3]}}}
sky: {{type: overcast, outside: 9000 lx, colour: 6500 K}}
materials:
  boards: {{reflectance: 0.2}}
  paint: {{reflectance: 0.6}}
  oak: {{reflectance: 0.3, tint: [1.4, 0.9, 0.5]}}
props:
  CRATE:
    {{shape: box, size: [{c[0]}, {c[1]}, {c[2]}], at: [{crate}], turn: {crate_turn}, surface: oak}}
fixtures:
  KEY:
    light: soft box
    size: [{k[0]}, {k[1]}]
    depth: {k[2]}
    output: 6200 lm
    colour: 5600 K
    at: [{key}]
    aim: CRATE
    stand: true
  HARD:
    light: open face
    profile: open-face flood
    aperture: {aperture}
    output: 4000 lm
    colour: 3200 K
    at: [{hard}]
    aim: [{hard_aim}]
practicals:
  GLOBE: {{light: globe, diameter: {globe_d}, output: 600 lm, colour: 2700 K, at: [{globe}]}}
cameras:
  CAMERA: {{at: [{camera}], aim: CRATE, lens: 24 mm, gate: [24 mm, 13.5 mm]}}
setups:
  A: {{camera: CAMERA, stop: T2.8, iso: 800, shutter: 180 deg}}
readings:
  top: {{at: {{on: CRATE}}}}
  floor: {{at: [{floor_spot}], normal: [0, 0, 1]}}
  ceiling: {{at: [{ceiling_spot}], normal: [0, 0, -1]}}
  free: {{at: [{free_spot}], normal: [{free_normal}], instrument: dome}}
"""


def room_text(*, unit: str = "m", per_metre: float = 1.0, turn_rad: float = 0.0) -> str:
    """The room in a unit of length, turned about the plan's origin."""

    def length(metres: float) -> str:
        return f"{metres * per_metre:.12g} {unit}"

    def place(x: float, y: float, *z: float) -> str:
        u = math.cos(turn_rad) * x - math.sin(turn_rad) * y
        v = math.sin(turn_rad) * x + math.cos(turn_rad) * y
        return ", ".join(length(part) for part in (u, v, *z))

    normal = (math.cos(turn_rad + 0.7), math.sin(turn_rad + 0.7), 0.2)
    corners = ((0.0, 0.0), (4.2, 0.0), (4.2, 3.6), (0.0, 3.6))
    return ROOM.format(
        floor=", ".join(f"[{place(*corner)}]" for corner in corners),
        height=length(2.4),
        w=[length(part) for part in (1.0, 1.2, 0.9, 1.0)],
        c=[length(part) for part in (0.8, 0.6, 0.9)],
        crate=place(2.1, 1.8),
        crate_turn=f"{20.0 + math.degrees(turn_rad):.12g} deg",
        k=[length(part) for part in (0.9, 0.6, 0.4)],
        key=place(3.3, 0.7, 1.8),
        aperture=length(0.1),
        hard=place(0.5, 3.1, 1.9),
        hard_aim=place(3.9, 1.0, 2.0),
        globe_d=length(0.12),
        globe=place(3.6, 3.0, 1.4),
        camera=place(1.0, 0.4, 1.5),
        floor_spot=place(1.2, 2.6, 0.0),
        ceiling_spot=place(2.5, 1.5, 2.4),
        free_spot=place(2.0, 2.9, 1.5),
        free_normal=", ".join(f"{part:.12g}" for part in normal),
    )


def layers_of(text: str, budget: Budget = CHEAP, grain: Grain = COARSE) -> LightLayers:
    return trace_layers(build_stage(parse_document(text), grain=grain), budget, sizes=SIZE)


@pytest.fixture(scope="module")
def layers() -> LightLayers:
    return layers_of(room_text())


def mean_and_error(found: LightLayers) -> tuple[Float64Array, Float64Array]:
    """Readings (s, p, 3) and their standard errors."""
    whole = found.probes.direct + found.probes.bounced
    return whole.mean(-1), whole.std(-1, ddof=1) / math.sqrt(whole.shape[-1])


# --- superposition ----------------------------------------------------------------------------


@FEW
@given(st.lists(st.floats(0.0, 1.0), min_size=4, max_size=4))
def test_light_of_all_is_the_sum_of_each_alone(layers: LightLayers, dims: list[float]) -> None:
    setup = _setup(dict(zip(layers.names, dims, strict=True)))
    together = take_readings(layers, setup)
    alone = [
        take_readings(layers, _setup({**dict.fromkeys(layers.names, 0.0), name: dim}))
        for name, dim in zip(layers.names, dims, strict=True)
    ]
    for k, reading in enumerate(together.readings):
        parts = sum(one.readings[k].value for one in alone)
        assert_allclose(reading.value, parts, rtol=1e-9, atol=1e-9)  # pencil: light is linear
        assert_allclose(
            sum(part.direct + part.bounced for part in reading.parts),
            reading.value,
            rtol=1e-9,
            atol=1e-9,
        )  # pencil


@FEW
@given(st.sampled_from(["WINDOW", "KEY", "HARD", "GLOBE"]), st.floats(0.01, 0.5))
def test_twice_the_dim_is_twice_the_layer(layers: LightLayers, name: str, dim: float) -> None:
    off = dict.fromkeys(layers.names, 0.0)
    once = take_readings(layers, _setup({**off, name: dim}))
    twice = take_readings(layers, _setup({**off, name: 2.0 * dim}))
    for a, b in zip(once.readings, twice.readings, strict=True):
        assert_allclose(b.value, 2.0 * a.value, rtol=1e-12)  # pencil
        if a.stops_over_key is not None and b.stops_over_key is not None:
            assert_allclose(b.stops_over_key - a.stops_over_key, 1.0, atol=1e-9)  # pencil


def test_twice_the_flux_is_twice_the_trace(layers: LightLayers) -> None:
    """Traced anew with brighter lamps, sample for sample."""
    brighter = layers_of(
        room_text()
        .replace("6200 lm", "12400 lm")
        .replace("4000 lm", "8000 lm")
        .replace("600 lm", "1200 lm")
        .replace("9000 lx", "18000 lx")
    )
    assert_allclose(brighter.probes.direct, 2.0 * layers.probes.direct, rtol=1e-5)  # pencil
    assert_allclose(brighter.probes.bounced, 2.0 * layers.probes.bounced, rtol=1e-4)  # pencil
    for one, other in ((layers, brighter),):
        assert_allclose(
            other.views["CAMERA"].bounced, 2.0 * one.views["CAMERA"].bounced, rtol=1e-4, atol=1e-4
        )


def test_a_lamp_alone_gives_what_it_gives_among_others(layers: LightLayers) -> None:
    """The other lamps stay where they are, dark: only their light is left out. pencil"""
    text = room_text().replace("output: 600 lm", "output: 0.000001 lm")
    others = layers_of(text)
    globe = layers.names.index("GLOBE")
    for s in range(len(layers.names)):
        if s != globe:
            assert_allclose(others.probes.direct[s], layers.probes.direct[s], rtol=1e-6)
            assert_allclose(others.probes.bounced[s], layers.probes.bounced[s], rtol=1e-6)


def _setup(dims: dict[str, float]) -> SetupLight:
    return SetupLight(
        name="A",
        camera="CAMERA",
        settings=CameraSettings(t_number=2.8, iso=800.0, exposure_time_s=1.0 / 48.0),
        dims=dims,
    )


# --- units and place --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("unit", "per_metre"), [("ft", 1.0 / 0.3048), ("cm", 100.0), ("in", 1.0 / 0.0254)]
)
def test_feet_and_metres_read_alike(layers: LightLayers, unit: str, per_metre: float) -> None:
    other = layers_of(room_text(unit=unit, per_metre=per_metre))
    ours, error = mean_and_error(layers)
    theirs, _ = mean_and_error(other)
    # The same samples, but for rays that graze an edge to the last digit.
    assert_allclose(theirs, ours, rtol=2e-3, atol=1e-3)
    assert np.all(np.abs(theirs - ours) <= error + 1e-3)


@FEW
@given(st.sampled_from([37.0, 90.0, 143.0, 180.0, 270.0, 301.5]))
def test_turning_the_world_changes_nothing(degrees: float) -> None:
    """Room, window, things and receptors turned about the plan's origin."""
    fine = Budget(row_rays=256, reading_gather_rays=1024)
    still, still_error = mean_and_error(layers_of(room_text(), fine, Grain(0.3, 0.15)))
    turned, error = mean_and_error(
        layers_of(room_text(turn_rad=math.radians(degrees)), fine, Grain(0.3, 0.15))
    )
    # Four standard errors, and the bar of readings, 0.05 stop, for what replicates share: rows of F
    # and elements are cut anew (a window's bounce scatters by 0.7 % from one set to another).
    room = 4.0 * np.hypot(still_error, error) + (2.0**0.05 - 1.0) * still + 0.01
    assert np.all(np.abs(turned - still) <= room), np.abs(turned - still) / room


@FEW
@given(st.floats(4.0, 40.0), st.floats(1.5, 3.0))
def test_a_far_lamp_obeys_the_inverse_square(distance_m: float, times: float) -> None:
    """pencil: from 30 diameters away and more, twice as far is a quarter."""
    near, far = (_corridor_light(d) for d in (distance_m, times * distance_m))
    assert_allclose(near / far, times**2, rtol=1e-3)


def _corridor_light(distance_m: float) -> float:
    text = f"""
falloff: 1
title: Corridor
units: metric
room:
  floor: [[0 m, 0 m], [130 m, 0 m], [130 m, 4 m], [0 m, 4 m]]
  height: 3 m
  floor_surface: black
  ceiling_surface: black
  wall_surface: black
materials: {{black: {{reflectance: 0}}}}
practicals:
  GLOBE: {{light: globe, diameter: 10 cm, output: 600 lm, colour: 3200 K, at: [1 m, 2 m, 1.5 m]}}
cameras:
  CAMERA: {{at: [3 m, 1 m, 1 m], aim: GLOBE, lens: 24 mm}}
setups:
  A: {{camera: CAMERA, stop: T2.8, iso: 800, shutter: 180 deg}}
readings:
  far: {{at: [{1.0 + distance_m} m, 2 m, 1.5 m], aim: GLOBE}}
"""
    stage = build_stage(parse_document(text), grain=Grain(5.0, 5.0))
    light = trace_probes(trace(stage, Budget(row_rays=16)), stage.probes)
    return float((light.direct + light.bounced).mean(-1)[0, 0, 0])


# --- energy -----------------------------------------------------------------------------------


@FEW
@given(st.floats(0.0, 0.95), st.floats(0.0, 0.95))
def test_no_more_light_is_taken_up_than_given(walls: float, floor: float) -> None:
    """Σ (1 − ρ) E A over every surface is what all lamps give, less what the window lets out."""
    text = (
        room_text()
        .replace("paint: {reflectance: 0.6}", f"paint: {{reflectance: {walls:.6f}}}")
        .replace("boards: {reflectance: 0.2}", f"boards: {{reflectance: {floor:.6f}}}")
    )
    stage = build_stage(parse_document(text), grain=COARSE)
    solution = trace(stage, CHEAP)
    surfaces = stage.surfaces
    albedo = surfaces.albedo[surfaces.face_material[surfaces.element_face]].mean(1)
    grey = solution.bounced.mean(1)[:, surfaces.element_patch]
    light = (solution.direct + grey) * surfaces.element_area_m2
    for s, source in enumerate(stage.sources):
        given_lm = source.flux_lm
        landed = float(solution.direct[s] @ surfaces.element_area_m2)
        # 3 %: a coarse grain samples each element at 4 points
        assert landed <= 1.03 * given_lm, source.name
        assert float(((1.0 - albedo) * light[s]).sum()) <= 1.03 * given_lm, source.name


# --- a body is moved --------------------------------------------------------------------------


def _same(ours: LightLayers, anew: LightLayers) -> None:
    """Two layers equal in every bit that tests can see."""
    for name in ("direct", "bounced", "radiosity"):
        assert_array_equal(getattr(ours.solution, name), getattr(anew.solution, name), err_msg=name)
    assert_array_equal(ours.solution.rows.ids, anew.solution.rows.ids)
    assert_array_equal(ours.solution.rows.exposed, anew.solution.rows.exposed)
    assert_array_equal(ours.probes.direct, anew.probes.direct)
    assert_array_equal(ours.probes.bounced, anew.probes.bounced)
    for name, view in anew.views.items():
        assert_array_equal(ours.views[name].direct, view.direct, err_msg=name)
        assert_array_equal(ours.views[name].bounced, view.bounced, err_msg=name)


def _moved_key(document: SceneDocument, text: str, old: str, new: str) -> Stage:
    assert old in text
    return build_stage(parse_document(text.replace(old, new)))


def test_soft_box_moved_in_the_witness_s_room() -> None:
    """0.6 m to the side: readings, picture and solution equal a trace from nothing."""
    document = read_document(WITNESS_ROOM)
    text = WITNESS_ROOM.read_text(encoding="utf-8")
    budget, sizes = Budget(reading_gather_rays=128), {"CAMERA": (160, 90)}
    before = trace_layers(build_stage(document), budget, sizes=sizes)
    stage = _moved_key(document, text, "at: [4.6 m, 1.2 m, 1.9 m]", "at: [4.6 m, 1.8 m, 1.9 m]")
    _same(move_body(before, stage, "SOFTBOX"), trace_layers(stage, budget, sizes=sizes))


@pytest.mark.parametrize("moved", ["KEY", "HARD", "GLOBE", "CRATE"])
@FEW
@given(data=st.data())
def test_any_body_moved_anywhere(layers: LightLayers, moved: str, data: st.DataObject) -> None:
    """Moves that keep a body's shape: the layers equal a trace from nothing."""
    x = data.draw(st.floats(0.9, 3.3).map(lambda v: round(v, 2)))
    y = data.draw(st.floats(0.9, 2.7).map(lambda v: round(v, 2)))
    old = {
        "KEY": "at: [3.3 m, 0.7 m, 1.8 m]",
        "HARD": "at: [0.5 m, 3.1 m, 1.9 m]",
        "GLOBE": "at: [3.6 m, 3 m, 1.4 m]",
        "CRATE": "at: [2.1 m, 1.8 m]",
    }[moved]
    height = {"KEY": ", 1.8 m", "HARD": ", 1.9 m", "GLOBE": ", 1.4 m", "CRATE": ""}[moved]
    text = room_text()
    assert old in text
    # Lamps and the camera keep their aim at a fixed point, so that one body moves and no other.
    text = text.replace("aim: CRATE", "aim: [2.1 m, 1.8 m, 0.45 m]")
    base = trace_layers(build_stage(parse_document(text), grain=COARSE), CHEAP, sizes=SIZE)
    text = text.replace(old, f"at: [{x} m, {y} m{height}]")
    # Wherever it stands, on a reading's spot too: no fault of the move.
    stage = build_stage(parse_document(text), grain=COARSE, guarded=False)
    _same(move_body(base, stage, moved), trace_layers(stage, CHEAP, sizes=SIZE))


def test_dragged_fixture_s_own_direct_light_is_exact() -> None:
    """While it is dragged, the own direct light of a fixture is that of a trace from nothing."""
    text = room_text().replace("aim: CRATE", "aim: [2.1 m, 1.8 m, 0.45 m]")
    base = trace_layers(build_stage(parse_document(text), grain=COARSE), CHEAP, sizes=SIZE)
    text = text.replace("at: [3.3 m, 0.7 m, 1.8 m]", "at: [3.3 m, 1.3 m, 1.8 m]")
    stage = build_stage(parse_document(text), grain=COARSE)
    anew = trace_layers(stage, CHEAP, sizes=SIZE)
    dragged = drag_fixture(base, stage, "KEY", view="CAMERA")
    s = anew.names.index("KEY")
    assert dragged.source == s
    assert_array_equal(dragged.probes.direct[s], anew.probes.direct[s])
    # Camera rays still see the body where it was: pixels that show neither place are exact.
    exact = np.all(dragged.direct == anew.views["CAMERA"].direct[s], axis=-1)
    assert exact.mean() >= 0.9
    mean, error = mean_and_error(anew)
    found = (dragged.probes.direct + dragged.probes.bounced)[s].mean(-1)
    # Rows are those of the old place; what the body hid of the bounce is worth a few per cent.
    assert np.all(np.abs(found - mean[s]) <= 4.0 * error[s] + 0.05 * mean[s])


def test_every_layer_field_was_compared() -> None:
    """If the solution grows a field, the comparison above must grow too."""
    from falloff.transport import Solution

    known = {"stage", "budget", "scene", "rows", "direct", "bounced", "radiosity", "hot"}
    assert {field.name for field in fields(Solution)} == known
