"""What a sheet says of a fixture."""

from __future__ import annotations

import math

import pytest
from numpy.testing import assert_allclose

from falloff.findings import Weight
from falloff.kit.catalogue import (
    Fixture,
    Flicker,
    KeySettings,
    Lens,
    Modifier,
    Opening,
    covers,
    describe,
    find_as,
    list_items,
    matte_illuminance_lux,
    power_drawn,
)
from falloff.kit.catalogue.near_field import beam_diameter_m
from falloff.kit.catalogue.sheet import IMPERIAL_M, METRIC_M, key_of


def disc(width_m: float) -> Opening:
    return Opening(shape="disc", width_m=width_m, height_m=width_m)


def test_distances_are_those_people_ask_for() -> None:
    assert_allclose(METRIC_M, [1, 2, 3, 5, 8])
    assert_allclose(IMPERIAL_M, [0.9144, 1.8288, 3.048, 4.572, 7.62])  # pencil: 0.3048 m a foot


def test_light_and_beam_at_distances() -> None:
    head = find_as(Fixture, "2 kW tungsten, Fresnel")
    sheet = describe(head)
    flood = sheet.beams[0]
    assert tuple(row.distance_m for row in flood.metric) == METRIC_M
    for row in flood.metric:  # pencil: I / d², 2 d tan 26°, C T² / (ISO t)
        assert_allclose(row.illuminance_lux, flood.beam.axis_cd / row.distance_m**2)
        assert row.beam_diameter_m is not None
        assert_allclose(row.beam_diameter_m, 2 * row.distance_m * math.tan(math.radians(26)))
        key = 250 * 2.8**2 / (800 / 48)
        assert_allclose(row.stops_over_key, math.log2(row.illuminance_lux / key))
        assert_allclose(row.illuminance_footcandles * 10.7639, row.illuminance_lux, rtol=1e-5)
    assert flood.metric[0].near  # nearer than five times 25 cm
    assert not flood.metric[1].near
    assert_allclose(flood.metric[1].angular_size_rad, 2 * math.atan(0.125 / 2))
    assert sheet.provenance == "common practice, from memory"


def test_key_is_that_of_the_meter() -> None:
    # source: check values EXP-11, C = 250, 1/48 s, ISO 800, T 2.8: 10.9 fc
    assert_allclose(key_of(KeySettings()) / 10.7639, 10.9, atol=0.1)


def test_a_panel_is_worked_out_for_its_whole_width() -> None:
    panel = find_as(Fixture, "400 W bi-colour LED panel")
    rows = describe(panel).beams[0].metric
    # far off by inverse square, near by less
    assert rows[0].illuminance_lux < panel.beams[0].axis_cd * 0.92
    assert_allclose(rows[4].illuminance_lux, panel.beams[0].axis_cd / 64, rtol=0.01)


@pytest.mark.parametrize(
    ("distance_m", "expected"), [(1.8, 0.058824), (1.2, 0.123288), (0.75, 0.264706)]
)
def test_a_disc_near(distance_m: float, expected: float) -> None:
    # source: check values SOF-4, E / (π L) of a 0.9 m disc
    axis = math.pi * 0.45**2
    found = matte_illuminance_lux(disc(0.9), axis, distance_m)
    assert_allclose(found / math.pi, expected, atol=1e-6)


@pytest.mark.parametrize(
    ("distance_m", "expected"), [(1.8, 0.073478), (1.2, 0.150963), (0.75, 0.311277)]
)
def test_a_square_near(distance_m: float, expected: float) -> None:
    # source: check values SOF-4, 0.9 x 0.9 m
    square = Opening(shape="rectangle", width_m=0.9, height_m=0.9)
    assert_allclose(matte_illuminance_lux(square, 0.81, distance_m) / math.pi, expected, atol=1e-6)


@pytest.mark.parametrize(
    ("lengths", "expected"),
    [(1, 0.86365), (2, 0.96055), (3, 0.98193), (5, 0.99339), (10, 0.99834)],
)
def test_a_tube_near(lengths: float, expected: float) -> None:
    # source: check values SOF-8, against a point
    tube = Opening(shape="tube", width_m=1.2, height_m=0.04)
    d = 1.2 * lengths
    assert_allclose(matte_illuminance_lux(tube, 100.0, d) / (100.0 / d**2), expected, atol=1e-5)


def test_amps() -> None:
    # source: check values ELE-1
    drawn = {one.voltage_v: one for one in power_drawn(find_as(Fixture, "2 kW tungsten"))}
    assert_allclose(drawn[120.0].current_amps, 16.67, atol=0.01)
    assert_allclose(drawn[230.0].current_amps, 8.70, atol=0.01)
    cold = drawn[120.0].switch_on_amps
    assert cold is not None
    assert cold > 100.0
    assert power_drawn(find_as(Fixture, "candle")) == ()
    # source: practitioner cases, an uncorrected ballast drew 1.7 x its nominal current
    magnetic = find_as(Fixture, "1.2 kW daylight discharge, Fresnel, magnetic ballast")
    nominal = 1200 / 120
    assert_allclose(power_drawn(magnetic)[0].current_amps / nominal, 1.7, atol=0.2)


def test_with_a_modifier_the_sheet_is_of_its_front() -> None:
    head, box = find_as(Fixture, "300 W LED"), find_as(Modifier, "90 cm soft box")
    sheet = describe(head, box)
    assert len(sheet.beams) == 1
    assert sheet.cost is not None
    row = sheet.beams[0].metric[0]
    assert_allclose(row.angular_size_rad, 2 * math.atan(0.45))  # pencil
    # pencil: 28 500 lm x 0.33 / π, through SOF-4's form at 1 m
    corner = 0.45 / math.hypot(1, 0.45) * math.atan(0.45 / math.hypot(1, 0.45))
    luminance = 28_500 * 0.33 / math.pi / 0.81
    assert_allclose(row.illuminance_lux, luminance * 4 * corner, rtol=1e-5)  # the beam is a table
    assert sheet.spread_stops > 0.6  # pencil: √(0.4² + 0.5²) = 0.64


@pytest.mark.parametrize("fixture", list_items("fixture"), ids=lambda one: one.name)
def test_every_fixture_has_a_whole_sheet(fixture: Fixture) -> None:
    sheet = describe(fixture)
    for one in sheet.beams:
        assert len(one.metric) == len(one.imperial) == 5
        levels = [row.illuminance_lux for row in one.metric]
        assert levels == sorted(levels, reverse=True)
        peak = max(candela for _, candela in one.polar_rad_cd)
        assert_allclose(peak, one.beam.axis_cd, rtol=0.01)
    weights = {finding.weight for finding in sheet.findings}
    hot = fixture.family in {"tungsten", "daylight discharge", "flame"}
    assert (Weight.CAUTION in weights) == hot


def test_flicker_is_hinted_at() -> None:
    strip = describe(find_as(Fixture, "addressable LED strip, 14 W a metre, 1 m"))
    assert any("it pulses at 400 a second" in one.says for one in strip.findings)
    quick = find_as(Fixture, "300 W LED").flicker
    assert quick == Flicker(kind="PWM", frequency_hz=20_000.0, dimmed_only=True)
    assert not any("pulses" in one.says for one in describe(find_as(Fixture, "300 W LED")).findings)


def test_a_beam_as_wide_as_the_room_has_no_diameter() -> None:
    assert beam_diameter_m(math.tau, 2.0) is None
    assert beam_diameter_m(math.pi, 2.0) is None
    # source: practitioner cases, 120° at 15 ft is 52 ft, not 32
    wide = beam_diameter_m(math.radians(120), 15.0)
    assert wide is not None
    assert_allclose(wide, 52.0, atol=0.1)


def test_lenses_cover_or_not() -> None:
    # source: check values, 24.89 x 18.66 mm and 36 x 24 mm gates
    prime = find_as(Lens, "50 mm T1.4 prime, super 35")
    assert covers(prime, 0.02489, gate_height_m=0.01866)
    assert covers(prime, 0.036, gate_height_m=0.024) is False
