"""Layers that follow a hand: every pass that is called whole equals a trace from nothing."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from falloff.document import parse_document
from falloff.layers import LightLayers, live, store, trace_layers
from falloff.layers.live import Live, Shown, drag_passes, open_passes, settle_passes
from falloff.stage import Stage, build_stage
from falloff.transport import Budget, seen_reflectance, settle_again

ROOM = (Path(__file__).parents[2] / "reference/scenes/test_room.scene.yaml").read_text("utf-8")
SIZE = (48, 27)
BUDGET = Budget(
    row_rays=32, element_points=2, element_rays=2, opening_rays=4, view_rays=2, gather_rays=4,
    shadow_rays=2, beam_rays=1024, reading_replicates=4, reading_shadow_rays=16,
    reading_gather_rays=32,
)  # fmt: skip
OTHER = "  OTHER: {at: [0.6 m, 0.5 m, 1.6 m], aim: [3 m, 3 m, 1 m], lens: 20 mm}\n"
TEXT = (
    ROOM.replace("\nsetups:", f"{OTHER}\nsetups:")
    + """
readings:
  table: {at: {on: TABLE}}
  air: {at: [1 m, 1 m, 1.2 m], normal: [0, 1, 0]}
"""
)
CUPBOARD = "at: [0.245 m, 1.2 m]"
SOFTBOX = "at: [4.6 m, 1.2 m, 1.9 m]"
GLOBE = "at: [1.5 m, 1 m, 1.25 m]"
WHITE, LOWER = "600 lm, colour: 6500 K", "at: [1.7 m, 1 m, 1.1 m]"
BEAM = TEXT[TEXT.index("  BEAM:") : TEXT.index("practicals:")]
EYE = "at: [3.6 m, 0.35 m, 1.5 m]"


def stage_of(*pairs: tuple[str, str]) -> Stage:
    text = TEXT
    for old, new in pairs:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return build_stage(parse_document(text), guarded=False)


@pytest.fixture(scope="module", autouse=True)
def small(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Few rays, and a cache of our own."""
    folder = tmp_path_factory.mktemp("layers")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(live, "LIVE_BUDGET", BUDGET)
        patch.setattr(store, "_cache_folder", lambda: folder)
        yield


@pytest.fixture(scope="module")
def opened() -> list[Shown]:
    return list(open_passes(stage_of(), "CAMERA", size=SIZE))


@pytest.fixture(scope="module")
def before(opened: list[Shown]) -> Live:
    return live_of(opened[-1])


def live_of(shown: Shown) -> Live:
    assert shown.live is not None
    return shown.live


def anew(stage: Stage, view: str = "CAMERA") -> LightLayers:
    return trace_layers(stage, BUDGET, sizes={view: SIZE})


def assert_shows(shown: Shown, wanted: LightLayers, view: str = "CAMERA") -> None:
    """A whole pass is what a trace from nothing gives, and its readings too."""
    pictures = wanted.views[view]
    assert (shown.told, shown.whole, shown.view) == ("full", True, view)
    assert shown.sources == tuple(range(len(wanted.names)))
    for mine, theirs in ((shown.direct, pictures.direct), (shown.bounced, pictures.bounced)):
        assert mine.shape == (len(wanted.names), SIZE[1], SIZE[0], 3)
        assert_allclose(mine, theirs, rtol=1e-4, atol=1e-5 * float(theirs.max()))
    for part in ("direct", "bounced"):
        mine, theirs = getattr(shown.probes(), part), getattr(wanted.probes, part)
        assert_allclose(mine, theirs, rtol=1e-4, atol=1e-5 * float(theirs.max()))
    assert live_of(shown).names == wanted.names


def test_opening_is_coarse_and_then_full(opened: list[Shown]) -> None:
    coarse, full = opened
    assert (coarse.told, coarse.whole, full.told) == ("coarse", True, "full")
    assert coarse.direct.shape[1:] == (SIZE[1] // 2, SIZE[0] // 2, 3)
    assert_shows(full, anew(stage_of()))
    # the coarse picture is of the same scene: as bright on the whole, within its noise
    assert_allclose(coarse.direct.mean((1, 2)), full.direct.mean((1, 2)), rtol=0.25, atol=1e-3)
    for one in opened:
        assert one.ground is not None
        assert one.ground.shape == one.direct.shape[1:3]
        seen = one.ground[np.isfinite(one.ground)]
        assert 0.0 <= seen.min() <= seen.max() <= 0.9  # pencil: the ceiling has most, 85 %
        assert 0.8 < seen.size / one.ground.size < 1.0  # the window and lights are none
    assert live_of(coarse).layers().views == {}
    assert list(live_of(full).layers().views) == ["CAMERA"]


def test_what_the_cache_has_is_shown_at_once_and_is_the_same(opened: list[Shown]) -> None:
    first, ready = open_passes(stage_of(), "CAMERA", size=SIZE)
    assert (first.told, first.whole, first.ground) == ("full", True, None)
    for one in (first, ready):
        assert_array_equal(one.direct, opened[-1].direct)
        assert_array_equal(one.bounced, opened[-1].bounced)
        assert_array_equal(one.probes().direct, opened[-1].probes().direct)
    assert_array_equal(ready.ground, opened[-1].ground)
    # from these rays it goes on as from those that were traced
    stage = stage_of((GLOBE, "at: [1.6 m, 1.1 m, 1.3 m]"))
    (shown,) = settle_passes(live_of(ready), stage, "CAMERA", size=SIZE)
    assert_shows(shown, anew(stage))


MOVES = {
    # pencil: how the new solution comes from the old one
    "same": ("same", [("title: Test room", "title: Other"), (WHITE, "600 lm, colour: 3000 K")]),
    "a reading": ("same", [("[1 m, 1 m, 1.2 m]", "[1 m, 1.1 m, 1.2 m]")]),
    "a prop moved": ("moved", [(CUPBOARD, "at: [0.245 m, 1.5 m]")]),
    "a light moved": ("moved", [(GLOBE, "at: [1.7 m, 1.2 m, 1.4 m]")]),
    "a soft box moved": ("moved", [(SOFTBOX, "at: [4.4 m, 1.4 m, 2.0 m]")]),
    "an output": ("relit", [("output: 600 lm", "output: 900 lm")]),
    "a beam's output": ("relit", [("output: 5000 lm", "output: 2500 lm")]),
    "a reflectance": ("relit", [("wall 70: {reflectance: 0.70}", "wall 70: {reflectance: 0.40}")]),
    "a sky": ("relit", [("outside: 12000 lx", "outside: 6000 lx")]),
    "a window": ("anew", [("width: 1.6 m", "width: 1.3 m")]),
    "a light less": ("anew", [(BEAM, "")]),
    "two things moved": ("anew", [(CUPBOARD, "at: [0.245 m, 1.5 m]"), (GLOBE, LOWER)]),
}  # fmt: skip


@pytest.mark.parametrize("name", MOVES)
def test_settling_equals_a_trace_from_nothing(before: Live, name: str) -> None:
    way, pairs = MOVES[name]
    stage = stage_of(*pairs)
    settled = settle_again(before.solution, stage)
    assert settled.way == way
    passes = list(settle_passes(before, stage, "CAMERA", size=SIZE))
    assert [one.told for one in passes] == (["coarse", "full"] if way == "anew" else ["full"])
    wanted = anew(stage)
    assert_shows(passes[-1], wanted)
    seen = wanted.views["CAMERA"].trace
    assert seen is not None
    assert_array_equal(passes[-1].ground, seen_reflectance(seen, stage))


def test_a_camera_that_moves_is_traced_again(before: Live) -> None:
    stage = stage_of((EYE, "at: [3.3 m, 0.4 m, 1.5 m]"))
    assert settle_again(before.solution, stage).way == "same"
    passes = list(settle_passes(before, stage, "CAMERA", size=SIZE))
    assert [one.told for one in passes] == ["coarse", "full"]
    assert_shows(passes[-1], anew(stage))
    larger = list(settle_passes(before, stage_of(), "CAMERA", size=(64, 36)))
    assert larger[-1].direct.shape[1:3] == (36, 64)


def test_many_changes_one_after_another_add_no_error(before: Live) -> None:
    pairs: list[tuple[str, str]] = []
    held = before
    for name in ("a prop moved", "an output", "a reflectance", "a soft box moved"):
        pairs += MOVES[name][1]
        (shown,) = settle_passes(held, stage_of(*pairs), "CAMERA", size=SIZE)
        held = live_of(shown)
    assert_shows(shown, anew(stage_of(*pairs)))


def test_other_cameras_are_kept_while_nothing_changes(before: Live) -> None:
    both = live_of(list(open_passes(stage_of(), "OTHER", size=SIZE, before=before))[-1])
    assert set(both.views) == {"CAMERA", "OTHER"}
    assert both.views["CAMERA"] is before.views["CAMERA"]
    assert both.solution is before.solution
    assert_shows(
        list(settle_passes(both, stage_of(), "OTHER", size=SIZE))[-1], anew(stage_of(), "OTHER"),
        "OTHER",
    )  # fmt: skip
    (same,) = settle_passes(both, stage_of(*MOVES["same"][1]), "OTHER", size=SIZE)
    assert live_of(same).views["CAMERA"] is both.views["CAMERA"]
    *_, eye = settle_passes(both, stage_of((EYE, "at: [3.3 m, 0.4 m, 1.5 m]")), "OTHER", size=SIZE)
    assert set(live_of(eye).views) == {"OTHER"}  # it has moved itself
    (moved,) = settle_passes(both, stage_of(*MOVES["a light moved"][1]), "OTHER", size=SIZE)
    assert set(live_of(moved).views) == {"OTHER"}
    *_, lost = settle_passes(both, stage_of(*MOVES["a window"][1]), "OTHER", size=SIZE)
    assert set(live_of(lost).views) == {"OTHER"}
    gone = stage_of((OTHER, ""))
    assert set(live_of(list(settle_passes(both, gone, "CAMERA", size=SIZE))[-1]).views) == {
        "CAMERA"
    }


@pytest.mark.parametrize(
    ("name", "moved"), [("a light moved", "GLOBE"), ("a soft box moved", "SOFTBOX")]
)
def test_dragging_shows_the_lights_own_layer(
    before: Live, name: str, moved: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(live, "DRAG_SHADOW_RAYS", BUDGET.shadow_rays)
    stage = stage_of(*MOVES[name][1])
    glance, full = drag_passes(before, stage, moved, view="CAMERA")
    s = before.names.index(moved)
    wanted = anew(stage)
    for one in (glance, full):
        assert (one.sources, one.whole, one.live, one.ground) == ((s,), False, None, None)
    assert glance.told == "coarse"
    assert glance.direct.shape == (1, SIZE[1] // 2, SIZE[0] // 2, 3)
    assert glance.bounced.size == 0
    assert full.told == "full"
    direct = wanted.views["CAMERA"].direct[s]
    assert_allclose(full.direct[0], direct, rtol=1e-6, atol=1e-6 * float(direct.max()))
    assert_allclose(glance.direct.mean(), direct.mean(), rtol=0.1)
    # bounce off what else the body may hide comes when the hand rests: nearly the same
    bounced = wanted.views["CAMERA"].bounced[s]
    assert_allclose(full.bounced[0].mean(), bounced.mean(), rtol=0.02)
    lit = wanted.probes.direct[s]
    assert_allclose(full.probes().direct[s], lit, rtol=1e-4, atol=1e-5 * float(lit.max()))
    assert before.stage.title == "Test room"


def test_a_drag_leaves_what_it_began_from(before: Live) -> None:
    kept = before.solution.radiosity.copy()
    list(drag_passes(before, stage_of(*MOVES["a light moved"][1]), "GLOBE", view="CAMERA"))
    assert_array_equal(before.solution.radiosity, kept)
    (again,) = settle_passes(before, stage_of(), "CAMERA", size=SIZE)
    assert_shows(again, anew(stage_of()))
