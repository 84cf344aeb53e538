"""From the knob to the light and back."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from falloff.errors import FalloffError, GeometryError
from falloff.kit.catalogue import (
    ColourOnDim,
    DimCurve,
    Fixture,
    dimmed,
    find_as,
    format_dim,
    kelvin_at_light,
    knob_share,
    light_share,
)
from falloff.kit.catalogue.dimming import CurveKind, format_light

MEASURED = DimCurve(kind="measured", points=((0.0, 0.0), (0.1, 0.0), (0.5, 0.2), (1.0, 1.0)))
CURVES = [DimCurve(kind="linear"), DimCurve(kind="square-law"), DimCurve(kind="S-curve"), MEASURED]


@pytest.mark.parametrize(
    ("kind", "knob", "light"),
    [
        # pencil; source: practitioner cases, 50 % is -1 stop linear and -2 square-law
        ("linear", 0.5, 0.5),
        ("square-law", 0.5, 0.25),
        ("S-curve", 0.5, 0.5),
        ("S-curve", 0.25, 0.15625),
        ("linear", 0.0, 0.0),
        ("square-law", 1.0, 1.0),
        ("S-curve", 1.0, 1.0),
    ],
)
def test_named_curves(kind: CurveKind, knob: float, light: float) -> None:
    curve = DimCurve(kind=kind)
    assert_allclose(light_share(curve, knob), light, atol=1e-15)
    assert_allclose(knob_share(curve, light), knob, atol=1e-7)


def test_a_measured_curve_is_straight_between_its_points() -> None:
    assert_allclose(light_share(MEASURED, 0.3), 0.1)  # pencil: half way from (0.1, 0) to (0.5, 0.2)
    assert_allclose(light_share(MEASURED, 0.75), 0.6)  # pencil
    assert_allclose(knob_share(MEASURED, 0.1), 0.3)  # pencil
    assert knob_share(MEASURED, 0.0) == 0.0  # the lowest knob that gives it
    assert light_share(MEASURED, 0.1) == 0.0
    assert light_share(MEASURED, 1.0) == 1.0


@given(st.sampled_from(CURVES), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_curves_never_turn_back_and_invert(curve: DimCurve, low: float, high: float) -> None:
    low, high = sorted((low, high))
    assert light_share(curve, low) <= light_share(curve, high) + 1e-12
    assert_allclose(light_share(curve, knob_share(curve, low)), low, atol=1e-7)


@pytest.mark.parametrize(
    ("points", "what"),
    [
        (((0.0, 0.0), (0.5, 0.6), (1.0, 0.4)), "goes from knob 0 to knob 1"),
        (((0.0, 0.0), (0.5, 0.6), (0.8, 0.5), (1.0, 1.0)), "must not go down"),
        (((0.0, 0.0), (0.5, 0.2), (0.5, 0.3), (1.0, 1.0)), "must ascend"),
        (((0.1, 0.0), (1.0, 1.0)), "goes from knob 0 to knob 1"),
        (((0.0, 0.0), (1.0, 1.2)), "go from 0 to 1"),
        (((0.0, 0.0), (0.5, math.nan), (1.0, 1.0)), "go from 0 to 1"),
        (((0.0, 0.0),), "two points or more"),
        ((), "two points or more"),
    ],
)
def test_a_curve_that_cannot_be_is_refused(
    points: tuple[tuple[float, float], ...], what: str
) -> None:
    with pytest.raises(GeometryError, match=what):
        light_share(DimCurve(kind="measured", points=points), 0.5)


@pytest.mark.parametrize("share", [-0.01, 1.01, math.nan])
def test_shares_outside_are_refused(share: float) -> None:
    for ask in (light_share, knob_share):
        with pytest.raises(GeometryError, match="cannot be at"):
            ask(DimCurve(), share)


def test_a_filament_warms_as_it_dims() -> None:
    filament = ColourOnDim(kind="filament")
    # source: check values ELE-9, 110 V on a 120 V lamp: light x 0.745, kelvin x 0.964, 1 %
    assert_allclose(kelvin_at_light(filament, 3200.0, 0.745), 3200.0 * 0.964, rtol=0.01)
    # source: practitioner case C60: dimmed to 6 %, tungsten would be near 2000 K
    assert_allclose(kelvin_at_light(filament, 2700.0, 0.06), 2000.0, atol=150.0)
    # source: practitioner case C13: 1.5 stops, a few hundred kelvin
    assert 200.0 <= 3200.0 - kelvin_at_light(filament, 3200.0, 2**-1.5) <= 500.0
    with pytest.raises(FalloffError):
        kelvin_at_light(filament, 3200.0, 0.0)


def test_a_warm_dim_bulb_goes_evenly_in_mired() -> None:
    bulb = ColourOnDim(kind="toward", low_kelvin=2000.0, low_light_share=0.1)
    assert kelvin_at_light(bulb, 2700.0, 1.0) == 2700.0
    assert_allclose(kelvin_at_light(bulb, 2700.0, 0.1), 2000.0)
    assert_allclose(kelvin_at_light(bulb, 2700.0, 0.001), 2000.0)
    # pencil: half the stops, mean of 370.37 and 500 mired is 435.19: 2297.9 K
    assert_allclose(kelvin_at_light(bulb, 2700.0, 10**-0.5), 2297.87, atol=0.01)
    assert kelvin_at_light(ColourOnDim(), 5600.0, 0.01) == 5600.0


def test_per_cent_stands_with_its_stops() -> None:
    assert format_dim(0.5, 0.25) == "50 % (-2.0 stops of light)"  # pencil
    assert format_dim(0.5, 0.5) == "50 % (-1.0 stop of light)"
    assert format_dim(0.025, 0.025) == "2.5 % (-5.3 stops of light)"
    assert format_dim(1.0, 1.0) == "100 % (full light)"
    assert format_dim(0.0, 0.0) == "0 % (no light)"
    assert format_light(0.9) == "-0.2 stop of light"


def test_fixtures_dim_by_their_curves() -> None:
    head = dimmed(find_as(Fixture, "650 W tungsten, Fresnel"), 0.5)
    assert_allclose(head.light_stops, -2.0)  # square law, pencil
    assert head.colour_kelvin < 2750.0
    assert head.steady
    assert not dimmed(find_as(Fixture, "800 lm bulb"), 0.05).steady
    assert dimmed(find_as(Fixture, "800 lm bulb"), 0.0).steady
    assert dimmed(find_as(Fixture, "300 W LED"), 0.3).colour_kelvin == 5600.0
    discharge = find_as(Fixture, "1.2 kW daylight head")
    assert not dimmed(discharge, 0.3).steady
    assert dimmed(discharge, 0.5).colour_kelvin > 5600.0
    with pytest.raises(GeometryError, match="does not dim"):
        dimmed(find_as(Fixture, "candle"), 0.5)
    assert dimmed(find_as(Fixture, "candle"), 1.0).light_share == 1.0
