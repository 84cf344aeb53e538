"""The view curve: where grey and white land, order, colour, and the way back."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.camera import (
    CameraSettings,
    develop,
    encoded_of_stops,
    mid_grey_luminance_nit,
    stops_of_encoded,
    view_curve,
)
from falloff.camera.view import decode_srgb, encode_srgb, fit_to_display
from falloff.errors import FalloffError
from falloff.spectrum import colour_of_kelvin, working_from_xyz, xyz_from_xy

SETTINGS = CameraSettings(2.8, 800, 1 / 48)
GREY_NIT = mid_grey_luminance_nit(SETTINGS)
CURVE = view_curve(SETTINGS)


def neutral(stops: float | np.ndarray) -> np.ndarray:
    """A row of neutral pixels at these stops over middle grey."""
    light = GREY_NIT * 2.0 ** np.atleast_1d(stops)
    return np.repeat(light[np.newaxis, :, np.newaxis], 3, axis=2).astype(np.float32)


def test_middle_grey_is_eighteen_per_cent_of_white() -> None:
    """pencil: sRGB of 0.18 is 1.055·0.18^(1/2.4) - 0.055 = 0.4613, 118 of 255."""
    assert develop(neutral(0.0), SETTINGS).tolist() == [[[118, 118, 118]]]


def test_white_and_black_at_the_camera_s_limits() -> None:
    """pencil: white at +6 (the highlight limit), black at -8 (two under the shadow limit)."""
    shown = develop(neutral(np.array([6.0, 9.0, 5.0, -8.0, -20.0])), SETTINGS)[0, :, 0]
    assert shown[0] == shown[1] == 255
    assert 200 < shown[2] < 255
    assert shown[3] == shown[4] == 0
    # Still to be told from black at the shadow limit: the toe of the formula at s = -6 is
    # 0.4613·0.25^2.976 = 0.0075, two of 255 (pencil).
    assert develop(neutral(-6.0), SETTINGS)[0, 0, 0] == 2


def test_slope_at_grey() -> None:
    """pencil: 1.15 × 1.055/2.4·0.18^(1/2.4)·ln 2 = 0.17155 a stop, on both sides of grey."""
    step = 1e-4
    below, at, above = encoded_of_stops([-step, 0.0, step], CURVE)
    assert_allclose((above - at) / step, 0.17155, atol=2e-4)
    assert_allclose((at - below) / step, 0.17155, atol=2e-4)


@pytest.mark.parametrize(("highlight_stops", "shadow_stops"), [(6, 6), (1, 1), (3, 9), (16, 16)])
def test_curve_rises_all_the_way(highlight_stops: float, shadow_stops: float) -> None:
    """pencil: each half is a rising power; from 0 to 1 for any camera."""
    settings = CameraSettings(
        2.8, 800, 1 / 48, highlight_stops=highlight_stops, shadow_stops=shadow_stops
    )
    curve = view_curve(settings)
    stops = np.linspace(-curve.black_stops, curve.white_stops, 2001)
    encoded = encoded_of_stops(stops, curve)
    assert np.all(np.diff(encoded) > 0.0)
    assert_allclose(encoded[[0, -1]], (0.0, 1.0), atol=1e-12)


def test_reading_the_curve_backwards() -> None:
    """pencil: the inverse of a rising curve; a still's white and black read as the limits."""
    stops = np.linspace(-7.5, 5.9, 200)
    assert_allclose(stops_of_encoded(encoded_of_stops(stops, CURVE), CURVE), stops, atol=1e-6)
    assert_allclose(stops_of_encoded([0.0, 1.0], CURVE), (-8.0, 6.0), atol=1e-12)


def test_a_shown_grey_reads_back_within_rounding() -> None:
    """pencil: a step of 255 is 1/(255·0.17) = 0.023 stop at grey, half of it either way."""
    shown = develop(neutral(np.linspace(-1.0, 1.0, 21)), SETTINGS)[0, :, 1] / 255.0
    assert_allclose(stops_of_encoded(shown, CURVE), np.linspace(-1.0, 1.0, 21), atol=0.02)


def test_neutrals_stay_neutral_to_the_bit() -> None:
    """pencil: equal channels have nowhere to go; one step of rounding in single precision."""
    shown = develop(neutral(np.linspace(-9.0, 9.0, 500)), SETTINGS).astype(int)
    assert np.abs(np.diff(shown, axis=2)).max() <= 1


def test_balance_makes_the_lamp_s_grey_neutral() -> None:
    """pencil: a grey card under 3200 K, balanced for it, is 118, 118, 118 (one step rounding)."""
    card = (GREY_NIT * colour_of_kelvin(3200)).reshape(1, 1, 3).astype(np.float32)
    balanced = CameraSettings(2.8, 800, 1 / 48, balance_kelvin=3200)
    assert_allclose(develop(card, balanced), np.full((1, 1, 3), 118), atol=1)
    red, green, blue = develop(card, SETTINGS)[0, 0].astype(int)
    assert red > green > blue


def test_a_hot_coloured_light_goes_to_white_without_changing_hue() -> None:
    """pencil: order of channels is kept on the way up, and the gap closes."""
    tungsten = colour_of_kelvin(2700)
    light = GREY_NIT * 2.0 ** np.linspace(0.0, 6.5, 40)
    shown = develop((light[:, np.newaxis] * tungsten)[np.newaxis].astype(np.float32), SETTINGS)
    red, green, blue = shown[0].astype(int).T
    assert np.all(red >= green)
    assert np.all(green >= blue)
    assert (red - blue)[0] > 40
    assert (red - blue)[-1] == 0
    assert shown[0, -1].tolist() == [255, 255, 255]


@pytest.mark.parametrize("xy", [(0.17, 0.797), (0.131, 0.046), (0.708, 0.292), (0.2, 0.1)])
def test_colours_beyond_the_display(xy: tuple[float, float]) -> None:
    """pencil: luminance is kept, and what cannot be shown is paler, not clipped to a wrong hue."""
    rgb = working_from_xyz(xyz_from_xy(xy))
    picture = (GREY_NIT * rgb).reshape(1, 1, 3).astype(np.float32)
    shown = decode_srgb(develop(picture, SETTINGS)[0, 0] / 255.0)
    # 0.18 within the rounding of 8 bits.
    assert_allclose(shown @ [0.2126, 0.7152, 0.0722], 0.18, atol=0.004)


def test_fitting_leaves_what_fits() -> None:
    """pencil: a colour that uses a quarter of its room keeps 1/(1 + 1/256)^(1/4) = 0.99902."""
    grey = np.array([0.5], dtype=np.float32)
    channels = np.array([[0.625], [0.5], [0.5]], dtype=np.float32)
    fitted = fit_to_display(channels, grey)
    assert_allclose(fitted[:, 0] - 0.5, (0.125 * 0.99902, 0.0, 0.0), atol=1e-5)
    far = fit_to_display(np.array([[60.0], [-3.0], [0.5]], dtype=np.float32), grey)
    assert far.min() >= 0.0
    assert far.max() <= 1.0


def test_encoding_there_and_back() -> None:
    """source: IEC 61966-2-1:1999; its break points, and the inverse within their known gap."""
    linear = np.linspace(0.0, 1.0, 1001)
    assert_allclose(decode_srgb(encode_srgb(linear)), linear, atol=1e-7)
    # pencil: 12.92·0.0031308 = 0.04045.
    assert_allclose(encode_srgb(0.0031308), 0.04045, atol=1e-5)


def test_every_size_and_no_light() -> None:
    """pencil: black is black; rows that are no whole number of strips are all developed."""
    assert develop(np.zeros((3, 4, 3), np.float32), SETTINGS).max() == 0
    tall = np.repeat(neutral(0.0), 37, axis=0)
    assert develop(tall, SETTINGS).shape == (37, 1, 3)
    assert np.all(develop(tall, SETTINGS) == 118)
    with pytest.raises(FalloffError, match="three channels"):
        develop(np.zeros((3, 4), np.float32), SETTINGS)
