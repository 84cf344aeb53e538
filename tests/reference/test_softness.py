"""How large a source is, and how its light falls off: near it is not a point.

Source: closed forms of solid angle and of irradiance on the axis of a matte disc, square, ball and
line. Squares and balls have a closed form in the engine; a disc is a matte beam over a round mouth
and is sampled, here with enough points for 1e-4.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.reference.scenes.stages import WHITE, matte_beam, rectangle, stage_of

from falloff.rays import RayScene
from falloff.readings.softness import angular_size
from falloff.sources import Source, ball, beam, panel, sun
from falloff.transport.closed_form import sphere_irradiance
from falloff.transport.direct import Receivers, direct_light

DOWN = np.array([0.0, 0.0, -1.0])


@pytest.fixture(scope="module")
def nothing() -> RayScene:
    """Rays in an open place: one floor far below."""
    floor = rectangle("floor", (-1.0, -1.0, -50.0), edge_u=(2.0, 0.0, 0.0), edge_v=(0.0, 2.0, 0.0))
    return RayScene(stage_of([floor]).surfaces.corners)


def _light_below(nothing: RayScene, source: Source) -> float:
    """Illuminance (lx) at the origin, looking up."""
    receivers = Receivers(
        np.zeros((1, 3), np.float32), np.array([[0.0, 0.0, 1.0]], np.float32), np.ones(1, np.bool_)
    )
    return float(direct_light(nothing, source, receivers, per_point=16_384, seed=1)[0])


def _disc(diameter_m: float, distance_m: float) -> Source:
    """A matte disc of luminance one: Φ = π A."""
    return beam(
        "disc",
        np.array([0.0, 0.0, distance_m]),
        axis=DOWN,
        aperture_m=diameter_m,
        profile=matte_beam(2048),
        flux_lm=math.pi * math.pi * diameter_m**2 / 4,
        colour=WHITE,
    )


def _square(side_m: float, distance_m: float) -> Source:
    """A matte square of luminance one, square to the way down."""
    corner = np.array([-side_m / 2, -side_m / 2, distance_m])
    return panel(
        "square",
        corner,
        edge_u=np.array([0.0, side_m, 0.0]),
        edge_v=np.array([side_m, 0.0, 0.0]),
        flux_lm=math.pi * side_m**2,
        colour=WHITE,
    )


@pytest.mark.parametrize(
    ("distance_m", "disc", "square"),
    [
        (1.8, 0.058824, 0.073478),  # source: SOF-4, E/(πL) of a 0.9 m disc and square on the axis
        (1.2, 0.123288, 0.150963),  # source: SOF-4
        (0.75, 0.264706, 0.311277),  # source: SOF-4
    ],
)
def test_light_on_the_axis(
    nothing: RayScene, distance_m: float, disc: float, square: float
) -> None:
    assert_allclose(_light_below(nothing, _disc(0.9, distance_m)) / math.pi, disc, atol=1e-4)
    assert_allclose(_light_below(nothing, _square(0.9, distance_m)) / math.pi, square, atol=1e-6)


def test_gain_from_coming_nearer(nothing: RayScene) -> None:
    """SOF-5: from 1.8 m to 0.75 m, in stops."""
    gain = [
        math.log2(_light_below(nothing, make(0.9, 0.75)) / _light_below(nothing, make(0.9, 1.8)))
        for make in (_disc, _square)
    ]
    assert_allclose(gain, [2.170, 2.083], atol=1e-3)  # source: SOF-5; a point would gain 2.526


@pytest.mark.parametrize(
    ("diameters", "expected"),
    [(1, 0.8), (2, 0.9412), (3, 0.9730), (5, 0.9901), (10, 0.9975)],  # source: SOF-6
)
def test_five_times_rule_of_a_disc(nothing: RayScene, diameters: int, expected: float) -> None:
    """E over that of a point of equal intensity, at so many diameters."""
    point = math.pi / 4 / diameters**2  # pencil: I/d² with I = L A, diameter 1 m
    assert_allclose(_light_below(nothing, _disc(1.0, diameters)) / point, expected, atol=1e-4)


@pytest.mark.parametrize(
    ("sides", "expected"),
    [(5.0, 0.98685), (5.0 * math.sqrt(2.0), 0.99338)],  # source: SOF-7
)
def test_five_times_rule_of_a_square(nothing: RayScene, sides: float, expected: float) -> None:
    found = _light_below(nothing, _square(1.0, sides)) * sides**2
    assert_allclose(found, expected, atol=1e-5)


@pytest.mark.parametrize(
    ("lengths", "expected"),
    [(1, 0.86365), (2, 0.96055), (3, 0.98193), (5, 0.99339), (10, 0.99834)],  # source: SOF-8
)
def test_thin_strip_is_a_line(nothing: RayScene, lengths: int, expected: float) -> None:
    """A strip of 1 mm × 1 m stands for a matte line; its width is worth less than 1e-6."""
    corner = np.array([-0.5, -0.0005, float(lengths)])
    strip = panel(
        "strip",
        corner,
        edge_u=np.array([0.0, 0.001, 0.0]),
        edge_v=np.array([1.0, 0.0, 0.0]),
        flux_lm=math.pi * 0.001,
        colour=WHITE,
    )
    assert_allclose(_light_below(nothing, strip) * lengths**2 / 0.001, expected, atol=2e-5)


@pytest.mark.parametrize("distance_m", [1.0, 0.3, 0.16, 20.0])
def test_ball_is_exact_at_any_distance(nothing: RayScene, distance_m: float) -> None:
    """RT-19: a ball of r = 0.15 m and L = 10 000 cd/m²."""
    flux = math.pi * 1e4 * 4.0 * math.pi * 0.15**2  # pencil: π L A
    source = ball(
        "ball", np.array([0.0, 0.0, distance_m]), radius_m=0.15, flux_lm=flux, colour=WHITE
    )
    expected = 706.8583 / distance_m**2  # source: π L r²/d², 706.86 lx at 1 m
    assert_allclose(_light_below(nothing, source), expected, rtol=1e-6)
    closed = sphere_irradiance(0.0, 0.0, 0.0, *-DOWN, np.array([0.0, 0.0, distance_m, 0.15])) * 1e4
    assert_allclose(closed, expected, rtol=1e-6)


def test_frame_lit_from_behind(nothing: RayScene) -> None:
    """SOF-11: 0.9 × 0.9 m, 10 000 lx behind, half of it scattered through; read at 1.2 m."""
    corner = np.array([-0.45, -0.45, 1.2])
    frame = panel(
        "frame",
        corner,
        edge_u=np.array([0.0, 0.9, 0.0]),
        edge_v=np.array([0.9, 0.0, 0.0]),
        flux_lm=0.5 * 10_000.0 * 0.81,
        colour=WHITE,
    )
    assert_allclose(frame.shape[13], 1591.5, rtol=1e-3)  # source: SOF-11, luminance
    assert_allclose(_light_below(nothing, frame), 754.8, rtol=1e-3)  # source: SOF-11


@pytest.mark.parametrize(
    ("distance_m", "degrees"),
    [(1.8, 28.07), (1.2, 41.11), (0.75, 61.93)],  # source: SOF-1, 2·atan(w/2d) of 0.9 m
)
def test_angular_size(distance_m: float, degrees: float) -> None:
    for source in (_square(0.9, distance_m), _disc(0.9, distance_m)):
        size = angular_size(source, np.zeros(3), "FACE")
        assert_allclose(np.degrees([size.across_rad, size.upward_rad]), degrees, atol=0.01)
        assert_allclose(size.distance_m, distance_m, rtol=1e-12)  # pencil


def test_angular_size_of_a_ball() -> None:
    source = ball("ball", np.array([0.0, 0.0, 1.0]), radius_m=0.15, flux_lm=1.0, colour=WHITE)
    size = angular_size(source, np.zeros(3), "FACE")
    assert_allclose(size.across_rad, 2.0 * math.asin(0.15), rtol=1e-12)  # pencil


INCH_M = 0.0254


def _edge_blur_m(source: Source, gap_m: float, *, about_m: float) -> float:
    """How wide the edge of a shadow is that a straight rim at height `gap_m` throws on the ground.

    The rim runs along y at x = 0, the source stands evenly over it. Looked for within 2 % of half
    of `about_m` at both ends, from the first point that sees any of the source to the first that
    sees all of it: 65,536 rays a point, steps of 1/5000 of the blur, 0.06 mm of 0.3 m.
    """
    rim = rectangle("rim", (-9.0, -9.0, gap_m), edge_u=(0.0, 18.0, 0.0), edge_v=(9.0, 0.0, 0.0))
    deep = rectangle("deep", (-9.0, -9.0, -9.0), edge_u=(0.0, 18.0, 0.0), edge_v=(9.0, 0.0, 0.0))
    shares, steps = [], np.linspace(0.49, 0.51, 101) * about_m
    x = np.concatenate([-steps[::-1], steps])
    points = np.stack([x, 0.0 * x, 0.0 * x], 1).astype(np.float32)
    receivers = Receivers(
        points, np.tile(np.array([0, 0, 1], np.float32), (len(x), 1)), np.ones(len(x), np.bool_)
    )
    for piece in (rim, deep):
        scene = RayScene(stage_of([piece]).surfaces.corners)
        light = direct_light(scene, source, receivers, per_point=65_536, seed=1)
        shares.append(light.astype(np.float64))
    share = shares[0] / shares[1]
    assert share[0] == 0.0  # pencil: dark before the one end
    assert share[-1] == 1.0  # pencil: and bare beyond the other
    blurred = x[(share > 1e-6) & (share < 1.0 - 1e-6)]
    return float(blurred.max() - blurred.min() + steps[1] - steps[0])


@pytest.mark.parametrize(
    ("width_m", "blur_m"),
    [(0.9, 0.3000), (0.1, 0.0333)],  # source: SOF-9, D·b/a with a = 3 m and b = 1 m
)
def test_penumbra_of_a_panel(width_m: float, blur_m: float) -> None:
    found = _edge_blur_m(_square(width_m, 4.0), 1.0, about_m=blur_m)
    assert_allclose(found, blur_m, atol=1e-4)


@pytest.mark.parametrize(
    ("feet", "blur_in", "degrees"),
    [(3.0, 1.17, 60.0), (6.0, 0.58, 33.0), (12.0, 0.29, 17.0)],  # source: C22
)
def test_panel_moved_back_turns_hard(feet: float, blur_in: float, degrees: float) -> None:
    """C22: a 42 in panel, the edge of a shadow thrown by what stands one inch off the face."""
    away = feet * 12.0 * INCH_M
    square = _square(42.0 * INCH_M, away + INCH_M)
    found = _edge_blur_m(square, INCH_M, about_m=blur_in * INCH_M) / INCH_M
    assert_allclose(found, blur_in, atol=0.006)  # the case has two decimals
    size = angular_size(square, np.array([0.0, 0.0, INCH_M]), "FACE")
    assert_allclose(math.degrees(size.across_rad), degrees, atol=0.6)  # whole degrees


def test_the_sun_is_the_hardest_of_all() -> None:
    """C22: 0.53 degrees across, so a blur of 0.009 in behind an edge one inch off."""
    source = sun("SUN", toward_sun=-DOWN, normal_lux=1.0, colour=WHITE)
    found = _edge_blur_m(source, INCH_M, about_m=0.00930 * INCH_M) / INCH_M
    assert_allclose(found, 0.009, atol=5e-4)  # source: C22, three decimals
    size = angular_size(source, np.zeros(3), "FACE")
    assert_allclose(math.degrees(size.across_rad), 0.53, atol=0.005)
