"""Broken scenes (broken.toml): each is told in exactly these words, and all at once."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from falloff.document import KnownNames, parse_document
from falloff.errors import DocumentError

KNOWN = KnownNames(
    materials={"planks", "wool", "dark hair", "black leather"},
    figures={"woman seated", "man standing"},
    profiles={"open-face flood"},
    furniture={"table", "chair", "shelves"},
    hair_styles={"bun", "short"},
    coverings={"headscarf", "cap"},
    skins={"deep", "fair"},
)
HERE = Path(__file__).parent
GOOD = (HERE / "good" / "room.scene.yaml").read_text(encoding="utf-8")
CASES: list[dict[str, Any]] = tomllib.loads((HERE / "broken.toml").read_text(encoding="utf-8"))[
    "broken"
]
BROKEN = {case["name"]: case for case in CASES}


def test_the_good_scene_is_good() -> None:
    parse_document(GOOD, "room.scene.yaml", known=KNOWN)


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_scene_is_told_in_these_words(name: str) -> None:
    case = BROKEN[name]
    assert GOOD.count(case["replace"]) == 1
    text = GOOD.replace(case["replace"], case["by"])
    with pytest.raises(DocumentError) as caught:
        parse_document(text, "folder/room.scene.yaml", known=KNOWN)
    told = "\n".join(f"room.scene.yaml, {one}" for one in case["told"])
    assert str(caught.value) == told


# name of the case: the text that the fault must point at
POINTED_AT = {
    "height and slope": "slope:",
    "rooms overlap": "[[4 m",
    "door to nowhere that is open": "90 deg",
    "unknown dressing": "curtains",
    "mesh without unit and axis": "BENCH",
    "shutter that does not fit the new frame rate": "60}",
    "moved and not there": "KEY: {aim: down}",
    "aimed at what is not there": "MAKER.face}\ncameras",
    "without a window": "WINDOW]",
    "another setup moves it into a circle": "at: {from: KEY",
    "incident reading measured as a spot": "45 cd",
    "target that asks for two things": "320 lx}",
    "value in lux of a spot": "50 lx",
    "even in two units": "[cheek, seen]",
    "target in an unknown setup": "B]}",
    "stop outside what is free": "[T4",
    "walk of one point": "1, aim: KEY}",
    "walk as key": "walk}\n",
    "one thing of a section twice": "BENCH: {shape: box, size: [1.8",
    "unknown key in the room": "hieght",
    "missing unit": "2.7\n",
    "wrong unit": "2.7 deg",
    "NaN corner": ".nan",
    "duplicate key": "height: 3 m",
    "closed twice": "[0 m, 0 m]]",
    "window too wide": "3.4 m",
    "unknown name": "MAKR",
    "dim of a window": "WINDOW: 60 %",
    "ambiguous ND": "ND3",
    "no such clock hour": "13}",
    "one name twice": "KEY: {light: globe",
    "shared value": "&h",
    "tab": "\theight",
}


@pytest.mark.parametrize("name", POINTED_AT)
def test_a_fault_points_at_the_text_that_is_wrong(name: str) -> None:
    text = GOOD.replace(BROKEN[name]["replace"], BROKEN[name]["by"])
    with pytest.raises(DocumentError) as caught:
        parse_document(text, "room.scene.yaml", known=KNOWN)
    # pencil: found by searching the text, independently of the reader
    before = text[: text.index(POINTED_AT[name])]
    fault = caught.value.faults[0]
    assert (fault.line, fault.column) == (before.count("\n") + 1, len(before.split("\n")[-1]) + 1)


def test_all_faults_are_told_at_once_in_the_order_of_the_text() -> None:
    text = GOOD
    for name in ("unknown key in the room", "unknown name", "bare ND", "dim above all"):
        text = text.replace(BROKEN[name]["replace"], BROKEN[name]["by"])
    with pytest.raises(DocumentError) as caught:
        parse_document(text, "room.scene.yaml", known=KNOWN)
    # pencil: one fault from each of the four changes, by line
    assert [(fault.line, fault.what) for fault in caught.value.faults] == [
        (6, "the room has no key 'hieght'"),
        (20, "nothing is named 'MAKR'"),
        (24, "this could be a density, a factor or stops"),
        (24, "out of range"),
    ]


def test_a_fault_in_one_key_hides_none_in_the_next() -> None:
    text = GOOD.replace("depth: 45 cm", "depth: 45").replace("aim: MAKER.face}", "aim: MAKR}")
    with pytest.raises(DocumentError) as caught:
        parse_document(text, "room.scene.yaml")
    # pencil: the depth has lost its unit, and the aim is at nobody
    assert [fault.what for fault in caught.value.faults] == [
        "45 has no unit",
        "nothing is named 'MAKR'",
    ]


def test_names_are_not_checked_against_a_catalogue_that_is_not_given() -> None:
    document = parse_document(GOOD.replace("planks", "marble"), "room.scene.yaml")
    assert document.room.floor_surface == "marble"


def test_lengths_are_told_in_the_units_that_the_scene_asks_for() -> None:
    text = GOOD.replace("units: metric", "units: imperial").replace("width: 1.4 m", "width: 12 ft")
    with pytest.raises(DocumentError) as caught:
        parse_document(text, "room.scene.yaml", known=KNOWN)
    # pencil: the wall is 4 m = 157.5 in; 1 m + 12 ft = 183.4 in
    fault = caught.value.faults[0]
    assert (fault.expected, fault.found) == ("at most 13 ft 1 in", "15 ft 3 in")


def test_two_people_may_face_one_another() -> None:
    maker = GOOD.split("subjects:\n")[1].split("\n")[0]
    other = maker.replace("MAKER", "OTHER").replace("facing: 270 deg", "facing: MAKER")
    both = maker.replace("facing: 270 deg", "facing: OTHER") + "\n" + other.replace("[2 m", "[4 m")
    document = parse_document(GOOD.replace(maker, both), "room.scene.yaml", known=KNOWN)
    assert [one.facing for one in document.subjects.values()] == ["OTHER", "MAKER"]  # pencil


@pytest.mark.parametrize("turned", [1, 2, 3])
def test_a_room_may_start_at_any_corner(turned: int) -> None:
    corners = ["[0 m, 0 m]", "[5 m, 0 m]", "[5 m, 4 m]", "[0 m, 4 m]"]
    floor = ", ".join(corners[turned:] + corners[:turned])
    text = GOOD.replace(", ".join(corners), floor).replace("wall: 4", f"wall: {4 - turned}")
    document = parse_document(text, "room.scene.yaml", known=KNOWN)
    assert len(document.room.floor) == 4  # pencil


def test_openings_in_two_walls_do_not_overlap() -> None:
    window = next(line for line in GOOD.split("\n") if "WINDOW" in line)
    other = window.replace("WINDOW", "OTHER").replace("wall: 4", "wall: 2")
    text = GOOD.replace(window, f"{window}\n{other}")
    document = parse_document(text, "room.scene.yaml", known=KNOWN)
    walls = [getattr(one, "wall", None) for one in document.openings.values()]
    assert walls == [4, 2]  # pencil
