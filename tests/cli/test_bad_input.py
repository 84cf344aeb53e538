"""Bad input: what, where, expected, found, what to do; exit code 2; nothing half-written."""

from __future__ import annotations

import errno
import os
from pathlib import Path
from typing import Any

import pytest

from falloff.layers import store

from .conftest import SMALL, Falloff

SUBJECT = """
subjects:
  COOK: {figure: seated, at: [2 m, 2.95 m], facing: 270 deg, skin: 0.3, hair: dark hair,
         top: white cotton, trousers: dark denim}
"""

# name: what is replaced, by what, and what must be said: where, what, expected, found, what to do
BROKEN: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "unknown key": (
        "  height:",
        "  hieght:",
        ("line 7, column 3 (room.hieght)", "has no key 'hieght'", "did you mean 'height'?"),
    ),
    "missing unit": (
        "height: 2.5 m",
        "height: 2.5",
        (
            "line 7, column 11 (room.height)",
            "2.5 has no unit",
            "expected a length with its unit",
            "found 2.5",
            "write 2.5 m",
        ),
    ),
    "open polygon": (
        "[[0 m, 0 m], [4 m, 0 m], [4 m, 3 m], [0 m, 3 m]]",
        "[[0 m, 0 m], [4 m, 0 m]]",
        (
            "line 6, column 10 (room.floor)",
            "corners are needed",
            "expected 3 to 500",
            "found 2",
            "write it like [[0 m, 0 m], [5 m, 0 m]",
        ),
    ),
    "polygon that crosses itself": (
        "[4 m, 3 m], [0 m, 3 m]]",
        "[0 m, 3 m], [4 m, 3 m]]",
        ("line 6, column 10 (room.floor)", "cross", "check x and y of each corner"),
    ),
    "open bracket": (
        "[0 m, 3 m]]",
        "[0 m, 3 m]",
        ("line 7, column 3", "this is not YAML", "expected ',' or ']'", "close the bracket"),
    ),
    "NaN": (
        "height: 2.5 m",
        "height: .nan",
        (
            "line 7, column 11 (room.height)",
            "finite",
            "expected a number with its unit",
            "found .nan",
        ),
    ),
    "NaN with its unit": (
        "800 lm",
        "nan lm",
        (
            "(practicals.GLOBE.output)",
            "this is no luminous flux",
            "expected a luminous flux with its unit",
            "found nan lm",
            "write 10 lm",
        ),
    ),
    "subject inside a wall": (
        "\nreadings:",
        SUBJECT + "\nreadings:",
        (
            "line 23, ",
            "subjects.COOK.at",
            "COOK stands too near a wall",
            "expected a place 0.15 m clear of every wall",
            "found 0.05 m clear",
            "move COOK into the room",
        ),
    ),
    "subject outside the room": (
        "\nreadings:",
        SUBJECT.replace("2.95 m", "3.4 m") + "\nreadings:",
        ("subjects.COOK.at", "COOK stands outside the room", "found [2.00 m, 3.40 m, 0.00 m]"),
    ),
}


@pytest.mark.parametrize("command", ["meter", "picture"])
@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_scene_is_told(
    name: str, command: str, tmp_path: Path, falloff: Falloff, monkeypatch: pytest.MonkeyPatch
) -> None:
    old, new, said = BROKEN[name]
    assert SMALL.count(old) == 1
    scene = tmp_path / "kitchen.scene.yaml"
    scene.write_text(SMALL.replace(old, new), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    told = falloff(command, scene, "--json")
    assert told.code == 2
    assert told.out == ""
    for part in ("kitchen.scene.yaml", *said):
        assert part in told.err
    assert "Traceback" not in told.err
    assert os.listdir(tmp_path) == ["kitchen.scene.yaml"]


def test_all_faults_are_told_at_once(tmp_path: Path, falloff: Falloff) -> None:
    scene = tmp_path / "kitchen.scene.yaml"
    text = SMALL.replace("  height:", "  hieght:").replace("800 lm", "800").replace("T2.8", "2.8")
    scene.write_text(text, encoding="utf-8")
    told = falloff("meter", scene)
    assert told.code == 2
    for part in ("'hieght'", "practicals.GLOBE.output", "setups.ROOM.stop", "setups.DIM ROOM.stop"):
        assert part in told.err


def test_an_empty_file_is_told(tmp_path: Path, falloff: Falloff) -> None:
    scene = tmp_path / "empty.scene.yaml"
    scene.touch()
    told = falloff("meter", scene)
    assert told.code == 2
    for part in ("empty.scene.yaml, line 1", "the document is empty", "start with `falloff: 2`"):
        assert part in told.err


def test_a_folder_is_told(tmp_path: Path, falloff: Falloff) -> None:
    told = falloff("picture", tmp_path, "--out", tmp_path / "out")
    assert told.code == 2
    for part in (str(tmp_path), "this is a folder, not a scene file", "name the scene file in it"):
        assert part in told.err
    assert os.listdir(tmp_path) == []


def test_a_file_that_is_not_there_is_told(tmp_path: Path, falloff: Falloff) -> None:
    told = falloff("meter", tmp_path / "none.scene.yaml")
    assert told.code == 2
    for part in ("none.scene.yaml", "there is no such file", "check its name and folder"):
        assert part in told.err


def test_an_unknown_setup_is_told(scene: Path, falloff: Falloff) -> None:
    told = falloff("meter", scene, "--setup", "ROM")
    assert told.code == 2
    for part in ("small.scene.yaml", "'ROM'", "expected one of ROOM, DIM ROOM", "mean 'ROOM'?"):
        assert part in told.err


def refuse(*_: Any, **__: Any) -> None:
    """What the system answers where one has no right."""
    raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))


def test_a_scene_that_may_not_be_read_is_told(
    scene: Path, falloff: Falloff, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Path, "read_bytes", refuse)
    told = falloff("meter", scene)
    assert told.code == 2
    for part in ("small.scene.yaml", "this file may not be read", "ask for the right to read it"):
        assert part in told.err


@pytest.mark.parametrize("command", ["picture", "demo"])
def test_a_folder_that_may_not_be_written_is_told_before_anything_is_traced(
    command: str, scene: Path, falloff: Falloff, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = scene.parent / "out"
    monkeypatch.setattr(Path, "touch", refuse)
    monkeypatch.setattr(store, "trace_layers", refuse)
    told = falloff(command, *([scene] if command == "picture" else []), "--out", out)
    assert told.code == 2
    for part in (
        str(out),
        "results cannot be written here",
        "expected a folder that you may write to",
        f"found {os.strerror(errno.EACCES)}",
        "choose another with --out",
    ):
        assert part in told.err
    assert os.listdir(out) == []


def test_an_out_that_is_a_file_is_told(scene: Path, falloff: Falloff) -> None:
    told = falloff("picture", scene, "--out", scene)
    assert told.code == 2
    assert "results cannot be written here" in told.err
    assert scene.read_text(encoding="utf-8") == SMALL


def test_a_full_disk_leaves_no_half_of_a_file(
    scene: Path, falloff: Falloff, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: Any) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    out = scene.parent / "out"
    # Whatever is compiled is kept on the same disk: have it compiled before the disk is full.
    falloff("picture", scene, "--out", scene.parent / "before", "--width", "160", "--json")
    monkeypatch.setattr("falloff.camera.atomic_write.os.replace", full)
    told = falloff("picture", scene, "--out", out, "--width", "160", "--json")
    assert told.code == 2
    assert told.out == ""
    for part in ("the file cannot be written", f"found {os.strerror(errno.ENOSPC)}", "the disk"):
        assert part in told.err
    assert os.listdir(out) == []


def test_a_cache_that_cannot_be_written_stops_nothing(
    scene: Path, falloff: Falloff, monkeypatch: pytest.MonkeyPatch
) -> None:
    barred = scene / "below a file"
    monkeypatch.setattr("falloff.layers.store._cache_folder", lambda: barred)
    assert falloff("meter", scene).code == 0


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("metre", "x"), "No such command 'metre'"),
        (("picture", "x", "--width", "159"), "160"),
        (("picture", "x", "--width", "wide"), "--width"),
        (("meter",), "Missing argument"),
    ],
)
def test_a_command_written_wrongly_is_told(
    arguments: tuple[str, ...], said: str, falloff: Falloff
) -> None:
    told = falloff(*arguments)
    assert told.code == 2
    assert said in told.err
    assert "Traceback" not in told.err
