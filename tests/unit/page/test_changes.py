"""Lights, settings, things added and taken away, walls, and any value: every change but moves."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import Any

import pytest
from tests.unit.page.worked_scene import TEXT, changed, differing, off_m, parsed, placer_of

import falloff.session
from falloff.document import (
    KnownNames,
    Quantity,
    Window,
    WindowGel,
    arranged,
    edit_text,
    parse_document,
)
from falloff.errors import DocumentError
from falloff.kit import FURNITURE_KINDS, figure_names, list_items
from falloff.page.add import kit_choices
from falloff.page.changes import edits_of
from falloff.page.history import History
from falloff.stage import Standing, judge, stand


def made(do: str, setup: str = "ONE", scene: str = TEXT, **parts: Any) -> str:
    return changed({"do": do, **parts}, setup=setup, text=scene)


# Light -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("setup", "source", "knob", "old", "new"),
    [
        # pencil
        ("ONE", "KEY", 0.455, "dims: {KEY: 60 %,", "dims: {KEY: 45.5 %,"),
        ("ONE", "HEAD", 0.0, "HEAD: 35 %}, key", "HEAD: 0 %}, key"),
        ("ONE", "GLOBE", 1.0, "HEAD: 35 %}, key", "HEAD: 35 %, GLOBE: 100 %}, key"),
        ("ONE", "DOWN LIGHT", 0.5, "HEAD: 35 %}, key", "HEAD: 35 %, DOWN LIGHT: 50 %}, key"),
        ("THREE", "KEY", 0.123, "{HEAD: 10 %}}", "{HEAD: 10 %, KEY: 12.3 %}}"),
        ("THREE", "HEAD", 0.2, "{HEAD: 10 %}}", "{HEAD: 20 %}}"),
        (
            "TWO",
            "HEAD",
            0.2,
            "    without: [SOLID]\n",
            "    without: [SOLID]\n    dims: {HEAD: 20 %}\n",
        ),
    ],
)
def test_dims(setup: str, source: str, knob: float, old: str, new: str) -> None:
    assert TEXT.count(old) == 1
    edited = made("dim", setup, source=source, knob=knob)
    assert edited == TEXT.replace(old, new)
    assert parsed(edited).setups[setup].dims[source].si == pytest.approx(knob)
    others = {name: one.dims.get(source) for name, one in parsed().setups.items()}
    heirs = {"ONE": "THREE" if source == "HEAD" else "", "TWO": "ONE", "THREE": "ONE TWO"}[setup]
    for name in heirs.split():
        assert parsed(edited).setups[name].dims.get(source) == others[name]


@pytest.mark.parametrize(
    ("source", "kelvin", "old", "new"),
    [
        ("KEY", 3217.0, 'colour: 5600 K, at: "5', 'colour: 3200 K, at: "5'),
        ("FILL", 5012.0, "{kelvin: 4300 K, duv: 0.003}", "{kelvin: 5000 K, duv: 0.003}"),
        ("LOW", 2980.0, "{xy: [0.44, 0.4]}", "3000 K"),
        ("GLOBE", 2676.0, "2700 K", "2700 K"),
    ],
)  # fmt: skip
def test_colours_to_fifty_kelvin(source: str, kelvin: float, old: str, new: str) -> None:
    assert TEXT.count(old) == 1
    assert made("colour", source=source, kelvin=kelvin) == TEXT.replace(old, new)


# Camera ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("setup", "key", "told", "old", "new"),
    [
        ("ONE", "stop", "T4", "T2.8", "T4"),
        ("ONE", "iso", " 400 ", "iso: 800", "iso: 400"),
        ("ONE", "shutter", "1/50 s", "shutter: 180 deg", "shutter: 1/50 s"),
        ("ONE", "camera", "B", "ONE: {camera: A", "ONE: {camera: B"),
        ("ONE", "nd", "ND 0.6", "key: cheek}", "key: cheek, nd: ND 0.6}"),
        ("ONE", "balance", "3200 K", "key: cheek}", "key: cheek, balance: 3200 K}"),
        ("ONE", "fps", "24000/1001 fps", "key: cheek}", "key: cheek, fps: 24000/1001 fps}"),
        ("ONE", "key", "on the table", "key: cheek}", "key: on the table}"),
        ("THREE", "key", "in the air", "{HEAD: 10 %}}", "{HEAD: 10 %}, key: in the air}"),
        ("TWO", "stop", "f/8", "    without: [SOLID]\n", "    without: [SOLID]\n    stop: f/8\n"),
        ("ONE", "highlight", "5 stops", "key: cheek}", "key: cheek, highlight: 5 stops}"),
    ],
)
def test_settings(setup: str, key: str, told: str, old: str, new: str) -> None:
    assert TEXT.count(old) == 1
    assert made("setting", setup, key=key, text=told) == TEXT.replace(old, new)


def test_a_key_reading_of_any_name() -> None:
    name = "the edge: key side, #2"
    text = TEXT.replace("  in the air:", f'  "{name}":')
    for setup in ("ONE", "TWO", "THREE"):
        edited = made("setting", setup, text, key="key", text=name)
        assert parsed(edited).setups[setup].key == name


@pytest.fixture(scope="module")
def before() -> Standing:
    return stand(arranged(parsed(), "ONE"))


# Things ----------------------------------------------------------------------------------

ADDED = [
    *(("fixtures", item.name) for item in list_items("fixture")[::30]),
    *(("practicals", what) for what in ("globe", "candle")),
    *(("grip", what) for what in ("solid", "bounce", "frame", "net")),
    *(("props", kind) for kind in list(FURNITURE_KINDS)[::12]),
    *(("subjects", figure) for figure in figure_names()[::9]),
    ("cameras", "camera"),
]


@pytest.mark.parametrize(("section", "what"), ADDED)
def test_what_is_added_can_be_built(section: str, what: str, before: Standing) -> None:
    edited = made("add", section=section, what=what, x_m=4.25, y_m=1.5)
    document = parsed(edited)
    (name,) = set(getattr(document, section)) - set(getattr(parsed(), section))
    assert name not in parsed().props
    point = placer_of(edited).origin(name)
    assert (point[0], point[1]) == pytest.approx((4.25, 1.5))
    standing = stand(arranged(document, "ONE"), before=before)
    if section != "cameras":
        assert name in standing.stage.bodies
    assert (name in standing.stage.views) == (section == "cameras")


def test_added_names_and_heights() -> None:
    first = made("add", section="practicals", what="globe", x_m=1.0, y_m=1.0)
    assert "  GLOBE 2: {light: globe, diameter: 0.12 m," in first  # pencil: GLOBE is taken
    low = made("add", section="practicals", what="candle", x_m=1.0, y_m=1.0, z_m=0.0, name="TABLE")
    assert "  TABLE 2: {light: candle, at: [1 m, 1 m, 0 m]}" in low
    feet = TEXT.replace("units: metric", "units: imperial")
    edited = made("add", scene=feet, section="props", what="table", x_m=3.048, y_m=0.3048)
    assert "at: [10' 0\", 1' 0\"]}" in edited  # pencil: ten feet and one
    bare = TEXT[: TEXT.index("grip:")] + TEXT[TEXT.index("cameras:") :].replace("[SOLID]", "[]")
    edited = made("add", scene=bare, section="grip", what="solid", x_m=1.0, y_m=1.0)
    assert edited.endswith("aim: COOK.face, stand: true}\n")


def test_what_a_window_is_told_of_the_kit_can_all_be_added() -> None:
    for section, choices in kit_choices().items():
        assert choices, section
        for one in choices:
            change = {"do": "add", "section": section, "what": one["what"], "x_m": 4.0, "y_m": 1.0}
            edits, _ = edits_of(parsed(), "ONE", change, text=lambda: TEXT)
            assert len(edits) == 1


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        # pencil: the same words, a step of 40 cm (20 cm on a table) towards the room's middle
        ("TABLE", "[2 m, 1.5 m]", "[2.4 m, 1.5 m]"),
        ("BLOCK", "at: [5.2 m, 0.6 m]   # out", "at: [4.8 m, 0.6 m]   # out"),
        ("CUP", "{on: TABLE}", "{on: TABLE, offset: [0.188 m, -0.0684 m]}"),
        ("PICTURE", "along: 5 ft", "along: 6.31 ft"),
        ("GLOBE", "[5.4 m, 4.4 m]", "[5 m, 4.4 m]"),
    ],
)
def test_a_thing_made_twice_is_written_as_the_first(name: str, old: str, new: str) -> None:
    start = TEXT.index(f"  {name}:")
    end = re.compile(r"\n(?:  )?\w").search(TEXT, start)
    assert end is not None
    first = TEXT[start : end.start() + 1]
    assert first.count(old) == 1
    second = first.replace(old, new).replace(f"  {name}:", f"  {name} 2:")
    edited = made("duplicate", name=name)
    assert edited.count(second) == 1
    assert edited.replace(second, "") == TEXT


def test_the_second_stands_beside_the_first_and_not_in_it(before: Standing) -> None:
    for name in ("KEY", "BLOCK", "GUEST", "SOLID", "A"):
        edited = made("duplicate", name=name)
        here = placer_of(edited).origin(name)
        assert 0.3 < off_m(edited, f"{name} 2", tuple(here)) < 0.5
    edited = made("duplicate", "TWO", name="KEY")  # as its own entry says, not as it is moved
    assert 0.3 < off_m(edited, "KEY 2", tuple(placer_of(TEXT).origin("KEY"))) < 0.5
    after = stand(arranged(parsed(made("duplicate", name="BLOCK")), "ONE"), before=before)
    for standing in (before, after):
        assert [fault for fault in judge(standing)[0] if "BLOCK" in str(fault)] == []


def deleted(*names: str, text: str = TEXT) -> str:
    """The text after things went, by way of the steps, which know what is left of a group."""
    history = History.begin(Path("worked.scene.yaml"), text, KnownNames())
    for name in names:
        edits, label = edits_of(
            history.now.document, "ONE", {"do": "delete", "name": name}, text=history.now.written
        )
        history.edit(edits, label)
    return history.now.written()


def test_with_a_light_go_its_dims_and_moves() -> None:
    edited = deleted("KEY")
    assert "KEY" not in edited
    assert "dims: {HEAD: 35 %}, key: cheek}" in edited
    assert "    moved:\n      BLOCK:\n        at: [5 m, 1 m]   # nearer\n" in edited
    both = deleted("KEY", "HEAD")
    assert "dims: {}, key: cheek}" in both
    assert "THREE: {like: TWO, dims: {}}" in both


def test_with_a_reading_go_its_targets_and_the_key() -> None:
    edited = deleted("cheek")
    assert "key:" not in edited.replace("kitchen", "")
    assert "targets" not in edited
    other = deleted("on the table")
    assert "  face: {reading: cheek" in other
    assert "ratio" not in other


def test_what_a_setup_is_without_may_go() -> None:
    edited = deleted("SOLID")
    assert "    without: []\n" in edited
    assert "grip" not in edited
    two = TEXT.replace("[SOLID]", "[SOLID, CUP]   # cleared")
    assert "    without: [CUP]   # cleared\n" in deleted("SOLID", text=two)


@pytest.mark.parametrize("name", ["COOK", "TABLE", "A", "GUEST"])
def test_what_others_lean_on_is_kept_and_said(name: str) -> None:
    with pytest.raises(DocumentError) as caught:
        deleted(name)
    assert any(name in str(fault) for fault in caught.value.faults)


@pytest.mark.parametrize(
    "name", ["VASE", "PICTURE", "LOW", "GLOBE", "WINDOW", "ROOF", "ratio", "THREE"]
)
def test_what_nothing_leans_on_goes(name: str) -> None:
    edited = deleted(name)
    gone = set(TEXT.splitlines()) - set(edited.splitlines())
    assert {line.split(":")[0].strip() for line in gone} <= {name, "practicals"}


def test_readings() -> None:
    edited = made("reading", x_m=1.0, y_m=2.0, z_m=0.0, normal=[0, 0, 1.0])
    assert "  reading: {at: [1 m, 2 m, 0 m], normal: [0, 0, 1]}\n" in edited
    edited = made("reading", name="cheek", x_m=1.0, y_m=2.0, z_m=1.23456, instrument="spot")
    assert "  cheek 2: {at: [1 m, 2 m, 1.235 m], instrument: spot}\n" in edited
    edited = made("reading", x_m=1, y_m=2, z_m=1, instrument="flat", aim="COOK.face")
    assert "reading: {at: [1 m, 2 m, 1 m], aim: COOK.face}" in edited
    with pytest.raises(DocumentError, match="lacks 'z_m'"):
        made("reading", x_m=1.0, y_m=2.0)


def test_setups() -> None:
    edited = made("setup", name="FOUR", like="TWO")
    assert "\n  FOUR: {like: TWO}\nreadings:" in edited
    assert parsed(edited).setups["FOUR"].moved == parsed().setups["TWO"].moved
    assert "  take 2, wide: {like: THREE}\n" in made("setup", "THREE", name="take 2, wide")
    with pytest.raises(DocumentError, match="there is a setup TWO already"):
        made("setup", name="TWO")
    with pytest.raises(DocumentError, match="a setup needs a name"):
        made("setup", name=" ")
    with pytest.raises(DocumentError, match="NONE"):
        made("setup", name="FOUR", like="NONE")


# The room --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "corners"),
    [
        # pencil; walls count from the bottom, counter-clockwise, and move outward
        ({"do": "corner", "room": None, "corner": 2, "x_m": 6.5, "y_m": 5.2}, {2: "6.5 m, 5.2 m"}),
        ({"do": "corner", "corner": 3, "x_m": 0.0, "y_m": 4.5}, {3: "0 m, 450 cm"}),
        ({"do": "wall", "wall": 2, "by_m": 0.5}, {1: "6.5 m, 0 m", 2: "6.5 m, 5 m"}),
        ({"do": "wall", "wall": 4, "by_m": 0.25}, {0: "-0.25 m, 0 m", 3: "-0.25 m, 500 cm"}),
        ({"do": "wall", "wall": 3, "by_m": -1.0}, {2: "6 m, 4 m", 3: "0 m, 400 cm"}),
    ],
)
def test_walls_and_corners(change: dict[str, Any], corners: dict[int, str]) -> None:
    ((_, line),) = differing(changed(change))
    floor = ["0 m, 0 m", "6 m, 0 m", "6 m, 5 m", "0 m, 500 cm"]
    wanted = ", ".join(f"[{corners.get(n, old)}]" for n, old in enumerate(floor))
    assert line == f"  floor: [{wanted}]   # counter-clockwise"


def test_a_wall_of_another_room() -> None:
    ((_, line),) = differing(made("wall", room="HALL", wall=2, by_m=1.0))
    assert "HALL: {floor: [[7 m, 0 m], [9 m, 0 m], [9 m, 4 m], [7 m, 4 m]]," in line


@pytest.mark.parametrize(
    ("parts", "old", "new"),
    [
        (
            {"name": "WINDOW", "along_m": 1.25},
            "along: 1 m, width: 1.4",
            "along: 1.25 m, width: 1.4",
        ),
        (
            {"name": "WINDOW", "sill_m": 0.8, "height_m": 1.5},
            "sill: 90 cm, height: 1.3 m",
            "sill: 80 cm, height: 1.5 m",
        ),
        ({"name": "DOOR", "width_m": 0.7, "sill_m": 3}, "width: 3 ft", "width: 2.3 ft"),
        ({"name": "DOOR", "height_m": 2.1}, "width: 3 ft}", "width: 3 ft, height: 2.1 m}"),
        ({"name": "ROOF", "x_m": 2.0, "y_m": 2.5}, "[1.5 m, 2 m], size", "[2 m, 2.5 m], size"),
    ],
)
def test_openings(parts: dict[str, Any], old: str, new: str) -> None:
    assert TEXT.count(old) == 1
    assert made("opening", **parts) == TEXT.replace(old, new)


# Any value -------------------------------------------------------------------------------


def test_any_value() -> None:
    edited = made("put", path=["props", "TABLE", "size", 2], text="80 cm")
    assert edited == TEXT.replace("0.8 m, 74 cm]", "0.8 m, 80 cm]")
    edited = made("put", path=["fixtures", "KEY", "power"], text="60 W")
    assert edited == TEXT.replace("aim: COOK.face}\n", "aim: COOK.face, power: 60 W}\n")
    edited = made("entry", path=["fixtures", "KEY", "gels"], yaml="[half blue gel]")
    assert "aim: COOK.face, gels: [half blue gel]}\n" in edited
    assert made("remove", path=["targets", "face"]) == TEXT.replace(
        "  face: {reading: cheek, level: 0 stops}\n", ""
    )
    height = parsed(made("put", path=["room", "height"], text="10 ft")).room.height
    assert height == Quantity(pytest.approx(3.048), "10 ft")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("change", "what"),
    [
        # snapshot: our own wording
        ({}, "there is no change called None"),
        ({"do": ["dim"]}, "there is no change called"),
        ({"do": "dance"}, "there is no change called 'dance'"),
        ({"do": "dim", "source": "KEY"}, "the change 'dim' lacks 'knob'"),
        (
            {"do": "dim", "source": "KEY", "knob": 1.2},
            "a dim lies between 0 and 100 %, not at 120 %",
        ),
        ({"do": "dim", "source": "KEY", "knob": math.nan}, "knob of the change 'dim' is no number"),
        ({"do": "dim", "source": "KEY", "knob": None}, "the change 'dim' cannot be read"),
        ({"do": "dim", "source": "WINDOW", "knob": 0.5}, "WINDOW is no light that can be set"),
        ({"do": "colour", "source": "TABLE", "kelvin": 3200}, "TABLE is no light that can be set"),
        ({"do": "setting", "key": "dims", "text": "x"}, "a setup has no setting 'dims'"),
        (
            {"do": "add", "section": "props", "what": "ship", "x_m": 1, "y_m": 1},
            "'ship' cannot be added to props",
        ),
        (
            {"do": "add", "section": "fixtures", "what": "ship", "x_m": 1, "y_m": 1},
            "the kit has no fixture called 'ship'",
        ),
        (
            {"do": "add", "section": "rooms", "what": "hall", "x_m": 1, "y_m": 1},
            "'hall' cannot be added to rooms",
        ),
        (
            {"do": "add", "section": "props", "what": "table", "x_m": 1},
            "the change 'add' lacks 'y_m'",
        ),
        ({"do": "duplicate", "name": "cheek"}, "cheek cannot be made twice here"),
        ({"do": "duplicate", "name": "ONE"}, "ONE cannot be made twice here"),
        ({"do": "delete", "name": "NOBODY"}, "there is no NOBODY in the scene any more"),
        ({"do": "corner", "corner": 4, "x_m": 1, "y_m": 1}, "there is no corner 4"),
        ({"do": "corner", "corner": -1, "x_m": 1, "y_m": 1}, "there is no corner -1"),
        (
            {"do": "corner", "room": "ATTIC", "corner": 0, "x_m": 1, "y_m": 1},
            "there is no room ATTIC",
        ),
        ({"do": "wall", "wall": 0, "by_m": 1}, "there is no wall 0"),
        ({"do": "wall", "wall": 5, "by_m": 1}, "there is no wall 5"),
        ({"do": "opening", "name": "GATE", "along_m": 1}, "there is no opening GATE"),
        ({"do": "put", "path": 7, "text": "x"}, "the change 'put' cannot be read"),
        ({"do": "put", "path": [], "text": "x"}, "the change 'put' names no key"),
        ({"do": "entry", "path": ["a"]}, "the change 'entry' lacks 'yaml'"),
    ],
)
def test_what_cannot_be_done_is_told(change: dict[str, Any], what: str) -> None:
    with pytest.raises(DocumentError, match=what):
        edits_of(parsed(), "ONE", change, text=lambda: TEXT)


def test_a_setup_that_is_not_there() -> None:
    with pytest.raises(DocumentError, match="there is no setup FIVE"):
        edits_of(parsed(), "FIVE", {"do": "dim", "source": "KEY", "knob": 1.0}, text=lambda: TEXT)


@pytest.mark.parametrize(
    ("what", "stops"), [("bare", 0.0), ("ND 0.3", 1.0), ("ND 0.6", 2.0), ("ND 0.9", 3.0)]
)
def test_a_window_is_dressed(what: str, stops: float) -> None:
    shipped = Path(falloff.session.__file__).parent / "data/workshop.scene.yaml"
    text = shipped.read_text(encoding="utf-8")
    document = parse_document(text, "scene")
    for name in ("WINDOW", "BACK WINDOW"):  # one has nothing yet, the other a blind
        edits, _ = edits_of(
            document, "WIDE SHOT", {"do": "dressing", "name": name, "what": what}, text=lambda: text
        )
        dressing = parse_document(edit_text(text, edits), "scene").openings[name]
        assert isinstance(dressing, Window)
        lost = [one.loss.si for one in dressing.dressing if isinstance(one, WindowGel)]
        assert lost == ([stops] if stops else [])
        assert len(dressing.dressing) == (1 if stops else 0)
