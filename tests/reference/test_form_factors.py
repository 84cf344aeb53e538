"""Shares of light between simple shapes, through the engine's own closed forms and rays.

Source: published configuration factors (R. Siegel and J. Howell, "Thermal Radiation Heat
Transfer"; F. Incropera and D. DeWitt, table 13.2), recomputed from their formulas and checked by
quadrature. Point to polygon is a closed form in the engine and is held to 1e-6. Surface to surface
is counted from the rays of the bounce operator and is held to the bar of 1 %, or tighter where
the number of rays allows (0.3 %).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.reference.scenes.stages import (
    WHITE,
    area_factor,
    box_room,
    disc,
    factors_to,
    matte_beam,
    rectangle,
    stage_of,
)

from falloff.rays import RayScene
from falloff.sources import beam
from falloff.stage import Grain, Stage
from falloff.transport import Budget
from falloff.transport.bounce import Rows, trace_rows
from falloff.transport.closed_form import quad_irradiance
from falloff.transport.direct import Receivers, direct_light
from falloff.transport.gather import gather_lists

# 8192 rays from each of 100 or more patches: one standard error is 0.1 % (measured over seeds).
MANY_ROWS = Budget(row_rays=8192)
UP, DOWN = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)


def _factor_to_quad(
    normal: tuple[float, float, float],
    corner: tuple[float, float, float],
    edge_u: tuple[float, float, float],
    edge_v: tuple[float, float, float],
) -> float:
    """Configuration factor E/(πL) of a point at the origin to a parallelogram."""
    quad = np.array([*corner, *edge_u, *edge_v])
    return float(quad_irradiance(0.0, 0.0, 0.0, *normal, quad)) / math.pi


@pytest.mark.parametrize(
    ("width", "depth", "gap", "expected"),
    [
        (1.0, 1.0, 1.0, 0.1385316),  # source: FF-12, element parallel to a rectangle, over a corner
        (1.0, 2.0, 3.0, 0.0522678),  # source: FF-12
    ],
)
def test_point_parallel_to_rectangle(
    width: float, depth: float, gap: float, expected: float
) -> None:
    found = _factor_to_quad(UP, (0.0, 0.0, gap), (width, 0.0, 0.0), (0.0, depth, 0.0))
    assert_allclose(found, expected, atol=1e-7)


@pytest.mark.parametrize(
    ("height", "expected"),
    [(1.0, 0.0557342), (2.0, 0.0950679)],  # source: FF-13, element square to a rectangle
)
def test_point_square_to_rectangle(height: float, expected: float) -> None:
    """A spot of floor looks up past a wall 1 m away and 1 m wide, from before its corner."""
    found = _factor_to_quad(UP, (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, height))
    assert_allclose(found, expected, atol=1e-7)


def test_point_sees_the_part_of_a_rectangle_above_its_horizon() -> None:
    """pencil: a wall half sunk under the floor counts as its upper half alone."""
    whole = _factor_to_quad(UP, (1.0, 0.0, -2.0), (0.0, 1.0, 0.0), (0.0, 0.0, 3.0))
    upper = _factor_to_quad(UP, (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    assert_allclose(whole, upper, rtol=1e-12)


def _mean_factor(
    width: float, depth: float, *, quad: tuple[float, ...], crowded: bool = False
) -> float:
    """Factor of a level rectangle at the origin to a parallelogram, the closed form at 48² points.

    The mean by Gauss's quadrature; crowded: points closer together towards y = 0, by squares.
    """
    nodes, weights = np.polynomial.legendre.leggauss(48)
    share, weight = 0.5 * (nodes + 1.0), 0.5 * weights
    down, down_weight = (share**2, weight * 2.0 * share) if crowded else (share, weight)
    seen = [
        [quad_irradiance(x, y, 0.0, *UP, np.array(quad)) for y in depth * down]
        for x in width * share
    ]
    return float(weight @ np.array(seen) @ down_weight) / math.pi


@pytest.mark.parametrize(
    ("width", "depth", "gap", "expected"),
    [
        (1.0, 1.0, 1.0, 0.199825),  # source: FF-1
        (4.0, 4.0, 3.0, 0.282733),  # source: FF-3
        (5.0, 4.0, 2.7, 0.350569),  # source: FF-3
        (2.0, 2.0, 1.0, 0.415253),  # source: FF-3
        (10.0, 10.0, 1.0, 0.826995),  # source: FF-3
    ],
)
def test_opposed_rectangles_by_the_closed_form(
    width: float, depth: float, gap: float, expected: float
) -> None:
    quad = (0.0, 0.0, gap, width, 0.0, 0.0, 0.0, depth, 0.0)
    assert_allclose(_mean_factor(width, depth, quad=quad), expected, atol=1e-6)


@pytest.mark.parametrize(
    ("edge", "depth", "height", "expected"),
    [
        (1.0, 1.0, 1.0, 0.200044),  # source: FF-2
        (4.0, 4.0, 3.0, 0.179317),  # source: FF-4
        (4.0, 3.0, 4.0, 0.239089),  # source: FF-4, the other way
        (1.0, 1.0, 2.0, 0.232853),  # source: FF-5
    ],
)
def test_rectangles_with_a_common_edge_by_the_closed_form(
    edge: float, depth: float, height: float, expected: float
) -> None:
    quad = (0.0, 0.0, 0.0, edge, 0.0, 0.0, 0.0, 0.0, height)
    assert_allclose(_mean_factor(edge, depth, quad=quad, crowded=True), expected, atol=1e-6)


def _rows_of(stage: Stage) -> tuple[Stage, Rows]:
    return stage, trace_rows(stage.surfaces, RayScene(stage.surfaces.corners), MANY_ROWS)


@pytest.fixture(scope="module")
def cube() -> tuple[Stage, Rows]:
    return _rows_of(stage_of([box_room((1.0, 1.0, 1.0), grain=Grain(0.1, 0.1))]))


@pytest.mark.parametrize(
    ("start", "target", "expected"),
    [
        ("z0", "z1", 0.199825),  # source: FF-1, opposite faces of a cube
        ("z0", "x1", 0.200044),  # source: FF-2, adjacent faces of a cube
        ("x0", "y1", 0.200044),  # source: FF-2
        ("y1", "y0", 0.199825),  # source: FF-1
    ],
)
def test_faces_of_a_cube(
    cube: tuple[Stage, Rows], start: str, target: str, expected: float
) -> None:
    stage, rows = cube
    found = _between_faces(stage, rows, start, target)
    assert_allclose(found, expected, rtol=0.003)


def _between_faces(stage: Stage, rows: Rows, start: str, target: str) -> float:
    """Factor between two named faces of the one piece of a stage (faces hold equal patches)."""
    surfaces = stage.surfaces
    face = {name: k for k, name in enumerate(surfaces.names)}
    name_of = surfaces.face_name[surfaces.element_face]
    mine = np.flatnonzero(name_of == face[f"room: {start}"])
    patches = np.unique(surfaces.element_patch[mine])
    ids = rows.ids[patches]
    names = np.concatenate([name_of, [-1, -1]])
    return float((names[ids] == face[f"room: {target}"]).mean())


@pytest.mark.parametrize("size_m", [(1.0, 1.0, 1.0), (4.0, 5.0, 2.7), (0.31, 2.9, 1.7)])
def test_every_ray_in_a_closed_box_lands(size_m: tuple[float, float, float]) -> None:
    """pencil: FF-14, the factors out of a face of a closed box sum to one."""
    stage = stage_of([box_room(size_m, grain=Grain(0.3, 0.15))])
    rows = trace_rows(stage.surfaces, RayScene(stage.surfaces.corners), Budget(row_rays=1024))
    lost = (rows.ids >= stage.surfaces.element_count).mean()
    assert_allclose(lost, 0.0, atol=1e-9)


@pytest.mark.parametrize(
    ("across", "along", "gap", "expected"),
    [
        (4.0, 4.0, 3.0, 0.282733),  # source: FF-3
        (5.0, 4.0, 2.7, 0.350569),  # source: FF-3
        (2.0, 2.0, 1.0, 0.415253),  # source: FF-3
        (10.0, 10.0, 1.0, 0.826995),  # source: FF-3
    ],
)
def test_opposed_rectangles(across: float, along: float, gap: float, expected: float) -> None:
    grain = Grain(across / 12, across / 24)
    stage, rows = _rows_of(
        stage_of(
            [
                rectangle(
                    "low",
                    (0.0, 0.0, 0.0),
                    edge_u=(across, 0.0, 0.0),
                    edge_v=(0.0, along, 0.0),
                    grain=grain,
                ),
                rectangle(
                    "high",
                    (0.0, 0.0, gap),
                    edge_u=(0.0, along, 0.0),
                    edge_v=(across, 0.0, 0.0),
                    grain=grain,
                ),
            ]
        )
    )
    for start, target in (("low", "high"), ("high", "low")):
        found = area_factor(stage, rows, start, target)
        assert_allclose(found, expected, rtol=0.003)


@pytest.mark.parametrize(
    ("edge", "depth", "height", "expected", "reverse"),
    [
        (4.0, 4.0, 3.0, 0.179317, 0.239089),  # source: FF-4, floor to wall and back
        (1.0, 1.0, 2.0, 0.232853, 0.1164265),  # source: FF-5; reverse by A1 F12 = A2 F21, pencil
    ],
)
def test_rectangles_with_a_common_edge(
    edge: float, depth: float, height: float, expected: float, reverse: float
) -> None:
    grain = Grain(depth / 16, depth / 32)
    stage, rows = _rows_of(
        stage_of(
            [
                rectangle(
                    "floor",
                    (0.0, 0.0, 0.0),
                    edge_u=(edge, 0.0, 0.0),
                    edge_v=(0.0, depth, 0.0),
                    grain=grain,
                ),
                rectangle(
                    "wall",
                    (0.0, 0.0, 0.0),
                    edge_u=(0.0, 0.0, height),
                    edge_v=(edge, 0.0, 0.0),
                    grain=grain,
                ),
            ]
        )
    )
    found = area_factor(stage, rows, "floor", "wall")
    back = area_factor(stage, rows, "wall", "floor")
    assert_allclose([found, back], [expected, reverse], rtol=0.003)


@pytest.mark.parametrize(
    ("low_m", "high_m", "gap_m", "expected"),
    [
        (1.0, 1.0, 1.0, 0.381966),  # source: FF-6, (3 − √5)/2
        (1.0, 1.0, 3.0, 0.0916731),  # source: FF-7
        (0.6, 0.3, 2.0, 0.0202579),  # source: FF-8
    ],
)
def test_coaxial_discs(low_m: float, high_m: float, gap_m: float, expected: float) -> None:
    """Meshes: starts of rays lie at 16 fixed points of 96 clusters, hence 1 % and not 0.3 %."""
    stage = stage_of(
        [
            disc("low", (0.0, 0.0, 0.0), radius_m=low_m, up=True),
            disc("high", (0.0, 0.0, gap_m), radius_m=high_m, up=False),
        ]
    )
    rows = trace_rows(stage.surfaces, RayScene(stage.surfaces.corners), Budget(row_rays=8192))
    found = area_factor(stage, rows, "low", "high")
    assert_allclose(found, expected, rtol=0.01)
    back = area_factor(stage, rows, "high", "low")
    assert_allclose(back, expected * (low_m / high_m) ** 2, rtol=0.01)  # pencil: reciprocity


DISC_POINTS = [
    (1.0, 2.0, 0.0, UP, 0.2),  # source: FF-9, element on the axis of a parallel disc
    (0.5, 2.5, 0.0, UP, 0.0384615),  # source: FF-9
    (1.0, 2.0, 1.0, UP, 0.1464466),  # source: FF-10, the element off the axis
    (1.0, 2.0, 2.0, UP, 0.0658784),  # source: FF-10
    (0.5, 1.0, 2.0, (1.0, 0.0, 0.0), 0.0203888),  # source: FF-11, element square to the disc
]


@pytest.mark.parametrize(("radius_m", "gap_m", "aside_m", "normal", "expected"), DISC_POINTS)
def test_point_to_disc_by_direct_light(
    radius_m: float,
    gap_m: float,
    aside_m: float,
    normal: tuple[float, float, float],
    expected: float,
) -> None:
    """A matte disc of one lumen: E = F Φ/A. Sampled, since a disc has no closed form here."""
    source = beam(
        "disc",
        np.array([aside_m, 0.0, gap_m]),
        axis=np.array(DOWN),
        aperture_m=2.0 * radius_m,
        profile=matte_beam(),
        flux_lm=1.0,
        colour=WHITE,
    )
    floor = stage_of(
        [rectangle("floor", (-9.0, -9.0, -1.0), edge_u=(18.0, 0.0, 0.0), edge_v=(0.0, 18.0, 0.0))]
    )
    receivers = Receivers(
        np.zeros((1, 3), np.float32), np.array([normal], np.float32), np.ones(1, np.bool_)
    )
    light = direct_light(
        RayScene(floor.surfaces.corners), source, receivers, per_point=16_384, seed=1
    )
    assert_allclose(light[0] * math.pi * radius_m**2, expected, rtol=0.001)


@pytest.mark.parametrize(("radius_m", "gap_m", "aside_m", "normal", "expected"), DISC_POINTS)
def test_point_to_disc_by_gather(
    radius_m: float,
    gap_m: float,
    aside_m: float,
    normal: tuple[float, float, float],
    expected: float,
) -> None:
    """The share of a receptor's gather rays that meets a mesh of the disc."""
    stage = stage_of([disc("disc", (aside_m, 0.0, gap_m), radius_m=radius_m, up=False)])
    receivers = Receivers(
        np.zeros((1, 3), np.float32), np.array([normal], np.float32), np.ones(1, np.bool_)
    )
    ids = gather_lists(stage, RayScene(stage.surfaces.corners), receivers, 1 << 19, 3)
    assert_allclose((ids < stage.surfaces.element_count).mean(), expected, rtol=0.003)


def test_factor_counts_the_nearest_surface_only() -> None:
    """pencil: a smaller square half way hides the far one where both project alike."""
    pieces = [
        rectangle("low", (0.4, 0.4, 0.0), edge_u=(0.2, 0.0, 0.0), edge_v=(0.0, 0.2, 0.0)),
        rectangle("near", (-1.5, -1.5, 0.5), edge_u=(0.0, 4.0, 0.0), edge_v=(4.0, 0.0, 0.0)),
        rectangle("far", (0.0, 0.0, 1.0), edge_u=(0.0, 1.0, 0.0), edge_v=(1.0, 0.0, 0.0)),
    ]
    stage, rows = _rows_of(stage_of(pieces))
    far = factors_to(stage, rows, "low", stage.bodies["far"].elements)
    assert far == 0.0  # pencil: every line to the far square passes the near one
