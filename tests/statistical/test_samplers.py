"""Samplers against the laws they claim: strata, chi-square, means; fixed seeds, so no chance.

Chi-square tests refuse at p = 1e-4; stratified points are more even than chance, so for them only
the upper tail counts. Every expected value is pencil: bin areas, or integrals of the density.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numba import njit
from numpy.testing import assert_allclose, assert_array_equal
from scipy import stats
from tests.reference.scenes.stages import WHITE, matte_beam

from falloff.sources import Source, ball, beam
from falloff.transport.closed_form import quad_irradiance, sphere_irradiance
from falloff.transport.kernels_shoot import beam_rays
from falloff.transport.sampling import (
    cardioid_direction,
    cosine_direction,
    frame_around,
    morton_order,
    scrambled_point,
)
from falloff.types import Float64Array

SEEDS = (0, 1, 7, 20, 21, 1234, 4_000_000_000)
REFUSE = 1e-4


@njit()
def _fill_points(seed: int, first: int, out: Float64Array) -> None:
    for k in range(out.shape[0]):
        out[k, 0], out[k, 1] = scrambled_point(first + k, seed)


@njit()
def _fill_directions(
    cardioid: bool, normal: Float64Array, squares: Float64Array, out: Float64Array
) -> None:
    for k in range(out.shape[0]):
        if cardioid:
            way = cardioid_direction(normal[0], normal[1], normal[2], squares[k, 0], squares[k, 1])
        else:
            way = cosine_direction(normal[0], normal[1], normal[2], squares[k, 0], squares[k, 1])
        out[k, 0], out[k, 1], out[k, 2] = way


@njit()
def _fill_frame(normal: Float64Array, out: Float64Array) -> None:
    out[0], out[1], out[2], out[3], out[4], out[5] = frame_around(normal[0], normal[1], normal[2])


def _points(count: int, seed: int, first: int = 0) -> Float64Array:
    out = np.empty((count, 2))
    _fill_points(seed, first, out)
    return out


def _frame(normal: tuple[float, float, float]) -> Float64Array:
    out = np.empty(6)
    _fill_frame(np.array(normal), out)
    return out.reshape(2, 3)


def _directions(
    kind: str, normal: tuple[float, float, float], squares: Float64Array
) -> Float64Array:
    out = np.empty((len(squares), 3))
    _fill_directions(kind == "cardioid", np.array(normal), squares, out)
    return out


def _draws(count: int) -> Float64Array:
    return np.random.default_rng(5).random((count, 2))


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("first", [0, 4096, 256 * 12_345])
def test_aligned_blocks_fill_every_elementary_interval(seed: int, first: int) -> None:
    """A (0,2) sequence: each of the 2^k boxes of every shape holds one of 2^k points. pencil"""
    for k in (2, 4, 8):
        points = _points(1 << k, seed, first)
        for split in range(k + 1):
            columns, rows = 1 << split, 1 << (k - split)
            box = (points[:, 0] * columns).astype(int) * rows + (points[:, 1] * rows).astype(int)
            assert_array_equal(np.sort(box), np.arange(1 << k))


@pytest.mark.parametrize("seed", SEEDS)
def test_points_lie_in_the_half_open_square(seed: int) -> None:
    points = _points(4096, seed)
    assert points.min() >= 0.0
    assert points.max() < 1.0


def test_one_index_over_many_seeds_is_uniform() -> None:
    """Scrambling is random: the first point of 16 384 seeds falls evenly on 8 × 8 boxes."""
    points = np.array([scrambled_point(0, seed) for seed in range(16_384)])
    counts = np.histogram2d(points[:, 0], points[:, 1], bins=8, range=[[0, 1], [0, 1]])[0]
    assert stats.chisquare(counts.ravel()).pvalue > REFUSE


def test_dimensions_of_neighbouring_seeds_are_uncorrelated() -> None:
    """Neighbouring seeds serve one ray's two dimension pairs (as in beams).

    Over 64 pairs of seeds correlations average to nought. Single ones scatter a quarter more than
    those of independent points (1/√n), since neighbours of a scrambled tree stay neighbours.
    """
    count = 4096
    found = np.array(
        [
            np.corrcoef(_points(count, seed).T, _points(count, seed + 1).T)[:2, 2:].ravel()
            for seed in range(0, 128, 2)
        ]
    )
    assert abs(float(found.mean())) <= 4.0 * float(found.std(ddof=1)) / math.sqrt(found.size)
    assert float(found.std()) * math.sqrt(count) <= 1.6
    assert float(np.abs(found).max()) <= 0.1


NORMALS = [
    (0.0, 0.0, 1.0),
    (0.0, 0.0, -1.0),
    (0.6, 0.0, 0.8),
    (-0.48, 0.64, -0.6),
    (1.0, 0.0, 0.0),
    (0.0, -1.0, 0.0),
]


@pytest.mark.parametrize("normal", NORMALS)
def test_frames_are_right_handed(normal: tuple[float, float, float]) -> None:
    """pencil: t × b = n, all of unit length."""
    tangent, other = _frame(normal)
    assert_allclose(np.cross(tangent, other), normal, atol=1e-12)
    assert_allclose([tangent @ tangent, other @ other, tangent @ other], [1, 1, 0], atol=1e-12)


def _in_frame(ways: Float64Array, normal: tuple[float, float, float]) -> tuple[Float64Array, ...]:
    tangent, other = _frame(normal)
    turn = np.arctan2(ways @ other, ways @ tangent)
    return ways @ np.array(normal), turn


@pytest.mark.parametrize("normal", NORMALS)
@pytest.mark.parametrize(
    ("kind", "mean"),
    [
        ("cosine", 2.0 / 3.0),  # pencil: ∫ cos²θ/π dω over the hemisphere
        ("cardioid", 1.0 / 3.0),  # pencil: ∫ cosθ (1 + cosθ)/4π dω over the sphere
    ],
)
def test_mean_cosine_of_directions(
    kind: str, mean: float, normal: tuple[float, float, float]
) -> None:
    ways = _directions(kind, normal, _draws(20_000))
    assert_allclose(np.linalg.norm(ways, axis=1), 1.0, atol=1e-6)
    cosine, _ = _in_frame(ways, normal)
    error = float(cosine.std(ddof=1)) / math.sqrt(len(cosine))
    assert abs(float(cosine.mean()) - mean) <= 4.0 * error


@pytest.mark.parametrize("normal", NORMALS)
@pytest.mark.parametrize("kind", ["cosine", "cardioid"])
def test_directions_follow_their_density(kind: str, normal: tuple[float, float, float]) -> None:
    """Ten rings of equal chance by eight sectors. pencil: invert the distribution of cosθ."""
    cosine, turn = _in_frame(_directions(kind, normal, _draws(20_000)), normal)
    # cosine: P(cosθ < c) = c²; cardioid: P(cosθ < c) = (1 + c)²/4
    share = cosine**2 if kind == "cosine" else 0.25 * (1.0 + cosine) ** 2
    counts = np.histogram2d(
        np.clip(share, 0.0, 1.0), turn, bins=(10, 8), range=[[0, 1], [-math.pi, math.pi]]
    )[0]
    assert counts.sum() == len(cosine)
    assert stats.chisquare(counts.ravel()).pvalue > REFUSE


def test_cosine_directions_never_dip_below_the_surface() -> None:
    ways = _directions("cosine", (0.0, 0.0, 1.0), _draws(5_000))
    assert ways[:, 2].min() > 0.0
    ends = np.array([0.0, 0.5, 0.99999994])
    squares = np.stack(np.meshgrid(ends, ends), -1).reshape(-1, 2)
    corner = _directions("cosine", (0.0, 0.0, 1.0), squares)
    assert np.isfinite(corner).all()
    assert corner[:, 2].min() > 0.0


@pytest.mark.parametrize(("width", "height"), [(1, 1), (16, 16), (480, 270), (7, 513)])
def test_morton_order_is_a_permutation(width: int, height: int) -> None:
    assert_array_equal(np.sort(morton_order(width, height)), np.arange(width * height))


def test_morton_order_keeps_neighbours_together() -> None:
    """pencil: the first four ranks of a square are its first 2 × 2 pixels, and so on."""
    order = morton_order(8, 8).reshape(16, 4)
    row, column = np.divmod(order, 8)
    assert_array_equal(np.ptp(row, axis=1), 1)
    assert_array_equal(np.ptp(column, axis=1), 1)


@pytest.mark.parametrize("tilt_deg", [0.0, 40.0, 75.0, 85.0, 90.0, 95.0, 110.0, 175.0])
@pytest.mark.parametrize("distance_m", [0.31, 0.5, 2.0])
def test_ball_cut_by_the_horizon(tilt_deg: float, distance_m: float) -> None:
    """E/L of a ball of 0.3 m against brute force: midpoints over the cone that it fills."""
    tilt = math.radians(tilt_deg)
    normal = np.array([math.sin(tilt), 0.0, math.cos(tilt)])
    steps = 1500
    edge = math.sqrt(1.0 - (0.3 / distance_m) ** 2)
    cosine = 1.0 - (1.0 - edge) * (np.arange(steps) + 0.5) / steps
    turn = 2.0 * math.pi * (np.arange(steps) + 0.5) / steps
    sine = np.sqrt(1.0 - cosine**2)
    along = sine[:, None] * np.cos(turn) * normal[0] + (cosine * normal[2])[:, None]
    expected = 2.0 * math.pi * (1.0 - edge) * np.maximum(0.0, along).mean()  # pencil: quadrature
    sphere = np.array([0.0, 0.0, distance_m, 0.3])
    found = sphere_irradiance(0.0, 0.0, 0.0, *normal, sphere)
    assert_allclose(found, expected, rtol=2e-4, atol=2e-5)


@pytest.mark.parametrize(
    "normal", [(0.0, 0.0, 1.0), (0.6, 0.0, 0.8), (1.0, 0.0, 0.0), (0.0, -0.8, -0.6)]
)
def test_slanted_quad_against_brute_force(normal: tuple[float, float, float]) -> None:
    """E/L of a parallelogram that the horizon may cut: midpoints over its area. pencil"""
    corner, u, v = np.array([0.4, -0.7, 0.5]), np.array([0.3, 1.6, 0.2]), np.array([-0.9, 0.1, 0.8])
    steps = 1200
    share = (np.arange(steps) + 0.5) / steps
    way = corner + share[:, None, None] * u + share[None, :, None] * v
    distance2 = (way**2).sum(-1)
    face = np.cross(u, v)
    density = np.maximum(way @ np.array(normal), 0.0) * np.abs(way @ face) / distance2**2
    quad = np.concatenate([corner, u, v])
    assert_allclose(
        quad_irradiance(0.0, 0.0, 0.0, *normal, quad), density.mean(), rtol=2e-5, atol=1e-7
    )


def _lamp() -> Source:
    return beam(
        "lamp",
        np.array([1.0, 2.0, 3.0]),
        axis=np.array([0.6, 0.0, -0.8]),
        aperture_m=0.4,
        profile=matte_beam(),
        flux_lm=1.0,
        colour=WHITE,
    )


def test_beam_rays_follow_intensity_and_mouth() -> None:
    """Rays of a matte mouth: cosθ² is even, so are r² on the mouth and both turns. pencil"""
    lamp = _lamp()
    origins, ways = np.empty((16_384, 3), np.float32), np.empty((16_384, 3), np.float32)
    beam_rays(lamp.shape, lamp.angle_of_share, len(origins), 23, origins, ways)
    axis, u, v = lamp.shape[3:6], lamp.shape[6:9] / 0.2, lamp.shape[9:12] / 0.2
    ways64 = ways.astype(np.float64)
    assert_allclose(np.linalg.norm(ways64, axis=1), 1.0, atol=1e-6)
    at = (origins.astype(np.float64) - lamp.shape[:3]) / 0.2
    columns = [
        np.clip((ways64 @ axis) ** 2, 0.0, 1.0),
        np.arctan2(ways64 @ v, ways64 @ u) / (2.0 * math.pi) + 0.5,
        np.clip((at @ u) ** 2 + (at @ v) ** 2, 0.0, 1.0),
        np.arctan2(at @ v, at @ u) / (2.0 * math.pi) + 0.5,
    ]
    for i in range(4):
        for j in range(i):
            counts = np.histogram2d(columns[i], columns[j], bins=8, range=[[0, 1], [0, 1]])[0]
            assert stats.chisquare(counts.ravel()).pvalue > REFUSE, (i, j)


def test_ball_far_away_keeps_its_flux() -> None:
    """At a thousand radii the cone is tiny: no digits may be lost. pencil: E = Φ/(4π d²)"""
    lamp = ball("lamp", np.array([0.0, 0.0, 100.0]), radius_m=0.1, flux_lm=1.0, colour=WHITE)
    found = sphere_irradiance(0.0, 0.0, 0.0, 0.0, 0.0, 1.0, lamp.shape) * lamp.shape[13]
    assert_allclose(found, 1.0 / (4.0 * math.pi * 1e4), rtol=1e-12)
