"""falloff why as someone types it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.cli.conftest import Falloff
from tests.unit.balance.why_rooms import HALL, ROOM, panel

KEY = "key cheek: all 320 lx, BOOK 240, WALL HEAD 20, ambient 60"
SHADOW = "shadow cheek: all 190 lx, BOOK 110, BOOK shaded 90, WALL HEAD 20, ambient 60"


@pytest.fixture
def room(tmp_path: Path) -> Path:
    """A person under a key and a bare lantern that was to light her hair; two setups."""
    more = "fixtures:\n" + panel("KEY", "[4.1 m, 1.6 m, 1.7 m]", lumens=3000.0)
    more += (
        "  HAIR: {light: lantern, diameter: 20 cm, output: 6000 lm, colour: 5600 K, "
        "at: [1.2 m, 4.5 m, 2.2 m]}\n"
        "readings:\n  the back wall: {at: {wall: 3, along: 2 m, height: 1.5 m}}\n"
    )
    setups = "  CLOSE-UP: {like: WIDE, dims: {KEY: 50 %}}\n"
    path = tmp_path / "room.scene.yaml"
    path.write_text(ROOM.format(walls=0.5, more=more, setups=setups, dressed="", **HALL))
    return path


def test_a_complaint_is_answered(falloff: Falloff, room: Path) -> None:
    told = falloff("why", room, "the back wall", "hot")
    assert told.code == 0
    assert "WIDE: the back wall too bright" in told.out
    assert "HAIR" in told.out
    assert "Cheapest: " in told.out
    assert "better by, stops" in told.out


def test_a_setup_that_sees_no_window_does_not_keep_another_from_its_answer(
    falloff: Falloff, tmp_path: Path
) -> None:
    more = "fixtures:\n" + panel("KEY", "[4.1 m, 1.6 m, 1.7 m]")
    more += (
        "openings:\n  WINDOW: {wall: 3, along: 0.6 m, width: 1.2 m, sill: 1 m, height: 1.2 m}\n"
        "sky: {type: overcast, outside: 20000 lx}\n"
    )
    text = ROOM.format(
        walls=0.3, more=more, setups="  BACK: {like: WIDE, camera: B}\n", dressed="", **HALL
    ).replace("cameras:\n", "cameras:\n  B: {at: [2.5 m, 3.6 m, 1.5 m], aim: KEY, lens: 35 mm}\n")
    path = tmp_path / "two.scene.yaml"
    path.write_text(text)
    told = falloff("why", path, "window", "hot", "--no-fix")
    assert told.code == 0
    assert "WIDE: WINDOW too bright" in told.out
    assert falloff("why", path, "window", "hot", "--setup", "BACK").code == 2


def test_words_need_no_quotes_and_setups_can_be_chosen(falloff: Falloff, room: Path) -> None:
    told = falloff("why", room, "the", "back", "wall", "is", "too", "bright", "--setup", "CLOSE-UP")
    assert told.code == 0
    assert "CLOSE-UP: the back wall too bright" in told.out
    assert "WIDE:" not in told.out


def test_without_a_complaint_all_is_gone_through(falloff: Falloff, room: Path) -> None:
    told = falloff("why", room)
    assert told.code == 0
    assert "the worst first" in told.out
    assert "jumps from WIDE to CLOSE-UP" in told.out


def test_the_jump_is_told(falloff: Falloff, room: Path) -> None:
    told = falloff("why", room, "face jumps in the close")
    assert told.code == 0
    assert "KEY from 100 % to 50 %" in told.out


def test_json_has_the_causes(falloff: Falloff, room: Path) -> None:
    told = falloff("why", room, "wall", "hot", "--setup", "WIDE", "--json")
    document = json.loads(told.out)
    assert document["falloff_json"] == 1
    (why,) = document["whys"]
    assert why["causes"][0]["source"] == "HAIR"
    assert why["causes"][0]["stops"] > 0.0
    assert why["off_stops"] > 0.0
    assert why["cure"]
    assert set(why) == {
        "complaint", "setup", "says", "causes", "stops", "wanted_stops", "off_stops", "cure",
        "cure_light", "cure_stops", "target",
        "fix", "seen",
    }  # fmt: skip


def test_readings_alone_are_answered(falloff: Falloff) -> None:
    told = falloff("why", "--read", KEY, "--read", SHADOW, "face", "flat")
    assert told.code == 0
    assert "The shadow side is two thirds under the key side" in told.out
    assert "BOOK's bounce" in told.out


def test_a_camera_without_a_shutter_is_said_to_be_taken_at_180_degrees(falloff: Falloff) -> None:
    told = falloff("why", "--read", KEY, "--camera", "T2.8, ISO 800", "face", "dark")
    assert "shutter is taken as 180 deg" in told.out
    told = falloff("why", "--read", KEY, "--camera", "T2.8, ISO 800, 1/50, ND 0.6", "face", "dark")
    assert told.code == 0
    assert "shutter is taken" not in told.out


def test_readings_alone_are_gone_through(falloff: Falloff) -> None:
    told = falloff("why", "--read", KEY, "--read", SHADOW, "--camera", "T2.8, ISO 800, 180 deg")
    assert told.code == 0
    assert "Key cheek: BOOK 75 %" in told.out
    assert "face flat" in told.out


def test_a_file_of_readings_is_answered(falloff: Falloff, tmp_path: Path) -> None:
    path = tmp_path / "day.toml"
    path.write_text(
        'camera = "T2.8, ISO 800, 180 deg, ND 0.6"\n[readings."key cheek"]\nall = "320 lx"\n'
        'BOOK = "260 lx"\nambient = "60 lx"\n',
        encoding="utf-8",
    )
    told = falloff("why", "--readings", path, "face", "too", "dark")
    assert told.code == 0
    assert "key cheek too dark" in told.out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["wall", "hott"], "did you mean 'wall hot'"),
        (["the bak wall", "hot"], "did you mean 'the back wall'"),
        (["BOB", "flat"], "no person called 'BOB'"),
        (["window", "hot"], "sees no window"),
        (["face jumps in the close", "--setup", "WIDE"], "only one setup"),
        (["face flat", "--setup", "NONE"], "no setup called 'NONE'"),
        (["face flat", "--read", KEY], "two ways in"),
        (["face flat", "--camera", "T2.8, ISO 800"], "stands in its setups"),
    ],
)
def test_what_cannot_be_is_told_in_words(
    falloff: Falloff, room: Path, words: list[str], says: str
) -> None:
    told = falloff("why", room, *words)
    assert told.code == 2
    assert says in told.err
    assert "Traceback" not in told.err


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ((), "what is to be looked at?"),
        (("face", "flat"), "what is to be looked at?"),
        (("--read", "key cheek: all 320"), "a level without its unit"),
        (("--read", "key: all 320 lx, BOOK 210, HEAD 20, ambient 6"), "do not add up"),
        (("--read", KEY, "--camera", "T banana"), "banana"),
        (("--read", KEY, "--camera", "2.8, 800"), "'2.8' and '800' do not say what they are"),
        (("--read", KEY, "--camera", "2.8, 800"), "'T2.8, ISO 800, 180 deg'"),
        (("--read", KEY, "--camera", "2.8, 800"), "found 2.8, 800"),
        (("--read", KEY, "--camera", "T2.8, ISO 800, 180"), "'180' does not say what it is"),
        (("--read", KEY, "--camera", "T2.8"), "the camera's ISO is not there"),
        (("--read", KEY, "--camera", "ISO 800, 180 deg"), "the camera's stop is not there"),
        (("--read", "key: all 320", "--camera", "T2.8"), "ISO is not there"),
        (("--read", "key: all 320", "--camera", "T2.8"), "a level without its unit"),
        (("--readings", "nowhere.toml"), "cannot be read"),
        (("missing.scene.yaml", "face", "flat"), "no such file"),
    ],
)
def test_faulty_input_is_told_in_words(
    falloff: Falloff, arguments: tuple[str, ...], says: str
) -> None:
    told = falloff("why", *arguments)
    assert told.code == 2
    assert says in told.err


def test_nobody_to_look_at_is_said(falloff: Falloff, scene: Path) -> None:
    assert "nobody is in this scene" in falloff("why", scene, "face", "flat").err
    told = falloff("why", scene, "the wall", "dark")
    assert told.code == 0
    assert "GLOBE" in told.out
    told = falloff("why", scene)
    assert told.code == 0
