"""falloff correct as someone types it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.cli.conftest import Falloff
from tests.unit.record.rooms import ROOM

READ = ("--read", "key side: 300 lx; PANEL on", "--read", "back wall: 60 fc")


@pytest.fixture
def room(tmp_path: Path) -> Path:
    path = tmp_path / "room.scene.yaml"
    path.write_text(ROOM, encoding="utf-8")
    return path


def test_what_changed_is_told_with_spreads(falloff: Falloff, room: Path) -> None:
    told = falloff("correct", room, *READ)
    assert told.code == 0
    for word in ("PANEL and daylight", "before", "after", "PANEL, output", "5000 lm", "If you read",
                 "Add --write"):  # fmt: skip
        assert word in told.out
    assert room.read_text("utf-8") == ROOM


def test_feet_where_the_scene_has_them(falloff: Falloff, room: Path) -> None:
    room.write_text(ROOM.replace("units: metric", "units: imperial"), encoding="utf-8")
    told = falloff("correct", room, *READ)
    assert " fc" in told.out
    assert " fL" in told.out
    assert " lx" not in told.out


def test_a_slip_is_asked_about(falloff: Falloff, room: Path) -> None:
    told = falloff("correct", room, *READ, "--read", "up: 2500 lx; ambient")
    assert told.code == 0
    assert "asked about" in told.out
    plain = " ".join(told.out.split())
    assert "Was it 250 lx" in plain
    assert "--believe 'up'" in plain


def test_what_says_nothing_in_stops_cannot_be_believed(falloff: Falloff, room: Path) -> None:
    told = falloff("correct", room, "--read", "key side: 0 lx")
    plain = " ".join(told.out.split())
    assert "0 lx says nothing in stops" in plain
    assert "--believe" not in plain


def test_it_is_written_and_says_where(falloff: Falloff, room: Path) -> None:
    told = falloff("correct", room, *READ, "--write", "--record")
    assert "Written, corrected" in told.out
    text = room.read_text("utf-8")
    assert "measured:" in text
    assert "5000 lm" not in text


def test_nothing_is_said_to_be_written_where_nothing_changed(falloff: Falloff, room: Path) -> None:
    planned = float(
        json.loads(falloff("correct", room, "--read", "key side: 500 lx", "--json").out)[
            "corrections"
        ]["readings"][0]["planned"]
    )
    told = falloff("correct", room, "--read", f"key side: {planned:.6g} lx", "--write")
    assert "Nothing to write: the readings change nothing" in " ".join(told.out.split())
    assert "Written" not in told.out
    assert room.read_text("utf-8") == ROOM


def test_another_file_is_not_the_scenes_own(falloff: Falloff, room: Path) -> None:
    told = falloff("correct", room, *READ, "--out", room)
    assert told.code == 2
    assert "--write" in told.err
    assert room.read_text("utf-8") == ROOM


def test_json_has_the_corrections(falloff: Falloff, room: Path) -> None:
    told = falloff("correct", room, *READ, "--json")
    made = json.loads(told.out)
    assert made["falloff_json"] == 1
    corrections = made["corrections"]
    assert {"corrected", "readings", "doubted", "plan", "further", "findings"} <= set(corrections)
    panel = next(one for one in corrections["corrected"] if one["name"] == "PANEL")
    assert panel["low"] < panel["found"] < panel["high"]
    assert panel["assumed"] == 5000.0
    assert made["written"] is None


@pytest.mark.parametrize(
    ("read", "words"),
    [
        ("key sid: 300 lx", "did you mean 'key side'"),
        ("key side: 300", "has no unit"),
        ("the wall: 300 lx", "spot meter"),
        ("key side: 300 lx; PANNEL on", "did you mean 'PANEL'"),
    ],
)
def test_what_is_wrong_is_told_and_ends_with_two(
    falloff: Falloff, room: Path, read: str, words: str
) -> None:
    told = falloff("correct", room, "--read", read)
    assert told.code == 2
    assert words in " ".join(told.err.split())
    assert told.out == ""
