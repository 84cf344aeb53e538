"""Direct light: the ratio of shadow rays, receivers of both kinds, and what is in the way."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.reference.scenes.stages import WHITE, matte_beam, rectangle, stage_of

from falloff.rays import RayScene
from falloff.sources import Source, ball, beam, panel
from falloff.stage.records import Piece
from falloff.transport.direct import Receivers, direct_light, middle_of
from falloff.types import Float32Array

FLOOR = rectangle("floor", (-5.0, -5.0, -1.0), edge_u=(10.0, 0.0, 0.0), edge_v=(0.0, 10.0, 0.0))


def _screen(edge_x: float) -> Piece:
    """An opaque sheet 0.5 m up that covers all x below `edge_x`, seen from below."""
    return rectangle(
        "screen", (edge_x - 8.0, -4.0, 0.5), edge_u=(0.0, 8.0, 0.0), edge_v=(8.0, 0.0, 0.0)
    )


def _light(
    source: Source,
    *pieces: Piece,
    dome: bool = False,
    per_point: int = 4096,
    normal: tuple[float, float, float] = (0.0, 0.0, 1.0),
) -> float:
    scene = RayScene(stage_of(pieces or [FLOOR]).surfaces.corners)
    receivers = Receivers(
        np.zeros((1, 3), np.float32), np.array([normal], np.float32), np.ones(1, np.bool_)
    )
    return float(direct_light(scene, source, receivers, per_point=per_point, seed=3, dome=dome)[0])


def _panel(half_m: float = 0.5) -> Source:
    return panel(
        "p",
        np.array([-half_m, -half_m, 1.0]),
        edge_u=np.array([0.0, 2.0 * half_m, 0.0]),
        edge_v=np.array([2.0 * half_m, 0.0, 0.0]),
        flux_lm=1000.0,
        colour=WHITE,
    )


def test_half_hidden_panel_gives_half() -> None:
    """pencil: by symmetry, a sheet up to the middle takes half of the light away."""
    assert_allclose(_light(_panel(), FLOOR, _screen(0.0)) / _light(_panel()), 0.5, rtol=2e-3)


@pytest.mark.parametrize("edge_x", [-0.2, -0.1, 0.1, 0.2])
def test_partly_hidden_panel_gives_what_its_seen_part_would(edge_x: float) -> None:
    """pencil: what shows past the sheet's edge at half height begins at twice its x."""
    seen = panel(
        "seen",
        np.array([2.0 * edge_x, -0.5, 1.0]),
        edge_u=np.array([0.0, 1.0, 0.0]),
        edge_v=np.array([0.5 - 2.0 * edge_x, 0.0, 0.0]),
        flux_lm=1000.0 * (0.5 - 2.0 * edge_x),
        colour=WHITE,
    )
    assert_allclose(_light(_panel(), FLOOR, _screen(edge_x)), _light(seen), rtol=5e-3)


def test_near_part_of_a_window_hidden_is_not_mistaken() -> None:
    """Closed form times the share of free rays would be far out here; the ratio is not.

    A tall panel beside the receiver, its near end behind a sheet. pencil: the seen part alone.
    """
    whole = panel(
        "w",
        np.array([0.3, -0.2, 0.02]),
        edge_u=np.array([0.0, 0.0, 3.0]),
        edge_v=np.array([0.0, 0.4, 0.0]),
        flux_lm=1200.0,
        colour=WHITE,
    )
    assert_allclose(whole.shape[9:12], [-1.0, 0.0, 0.0])
    # A sheet at x = 0.15 up to z = 0.25 hides the panel up to z = 0.5.
    sheet = rectangle("sheet", (0.15, -4.0, -1.0), edge_u=(0.0, 0.0, 1.25), edge_v=(0.0, 8.0, 0.0))
    seen = panel(
        "s",
        np.array([0.3, -0.2, 0.5]),
        edge_u=np.array([0.0, 0.0, 2.52]),
        edge_v=np.array([0.0, 0.4, 0.0]),
        flux_lm=1200.0 * 2.52 / 3.0,
        colour=WHITE,
    )
    found, expected = _light(whole, FLOOR, sheet), _light(seen)
    free = 2.52 / 3.0
    assert abs(math.log2(_light(whole) * free / expected)) > 1.0  # the estimate that is refused
    assert_allclose(found, expected, rtol=0.01)


def test_panel_shines_from_its_front_alone() -> None:
    behind = panel(
        "p",
        np.array([-0.5, -0.5, 1.0]),
        edge_u=np.array([1.0, 0.0, 0.0]),
        edge_v=np.array([0.0, 1.0, 0.0]),
        flux_lm=1000.0,
        colour=WHITE,
    )
    assert _light(behind) == 0.0  # pencil: it looks up


@pytest.mark.parametrize("degrees", [0.0, 45.0, 90.0, 135.0, 180.0])
def test_dome_weighs_by_cardioid(degrees: float) -> None:
    """pencil: E (1 + cosθ)/2 from a lamp as good as a point, E = Φ/(4πd²)."""
    angle = math.radians(degrees)
    lamp = ball("b", np.array([0.0, 0.0, 2.0]), radius_m=0.001, flux_lm=1000.0, colour=WHITE)
    expected = 1000.0 / (16.0 * math.pi) * 0.5 * (1.0 + math.cos(angle))
    found = _light(lamp, dome=True, normal=(math.sin(angle), 0.0, math.cos(angle)))
    assert_allclose(found, expected, rtol=1e-4, atol=1e-3)


def test_beam_cuts_off_beyond_its_widest_angle() -> None:
    inside, outside = (
        beam(
            "b",
            np.array([0.0, 0.0, 2.0]),
            axis=np.array([math.sin(a), 0.0, -math.cos(a)]),
            aperture_m=0.001,
            profile=matte_beam(),
            flux_lm=100.0,
            colour=WHITE,
        )
        for a in (0.4, math.pi / 2 + 0.01)
    )
    # pencil: I0 = Φ/π, E = I0 cos a / d²
    assert_allclose(_light(inside), 100.0 / math.pi * math.cos(0.4) / 4.0, rtol=1e-4)
    assert _light(outside) == 0.0  # pencil


def test_receivers_left_out_stay_dark() -> None:
    scene = RayScene(stage_of([FLOOR]).surfaces.corners)
    alive = np.array([True, False])
    receivers = Receivers(
        np.zeros((2, 3), np.float32), np.array([[0, 0, 1], [0, 0, 1]], np.float32), alive
    )
    light = direct_light(scene, _panel(), receivers, per_point=64, seed=3)
    assert light[0] > 0.0
    assert light[1] == 0.0  # pencil


def test_groups_average_their_points_that_count() -> None:
    """pencil: the mean of two points, and of the one left when the other is buried."""
    scene = RayScene(stage_of([FLOOR]).surfaces.corners)
    points: Float32Array = np.array([[0, 0, 0], [1, 0, 0]], np.float32)
    normals: Float32Array = np.array([[0, 0, 1], [0, 0, 1]], np.float32)

    def light(alive: tuple[bool, bool], group: int) -> Float32Array:
        receivers = Receivers(points, normals, np.array(alive))
        return direct_light(
            scene,
            _panel(),
            receivers,
            per_point=1024,
            seed=3,
            group=group,
            stride=group,
            pool_all=True,
        )

    single = light((True, True), 1)
    assert_allclose(light((True, True), 2)[0], single.mean(), rtol=1e-4)
    assert_allclose(light((True, False), 2)[0], single[0], rtol=1e-4)
    assert light((False, False), 2)[0] == 0.0


def test_points_on_one_surface_share_their_rays() -> None:
    """Three points an inch apart and one on another face: the three agree, the other is its own."""
    screen = RayScene(stage_of([FLOOR, _screen(0.0)]).surfaces.corners)
    points = np.array([[0, 0, 0], [0.02, 0, 0], [0, 0.02, 0], [0, 0, 0]], np.float32)
    normals = np.array([[0, 0, 1], [0, 0, 1], [0, 0, 1], [1, 0, 0]], np.float32)
    receivers = Receivers(points, normals, np.ones(4, np.bool_))
    shared, own = (
        direct_light(screen, _panel(), receivers, per_point=4096, seed=3, group=group, stride=group)
        for group in (4, 1)
    )
    assert shared[0] == shared[1] == shared[2]  # pencil: one ratio, one closed form
    # pencil: the mean visibility of the three, at the first one's closed form
    assert_allclose(shared[0], own[:3].mean(), rtol=0.01)
    assert_allclose(shared[3], own[3], rtol=1e-6)  # pencil: the same rays alone


def test_middle_and_reach_of_sources() -> None:
    middle, radius = middle_of(_panel(0.5))
    assert_allclose(middle, [0.0, 0.0, 1.0])  # pencil
    assert_allclose(radius, math.sqrt(0.5))  # pencil: half the diagonal
    lamp = ball("b", np.array([1.0, 2.0, 3.0]), radius_m=0.2, flux_lm=1.0, colour=WHITE)
    assert_allclose(middle_of(lamp)[1], 0.2)  # pencil
