"""Targets of every kind, walks, areas and a free exposure, read as they were meant."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from falloff.document import (
    ColourTarget,
    EvenTarget,
    HueTarget,
    KeepTarget,
    SceneDocument,
    SquareAim,
    Target,
    ValueTarget,
    arranged,
    parse_document,
    points_of,
    read_document,
    reading_of,
    targets_in,
)
from falloff.stage.places import Placer
from falloff.stage.probes import place_probes

SCENE = Path(__file__).parent / "good" / "targets.scene.yaml"


@pytest.fixture(scope="module")
def scene() -> SceneDocument:
    return read_document(SCENE)


def test_levels_and_ratios(scene: SceneDocument) -> None:
    """EXP-21: 4:1 key and fill to fill, 3:1 key to fill, both 2 stops."""
    levels = scene.level_targets
    told = {name: (one.level.si, one.level.text, one.over) for name, one in levels.items()}
    assert told == {
        "key": (1 / 3, "1/3 stop", None),
        "contrast": (2.0, "4:1 key and fill to fill", "shadow cheek"),
        "the same": (2.0, "3:1 key to fill", "shadow cheek"),
        "everywhere": (-1.0, "-1 stops", "key cheek"),
    }
    assert (levels["key"].limit, levels["key"].weight) == ("at least", 2.0)
    assert levels["the same"].limit == "at most"


def test_the_other_kinds(scene: SceneDocument) -> None:
    kinds = {name: type(one) for name, one in scene.targets.items() if not isinstance(one, Target)}
    assert kinds == {
        "in lux": ValueTarget, "on the wall": ValueTarget, "flat wall": EvenTarget,
        "both": EvenTarget, "warm": ColourTarget, "warmer": ColourTarget, "accent": HueTarget,
        "tin stays": KeepTarget,
    }  # fmt: skip
    lux, warm, warmer = scene.targets["in lux"], scene.targets["warm"], scene.targets["warmer"]
    both, accent = scene.targets["both"], scene.targets["accent"]
    assert isinstance(lux, ValueTarget)
    assert_allclose(lux.value.si, 30 * 10.7639104, rtol=1e-8)  # source: NIST SP 811, foot-candle
    assert isinstance(warm, ColourTarget)
    assert isinstance(warmer, ColourTarget)
    assert (warm.mired, warm.tolerance, warm.green, warm.green_tolerance) == (None, 20.0, 0.0, 5.0)
    assert (warmer.mired, warmer.over, warmer.green, warmer.colour) == (60, "key cheek", -5.0, None)
    assert isinstance(both, EvenTarget)
    assert both.readings == ("key cheek", "the walk")
    assert isinstance(accent, HueTarget)
    assert_allclose([accent.hue.si, accent.tolerance.si], [7 * math.pi / 6, math.pi / 9])


def test_what_may_be_chosen_of_an_exposure(scene: SceneDocument) -> None:
    free = scene.setups["A"].free
    assert free is not None
    assert free.stop is not None
    assert [one.si for one in free.stop] == [2.8, 5.6]
    assert free.iso == (400.0, 800.0)
    # pencil: a density of 0.3 is nearly a stop
    assert_allclose([one.si for one in free.nd], [0.0, 0.6 / math.log10(2), 1.2 / math.log10(2)])
    assert scene.setups["B"].free == free
    other = scene.setups["C"].free
    assert other is not None
    assert (other.stop, other.iso, other.nd) == (None, (200.0,), ())


def test_where_a_target_is_wanted(scene: SceneDocument) -> None:
    assert "on the wall" in targets_in(scene, "A")
    assert "on the wall" not in targets_in(scene, "B")
    assert "in lux" in targets_in(scene, "B")
    # the tin is not there in B, and with it goes what is wanted of it
    assert "tin stays" not in arranged(scene, "B").targets
    # A and C stand alike: what is wanted in either is kept in both
    assert "on the wall" in arranged(scene, "C").targets


# Walks and areas -------------------------------------------------------------------------


def test_points_have_names(scene: SceneDocument) -> None:
    points = points_of(scene)
    assert points["key cheek"] == ("key cheek",)
    assert points["the walk"] == tuple(f"the walk {k}" for k in (1, 2, 3, 4, 5))
    assert (len(points["wall"]), points["wall"][-1]) == (12, "wall 12")
    assert reading_of(scene, "wall 12") == "wall"
    assert reading_of(scene, "key cheek") == "key cheek"
    assert reading_of(scene, "wall 13") is None
    probes = [one.name for one in place_probes(Placer(scene))]
    assert probes == [point for names in points.values() for point in names]


def test_points_lie_evenly_on_their_line_or_surface(scene: SceneDocument) -> None:
    """Pencil: thirds of what lies between the ends; rows from `at` on; receptors 0.2 mm proud."""
    probes = {one.name: one for one in place_probes(Placer(scene))}

    def points(name: str, *numbers: int) -> np.ndarray:
        return np.array([probes[f"{name} {k}"].point for k in numbers])

    assert_allclose(
        points("along", 1, 2, 3, 4),
        np.array([[1, 0, 1], [2, 0, 4 / 3], [3, 0, 5 / 3], [4, 0, 2]]),
        atol=1e-3,
    )
    # wall 3 runs from [5 m, 4 m] to [0 m, 4 m]
    assert_allclose(
        points("wall", 1, 2, 4, 5, 12),
        np.array([[4, 4, 0.5], [3, 4, 0.5], [1, 4, 0.5], [4, 4, 1.25], [1, 4, 2]]),
        atol=1e-3,
    )
    assert_allclose(
        points("bench", 1, 2, 6),
        np.array([[1.2, 1.7, 0.9], [2, 1.7, 0.9], [2.8, 2.3, 0.9]]),
        atol=1e-3,
    )
    flat = np.array([[3, 1, 0], [4.5, 1, 0], [3, 3, 0]])
    assert_allclose(points("floor", 1, 2, 3), flat, atol=1e-3)
    # the maker looks down the plan, so 6 o'clock is at [2 m, 2 m]
    assert_allclose(points("the walk", 3), np.array([[1.5, 1.75, 1.5]]), atol=1e-3)


def test_a_walk_on_a_wall_is_square_to_it(scene: SceneDocument) -> None:
    assert isinstance(scene.readings["along"].aim, SquareAim)
    probes = {one.name: one for one in place_probes(Placer(scene))}
    assert_allclose(probes["wall 7"].normal, [0, -1, 0], atol=1e-12)
    assert (probes["wall 7"].material, probes["wall 7"].place) == ("plaster", "wall 3")
    assert_allclose(probes["bench 4"].normal, [0, 0, 1], atol=1e-12)
    assert {probes[f"the walk {k}"].view for k in (1, 5)} == {"WIDE"}


ROOM = SCENE.read_text(encoding="utf-8").split("openings:")[0].replace("plaster", "planks")
FEET = st.integers(50, 350).map(lambda hundredths: hundredths / 100.0)


@settings(max_examples=60, deadline=None)
@given(
    st.tuples(FEET, FEET, FEET),
    st.tuples(FEET, FEET, FEET),
    st.integers(2, 12),
    st.integers(2, 4),
)
def test_the_same_walk_in_feet_and_in_metres(
    at: tuple[float, ...], to: tuple[float, ...], along: int, rows: int
) -> None:
    """Both ends in feet, and the same in metres (1 ft is 0.3048 m), give equal points."""
    assume(at[0] != to[0] and at[1] != to[1])

    def scene(unit: str, times: float) -> np.ndarray:
        a, b = ([f"{one * times:.10g} {unit}" for one in end] for end in (at, to))
        on = [f"{{wall: 1, along: {end[0]}, height: {end[1]}}}" for end in (a, b)]
        text = f"""{ROOM}readings:
  walk: {{at: [{", ".join(a)}], to: [{", ".join(b)}], points: {along}, normal: [0, 1, 0]}}
  wall: {{at: {on[0]}, to: {on[1]}, points: [{along}, {rows}]}}
"""
        return np.array([one.point for one in place_probes(Placer(parse_document(text)))])

    metres = scene("m", 0.3048)
    assert len(metres) == along + along * rows
    assert_allclose(scene("ft", 1.0), metres, atol=1e-9)
