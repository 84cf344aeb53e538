"""Webs: flux, zones, directions, beam and field, and round beams to and fro."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.errors import PhotometricFileError
from falloff.photometry import (
    IntensityWeb,
    beam_angle_rad,
    flux_of,
    intensity_web,
    round_beam,
    round_profile_of_web,
    round_web,
    web_beam_angle_rad,
    web_field_angle_rad,
    web_flux_lm,
    web_intensity,
    web_peak_cd,
    web_zones,
)
from falloff.types import Float64Array
from falloff.units import Candela

TURN = 2.0 * math.pi


def round_table(angles_deg: list[float] | Float64Array, candela: list[float] | Float64Array) -> (
    IntensityWeb
):  # fmt: skip
    """Two equal planes."""
    row = np.array(candela, np.float64)
    return intensity_web(
        np.array([0.0, TURN]), np.radians(np.array(angles_deg)), candela=np.stack([row, row])
    )


def uneven() -> IntensityWeb:
    """A web without any symmetry, uneven in both angles."""
    rng = np.random.default_rng(4)
    azimuth = np.array([0.0, 0.4, 1.9, 3.0, 5.5, TURN])
    angle = np.array([0.0, 0.1, 0.7, 1.4, 2.9])
    candela = rng.uniform(0.0, 100.0, (6, 5))
    candela[:, 0] = candela[0, 0]
    candela[-1] = candela[0]
    return intensity_web(azimuth, angle, candela=candela)


def test_flux_is_that_of_a_fine_sum_over_directions() -> None:
    web = uneven()
    n = 1000
    gamma, azimuth = (end * (np.arange(n) + 0.5) / n for end in (2.9, TURN))
    c, g = (one.ravel() for one in np.meshgrid(azimuth, gamma))
    ways = np.stack([np.sin(g) * np.cos(c), np.sin(g) * np.sin(c), np.cos(g)], axis=1)
    summed = (web_intensity(web, ways) * np.sin(g)).mean() * 2.9 * TURN
    assert_allclose(web_flux_lm(web), summed, rtol=1e-5)  # pencil: Φ is the integral of I


def test_lambertian_is_a_little_short_of_pi() -> None:
    """source: PHO-3, the piecewise-linear integral of 1000 cd in 5° steps."""
    angle = np.arange(0.0, 91.0, 5.0)
    web = round_table(angle, 1000.0 * np.cos(np.radians(angle)))
    assert_allclose(web_flux_lm(web), 3139.6, rtol=1e-4)


def test_sharp_steps_keep_their_flux() -> None:
    """pencil: 1 cd within 60° is 2π(1 − cos 60°) = π, however thin its edge."""
    web = round_table([0.0, 60.0, 60.0 + 1e-9, 90.0], [1.0, 1.0, 0.0, 0.0])
    assert_allclose(web_flux_lm(web), math.pi, rtol=1e-9)


def test_zones_are_the_zonal_constants_of_one_candela() -> None:
    """source: PHO-2, 2π(cosθ1 − cosθ2) of 10° zones."""
    web = round_table([0.0, 180.0], [1.0, 1.0])
    zones = web_zones(web, np.radians(np.arange(0.0, 181.0, 10.0)))
    expected = [0.0955, 0.2835, 0.4629, 0.6282, 0.7744, 0.8972, 0.9926, 1.0579, 1.0911]
    assert_allclose(zones[:9], expected, atol=1e-4)
    assert_allclose(zones.sum(), 4.0 * math.pi)  # source: PHO-2


def test_zones_end_where_the_web_ends() -> None:
    web = uneven()
    zones = web_zones(web, np.array([0.0, 0.33, 2.0, 3.0, 3.1]))
    assert_allclose(zones.sum(), web_flux_lm(web))  # pencil: every direction is in one zone
    assert zones[-1] == 0.0


def test_intensity_is_linear_between_points_and_nothing_beyond() -> None:
    web = intensity_web(
        np.array([0.0, math.pi, TURN]),
        np.array([0.0, math.pi / 2]),
        candela=np.array([[8.0, 0.0], [8.0, 4.0], [8.0, 0.0]]),
    )
    root = math.sqrt(0.5)
    ways = np.array(
        [[0, 0, 3], [root, 0, root], [-root, 0, root], [0, 2, 0], [0, -1, 0], [0, 0, -1]], float
    )
    # pencil: axis 8; half way down 8→0 and 8→4; a quarter turn is half way from 0 to 4
    assert_allclose(web_intensity(web, ways), [8.0, 4.0, 6.0, 2.0, 2.0, 0.0])


def test_beam_and_field_in_a_plane() -> None:
    """pencil: to nothing at 80° in a line, half is at 40°, a tenth at 72°, on each side."""
    web = round_table([0.0, 80.0, 90.0], [500.0, 0.0, 0.0])
    assert_allclose(math.degrees(web_beam_angle_rad(web)), 80.0)
    assert_allclose(math.degrees(web_field_angle_rad(web, 1.0)), 144.0)
    assert web_peak_cd(web) == 500.0


def test_a_beam_off_its_axis_is_measured_from_edge_to_edge() -> None:
    """pencil: at C0 peak at 30°, half at 15° and 40°; nothing at C180."""
    one_side = [0.0, 0.0, 100.0, 0.0]
    web = intensity_web(
        np.radians([0.0, 180.0, 360.0]),
        np.radians([0.0, 1e-6, 30.0, 50.0]),
        candela=np.array([one_side, [0.0] * 4, one_side]),
    )
    assert_allclose(math.degrees(web_beam_angle_rad(web)), 25.0, atol=1e-5)
    assert web_beam_angle_rad(web, math.pi / 2) > 0.0  # half of each plane just reaches half
    dim = [0.0, 0.0, 40.0, 0.0]
    tall = intensity_web(
        np.radians([0.0, 90.0, 180.0, 270.0, 360.0]),
        web.angle_rad,
        candela=np.array([one_side, dim, one_side, dim, one_side]),
    )
    assert web_beam_angle_rad(tall, math.pi / 2) == 0.0  # never at half of the greatest
    assert web_field_angle_rad(tall, math.pi / 2) > 0.0


def test_all_round_is_a_whole_turn() -> None:
    assert_allclose(web_beam_angle_rad(round_table([0.0, 180.0], [1.0, 1.0])), TURN)  # pencil


def test_round_beam_to_web_and_back() -> None:
    beam = round_beam(np.radians([0.0, 10.0, 30.0]), np.array([1.0, 0.7, 0.0]))
    web = round_web(beam, 1234.0)
    assert_allclose(web_flux_lm(web), 1234.0)  # pencil: what was asked for
    back = round_profile_of_web(web)
    assert_allclose(back.candela_per_lumen, beam.candela_per_lumen, atol=1e-9)
    assert_allclose(web_beam_angle_rad(web, 2.0), beam_angle_rad(beam))


def test_round_profile_is_the_mean_over_azimuth() -> None:
    web = uneven()
    beam = round_profile_of_web(web)
    lumens = flux_of(beam, Candela(float(web.candela[0, 0])))
    assert_allclose(lumens, web_flux_lm(web), rtol=1e-4)  # pencil: the axis is in every plane


@pytest.mark.parametrize(
    ("azimuth", "angle", "candela", "word"),
    [
        ([0.0], [0.0, 1.0], [[1.0, 1.0]], "azimuths"),
        ([0.1, TURN], [0.0, 1.0], [[1.0, 1.0]] * 2, "azimuths"),
        ([0.0, 7.0], [0.0, 1.0], [[1.0, 1.0]] * 2, "azimuths"),
        ([0.0, 3.0], [0.0, 1.0], [[1.0, 1.0]] * 2, "all the way round"),
        ([0.0, TURN], [0.0, 0.0], [[1.0, 1.0]] * 2, "angles"),
        ([0.0, TURN], [0.0, float("nan")], [[1.0, 1.0]] * 2, "angles"),
        ([0.0, TURN], [0.0, 3.2], [[1.0, 1.0]] * 2, "angles"),
        ([0.0, TURN], [0.0, 1.0], [[1.0, 1.0]], "do not fit"),
        ([0.0, TURN], [0.0, 1.0], [[1.0, -1.0]] * 2, "light"),
        ([0.0, TURN], [0.0, 1.0], [[0.0, 0.0]] * 2, "light"),
        ([0.0, TURN], [0.0, 1.0], [[1.0, float("inf")]] * 2, "light"),
    ],
)
def test_what_is_no_web_is_refused(
    azimuth: list[float], angle: list[float], candela: list[list[float]], word: str
) -> None:
    with pytest.raises(PhotometricFileError, match=word):
        intensity_web(np.array(azimuth), np.array(angle), candela=np.array(candela))


def test_a_web_cannot_be_changed() -> None:
    with pytest.raises(ValueError, match="read-only"):
        uneven().candela[0, 0] = 1.0
