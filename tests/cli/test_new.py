"""falloff new, check and meter as someone types them: the quick start from end to end."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.cli.conftest import Falloff
from tests.cli.test_commands import documented

from falloff.cli import quick
from falloff.session.quick.advise import Advice
from falloff.session.quick.assume import Worth
from falloff.session.quick.measure import Figures
from falloff.session.quick.sentences import Alone

# All that moves surfaces is answered, so that little is traced twice.
ANSWERED = (
    "--room", "5 x 4 m", "--ceiling", "2.6 m", "--wall", "white", "--dressing", "bare",
    "--window", "1.5 x 1.2 m, 1.3 m away, 9 o'clock",
)  # fmt: skip
KEY = "300 W LED in 90 cm soft box at 1.5 m, 4 o'clock, 1.9 m up"


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to stand in."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize(
    ("title", "record"),
    [
        ("Figures of a quick start", Figures),
        ("An assumption's worth", Worth),
        ("A source alone", Alone),
    ],
)
def test_the_page_tells_every_field(title: str, record: type) -> None:
    assert documented(title) == set(record.__struct_fields__)  # type: ignore[attr-defined]


def test_json_holds_the_answer_and_the_scene_meters_to_it(here: Path, falloff: Falloff) -> None:
    told = falloff("new", "window", *ANSWERED, "--key", KEY, "--json")
    assert (told.code, told.err) == (0, "")
    answer = json.loads(told.out)
    assert set(answer) == documented("falloff new")
    assert set(answer["advice"]) == set(Advice.__struct_fields__)
    stops = [worth["stops"] for worth in answer["worths"]]
    assert stops == sorted(stops, reverse=True)
    scene = here / answer["scene"]
    assert falloff("check", scene).code == 0
    metered = json.loads(falloff("meter", scene, "--json").out)
    cheek = next(one for one in metered["readings"][0]["readings"] if one["name"] == "key cheek")
    # The meter cuts finer than the quick start: docs/physics/assumptions.md gives it 0.06 stop.
    assert abs(math.log2(cheek["value"] / answer["figures"]["face_lux"])) < 0.06


def test_check_prints_its_fields(here: Path, falloff: Falloff) -> None:
    falloff("new", "window", *ANSWERED, "--key", "none", "--out", here / "a.scene.yaml")
    told = falloff("check", here / "a.scene.yaml", "--json")
    assert set(json.loads(told.out)) == documented("falloff check")


def test_a_scene_file_is_never_written_over(here: Path, falloff: Falloff) -> None:
    kept = here / "mine.scene.yaml"
    kept.write_text("mine", encoding="utf-8")
    told = falloff("new", "window", *ANSWERED, "--key", "none", "--out", kept)
    assert told.code == 2
    assert "there is already such a file" in told.err
    assert kept.read_text(encoding="utf-8") == "mine"


def test_without_a_terminal_the_situation_must_be_named(here: Path, falloff: Falloff) -> None:
    told = falloff("new")
    assert told.code == 2
    assert "which situation?" in told.err
    assert "falloff new window" in told.err
    assert list(here.iterdir()) == []


def test_every_bad_answer_is_told_at_once(here: Path, falloff: Falloff) -> None:
    told = falloff(
        "new", "window", "--wall", "tartan", "--camera", "T2.8, ISO x", "--key", "a torch"
    )
    assert told.code == 2
    for question in ("wall:", "camera:", "key:"):
        assert question in told.err
    assert list(here.iterdir()) == []


def test_a_person_types_answers(
    here: Path, falloff: Falloff, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A wrong answer is asked again; Enter takes what stands in brackets."""
    typed: Iterator[str] = iter(
        [
            "one person",
            "1",
            "5 by 4",
            "5 x 4 m",
            "",
            "white",
            "none",
            "100 W LED panel",
            "1.4 m, 8 o'clock",
            "",
            "",
        ]
    )
    monkeypatch.setattr("builtins.input", lambda: next(typed))
    monkeypatch.setattr(quick, "warm_up", lambda: None)
    told = falloff("new", "--ask")
    assert told.code == 0
    assert next(typed, "all typed") == "all typed"
    assert "room: 5 has no unit" in told.err  # the answer that could not be read
    assert "One person by a window" in told.out
    text = (here / "window.scene.yaml").read_text(encoding="utf-8")
    assert "openings" not in text
    assert "light: panel" in text


SWAPPED = """\
falloff: 2
title: Feet as metres
units: metric
room:
  floor: [[0 m, 0 m], [14 m, 0 m], [14 m, 12 m], [0 m, 12 m]]
  height: 40 m
  floor_surface: planks
  ceiling_surface: plaster
  wall_surface: plaster
"""


def test_a_room_of_forty_metres_is_doubted(here: Path, falloff: Falloff) -> None:
    scene = here / "high.scene.yaml"
    scene.write_text(SWAPPED, encoding="utf-8")
    told = falloff("check", scene)
    assert told.code == 0
    assert "40" in told.out
    assert "feet" in told.out
