"""The document as it stands in each of its setups."""

from __future__ import annotations

import msgspec
import pytest

from falloff.document import (
    CameraAim,
    NamedAim,
    PointPlace,
    Quantity,
    SceneDocument,
    arranged,
    arrangement_key,
    parse_document,
)
from falloff.errors import DocumentError

HEAD = """\
falloff: 2
title: Two people
units: metric
room:
  floor: [[0 m, 0 m], [5 m, 0 m], [5 m, 4 m], [0 m, 4 m]]
  height: 2.7 m
  floor_surface: planks
  ceiling_surface: planks
  wall_surface: planks
props:
  TABLE: {shape: box, size: [1 m, 1 m, 70 cm], at: [2.5 m, 2 m], surface: planks}
  CUP: {shape: cylinder, diameter: 8 cm, height: 9 cm, at: {on: TABLE}, surface: planks}
subjects:
  ANNA: {figure: a, at: [2 m, 3 m], facing: 270 deg, gaze: GAZE, skin: 0.3, hair: h, top: t,
         trousers: t}
  BEN: {figure: b, at: [3 m, 3 m], facing: 270 deg, skin: 0.3, hair: h, top: t, trousers: t}
fixtures:
  KEY: {light: panel, size: [1 m, 1 m], output: 900 lm, colour: 5600 K,
        at: [1 m, 1 m, 2 m], aim: ANNA.face}
grip:
  SOLID: {kind: solid, size: [1 m, 1 m], at: [4 m, 2 m, 1 m], aim: BEN}
cameras:
  WIDE: {at: [4 m, 0.5 m, 1.5 m], aim: [2.5 m, 3 m, 1 m], lens: 24 mm}
  CLOSE: {at: [3 m, 1 m, 1.5 m], aim: ANNA.face, lens: 50 mm}
  OVER: {at: {from: CLOSE, distance: 10 cm, clock: 3, height: 1.5 m}, aim: down, lens: 50 mm}
setups:
  A: {camera: WIDE, stop: T2.8, iso: 800, shutter: 180 deg, dims: {KEY: 60 %}, key: cheek}
"""
TAIL = """\
readings:
  cheek: {at: ANNA.cheek_key}
  other: {at: BEN.cheek_key}
  table: {at: {on: TABLE}}
  to camera: {at: [1 m, 2 m, 1 m], aim: OVER}
targets:
  one: {reading: cheek, level: 0 stops}
  two: {reading: other, level: -1 stops, over: cheek}
  three: {reading: table, level: -1 stops}
measured:
  first: {reading: cheek, value: 300 lx, setup: A}
  second: {reading: table, value: 200 lx}
  third: {reading: table, value: 200 lx, lit: [KEY]}
"""


def scene(*setups: str, gaze: str = "BEN.face") -> SceneDocument:
    text = HEAD.replace("GAZE", gaze) + "".join(f"  {one}\n" for one in setups) + TAIL
    return parse_document(text, "two.scene.yaml")


def metres(*values: str) -> PointPlace:
    return PointPlace(*(Quantity(float(value.split()[0]), value) for value in values))


def test_a_setup_that_moves_nothing_leaves_the_document_as_it_is() -> None:
    document = scene("B: {like: A, iso: 400}")
    assert arranged(document, "A") == document
    assert arrangement_key(document, "A") == arrangement_key(document, "B")


def test_what_is_moved_stands_elsewhere_and_the_rest_where_it_was() -> None:
    document = scene(
        "B: {like: A, moved: {KEY: {at: [2 m, 1 m, 2 m], aim: BEN.face}, ANNA: {facing: BEN}}}"
    )
    standing = arranged(document, "B")
    # pencil: as written
    assert standing.fixtures["KEY"].at == metres("2 m", "1 m", "2 m")
    assert standing.fixtures["KEY"].aim == NamedAim("BEN", "face")
    assert standing.fixtures["KEY"].output == document.fixtures["KEY"].output
    assert standing.subjects["ANNA"].facing == "BEN"
    assert standing.subjects["BEN"] == document.subjects["BEN"]
    assert (standing.props, standing.grip) == (document.props, document.grip)
    assert document.fixtures["KEY"].at == metres("1 m", "1 m", "2 m")
    assert list(standing.setups) == ["B"]
    assert standing.setups["B"].moved == {}
    assert list(standing.measured) == ["second", "third"]  # the first was taken in A
    assert arranged(standing, "B") == standing


def test_what_is_not_there_takes_along_what_hangs_on_it() -> None:
    document = scene(
        "B: {like: A, moved: {KEY: {aim: TABLE}}, without: [ANNA, SOLID]}", gaze="camera"
    )
    standing = arranged(document, "B")
    # pencil: CLOSE looks at ANNA, OVER stands by CLOSE, a reading looks at OVER; cheek was key
    assert list(standing.subjects) == ["BEN"]
    assert standing.grip == {}
    assert list(standing.cameras) == ["WIDE"]
    assert list(standing.readings) == ["other", "table"]
    assert list(standing.targets) == ["three"]
    assert list(standing.measured) == ["second", "third"]
    assert standing.setups["B"].key is None
    assert (standing.setups["B"].without, standing.setups["B"].dims) == (
        (),
        document.setups["A"].dims,
    )


def test_a_light_that_is_not_there_has_no_dim_and_lights_no_measurement() -> None:
    standing = arranged(scene("B: {like: A, without: [KEY]}"), "B")
    # pencil: the third measurement was lit by KEY, the first taken in A
    assert (standing.fixtures, standing.setups["B"].dims) == ({}, {})
    assert list(standing.measured) == ["second"]
    assert list(standing.readings) == ["cheek", "other", "table", "to camera"]


def test_who_looks_into_the_camera_looks_into_that_of_the_setup() -> None:
    document = scene("B: {like: A, camera: CLOSE}", "C: {like: B, iso: 400}", gaze="camera")
    assert document.subjects["ANNA"].gaze == CameraAim()
    assert arranged(document, "A").subjects["ANNA"].gaze == NamedAim("WIDE")
    assert arranged(document, "B").subjects["ANNA"].gaze == NamedAim("CLOSE")
    assert list(arranged(document, "B").setups) == ["B", "C"]
    assert arrangement_key(document, "A") != arrangement_key(document, "B")
    assert arrangement_key(document, "B") == arrangement_key(document, "C")


@pytest.mark.parametrize(
    ("one", "other"),
    [
        # pencil: two ways to say the same
        ("moved: {KEY: {at: [2 m, 1 m, 2 m]}}", "moved: {KEY: {at: [200 cm, 1.0 m, 2000 mm]}}"),
        ("moved: {KEY: {at: [1 m, 1 m, 2 m]}}", "iso: 400"),
        ("moved: {ANNA: {facing: 270 deg}}", "dims: {KEY: 10 %}"),
        ("without: [CUP, SOLID]", "without: [SOLID, CUP]"),
        (
            "moved: {CUP: {at: [1 m, 1 m]}, TABLE: {at: [1 m, 2 m]}}",
            "moved: {TABLE: {at: [1 m, 2 m]}, CUP: {at: [1 m, 1 m]}}",
        ),
    ],
)
def test_the_same_arrangement_in_other_words_is_the_same(one: str, other: str) -> None:
    document = scene(f"B: {{like: A, {one}}}", f"C: {{like: A, {other}}}")
    key = arrangement_key(document, "B")
    assert key == arrangement_key(document, "C")
    assert hash(key) == hash(arrangement_key(document, "C"))
    assert {"B", "C"} <= arranged(document, "B").setups.keys()


@pytest.mark.parametrize(
    "setup",
    ["moved: {KEY: {at: [2 m, 1 m, 2 m]}}", "moved: {KEY: {aim: BEN}}", "without: [SOLID]",
     "moved: {ANNA: {facing: 260 deg}}", "moved: {CUP: {at: {on: TABLE, offset: [1 cm, 0 cm]}}}"],
)  # fmt: skip
def test_another_arrangement_is_another(setup: str) -> None:
    document = scene(f"B: {{like: A, {setup}}}")
    assert arrangement_key(document, "A") != arrangement_key(document, "B")


def without(document: SceneDocument, *names: str, setup: str = "B") -> SceneDocument:
    """The document with things taken out of a setup after it was read and checked."""
    other = msgspec.structs.replace(document.setups[setup], without=names)
    return msgspec.structs.replace(document, setups=document.setups | {setup: other})


@pytest.mark.parametrize(
    ("gone", "told", "there"),
    [
        # pencil: the text that says it
        ("TABLE", "CUP is placed by TABLE, which is not there in B", "at: {on: TABLE}, surf"),
        ("BEN", "ANNA looks at BEN, which is not there in B", "BEN.face, skin"),
        ("ANNA", "KEY is aimed at ANNA, which is not there in B", "ANNA.face}"),
    ],
)
def test_what_hangs_on_a_thing_that_is_gone_is_told_with_its_place(
    gone: str, told: str, there: str
) -> None:
    before = HEAD.replace("GAZE", "BEN.face").split(there)[0]
    line, column = before.count("\n") + 1, len(before.split("\n")[-1]) + 1
    document = without(scene("B: {like: A}"), gone)
    with pytest.raises(DocumentError) as caught:
        arranged(document, "B")
    fault = caught.value.faults[0]
    assert (fault.what, fault.line, fault.column) == (told, line, column)
    assert fault.where.startswith(f"two.scene.yaml, line {line}, column {column} (")


def test_a_place_that_was_moved_in_another_setup_is_told_there() -> None:
    document = scene("B: {like: A, moved: {BEN: {facing: KEY}}}", "C: {like: B}")
    with pytest.raises(DocumentError) as caught:
        arranged(without(document, "KEY", setup="C"), "C")
    # pencil: the line of B, the one after HEAD
    told = [(fault.what, fault.line) for fault in caught.value.faults]
    assert told == [("BEN faces KEY, which is not there in C", HEAD.count("\n") + 1)]


def test_a_camera_is_told_to_be_exchanged() -> None:
    document = scene("B: {like: A, moved: {KEY: {aim: TABLE}}, camera: CLOSE}", gaze="camera")
    with pytest.raises(DocumentError) as caught:
        arranged(without(document, "ANNA"), "B")
    fault = caught.value.faults[0]
    assert fault.what == "CLOSE is aimed at ANNA, which is not there in B"  # snapshot
    assert fault.fix == "give this setup another camera"  # snapshot


def test_an_unknown_setup() -> None:
    document = scene("B: {like: A}")
    for ask in (arranged, arrangement_key):
        with pytest.raises(DocumentError, match="there is no setup 'b'"):
            ask(document, "b")
