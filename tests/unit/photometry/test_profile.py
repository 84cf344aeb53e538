"""Round beams: flux, beam and field angle, and what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.errors import PhotometricFileError
from falloff.photometry import (
    NAMED_PROFILES,
    beam_angle_rad,
    field_angle_rad,
    flux_of,
    round_beam,
)
from falloff.types import Float64Array
from falloff.units import Candela


def _cosine_power(power: int) -> tuple[Float64Array, Float64Array]:
    angle = np.linspace(0.0, math.pi / 2, 513)
    return angle, np.maximum(0.0, np.cos(angle)) ** power


@pytest.mark.parametrize(
    ("power", "beam_deg", "field_deg", "lumens"),
    [
        (1, 120.00, 168.52, 3141.6),  # source: PHO-5, closed form of cosⁿ per 1000 cd
        (3, 74.93, 124.69, 1570.8),  # source: PHO-5
        (10, 42.17, 74.82, 571.2),  # source: PHO-5
        (50, 19.04, 34.51, 123.2),  # source: PHO-5
    ],
)
def test_cosine_power_beams(power: int, beam_deg: float, field_deg: float, lumens: float) -> None:
    beam = round_beam(*_cosine_power(power))
    assert_allclose(math.degrees(beam_angle_rad(beam)), beam_deg, atol=0.01)
    assert_allclose(math.degrees(field_angle_rad(beam)), field_deg, atol=0.01)
    assert_allclose(flux_of(beam, Candela(1000.0)), lumens, rtol=2e-4)


def test_beam_and_field_are_of_the_greatest_intensity() -> None:
    """source: PHO-6, the IES definition; a beam dark in the middle shows the difference."""
    angle = np.radians([0.0, 10.0, 20.0, 30.0])
    beam = round_beam(angle, np.array([0.5, 1.0, 1.0, 0.0]))
    # pencil: from 1 at 20° to 0 at 30° in a line, half is at 25°, a tenth at 29°
    assert_allclose(math.degrees(beam_angle_rad(beam)), 50.0, atol=0.02)
    assert_allclose(math.degrees(field_angle_rad(beam)), 58.0, atol=0.02)


def test_beam_linear_in_angle_has_its_pencilled_peak() -> None:
    """pencil: Φ = 2π I0 (1 − (sin c − sin b)/(c − b)), level to b, straight down to c."""
    b, c = math.radians(15.0), math.radians(25.0)
    beam = round_beam(np.array([0.0, b, c]), np.array([1.0, 1.0, 0.0]))
    peak = 1.0 / (2.0 * math.pi * (1.0 - (math.sin(c) - math.sin(b)) / (c - b)))
    assert_allclose(beam.candela_per_lumen[0], peak, rtol=1e-4)


@pytest.mark.parametrize("name", sorted(NAMED_PROFILES))
def test_named_profiles_send_out_one_lumen(name: str) -> None:
    table = np.array(NAMED_PROFILES[name])
    beam = round_beam(np.radians(table[:, 0]), table[:, 1])
    angle = np.linspace(0.0, beam.angle_rad[-1], 200_001)
    intensity = np.interp(angle, beam.angle_rad, beam.candela_per_lumen)
    flux = 2.0 * math.pi * np.trapezoid(intensity * np.sin(angle), angle)
    assert_allclose(flux, 1.0, rtol=1e-6)  # pencil: that is what the scale is for
    assert 0.0 < beam_angle_rad(beam) < field_angle_rad(beam)
    assert beam.candela_per_lumen[0] == beam.candela_per_lumen.max()


def test_uniform_over_the_whole_sphere() -> None:
    beam = round_beam(np.array([0.0, math.pi]), np.array([3.0, 3.0]))
    assert_allclose(beam.candela_per_lumen, 1.0 / (4.0 * math.pi), rtol=1e-12)  # pencil
    assert_allclose(beam_angle_rad(beam), 2.0 * math.pi)  # pencil: never under half


@pytest.mark.parametrize(
    ("angles", "values", "word"),
    [
        ([0.1, 0.2], [1.0, 0.0], "angles"),  # does not start on the axis
        ([0.0], [1.0], "angles"),
        ([0.0, 0.2, 0.2], [1.0, 0.5, 0.0], "angles"),
        ([0.0, 4.0], [1.0, 0.0], "angles"),
        ([0.0, 0.2], [1.0, 0.5, 0.0], "angles"),
        ([0.0, float("nan")], [1.0, 0.5], "angles"),
        ([0.0, 0.2], [1.0, -0.1], "intensities"),
        ([0.0, 0.2], [0.0, 0.0], "intensities"),
        ([0.0, 0.2], [1.0, float("nan")], "intensities"),
        ([0.0, 0.2], [float("inf"), 1.0], "intensities"),
    ],
)
def test_what_is_no_beam_is_refused(angles: list[float], values: list[float], word: str) -> None:
    with pytest.raises(PhotometricFileError) as caught:
        round_beam(np.array(angles), np.array(values))
    fault = caught.value.faults[0]
    assert word in fault.what
    assert fault.expected
    assert fault.fix
