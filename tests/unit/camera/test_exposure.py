"""Exposure: arrays, darkness, refusals and sentences; the numbers are in tests/reference."""

from __future__ import annotations

import math

import msgspec
import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff import camera
from falloff.camera import CameraSettings
from falloff.errors import FalloffError

SETTINGS = CameraSettings(2.8, 800, 1 / 48)


def test_filters_raise_key() -> None:
    """pencil: three stops are eight times the light."""
    filtered = CameraSettings(2.8, 800, 1 / 48, nd_stops=2.0, filter_stops=1.0)
    bare_lux, filtered_lux = map(camera.key_illuminance_lux, (SETTINGS, filtered))
    assert_allclose(filtered_lux, 8.0 * bare_lux, rtol=1e-12)
    assert_allclose(camera.stops_over_key(bare_lux, filtered), -3.0, atol=1e-12)


def test_arrays_keep_shape_and_kind() -> None:
    """pencil: doubling is a stop."""
    key_lux = camera.key_illuminance_lux(SETTINGS)
    stops = camera.stops_over_key(np.array([[1.0, 2.0, 0.25]]) * key_lux, SETTINGS)
    assert_allclose(stops, [[0.0, 1.0, -2.0]], atol=1e-12)
    single = camera.stops_over_grey(np.ones((2, 2), dtype=np.float32), SETTINGS)
    assert single.dtype == np.float32
    # pencil: whole numbers are no different from the same in floating point.
    whole = camera.stops_over_key(np.array([1, 2]), SETTINGS)
    assert_allclose(whole, camera.stops_over_key(np.array([1.0, 2.0]), SETTINGS), rtol=1e-12)


def test_no_light_is_minus_infinity() -> None:
    """pencil: the logarithm of nought."""
    assert camera.stops_over_key(0.0, SETTINGS) == -math.inf
    assert camera.stops_over_grey(np.zeros(2), SETTINGS).tolist() == [-math.inf, -math.inf]


@pytest.mark.parametrize("light", [-1.0, math.nan])
def test_impossible_light(light: float) -> None:
    """Negative light and no number at all are refused, alone or in an array."""
    with pytest.raises(FalloffError, match="illuminance cannot be negative"):
        camera.stops_over_key(light, SETTINGS)
    with pytest.raises(FalloffError, match="luminance cannot be negative"):
        camera.stops_over_grey(np.array([1.0, light]), SETTINGS)


def test_darkness_has_no_exposure_value() -> None:
    """The refusal says so."""
    with pytest.raises(FalloffError, match="no exposure value"):
        camera.exposure_value_of_illuminance(0.0)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("t_number", 0.0),
        ("iso", -100),
        ("exposure_time_s", 0.0),
        ("nd_stops", -1.0),
        ("filter_stops", math.nan),
        ("meter_constant_c", 12.5),
        ("balance_kelvin", 100.0),
        ("highlight_stops", 0.0),
        ("shadow_stops", math.inf),
    ],
)
def test_impossible_settings(field: str, value: float) -> None:
    """Each setting has its range, told with its name."""
    good = {"t_number": 2.8, "iso": 800, "exposure_time_s": 1 / 48}
    with pytest.raises(FalloffError, match=rf"camera\.{field}: not a setting"):
        CameraSettings(**(good | {field: value}))


def test_all_faults_at_once() -> None:
    """Two wrong settings are two faults of one error."""
    with pytest.raises(FalloffError) as caught:
        CameraSettings(0.0, 0.0, 1 / 48)
    assert [fault.where for fault in caught.value.faults] == ["camera.t_number", "camera.iso"]


def test_settings_are_a_record_for_sending() -> None:
    """Written and read back they are the same, and an unknown key is refused."""
    text = msgspec.json.encode(SETTINGS)
    assert msgspec.json.decode(text, type=CameraSettings) == SETTINGS
    with pytest.raises(msgspec.ValidationError, match="shutter"):
        msgspec.json.decode(text[:-1] + b',"shutter":180}', type=CameraSettings)


def test_sentences() -> None:
    """pencil: 250·7.84·48/800 = 117.6 lux = 10.93 foot-candles; the constant is always told."""
    assert camera.describe_key(SETTINGS) == "key 118 lx (10.9 fc), meter constant C 250"
    dome = CameraSettings(4, 400, 0.5, nd_stops=3.0, balance_kelvin=3200, meter_constant_c=330)
    assert camera.describe_settings(dome) == "T4, ISO 400, 0.5 s, ND 0.9 (3 stops), balance 3200 K"
    # pencil: 0.9 / log10(2) = 2.99 stops
    sold = CameraSettings(4, 400, 0.5, nd_stops=0.9 / math.log10(2.0), filter_stops=1.0)
    assert "ND 0.9 (3 stops), filters 1 stop, balance" in camera.describe_settings(sold)
    odd = CameraSettings(4, 400, 0.5, nd_stops=0.5)
    assert "ND of 0.5 stop," in camera.describe_settings(odd)
    assert camera.describe_key(dome).endswith("meter constant C 330")
    assert camera.describe_settings(SETTINGS) == "T2.8, ISO 800, 1/48 s, balance D65"
