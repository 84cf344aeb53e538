"""Light thrown by a mirror: pencil values of the unfolded way, and what stands in it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.document import parse_document
from falloff.layers import move_body, trace_layers
from falloff.stage import build_stage
from falloff.transport import Budget, trace, trace_probes

ROOM = """
falloff: 2
title: A mirror
units: metric
room:
  floor: [[0 m, 0 m], [5 m, 0 m], [5 m, 5 m], [0 m, 5 m]]
  height: 3 m
  floor_surface: none
  ceiling_surface: none
  wall_surface: none
materials:
  none: {reflectance: 0}
cameras:
  A: {at: [2 m, 4.5 m, 1.5 m], aim: [4 m, 1 m, 1.5 m], lens: 35 mm}
fixtures:
  LIGHT: {SHINES, colour: 5600 K, at: [1 m, 1 m, 1.5 m], aim: [4 m, 1 m, 1.5 m]}
grip:
  MIRROR: {kind: mirror, reflectance: 0.8, size: [1 m, 1 m], at: [4 m, 1 m, 1.5 m], aim: AIM}
  FLAG: {kind: solid, size: [0.3 m, 0.3 m], at: FLAG, aim: TURN}
readings:
  there: {at: [4 m, 4 m, 1.5 m], normal: [0, -1, 0]}
"""
# The mirror turns the light's way square: halfway between the light and what it is thrown on.
SQUARE = "[3 m, 2 m, 1.5 m]"
PANEL = "light: panel, size: [6 cm, 6 cm], output: 1000 lm"
SPOT = "light: profile spot, aperture: 8 cm, beam: 20 deg, edge: 0 %, output: 1000 lm"
# Square to each way, so that it stands wholly in it.
FLAGS = {
    "aside": "at: [0.5 m, 4.5 m, 2.8 m], aim: down",
    "before": "at: [2.5 m, 1 m, 1.5 m], aim: [1 m, 1 m, 1.5 m]",
    "after": "at: [4 m, 2.5 m, 1.5 m], aim: [4 m, 4 m, 1.5 m]",
}


def lux(shines: str, flag: str = "aside", aim: str = SQUARE) -> float:
    text = ROOM.replace("SHINES", shines).replace("at: FLAG, aim: TURN", FLAGS[flag])
    text = text.replace("aim: AIM", f"aim: {aim}")
    stage = build_stage(parse_document(text, "mirror.scene.yaml"), guarded=False)
    light = trace_probes(trace(stage, Budget()), stage.probes)
    return float(light.direct[0, 0, 1].mean())


# pencil: I = Φ/π for a matte front; straight there 45° off both ways, 18 m² away
MATTE_CD = 1000.0 / math.pi
STRAIGHT_LX = MATTE_CD * 0.5 / 18.0


def test_a_small_matte_light_falls_off_along_the_folded_way() -> None:
    # pencil: 3 m and 3 m, ρ = 0.8; the front is a hundredth of the way, so 0.03 % for its size
    assert_allclose(lux(PANEL), STRAIGHT_LX + 0.8 * MATTE_CD / 36.0, rtol=1e-3)


def test_a_beam_is_thrown_on() -> None:
    # pencil: an even cone of half angle 10°, I = Φ / 2π(1 − cos 10°); 1 % for how its edge is cut
    even = 1000.0 / (2.0 * math.pi * (1.0 - math.cos(math.radians(10.0))))
    assert_allclose(lux(SPOT), 0.8 * even / 36.0, rtol=0.01)


@pytest.mark.parametrize("flag", ["before", "after"])
def test_what_stands_in_either_way_keeps_it_off(flag: str) -> None:
    assert_allclose(lux(PANEL, flag), STRAIGHT_LX, rtol=1e-3)


@pytest.mark.parametrize("aim", ["[2 m, 1 m, 1.5 m]", "[5 m, 0 m, 1.5 m]"])
def test_a_mirror_turned_away_or_round_throws_nothing_there(aim: str) -> None:
    assert_allclose(lux(PANEL, aim=aim), STRAIGHT_LX, rtol=1e-3)


def test_a_moved_flag_or_mirror_leaves_what_a_new_trace_gives() -> None:
    """A flag that moves into the thrown light, at every reading and pixel, bit for bit."""
    text = ROOM.replace("SHINES", PANEL).replace("aim: AIM", f"aim: {SQUARE}")
    text = text.replace("reflectance: 0}", "reflectance: 0.5}")
    before, after = (
        build_stage(
            parse_document(text.replace("at: FLAG, aim: TURN", FLAGS[flag]), "mirror.scene.yaml"),
            guarded=False,
        )
        for flag in ("aside", "after")
    )
    budget = Budget(view_rays=1, gather_rays=4, shadow_rays=1)
    layers = trace_layers(before, budget, sizes={"A": (48, 27)})
    moved, anew = (
        move_body(layers, after, "FLAG"),
        trace_layers(after, budget, sizes={"A": (48, 27)}),
    )
    np.testing.assert_array_equal(moved.probes.direct, anew.probes.direct)
    np.testing.assert_array_equal(moved.views["A"].direct, anew.views["A"].direct)
    np.testing.assert_array_equal(moved.solution.direct, anew.solution.direct)
    assert not np.array_equal(anew.solution.direct, layers.solution.direct)
