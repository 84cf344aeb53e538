"""falloff pocket --hour: what is said of the hours, and what of those that are none."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest
from tests.unit.session.test_pocket_hours import TEXT

from falloff.cli.commands import main
from falloff.transport import Budget

FEW = Budget(view_rays=1, gather_rays=2, shadow_rays=1, row_rays=16, reading_replicates=2)


@pytest.fixture
def scene(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr("falloff.session.pocket.POCKET_BUDGET", FEW)
    monkeypatch.setattr("falloff.session.pocket_fit.WIDTH_PX", 96)
    monkeypatch.setattr("falloff.session.pocket_fit._LEAST_WIDTH_PX", 96)
    monkeypatch.setattr("falloff.layers.store._cache_folder", lambda: tmp_path / "cache")
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "hours.scene.yaml"
    path.write_text(TEXT, encoding="utf-8")
    return path


def run(monkeypatch: pytest.MonkeyPatch, *arguments: str) -> int:
    """The exit code of the command."""
    monkeypatch.setattr(sys, "argv", ["falloff", "pocket", *arguments])
    with pytest.raises(SystemExit) as ended:
        main()
    code = ended.value.code
    assert isinstance(code, int)
    return code


def test_it_says_which_hours_it_took(
    scene: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(monkeypatch, str(scene), "--setup", "DAY", "--setup", "LATE") == 0
    said = capsys.readouterr().out
    assert "Hours of DAY: 09:00, 13:40, 18:30, 21:45." in said
    assert "Hours of LATE: 09:00, 16:30, 18:30, 21:45." in said
    assert "left out" not in said


def test_it_says_which_hours_have_no_room(
    scene: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    # pencil: 250 kB and a setup's 70, and 41 a picture of 96 · 54 pixels, of which there are four
    monkeypatch.setattr("falloff.session.pocket_fit.MOST_BYTES", 540_000)
    hours = ("--hour", "20:45", "--hour", "sunset")
    assert run(monkeypatch, str(scene), "--setup", "DAY", *hours) == 0
    said = capsys.readouterr().out
    assert "Hours of DAY: 13:40, 20:45." in said
    assert "Hours of DAY left out for want of room: 21:21." in said


def test_the_hours_are_in_the_json(
    scene: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(monkeypatch, str(scene), "--setup", "LOW", "--hour", "noon", "--json") == 0
    told = json.loads(capsys.readouterr().out)
    # pencil: 0.13° west are half a minute, and that day's sun is two minutes late
    assert told["hours"] == {"LOW": ["13:02", "13:40"]}
    assert told["hours_left_out"] == {}


def test_what_is_no_hour_is_told(
    scene: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(monkeypatch, str(scene), "--hour", "tea time") == 2
    said = " ".join(capsys.readouterr().err.split())
    assert "this is no hour of the day" in said
    assert "sunrise, noon, sunset, dusk" in said
