"""Layers kept on disk: found again when nothing changed, traced anew when something did."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from numpy.testing import assert_array_equal

from falloff.document import parse_document
from falloff.layers import cached_layers, store
from falloff.stage import Stage, build_stage
from falloff.transport import Budget

COARSE = Budget(view_rays=1, gather_rays=4, shadow_rays=2, reading_gather_rays=32)
SIZES = {"A": (32, 18)}
SCENE = """
falloff: 1
title: Box
units: metric
room: {floor: [[0 m, 0 m], [3 m, 0 m], [3 m, 3 m], [0 m, 3 m]], height: 2.5 m, floor_surface: oak,
       ceiling_surface: white paint, wall_surface: plaster}
practicals:
  LAMP: {light: globe, diameter: 20 cm, output: 400 lm, colour: 2700 K, at: [1.5 m, 1.5 m, 1.4 m]}
cameras:
  A: {at: [1.5 m, 0.3 m, 1.3 m], aim: LAMP, lens: 24 mm}
readings:
  floor: {at: [1 m, 1 m, 0 m], normal: [0, 0, 1]}
"""


def stage_of(text: str = SCENE) -> Stage:
    return build_stage(parse_document(text))


def test_second_time_comes_from_the_cache_and_is_the_same(tmp_path: Path) -> None:
    first, was_kept = cached_layers(stage_of(), COARSE, sizes=SIZES, folder=tmp_path)
    again, is_kept = cached_layers(stage_of(), COARSE, sizes=SIZES, folder=tmp_path)
    assert (was_kept, is_kept) == (False, True)
    assert_array_equal(first.views["A"].bounced, again.views["A"].bounced)
    assert_array_equal(first.probes.direct, again.probes.direct)
    assert_array_equal(first.solution.radiosity, again.solution.radiosity)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("diameter: 20 cm", "diameter: 21 cm"),
        ("output: 400 lm", "output: 401 lm"),
        ("wall_surface: plaster", "wall_surface: concrete"),
        ("height: 2.5 m", "height: 2.51 m"),
        ("lens: 24 mm", "lens: 25 mm"),
        ("at: [1 m, 1 m, 0 m]", "at: [1 m, 1.1 m, 0 m]"),
    ],
)
def test_a_change_of_what_light_depends_on_is_traced(old: str, new: str) -> None:
    changed = store.key_of(stage_of(SCENE.replace(old, new)), COARSE, SIZES)
    assert changed != store.key_of(stage_of(), COARSE, SIZES)


def test_colour_and_comments_trace_nothing() -> None:
    other = SCENE.replace("2700 K", "3200 K") + "\n# a remark\n"
    assert store.key_of(stage_of(other), COARSE, SIZES) == store.key_of(stage_of(), COARSE, SIZES)


def test_another_budget_or_size_is_another_trace() -> None:
    key = store.key_of(stage_of(), COARSE, SIZES)
    assert store.key_of(stage_of(), Budget(), SIZES) != key
    assert store.key_of(stage_of(), COARSE, {"A": (64, 36)}) != key


def test_a_damaged_file_is_traced_again(tmp_path: Path) -> None:
    cached_layers(stage_of(), COARSE, sizes=SIZES, folder=tmp_path)
    (kept,) = tmp_path.glob("*.npz")
    kept.write_bytes(kept.read_bytes()[:1000])
    _, from_cache = cached_layers(stage_of(), COARSE, sizes=SIZES, folder=tmp_path)
    assert not from_cache
    _, from_cache = cached_layers(stage_of(), COARSE, sizes=SIZES, folder=tmp_path)
    assert from_cache


def test_a_folder_that_cannot_be_made_only_costs_the_cache(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("not a folder")
    layers, from_cache = cached_layers(stage_of(), COARSE, sizes=SIZES, folder=blocked / "layers")
    assert not from_cache
    assert layers.views["A"].direct.max() > 0.0


def test_the_oldest_go_when_the_cap_is_passed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    old, middle, new = (tmp_path / f"{name}.npz" for name in ("old", "middle", "new"))
    for age, file in enumerate((new, middle, old)):
        file.write_bytes(b"x" * 100)
        os.utime(file, (1e9 - age, 1e9 - age))
    monkeypatch.setattr(store, "CACHE_BYTES", 250)
    store._trim(tmp_path)
    assert sorted(file.name for file in tmp_path.iterdir()) == ["middle.npz", "new.npz"]
