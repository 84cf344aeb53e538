"""The bounce operator: points buried in solids, rows, hot spots, and a body that moves."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from tests.reference.scenes.stages import WHITE, box_room, stage_of

from falloff.rays import RayScene
from falloff.sources import ball
from falloff.stage import Grain, Stage
from falloff.stage.dice import PieceBuilder
from falloff.stage.records import Piece
from falloff.stage.solids import add_box, add_cylinder
from falloff.transport import Budget, retrace, trace
from falloff.transport.bounce import exposed_points, trace_rows
from falloff.transport.trace import find_hot
from falloff.types import BoolArray, Float64Array

AXES = (np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0]))


def _block(
    name: str, middle: tuple[float, float, float], size: tuple[float, float, float]
) -> Piece:
    builder = PieceBuilder(name, Grain())
    add_box(builder, np.array(middle), AXES, size, "wood", "")
    return builder.build()


def _inside(points: Float64Array, low: tuple[float, ...], high: tuple[float, ...]) -> BoolArray:
    return np.asarray(np.all((points > np.array(low)) & (points < np.array(high)), axis=-1))


def test_points_under_a_block_are_buried() -> None:
    block = _block("block", (1.0, 1.0, 0.25), (0.5, 0.5, 0.5))
    stage = stage_of([box_room((2.0, 2.0, 2.0)), block])
    exposed = exposed_points(stage.surfaces, RayScene(stage.surfaces.corners))
    floor = slice(*stage.bodies["room"].elements)
    points = stage.surfaces.element_points[floor].astype(np.float64)
    within = _inside(points, (0.75, 0.75, 0.0), (1.25, 1.25, 0.5))
    assert within.sum() > 100
    assert_array_equal(exposed[floor], ~within)  # pencil


def test_points_under_a_leg_that_carries_a_top_are_buried() -> None:
    """The leg's top and the table's underside lie in one plane: the leg still buries the floor."""
    stage = stage_of(
        [
            box_room((2.0, 2.0, 2.0), grain=Grain(0.1, 0.05)),
            _block("leg", (1.0, 1.0, 0.35), (0.2, 0.2, 0.7)),
            _block("top", (1.0, 1.0, 0.725), (1.0, 1.0, 0.05)),
        ]
    )
    exposed = exposed_points(stage.surfaces, RayScene(stage.surfaces.corners))
    points = stage.surfaces.element_points.astype(np.float64)
    within = _inside(points, (0.9, 0.9, 0.0), (1.1, 1.1, 0.7))
    within[: stage.bodies["room"].elements[0]] = False
    assert within.sum() > 100
    assert not exposed[within].any()  # pencil


def test_buried_points_send_out_no_rays() -> None:
    stage = stage_of([box_room((2.0, 2.0, 2.0)), _block("block", (1.0, 1.0, 0.5), (1.0, 1.0, 1.0))])
    rows = trace_rows(stage.surfaces, RayScene(stage.surfaces.corners), Budget())
    buried = ~rows.exposed.any(1)
    patch = stage.surfaces.element_patch
    whole = np.bincount(patch, buried) == np.bincount(patch)
    assert whole.any()
    assert np.all(rows.ids[whole] == stage.surfaces.element_count + 1)  # pencil: not to be counted


@pytest.mark.parametrize("row_rays", [64, 16_384, 32_768])
def test_rows_of_any_length_are_traced(row_rays: int) -> None:
    """More rays a row than a tile holds must not be left out in silence."""
    stage = stage_of([box_room((1.0, 1.0, 1.0), grain=Grain(1.0, 1.0))])
    rows = trace_rows(stage.surfaces, RayScene(stage.surfaces.corners), Budget(row_rays=row_rays))
    assert rows.ids.shape == (6, row_rays)
    assert (rows.ids < 6).all()  # pencil: every ray of a closed box lands


def test_a_bright_element_is_hot_and_even_light_is_not() -> None:
    surfaces = stage_of([box_room((1.0, 1.0, 1.0), grain=Grain(0.25, 0.25))]).surfaces
    count = surfaces.element_count
    assert count == 96  # pencil: six faces of 4 × 4, all alike
    light = np.ones((3, 3, count + 2), np.float32)  # of three sources
    light[:, :, count:] = 0.0
    light[1, :, 7] = 50.0
    light[2] = 0.0
    even, spot, dark = find_hot(light, surfaces, Budget())
    assert even is None  # pencil: nothing stands out
    assert dark is None
    assert spot is not None
    assert_array_equal(spot.elements, [7])  # pencil: 50 of 145, and 33 times the mean
    assert_array_equal(np.flatnonzero(spot.marks), [7])
    assert_allclose(spot.share[-1], 1.0)
    assert_array_equal(np.flatnonzero(spot.table[:, 7]), [7])
    assert_allclose(spot.table[7, 6:], [0.0625, 16.0])  # pencil: (1/4)² m², and one over it


def _pole_and_block(x: float, z: float) -> Stage:
    """A 2 m pole cut into very few elements, a lamp, and a small block between them."""
    pole = PieceBuilder(
        "pole", Grain(mesh_patches=(1, 1), mesh_elements_least=1, mesh_element_area_m2=1e3)
    )
    add_cylinder(pole, np.array([1.0, 1.0, 0.1]), np.array([1.0, 1.0, 2.1]), 0.02, "wood")
    return stage_of(
        [
            box_room((4.0, 2.0, 2.4), grain=Grain(0.4, 0.4)),
            pole.build(),
            _block("block", (x, 1.0, z), (0.1, 0.1, 0.25)),
        ],
        sources=[ball("lamp", np.array([3.0, 1.0, 1.2]), radius_m=0.05, flux_lm=1e4, colour=WHITE)],
        reflectances={"wood": 0.4},
    )


@pytest.mark.parametrize(
    ("x", "z"), [(1.1, 0.4), (1.1, 0.8), (1.1, 1.2), (1.1, 1.6), (1.1, 1.9), (1.4, 0.4), (2.4, 1.1)]
)
def test_long_elements_notice_a_small_body(x: float, z: float) -> None:
    """Points of one element may lie far apart; each one's rays count when something moves."""
    budget = Budget(row_rays=32)
    before = trace(_pole_and_block(3.6, 0.3), budget)
    stage = _pole_and_block(x, z)
    moved, anew = retrace(before, stage, "block"), trace(stage, budget)
    assert_array_equal(moved.direct, anew.direct)
    assert_array_equal(moved.radiosity, anew.radiosity)
