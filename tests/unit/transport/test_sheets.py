"""Light through flat sheets: fabrics, panes and mirrors, against pencil and closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from tests.reference.scenes.stages import WHITE, box_room, stage_of

from falloff.photometry import round_beam
from falloff.rays import RayScene
from falloff.sources import Source, beam, panel
from falloff.stage import Cloth, Grain, Probe, Stage, View
from falloff.stage.dice import PieceBuilder
from falloff.stage.records import Piece
from falloff.transport import (
    Budget,
    Solution,
    picture_bounced,
    picture_direct,
    retrace,
    retrace_view,
    trace,
    trace_probes,
    trace_view,
)
from falloff.transport.bounce import settle, trace_rows
from falloff.transport.kernels_sheets import dim_by_sheets, face_reflectances, panes_pass
from falloff.types import Float64Array

X, Y, Z = np.eye(3)


def fabric(straight: float, scattered: float, reflected: float) -> Cloth:
    return Cloth(straight, np.full(3, scattered), np.full(3, reflected))


def sheet(
    origin: tuple[float, float, float],
    edge_u: Float64Array,
    edge_v: Float64Array,
    nature: Cloth,
    name: str = "cloth",
) -> Piece:
    builder = PieceBuilder(name, Grain())
    builder.add_fabric(np.array(origin), edge_u=edge_u, edge_v=edge_v, fabric=nature, name=name)
    return builder.build()


def level_panel(z: float, half: float, luminance: float, centre: tuple[float, float]) -> Source:
    """A panel that shines downward."""
    corner = np.array([centre[0] - half, centre[1] + half, z])
    return panel(
        "panel",
        corner,
        edge_u=2.0 * half * X,
        edge_v=-2.0 * half * Y,
        flux_lm=math.pi * luminance * (2.0 * half) ** 2,
        colour=WHITE,
    )


def test_a_cloth_without_loss_leaves_even_light_even() -> None:
    """In a cavity of reflectance ρ that is lit evenly, H = ρE/(1 − ρ), sheets or no sheets.

    Pencil: a cloth that gives back and scatters (1 − T)ρ and passes T straight looks, from either
    side, just as the walls do.
    """
    wall, straight = 0.5, 0.3
    cloth = fabric(straight, 0.15, (1.0 - straight) * wall - 0.15)
    room = box_room(
        (2.0, 2.0, 2.0), materials=dict.fromkeys(("x0", "x1", "y0", "y1", "z0", "z1"), "w")
    )
    pieces = [room, sheet((0.3, 0.3, 0.9), 1.4 * X, 1.4 * Y, cloth)]
    stage = stage_of(pieces, reflectances={"w": wall})
    surfaces = stage.surfaces
    budget = Budget(tolerance=1e-6)
    rows = trace_rows(surfaces, RayScene(surfaces.corners, surfaces.sheets), budget)
    assert (rows.ids >= stage.bodies["cloth"].elements[0]).sum() > 1000  # rays do land on it
    even = np.ones((1, surfaces.element_count), np.float32)
    bounced, radiosity = settle(surfaces, rows, even, budget)
    assert_allclose(bounced[0], wall / (1.0 - wall), rtol=1e-4)
    assert_allclose(radiosity[0, :, :-2], wall / (1.0 - wall), rtol=1e-4)


def test_shadow_rays_are_weakened_and_not_the_sum_below() -> None:
    """A quarter passes straight, nothing is scattered: a quarter of the light arrives (pencil)."""
    room = box_room((3.0, 3.0, 3.0), leave_out=("z1",))
    light = level_panel(2.9, 0.4, 1000.0, (1.5, 1.5))
    cloth = sheet((0.05, 0.05, 2.0), 2.9 * X, 2.9 * Y, fabric(0.25, 0.0, 0.0))
    bare, veiled = (
        trace(stage_of(pieces, sources=[light]), Budget()) for pieces in ([room], [room, cloth])
    )
    floor = slice(*veiled.stage.bodies["room"].elements)
    under = bare.direct[0] > 0.0
    points = bare.stage.surfaces.element_points[:, 0]
    under &= points[:, 2] < 0.01
    assert under.sum() > 500
    assert_allclose(veiled.direct[0][floor][under], 0.25 * bare.direct[0][under], rtol=1e-5)


def test_a_frame_lit_from_behind() -> None:
    """source: check of a matte frame 0.9 m square, 10 000 lx behind it, τ = 0.5: E = τE/π · 4 F.

    At 1.2 m on its axis 754.8 lx (closed form of a rectangle over its corner, four times).
    """
    side, high = 0.9, 1.2
    room = box_room((side, side, high), leave_out=("z1",), grain=Grain(0.1, 0.05))
    cloth = sheet((0.0, 0.0, high), side * X, side * Y, fabric(0.0, 0.5, 0.0))
    probe = Probe("floor", "flat", np.array([side / 2, side / 2, 1e-3]), Z)
    light = level_panel(high + 0.02, 6.0, 10_000.0 / math.pi, (side / 2, side / 2))
    stage = stage_of([room, cloth], sources=[light], probes=[probe])
    solution = trace(stage, Budget())
    behind = solution.direct[0][slice(*stage.bodies["cloth"].elements)].max()
    assert_allclose(behind, 10_000.0, rtol=2e-3)
    direct, bounced = trace_probes(solution, stage.probes).mean()
    assert_allclose(direct[0, 0], 0.0, atol=1e-6)
    assert_allclose(bounced[0, 0], 754.8, rtol=0.01)


def through_glass(cosines: Float64Array, panes: int = 1, *, keeps: float = 1.0) -> Float64Array:
    """What panes leave of rays whose angles to them have these cosines, (n,).

    keeps: what all of them together do not absorb.
    """
    builder = PieceBuilder("pane", Grain())
    builder.add_rectangle(np.zeros(3), edge_u=X, edge_v=Y, material="black")
    builder.add_pane(
        np.array([-99.0, -99.0, 0.01]),
        edge_u=198.0 * X,
        edge_v=198.0 * Y,
        passes=keeps,
        panes=panes,
    )
    count = len(cosines)
    ways = np.stack([np.sqrt(1.0 - cosines**2), 0.0 * cosines, cosines], 1).astype(np.float32)
    starts, lengths = np.zeros((count, 3), np.float32), np.full(count, 99.0, np.float32)
    weights = np.ones(count, np.float32)
    dim_by_sheets(count, starts, ways, lengths, weights, builder.build().sheets, False)
    return weights.astype(np.float64)


# source: RT-8, Fresnel slab, n = 1.52, unpolarised, no absorption (closed form); the last column
# is its single pass (1 − R)², without the bounces between its faces
SLAB = [
    (0, 0.9183, 0.9167),
    (30, 0.9160, 0.9137),
    (45, 0.9025, 0.8967),
    (60, 0.8435, 0.8236),
    (70, 0.7247, 0.6811),
    (80, 0.4560, 0.3709),
    (85, 0.2456, None),
]


@pytest.mark.parametrize(("angle_deg", "passes", "single"), SLAB)
def test_a_pane_by_angle(angle_deg: float, passes: float, single: float | None) -> None:
    cosine = math.cos(math.radians(angle_deg))
    assert_allclose(through_glass(np.array([cosine])), passes, atol=1e-4)
    if single is not None:
        across, along = face_reflectances.py_func(cosine, 1.52)
        assert_allclose((1.0 - 0.5 * (across + along)) ** 2, single, atol=1e-4)


def test_faces_of_glass_of_index_one_and_a_half() -> None:
    """RT-7: one face, two without their bounces, a pane with them, two panes."""
    across, along = face_reflectances.py_func(1.0, 1.5)
    # source: RT-7, closed form
    assert_allclose([across, along], 0.0400, atol=1e-4)
    assert_allclose((1.0 - across) ** 2, 0.9216, atol=1e-4)
    assert_allclose(panes_pass.py_func(across, 1), 0.92308, atol=1e-5)
    assert_allclose(panes_pass.py_func(across, 2), 0.8571, atol=1e-4)


def test_brewster_s_angle() -> None:
    """RT-9: where n = 1.5 gives back nothing of the one polarisation, 0.1479 of the other."""
    angles_deg = np.linspace(50.0, 60.0, 1001)
    faces = [face_reflectances.py_func(math.cos(math.radians(one)), 1.5) for one in angles_deg]
    across, along = np.array(faces).T
    least = int(along.argmin())
    assert_allclose(angles_deg[least], 56.31, atol=0.0101)  # source: RT-9; steps of 0.01
    assert_allclose([across[least], along[least]], [0.1479, 0.0], atol=1e-4)  # source: RT-9


def test_a_pane_under_an_even_sky() -> None:
    """RT-10: what a pane passes of light from all over, ∫ T(c) 2c dc, by quadrature over rays."""
    nodes, weights = np.polynomial.legendre.leggauss(64)
    cosines = 0.5 * (nodes + 1.0)
    found = float((weights * cosines) @ through_glass(cosines))
    assert_allclose(found, 0.8464, atol=1e-4)  # source: RT-10, n = 1.52


# source: the glass law of CIE 171 5.5 and 5.10, 6 mm clear
CLEAR_6_MM = [(0, 0.8788), (30, 0.8759), (45, 0.8586), (60, 0.8018), (70, 0.6828), (80, 0.4233)]


def test_six_millimetres_of_clear_glass() -> None:
    """The law by angle, whose absorption grows with it; ours is of what falls square: 0.015."""
    angles_deg, expected = np.array(CLEAR_6_MM).T
    found = through_glass(np.cos(np.radians(angles_deg)), keeps=0.8788 / 0.9183)
    assert_allclose(found[0], expected[0], atol=1e-4)
    assert_allclose(found, expected, atol=0.015)


@pytest.mark.parametrize(
    ("panes", "least", "most"),
    [(2, 0.80, 0.81), (3, 0.70, 0.70)],  # source: a public page on glazing, clear double and triple
)
def test_clear_double_and_triple_glazing(panes: int, least: float, most: float) -> None:
    """The trade's lie between panes that pass 0.879 each (6 mm) and 0.90 each (thin, same page)."""
    thick, thin = (
        float(through_glass(np.ones(1), panes, keeps=(one / 0.9183) ** panes)[0])
        for one in (0.879, 0.90)
    )
    assert thick < least <= most < thin


def test_two_panes() -> None:
    """source: slab with inner bounces, n = 1.52: two without loss pass T/(2 − T) (pencil)."""
    builder = PieceBuilder("pane", Grain())
    builder.add_rectangle(np.zeros(3), edge_u=X, edge_v=Y, material="black")
    builder.add_pane(np.zeros(3), edge_u=X, edge_v=Y, passes=0.9, panes=2)
    sheets = builder.build().sheets
    weights = np.ones(1, np.float32)
    start, way = np.array([[0.5, 0.5, -1.0]], np.float32), np.array([[0, 0, 1]], np.float32)
    dim_by_sheets(1, start, way, np.full(1, 9.0, np.float32), weights, sheets, False)
    assert_allclose(weights[0], 0.9 * 0.9183 / (2.0 - 0.9183), atol=1e-4)


def test_a_beam_leaves_its_part_in_a_gel() -> None:
    """Pencil: what is shot through a pane is weakened as its shadow rays are: T · τ(0)."""
    room = box_room((3.0, 3.0, 3.0), leave_out=("z1",))
    glass = PieceBuilder("glass", Grain())
    glass.add_pane(np.array([0.0, 0.0, 2.0]), edge_u=3.0 * X, edge_v=3.0 * Y, passes=0.25)
    glass.add_rectangle(np.array([0.0, 0.0, 0.0]), edge_u=0.01 * X, edge_v=0.01 * Y, material="k")
    narrow = round_beam(np.radians([0.0, 5.0, 10.0]), np.array([1.0, 1.0, 0.0]))
    lamp = beam("lamp", np.array([1.5, 1.5, 2.8]), axis=-Z, aperture_m=0.05, profile=narrow,
                flux_lm=1000.0, colour=WHITE)  # fmt: skip
    probe = Probe("floor", "flat", np.array([1.5, 1.5, 1e-3]), Z)
    stage = stage_of([room, glass.build()], sources=[lamp], probes=[probe])
    bare = stage_of([room], sources=[lamp], probes=[probe])
    budget = Budget(beam_rays=1 << 16)
    gelled, clear = trace(stage, budget), trace(bare, budget)
    area = stage.surfaces.element_area_m2[: len(bare.surfaces.element_area_m2)]
    landed = (gelled.direct[0][: len(area)] * area).sum()
    assert_allclose(landed, 0.25 * 0.9183 * (clear.direct[0] * area).sum(), rtol=0.02)
    read, _ = trace_probes(gelled, stage.probes).mean()
    read_bare, _ = trace_probes(clear, bare.probes).mean()
    assert_allclose(read[0, 0], 0.25 * 0.9183 * read_bare[0, 0], rtol=1e-3)


def _looking_down(stage: Stage, eye: tuple[float, float, float]) -> View:
    return View("A", np.array(eye), -Z, X, Y, 0.05, 0.05)


def _seen(solution: Solution, view: View) -> float:
    shot = trace_view(solution, view, width=32, height=32)
    stage = solution.stage
    light = picture_direct(shot, stage, 0)
    light = light + picture_bounced(shot, solution, solution.radiosity[0], solution.hot[0])
    return float(light.mean())


def test_a_camera_sees_a_cloth_and_what_is_behind_it() -> None:
    """Pencil: T of the floor's own luminance, and what the cloth gives back of the light above."""
    straight, back, floor = 0.4, 0.3, 0.6
    room = box_room((4.0, 4.0, 3.0), materials={"z0": "floor"}, leave_out=("z1",))
    cloth = sheet((1.0, 1.0, 0.5), 2.0 * X, 2.0 * Y, fabric(straight, 0.0, back))
    light = level_panel(2.9, 0.5, 5000.0, (2.0, 2.0))
    stage = stage_of([room, cloth], sources=[light], reflectances={"floor": floor})
    solution = trace(stage, Budget())
    seen = _seen(solution, _looking_down(stage, (2.0, 2.0, 2.0)))
    probes = [
        Probe("above", "flat", np.array([2.0, 2.0, 0.5001]), Z),
        Probe("below", "flat", np.array([2.0, 2.0, 0.4999]), -Z),
        Probe("floor", "flat", np.array([2.0, 2.0, 1e-4]), Z),
    ]
    direct, bounced = trace_probes(solution, tuple(probes)).mean()
    above, below, under = (direct + bounced)[0, :, 0]
    assert below > 0.05 * above  # the floor lights it from below
    assert_allclose(seen, straight * floor * under / math.pi + back * above / math.pi, rtol=0.02)


def test_a_camera_sees_the_light_behind_a_cloth() -> None:
    """Pencil: a cloth that scatters, lit from below alone by a bright floor, glows above."""
    room = box_room((4.0, 4.0, 3.0), leave_out=("z1",))
    cloth = sheet((0.0, 0.0, 1.0), 4.0 * X, 4.0 * Y, fabric(0.0, 0.45, 0.2))
    up = panel("panel", np.array([0.0, 0.0, 0.01]), edge_u=4.0 * X, edge_v=4.0 * Y,
               flux_lm=math.pi * 16.0 * 100.0, colour=WHITE)  # fmt: skip
    stage = stage_of([room, cloth], sources=[up])
    solution = trace(stage, Budget())
    seen = _seen(solution, _looking_down(stage, (2.0, 2.0, 2.0)))
    probe = Probe("below", "flat", np.array([2.0, 2.0, 0.9999]), -Z)
    direct, bounced = trace_probes(solution, (probe,)).mean()
    assert_allclose(seen, 0.45 * float((direct + bounced)[0, 0, 0]) / math.pi, rtol=0.02)


def test_a_mirror_shows_what_stands_before_it() -> None:
    """Pencil: a panel's luminance times the mirror's reflectance, by a camera that looks away."""
    room = box_room((4.0, 4.0, 3.0), leave_out=("z1",))
    builder = PieceBuilder("mirror", Grain())
    builder.add_mirror(np.array([0.5, 0.5, 0.2]), edge_u=3.0 * X, edge_v=3.0 * Y, reflectance=0.8)
    builder.add_rectangle(
        np.array([0.5, 0.5, 0.1]), edge_u=3.0 * X, edge_v=3.0 * Y, material="black"
    )
    light = PieceBuilder("light", Grain())
    light.add_rectangle(np.array([0.0, 4.0, 2.9]), edge_u=4.0 * X, edge_v=-4.0 * Y,
                        material="black", source="panel")  # fmt: skip
    stage = stage_of([room, builder.build(), light.build()],
                     sources=[level_panel(2.9, 2.0, 700.0, (2.0, 2.0))])  # fmt: skip
    solution = trace(stage, Budget())
    assert_allclose(_seen(solution, _looking_down(stage, (2.0, 2.0, 1.5))), 0.8 * 700.0, rtol=1e-4)


def test_a_frame_that_moves_equals_a_new_trace() -> None:
    """A consistency test: only rays that cross its old or new place are traced again."""

    def stage(x: float) -> Stage:
        room = box_room((3.0, 3.0, 2.6), materials=dict.fromkeys(("x0", "x1", "y0", "z0"), "w"))
        glass = PieceBuilder("glass", Grain())
        glass.add_pane(np.array([0.2, 2.9, 0.3]), edge_u=2.6 * X, edge_v=2.0 * Z, passes=1.0)
        glass.add_rectangle(np.zeros(3), edge_u=0.01 * X, edge_v=0.01 * Y, material="black")
        frame = sheet((x, 1.0, 1.0), 0.9 * X, 0.9 * Z, fabric(0.2, 0.4, 0.3))
        light = level_panel(2.5, 0.3, 4000.0, (1.5, 0.6))
        pieces = [room, glass.build(), frame]
        return stage_of(pieces, sources=[light], reflectances={"w": 0.6})

    before = trace(stage(0.4), Budget())
    moved, anew = retrace(before, stage(1.2), "cloth"), trace(stage(1.2), Budget())
    assert_array_equal(moved.rows.ids, anew.rows.ids)
    assert_array_equal(moved.direct, anew.direct)
    assert_array_equal(moved.radiosity, anew.radiosity)
    view = View("A", np.array([1.5, 0.2, 1.3]), Y, X, Z, 0.7, 0.5)
    kept = retrace_view(trace_view(before, view, width=48, height=32), before, moved, "cloth")
    fresh = trace_view(anew, view, width=48, height=32)
    assert_array_equal(kept.sights.weight, fresh.sights.weight)
    assert_array_equal(kept.ids, fresh.ids)
    assert_array_equal(kept.direct, fresh.direct)
