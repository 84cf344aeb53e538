"""CIE 171:2006, the analytical cases that our sources can state.

Source: the cases of CIE 171:2006 section 5 (points A–F on the wall y = 0, G–N on the floor of a
black room of 4 × 4 × 3 m). The published tables are copyright: every literal here is the case's
closed form or quadrature recomputed, and agrees with the published one (those known to be in error
excepted). Readings come from the engine's probes; the bar is 1 %, and cases without noise are held
to what the case itself allows.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.reference.scenes.stages import (
    WHITE,
    box_room,
    face_means,
    matte_beam,
    probe_at,
    rectangle,
    stage_of,
)

from falloff.daylight import Daylight, general_sky, overcast_sky
from falloff.sources import Source, ball, beam, panel, sky_opening
from falloff.stage import Grain, Probe
from falloff.stage.records import Piece
from falloff.transport import Budget, trace, trace_probes
from falloff.types import Float64Array
from falloff.units import Lux

ROOM = (4.0, 4.0, 3.0)
WALL = tuple(
    probe_at(name, (2.0, 0.0, z), (0.0, 1.0, 0.0))
    for name, z in zip("ABCDEF", (2.75, 2.25, 1.75, 1.25, 0.75, 0.25), strict=True)
)
FAR_WALL = tuple(
    probe_at(name, (2.0, 4.0, z), (0.0, -1.0, 0.0))
    for name, z in zip("ABCDEF", (2.75, 2.25, 1.75, 1.25, 0.75, 0.25), strict=True)
)
FLOOR = tuple(
    probe_at(name, (2.0, 0.25 + 0.5 * k, 0.0), (0.0, 0.0, 1.0)) for k, name in enumerate("GHIJKLMN")
)
CEILING = tuple(
    probe_at(name, (2.0, 0.25 + 0.5 * k, 3.0), (0.0, 0.0, -1.0))
    for k, name in enumerate("GHIJKLMN")
)
COARSE = Grain(0.5, 0.5)
READINGS_ONLY = Budget(row_rays=64, element_points=1, element_rays=1, reading_shadow_rays=2048)


def _read(source: Source, probes: tuple[Probe, ...], *pieces: Piece) -> Float64Array:
    """Illuminance (p,) at the probes in a black room."""
    stage = stage_of(pieces or [box_room(ROOM, grain=COARSE)], sources=[source])
    direct, bounced = trace_probes(trace(stage, READINGS_ONLY), probes).mean()
    assert_allclose(bounced, 0.0)  # pencil: nothing reflects
    return np.asarray(direct[0, :, 0])


def _as_stated(found: Float64Array, expected: list[float]) -> None:
    """The table's own tolerance for what is not noisy: 0.02 or 0.5 %, whichever is larger."""
    off = np.abs(found - expected)
    assert (off <= np.maximum(0.02, 0.005 * np.array(expected))).all(), found


def test_lambertian_point() -> None:
    """C171-1 (5.2): 1000 cd straight down from a corner of the ceiling; E = I0 h²/d⁴."""
    at = [
        (0, 0),
        (0.5, 0),
        (1, 0),
        (1.5, 0),
        (0.5, 0.5),
        (1, 0.5),
        (1.5, 0.5),
        (1, 1),
        (1.5, 1),
        (1.5, 1.5),
    ]
    # source: case 5.2, closed form
    expected = [111.11, 105.19, 90.00, 71.11, 99.72, 85.66, 68.05, 74.38, 59.98, 49.38]
    source = beam(
        "point",
        np.array([0.0, 0.0, 3.0]),
        axis=np.array([0.0, 0.0, -1.0]),
        aperture_m=0.001,
        profile=matte_beam(),
        flux_lm=1000.0 * math.pi,
        colour=WHITE,
    )
    # The walls would hide half of a lamp that stands in their corner: a floor alone.
    floor = rectangle(
        "floor", (-1.0, -1.0, 0.0), edge_u=(4.0, 0.0, 0.0), edge_v=(0.0, 4.0, 0.0), grain=COARSE
    )
    probes = tuple(probe_at(f"{x} {y}", (x, y, 0.0), (0.0, 0.0, 1.0)) for x, y in at)
    assert_allclose(_read(source, probes, floor), expected, rtol=0.001)


def test_isotropic_point() -> None:
    """C171-2 (5.2): 10 000 lm from a small ball 3 m up; E = Φ h/(4π d³), exact for a ball."""
    # source: case 5.2, closed form
    expected = [88.42, 75.49, 50.93, 31.26, 19.10, 12.04]
    source = ball("point", np.array([0.0, 0.0, 3.0]), radius_m=0.1, flux_lm=10_000.0, colour=WHITE)
    probes = tuple(probe_at(f"{r}", (float(r), 0.0, 0.0), (0.0, 0.0, 1.0)) for r in range(6))
    floor = rectangle(
        "floor", (-1.0, -3.0, 0.0), edge_u=(8.0, 0.0, 0.0), edge_v=(0.0, 6.0, 0.0), grain=COARSE
    )
    # 0.2 mm of lift under a source 3 m away is worth 0.013 %; the literals have four digits
    assert_allclose(_read(source, probes, floor), expected, rtol=0.001)


def _ceiling_panel() -> Source:
    """A matte panel of 1 × 1 m in the middle of the ceiling, 1000 cd on its axis."""
    return panel(
        "panel",
        np.array([1.5, 1.5, 3.0]),
        edge_u=np.array([0.0, 1.0, 0.0]),
        edge_v=np.array([1.0, 0.0, 0.0]),
        flux_lm=1000.0 * math.pi,
        colour=WHITE,
    )


def test_panel_on_the_wall() -> None:
    """C171-3 (5.3)."""
    expected = [32.68, 75.19, 81.32, 69.06, 53.40, 40.00]  # source: case 5.3, closed form
    assert_allclose(_read(_ceiling_panel(), WALL), expected, rtol=0.002)


def test_panel_on_the_floor() -> None:
    """C171-4 (5.3)."""
    half = [61.42, 79.26, 95.67, 105.78]  # source: case 5.3, closed form
    assert_allclose(_read(_ceiling_panel(), FLOOR), half + half[::-1], rtol=0.002)


@pytest.mark.parametrize(
    "centre", [(2.0, 2.0, 1.5), (0.7, 3.1, 2.2)], ids=["middle", "off the middle"]
)
def test_flux_is_kept(centre: tuple[float, float, float]) -> None:
    """C171-5 (5.4): Σ E·A over the walls of a closed black room is what the lamp gives."""
    stage = stage_of(
        [box_room(ROOM)],
        sources=[ball("lamp", np.array(centre), radius_m=0.01, flux_lm=10_000.0, colour=WHITE)],
    )
    solution = trace(stage, Budget())
    landed = float((solution.direct[0] * stage.surfaces.element_area_m2).sum(dtype=np.float64))
    assert_allclose(landed, 10_000.0, rtol=0.005)  # source: case 5.4


@pytest.mark.parametrize("aperture_m", [0.001, 0.3])
def test_flux_of_a_beam_is_kept(aperture_m: float) -> None:
    """C171-5 for a beam, which is shot: exact, all of it lands. pencil"""
    source = beam(
        "lamp",
        np.array([1.0, 2.0, 2.0]),
        axis=np.array([0.6, 0.0, -0.8]),
        aperture_m=aperture_m,
        profile=matte_beam(),
        flux_lm=5_000.0,
        colour=WHITE,
    )
    stage = stage_of([box_room(ROOM)], sources=[source])
    solution = trace(stage, Budget())
    landed = float((solution.direct[0] * stage.surfaces.element_area_m2).sum(dtype=np.float64))
    assert_allclose(landed, 5_000.0, rtol=2e-3 if aperture_m > 0.1 else 1e-6)


def _glowing(corner: Float64Array, edge_u: Float64Array, edge_v: Float64Array) -> Source:
    """A whole face that sends out 100 lm/m²."""
    area = float(np.linalg.norm(np.cross(edge_u, edge_v)))
    return panel("face", corner, edge_u=edge_u, edge_v=edge_v, flux_lm=100.0 * area, colour=WHITE)


def test_glowing_floor() -> None:
    """C171-6 and 7 (5.6, second scene): the floor glows, walls and ceiling are read."""
    floor = _glowing(np.zeros(3), np.array([4.0, 0.0, 0.0]), np.array([0.0, 4.0, 0.0]))
    probes = tuple(
        probe_at(f"{z}", (2.0, 0.0, z), (0.0, 1.0, 0.0)) for z in (0.75, 1.25, 1.75, 2.25, 2.75)
    )
    # source: case 5.6, configuration factors
    assert_allclose(_read(floor, probes), [35.901, 27.992, 21.639, 16.716, 12.967], atol=0.05)
    half = [26.80, 30.94, 33.98, 35.57]  # source: case 5.6, configuration factors
    assert_allclose(_read(floor, CEILING), half + half[::-1], atol=0.02)


def test_glowing_wall_behind_an_obstruction() -> None:
    """C171-8 (5.7): a block 1 m high, as wide as the room, stands before the glowing wall y = 4."""
    wall = _glowing(np.array([0.0, 4.0, 0.0]), np.array([4.0, 0.0, 0.0]), np.array([0.0, 0.0, 3.0]))
    block = [
        rectangle(
            "back", (0.0, 2.7, 0.0), edge_u=(0.0, 0.0, 1.0), edge_v=(4.0, 0.0, 0.0), grain=COARSE
        ),
        rectangle(
            "front", (0.0, 2.5, 0.0), edge_u=(4.0, 0.0, 0.0), edge_v=(0.0, 0.0, 1.0), grain=COARSE
        ),
        rectangle(
            "top", (0.0, 2.5, 1.0), edge_u=(4.0, 0.0, 0.0), edge_v=(0.0, 0.2, 0.0), grain=COARSE
        ),
    ]
    room = box_room(ROOM, grain=COARSE)
    # source: case 5.7, configuration factor of what is visible (the corrected values)
    found = _read(wall, WALL, room, *block)
    assert_allclose(found, [16.07, 16.33, 15.40, 13.32, 10.32, 7.08], atol=0.02)
    floor = _read(wall, FLOOR[:5], room, *block)
    # at the fourth point a sliver of 0.4 mm is seen, since probes are lifted 0.2 mm
    assert_allclose(floor, [3.38, 3.63, 3.01, 0.0, 0.0], atol=0.02)


# source: case 5.8, Φρ/(S(1−ρ)) with Φ = 10 000 lm, S = 96 m²; exact for the mean of all faces
CUBE = [
    (0.05, 5.48),
    (0.1, 11.57),
    (0.2, 26.04),
    (0.3, 44.64),
    (0.5, 104.17),
    (0.7, 243.06),
    (0.8, 416.67),
    (0.9, 937.50),
    (0.95, 1979.17),
]


@pytest.mark.parametrize(("reflectance", "expected"), CUBE)
def test_bounce_in_a_cube(reflectance: float, expected: float) -> None:
    """C171-9 (5.8): indirect light in a closed cube of 4 m, averaged over its faces."""
    names = dict.fromkeys(("x0", "x1", "y0", "y1", "z0", "z1"), "paint")
    stage = stage_of(
        [box_room((4.0, 4.0, 4.0), materials=names)],
        sources=[ball("lamp", np.full(3, 2.0), radius_m=0.01, flux_lm=10_000.0, colour=WHITE)],
        reflectances={"paint": reflectance},
    )
    solution = trace(stage, Budget())
    area = stage.surfaces.element_area_m2.astype(np.float64)
    per_element = solution.bounced[0, 0][stage.surfaces.element_patch]
    assert_allclose((per_element * area).sum() / area.sum(), expected, rtol=0.005)
    assert_allclose(  # pencil: direct 10 000 lm / 96 m²
        list(face_means(stage, solution.direct[0].astype(np.float64)).values()), 104.167, rtol=0.005
    )


def test_point_of_the_cube() -> None:
    """C171-10: the middle of the floor, direct and in all, reflectance 0.5."""
    names = dict.fromkeys(("x0", "x1", "y0", "y1", "z0", "z1"), "paint")
    stage = stage_of(
        [box_room((4.0, 4.0, 4.0), materials=names)],
        sources=[ball("lamp", np.full(3, 2.0), radius_m=0.01, flux_lm=10_000.0, colour=WHITE)],
        reflectances={"paint": 0.5},
    )
    solution = trace(stage, Budget(row_rays=512, reading_gather_rays=4096))
    probe = probe_at("floor", (2.0, 2.0, 0.0), (0.0, 0.0, 1.0))
    direct, bounced = trace_probes(solution, (probe,)).mean()
    # source: case 5.8 by fine radiosity; 0.02 % more for the probe's lift of 0.2 mm
    assert_allclose(direct[0, 0, 0], 198.94, rtol=0.001)
    assert_allclose((direct + bounced)[0, 0, 0], 311.0, rtol=0.005)


def _opening(
    corner: tuple[float, float, float],
    edge_u: tuple[float, float, float],
    edge_v: tuple[float, float, float],
    *,
    ground: float,
    daylight: Daylight | None = None,
) -> Source:
    """An opening under a sky of 100 lx, so that lux are per cent; traditional overcast if none."""
    return sky_opening(
        "opening",
        np.array(corner),
        edge_u=np.array(edge_u),
        edge_v=np.array(edge_v),
        daylight=daylight or overcast_sky(Lux(100.0), ground_reflectance=ground),
        colour=WHITE,
    )


def _without(face: str) -> Piece:
    return box_room(ROOM, grain=COARSE, leave_out=(face,))


def test_small_roof_opening() -> None:
    """C171-15 (5.9): 1 × 1 m in the middle of the roof, sky type 16."""
    source = _opening((1.5, 1.5, 3.0), (0.0, 1.0, 0.0), (1.0, 0.0, 0.0), ground=0.0)
    # source: case 5.9 by quadrature
    wall = [0.56, 1.78, 2.32, 2.20, 1.82, 1.43]
    floor = [2.29, 3.07, 3.82, 4.29, 4.29, 3.82, 3.07, 2.29]
    _as_stated(_read(source, WALL, _without("z1")), wall)
    _as_stated(_read(source, FLOOR, _without("z1")), floor)


def test_open_roof() -> None:
    """C171-18 (5.9): no roof at all, sky type 16."""
    source = _opening((0.0, 0.0, 3.0), (0.0, 4.0, 0.0), (4.0, 0.0, 0.0), ground=0.0)
    wall = [37.36, 32.14, 26.72, 21.75, 17.50, 14.03]  # source: case 5.9 by quadrature
    floor = [31.35, 36.74, 40.68, 42.74]  # source: case 5.9 by quadrature
    _as_stated(_read(source, WALL, _without("z1")), wall)
    _as_stated(_read(source, FLOOR, _without("z1")), floor + floor[::-1])


def test_window_with_ground_outside() -> None:
    """C171-23 and 24 (5.11): 2 × 1 m in the wall y = 0, ground of reflectance 0.3, sky type 16."""
    source = _opening((3.0, 0.0, 1.0), (-2.0, 0.0, 0.0), (0.0, 0.0, 1.0), ground=0.3)
    room = _without("y0")
    # source: case 5.11 by quadrature; G is the farthest floor point here
    wall = [0.95, 1.06, 1.27, 1.71, 2.06, 2.14]
    floor = [0.94, 1.38, 2.07, 3.19, 4.97, 7.42, 9.11, 5.04]
    ceiling = [0.38, 0.53, 0.75, 1.08, 1.56, 2.13, 2.40, 1.24]
    _as_stated(_read(source, FAR_WALL, room), wall)
    _as_stated(_read(source, FLOOR[::-1], room), floor)
    _as_stated(_read(source, CEILING[::-1], room), ceiling)


def _sky(kind: int, azimuth_deg: float, ground: float) -> Daylight:
    """A sky of 100 lx with the sun at 60°."""
    return general_sky(
        kind,
        sun_altitude_rad=math.radians(60.0),
        sun_azimuth_rad=math.radians(azimuth_deg),
        horizontal_lux=100.0,
        ground_reflectance=ground,
    )


# source: C171-11 to 14 (5.9), 1 × 1 m, by quadrature; two decimals
SMALL_ROOF = {
    1: ([0.46, 1.64, 2.34, 2.26, 1.88, 1.47], [2.34, 3.11, 3.84, 4.29, 4.29, 3.84, 3.11, 2.34]),
    5: ([1.04, 2.39, 2.59, 2.20, 1.70, 1.27], [1.96, 2.52, 3.05, 3.37, 3.37, 3.05, 2.52, 1.96]),
    8: ([0.72, 2.43, 3.86, 4.56, 4.60, 4.18], [6.94, 7.64, 6.77, 5.37, 3.93, 2.71, 1.80, 1.17]),
    12: ([1.74, 3.76, 4.55, 4.61, 4.24, 3.63], [5.72, 6.00, 5.11, 3.97, 2.90, 2.03, 1.40, 0.96]),
}


@pytest.mark.parametrize("kind", sorted(SMALL_ROOF))
def test_small_roof_opening_under_other_skies(kind: int) -> None:
    """The wall A to F faces the sun, whose azimuth is +y."""
    daylight = _sky(kind, 90.0, 0.0)
    corner, edges = (1.5, 1.5, 3.0), ((0.0, 1.0, 0.0), (1.0, 0.0, 0.0))
    source = _opening(corner, *edges, ground=0.0, daylight=daylight)
    wall, floor = SMALL_ROOF[kind]
    _as_stated(_read(source, WALL, _without("z1")), wall)
    _as_stated(_read(source, FLOOR, _without("z1")), floor)


# source: C171-16 and 17 (5.9), 4 × 4 m, by quadrature
OPEN_ROOF = {
    5: (
        [45.12, 35.90, 27.99, 21.64, 16.72, 12.97],
        [26.80, 30.94, 33.98, 35.57, 35.57, 33.98, 30.94, 26.80],
    ),
    12: (
        [67.28, 54.43, 44.20, 36.07, 29.52, 24.20],
        [42.28, 43.88, 43.49, 40.92, 35.90, 29.23, 22.57, 16.80],
    ),
}


@pytest.mark.parametrize("kind", sorted(OPEN_ROOF))
def test_open_roof_under_other_skies(kind: int) -> None:
    daylight = _sky(kind, 90.0, 0.0)
    corner, edges = (0.0, 0.0, 3.0), ((0.0, 4.0, 0.0), (4.0, 0.0, 0.0))
    source = _opening(corner, *edges, ground=0.0, daylight=daylight)
    wall, floor = OPEN_ROOF[kind]
    _as_stated(_read(source, WALL, _without("z1")), wall)
    _as_stated(_read(source, FLOOR, _without("z1")), floor)


# source: C171-21 and 22 (5.11), 2 × 1 m in the wall that faces the sun, by quadrature
WINDOW = {
    1: ([0.95, 1.06, 1.25, 1.51, 1.70, 1.86], [0.87, 1.31, 2.02, 3.20, 5.07, 7.64, 9.32, 5.09]),
    12: ([0.95, 1.06, 2.38, 4.93, 5.81, 5.01], [2.00, 2.80, 4.06, 6.13, 9.54, 14.56, 16.37, 5.03]),
}


@pytest.mark.parametrize("kind", sorted(WINDOW))
def test_window_under_other_skies(kind: int) -> None:
    daylight = _sky(kind, 270.0, 0.3)
    corner, edges = (3.0, 0.0, 1.0), ((-2.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    source = _opening(corner, *edges, ground=0.3, daylight=daylight)
    wall, floor = WINDOW[kind]
    room = _without("y0")
    _as_stated(_read(source, FAR_WALL, room), wall)
    _as_stated(_read(source, FLOOR[::-1], room), floor)
