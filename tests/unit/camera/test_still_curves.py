"""Viewing curves of stills against the standards' own values and colour-science's functions."""

from __future__ import annotations

import warnings
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.camera import (
    STILL_CURVES,
    CameraSettings,
    develop,
    mid_grey_luminance_nit,
    still_curve,
)
from falloff.camera.still_curves import (
    PRIMARIES,
    bt709_from_light,
    hlg_from_light,
    light_from_bt709,
    light_from_hlg,
    nits_from_pq,
    pq_from_nits,
)
from falloff.errors import FalloffError
from falloff.spectrum import luminance

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour

SIGNALS = np.linspace(0.0, 1.0, 201)


def test_bt709_at_the_values_of_the_standard() -> None:
    """source: ITU-R BT.709-6, item 1.2 worked by hand: .018 .18 .9 1; its narrow range of codes."""
    light = np.array([0.018, 0.18, 0.9, 1.0])
    encoded = bt709_from_light(light)
    assert_allclose(encoded, [0.0812, 0.4090, 0.9491, 1.0], atol=1e-4)
    # pencil: 64 + 876 · v in ten bits, 16 + 219 · v in eight
    assert np.rint(64 + 876 * encoded).tolist()[1:] == [422, 895, 940]
    assert np.rint(16 + 219 * encoded).tolist()[1:] == [106, 224, 235]
    assert_allclose(light_from_bt709(encoded), light, rtol=1e-6)


def test_pq_and_hlg_at_the_values_of_the_standard() -> None:
    """source: ITU-R BT.2100-2, tables 4 and 5, worked by colour-science's eotf_inverse, oetf."""
    nits = np.array([100.0, 203.0, 1000.0, 4000.0, 10_000.0])
    assert_allclose(pq_from_nits(nits), [0.50808, 0.58069, 0.75183, 0.90257, 1.0], atol=1e-5)
    light = np.array([1 / 12, 0.265, 1.0])
    assert_allclose(hlg_from_light(light), [0.5, 0.75003, 1.0], atol=1e-4)


def test_stops_between_reflectances() -> None:
    """source: log2 of 90, 100 and 3.5 per cent over 18 (pencil), through sRGB and back."""
    curve = still_curve("srgb")
    there = curve.encode(np.array([0.9, 1.0, 0.035]))
    back = np.log2(curve.decode(there) / curve.middle_grey_share)
    assert_allclose(back, [2.3219, 2.4739, -2.3626], atol=1e-4)


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        (still_curve("srgb").decode, lambda v: colour.eotf(v, "sRGB")),
        (light_from_bt709, lambda v: colour.oetf_inverse(v, "ITU-R BT.709")),
        (still_curve("bt1886").decode, lambda v: colour.eotf(v, "ITU-R BT.1886", L_B=0, L_W=1)),
        (still_curve("gamma22").decode, lambda v: colour.gamma_function(v, 2.2)),
        (still_curve("gamma24").decode, lambda v: colour.gamma_function(v, 2.4)),
        (nits_from_pq, lambda v: colour.eotf(v, "ITU-R BT.2100 PQ")),
        (light_from_hlg, lambda v: colour.oetf_inverse(v, "ITU-R BT.2100 HLG")),
    ],
    ids=["srgb", "bt709", "bt1886", "gamma22", "gamma24", "pq", "hlg"],
)
def test_decoding_is_that_of_colour_science(ours: Any, theirs: Any) -> None:
    assert_allclose(ours(SIGNALS), theirs(SIGNALS), rtol=2e-4, atol=1e-9)


@pytest.mark.parametrize("name", STILL_CURVES)
def test_a_grey_comes_back(name: str) -> None:
    """pencil: encode then decode is where it began, for a grey within the curve's range."""
    curve = still_curve(name)
    light = curve.middle_grey_share * 2.0 ** np.linspace(-4.0, 2.0, 25)
    signals = np.repeat(curve.encode(light)[:, None], 3, axis=1)
    assert_allclose(curve.decode(signals), np.repeat(light[:, None], 3, axis=1), rtol=1e-6)


@pytest.mark.parametrize(
    ("name", "theirs"),
    [("bt709", "ITU-R BT.709"), ("bt2020", "ITU-R BT.2020"), ("p3", "P3-D65")],
)
def test_primaries_are_those_of_colour_science(name: str, theirs: str) -> None:
    space = colour.RGB_COLOURSPACES[theirs]
    assert_allclose(PRIMARIES[name], space.primaries, atol=1e-9)


def test_our_own_picture_is_turned_back_to_its_light() -> None:
    """pencil: luminance is kept by every step of the view, so that it comes back; 8-bit steps."""
    settings = CameraSettings(4.0, 400, 1 / 48, balance_kelvin=4300, shadow_stops=7)
    rng = np.random.default_rng(5)
    grey = mid_grey_luminance_nit(settings)
    colours = np.array([1.0, 1.0, 1.0]) + rng.uniform(-0.2, 0.2, (400, 3))
    light = colours / luminance(colours)[:, None] * (grey * 2.0 ** rng.uniform(-3, 3, 400))[:, None]
    shown = develop(light[None].astype(np.float32), settings)[0] / 255.0
    back = still_curve("picture", settings=settings).decode(shown)
    assert_allclose(np.log2(luminance(back) / luminance(light)), 0.0, atol=0.06)


def test_an_unknown_curve_is_told_with_those_there_are() -> None:
    with pytest.raises(FalloffError, match=r"srgb, bt709.*\n.*log picture"):
        still_curve("log")
