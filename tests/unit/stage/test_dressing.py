"""What hangs in and before windows: slats and folds, where they are and how much of them."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.reference.scenes.houses import box, built, deg, house, m, room, volume_m3, window

from falloff.document import Blind, Curtain, Quantity, Sheer, WindowGel
from falloff.stage.dressing import blind_findings, slat_levels_m, slat_strips
from falloff.stage.places import Placer
from falloff.stage.records import FABRIC, PANE, Piece

RECTANGLE = room(box(0.0, 0.0, width=5.0, depth=4.0), 2.5)


def share(part: float) -> Quantity:
    return Quantity(part, f"{100.0 * part:g} %")


def dressed(*dressing: Any, **more: Any) -> Placer:
    opening = window(1, 1.0, size=(1.2, 1.1), sill=0.9, dressing=dressing, **more)
    return house(RECTANGLE, openings={"WINDOW": opening})


def surface(piece: Piece, name: str) -> tuple[np.ndarray, np.ndarray]:
    """Corners of all triangles of a surface, and points of its elements."""
    mine = np.array([label == f"room: {name}" for label in piece.face_name])
    return piece.corners[mine[piece.triangle_face]], piece.element_points[mine[piece.element_face]]


def test_a_blind_hangs_in_the_reveal() -> None:
    piece = built(dressed(Blind(), bars=(2, 2)))
    corners, _ = surface(piece, "WINDOW blind")
    low, high = corners.reshape(-1, 3).min(0), corners.reshape(-1, 3).max(0)
    # pencil: 5 mm from each side; before the bars, whose front is 10 cm in
    assert_allclose([low[0], high[0]], [1.005, 2.195], atol=1e-6)
    assert low[1] > -0.1
    assert high[1] < 0.0
    assert high[2] <= 2.0 + 1e-6
    assert low[2] >= 0.9


@pytest.mark.parametrize("tilt", [0.0, 30.0, -30.0, 80.0])
def test_slats_lie_apart_and_lean_as_told(tilt: float) -> None:
    blind = Blind(tilt=deg(tilt))
    piece = built(dressed(blind))
    levels, _ = slat_levels_m(blind, 1.06)
    top = 2.0 - 0.04 - levels[2]
    first = piece.face_name.index("room: WINDOW blind")
    third = first + 6 * 3 + np.arange(6)  # six faces each: the rail, then slats downward
    slat = piece.corners[np.isin(piece.triangle_face, third)].reshape(-1, 3)
    room_side = slat[slat[:, 1] > slat[:, 1].mean()][:, 2].mean()
    # pencil: half of 5 cm by the sine of the tilt
    assert_allclose(room_side - top, -0.025 * math.sin(math.radians(tilt)), atol=1.5e-3)


def test_slats_are_as_many_as_the_drop_has_room_for() -> None:
    # pencil: 1.06 m less two half slats of 2.5 cm·sin 30° + 1 mm and 1 mm, by 4.5 cm, and one
    whole, thickness = slat_levels_m(Blind(), 1.06)
    assert len(whole) == math.floor((1.06 - 2 * 0.0135 - 0.001) / 0.045) + 1
    assert_allclose(thickness, 0.002)
    half, _ = slat_levels_m(Blind(drop=share(0.5)), 1.06)
    assert len(half) == math.floor((0.53 - 2 * 0.0135 - 0.001) / 0.045) + 1


@pytest.mark.parametrize("drop", [0.0, 0.4, 1.0])
def test_a_blind_is_as_much_solid_wherever_it_hangs(drop: float) -> None:
    bare = volume_m3(built(dressed()))
    count = len(slat_levels_m(Blind(), 1.06)[0])
    # pencil: the rail and all slats, hanging or gathered
    solid = 1.19 * 0.05 * (0.04 + count * 0.002)
    assert_allclose(bare - volume_m3(built(dressed(Blind(drop=share(drop))))), solid, rtol=2e-3)


def test_slats_are_cut_across_their_depth_and_no_finer_elsewhere() -> None:
    piece = built(dressed(Blind()))
    mine = np.array([name == "room: WINDOW blind" for name in piece.face_name])
    slats = len(slat_levels_m(Blind(), 1.06)[0])
    # pencil: 1.19 m in 4 parts of 0.3 m; a slat's two broad sides 8 by 4; its edges and the rail's
    # four long sides 2, ends 1
    expected = slats * (2 * 8 * 4 + 2 * 2 + 2) + 4 * 2 + 2
    assert int(mine[piece.element_face].sum()) == expected


def test_steep_slats_close_together_do_not_meet() -> None:
    blind = Blind(slat=m(0.025), pitch=m(0.01), tilt=deg(80))
    _, thickness = slat_levels_m(blind, 1.06)
    assert thickness <= 0.5 * 0.01 * math.cos(math.radians(80)) + 1e-12  # pencil


def test_a_curtain_hangs_before_the_wall() -> None:
    piece = built(dressed(Curtain(open=share(0.5))))
    corners, _ = surface(piece, "WINDOW curtain 1")
    points = corners.reshape(-1, 3)
    # pencil: 6 cm off the wall, folds of ±2.5 cm, cloth of 3 mm; 10 cm past the window and a
    # quarter of its width over it; 5 cm over it, 10 cm under it
    assert_allclose(points[:, 1].min(), 0.06 - 0.025 - 0.0015, atol=1e-3)
    assert_allclose(points[:, 1].max(), 0.06 + 0.025 + 0.0015, atol=1e-3)
    assert_allclose([points[:, 0].min(), points[:, 0].max()], [0.9, 1.3], atol=1e-6)
    assert_allclose([points[:, 2].min(), points[:, 2].max()], [0.8, 2.05], atol=1e-6)
    other, _ = surface(piece, "WINDOW curtain 2")
    assert_allclose(other[..., 0].min(), 1.9, atol=1e-6)


def test_a_curtain_of_a_low_window_hangs_to_the_floor() -> None:
    opening = window(1, 1.0, size=(1.2, 2.0), sill=0.1, dressing=(Curtain(),))
    corners, _ = surface(built(house(RECTANGLE, openings={"WINDOW": opening})), "WINDOW curtain 1")
    assert_allclose(corners[..., 2].min(), 0.01, atol=1e-6)  # pencil


def test_drawn_curtains_overlap_and_do_not_meet() -> None:
    piece = built(dressed(Curtain()))
    one, _ = surface(piece, "WINDOW curtain 1")
    other, _ = surface(piece, "WINDOW curtain 2")
    assert one[..., 0].max() > other[..., 0].min() + 0.05
    assert one[..., 1].max() < other[..., 1].min()


def test_curtains_are_closed_bodies() -> None:
    bare = volume_m3(built(dressed()))
    held = bare - volume_m3(built(dressed(Curtain(open=share(0.5)))))
    # pencil: two panels 0.4 m wide and 1.25 m high, 3 mm of cloth across the wall
    assert_allclose(held, 2 * 0.4 * 1.25 * 0.003, rtol=1e-3)


def test_sheers_and_gels_are_sheets() -> None:
    plain, hung = built(dressed()), built(dressed(Sheer(0.3, 0.3), WindowGel(loss=m(1.0))))
    assert len(plain.sheets) == 0  # no glass, nothing hung
    assert len(hung.corners) == len(plain.corners)  # they stop no ray by themselves
    pane, sheer = hung.sheets
    # pencil: half the light at right angles; of clear glass, so the pane's own is taken out
    assert_allclose([pane[12] * 0.91835, pane[13], pane[14]], [0.5, PANE, 1])
    assert_allclose([sheer[12], sheer[13]], [0.3, FABRIC])
    fabric = hung.fabrics["WINDOW sheer 1"]
    assert_allclose(fabric.scattered, 0.3)
    assert_allclose(fabric.reflected, 0.75 * 0.4)  # pencil: three quarters of the rest
    front, back = hung.sheet_faces[1]
    assert {hung.face_name[front], hung.face_name[back]} == {"room: WINDOW sheer 1"}
    own = np.flatnonzero(hung.element_partner != np.arange(len(hung.element_partner)))
    apart = hung.element_points[own].mean(1) - hung.element_points[hung.element_partner[own]].mean(
        1
    )
    assert len(own) > 20
    # each lies within a cell of the one behind it, and looks the other way
    assert np.linalg.norm(apart, axis=1).max() < 0.15
    assert_allclose(
        hung.element_normals[own], -hung.element_normals[hung.element_partner[own]], atol=1e-6
    )


def test_two_panes_stand_in_a_window_that_passes_little() -> None:
    """source: two slabs of n = 1.52 pass 0.849 at right angles, so glass of 0.8 has two panes."""
    (pane,) = built(dressed(glass=0.8)).sheets
    assert_allclose([pane[12] * 0.84902, pane[14]], [0.8, 2])


def test_very_many_slats_are_cut_coarser_and_told() -> None:
    few = dressed(Blind())
    assert (slat_strips(few), blind_findings(few)) == (8, ())
    fine = Blind(slat=m(0.012), pitch=m(0.0105))
    wide = window(1, 0.5, size=(9.9, 1.1), sill=0.9, dressing=(fine,))
    many = house(room(box(0.0, 0.0, width=11.0, depth=4.0), 2.5), openings={"WINDOW": wide})
    # pencil: 15,000 over 2 sides of 99 or 100 slats in 33 lengths of 0.3 m is 2
    assert slat_strips(many) == 2
    (finding,) = blind_findings(many)
    assert "2 strips" in finding.says
