"""Colour temperature and Duv: there and back, signs, limits; shifts on both axes; rendering."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff import spectrum
from falloff.errors import FalloffError


def known(found: spectrum.ColourTemperature) -> float:
    """The kelvin, where there must be one."""
    assert found.cct_kelvin is not None
    return float(found.cct_kelvin)


def test_there_and_back() -> None:
    """pencil: each is the other's inverse, over the whole valid range."""
    chance = np.random.default_rng(7)
    tried = 0
    while tried < 200:
        mired, duv = chance.uniform(40.5, 999.0), chance.uniform(-0.0499, 0.0499)
        try:
            xy = spectrum.xy_of_cct_duv(1e6 / mired, duv)
        except FalloffError:
            continue  # beyond the spectrum's own edge: no light has that colour
        tried += 1
        found = spectrum.cct_duv(xy)
        assert found.cct_kelvin is not None
        assert_allclose(1e6 / found.cct_kelvin, mired, atol=1e-6)
        assert_allclose(found.duv, duv, atol=1e-9)


def test_on_the_locus_duv_is_nought() -> None:
    for cct_kelvin in (1000.0, 1900.0, 3200.0, 5600.0, 25000.0):
        found = spectrum.cct_duv(spectrum.xy_of_kelvin(cct_kelvin, locus="planckian"))
        assert_allclose(known(found), cct_kelvin, rtol=1e-6)
        assert_allclose(found.duv, 0.0, atol=1e-9)


def test_green_is_above_and_magenta_below() -> None:
    """pencil: greener means more y at about the same x."""
    x, y = spectrum.xy_of_kelvin(4000, locus="planckian")
    assert spectrum.cct_duv((x, y + 0.01)).duv > 0.003
    assert spectrum.cct_duv((x, y - 0.01)).duv < -0.003


def test_distance_is_the_nearest() -> None:
    """pencil: Duv is never more than the distance to any other point of the locus."""
    uv = spectrum.uv_from_xy((0.40, 0.42))
    found = spectrum.cct_duv((0.40, 0.42))
    every = [
        float(np.hypot(*(spectrum.uv_from_xy(spectrum.xy_of_kelvin(k, locus="planckian")) - uv)))
        for k in np.geomspace(1500.0, 15000.0, 3000)
    ]
    assert_allclose(found.duv, min(every), atol=1e-7)


@pytest.mark.parametrize(
    "xy", [(0.70, 0.29), (0.17, 0.75), (0.15, 0.05), (0.30, 0.55), (0.24, 0.23), (0.66, 0.335)]
)
def test_strong_colours_have_no_temperature(xy: tuple[float, float]) -> None:
    found = spectrum.cct_duv(xy)
    assert found.cct_kelvin is None
    assert math.isfinite(found.duv)


@pytest.mark.parametrize(
    ("cct_kelvin", "duv"), [(900.0, 0.0), (26000.0, 0.0), (4000.0, 0.06), (float("nan"), 0.0)]
)
def test_outside_the_range(cct_kelvin: float, duv: float) -> None:
    with pytest.raises(FalloffError, match=r"1000 K to 25000 K, Duv -0\.05 to 0\.05"):
        spectrum.xy_of_cct_duv(cct_kelvin, duv)


# pencil: 10⁶/T2 − 10⁶/T1.
@pytest.mark.parametrize(
    ("before", "after", "expected"),
    [
        (5500, 3200, 130.68),
        (5600, 3200, 133.93),
        (6500, 3200, 158.65),
        (3200, 4300, -79.94),
        (5600, 4300, 53.99),
    ],
)
def test_mired_between(before: float, after: float, expected: float) -> None:
    start, end = spectrum.light_of_kelvin(before), spectrum.light_of_kelvin(after)
    assert_allclose(spectrum.colour_shift(start, end).shift_mired, expected, atol=0.01)


# pencil: 10⁶/(10⁶/T + shift); the same shift is another jump in kelvin from another start.
@pytest.mark.parametrize(
    ("before", "shift_mired", "after"),
    [(5600, 131, 3230), (3200, -131, 5510), (5600, 159, 2962), (5600, 64, 4123), (6500, 131, 3511)],
)
def test_shift_applied(before: float, shift_mired: float, after: float) -> None:
    assert_allclose(spectrum.shifted_kelvin(before, shift_mired), after, atol=1.0)


def test_shift_past_the_end() -> None:
    with pytest.raises(FalloffError, match="no colour temperature is left"):
        spectrum.shifted_kelvin(10000, -134)


def test_shift_is_turned_round_by_turning_round() -> None:
    """pencil: what is +a one way is −a the other."""
    warm, cool = spectrum.light_of_kelvin(3000, 0.004), spectrum.light_of_kelvin(5000, -0.002)
    there, back = spectrum.colour_shift(warm, cool), spectrum.colour_shift(cool, warm)
    for one in ("shift_mired", "shift_duv", "green_share", "green_cc"):
        assert_allclose(getattr(there, one), -getattr(back, one), rtol=1e-12)
    assert_allclose(there.shift_duv, -0.006, atol=1e-12)
    assert_allclose(there.green_cc, 30.0 * there.green_share, rtol=1e-12)


def test_balance_takes_its_own_light_as_neutral() -> None:
    for balance_kelvin in (2700.0, 4300.0, 5600.0):
        light = spectrum.light_of_kelvin(balance_kelvin)
        found = spectrum.distance_from_balance(light, balance_kelvin)
        assert_allclose((found.shift_mired, found.shift_duv), (0.0, 0.0), atol=1e-9)
    tinted = spectrum.distance_from_balance(light, 5600.0, tint_duv=0.01)
    assert_allclose(tinted.shift_duv, -0.01, atol=1e-12)


def test_strong_colours_are_not_compared() -> None:
    with pytest.raises(FalloffError, match="too strongly coloured"):
        spectrum.colour_shift(spectrum.light_of_kelvin(5600), spectrum.light_of_xy((0.15, 0.05)))


def test_lights_say_how_they_are_known() -> None:
    assert spectrum.light_of_kelvin(3200).known_by == "kelvin"
    assert spectrum.light_of_xy((0.3127, 0.3290)).known_by == "xy"
    known = spectrum.light_of_spectrum(spectrum.planckian(3200))
    assert known.known_by == "spectrum"
    assert known.spectrum is not None
    assert spectrum.light_of_kelvin(3200).spectrum is None
    assert not known.xy.flags.writeable


def test_assumed_spectrum_has_the_light_s_colour() -> None:
    for light in (spectrum.light_of_kelvin(4300, 0.01), spectrum.light_of_xy((0.36, 0.35))):
        assumed = spectrum.assumed_spectrum(light)
        assert_allclose(spectrum.xy_of_spectrum(assumed), light.xy, atol=1e-8)
        assert "assumed" in assumed.source


def test_a_full_green_gel_in_duv() -> None:
    """pencil: density 0.30 in a band of 100 nm at 545 nm, or outside it; mean of the two.

    0.030 on D55 and 0.0193 on A as written beside the figures; a unit of the last place.
    """
    band = np.exp(-4.0 * np.log(2.0) * ((spectrum.GRID_NM - 545.0) / 100.0) ** 2)
    for name, mired in (("D55", 181.8), ("A", 350.2)):
        light = spectrum.illuminant(name)
        plus = spectrum.cct_duv(spectrum.through(light, 10.0 ** (-0.3 * (1.0 - band)))).duv
        minus = spectrum.cct_duv(spectrum.through(light, 10.0 ** (-0.3 * band))).duv
        assert_allclose(spectrum.full_green_duv(mired), 0.5 * (plus - minus), atol=4e-4)


def test_rendering_is_unknown_without_a_spectrum() -> None:
    assert spectrum.colour_rendering(spectrum.light_of_kelvin(3200).spectrum) is None
    line = np.zeros(471)
    line[632 - 360] = 1.0
    assert spectrum.colour_rendering(spectrum.Spectrum(line)) is None  # no colour temperature


def test_references_render_themselves() -> None:
    """pencil: a light that is its own reference has 100 in all fourteen."""
    for light in (spectrum.planckian(3200), spectrum.daylight_phase(6000)):
        found = spectrum.colour_rendering(light)
        assert found is not None
        assert_allclose(found.special, np.full(14, 100.0), atol=0.2)
        assert not found.doubtful


def test_rendering_far_from_the_locus_is_doubtful() -> None:
    """source: CIE 13.3-1995: over 5.4e-3 from its reference the index is in doubt."""
    found = spectrum.colour_rendering(spectrum.white_led(4000, 0.01))
    assert found is not None
    assert found.doubtful
