"""falloff pocket --hour: what is said of the hours, and what of those that are none."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.cli.conftest import Falloff
from tests.unit.session.test_pocket_hours import TEXT

from falloff.transport import Budget

FEW = Budget(view_rays=1, gather_rays=2, shadow_rays=1, row_rays=16, reading_replicates=2)


@pytest.fixture
def hours_scene(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr("falloff.session.pocket.POCKET_BUDGET", FEW)
    monkeypatch.setattr("falloff.session.pocket_fit.WIDTH_PX", 96)
    monkeypatch.setattr("falloff.session.pocket_fit._LEAST_WIDTH_PX", 96)
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "hours.scene.yaml"
    path.write_text(TEXT, encoding="utf-8")
    return path


def test_it_says_which_hours_it_took(hours_scene: Path, falloff: Falloff) -> None:
    told = falloff("pocket", hours_scene, "--setup", "DAY", "--setup", "LATE")
    assert told.code == 0
    said = told.out
    assert "Hours of DAY: 09:00, 13:40, 18:30, 21:45." in said
    assert "Hours of LATE: 09:00, 16:30, 18:30, 21:45." in said
    assert "left out" not in said


def test_it_says_which_hours_have_no_room(
    hours_scene: Path, falloff: Falloff, monkeypatch: pytest.MonkeyPatch
) -> None:
    # pencil: 250 kB and a setup's 70, and 41 a picture of 96 · 54 pixels, of which there are four
    monkeypatch.setattr("falloff.session.pocket_fit.MOST_BYTES", 540_000)
    hours = ("--hour", "20:45", "--hour", "sunset")
    told = falloff("pocket", hours_scene, "--setup", "DAY", *hours)
    assert told.code == 0
    said = told.out
    assert "Hours of DAY: 13:40, 20:45." in said
    assert "Hours of DAY left out for want of room: 21:21." in said


def test_the_hours_are_in_the_json(hours_scene: Path, falloff: Falloff) -> None:
    told = falloff("pocket", hours_scene, "--setup", "LOW", "--hour", "noon", "--json")
    assert told.code == 0
    said = json.loads(told.out)
    # pencil: 0.13° west are half a minute, and that day's sun is two minutes late
    assert said["hours"] == {"LOW": ["13:02", "13:40"]}
    assert said["hours_left_out"] == {}


def test_what_is_no_hour_is_told(hours_scene: Path, falloff: Falloff) -> None:
    told = falloff("pocket", hours_scene, "--hour", "tea time")
    assert told.code == 2
    said = " ".join(told.err.split())
    assert "this is no hour of the day" in said
    assert "sunrise, noon, sunset, dusk" in said
