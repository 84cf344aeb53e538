"""Light settled in whole rooms: a furnace, a furnished room, face by face and at a point.

Source: the furnace and the sphere by closed form; the room's direct parts by exact solid angles;
its totals by a mesh radiosity from 9² to 27² patches a face and by a path tracer that agree within
0.1 lx.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.reference.scenes.stages import WHITE, box_room, face_means, probe_at, stage_of

from falloff.rays import RayScene
from falloff.sources import ball
from falloff.stage import Grain, Stage, Surfaces
from falloff.stage.dice import PieceBuilder
from falloff.transport import Budget, Solution, trace, trace_probes
from falloff.transport.bounce import fold_rows, settle, trace_rows
from falloff.types import Float32Array

FACES = ("x0", "x1", "y0", "y1", "z0", "z1")
PAINTS = {"z0": "floor", "z1": "ceiling", "x0": "wall", "x1": "wall", "y0": "wall", "y1": "wall"}
REFLECTANCES = {"floor": 0.2, "ceiling": 0.8, "wall": 0.5}


@pytest.mark.parametrize(
    ("reflectance", "budget"),
    [
        (0.2, Budget()),
        (0.5, Budget()),
        (0.8, Budget()),
        # The usual solver stops at a change of 1e-4, which leaves 1e-4 ρ/(1 − ρ) = 0.2 % undone.
        (0.95, Budget(tolerance=1e-5)),
    ],
)
def test_white_furnace(reflectance: float, budget: Budget) -> None:
    """RT-2: every surface sends out M0 of its own; radiosity settles at M0/(1 − ρ) everywhere."""
    surfaces, radiosity = _furnace(reflectance, budget)
    assert radiosity.shape == (1, 3, surfaces.element_count + 2)
    assert_allclose(
        radiosity[0, :, :-2],
        100.0 / (1.0 - reflectance),
        rtol=1e-3,  # source: closed form
    )


def test_white_furnace_with_the_usual_solver() -> None:
    """pencil: what is left undone is at most the tolerance times ρ/(1 − ρ), here 0.19 %."""
    _, radiosity = _furnace(0.95, Budget())
    assert_allclose(radiosity[0, :, :-2], 100.0 / 0.05, rtol=1e-4 * 0.95 / 0.05)


def _furnace(reflectance: float, budget: Budget) -> tuple[Surfaces, Float32Array]:
    stage = stage_of(
        [box_room((3.0, 2.0, 2.5), materials=dict.fromkeys(FACES, "paint"))],
        reflectances={"paint": reflectance},
    )
    surfaces = stage.surfaces
    rows = trace_rows(surfaces, RayScene(surfaces.corners), budget)
    # A direct light of M0/ρ makes a surface send out M0.
    own = np.full((1, surfaces.element_count), 100.0 / reflectance, np.float32)
    return surfaces, settle(surfaces, rows, own, budget)[1]


HOLE = 0.01  # of the whole sphere


@pytest.fixture(scope="module")
def sphere() -> Surfaces:
    """A sphere of reflectance 0.98 seen from inside, a cap of 1 % of it left out."""
    down = np.linspace(math.acos(1.0 - 2.0 * HOLE), math.pi, 65)[:, None]
    turn = np.linspace(0.0, 2.0 * math.pi, 129)
    level = np.sin(down)
    point = np.stack([level * np.cos(turn), level * np.sin(turn), np.cos(down) + 0.0 * turn], -1)
    a, b, c, d = point[:-1, :-1], point[1:, :-1], point[1:, 1:], point[:-1, 1:]
    corners = np.concatenate(
        [np.stack(three, 2).reshape(-1, 3, 3) for three in ((a, c, b), (a, d, c))]
    )
    builder = PieceBuilder("sphere", Grain(mesh_patch_area_m2=0.05, mesh_patches=(1, 256)))
    builder.add_mesh(corners, normals=-corners, material="paint")
    return stage_of([builder.build()], reflectances={"paint": 0.98}).surfaces


def test_multiplier_of_an_integrating_sphere(sphere: Surfaces) -> None:
    """RT-1: light of 1 lx all over settles at ρ/(1 − ρ(1 − f)) lm/m², f the share of the hole.

    4 million rays find the hole to 0.3 % of itself, so that the multiplier is known to 0.1 %.
    """
    budget = Budget(row_rays=16_384, tolerance=1e-7)
    rows = trace_rows(sphere, RayScene(sphere.corners), budget)
    _, radiosity = settle(sphere, rows, np.ones((1, sphere.element_count), np.float32), budget)
    area = sphere.element_area_m2.astype(np.float64)
    found = float(radiosity[0, 0, :-2] @ area) / area.sum()
    assert_allclose(found, 32.886, rtol=1.5e-3)  # source: RT-1, closed form
    assert_allclose(radiosity[0, :, :-2], 32.886, rtol=5e-3)  # and alike all over


def test_multiplier_where_one_ray_in_a_hundred_is_lost(sphere: Surfaces) -> None:
    """RT-1: the solver alone, on rows of which just 1 % leave and the rest land evenly."""
    patches, elements = sphere.patch_count, sphere.element_count
    ids = np.random.default_rng(1).integers(0, elements, (patches, 2000)).astype(np.uint16)
    ids[:, :20] = elements  # what stands for a ray that left
    rows = fold_rows(sphere, ids, np.ones((elements, 16), np.bool_))
    budget = Budget(tolerance=1e-7)
    _, radiosity = settle(sphere, rows, np.ones((1, elements), np.float32), budget)
    assert_allclose(radiosity[0, :, :-2], 32.886, rtol=1e-4)  # source: RT-1, closed form


def _room(grain: Grain) -> Stage:
    return stage_of(
        [box_room((4.0, 5.0, 2.7), grain=grain, materials=PAINTS)],
        sources=[
            ball("lamp", np.array([2.0, 2.5, 1.35]), radius_m=0.01, flux_lm=10_000.0, colour=WHITE)
        ],
        reflectances=REFLECTANCES,
    )


@pytest.fixture(scope="module")
def settled() -> Solution:
    return trace(_room(Grain()), Budget(row_rays=512, element_points=16, reading_gather_rays=4096))


def _total(solution: Solution) -> dict[str, float]:
    bounced = solution.bounced[0, 0][solution.stage.surfaces.element_patch]
    return face_means(solution.stage, (solution.direct[0] + bounced).astype(np.float64))


def test_direct_light_by_face(settled: Solution) -> None:
    """RT-3: Φω/(4πA)."""
    found = face_means(settled.stage, settled.direct[0].astype(np.float64))
    # source: exact solid angles
    expected = {"z0": 130.08, "z1": 130.08, "x0": 106.60, "x1": 106.60, "y0": 88.82, "y1": 88.82}
    for face, lux in expected.items():
        assert_allclose(found[f"room: {face}"], lux, rtol=0.002, err_msg=face)


def test_all_light_by_face(settled: Solution) -> None:
    """RT-4."""
    found = _total(settled)
    # source: mesh radiosity and a path tracer, 0.4 lx
    expected = {"z0": 261.6, "z1": 217.7, "x0": 213.2, "x1": 213.2, "y0": 191.2, "y1": 191.2}
    for face, lux in expected.items():
        assert_allclose(found[f"room: {face}"], lux, atol=0.4, err_msg=face)


def test_energy_that_lands_and_is_absorbed_is_the_lamp_s(settled: Solution) -> None:
    """pencil: Σ (1 − ρ) E A = Φ once light has settled."""
    surfaces = settled.stage.surfaces
    albedo = surfaces.albedo[surfaces.face_material[surfaces.element_face], 0]
    light = settled.direct[0] + settled.bounced[0, 0][surfaces.element_patch]
    kept = ((1.0 - albedo) * light * surfaces.element_area_m2).sum(dtype=np.float64)
    assert_allclose(kept, 10_000.0, rtol=0.005)


def test_the_middle_of_the_floor(settled: Solution) -> None:
    """RT-5."""
    probe = probe_at("floor", (2.0, 2.5, 0.0), (0.0, 0.0, 1.0))
    light = trace_probes(settled, (probe,))
    direct, bounced = light.mean()
    # source: closed form; mesh radiosity, 0.3 %
    assert_allclose(direct[0, 0, 0], 436.6, rtol=0.001)
    assert_allclose((direct + bounced)[0, 0, 0], 590.9, rtol=0.003)


def test_six_uniform_faces() -> None:
    """RT-6: with one patch a face and even light on it, the solve errs as theory says it must."""
    stage = _room(Grain(patch_m=100.0, element_m=0.1))
    surfaces = stage.surfaces
    assert surfaces.patch_count == 6
    label = [surfaces.names[k][-2:] for k in surfaces.face_name[surfaces.element_face]]
    # source: RT-3
    means = {"z0": 130.08, "z1": 130.08, "x0": 106.60, "x1": 106.60, "y0": 88.82, "y1": 88.82}
    direct = np.array([[means[face] for face in label]], np.float32)
    budget = Budget(row_rays=1 << 20, tolerance=1e-6)
    rows = trace_rows(surfaces, RayScene(surfaces.corners), budget)
    bounced, _ = settle(surfaces, rows, direct, budget)
    total = direct[0] + bounced[0, 0][surfaces.element_patch]
    found = face_means(stage, total.astype(np.float64))
    # source: six-face radiosity, 0.1 lx (a fine one gives 261.6, 217.7, 213.2, 191.2); a million
    # rays a face come within 0.05
    expected = {"z0": 257.5, "z1": 215.2, "x0": 213.8, "x1": 213.8, "y0": 197.5, "y1": 197.5}
    for face, lux in expected.items():
        assert_allclose(found[f"room: {face}"], lux, atol=0.1, err_msg=face)
