"""Readings from traced layers: levels, parts, conventions and words."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.camera import CameraSettings
from falloff.document import parse_document
from falloff.layers import LightLayers, trace_layers
from falloff.readings import Readings, SetupLight, describe, take_readings
from falloff.readings.softness import angular_size
from falloff.sources import ball, panel, sun, tube
from falloff.stage import build_stage
from falloff.transport import Budget

WHITE = np.ones(3, np.float32)
SETTINGS = CameraSettings(t_number=4.0, iso=400.0, exposure_time_s=1.0 / 48.0)
SCENE = """
falloff: 1
title: Two chairs
units: metric
room:
  floor: [[0 m, 0 m], [4 m, 0 m], [4 m, 4 m], [0 m, 4 m]]
  height: 2.6 m
  floor_surface: oak
  ceiling_surface: white paint
  wall_surface: plaster
subjects:
  HOST: {figure: seated, at: [2 m, 2.4 m], facing: -90 deg, skin: 0.30, hair: dark hair,
         top: grey cotton, trousers: dark denim}
fixtures:
  KEY: {light: soft box, size: [60 cm, 60 cm], depth: 30 cm, output: 4000 lm, colour: 5600 K,
        at: {from: HOST, distance: 1.5 m, clock: 8, height: 1.7 m}, aim: HOST.face}
practicals:
  LAMP: {light: globe, diameter: 10 cm, output: 400 lm, colour: 2700 K, at: [0.5 m, 3.5 m, 1.4 m]}
cameras:
  A: {at: [2 m, 0.3 m, 1.3 m], aim: HOST.face, lens: 35 mm}
setups:
  ONE: {camera: A, stop: T4, iso: 400, shutter: 180 deg}
readings:
  key cheek: {at: HOST.cheek_key}
  shadow cheek: {at: HOST.cheek_shadow}
  face: {at: HOST.face, instrument: dome}
  wall: {at: {wall: 3, along: 2 m, height: 1.5 m}}
  lamp: {at: [0.5 m, 3.5 m, 1.4 m], instrument: spot}
  behind the camera wall: {at: {wall: 1, along: 0.3 m, height: 0.3 m}}
"""


@pytest.fixture(scope="module")
def layers() -> LightLayers:
    return trace_layers(build_stage(parse_document(SCENE)), Budget(), sizes={})


def taken(layers: LightLayers, **dims: float) -> Readings:
    return take_readings(layers, SetupLight("ONE", "A", SETTINGS, dims))


def test_parts_add_up_to_the_reading(layers: LightLayers) -> None:
    for reading in taken(layers, KEY=0.6).readings:
        parts = sum(part.direct + part.bounced for part in reading.parts)
        assert_allclose(parts, reading.value, rtol=1e-9)  # pencil: light is linear
        assert_allclose(sum(part.share for part in reading.parts), 1.0, rtol=1e-9)
        assert_allclose(reading.direct + reading.bounced, reading.value, rtol=1e-9)


def test_halving_every_dim_takes_one_stop_from_every_reading(layers: LightLayers) -> None:
    full, half = taken(layers), taken(layers, KEY=0.5, LAMP=0.5)
    for a, b in zip(full.readings, half.readings, strict=True):
        assert_allclose(math.log2(a.value / b.value), 1.0, atol=1e-9)  # pencil
        assert a.error_stops == pytest.approx(b.error_stops)


def test_a_source_at_nought_gives_nothing(layers: LightLayers) -> None:
    for reading in taken(layers, LAMP=0.0).readings:
        lamp = next(part for part in reading.parts if part.source == "LAMP")
        assert (lamp.direct, lamp.bounced, lamp.share, lamp.stops_over_key) == (0, 0, 0, None)


def test_key_is_iso_2720(layers: LightLayers) -> None:
    readings = taken(layers)
    # source: ISO 2720:1974, E = C N²/(S t) with C = 250: 250 · 16 · 48 / 400
    assert_allclose(readings.key_lux, 480.0, rtol=1e-9)
    assert readings.meter_constant_lux_s == 250.0
    key = readings.readings[0]
    assert key.stops_over_key is not None
    assert_allclose(key.stops_over_key, math.log2(key.value / 480.0), atol=1e-9)


def test_picture_of_skin_stands_beside_its_light(layers: LightLayers) -> None:
    key = taken(layers, LAMP=0.0).readings[0]
    assert key.stops_over_key is not None
    assert key.stops_over_grey is not None
    # pencil: matte skin of 30 % against an 18 % card is log2(0.30/0.18) = 0.737 stop brighter;
    # the light bounced off coloured walls shifts it by a few hundredths.
    assert_allclose(key.stops_over_grey - key.stops_over_key, math.log2(0.30 / 0.18), atol=0.05)


def test_both_ratio_conventions(layers: LightLayers) -> None:
    readings = taken(layers)
    key, shadow = readings.readings[0], readings.readings[1]
    (contrast,) = readings.contrasts
    assert_allclose(contrast.key_and_fill_to_fill, key.value / shadow.value, rtol=1e-12)
    # source: check value EXP-21, (key + fill):fill of 4:1 is key:fill of 3:1
    assert contrast.key_to_fill is not None
    assert_allclose(contrast.key_and_fill_to_fill - contrast.key_to_fill, 1.0, rtol=1e-12)
    assert_allclose(contrast.stops, math.log2(contrast.key_and_fill_to_fill), rtol=1e-12)
    assert contrast.stops > 0.5


def test_a_shadow_side_that_is_the_brighter_has_no_key_to_fill() -> None:
    """A ratio below nought is none: said in words, and nothing stands in its place."""
    text = SCENE.replace(
        "practicals:\n",
        "  SIDE: {light: soft box, size: [60 cm, 60 cm], depth: 30 cm, output: 9000 lm, "
        "colour: 5600 K, at: {from: HOST, distance: 1.5 m, clock: 4, height: 1.7 m}, "
        "aim: HOST.face}\npracticals:\n",
    )
    layers = trace_layers(build_stage(parse_document(text)), Budget(), sizes={})
    readings = taken(layers, KEY=0.1)
    (contrast,) = readings.contrasts
    assert contrast.key_and_fill_to_fill < 1.0
    assert contrast.key_to_fill is None
    said = describe(readings)
    assert "-0" not in said
    assert "the shadow side has more light than the key side, so there is no key to fill" in said


def test_key_side_is_the_side_of_the_first_fixture(layers: LightLayers) -> None:
    key, shadow = taken(layers, LAMP=0.0).readings[:2]
    assert key.direct > 4.0 * shadow.direct
    # 8 o'clock is to the left of a camera at 6, and the person's right is there.
    assert key.position_m[0] < shadow.position_m[0]


def test_a_spot_on_a_globe_reads_its_luminance(layers: LightLayers) -> None:
    spot = next(r for r in taken(layers).readings if r.instrument == "spot")
    # pencil: Φ/(π · 4πr²) = 400/(4π² · 0.05²) = 4052.8 cd/m²
    assert spot.unit == "cd/m²"
    own = next(part for part in spot.parts if part.source == "LAMP")
    assert_allclose(own.direct, 400.0 / (4.0 * math.pi**2 * 0.05**2), rtol=1e-5)
    assert spot.value > own.direct  # the opal also sends back what the room throws on it


def test_bounce_shares_are_of_the_whole_and_ranked(layers: LightLayers) -> None:
    reading = taken(layers).readings[-1]
    shares = list(reading.bounce_from.values())
    assert shares == sorted(shares, reverse=True)
    bounced = reading.bounced / reading.value
    assert sum(shares) <= bounced + 1e-9
    assert sum(shares) >= 0.9 * bounced


def test_errors_shrink_with_rays() -> None:
    stage = build_stage(parse_document(SCENE))
    few = taken(trace_layers(stage, Budget(reading_gather_rays=32), sizes={}))
    many = taken(trace_layers(stage, Budget(reading_gather_rays=2048), sizes={}))
    wall_few, wall_many = few.readings[-1], many.readings[-1]
    assert wall_many.standard_error < wall_few.standard_error
    assert wall_many.error_stops < 0.02


@pytest.mark.parametrize(
    ("distance_m", "degrees"), [(1.8, 28.07), (1.2, 41.11), (0.75, 61.93)]
)  # source: check value SOF-1, 2·atan(w/2d) of 0.9 m
def test_angular_size(distance_m: float, degrees: float) -> None:
    box = panel(
        "BOX",
        np.array([-0.45, distance_m, -0.45]),
        edge_u=np.array([0.9, 0.0, 0.0]),
        edge_v=np.array([0.0, 0.0, 0.9]),
        flux_lm=1000.0,
        colour=WHITE,
    )
    size = angular_size(box, np.zeros(3), "HOST")
    assert_allclose(np.degrees([size.across_rad, size.upward_rad]), degrees, atol=0.01)
    assert_allclose(size.distance_m, distance_m)


def test_angular_size_of_a_ball() -> None:
    globe = ball("G", np.array([0.0, 1.0, 0.0]), radius_m=0.5, flux_lm=1.0, colour=WHITE)
    # pencil: 2·asin(0.5/1) = 60 degrees
    assert_allclose(math.degrees(angular_size(globe, np.zeros(3), "H").across_rad), 60.0)


def test_the_paragraph_names_sides_levels_and_bounce(layers: LightLayers) -> None:
    said = describe(taken(layers))
    assert "HOST's key side is" in said
    assert "key and fill to fill" in said
    assert "key to fill" in said
    assert "lives on bounce" in said
    assert "nan" not in said
    assert "None" not in said


def test_a_dark_scene_is_told_without_numbers_that_do_not_exist(layers: LightLayers) -> None:
    readings = taken(layers, KEY=0.0, LAMP=0.0)
    assert all(reading.value == 0.0 for reading in readings.readings)
    assert readings.contrasts == ()
    assert "gets no light" in describe(readings)


def test_angular_size_of_a_tube_and_of_the_sun() -> None:
    strip = tube(
        "T",
        np.array([0.0, 2.0, 0.0]),
        axis=np.array([1.0, 0.0, 0.0]),
        length_m=1.2,
        radius_m=0.02,
        flux_lm=100.0,
        colour=WHITE,
    )
    size = angular_size(strip, np.zeros(3), "HOST")
    assert_allclose(size.across_rad, 2.0 * math.atan(0.3))  # pencil: 2·atan(w/2d)
    assert_allclose(size.upward_rad, 2.0 * math.atan(0.01))  # pencil
    disc = sun("SUN", toward_sun=np.array([0.0, 0.0, 1.0]), normal_lux=1.0, colour=WHITE)
    seen = angular_size(disc, np.zeros(3), "HOST")
    assert_allclose(math.degrees(seen.across_rad), 0.5332)  # source: SOF-10's 2 · 0.2666°
    assert seen.distance_m == 149_597_870_700.0  # source: IAU 2012, the astronomical unit
