"""Colour of sun and sky outside, against a second spectral model and what crews read.

Works: Bird and Riordan (1986) as pvlib 0.16 (BSD-3-Clause) has it, with its table of the sun
outside the air, water and oxygen; colours of it by colour-science 0.4 (BSD-3-Clause); practice, by
the project's case C49. Tolerance on u′, v′ 0.004, about the least that is seen: our sun outside
the air is a black body (0.001 from the true one), our ozone is from memory, water is left out.
Third, the tabled sunlight of ASTM G173-03, which pvlib ships.
"""

from __future__ import annotations

import math
import warnings
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.daylight import SunPlace, outside_light
from falloff.daylight.clear_sky import air_mass
from falloff.daylight.refraction import lifted_rad
from falloff.daylight.sky_spectra import (
    SUN_KELVIN,
    _haze_depth,
    clear_sky_spectrum,
    night_spectrum,
    sun_spectrum,
)
from falloff.spectrum import (
    GRID_NM,
    cct_duv,
    spectrum_from_points,
    uv_1976_from_xy,
    xy_of_spectrum,
)


def sun_at(geometric_deg: float) -> SunPlace:
    up = math.radians(geometric_deg)
    return SunPlace(lifted_rad(up), up, math.pi, 1.0)


@pytest.fixture(scope="module")
def witness() -> Any:
    """A function from altitude and turbidity to the witness's wavelengths, sun and sky."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        pvlib = pytest.importorskip("pvlib", reason="the second witness is not installed")

    def spectra(altitude_deg: float, turbidity: float) -> tuple[Any, Any, Any]:
        depth_500 = _haze_depth(turbidity) * (500.0 / 550.0) ** -1.3
        told = pvlib.spectrum.spectrl2(
            apparent_zenith=np.array([90.0 - altitude_deg]),
            aoi=np.array([0.0]),
            surface_tilt=np.array([0.0]),
            ground_albedo=0.2,
            surface_pressure=101325.0,
            relative_airmass=np.array([air_mass(math.radians(altitude_deg))]),
            precipitable_water=2.0,
            ozone=0.30,
            aerosol_turbidity_500nm=depth_500,
            dayofyear=np.array([94]),
            alpha=1.3,
        )
        return told["wavelength"], told["dni"][:, 0], told["dhi"][:, 0]

    return spectra


@pytest.mark.parametrize("turbidity", [2.5, 3.0, 5.0])
@pytest.mark.parametrize("altitude_deg", [10.0, 20.0, 40.0, 70.0])
def test_sun_and_sky(witness: Any, altitude_deg: float, turbidity: float) -> None:
    wave, direct, diffuse = witness(altitude_deg, turbidity)
    up = math.radians(altitude_deg)
    sun = sun_spectrum(up, turbidity=turbidity, height_m=0.0)
    sky = clear_sky_spectrum(up, up, turbidity=turbidity, height_m=0.0)
    for found, other in ((sun, direct), (sky, diffuse)):
        told = spectrum_from_points(wave, np.nan_to_num(other))
        places = [uv_1976_from_xy(xy_of_spectrum(one)) for one in (found, told)]
        assert np.hypot(*(places[0] - places[1])) < 0.004


def test_colour_temperature_by_a_second_library(witness: Any) -> None:
    """The witness's spectrum of a sun at 40° in colour-science's own hands, ±150 K of ours."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    wave, direct, _ = witness(40.0, 3.0)
    grid = np.arange(380.0, 781.0, 5.0)
    power = np.interp(grid, wave, direct)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        sd = colour.SpectralDistribution(dict(zip(grid, power, strict=True)))
        other = colour.uv_to_CCT(
            colour.UCS_to_uv(colour.XYZ_to_UCS(colour.sd_to_XYZ(sd, method="Integration")))
        )[0]
    found = outside_light("clear", SunPlace(math.radians(40.0), math.radians(40.0), 0.0, 1.0))
    assert_allclose(found.sun_kelvin, other, atol=150.0)


def test_standard_sunlight() -> None:
    """ASTM G173-03: the sun outside the air, and direct at air mass 1.5; 8 mired.

    Its haze is 0.084 deep at 500 nm; its ozone of 0.34 atm·cm and the bright ring round the sun,
    which it counts in, make it bluer than ours, as much as a just visible step.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        pvlib = pytest.importorskip("pvlib", reason="the second witness is not installed")
    table = pvlib.spectrum.get_reference_spectra(standard="ASTM G173-03")
    told = {
        name: cct_duv(spectrum_from_points(table.index.to_numpy(), table[name].to_numpy()))
        for name in table.columns
    }
    assert_allclose(SUN_KELVIN, float(told["extraterrestrial"].cct_kelvin or 0.0), atol=10.0)
    up = math.asin(1.0 / 1.5)
    hazy = 3.05  # the turbidity of that haze by our own conversion
    assert_allclose(_haze_depth(hazy), 0.084 * (550.0 / 500.0) ** -1.3, rtol=0.02)
    found = outside_light("clear", SunPlace(up, up, 0.0, 1.0), turbidity=hazy)
    theirs = float(told["direct"].cct_kelvin or 0.0)
    assert_allclose(1e6 / found.sun_kelvin, 1e6 / theirs, atol=8.0)


def test_sun_through_the_day() -> None:
    """From memory: noon sun 5000 to 5600 K, an hour before sunset 3300 to 4200, setting under 2500.

    Outside the air it is 5930 K, and air can only take from the blue.
    """
    kelvin = [outside_light("clear", sun_at(h)).sun_kelvin for h in (60.0, 40.0, 10.0, 2.0, 0.5)]
    assert 5000.0 < kelvin[0] < 5600.0
    assert 4800.0 < kelvin[1] < 5500.0
    assert 3300.0 < kelvin[2] < 4200.0
    assert kelvin[3] < 2500.0
    assert kelvin == sorted(kelvin, reverse=True)


def test_sky_through_the_day() -> None:
    """From memory: blue sky 9000 to 20 000 K, overcast 6000 to 7500 K, haze whitens."""
    blue = outside_light("clear", sun_at(50.0))
    assert 9000.0 < blue.sky_kelvin < 20_000.0
    assert 6000.0 < outside_light("overcast", sun_at(50.0)).sky_kelvin < 7500.0
    assert outside_light("clear", sun_at(50.0), turbidity=7.0).sky_kelvin < 0.8 * blue.sky_kelvin
    thin, broken = (outside_light(word, sun_at(50.0)) for word in ("thin cloud", "broken cloud"))
    assert 5500.0 < thin.sky_kelvin < blue.sky_kelvin
    assert 6000.0 < broken.sky_kelvin < blue.sky_kelvin


@pytest.mark.parametrize("altitude_deg", [30.0, 45.0, 60.0])
def test_cloud_is_bluer_than_sun(altitude_deg: float) -> None:
    """C49: 30 to 60 mired from sun to overcast; the sun as the face that looks at it gets it."""
    sun = outside_light("clear", sun_at(altitude_deg)).sun_kelvin
    cloud = outside_light("overcast", sun_at(altitude_deg)).sky_kelvin
    assert 30.0 < 1e6 / sun - 1e6 / cloud < 60.0


def test_blue_hour() -> None:
    """From memory: 10 000 K and more when the sun is 4 to 8° down; bluer than at sunset."""
    at_set = outside_light("clear", sun_at(-0.833)).sky_kelvin
    for altitude_deg in (-4.0, -6.0, -8.0):
        found = outside_light("clear", sun_at(altitude_deg)).sky_kelvin
        assert 10_000.0 < found <= 25_000.0
        assert found > at_set


def test_ozone_makes_the_blue_of_twilight() -> None:
    """From memory (Hulburt, 1953): without ozone the sky of dusk would be pale; so here."""
    deep = clear_sky_spectrum(0.0, math.radians(-6.0), turbidity=3.0, height_m=0.0)
    flat = clear_sky_spectrum(0.0, 0.0, turbidity=3.0, height_m=0.0)
    change = deep.relative / flat.relative
    assert GRID_NM[int(np.argmin(change))] in range(565, 615)  # the band's top lies near 600 nm


def test_night_is_warmer_than_dusk() -> None:
    found = cct_duv(night_spectrum()).cct_kelvin
    assert found is not None
    assert_allclose(float(found), 4500.0, rtol=0.01)  # from memory, see the module
    assert_allclose(outside_light("clear", sun_at(-40.0)).sky_kelvin, 4500.0, rtol=0.05)
