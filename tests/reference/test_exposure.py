"""Exposure against ISO 2720:1974 and rules of the trade.

Works: ISO 2720:1974 (C = 250 lx s, K = 12.5 cd s/m2), ISO 12232 (sensor exposure). Values are
closed forms, *pencil*, worked from those equations; nominal stops (2.8 is 2.8). Tolerances are
those of the rounding of the values, unless a test says otherwise.
"""

from __future__ import annotations

import math

import pytest
from numpy.testing import assert_allclose

from falloff import camera
from falloff.camera import CameraSettings
from falloff.constants import LUX_PER_FOOTCANDLE

SHUTTER_S = 1 / 48


def test_exposure_value() -> None:
    """pencil: log2(2.8²·48) = 8.5558; log2(800/100) = 3 less at ISO 100."""
    settings = CameraSettings(2.8, 800, SHUTTER_S)
    assert_allclose(camera.exposure_value(settings), 8.5558, atol=1e-4)
    assert_allclose(camera.exposure_value_100(settings), 5.5558, atol=1e-4)


def test_filters_ask_for_more_light() -> None:
    """pencil: three stops of filter are three more of exposure value at ISO 100."""
    settings = CameraSettings(2.8, 800, SHUTTER_S, nd_stops=2.0, filter_stops=1.0)
    assert_allclose(camera.exposure_value_100(settings), 8.5558, atol=1e-4)


@pytest.mark.parametrize(
    ("exposure_value_100", "illuminance_lux"),
    [(0, 2.5), (5, 80), (8, 640), (10, 2560), (12, 10240), (15, 81920)],
)
def test_illuminance_of_exposure_value(exposure_value_100: float, illuminance_lux: float) -> None:
    """pencil: E = 2.5·2^EV (ISO 2720, C = 250)."""
    found = camera.illuminance_of_exposure_value_lux(exposure_value_100)
    assert_allclose(found, illuminance_lux, rtol=1e-12)
    assert_allclose(
        camera.exposure_value_of_illuminance(illuminance_lux), exposure_value_100, atol=1e-12
    )


@pytest.mark.parametrize(
    ("exposure_value_100", "luminance_nit"), [(0, 0.125), (5, 4), (10, 128), (15, 4096)]
)
def test_luminance_of_exposure_value(exposure_value_100: float, luminance_nit: float) -> None:
    """pencil: L = 0.125·2^EV (ISO 2720, K = 12.5)."""
    found = camera.luminance_of_exposure_value_nit(exposure_value_100)
    assert_allclose(found, luminance_nit, rtol=1e-12)


def test_exposure_value_of_a_thousand_lux() -> None:
    """pencil: log2(1000/2.5) and log2(1000/3.3)."""
    assert_allclose(camera.exposure_value_of_illuminance(1000), 8.6439, atol=1e-4)
    found = camera.exposure_value_of_illuminance(1000, meter_constant_c=330)
    assert_allclose(found, 8.2433, atol=1e-4)


@pytest.mark.parametrize(
    ("meter_constant_c", "difference_stops"), [(330, 0.4005), (25 * LUX_PER_FOOTCANDLE, 0.1062)]
)
def test_the_constant_is_worth_stops(meter_constant_c: float, difference_stops: float) -> None:
    """pencil: log2(C/250); the rule of thumb's 25 foot-candles are C = 269.1."""
    usual = CameraSettings(2.8, 800, SHUTTER_S)
    other = CameraSettings(2.8, 800, SHUTTER_S, meter_constant_c=meter_constant_c)
    found = camera.stops_over_key(camera.key_illuminance_lux(other), usual)
    assert_allclose(found, difference_stops, atol=1e-4)


@pytest.mark.parametrize(
    ("meter_constant_k", "meter_constant_c", "grey"),
    [(12.5, 250, 0.1571), (14, 250, 0.1759), (12.5, 330, 0.1190)],
)
def test_the_grey_of_a_spot_meter(
    meter_constant_k: float, meter_constant_c: float, grey: float
) -> None:
    """pencil: the reflectance at which spot and incident readings agree is πK/C."""
    settings = CameraSettings(4, 400, SHUTTER_S, meter_constant_c=meter_constant_c)
    spot_nit = camera.spot_luminance_nit(settings, meter_constant_k=meter_constant_k)
    assert_allclose(math.pi * spot_nit / camera.key_illuminance_lux(settings), grey, atol=1e-4)


def test_a_spot_meter_reads_the_card_over() -> None:
    """pencil: log2(0.18/0.15708) with K = 12.5 and C = 250."""
    settings = CameraSettings(4, 400, SHUTTER_S)
    over = camera.mid_grey_luminance_nit(settings) / camera.spot_luminance_nit(settings)
    assert_allclose(math.log2(over), 0.1965, atol=1e-4)


def test_bright_sun() -> None:
    """pencil: f/16 at 1/100 s and ISO 100 is EV 14.644; 64,000 lx by C 250, 84,480 by C 330."""
    settings = CameraSettings(16, 100, 1 / 100)
    assert_allclose(camera.exposure_value(settings), 14.644, atol=5e-4)
    assert_allclose(camera.key_illuminance_lux(settings), 64_000, rtol=1e-12)
    dome = CameraSettings(16, 100, 1 / 100, meter_constant_c=330)
    assert_allclose(camera.key_illuminance_lux(dome), 84_480, rtol=1e-12)


@pytest.mark.parametrize(
    ("t_number", "iso", "exposure_time_s", "illuminance_footcandles"),
    [(4, 800, 1 / 50, 25.0), (4, 800, 1 / 48, 24.0), (2.8, 100, 1 / 50, 98.0)],
)
def test_the_rule_of_thumb_in_footcandles(
    t_number: float, iso: float, exposure_time_s: float, illuminance_footcandles: float
) -> None:
    """source: common rule fc = 25·T²/(ISO·t), which is C = 25 foot-candle seconds."""
    settings = CameraSettings(
        t_number, iso, exposure_time_s, meter_constant_c=25 * LUX_PER_FOOTCANDLE
    )
    found = camera.key_illuminance_lux(settings) / LUX_PER_FOOTCANDLE
    assert_allclose(found, illuminance_footcandles, rtol=1e-9)


def test_the_same_by_the_standard() -> None:
    """pencil: 250·2.8²·48/100 lx."""
    key_lux = camera.key_illuminance_lux(CameraSettings(2.8, 100, SHUTTER_S))
    assert_allclose(key_lux, 940.8, rtol=1e-12)
    assert_allclose(key_lux / LUX_PER_FOOTCANDLE, 87.40, atol=0.005)


@pytest.mark.parametrize(
    ("t_number", "illuminance_footcandles"),
    [(1.4, 2.7), (2, 5.6), (2.8, 10.9), (4, 22.3), (5.6, 43.7), (8, 89.2)],
)
def test_key_at_iso_800(t_number: float, illuminance_footcandles: float) -> None:
    """pencil: 250·T²·48/800 lx in foot-candles, to a tenth."""
    key_lux = camera.key_illuminance_lux(CameraSettings(t_number, 800, SHUTTER_S))
    assert_allclose(key_lux / LUX_PER_FOOTCANDLE, illuminance_footcandles, atol=0.1)


def test_sensor_exposure() -> None:
    """pencil: π·100/(4·2.8²) = 10.018 lx, times 1/48 s."""
    settings = CameraSettings(2.8, 800, SHUTTER_S)
    # 10.01785, which the published three decimals round.
    assert_allclose(camera.sensor_illuminance_lux(100, settings), 10.018, atol=5e-4)
    assert_allclose(camera.sensor_exposure_lxs(100, settings), 0.20870, atol=1e-4)
    filtered = CameraSettings(2.8, 800, SHUTTER_S, nd_stops=3.0)
    assert_allclose(camera.sensor_exposure_lxs(100, filtered), 0.20870 / 8, atol=1e-5)


def test_contrast_in_stops() -> None:
    """pencil: key 300 lx and fill 100 lx; key side over fill side 4:1 is two stops."""
    settings = CameraSettings(4, 800, SHUTTER_S)
    lit_side = camera.stops_over_key(400.0, settings)
    fill_side = camera.stops_over_key(100.0, settings)
    assert_allclose(lit_side - fill_side, 2.0, atol=1e-12)


@pytest.mark.parametrize(
    ("reflectance", "over_stops"), [(0.90, 2.3219), (1.00, 2.4739), (0.035, -2.3626), (0.18, 0.0)]
)
def test_cards_under_key(reflectance: float, over_stops: float) -> None:
    """pencil: log2(reflectance/0.18) over middle grey for a matte card under key."""
    settings = CameraSettings(5.6, 400, SHUTTER_S)
    luminance_nit = reflectance * camera.key_illuminance_lux(settings) / math.pi
    assert_allclose(camera.stops_over_grey(luminance_nit, settings), over_stops, atol=1e-4)


def test_white_and_grey_under_ten_thousand_lux() -> None:
    """pencil: 0.18·10,240/π = 586.7 cd/m2; the stop for it is f/16 less 2.6."""
    settings = CameraSettings(math.sqrt(10_240 * 100 / (250 * 48)), 100, SHUTTER_S)
    assert_allclose(camera.mid_grey_luminance_nit(settings), 586.7, atol=0.1)
