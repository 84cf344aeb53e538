"""The tree that windows are told: its numbers, and that what does not change stays one object."""

from __future__ import annotations

import json
import math
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.unit.page.worked_scene import TEXT, changed, parsed

from falloff.camera import display_matrix
from falloff.constants import LUMINANCE_WEIGHTS
from falloff.document import arranged, parse_document
from falloff.page.patches import apply, diff
from falloff.page.stored import Stored
from falloff.page.tree import TreeMaker
from falloff.session.scene import setup_light
from falloff.stage import build_stage

Tree = dict[str, Any]


@pytest.fixture(scope="module")
def maker() -> TreeMaker:
    return TreeMaker(Stored())


@pytest.fixture(scope="module")
def tree(maker: TreeMaker) -> Tree:
    return maker.tree(parsed())


def after(maker: TreeMaker, text: str) -> Tree:
    """The tree of another text; the maker goes back to the scene's own."""
    found = maker.tree(parse_document(text))
    maker.tree(parsed())
    return found


def test_it_is_plain_data_without_nothings_that_are_no_number(tree: Tree) -> None:
    told = json.dumps(tree, allow_nan=False)
    assert json.dumps(json.loads(told)) == told
    assert tree["title"] == "Worked on"
    assert tree["setup_order"] == ["ONE", "TWO", "THREE"]
    assert tree["source_order"] == list(tree["sources"])


def test_sources_stand_in_the_order_of_the_layers(tree: Tree) -> None:
    stage = build_stage(arranged(parsed(), "ONE"), guarded=False)
    assert tree["source_order"] == [source.name for source in stage.sources]
    for source in stage.sources:
        # at 100 % the gain is the source's colour, luminance 1
        assert_allclose(tree["sources"][source.name]["gains"][-1], source.colour, rtol=1e-6)
        assert_allclose(
            np.dot(tree["sources"][source.name]["gains"][-1], LUMINANCE_WEIGHTS), 1.0, rtol=1e-4
        )
    numbers = [one["number"] for one in tree["sources"].values() if one["dims"]]
    assert numbers == [1, 2, 3, 4, 5, 6]


def test_gains_follow_the_dim_curve(tree: Tree) -> None:
    """pencil: half a knob is half the light, under the square law a quarter."""
    for name, share, quarter in (("KEY", 0.5, 0.25), ("HEAD", 0.25, 0.0625)):
        gains = tree["sources"][name]["gains"]
        assert len(gains) == 101
        assert gains[0] == [0.0, 0.0, 0.0]
        assert_allclose(gains[50], share * np.array(gains[100]), rtol=1e-9)
        assert_allclose(gains[25], quarter * np.array(gains[100]), rtol=1e-9)
    windows = tree["sources"]["WINDOW"]
    assert (windows["kind"], windows["dims"], len(windows["gains"])) == ("window", False, 1)


def test_a_filament_warms_as_it_is_dimmed(maker: TreeMaker) -> None:
    text = TEXT.replace("dimming: square-law", "dimming: linear, warms: true")
    gains = np.array(after(maker, text)["sources"]["HEAD"]["gains"])
    assert_allclose(gains[50] @ LUMINANCE_WEIGHTS, 0.5 * gains[100] @ LUMINANCE_WEIGHTS, rtol=1e-6)
    red_over_blue = gains[:, 0][[20, 60, 100]] / gains[:, 2][[20, 60, 100]]
    assert red_over_blue[0] > 1.2 * red_over_blue[1] > 1.2 * red_over_blue[2]


def test_hues_at_the_lights_own_kelvin_change_nothing(tree: Tree) -> None:
    hues = tree["sources"]["KEY"]["hues"]
    own = [np.interp(5600.0, hues["kelvin"], np.array(hues["rgb"])[:, c]) for c in range(3)]
    assert_allclose(own, 1.0, atol=0.01)  # pencil; the table is even in mired
    assert hues["rgb"][0][0] > 1.2  # 1800 K is redder
    assert tree["sources"]["LOW"]["hues"] is None  # given by its chromaticity
    assert tree["sources"]["FILL"]["kelvin"] == 4300.0


def test_the_matrix_is_the_cameras(tree: Tree, maker: TreeMaker) -> None:
    text = TEXT.replace("key: cheek}", "key: cheek, balance: 3200 K, nd: ND 0.6}")
    for told, document in ((tree, parsed()), (after(maker, text), parse_document(text))):
        one = told["setups"]["ONE"]
        settings = setup_light(arranged(document, "ONE"), "ONE").settings
        assert_allclose(np.reshape(one["matrix"], (3, 3)), display_matrix(settings), rtol=1e-12)
        stored = maker.stored.get(one["tone"])
        assert stored is not None
        assert len(stored[0]) % 4 == 0
    one = tree["setups"]["ONE"]
    # source: ISO 2720:1974, E = C N²/(S t): 250 · 2.8² · 48 / 800; grey is 18 % of it over π
    assert_allclose(one["key_lux"], 250.0 * 7.84 * 48.0 / 800.0, rtol=1e-9)
    assert_allclose(one["grey_nit"], 0.18 * one["key_lux"] / math.pi, rtol=1e-6)
    # pencil: 2·log2(2.8) = 2.97 stops over T1; ISO 800 needs 3 less than 100; half open: 1 more
    assert_allclose(one["stop"]["stops"], 2.0 * math.log2(2.8))
    assert one["iso"] == {"text": "800", "stops": -3.0}
    assert_allclose(one["shutter"]["stops"], 1.0)
    assert (one["nd"]["stops"], one["balance"]) == (0.0, None)


def test_dims_tell_their_knob_and_light_just_there(tree: Tree) -> None:
    dims = tree["setups"]["ONE"]["dims"]
    assert (dims["KEY"]["knob"], dims["KEY"]["text"]) == (pytest.approx(0.6), "60 %")
    assert (dims["GLOBE"]["knob"], dims["GLOBE"]["text"]) == (1.0, "100 %")
    full = np.array(tree["sources"]["HEAD"]["gains"][100])
    assert_allclose(dims["HEAD"]["rgb"], 0.35**2 * full, rtol=1e-9)  # pencil: square law
    assert "WINDOW" not in dims
    assert tree["setups"]["THREE"]["dims"]["HEAD"]["knob"] == pytest.approx(0.1)


def test_a_setup_tells_how_it_differs_from_the_first(tree: Tree, maker: TreeMaker) -> None:
    setups = tree["setups"]
    assert setups["ONE"]["differs"] == []
    elsewhere = ["BLOCK elsewhere", "GUEST elsewhere", "KEY elsewhere", "without SOLID"]
    assert setups["TWO"]["differs"] == ["camera B", *elsewhere]
    assert setups["THREE"]["differs"] == ["camera B", "HEAD 10 %", *elsewhere]
    text = changed({"do": "setup", "name": "FOUR", "like": "ONE"})
    settings = "stop: T4, iso: 400, shutter: 90 deg, nd: ND 0.3, balance: 3200 K"
    text = text.replace("FOUR: {like: ONE}", f"FOUR: {{like: ONE, {settings}}}")
    assert after(maker, text)["setups"]["FOUR"]["differs"] == [
        "T4", "ISO 400", "shutter 90 deg", "ND 0.3", "balance 3200 K"]  # fmt: skip


def test_plans_are_one_for_each_arrangement(tree: Tree) -> None:
    assert set(tree["plans"]) == {"ONE", "TWO"}
    assert [tree["setups"][name]["plan"] for name in tree["setup_order"]] == ["ONE", "TWO", "TWO"]


def test_what_does_not_change_is_the_same_object(maker: TreeMaker, tree: Tree) -> None:
    assert maker.tree(parsed()) is maker.tree(parse_document(TEXT))
    before = maker.tree(parsed())
    dimmed = maker.tree(parse_document(changed({"do": "dim", "source": "KEY", "knob": 0.5})))
    for key in ("tables", "sources", "plans", "kit", "targets", "readings", "source_order"):
        assert dimmed[key] is before[key], key
    assert dimmed["setups"]["ONE"] is not before["setups"]["ONE"]
    assert dimmed["setups"]["ONE"]["dims"]["HEAD"] is before["setups"]["ONE"]["dims"]["HEAD"]
    before = maker.tree(parsed())
    moved = maker.tree(parse_document(changed({"do": "place", "name": "VASE", "x_m": 2.1})))
    for key in ("tables", "sources", "kit", "setups"):
        assert moved[key] is before[key], key
    assert moved["plans"]["ONE"] is not before["plans"]["ONE"]
    maker.tree(parsed())


@pytest.mark.parametrize(
    ("change", "most"),
    [
        ({"do": "dim", "source": "KEY", "knob": 0.5}, 1000),
        ({"do": "setting", "key": "stop", "text": "T4"}, 2000),
        ({"do": "place", "name": "KEY", "x_m": 4.0, "y_m": 3.0}, 60_000),
    ],
)
def test_patches_are_small_and_lead_to_the_new_tree(
    maker: TreeMaker, change: dict[str, Any], most: int
) -> None:
    before = maker.tree(parsed())
    now = after(maker, changed(change))
    patch = diff(before, now)
    assert 0 < len(json.dumps(patch)) < most
    assert json.dumps(apply(before, patch), sort_keys=True) == json.dumps(now, sort_keys=True)


def test_a_scene_without_setups_and_lights_has_a_tree() -> None:
    text = TEXT[: TEXT.index("openings:")]
    bare = TreeMaker(Stored()).tree(parse_document(text))
    assert (bare["setups"], bare["sources"], bare["plans"]) == ({}, {}, {})
