"""A scene under work: what is built anew after a change is what would be built from nothing."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import falloff.session
from falloff.document import SceneDocument, arranged, parse_document
from falloff.errors import GeometryError
from falloff.stage import Standing, build, build_stage, judge, stand
from falloff.stage.standing import touched_names

WORKSHOP = (Path(falloff.session.__file__).parent / "data/workshop.scene.yaml").read_text("utf-8")
PERSON = "skin: 0.3, hair: dark hair, top: blue cotton, trousers: dark denim"
TEXT = f"""
falloff: 2
title: Standing
units: metric
room:
  floor: [[0 m, 0 m], [5 m, 0 m], [5 m, 4 m], [0 m, 4 m]]
  height: 2.7 m
  floor_surface: oak
  ceiling_surface: white paint
  wall_surface: wall
openings:
  WINDOW: {{wall: 4, along: 1 m, width: 1.4 m, sill: 0.9 m, height: 1.3 m}}
sky: {{type: overcast, outside: 12000 lx}}
materials:
  wall: {{reflectance: 0.6}}
props:
  TABLE: {{shape: box, size: [1 m, 0.8 m, 74 cm], at: [2 m, 1.2 m], surface: oak}}
  TRAY: {{shape: box, size: [40 cm, 30 cm, 3 cm], at: {{on: TABLE}}, surface: steel}}
  CUP: {{shape: cylinder, diameter: 8 cm, height: 10 cm, at: {{on: TRAY}}, surface: steel}}
  BLOCK: {{shape: box, size: [30 cm, 30 cm, 30 cm], at: [4.5 m, 3.5 m], surface: oak}}
subjects:
  HER: {{figure: woman seated, at: [2 m, 2.6 m], facing: 270 deg, {PERSON}}}
fixtures:
  KEY: {{light: soft box, size: [60 cm, 60 cm], depth: 30 cm, output: 4000 lm, colour: 5600 K,
        at: [3.6 m, 0.8 m, 1.9 m], aim: HER.face, stand: true}}
  EDGE: {{light: panel, size: [30 cm, 30 cm], output: 900 lm, colour: 3200 K,
         at: "1 m from KEY, 9 o'clock, 2 m up", aim: HER.cheek_key}}
practicals:
  LAMP: {{light: globe, diameter: 12 cm, output: 400 lm, colour: 2700 K, at: [0.6 m, 3.4 m, 1.4 m]}}
grip:
  SOLID: {{kind: solid, size: [60 cm, 60 cm], at: [1.2 m, 1.6 m, 1.4 m], aim: LAMP}}
cameras:
  A: {{at: [2.6 m, 0.3 m, 1.4 m], aim: HER.face, lens: 35 mm}}
setups:
  ONE: {{camera: A, stop: T4, iso: 400, shutter: 180 deg, dims: {{KEY: 50 %}}}}
readings:
  cheek: {{at: HER.cheek_key}}
  table: {{at: {{on: TABLE, offset: [-40 cm, 0 cm]}}}}
  lamp: {{at: [0.6 m, 3.4 m, 1.4 m], instrument: spot}}
"""
EDGE = TEXT[TEXT.index("  EDGE:") : TEXT.index("practicals:")]
ADDED = (
    "  NEW: {light: panel, size: [20 cm, 20 cm], output: 300 lm, colour: 2700 K,"
    " at: [4 m, 1 m, 1 m], aim: HER}\n"
)


def document_of(text: str) -> SceneDocument:
    return arranged(parse_document(text, "standing.scene.yaml"), "ONE")


def edited(*pairs: tuple[str, str]) -> SceneDocument:
    text = TEXT
    for old, new in pairs:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return document_of(text)


@pytest.fixture(scope="module")
def before() -> Standing:
    return stand(document_of(TEXT))


def assert_same(a: Any, b: Any, where: str = "stage") -> None:
    """Equal to the bit, arrays and what they are held in."""
    assert type(a) is type(b), where
    if dataclasses.is_dataclass(a):
        for field in dataclasses.fields(a):
            one, two = getattr(a, field.name), getattr(b, field.name)
            assert_same(one, two, f"{where}.{field.name}")
    elif isinstance(a, np.ndarray):
        assert a.dtype == b.dtype, where
        assert np.array_equal(a, b, equal_nan=a.dtype.kind == "f"), where
    elif isinstance(a, dict):
        assert list(a) == list(b), where
        for key in a:
            assert_same(a[key], b[key], f"{where}[{key}]")
    elif isinstance(a, tuple | list):
        assert len(a) == len(b), where
        for n, (one, two) in enumerate(zip(a, b, strict=True)):
            assert_same(one, two, f"{where}[{n}]")
    else:
        assert a == b, where


CHANGES: dict[str, tuple[list[tuple[str, str]], set[str]]] = {
    # pencil: what was touched, and what stands on it, is placed by it or looks at it
    "nothing": ([], set()),
    "a title and a dim": ([("Standing\n", "Other\n"), ("KEY: 50 %", "KEY: 20 %")], set()),
    "a light": ([("[3.6 m, 0.8 m, 1.9 m]", "[3.8 m, 0.9 m, 2.1 m]")], {"KEY", "EDGE"}),
    "an output": ([("output: 900 lm", "output: 800 lm")], {"EDGE"}),
    "a prop with a tower on it": ([("[2 m, 1.2 m]", "[2.2 m, 1.1 m]")], {"TABLE", "TRAY", "CUP"}),
    "what stands on a prop": ([("{on: TRAY}", "{on: TRAY, offset: [5 cm, 0 m]}")], {"CUP"}),
    "a prop turned": ([("1.2 m], sur", "1.2 m], turn: 9 deg, sur")], {"TABLE", "TRAY", "CUP"}),
    "what lights look at": ([("[2 m, 2.6 m]", "[2.3 m, 2.7 m]")], {"HER", "KEY", "EDGE", "A"}),
    "a gaze": ([("270 deg,", "270 deg, gaze: LAMP,")], {"HER", "KEY", "EDGE", "A"}),
    "what grip looks at": ([("3.4 m, 1.4 m]}\ngrip", "3.3 m, 1.5 m]}\ngrip")], {"LAMP", "SOLID"}),
    "a camera": ([("[2.6 m, 0.3 m, 1.4 m]", "[2.9 m, 0.4 m, 1.5 m]")], {"A"}),
    "a reading": ([("cheek: {at: HER.cheek_key}", "cheek: {at: HER.chin}")], set()),
    "a surface": ([("3.5 m], surface: oak", "3.5 m], surface: steel")], {"BLOCK"}),
    "a light more": ([("practicals:\n", ADDED + "practicals:\n")], {"NEW", "EDGE"}),
    "a light less": ([(EDGE, "")], {"EDGE"}),
}  # fmt: skip
EVERYTHING: dict[str, list[tuple[str, str]]] = {
    "a material": [("reflectance: 0.6", "reflectance: 0.5")],
    "a window": [("width: 1.4 m", "width: 1.2 m")],
    "a sky": [("12000 lx", "9000 lx")],
    "a wall": [("[5 m, 0 m], [5 m, 4 m]", "[5.5 m, 0 m], [5.5 m, 4 m]")],
    "a ceiling": [("height: 2.7 m", "height: 3 m")],
}


@pytest.mark.parametrize("name", CHANGES)
def test_what_is_touched_is_built_and_the_rest_is_kept(before: Standing, name: str) -> None:
    pairs, touched = CHANGES[name]
    document = edited(*pairs)
    after = stand(document, before=before)
    assert_same(after.stage, build_stage(document, guarded=False))
    # the key side of a face is told by the first fixture: who aims at a cheek goes with it
    assert touched_names(before.document, document) - {"EDGE"} == touched - {"EDGE"}
    old = {piece.name: piece for piece in before.pieces}
    for piece in after.pieces:
        assert (piece is old.get(piece.name)) == (piece.name not in touched), piece.name


@pytest.mark.parametrize("name", EVERYTHING)
def test_what_all_may_hang_on_builds_all_anew(before: Standing, name: str) -> None:
    document = edited(*EVERYTHING[name])
    after = stand(document, before=before)
    assert_same(after.stage, build_stage(document, guarded=False))
    assert not {id(piece) for piece in after.pieces} & {id(piece) for piece in before.pieces}


def test_many_changes_one_after_another(before: Standing) -> None:
    standing, pairs = before, []
    for name in ("a light", "a window", "a prop with a tower on it", "a light more", "a wall"):
        pairs += CHANGES[name][0] if name in CHANGES else EVERYTHING[name]
        standing = stand(edited(*pairs), before=standing)
    assert_same(standing.stage, build_stage(edited(*pairs), guarded=False))
    back = stand(document_of(TEXT), before=standing)
    assert_same(back.stage, before.stage)


def test_the_key_side_of_a_face_goes_with_the_first_light(before: Standing) -> None:
    """She looks down the plan; the key comes from her left, then from her right."""
    document = edited(("[3.6 m, 0.8 m, 1.9 m]", "[0.5 m, 0.8 m, 1.9 m]"))
    after = stand(document, before=before)
    assert_same(after.stage, build_stage(document, guarded=False))
    cheeks = [one.stage.probes[0].point[0] for one in (before, after)]
    assert cheeks[0] > 2.0 > cheeks[1]  # pencil: she sits at x = 2 m
    swapped = edited(("fixtures:\n", "fixtures:\n" + ADDED.replace("4 m, 1 m,", "0.5 m, 1 m,")))
    assert_same(stand(swapped, before=before).stage, build_stage(swapped, guarded=False))


def test_the_key_side_goes_with_what_the_first_light_is_placed_by() -> None:
    key, moved = "[3.6 m, 0.8 m, 1.9 m]", ("[4.5 m, 3.5 m]", "[0.5 m, 3.5 m]")
    by_block = (key, '"1.5 m from BLOCK, 6 o\'clock, 1.9 m up"')
    edge = ('"1 m from KEY, 9 o\'clock, 2 m up"', "[2 m, 0.5 m, 2 m]")
    first = stand(edited(by_block, edge))
    document = edited(by_block, edge, moved)
    after = stand(document, before=first)
    cheeks = [one.stage.probes[0].point[0] for one in (first, after)]
    assert cheeks[0] > 2.0 > cheeks[1]  # pencil: she sits at x = 2 m
    assert_same(after.stage, build_stage(document, guarded=False))


def test_a_crowded_scene_is_cut_coarsely_and_finely_again(monkeypatch: pytest.MonkeyPatch) -> None:
    fine = stand(document_of(TEXT))
    block = next(line for line in TEXT.splitlines(keepends=True) if line.startswith("  BLOCK"))
    without = document_of(TEXT.replace(block, ""))
    count, fewer = (
        sum(piece.element_area_m2.size for piece in one.pieces) for one in (fine, stand(without))
    )
    monkeypatch.setattr(build, "_FINE_ELEMENTS_MOST", (count + fewer) // 2)
    assert fewer < (count + fewer) // 2 < count
    coarse = stand(document_of(TEXT))
    assert (coarse.crowded, fine.crowded) == (True, False)
    assert coarse.stage.surfaces.element_count < count
    assert_same(coarse.stage, build_stage(document_of(TEXT), guarded=False))
    moved = edited(CHANGES["a light"][0][0])
    assert_same(stand(moved, before=coarse).stage, build_stage(moved, guarded=False))
    again = stand(without, before=coarse)
    assert_same(again.stage, build_stage(without, guarded=False))
    assert not again.crowded
    assert_same(stand(document_of(TEXT), before=again).stage, coarse.stage)
    assert judge(coarse)[1] == build_stage(document_of(TEXT)).findings
    assert any("too many things" in one.says for one in judge(coarse)[1])


# Judging ---------------------------------------------------------------------------------


def test_what_is_possible_has_the_stages_findings(before: Standing) -> None:
    faults, findings = judge(before)
    assert faults == ()
    assert findings == build_stage(document_of(TEXT)).findings
    assert findings


@pytest.mark.parametrize(
    "pairs",
    [
        [("[4.5 m, 3.5 m]", "[5 m, 3.5 m]")],
        [("[4.5 m, 3.5 m]", "[2 m, 1.2 m]"), ("[2.6 m, 0.3 m, 1.4 m]", "[2.6 m, -0.1 m, 1.4 m]")],
        [("[0.6 m, 3.4 m, 1.4 m]}\ngrip", "[0.6 m, 3.4 m, 2.69 m]}\ngrip")],
    ],
    ids=["in a wall", "in a table, and a camera in a wall", "in the ceiling"],
)
def test_what_is_impossible_is_told_as_a_stage_would(
    before: Standing, pairs: list[tuple[str, str]]
) -> None:
    document = edited(*pairs)
    faults, findings = judge(stand(document, before=before))
    with pytest.raises(GeometryError) as caught:
        build_stage(document)
    assert faults == caught.value.faults
    assert faults
    assert findings == ()


# Cutting ---------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def workshop() -> Standing:
    return stand(arranged(parse_document(WORKSHOP), "WIDE SHOT"))


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("BOOK", 'clock: "7:40", height: 1.85 m', 'clock: "7:40", height: 1.6 m'),
        ("BOOK", 'clock: "7:40", height: 1.85 m', 'clock: "7:40", height: 2.05 m'),
        ("BOOK", 'clock: "7:40", height: 1.85 m', 'clock: "6:55", height: 1.85 m'),
        ("BOOK", "distance: 2.1 m", "distance: 1.73 m"),
        ("WALL HEAD", "[4.75 m, 2.95 m, 2.4 m]", "[4.5 m, 3.1 m, 2.0 m]"),
        ("WALL HEAD", "[3.6 m, 4.6 m, 1.5 m]", "[2.9 m, 4.6 m, 2.1 m]"),
        ("SOLID", 'clock: "3:05", height: 1.3 m', 'clock: "3:40", height: 1.55 m'),
        ("GLOBE", "at: [3.4 m, 3.0 m, 1.92 m]}", "at: [3.1 m, 2.9 m, 1.7 m]}"),
    ],
)
def test_a_light_that_is_raised_turned_or_carried_is_cut_as_before(
    workshop: Standing, name: str, old: str, new: str
) -> None:
    """So that its move is a move of one body, and what stands still is not traced again."""
    start = WORKSHOP.index(f"  {name}:")
    at = WORKSHOP.index(old, start)
    text = WORKSHOP[:at] + new + WORKSHOP[at + len(old) :]
    after = stand(arranged(parse_document(text), "WIDE SHOT"), before=workshop)
    a, b = workshop.stage.surfaces, after.stage.surfaces
    assert a.element_count == b.element_count
    for one, body in after.stage.bodies.items():
        was = workshop.stage.bodies[one]
        spans = (body.faces, body.elements, body.patches)
        assert spans == (was.faces, was.elements, was.patches), one
    for field in ("triangle_face", "face_grid", "face_step_m", "cell_element", "element_face"):
        assert np.array_equal(getattr(a, field), getattr(b, field)), field
    low, high = after.stage.bodies[name].elements
    moved = np.flatnonzero((a.element_points != b.element_points).any((1, 2)))
    assert moved.size
    assert low <= moved.min() <= moved.max() < high
