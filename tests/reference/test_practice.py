"""Questions that people who light small shoots ask, put to a scene or a quick start.

Source: practitioners' cases gathered from public pages and forums; the numbers beside each are the
case's own, or physics by pencil where it says so. Each is held to the tolerance that it states.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.reference.scenes.asked import BLACK_ROOM, BUDGET, LUMINANCE, readings_of, readings_on

from falloff.document import parse_document
from falloff.session.quick.answer import quick_answer
from falloff.session.quick.marks import stop_text
from falloff.session.quick.measure import Figures
from falloff.stage import Stage, build_stage
from falloff.transport import trace, trace_probes

LUX_PER_FOOTCANDLE = 10.7639  # pencil: 1 / 0.3048²
FEET_M = 0.3048


def key_lux_of(figures: Figures) -> float:
    """Illuminance at key, from a face's own and how far over key it was told to be."""
    return float(figures.face_lux / 2.0**figures.face_over_key)


@pytest.mark.parametrize(("stop", "footcandles"), [("T2.8", 11.8), ("T4", 24.0)])
def test_level_for_a_stop(stop: str, footcandles: float) -> None:
    """C01: 25 T²/(ISO t) foot-candles at ISO 800, 24 fps, 180 degrees; ±0.1 stop against its k."""
    answers = {"camera": f"{stop}, ISO 800, 180 deg", "key": "none"}
    figures = quick_answer("window", "metric", answers).figures
    # The case's k is 25 fc = 269 lx; this project's C is 250 lx of ISO 2720, and says so.
    expected = footcandles * LUX_PER_FOOTCANDLE * 250.0 / (25.0 * LUX_PER_FOOTCANDLE)
    assert abs(math.log2(key_lux_of(figures) / expected)) < 0.1


def small_source(distance_m: float, across_deg: float) -> dict[str, float]:
    """A small source before a row 2.4 m wide: readings at both ends, meters facing the camera."""
    angle = math.radians(across_deg)
    x, y = 15.0 + distance_m * math.sin(angle), 15.0 - distance_m * math.cos(angle)
    return readings_of(
        f"""{BLACK_ROOM}
fixtures:
  KEY:
    light: open face
    profile: even
    aperture: 6 cm
    output: 10000 lm
    colour: 5600 K
    at: [{x:.4f} m, {y:.4f} m, 1.2 m]
    aim: [15 m, 15 m, 1.2 m]
profiles:
  even: {{angles: [0 deg, 80 deg], relative: [1, 1]}}
readings:
  near: {{at: [{15.0 + 1.2 * (1 if across_deg > 0 else -1)} m, 15 m, 1.2 m], aim: KEY}}
  far: {{at: [{15.0 - 1.2 * (1 if across_deg > 0 else -1)} m, 15 m, 1.2 m], aim: KEY}}
"""
    )


@pytest.mark.parametrize(
    ("distance_m", "across_deg", "stops"),
    [(3.0, 45.0, 1.5), (5.0, 45.0, 1.0), (10.0, 45.0, 0.5), (3.0, 15.0, 0.5)],
)
def test_one_key_for_a_row_of_seats(distance_m: float, across_deg: float, stops: float) -> None:
    """C09: a row 2.4 m wide under a small source, near against far seat; ±0.1 stop."""
    found = small_source(distance_m, across_deg)
    assert abs(math.log2(found["near"] / found["far"]) - stops) < 0.1


def leaning(light: str, distance_ft: float) -> dict[str, float]:
    """Readings one foot nearer, on the mark and one foot farther from a key on its axis."""
    places = "\n".join(
        f"  {name}: {{at: [15 m, {10.0 + (distance_ft + step) * FEET_M:.4f} m, 1.5 m], aim: KEY}}"
        for name, step in (
            ("nearer", -1.0),
            ("mark", 0.0),
            ("farther", 1.0),
            ("twice", distance_ft),
        )
    )
    return readings_of(
        f"""{BLACK_ROOM}
fixtures:
  KEY:
{light}
    output: 10000 lm
    colour: 5600 K
    at: [15 m, 10 m, 1.5 m]
    aim: [15 m, 20 m, 1.5 m]
profiles:
  even: {{angles: [0 deg, 80 deg], relative: [1, 1]}}
readings:
{places}
"""
    )


SMALL = "    light: open face\n    profile: even\n    aperture: 4 cm"
BOX = "    light: soft box\n    size: [4 ft, 4 ft]\n    depth: 0.5 m"


@pytest.mark.parametrize(
    ("distance_ft", "nearer", "farther"), [(10.0, 0.30, -0.28), (2.0, 2.0, -1.17)]
)
def test_the_actor_leans(distance_ft: float, nearer: float, farther: float) -> None:
    """C12: one foot each way before a small source at 10 ft and at 2 ft, by pencil 2 log2(d/d′)."""
    found = leaning(SMALL, distance_ft)
    assert_allclose(math.log2(found["nearer"] / found["mark"]), nearer, atol=0.03)
    assert_allclose(math.log2(found["farther"] / found["mark"]), farther, atol=0.03)


def test_the_actor_leans_before_a_large_box() -> None:
    """C12: a 4 ft box from 2 ft to 4 ft costs 1.21 stop, not the 2 of a small source."""
    found = leaning(BOX, 2.0)
    assert_allclose(math.log2(found["mark"] / found["twice"]), 1.21, atol=0.05)


def window_at(
    places: dict[str, float], size_m: tuple[float, float], *, wall_m: float = 0.02
) -> dict[str, float]:
    """A window before an even sky of 3000 cd/m², glass of 0.85, read square to it on its axis.

    places: how far from the window (m), whose wall is thin. The ground outside is as bright as the
    sky, as the case's window is bright all over.
    """
    width, height = size_m
    lines = "\n".join(
        f"  {name}: {{at: [15 m, {away - wall_m:.4f} m, 3 m], normal: [0, -1, 0]}}"
        for name, away in places.items()
    )
    return readings_of(
        f"""{BLACK_ROOM.replace("height: 8 m", f"height: 8 m{chr(10)}  wall_thickness: {wall_m} m")}
openings:
  WINDOW:
    wall: 1
    along: {15.0 - 0.5 * width} m
    width: {width} m
    sill: {3.0 - 0.5 * height} m
    height: {height} m
    glass: 0.85
sky: {{type: uniform, zenith: 3000 cd/m2, ground: 1}}
readings:
{lines}
"""
    )


def test_a_window_is_not_inverse_square() -> None:
    """C15: lux on the axis of a 1.5 × 1.2 m window of 3000 cd/m² behind glass of 0.85; ±5 %."""
    found = window_at({"1 m": 1.0, "2 m": 2.0, "4 m": 4.0, "8 m": 8.0}, (1.5, 1.2))
    for name, lux in (("1 m", 2870.0), ("2 m", 996.0), ("4 m", 276.0), ("8 m", 71.0)):
        assert_allclose(found[name], lux, rtol=0.05, err_msg=name)
    steps = [math.log2(found[near] / found[far]) for near, far in
             (("1 m", "2 m"), ("2 m", "4 m"), ("4 m", "8 m"))]  # fmt: skip
    assert_allclose(steps, [1.5, 1.9, 2.0], atol=0.06)  # source: C15, stops a doubling, one decimal


def test_a_window_from_one_foot_to_ten() -> None:
    """C15: 3.8 stops (14 times) from a 5 × 4 ft window, not the 6.6 of inverse square; ±5 %.

    A deep reveal would hide part of the pane from one foot away, so the wall is a thin one.
    """
    places = {"near": 1.0 * FEET_M, "far": 10.0 * FEET_M}
    found = window_at(places, (5.0 * FEET_M, 4.0 * FEET_M))
    assert_allclose(found["near"] / found["far"], 14.0, rtol=0.05)
    assert_allclose(math.log2(found["near"] / found["far"]), 3.8, atol=0.05)


def test_bounce_off_the_ceiling() -> None:
    """C26: 10,000 lm on a ceiling patch of 0.8, 1.2 m above eye level; ±0.5 stop."""
    eye_m = 1.6
    faces = "\n".join(
        f"  {away} m: {{at: [15 m, {15.0 - away} m, {eye_m} m], normal: [0, 1, 0]}}"
        for away in (1.0, 2.0, 3.0)
    )
    found = readings_of(
        BLACK_ROOM.replace("height: 8 m", f"height: {eye_m + 1.2} m")
        .replace("ceiling_surface: black", "ceiling_surface: white")
        .replace(
            "black: {reflectance: 0.0}", "black: {reflectance: 0.0}, white: {reflectance: 0.8}"
        )
        + f"""
fixtures:
  HEAD:
    light: open face
    profile: narrow
    aperture: 4 cm
    output: 10000 lm
    colour: 5600 K
    at: [15.4 m, 15.4 m, 1.9 m]
    aim: [15 m, 15 m, {eye_m + 1.2} m]
profiles:
  narrow: {{angles: [0 deg, 6 deg], relative: [1, 1]}}
readings:
{faces}
  the table below: {{at: [15 m, 15 m, {eye_m} m], normal: [0, 0, 1]}}
"""
    )
    for name, lux in (("1.0 m", 510.0), ("2.0 m", 207.0), ("3.0 m", 84.0)):
        assert abs(math.log2(found[name] / lux)) < 0.5, name
    assert abs(math.log2(found["the table below"] / 1770.0)) < 0.5


def pale_room(reflectance: float, black_walls: tuple[int, ...] = ()) -> Stage:
    """A face in a 10 × 12 × 8 ft room with 24 fc of key and 2000 lm of its spill.

    The fill is read on the cheek that looks across the room, a right angle from the key.
    """
    walls = ", ".join(f"{wall}: black" for wall in black_walls)
    wall_surfaces = f"\n  wall_surfaces: {{{walls}}}" if walls else ""
    text = f"""falloff: 2
title: Pale room
units: imperial
room:
  floor: [[0 ft, 0 ft], [10 ft, 0 ft], [10 ft, 12 ft], [0 ft, 12 ft]]
  height: 8 ft
  floor_surface: pale
  ceiling_surface: pale
  wall_surface: pale{wall_surfaces}
materials: {{pale: {{reflectance: {reflectance}}}, black: {{reflectance: 0.03}}}}
fixtures:
  KEY:
    # A matte face of 2000 lm is 637 cd on its axis: 258 lx (24 fc) 1.57 m away.
    light: panel
    size: [8 cm, 8 cm]
    output: 2000 lm
    colour: 5600 K
    at: [5 ft, 3.6 ft, 5 ft]
    aim: [5 ft, 7.6 ft, 5 ft]
readings:
  key: {{at: [5 ft, 8.75 ft, 5 ft], aim: KEY}}
  fill: {{at: [5 ft, 8.75 ft, 5 ft], normal: [1, 0, 0]}}
"""
    return build_stage(parse_document(text))


@pytest.mark.parametrize(
    ("reflectance", "fill_lux", "ratio"),
    [(0.1, 4.04, 65.0), (0.5, 36.4, 8.0), (0.7, 85.0, 4.0), (0.8, 145.0, 2.8)],
)
def test_mean_bounce_of_a_pale_room(reflectance: float, fill_lux: float, ratio: float) -> None:
    """C43: the mean bounce is Φρ/(A(1−ρ)), A = 55 m², and (K+F):F with 24 fc of key follows.

    The case gives 85 and 145 lx; at 0.1 and 0.5 its formula by pencil. Its sum knows of no place
    in the room, so it is the mean over all walls that it tells: to 1 %, and 3 % for ratios, of
    which it rounds 4.04 to 4. On one cheek the light differs, see below.
    """
    solution = trace(pale_room(reflectance), BUDGET)
    surfaces = solution.stage.surfaces
    room = slice(*solution.stage.bodies["room"].elements)
    area = surfaces.element_area_m2[room].astype(np.float64)
    assert_allclose(area.sum(), 55.0, rtol=1e-3)  # source: C43
    bounce = (LUMINANCE @ solution.bounced[0])[surfaces.element_patch][room]
    fill = float(bounce @ area) / area.sum()
    assert_allclose(fill, fill_lux, rtol=0.01)
    key = trace_probes(solution, solution.stage.probes).mean()[0][0, 0] @ LUMINANCE
    assert_allclose(key, 24.0 * LUX_PER_FOOTCANDLE, rtol=0.002)
    assert_allclose((key + fill) / fill, ratio, rtol=0.03)


def cheek_ratio(reflectance: float, black_walls: tuple[int, ...] = ()) -> float:
    """(Key and fill) to fill on the cheek."""
    found = readings_on(pale_room(reflectance, black_walls))
    assert found["key"] > 24.0 * LUX_PER_FOOTCANDLE  # the key by pencil, and the room on top of it
    return (24.0 * LUX_PER_FOOTCANDLE + found["fill"]) / found["fill"]


@pytest.mark.parametrize(("reflectance", "ratio"), [(0.7, 4.0), (0.8, 2.8), (0.5, 8.0)])
def test_white_walls_eat_the_contrast(reflectance: float, ratio: float) -> None:
    """C43: (K+F):F in a pale room with 24 fc of key and 2000 lm of spill; ±0.4 stop.

    Not at 0.1: there the case's 65:1 is of the mean bounce, 4.0 lx. The key lights the far half of
    the room, which this cheek faces, so 5.8 lx come back to it, and the half of the lamp's face
    that stands out past the cheek grazes it with 1.6 lx more: 36:1. The paler the room, the less
    either counts (at 0.7, 102 lx of bounce for 85).
    """
    assert abs(math.log2(cheek_ratio(reflectance) / ratio)) < 0.4


def test_black_on_the_walls_gives_it_back() -> None:
    """C43: one wall (8 × 12 ft) black gives 5.8:1 in a room of 0.7, two give 8.4:1; ±0.4 stop."""
    assert abs(math.log2(cheek_ratio(0.7, (2,)) / 5.8)) < 0.4
    assert abs(math.log2(cheek_ratio(0.7, (2, 4)) / 8.4)) < 0.4


def test_stop_text_is_what_stands_on_a_lens() -> None:
    """Full stops of ISO 517 and thirds between them (common practice, no source)."""
    assert [stop_text(n) for n in (1.0, 1.4, 2.8, 3.2, 4.0, 5.66, 22.6)] == [
        "T1", "T1.4", "T2.8", "T2.8⅓", "T4", "T5.6", "T22"
    ]  # fmt: skip
