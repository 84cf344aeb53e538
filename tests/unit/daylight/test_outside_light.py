"""Light outside by word, sun and air: finite, in order, without jumps, or refused."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from falloff.daylight import SKY_WORDS, MoonPlace, OutsideLight, SunPlace, outside_light
from falloff.daylight.clear_sky import air_mass
from falloff.daylight.efficacy import between_states, perez_efficacy, sky_clearness
from falloff.daylight.outside_light import _Clear, _level_ratio
from falloff.daylight.refraction import lifted_rad
from falloff.daylight.twilight import moonlight_lux
from falloff.errors import DaylightError
from falloff.spectrum import luminance

ALTITUDES = st.floats(-math.pi / 2, math.pi / 2)
TURBIDITIES = st.floats(1.0, 10.0)
HEIGHTS = st.floats(-400.0, 5000.0)


def sun_at(geometric_rad: float, *, height_m: float = 0.0) -> SunPlace:
    return SunPlace(lifted_rad(geometric_rad, height_m=height_m), geometric_rad, math.pi, 1.0)


def moon_at(altitude_deg: float, phase_deg: float = 0.0) -> MoonPlace:
    up, phase = math.radians(altitude_deg), math.radians(phase_deg)
    return MoonPlace(lifted_rad(up), up, 0.0, phase, 1.0)


def level(light: OutsideLight, sun: SunPlace) -> float:
    """All light on open level ground, lx."""
    return light.sky_horizontal_lux + light.sun_normal_lux * max(0.0, math.sin(sun.altitude_rad))


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(SKY_WORDS), ALTITUDES, TURBIDITIES, HEIGHTS)
def test_all_is_finite_and_none_negative(
    word: str, geometric_rad: float, turbidity: float, height_m: float
) -> None:
    sun = sun_at(geometric_rad, height_m=height_m)
    found = outside_light(word, sun, turbidity=turbidity, height_m=height_m, moon=moon_at(30.0))
    numbers = [
        found.sky_horizontal_lux,
        found.sun_normal_lux,
        *found.sky_rgb,
        *found.sun_rgb,
        found.sky_kelvin,
        found.sun_kelvin,
        found.sun_low,
    ]
    assert all(math.isfinite(one) and one >= 0.0 for one in numbers)
    assert found.sky_horizontal_lux > 0.0
    assert found.sky_horizontal_lux + found.sun_normal_lux < 200_000.0
    assert_allclose([luminance(found.sky_rgb), luminance(found.sun_rgb)], 1.0, rtol=1e-9)
    assert 1000.0 <= found.sky_kelvin <= 25_000.0
    assert 1000.0 <= found.sun_kelvin <= 25_000.0
    assert found.sky_low < 1.0 < found.sky_high
    assert found.sun_low <= 1.0 <= found.sun_high
    assert 1 <= found.kind <= 16


@pytest.mark.parametrize("word", SKY_WORDS)
@pytest.mark.parametrize("turbidity", [1.0, 2.0, 3.0, 6.0, 10.0])
@pytest.mark.parametrize("height_m", [0.0, 3000.0])
def test_the_level_sinks_with_the_sun_and_never_jumps(
    word: str, turbidity: float, height_m: float
) -> None:
    """No more than 0.05 stop in one minute of arc down to 18° under the horizon, and never up."""
    found = []
    for minute in range(-18 * 60, 30 * 60):
        sun = sun_at(math.radians(minute / 60.0), height_m=height_m)
        clear = _Clear(sun, turbidity, height_m, 1.0)
        found.append(clear.level_lux * _level_ratio(word, sun, turbidity, height_m, 1.0))
    steps = np.diff(np.log2(found))
    assert steps.min() > -1e-6
    assert steps.max() < 0.05


@pytest.mark.parametrize("word", SKY_WORDS)
def test_the_level_is_the_sum_of_its_parts(word: str) -> None:
    """What the person gets is what the test above looked at."""
    for altitude_deg in (-15.0, -4.0, 0.0, 3.0, 20.0, 70.0):
        sun = sun_at(math.radians(altitude_deg))
        whole = _Clear(sun, 3.0, 0.0, 1.0).level_lux * _level_ratio(word, sun, 3.0, 0.0, 1.0)
        night = outside_light(word, sun_at(-1.0)).sky_horizontal_lux
        assert_allclose(level(outside_light(word, sun), sun), whole + night, rtol=1e-6, atol=1e-6)


def test_colours_never_jump() -> None:
    """Less than 0.03 in any channel of the sky for one minute of arc."""
    for word in SKY_WORDS:
        rgb = [
            outside_light(word, sun_at(math.radians(minute / 60.0))).sky_rgb
            for minute in range(-8 * 60, 8 * 60, 7)
        ]
        assert np.abs(np.diff(rgb, axis=0)).max() < 7 * 0.03


def test_clouded_twilight_keeps_its_ratio() -> None:
    ratios = []
    for altitude_deg in (3.0, 0.0, -3.0, -6.0, -12.0):
        sun = sun_at(math.radians(altitude_deg))
        cloudy, clear = outside_light("overcast", sun), outside_light("clear", sun)
        ratios.append(level(cloudy, sun) / level(clear, sun))
    assert_allclose(ratios, ratios[0], rtol=1e-6)


def test_sun_and_its_spread_by_word() -> None:
    sun = sun_at(math.radians(50.0))
    clear, thin, broken, overcast = (outside_light(word, sun) for word in SKY_WORDS)
    assert clear.sun_normal_lux > broken.sun_normal_lux > thin.sun_normal_lux > 0.0
    assert overcast.sun_normal_lux == 0.0
    assert broken.sun_low == 0.0
    assert_allclose(broken.sun_high * broken.sun_normal_lux, clear.sun_normal_lux, rtol=0.05)
    assert (clear.kind, overcast.kind) == (12, 16)
    assert outside_light("clear", sun, turbidity=5.0).kind == 13
    assert overcast.sky_low == 0.5
    assert overcast.sky_high == 2.0


@pytest.mark.parametrize("altitude_deg", [15.0, 40.0, 70.0])
def test_a_thin_cloud_brings_down_light_of_the_suns_colour(altitude_deg: float) -> None:
    """Pencil: what its sky has more than the clear one is the disc's, in level as in colour."""
    sun = sun_at(math.radians(altitude_deg))
    clear, thin = (outside_light(word, sun) for word in ("clear", "thin cloud"))
    more_lux = thin.sky_horizontal_lux - clear.sky_horizontal_lux
    blue, white = (np.array(one) for one in (clear.sky_rgb, clear.sun_rgb))
    expected = clear.sky_horizontal_lux * blue + more_lux * white
    assert_allclose(thin.sky_horizontal_lux * np.array(thin.sky_rgb), expected, rtol=1e-3)


def test_no_disc_under_the_horizon() -> None:
    for word in SKY_WORDS:
        assert outside_light(word, sun_at(math.radians(-1.0))).sun_normal_lux == 0.0


def test_the_sun_is_as_strong_as_it_is_near() -> None:
    """From memory: 0.9833 au in January and 1.0167 au in July, 6.9 % in strength."""
    up = sun_at(math.radians(40.0))
    january, july = (
        outside_light("clear", msgspec.structs.replace(up, distance_au=far))
        for far in (0.98331, 1.01673)
    )
    assert_allclose(january.sun_normal_lux / july.sun_normal_lux, 1.069, atol=0.002)


@pytest.mark.parametrize(
    ("changes", "what"),
    [
        ({"word": "sunny"}, "no such word"),
        ({"turbidity": 0.5}, "never that clear"),
        ({"turbidity": math.nan}, "never that clear"),
        ({"sun": SunPlace(2.0, 2.0, 0.0, 1.0)}, "cannot stand there"),
        ({"sun": SunPlace(math.nan, 0.1, 0.0, 1.0)}, "cannot stand there"),
        ({"sun": SunPlace(0.1, 0.1, 0.0, 30.0)}, "cannot stand there"),
    ],
)
def test_impossible_askings_are_refused(changes: dict[str, Any], what: str) -> None:
    asked: dict[str, Any] = {"word": "clear", "sun": sun_at(0.5)} | changes
    with pytest.raises(DaylightError, match=what) as told:
        outside_light(asked.pop("word"), asked.pop("sun"), **asked)
    assert told.value.faults[0].fix


def test_the_moon_by_phase_and_distance() -> None:
    full = moonlight_lux(moon_at(60.0))
    assert moonlight_lux(moon_at(60.0, 90.0)) < 0.12 * full  # from memory: a half moon, a tenth
    assert moonlight_lux(moon_at(60.0, 180.0)) < 0.001 * full
    assert moonlight_lux(moon_at(-5.0)) < 1e-3 * full
    near = moon_at(60.0)
    nearer = msgspec.structs.replace(near, distance_over_mean=0.93)
    assert_allclose(moonlight_lux(nearer) / full, 1.0 / 0.93**2)  # pencil: inverse square


def test_the_moon_lights_the_night() -> None:
    sun = sun_at(math.radians(-30.0))
    dark, lit = (outside_light("clear", sun, moon=moon) for moon in (None, moon_at(50.0)))
    assert_allclose(lit.sky_horizontal_lux - dark.sky_horizontal_lux, moonlight_lux(moon_at(50.0)))
    cloudy = outside_light("overcast", sun, moon=moon_at(50.0))
    assert 0.1 < cloudy.sky_horizontal_lux / lit.sky_horizontal_lux < 0.8


def test_air_mass_at_its_ends() -> None:
    """Kasten and Young (1989): 1 overhead, about 38 at the horizon, and as there below."""
    assert_allclose(air_mass(0.5 * math.pi), 1.0, atol=1e-3)
    assert_allclose(air_mass(0.0), 37.92, atol=0.05)
    assert air_mass(-0.3) == air_mass(0.0)


def test_clearness_of_the_sky() -> None:
    """Pencil: Z = 0 gives (D + I)/D; no sun gives 1 whatever Z."""
    assert_allclose(sky_clearness(100.0, 500.0, zenith_rad=0.0), 6.0)
    assert_allclose(sky_clearness(100.0, 0.0, zenith_rad=1.0), 1.0)
    with pytest.raises(DaylightError, match="no such state"):
        perez_efficacy(9, water_m=0.02, zenith_rad=0.5, delta=0.1)


@given(st.floats(1.0, 30.0))
def test_between_states_lies_between_states(clearness: float) -> None:
    given_air = {"water_m": 0.02, "zenith_rad": 0.8, "delta": 0.12}
    every = np.array([perez_efficacy(state, **given_air) for state in range(1, 9)])
    found = np.array(between_states(clearness, **given_air))
    assert np.all(found >= every.min(0) - 1e-9)
    assert np.all(found <= every.max(0) + 1e-9)
