"""Targets set, changed and deleted by a hand: what of the file is rewritten, what is refused."""

from __future__ import annotations

from typing import Any

import pytest
from tests.unit.page.worked_scene import TEXT, changed, differing_part, parsed

from falloff.document import Target, readings_in
from falloff.errors import DocumentError
from falloff.page.targets import stops_written, targets_told
from falloff.units import parse_stops


def made(do: str, scene: str = TEXT, **parts: Any) -> str:
    return changed({"do": do, **parts}, text=scene)


def target(text: str, name: str) -> Target:
    found = parsed(text).targets[name]
    assert isinstance(found, Target)
    return found


# pencil
@pytest.mark.parametrize(
    ("stops", "text"),
    [
        (0.0, "0 stops"), (-0.001, "0 stops"), (1 / 3, "1/3 stop"), (-2 / 3, "-2/3 stop"),
        (1.0, "1 stop"), (-1.0, "-1 stop"), (-4 / 3, "-1 1/3 stops"), (5 / 3, "1 2/3 stops"),
        (3.0, "3 stops"), (0.5, "1/2 stop"), (1 / 6, "1/6 stop"), (0.45, "0.45 stops"),
        (-1.25, "-1.25 stops"),
    ],
)  # fmt: skip
def test_stops_are_written_as_people_write_them(stops: float, text: str) -> None:
    assert stops_written(stops) == text
    assert parse_stops(text) == pytest.approx(stops, abs=0.004)


def test_a_new_target_is_one_line_with_what_it_needs() -> None:
    edited = made("target", reading="in the air", level_stops=-4 / 3, over="cheek")
    added = "  in the air: {reading: in the air, level: -1 1/3 stops, over: cheek}\n"
    assert edited == TEXT + added
    found = target(edited, "in the air")
    assert (found.over, found.limit, found.weight) == ("cheek", "equal", 1.0)
    assert found.tolerance.si == pytest.approx(1 / 3)


def test_all_that_can_be_said_is_written() -> None:
    edited = made(
        "target", reading="cheek", level_stops=1.0, limit="at most", tolerance_stops=0.5,
        weight=2, name="cheek held down",
    )  # fmt: skip
    found = target(edited, "cheek held down")
    assert found.level.si == 1.0
    assert (found.limit, found.weight) == ("at most", 2.0)
    assert found.tolerance.si == pytest.approx(0.5)


def test_a_second_target_at_a_reading_gets_a_name_of_its_own() -> None:
    once = made("target", reading="cheek", level_stops=0.0)
    twice = made("target", scene=once, reading="cheek", level_stops=1.0, limit="at most")
    assert list(parsed(twice).targets) == ["face", "ratio", "cheek", "cheek 2"]


@pytest.mark.parametrize(
    ("parts", "old", "new"),
    [
        # Only what says something else is rewritten.
        ({"level_stops": -2.0, "over": "cheek"}, "-1", "-2"),
        (
            {"level_stops": -1.0, "over": "cheek", "limit": "at least"},
            "cheek}",
            "cheek, limit: at least}",
        ),
        ({"level_stops": -1.0, "over": "in the air"}, "cheek}", "in the air}"),
        ({"level_stops": -1.0}, "stops, over: cheek}", "stops}"),
    ],
)
def test_a_target_is_changed_where_it_says_something_else(
    parts: dict[str, Any], old: str, new: str
) -> None:
    edited = made("target", name="ratio", reading="on the table", **parts)
    assert differing_part(edited) == (old, new)
    back = {"reading": "on the table", "level_stops": -1.0, "over": "cheek"}
    again = target(made("target", scene=edited, name="ratio", **back), "ratio")
    before = target(TEXT, "ratio")
    assert (again.level.si, again.over, again.limit) == (before.level.si, "cheek", "equal")


def test_a_target_in_one_setup_alone() -> None:
    edited = made("target", name="face", reading="cheek", level_stops=0.0, setups=["TWO"])
    assert target(edited, "face").setups == ("TWO",)
    assert made("target", scene=edited, name="face", reading="cheek", level_stops=0.0) == TEXT


def test_a_target_goes_and_the_others_stay() -> None:
    edited = made("untarget", name="face")
    assert edited == TEXT.replace("  face: {reading: cheek, level: 0 stops}\n", "")
    none = made("untarget", scene=edited, name="ratio")
    assert parsed(none).targets == {}


def test_a_reading_that_goes_takes_its_targets_along() -> None:
    assert set(parsed(made("delete", name="on the table")).targets) == {"face"}
    assert parsed(made("delete", name="cheek")).targets == {}


@pytest.mark.parametrize(
    ("parts", "told"),
    [
        ({"reading": "nose", "level_stops": 0.0}, "no reading nose"),
        ({"reading": "cheek", "level_stops": 0.0, "over": "cheek"}, "level with itself"),
        ({"reading": "cheek", "level_stops": 0.0, "limit": "about"}, "'about'"),
        ({"reading": "cheek", "level_stops": 0.0, "tolerance_stops": 0.0}, "more than nothing"),
        ({"reading": "cheek", "level_stops": 99.0}, "99 stops"),
        ({"reading": "cheek", "level_stops": "much"}, "cannot be read"),
        ({"reading": "cheek"}, "lacks 'level_stops'"),
    ],
)
def test_what_no_target_can_be_is_refused(parts: dict[str, Any], told: str) -> None:
    with pytest.raises(DocumentError, match=told):
        made("target", **parts)


def test_deleting_what_is_not_there_is_refused() -> None:
    with pytest.raises(DocumentError, match="no target nose"):
        made("untarget", name="nose")


def test_what_windows_are_told_of_targets() -> None:
    told = targets_told(parsed())
    assert told["ratio"] == {
        "kind": "level", "reading": "on the table", "readings": ["on the table", "cheek"],
        "weight": 1.0, "setups": [], "over": "cheek", "reference": "key", "level_stops": -1.0,
        "level_text": "-1 stops", "limit": "equal", "tolerance_stops": pytest.approx(1 / 3),
    }  # fmt: skip
    assert readings_in(parsed().targets["face"]) == ("cheek",)
