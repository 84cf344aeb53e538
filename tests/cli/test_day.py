"""The day in the terminal: answers first, JSON for programs, a sheet, and plain faults."""

from __future__ import annotations

import itertools
import json
import re
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from PIL import Image
from tests.unit.day.invented import EVENING, day_of, minutes

from falloff.cli.show_day import print_days
from falloff.day.records import Dusk
from falloff.session import DaysShown

from .conftest import SMALL, Falloff, Told

PLACE = "location: {latitude: 51.5 N, longitude: 0.13 W, zone: Europe/London}\n"
SKY = "sky: {type: clear, at: 2026-06-21 13:40, north: 90 deg}\n"
WINDOW = "  WINDOW: {wall: 1, along: 1 m, width: 1.6 m, sill: 0.9 m, height: 1.3 m}\n"
OPENINGS = f"openings:\n{WINDOW}"
SUNNY = (
    SMALL.replace("falloff: 1", "falloff: 2")
    .replace("\npracticals:", f"\n{OPENINGS}{PLACE}{SKY}\npracticals:")
    .replace("shutter: 180 deg}", "shutter: 180 deg, key: the wall}", 1)
    .replace("dims: {GLOBE: 50 %}}", 'dims: {GLOBE: 50 %}, at: "17:30"}')
    + "targets:\n  wall at key: {reading: the wall, level: 0 stops, tolerance: 1 stop}\n"
)
AWARE = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?[+-]\d\d:\d\d")


@pytest.fixture
def sunny(tmp_path: Path) -> Path:
    """The small scene with a window, a place and an hour."""
    path = tmp_path / "sunny.scene.yaml"
    path.write_text(SUNNY, encoding="utf-8")
    return path


def asked(falloff: Falloff, scene: Path, *more: str | Path) -> Told:
    """The day in steps of an hour, its sheet beside the scene."""
    return falloff("day", scene, "--step", "60", "--out", scene.parent / "out", *more)


def as_json(told: Told) -> dict[str, Any]:
    assert (told.code, told.err) == (0, "")
    found = json.loads(told.out)
    assert isinstance(found, dict)
    return found


def test_answers_stand_on_top(sunny: Path, falloff: Falloff) -> None:
    told = asked(falloff, sunny)
    assert told.code == 0
    lines = [line for line in told.out.splitlines() if line.strip()]
    assert "Small room" in lines[0]
    assert "ROOM" in lines[0]
    table = next(k for k, line in enumerate(lines) if line.split()[:1] == ["hour"])
    answers = [k for k, line in enumerate(lines) if "wall at key" in line or "the wall" in line]
    assert answers
    assert answers[0] < table
    flat = re.sub(r"\s+", " ", told.out)
    # from memory: the sun rises in London at 4:43 and sets half a minute before 21:22 on that day
    for said in ("04:43", "21:21", "DIM ROOM", "In this order", "Sheet:", "sky lx"):
        assert said in flat


def test_json_has_every_moment_with_its_zone(sunny: Path, falloff: Falloff) -> None:
    found = as_json(asked(falloff, sunny, "--json"))
    assert set(found) == {"falloff_json", "days", "beside", "order", "files"}
    assert [day["setup"] for day in found["days"]] == ["ROOM", "DIM ROOM"]
    assert found["beside"] == []
    assert sorted(turn["setup"] for turn in found["order"]) == ["DIM ROOM", "ROOM"]
    for day in found["days"]:
        times = [one["instant"] for one in day["moments"]]
        assert all(AWARE.fullmatch(one) for one in times)
        instants = [datetime.fromisoformat(one) for one in times]
        assert instants == sorted(set(instants))
        gaps = {b - a for a, b in itertools.pairwise(instants)}
        assert max(gaps) <= timedelta(hours=1)
        assert {one.hour for one in instants if one.minute == 0} >= set(range(4, 23))
        for moment in day["moments"]:
            assert set(moment["levels"]) == {"the wall", "the corner"}
            assert moment["holds"].keys() == {"wall at key"}
        told = [day["hour"], *(one for one in day["events"].values() if one is not None)]
        assert all(AWARE.match(one) for one in told)
    first, second = (day["hour"] for day in found["days"])
    assert (first, second) == ("2026-06-21T13:40:00+01:00", "2026-06-21T17:30:00+01:00")


def test_a_target_asks_in_a_day_what_it_asks_elsewhere(sunny: Path, falloff: Falloff) -> None:
    # A spot is told over middle grey, a walk or area everywhere: as `falloff meter` tells it.
    seen = "  seen: {at: {wall: 3, along: 1 m, height: 1 m}, instrument: spot}\n"
    wanted = "  not burnt: {reading: seen, level: 1 stop, limit: at most}\n"
    text = SUNNY.replace("readings:\n", f"readings:\n{seen}", 1) + wanted
    sunny.write_text(text, encoding="utf-8")
    day = as_json(asked(falloff, sunny, "--setup", "ROOM", "--json"))["days"][0]
    told = {one["name"]: one["asks"] for one in day["targets"]}
    assert told["not burnt"] == "seen at most 1 over middle grey, give or take a third"


def test_a_sheet_is_drawn_as_a_vector_and_as_a_picture(sunny: Path, falloff: Falloff) -> None:
    found = as_json(asked(falloff, sunny, "--json"))
    svg, png = (Path(one) for one in found["files"])
    assert (svg.suffix, png.suffix) == (".svg", ".png")
    assert {one.name for one in (sunny.parent / "out").iterdir()} == {svg.name, png.name}
    assert ET.parse(svg).getroot().tag.endswith("svg")
    with Image.open(png) as picture:
        assert min(picture.size) > 300


@pytest.mark.parametrize(
    ("more", "part", "wanted"),
    [
        (("--date", "2026-06-21", "--date", "2026-12-21"), "date", ["2026-06-21", "2026-12-21"]),
        (("--turn", "0", "--turn", "90"), "north_deg", [90.0, 180.0]),
        (("--sky", "clear", "--sky", "overcast"), "sky", ["clear", "overcast"]),
    ],
)
def test_two_of_a_kind_stand_side_by_side(
    more: tuple[str, ...], part: str, wanted: list[Any], sunny: Path, falloff: Falloff
) -> None:
    """pencil: a house that is turned clockwise by 90° has its north 90° further to the right."""
    found = as_json(asked(falloff, sunny, "--setup", "ROOM", "--json", *more))
    assert [day[part] for day in found["beside"]] == wanted
    assert [day["setup"] for day in found["days"]] == ["ROOM"]
    first, second = (
        {one["instant"][11:16]: one["levels"]["the wall"]["value"] for one in day["moments"]}
        for day in found["beside"]
    )
    assert first["13:00"] != second["13:00"]
    told = asked(falloff, sunny, "--setup", "ROOM", *more)
    assert told.code == 0
    assert told.out.count("sky lx") == 2


def test_one_other_date_is_the_day_that_is_told(sunny: Path, falloff: Falloff) -> None:
    found = as_json(asked(falloff, sunny, "--date", "2026-12-21", "--json"))
    assert {day["date"] for day in found["days"]} == {"2026-12-21"}
    assert all(day["hour"].startswith("2026-12-21") for day in found["days"])


def test_another_date_may_have_no_such_hour_or_have_it_twice(sunny: Path, falloff: Falloff) -> None:
    """Source: the IANA time zone data; London's clocks change at 01:00 UTC on those two Sundays."""
    sunny.write_text(SUNNY.replace("13:40", "01:30"), encoding="utf-8")
    both = ("--setup", "ROOM", "--json", "--date", "2026-06-21", "--date")
    told = asked(falloff, sunny, *both, "2026-03-29")
    assert (told.code, told.out) == (2, "")
    assert "on 2026-03-29 clocks went from 01:00 straight to 02:00" in re.sub(r"\s+", " ", told.err)
    found = as_json(asked(falloff, sunny, *both, "2026-10-25"))
    assert [one["hour"][10:] for one in found["beside"]] == ["T01:30:00+01:00"] * 2


def test_what_is_wrong_with_the_plan_is_told_with_the_day(sunny: Path, falloff: Falloff) -> None:
    """The scene's with every setup, its dims' with theirs alone, and of no hour but the day's."""
    text = SUNNY.replace("output: 800 lm, colour: 2700 K", "output: 8000000 lm, colour: 6500 K")
    text = text.replace("light: globe,", "light: globe, warms: true,")
    sunny.write_text(text, encoding="utf-8")
    found = as_json(asked(falloff, sunny, "--json"))
    says = {day["setup"]: [one["says"] for one in day["findings"]] for day in found["days"]}
    bright, warm = "GLOBE gives 8000000 lm", "how warm GLOBE goes"
    for setup, dimmed in (("ROOM", False), ("DIM ROOM", True)):
        assert sum(bright in one for one in says[setup]) == 1
        assert any(warm in one for one in says[setup]) == dimmed
        assert not any("is expected to give" in one for one in says[setup])
    told = re.sub(r"\s+", " ", asked(falloff, sunny).out)
    assert told.count(f"[warning] {bright}") == 1
    assert "check the number" in told
    assert warm not in told


def test_a_date_gives_a_scene_without_an_hour_its_day(sunny: Path, falloff: Falloff) -> None:
    """The sun of a sky without an hour is placed by noon of that date."""
    placed = "sky: {type: clear, outside: 9000 lx, sun: {altitude: 30 deg, azimuth: 180 deg}}\n"
    text = SUNNY.replace(SKY, placed).replace(', at: "17:30"', "")
    sunny.write_text(text, encoding="utf-8")
    found = as_json(asked(falloff, sunny, "--date", "2026-09-20", "--json"))
    assert {day["hour"] for day in found["days"]} == {"2026-09-20T12:00:00+01:00"}


@pytest.mark.parametrize(
    ("changes", "more", "said"),
    [
        ([], ("--date", "2026-06-21", "--date", "2026-09-20", "--turn", "0", "--turn", "90"),
         ("do not fit side by side", "expected 3 at most", "found 4")),
        ([], ("--sky", "stormy"), ("there is no sky called 'stormy'", "overcast")),
        ([], ("--date", "21.6.2026"), ("this is no date", "2026-06-21")),
        ([], ("--setup", "ROOF"), ("no setup called 'ROOF'", "did you mean 'ROOM'?")),
        ([(PLACE, ""), (SKY, "sky: {type: overcast, outside: 9000 lx}\n"), (', at: "17:30"', "")],
         (), ("this scene has none", "add `location:")),
        ([(OPENINGS, "")], (), ("no daylight comes into this scene", "add a window")),
        ([(SKY, "sky: {type: overcast, outside: 9000 lx}\n"), (', at: "17:30"', "")],
         (), ("not said of which date", "--date 2026-06-21")),
        ([(SKY, "sky: {type: clear, outside: 9000 lx, sun: {altitude: 30 deg, azimuth: 180 deg, "
                "turbidity: 12}}\n"), (', at: "17:30"', "")], ("--date", "2026-06-21"),
         ("sunny.scene.yaml, line", "not known in air that hazy", "10 at most")),
        ([("Europe/London", "Europe/Lodnon")], (),
         ("sunny.scene.yaml, line", "(location.zone)", "did you mean Europe/London")),
        ([("2026-06-21 13:40", "1850-06-21 13:40")], (), ("1900",)),
    ],
)  # fmt: skip
def test_what_cannot_be_told_is_said_plainly(
    changes: list[tuple[str, str]], more: tuple[str, ...], said: tuple[str, ...],
    sunny: Path, falloff: Falloff,
) -> None:  # fmt: skip
    text = SUNNY
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    sunny.write_text(text, encoding="utf-8")
    told = asked(falloff, sunny, "--json", *more)
    assert (told.code, told.out) == (2, "")
    flat = re.sub(r"\s+", " ", told.err)
    for part in said:
        assert part in flat
    assert "Traceback" not in told.err


def test_an_opening_keeps_its_name_at_dusk(capsys: pytest.CaptureFixture[str]) -> None:
    dusk = Dusk(
        opening="ROW 10 level 2", start=minutes(0), level=minutes(8), end=minutes(20),
        over=2.5, under=-2.0, stops_a_minute=0.2,
    )  # fmt: skip
    day = day_of("WIDE", EVENING, dusk=(dusk,))
    print_days(DaysShown((day,), (day,), (), ()))
    said = re.sub(r"\s+", " ", capsys.readouterr().out)
    view = "the view is 2.5 over at 18:00, level at 18:08 and 2 under at 18:20"
    assert f"Dusk in ROW 10 level 2: {view}" in said


def test_the_command_tells_its_options(falloff: Falloff) -> None:
    told = falloff("day", "--help")
    assert told.code == 0
    for option in ("--setup", "--date", "--turn", "--sky", "--step", "--out", "--json"):
        assert option in told.out
