"""The working space and its neighbours; tints of surfaces."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff import spectrum
from falloff.errors import FalloffError


def test_there_and_back() -> None:
    """pencil: one matrix is the other's inverse."""
    rgb = np.random.default_rng(1).random((4, 5, 3))
    back = spectrum.working_from_xyz(spectrum.xyz_from_working(rgb))
    assert_allclose(back, rgb, atol=1e-12)


def test_white_is_white_in_both_spaces() -> None:
    """pencil: both have D65, so 1, 1, 1 stays 1, 1, 1."""
    assert_allclose(spectrum.working_to_srgb_linear((1.0, 1.0, 1.0)), (1, 1, 1), atol=1e-12)
    assert_allclose(
        spectrum.working_from_xyz(spectrum.xyz_from_xy(spectrum.D65_XY)), (1, 1, 1), atol=1e-12
    )


def test_luminance_of_pictures() -> None:
    """source: ITU-R BT.2020-2, table 3."""
    assert_allclose(spectrum.luminance(np.eye(3)), (0.2627, 0.6780, 0.0593), rtol=1e-12)
    picture = np.full((2, 3, 3), 7.0, dtype=np.float32)
    assert spectrum.luminance(picture).dtype == np.float32
    # pencil: the weights add up to one.
    assert_allclose(spectrum.luminance(picture), 7.0, rtol=1e-6)


def test_chromaticity_scales_with_luminance() -> None:
    """pencil: X = xY/y, Z = (1 - x - y)Y/y."""
    found = spectrum.xyz_from_xy((0.25, 0.5), luminance_nit=10.0)
    assert_allclose(found, (5.0, 10.0, 5.0), rtol=1e-12)
    with pytest.raises(FalloffError, match="y above nought"):
        spectrum.xyz_from_xy((0.3, 0.0))


def test_matrices_cannot_be_changed() -> None:
    """A shared array that one caller changed would be wrong for all."""
    with pytest.raises(ValueError, match="read-only"):
        spectrum.XYZ_FROM_WORKING[0, 0] = 1.0


def test_balance_makes_the_source_neutral_and_keeps_its_luminance() -> None:
    """pencil: adaptation takes one white to the other at equal Y; 2e-6 is the rounded weights."""
    for balance_kelvin in (2000, 3200, 4300, 5600, 9000):
        source = spectrum.colour_of_kelvin(balance_kelvin)
        assert_allclose(spectrum.white_balance(balance_kelvin) @ source, np.ones(3), atol=2e-6)


def test_balance_for_daylight_leaves_tungsten_warm() -> None:
    """pencil: red over blue of tungsten stays above one, by more at a cooler balance."""
    tungsten = spectrum.colour_of_kelvin(3200)
    ratios = []
    for balance_kelvin in (4300, 5600, 7500):
        rgb = spectrum.white_balance(balance_kelvin) @ tungsten
        ratios.append(rgb[0] / rgb[2])
    assert 1.0 < ratios[0] < ratios[1] < ratios[2]


@pytest.mark.parametrize("reflectance", [0.0, 0.18, 0.5, 0.9, 1.0])
@pytest.mark.parametrize("tint", [(1, 1, 1), (1, 0.8, 0.6), (1, 0, 0), (0, 0, 1), (200, 10, 3)])
def test_tint_keeps_the_reflectance(reflectance: float, tint: tuple[float, float, float]) -> None:
    """pencil: the weighted sum is the reflectance asked for and no channel passes one."""
    channels = spectrum.tint_to_reflectance(reflectance, tint)
    assert_allclose(spectrum.luminance(channels), reflectance, atol=1e-12)
    assert channels.min() >= 0.0
    assert channels.max() <= 1.0


def test_tint_that_fits_keeps_its_ratios() -> None:
    """pencil: 0.2 × (1, 0.5, 0.25) / (0.2627 + 0.339 + 0.014825)."""
    channels = spectrum.tint_to_reflectance(0.2, (1.0, 0.5, 0.25))
    assert_allclose(channels, 0.2 * np.array([1, 0.5, 0.25]) / 0.616525, rtol=1e-12)


@pytest.mark.parametrize(
    ("reflectance", "tint", "told"),
    [
        (1.2, (1, 1, 1), "0 to 1"),
        (-0.1, (1, 1, 1), "0 to 1"),
        (float("nan"), (1, 1, 1), "0 to 1"),
        (0.5, (0, 0, 0), "not all nought"),
        (0.5, (1, -0.1, 0), "none negative"),
        (0.5, (1, 1), "three channels"),
    ],
)
def test_bad_tints(reflectance: float, tint: tuple[float, ...], told: str) -> None:
    """Each refusal says what is expected."""
    with pytest.raises(FalloffError, match=told):
        spectrum.tint_to_reflectance(reflectance, tint)
