"""Beams with a web: flux that is shot, light on and off the axis, roll, mouths."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.reference.scenes.stages import WHITE, box_room, rectangle, stage_of

from falloff.photometry import round_beam
from falloff.photometry.web import IntensityWeb, intensity_web, round_web, web_flux_lm, web_zones
from falloff.photometry.web import web_intensity as intensity_of
from falloff.rays import RayScene
from falloff.sources import Source, beam, web_beam
from falloff.stage import Grain
from falloff.transport import Budget
from falloff.transport.bounce import element_light, exposed_points
from falloff.transport.direct import Receivers, direct_light
from falloff.transport.kernels_shoot import beam_rays
from falloff.types import Float32Array, Float64Array

X, Y, Z = np.eye(3)
DOWN = -Z


def lopsided() -> IntensityWeb:
    """A web with no symmetry at all, in uneven steps of both angles."""
    azimuth = np.radians([0.0, 20.0, 75.0, 90.0, 180.0, 200.0, 310.0, 360.0])
    angle = np.radians([0.0, 3.0, 11.0, 12.0, 30.0, 47.0, 80.0, 120.0])
    rng = np.random.default_rng(5)
    fall = np.exp(-angle / 0.5)
    candela = 2000.0 * fall * (0.2 + rng.random((8, 8)))
    candela[:, 0], candela[-1] = 1500.0, candela[0]
    candela[4, 3:6] = 0.0
    return intensity_web(azimuth, angle, candela=candela)


def light_of(
    web: IntensityWeb,
    *,
    centre: tuple[float, float, float] = (0.0, 0.0, 2.0),
    axis: Float64Array = DOWN,
    zero: Float64Array = X,
    mouth_m: tuple[float, float] = (0.0002, 0.0002),
    square: bool = False,
) -> Source:
    return web_beam(
        "w",
        np.array(centre),
        axis=axis,
        azimuth_zero=zero,
        web=web,
        mouth_m=mouth_m,
        square_mouth=square,
        colour=WHITE,
    )


@pytest.fixture(scope="module")
def nothing() -> RayScene:
    floor = rectangle("floor", (-1.0, -1.0, -50.0), edge_u=(2.0, 0.0, 0.0), edge_v=(0.0, 2.0, 0.0))
    return RayScene(stage_of([floor]).surfaces.corners)


def _lux(nothing: RayScene, source: Source, points: Float64Array) -> Float32Array:
    """Illuminance on level receivers that look up."""
    receivers = Receivers(
        points.astype(np.float32),
        np.tile(np.array([0, 0, 1], np.float32), (len(points), 1)),
        np.ones(len(points), np.bool_),
    )
    return direct_light(nothing, source, receivers, per_point=1024, seed=4)


@pytest.mark.parametrize("turn_deg", [0.0, 5.0, 20.0, 82.0, 140.0, 195.0, 260.0, 355.0])
@pytest.mark.parametrize("angle_deg", [0.0, 2.0, 11.5, 25.0, 60.0, 75.0])
def test_small_mouth_obeys_the_inverse_square(
    nothing: RayScene, turn_deg: float, angle_deg: float
) -> None:
    """pencil: E = I cosθ / d², I read off the web by hand in its own frame."""
    angle, turn = math.radians(angle_deg), math.radians(turn_deg)
    web = lopsided()
    # The axis looks down and azimuth zero along x, so a quarter turn is −z × x = −y.
    way = np.array(
        [math.sin(angle) * math.cos(turn), -math.sin(angle) * math.sin(turn), -math.cos(angle)]
    )
    point = np.array([0.0, 0.0, 2.0]) + 2.0 / math.cos(angle) * way
    own = np.array(
        [math.sin(angle) * math.cos(turn), math.sin(angle) * math.sin(turn), math.cos(angle)]
    )
    candela = float(intensity_of(web, own[None])[0])
    found = float(_lux(nothing, light_of(web), point[None])[0])
    assert_allclose(found, candela * math.cos(angle) ** 3 / 4.0, rtol=2e-3, atol=1e-3)


def test_roll_turns_the_web(nothing: RayScene) -> None:
    """pencil: azimuth zero along −y in place of x is the same light a quarter turn round."""
    web = lopsided()
    plain = _lux(nothing, light_of(web), np.array([[0.7, 0.3, 0.0]]))
    rolled = _lux(nothing, light_of(web, zero=-Y), np.array([[0.3, -0.7, 0.0]]))
    assert_allclose(rolled, plain, rtol=2e-3)


@pytest.mark.parametrize("power", [1, 3, 10, 50])
def test_cosine_power_beams(nothing: RayScene, power: int) -> None:
    """Source: PHO-5, Φ = 2πI₀/(n + 1); on the axis E = I₀/d²."""
    angle = np.linspace(0.0, math.pi / 2.0, 361)
    candela = np.maximum(0.0, np.cos(angle)) ** power * 1000.0
    web = intensity_web(np.array([0.0, 2.0 * math.pi]), angle, candela=np.stack([candela, candela]))
    source = light_of(web)
    assert_allclose(source.flux_lm, 2000.0 * math.pi / (power + 1), rtol=1e-3)
    at = 2.0 * math.tan(0.5 * math.acos(0.5 ** (1.0 / power)) * 2.0)  # half of I₀ is sent there
    lux = _lux(nothing, source, np.array([[0.0, 0.0, 0.0], [at, 0.0, 0.0]]))
    cosine = 0.5 ** (1.0 / power)
    assert_allclose(lux, [250.0, 0.5 * 250.0 * cosine**3], rtol=2e-3)


@pytest.mark.parametrize("square", [False, True])
def test_flux_that_is_shot_lands_whole(square: bool) -> None:
    """Within 0.0003 stop of the web's own flux, whatever stands in the closed room."""
    room = box_room((4.0, 3.0, 2.5), grain=Grain(0.4, 0.2))
    source = light_of(lopsided(), centre=(1.7, 1.4, 2.0), mouth_m=(0.3, 0.2), square=square, zero=Y)
    stage = stage_of([room], sources=[source])
    scene = RayScene(stage.surfaces.corners)
    exposed = exposed_points(stage.surfaces, scene)
    light = element_light(stage.surfaces, scene, source, exposed, Budget())
    landed = float(light.astype(np.float64) @ stage.surfaces.element_area_m2)
    assert abs(math.log2(landed / float(web_flux_lm(lopsided())))) < 0.0003


def test_shot_rays_follow_the_web() -> None:
    """Counts in cells of azimuth and angle against the web's integral there, by fine quadrature."""
    web = lopsided()
    source = light_of(web)
    count = 1 << 19
    origins, ways = np.empty((count, 3), np.float32), np.empty((count, 3), np.float32)
    beam_rays(source.shape, source.angle_of_share, count, 3, origins, ways)
    angle = np.arccos(np.clip(-ways[:, 2], -1.0, 1.0))
    turn = np.arctan2(-ways[:, 1], ways[:, 0]) % (2.0 * math.pi)
    edges = np.linspace(0.0, 2.0 * math.pi, 13), np.radians([0, 4, 8, 11.5, 13, 20, 30, 50, 120])
    found = np.histogram2d(turn, angle, bins=list(edges))[0] / count
    fine_turn = (np.arange(2400) + 0.5) / 2400 * 2.0 * math.pi
    fine_angle = np.radians((np.arange(2400) + 0.5) / 20.0)
    a, g = np.meshgrid(fine_turn, fine_angle, indexing="ij")
    own = np.stack([np.sin(g) * np.cos(a), np.sin(g) * np.sin(a), np.cos(g)], -1).reshape(-1, 3)
    weight = intensity_of(web, own).reshape(a.shape) * np.sin(g)
    expected = np.histogram2d(a.ravel(), g.ravel(), bins=list(edges), weights=weight.ravel())[0]
    expected /= expected.sum()
    # pencil: σ of a count by chance is √(p/n); stratified points do better
    assert np.abs(found - expected).max() < 2.5e-4
    zones = web_zones(web, edges[1]) / float(web_flux_lm(web))
    assert_allclose(found.sum(0), zones, atol=2e-4)


def test_shot_and_sampled_light_agree(nothing: RayScene) -> None:
    """A wide square mouth near a floor: what is shot into elements and what a receptor samples."""
    floor = rectangle(
        "floor",
        (-1.0, -1.0, 0.0),
        edge_u=(2.0, 0.0, 0.0),
        edge_v=(0.0, 2.0, 0.0),
        grain=Grain(0.2, 0.2),
    )
    source = light_of(lopsided(), centre=(0.0, 0.0, 0.8), mouth_m=(0.6, 0.3), square=True)
    stage = stage_of([floor], sources=[source])
    surfaces = stage.surfaces
    scene = RayScene(surfaces.corners)
    exposed = exposed_points(surfaces, scene)
    shot = element_light(surfaces, scene, source, exposed, Budget(beam_rays=1 << 21))
    points = surfaces.element_points.reshape(-1, 3).astype(np.float64)
    sampled = _lux(nothing, source, points).reshape(-1, 16).mean(1)
    middle = surfaces.element_points.mean(1)
    near = np.hypot(middle[:, 0], middle[:, 1]) < 0.9
    assert_allclose(float(shot[near].sum()), float(sampled[near].sum()), rtol=2e-3)
    assert np.quantile(np.abs(shot[near] / sampled[near] - 1.0), 0.9) < 0.05


def test_round_web_is_the_round_beam(nothing: RayScene) -> None:
    """pencil: two equal planes are a round beam, near its mouth and far."""
    profile = round_beam(np.radians([0.0, 10.0, 20.0, 35.0]), np.array([1.0, 0.8, 0.3, 0.0]))
    old = beam(
        "b",
        np.array([0.0, 0.0, 2.0]),
        axis=DOWN,
        aperture_m=0.3,
        profile=profile,
        flux_lm=900.0,
        colour=WHITE,
    )
    new = light_of(round_web(profile, 900.0), mouth_m=(0.3, 0.3))
    points = np.array([[0.0, 0.0, 0.0], [0.4, 0.2, 0.0], [0.0, 0.05, 1.8], [-0.9, 0.0, 0.2]])
    assert_allclose(_lux(nothing, new, points), _lux(nothing, old, points), rtol=5e-3, atol=1e-3)
