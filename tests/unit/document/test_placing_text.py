"""A place as one text is the place its parts would be, and a faulty part is told by its name."""

from __future__ import annotations

import re
from typing import Any

import pytest

from falloff.document import OnPlace, Quantity, RelativePlace
from falloff.document.cursor import Cursor, Gathered, Unread
from falloff.document.placing import PLACE, READING_PLACE
from falloff.document.records import NamedPlace
from falloff.document.tree import compose_text
from falloff.document.values import Value
from falloff.errors import Fault


def read(text: str, value: Value[Any] = PLACE) -> tuple[Any, list[Fault], list[str]]:
    """What stands at `at:`, the faults found, and the names it refers to."""
    gathered = Gathered("a.scene.yaml")
    root = compose_text(f"at: {text}\n", "a.scene.yaml")
    cursor = Cursor(root, (), gathered).entries()["at"]
    try:
        place = value.read(cursor)
    except Unread:
        place = None
    return place, gathered.faults, [one.name for one in gathered.wanted]


@pytest.mark.parametrize(
    ("text", "name", "distance", "hour", "height"),
    [
        # pencil: 1 ft = 0.3048 m, 1 in = 0.0254 m; minutes over 60
        ("5 ft from COOK, 4 o'clock, 6 ft up", "COOK", (1.524, "5 ft"), 4.0, (1.8288, "6 ft")),
        (
            "1.5 m from MAKER, 4:30 o'clock, 1.7 m up",
            "MAKER", (1.5, "1.5 m"), 4.5, (1.7, "1.7 m"),
        ),
        ("5 ft from COOK, 12 o'clock", "COOK", (1.524, "5 ft"), 12.0, (0.0, "0 m")),
        ("1 m from THE COOK, 12:15 o'clock", "THE COOK", (1.0, "1 m"), 0.25, (0.0, "0 m")),
        ("1 m from MAN from UP, 1 o’clock", "MAN from UP", (1.0, "1 m"), 1.0, (0.0, "0 m")),
        ("  1 m  from  A ,4 O'Clock ,-10 cm Up ", "A", (1.0, "1 m"), 4.0, (-0.1, "-10 cm")),
        ("0 m from A, 06 o'clock, 1 m up", "A", (0.0, "0 m"), 6.0, (1.0, "1 m")),
        ("'5'' 6\" from A, 4 o''clock, 5'' up'", "A", (1.6764, "5' 6\""), 4.0, (1.524, "5'")),
        ("1 m from A,\n    4 o'clock,\n    2 m up", "A", (1.0, "1 m"), 4.0, (2.0, "2 m")),
    ],
)  # fmt: skip
@pytest.mark.parametrize("value", [PLACE, READING_PLACE])
def test_a_text_gives_the_place_of_its_parts(
    text: str,
    name: str,
    distance: tuple[float, str],
    hour: float,
    height: tuple[float, str],
    value: Value[Any],
) -> None:
    place, faults, wanted = read(text, value)
    assert faults == []
    assert isinstance(place, RelativePlace)
    assert place.from_name == name
    assert (place.distance.text, place.height.text) == (distance[1], height[1])
    assert place.distance.si == pytest.approx(distance[0], rel=1e-12, abs=0.0)
    assert place.height.si == pytest.approx(height[0], rel=1e-12, abs=0.0)
    assert place.clock_hour == hour
    assert wanted == [name]  # looked up like any other name


def test_both_ways_of_writing_give_the_same_record() -> None:
    text, _, _ = read("5 ft from COOK, 4 o'clock, 6 ft up")
    keys, _, _ = read("{from: COOK, distance: 5 ft, clock: 4, height: 6 ft}")
    assert text == keys


@pytest.mark.parametrize(
    ("text", "told"),
    [
        # snapshot: our own wording
        (
            "5 from COOK, 4 o'clock, 6 ft up",
            [("the distance of this place: 5 has no unit", "5")],
        ),
        (
            "-5 ft from COOK, 4 o'clock",
            [("the distance of this place: out of range", "-5 ft")],
        ),
        (
            "far from COOK, 4 o'clock, 6 up",
            [
                ("the distance of this place: this is no length", "far"),
                ("the height of this place: 6 has no unit", "6"),
            ],
        ),
        (
            "5 ft to COOK, 4 o'clock",
            [("the distance of this place cannot be read", "5 ft to COOK")],
        ),
        ("from COOK, 4 o'clock", [("the distance of this place cannot be read", "from COOK")]),
        ("5 ft from, 4 o'clock", [("the distance of this place cannot be read", "5 ft from")]),
        (
            "5 ft from COOK, half past four",
            [("the hour of this place cannot be read", "half past four")],
        ),
        ("5 ft from COOK, 13 o'clock", [("the hour of this place cannot be read", "13 o'clock")]),
        ("5 ft from COOK, 4", [("the hour of this place cannot be read", "4")]),
        (
            "5 ft from COOK, 6 ft up, 4 o'clock",
            [
                ("the hour of this place cannot be read", "6 ft up"),
                ("the height of this place cannot be read", "4 o'clock"),
            ],
        ),
        ("5 ft from COOK, 4 o'clock,", [("the height of this place cannot be read", "nothing")]),
        (
            "5 ft from COOK, 4 o'clock, 6 ft",
            [("the height of this place cannot be read", "6 ft")],
        ),
        (
            "5 ft from COOK",
            [("a place in one text has two or three parts with a comma between", "1 part")],
        ),
        (
            "5 ft from COOK, THE, 4 o'clock, 6 ft up",
            [("a place in one text has two or three parts with a comma between", "4 parts")],
        ),
        ("COOK", [("this is no place", "COOK")]),
    ],
)
def test_each_part_that_cannot_be_read_is_named(text: str, told: list[tuple[str, str]]) -> None:
    place, faults, _ = read(text)
    assert place is None
    assert [(fault.what, fault.found) for fault in faults] == told
    for fault in faults:
        assert (fault.line, fault.column) == (1, 5)  # pencil: after "at: "
        assert fault.expected
        assert fault.fix


def test_a_name_with_a_comma_is_sent_to_the_long_form() -> None:
    _, (fault,), _ = read("5 ft from COOK, THE, 4 o'clock, 6 ft up")
    assert fault.fix == (  # snapshot
        "if a comma is part of the name, write "
        "{from: NAME, distance: 5 ft, clock: 4, height: 6 ft} with the name in quotes"
    )


def test_the_name_is_looked_up_even_where_another_part_is_faulty() -> None:
    _, faults, wanted = read("5 from COOK, 4 o'clock")
    assert len(faults) == 1
    assert wanted == ["COOK"]


@pytest.mark.parametrize(
    ("text", "name", "spot"),
    [
        ("COOK.face", "COOK", "face"),
        ("BOY from UP.face", "BOY from UP", "face"),
        ("FIVE O'CLOCK.face", "FIVE O'CLOCK", "face"),
        ("2 from 3.face", "2 from 3", "face"),
    ],
)
def test_a_bare_text_in_a_reading_is_a_name_and_a_place(text: str, name: str, spot: str) -> None:
    place, faults, _ = read(text, READING_PLACE)
    assert faults == []
    assert place == NamedPlace(name, spot)


def test_a_reading_tells_the_faulty_part_too() -> None:
    _, (fault,), _ = read("5 from COOK, 4 o'clock", READING_PLACE)
    assert fault.what == "the distance of this place: 5 has no unit"  # snapshot


def test_a_level_of_furniture_may_be_chosen() -> None:
    place, faults, wanted = read("{on: SHELVES, level: 2, offset: [10 cm, 0 cm]}")
    assert faults == []
    assert place == OnPlace("SHELVES", (Quantity(0.1, "10 cm"), Quantity(0.0, "0 cm")), level=2)
    assert wanted == ["SHELVES"]
    usual, _, _ = read("{on: SHELVES}")
    assert usual.level is None


@pytest.mark.parametrize("level", ["0", "1.5", "top", "-1"])
def test_a_level_that_is_no_count_is_refused(level: str) -> None:
    place, (fault,), _ = read(f"{{on: SHELVES, level: {level}}}")
    assert place is None
    assert fault.found == level


@pytest.mark.parametrize(
    ("text", "fits"),
    [
        ("5 ft from COOK, 4 o'clock, 6 ft up", True),
        ("5 ft from THE COOK,12:30 o’clock", True),
        ("5 ft from COOK, 13 o'clock", False),
        ("5 ft from COOK, half past four", False),
        ("5 ft from COOK", False),
        ("COOK", False),
    ],
)
def test_the_schema_says_how_the_text_is_written(text: str, fits: bool) -> None:
    (schema,) = [one for one in PLACE.schema["anyOf"] if one["type"] == "string"]
    assert bool(re.search(schema["pattern"], text)) is fits
    place, _, _ = read(f'"{text}"')
    assert (place is not None) is fits  # the reader agrees
    assert all(read(f'"{example}"')[0] for example in schema["examples"])
