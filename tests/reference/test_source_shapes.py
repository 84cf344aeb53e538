"""Light of discs, ovals, egg crates and tubes against closed forms from outside.

A disc is a polygon of 32 corners and equal area. Its own bars are those of a true disc (1e-9 on the
axis, else 1e-6); with 32 corners it keeps 1e-6, and 1e-9 is asked of one with 2,048 corners.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.reference.scenes.stages import WHITE, rectangle, stage_of

from falloff.rays import RayScene
from falloff.sources import (
    EggCrate,
    Source,
    crate_cutoff_rad,
    crate_kept_share,
    ellipse_outline,
    panel,
    polygon,
    regular_outline,
    tube,
)
from falloff.transport.closed_form import outline_irradiance
from falloff.transport.direct import Receivers, direct_light

X, Y, Z = np.eye(3)


@pytest.fixture(scope="module")
def nothing() -> RayScene:
    """Rays in an open place: one floor far below."""
    floor = rectangle("floor", (-1.0, -1.0, -50.0), edge_u=(2.0, 0.0, 0.0), edge_v=(0.0, 2.0, 0.0))
    return RayScene(stage_of([floor]).surfaces.corners)


def _light(
    nothing: RayScene,
    source: Source,
    *,
    normal: tuple[float, float, float] = (0.0, 0.0, 1.0),
    rays: int = 16_384,
    dome: bool = False,
) -> float:
    """Illuminance (lx) at the origin, looking up unless told."""
    receivers = Receivers(
        np.zeros((1, 3), np.float32), np.array([normal], np.float32), np.ones(1, np.bool_)
    )
    return float(direct_light(nothing, source, receivers, per_point=rays, seed=1, dome=dome)[0])


def _disc(
    diameter_m: float,
    height_m: float,
    *,
    aside_m: float = 0.0,
    corners: int = 32,
    crate: EggCrate | None = None,
) -> Source:
    """A disc overhead that looks down, of luminance one before its crate."""
    outline = ellipse_outline(diameter_m, diameter_m, corners=corners)
    return polygon(
        "disc",
        np.array([aside_m, 0.0, height_m]),
        across=Y,
        upward=X,
        outline_m=outline,
        flux_lm=math.pi**2 * diameter_m**2 / 4.0,
        colour=WHITE,
        crate=crate,
    )


def _factor(source: Source, normal: tuple[float, float, float] = (0.0, 0.0, 1.0)) -> float:
    """E/(πL) at the origin by the closed form."""
    corners = int(source.shape[14])
    found = outline_irradiance(0.0, 0.0, 0.0, *normal, source.shape, corners, source.table)
    return float(found) / math.pi


@pytest.mark.parametrize(
    ("radius_m", "height_m", "expected"),
    [(1.0, 2.0, 0.2), (0.5, 2.5, 1.0 / 26.0)],  # source: FF-9, r²/(r² + h²)
)
def test_disc_seen_from_its_axis(radius_m: float, height_m: float, expected: float) -> None:
    assert_allclose(_factor(_disc(2.0 * radius_m, height_m)), expected, atol=1e-6)
    round_one = _disc(2.0 * radius_m, height_m, corners=2048)
    assert_allclose(_factor(round_one), expected, atol=1e-9)


@pytest.mark.parametrize(("aside_m", "expected"), [(1.0, 0.1464466), (2.0, 0.0658784)])
def test_disc_seen_from_aside(aside_m: float, expected: float) -> None:
    assert_allclose(_factor(_disc(2.0, 2.0, aside_m=aside_m)), expected, atol=1e-6)  # source: FF-10


def test_disc_seen_by_an_upright_element() -> None:
    disc = _disc(1.0, 1.0, aside_m=2.0)
    assert_allclose(_factor(disc, (1.0, 0.0, 0.0)), 0.0203888, atol=1e-6)  # source: FF-11


@pytest.mark.parametrize(
    ("distance_m", "expected"),
    [(1.8, 0.058824), (1.2, 0.123288), (0.75, 0.264706)],  # source: SOF-4, a 0.9 m disc
)
def test_disc_on_its_axis(nothing: RayScene, distance_m: float, expected: float) -> None:
    light = _light(nothing, _disc(0.9, distance_m))
    assert_allclose(light / math.pi, expected, atol=1e-6)


@pytest.mark.parametrize(
    ("distance_m", "expected_sr"),
    [(1.8, 0.18760), (1.2, 0.40006), (0.75, 0.89540)],  # source: SOF-2, 2π(1 − d/√(d² + r²))
)
def test_solid_angle_of_a_disc(nothing: RayScene, distance_m: float, expected_sr: float) -> None:
    """Two domes back to back see every direction alike, so they read L times the solid angle."""
    disc = _disc(0.9, distance_m)
    both = sum(
        _light(nothing, disc, normal=(0.0, 0.0, way), dome=True, rays=65_536) for way in (1.0, -1.0)
    )
    assert_allclose(both, expected_sr, atol=1e-4)


@pytest.mark.parametrize(
    ("distance_m", "expected_sr"),
    [(1.8, 0.23543), (1.2, 0.49441), (0.75, 1.07160)],  # source: SOF-3, four arcsines
)
def test_solid_angle_of_a_square(nothing: RayScene, distance_m: float, expected_sr: float) -> None:
    """As of a disc, of 0.9 × 0.9 m."""
    square = panel(
        "square",
        np.array([-0.45, -0.45, distance_m]),
        edge_u=0.9 * Y,
        edge_v=0.9 * X,
        flux_lm=math.pi * 0.81,
        colour=WHITE,
    )
    both = sum(
        _light(nothing, square, normal=(0.0, 0.0, way), dome=True, rays=65_536)
        for way in (1.0, -1.0)
    )
    assert_allclose(both, expected_sr, atol=1e-4)


@pytest.mark.parametrize(
    ("low_m", "high_m", "gap_m", "expected"),
    [
        (1.0, 1.0, 1.0, 0.381966),  # source: FF-6, (3 − √5)/2
        (1.0, 1.0, 3.0, 0.0916731),  # source: FF-7
        (0.6, 0.3, 2.0, 0.0202579),  # source: FF-8
    ],
)
@pytest.mark.parametrize("corners", [32, 2048])
def test_coaxial_discs_by_the_closed_form(
    low_m: float, high_m: float, gap_m: float, expected: float, corners: int
) -> None:
    """The mean over the lower disc by Gauss's quadrature over 24 radii."""
    nodes, weights = np.polynomial.legendre.leggauss(24)
    share = 0.5 * (nodes + 1.0)
    seen = [
        _factor(_disc(2.0 * high_m, gap_m, aside_m=float(low_m * one), corners=corners))
        for one in share
    ]
    assert_allclose(float((weights * share) @ np.array(seen)), expected, atol=1e-6)


@pytest.mark.parametrize(
    ("diameters", "expected"),
    [(1, 0.8), (2, 0.9412), (3, 0.9730), (5, 0.9901), (10, 0.9975)],  # source: SOF-6
)
def test_five_times_rule(nothing: RayScene, diameters: int, expected: float) -> None:
    point = math.pi / 4.0 / diameters**2  # pencil: I/d², I = L A
    assert_allclose(_light(nothing, _disc(1.0, diameters)) / point, expected, atol=1e-4)


def test_rays_of_a_polygon_fill_it_evenly(nothing: RayScene) -> None:
    """The dome has no closed form; a flat receiver's mean of rays must be its closed form."""
    octagon = polygon(
        "o",
        np.array([0.3, -0.2, 0.8]),
        across=Y,
        upward=X,
        outline_m=regular_outline(8, between_sides_m=0.9) * (1.0, 0.4),
        flux_lm=100.0,
        colour=WHITE,
    )
    flat = _light(nothing, octagon)
    up, down = (
        _light(nothing, octagon, normal=(0.0, 0.0, way), dome=True, rays=65_536)
        for way in (1.0, -1.0)
    )
    assert_allclose(up - down, flat, rtol=1e-4)  # pencil: (1 + c)/2 − (1 − c)/2 = c


def test_area_and_facing_of_outlines() -> None:
    corners = np.array([[0.0, 0.0], [0.6, 0.0], [0.0, 0.4]])
    right, left = (
        polygon("t", Z, across=X, upward=Y, outline_m=way, flux_lm=3.0, colour=WHITE)
        for way in (corners, corners[::-1])
    )
    assert_allclose(right.shape[12:14], [0.12, 3.0 / (math.pi * 0.12)])  # pencil
    assert_allclose(left.shape[9:14], right.shape[9:14])
    oval = polygon(
        "e", Z, across=X, upward=Y, outline_m=ellipse_outline(0.8, 0.5), flux_lm=1.0, colour=WHITE
    )
    assert_allclose(oval.shape[12], math.pi * 0.4 * 0.25)  # pencil: π a b
    octagon = regular_outline(8, between_sides_m=1.2)
    assert_allclose([octagon.min(), octagon.max()], [-0.6, 0.6])  # pencil


@pytest.mark.parametrize("share", [0.0, 0.3, 0.6, 0.9])
def test_polygon_sinks_below_the_horizon_as_a_panel_does(share: float) -> None:
    """pencil: a rectangle given as an outline is the rectangle, wherever the horizon cuts it."""
    normal = (math.sin(1.2 + 0.3 * share), 0.0, -math.cos(1.2 + 0.3 * share))
    square = polygon(
        "s",
        np.array([0.4, 0.1, 0.7]),
        across=Y,
        upward=X,
        outline_m=np.array([[-0.4, -0.6], [0.4, -0.6], [0.4, 0.6], [-0.4, 0.6]]),
        flux_lm=1.0,
        colour=WHITE,
    )
    same = outline_irradiance(0.0, 0.0, 0.0, *normal, square.shape, 0, square.table)
    assert_allclose(_factor(square, normal) * math.pi, same, rtol=1e-9)
    assert same > 0.0


# Egg crates ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("across", "upward", "expected"),
    [
        (1.0, 1.0, 0.199825),  # source: FF-1, ends of a cube
        (0.5, 0.5, 0.415253),  # source: FF-3, 2 × 2, gap 1
        (0.1, 0.1, 0.826995),  # source: FF-3, 10 × 10, gap 1
        (0.54, 0.675, 0.350569),  # source: FF-3, 5 × 4, gap 2.7
        (1.0, 0.0, math.sqrt(2.0) - 1.0),  # pencil: a long slot as deep as wide, crossed strings
        (0.0, 0.0, 1.0),  # pencil
    ],
)
def test_crate_keeps_the_view_factor_of_its_cells(
    across: float, upward: float, expected: float
) -> None:
    assert_allclose(crate_kept_share(EggCrate(across, upward)), expected, atol=1e-6)


def test_crate_cuts_off_where_a_cell_closes() -> None:
    across, upward = crate_cutoff_rad(EggCrate(1.0, 0.0))
    assert_allclose([across, upward], [math.pi / 4.0, math.pi / 2.0])  # pencil: atan(width/depth)


def _crated(half_m: float, crate: EggCrate | None) -> Source:
    return panel(
        "p",
        np.array([-half_m, -half_m, 2.0]),
        edge_u=np.array([0.0, 2.0 * half_m, 0.0]),
        edge_v=np.array([2.0 * half_m, 0.0, 0.0]),
        flux_lm=1000.0,
        colour=WHITE,
        crate=crate,
    )


def test_flux_follows_the_crate() -> None:
    assert_allclose(_crated(0.5, EggCrate(1.0, 1.0)).flux_lm, 199.825, atol=1e-3)  # source: FF-1
    disc = _disc(1.0, 1.0, crate=EggCrate(1.0, 1.0))
    bare = math.pi**2 / 4.0  # pencil: π A at luminance one
    assert_allclose(disc.flux_lm / bare, 0.199825, atol=1e-6)  # source: FF-1


def test_crate_far_away_takes_nothing_on_the_axis(nothing: RayScene) -> None:
    """pencil: on the axis of a small face every cell is seen to its ground."""
    bare, crated = (_light(nothing, _crated(0.01, c)) for c in (None, EggCrate(1.0, 1.0)))
    assert_allclose(crated / bare, 1.0, atol=0.006)  # 0.5 % of slope is left at its rim


@pytest.mark.parametrize("degrees", [10.0, 20.0, 40.0, 50.0])
def test_crate_seen_aslant(nothing: RayScene, degrees: float) -> None:
    """pencil: (1 − a tanθ) of a bare small face, turned in the plane of one pair of its walls."""
    slope = math.tan(math.radians(degrees))
    sources = [
        panel(
            "p",
            np.array([2.0 * slope - 0.005, -0.005, 2.0]),
            edge_u=np.array([0.0, 0.01, 0.0]),
            edge_v=np.array([0.01, 0.0, 0.0]),
            flux_lm=1.0,
            colour=WHITE,
            crate=crate,
        )
        for crate in (EggCrate(0.7, 1.0), EggCrate(0.0, 0.0))
    ]
    crated, bare = (_light(nothing, source) for source in sources)
    expected = max(0.0, 1.0 - slope) * (1.0 - 0.7 * 0.00125)  # the mean slope across, at its rim
    assert_allclose(crated / bare, expected, atol=2e-3)


def test_light_of_a_crated_face_adds_up_to_its_flux(nothing: RayScene) -> None:
    """pencil: illuminance over a wide plane under the face, by rings, is the flux that it sends."""
    face = _disc(0.2, 1.0, crate=EggCrate(0.6, 0.6))
    at = (np.arange(40) + 0.5) / 40.0 * 4.0 - 2.0
    points = np.stack([*(a.ravel() for a in np.meshgrid(at, at)), np.zeros(1600)], 1)
    receivers = Receivers(
        points.astype(np.float32),
        np.tile(np.array([0, 0, 1], np.float32), (1600, 1)),
        np.ones(1600, np.bool_),
    )
    light = direct_light(nothing, face, receivers, per_point=256, seed=1)
    assert_allclose(float(light.sum()) * 0.01, face.flux_lm, rtol=5e-3)


# Tubes -----------------------------------------------------------------------------------


def _tube(length_m: float, radius_m: float, middle: tuple[float, float, float]) -> Source:
    """A tube along x of luminance one."""
    return tube(
        "t",
        np.array(middle),
        axis=X,
        length_m=length_m,
        radius_m=radius_m,
        flux_lm=2.0 * math.pi**2 * radius_m * length_m,
        colour=WHITE,
    )


@pytest.mark.parametrize(
    ("lengths", "expected"),
    [(1, 0.86365), (2, 0.96055), (3, 0.98193), (5, 0.99339), (10, 0.99834)],  # source: SOF-8
)
def test_thin_tube_is_a_matte_line(nothing: RayScene, lengths: int, expected: float) -> None:
    radius = 1e-4
    light = _light(nothing, _tube(1.0, radius, (0.0, 0.0, float(lengths))))
    point = 2.0 * radius / lengths**2  # pencil: I/d², I = L · length · 2 r square to the tube
    assert_allclose(light / point, expected, atol=2e-4)


@pytest.mark.parametrize("radius_m", [0.002, 0.02])
def test_far_tube_is_a_point(nothing: RayScene, radius_m: float) -> None:
    light = _light(nothing, _tube(0.1, radius_m, (0.0, 0.0, 20.0)))
    assert_allclose(light, 0.1 * 2.0 * radius_m / 20.0**2, rtol=1e-3)  # pencil: length × 2 r


def test_long_fat_tube_is_an_endless_cylinder(nothing: RayScene) -> None:
    """pencil: an endless matte cylinder gives πL r/d at any distance d of its axis, facing it.

    By flux: π L 2π r of each metre over a mantle of 2π d, all of it falling square in the mean.
    """
    for distance in (0.11, 0.3, 1.0):
        light = _light(nothing, _tube(2000.0, 0.1, (0.0, 0.0, distance)), rays=65_536)
        assert_allclose(light, math.pi * 0.1 / distance, rtol=2e-3)


def test_all_round_a_tube_its_flux_falls(nothing: RayScene) -> None:
    """pencil: what falls on a closed ball round the tube is its flux; ends are dark."""
    source = _tube(0.6, 0.05, (0.0, 0.0, 0.0))
    node, weight = np.polynomial.legendre.leggauss(48)
    sine = np.sqrt(1.0 - node**2)
    ways = np.stack([node, sine * math.cos(0.4), sine * math.sin(0.4)], 1).astype(np.float32)
    receivers = Receivers(ways * np.float32(1.5), -ways, np.ones(48, np.bool_))
    light = direct_light(nothing, source, receivers, per_point=4096, seed=2)
    found = float(light @ weight) * 2.0 * math.pi * 1.5**2
    assert_allclose(found, source.flux_lm, rtol=2e-3)
