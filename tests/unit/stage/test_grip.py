"""Frames, nets and mirrors: what their sheets do with light, and faults of their fabrics."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.unit.stage.lit_rooms import stage_of, told_of

from falloff.errors import GeometryError
from falloff.stage import FABRIC, MIRROR, Stage

PLACE = "size: [1 m, 1.5 m], at: [3 m, 2 m, 1.5 m], aim: [3 m, 4 m, 1.5 m]"


def grip(said: str) -> Stage:
    return stage_of(f"grip:\n  FLAT: {{{said}, {PLACE}}}\n")


def shares(stage: Stage) -> tuple[float, np.ndarray, np.ndarray]:
    """Straight, scattered and reflected shares of the one fabric."""
    k = stage.material_names.index("FLAT cloth")
    surfaces = stage.surfaces
    return 1.0 - float(surfaces.landing[k]), surfaces.through[k], surfaces.albedo[k]


def test_a_net_of_half_a_stop_lets_that_through_straight_and_scatters_nothing() -> None:
    stage = grip("kind: net, loss: 1/2 stop")
    straight, scattered, reflected = shares(stage)
    assert_allclose(straight, 2.0**-0.5, rtol=1e-6)  # pencil
    assert_allclose(scattered, 0.0, atol=0.0)
    assert float(reflected.max()) < 0.02
    (sheet,) = stage.surfaces.sheets
    assert sheet[13] == FABRIC
    assert_allclose(np.linalg.norm(np.cross(sheet[3:6], sheet[6:9])), 1.5, rtol=1e-9)  # pencil
    assert_allclose(sheet[9:12], [0.0, 1.0, 0.0], atol=1e-12)


def test_a_frame_has_the_fabrics_shares_and_bars_round_it() -> None:
    stage = grip("kind: frame, fabric: {straight: 0.1, scattered: 0.5}")
    straight, scattered, reflected = shares(stage)
    assert_allclose(straight, 0.1, rtol=1e-6)
    assert_allclose(scattered, 0.5, rtol=1e-6)
    assert_allclose(reflected, 0.3, rtol=1e-6)  # pencil: three quarters of the other 0.4
    body = stage.bodies["FLAT"]
    # pencil: 1 m and 1.5 m with a bar of 25 mm on either side
    assert_allclose(body.high - body.low, [1.05, 0.025, 1.55], atol=1e-6)


def test_a_fabric_of_the_kit_is_told_with_its_spread() -> None:
    stage = grip("kind: frame, fabric: artificial silk")
    straight, scattered, reflected = shares(stage)
    from falloff.kit import Fabric, find_item

    silk = find_item("artificial silk", "fabric")
    assert isinstance(silk, Fabric)
    assert_allclose(straight, silk.straight_share, rtol=1e-5)
    assert_allclose(scattered, silk.scattered_share, rtol=1e-5)
    assert_allclose(reflected, silk.reflected_share, rtol=1e-5)
    assert "common practice, from memory" in told_of(stage, "FLAT")


def test_unbleached_muslin_warms_what_it_passes() -> None:
    _, scattered, _ = shares(grip("kind: frame, fabric: unbleached muslin"))
    assert scattered[0] > scattered[1] > scattered[2]


def test_a_mirror_is_a_sheet_before_a_black_back() -> None:
    stage = grip("kind: mirror, reflectance: 0.85")
    (sheet,) = stage.surfaces.sheets
    assert (sheet[13], sheet[15]) == (MIRROR, 0.85)
    assert_allclose(sheet[9:12], [0.0, 1.0, 0.0], atol=1e-12)
    back = stage.bodies["FLAT"]
    assert_allclose(back.high[1], 2.0, atol=1e-9)  # pencil: the face itself, at y = 2 m
    assert stage.surfaces.corners[stage.surfaces.triangle_face >= 0].size > 0


def test_a_fabric_that_there_is_not_is_told_where_it_stands() -> None:
    with pytest.raises(GeometryError) as caught:
        grip("kind: frame, fabric: artifical silk")
    (fault,) = caught.value.faults
    assert "grip.FLAT.fabric" in fault.where
    assert "artificial silk" in fault.fix
