"""Aims that are written as places are: on a wall, on a prop, from somebody."""

from __future__ import annotations

import json

import pytest
from numpy.testing import assert_allclose
from tests.unit.stage.lit_rooms import document_of

from falloff.document import document_schema
from falloff.errors import DocumentError
from falloff.stage.places import Placer

HELD = """props:
  TABLE: {shape: table, at: [3 m, 2.5 m], size: [80 cm, 60 cm, 70 cm], surface: oak}
subjects:
  ANNA: {figure: woman standing, at: [3 m, 3.5 m], facing: 270 deg, skin: 0.3, hair: dark hair,
    top: red cotton, trousers: dark denim}
"""
PANEL = "light: panel, size: [40 cm, 20 cm], output: 600 lm, colour: 2700 K, at: [3 m, 1 m, 1.5 m]"


def _scene(aim: str, *, other: str = "") -> str:
    camera = f"cameras:\n  WIDE: {{at: [3 m, 1 m, 1.5 m], aim: {aim}, lens: 24 mm}}\n"
    return f"{HELD}fixtures:\n  KEY: {{{PANEL}, aim: {aim}}}\n{other}{camera}"


@pytest.mark.parametrize(
    ("aim", "point_m"),
    [
        # pencil, in a room of 6 by 5 m: wall 3 runs from (6, 5) to (0, 5)
        ("{wall: 3, along: 2 m, height: 1.4 m}", [4.0, 5.0, 1.4]),
        ("{on: TABLE, offset: [10 cm, 0 cm]}", [3.1, 2.5, 0.7]),
        # ANNA faces down the plan: 6 o'clock is towards −y
        ("{from: ANNA, distance: 1 m, clock: 6, height: 1.2 m}", [3.0, 2.5, 1.2]),
        ('"1 m from ANNA, 9 o\'clock, 1.2 m up"', [2.0, 3.5, 1.2]),  # her own right
    ],
)
def test_lights_and_cameras_aim_at_places(aim: str, point_m: list[float]) -> None:
    placer = Placer(document_of(_scene(aim)))
    document = placer.document
    for one in (document.fixtures["KEY"], document.cameras["WIDE"]):
        found = placer.aim_point(one.aim)  # type: ignore[arg-type]
        assert found is not None
        assert_allclose(found, point_m, atol=1e-9)


def test_grip_people_and_readings_do_so_too() -> None:
    text = HELD.replace("facing: 270 deg,", "facing: 270 deg, gaze: {on: TABLE},")
    text += (
        "grip:\n  FLAG: {kind: solid, size: [40 cm, 40 cm], at: [1 m, 1 m, 2 m], "
        "aim: {wall: 1, along: 1 m, height: 0 m}}\n"
        "readings:\n  here: {at: [2 m, 2 m, 1 m], aim: {on: TABLE}}\n"
    )
    placer = Placer(document_of(text))
    assert_allclose(placer.aim_point(placer.document.grip["FLAG"].aim), [1, 0, 0])  # type: ignore[arg-type]
    aim = placer.document.readings["here"].aim
    assert_allclose(placer.aim_point(aim), [3.0, 2.5, 0.7], atol=1e-9)  # type: ignore[arg-type]
    way = placer.gaze_way("ANNA")
    assert way is not None
    assert way[2] < -0.3  # down to the table


@pytest.mark.parametrize(
    ("aim", "said"),
    [
        ("{wall: 9, along: 1 m, height: 1 m}", "wall"),
        ("{wall: 3, along: 7 m, height: 1 m}", "past the end of wall 3"),
        ("{on: NOWHERE}", "NOWHERE"),
        ("{from: BODY, distance: 1 m, clock: 6}", "BODY"),
        ("{wall: 3, on: TABLE}", "exactly one of"),
        ("", "this is no aim"),
        # the hours before a light are told from its aim
        ("{from: KEY, distance: 1 m, clock: 6}", "the aim of KEY hangs on itself"),
    ],
)
def test_an_aim_that_cannot_be_is_told(aim: str, said: str) -> None:
    with pytest.raises(DocumentError) as caught:
        document_of(_scene(aim).replace("WIDE: {at: [3 m, 1 m, 1.5 m], aim: " + aim, "WIDE: {at: "
                                        "[3 m, 1 m, 1.5 m], aim: down"))  # fmt: skip
    assert any(said in f"{one.what} {one.found}" for one in caught.value.faults)


def test_two_lights_do_not_aim_by_one_another() -> None:
    second = f"  FILL: {{{PANEL.replace('3 m, 1 m', '4 m, 1 m')}, aim: {{from: KEY, distance: 1 m, clock: 3}}}}\n"  # noqa: E501
    with pytest.raises(DocumentError, match="hangs on itself by way of"):
        document_of(_scene("{from: FILL, distance: 1 m, clock: 6}", other=second))


def test_a_light_that_is_aimed_at_what_a_setup_leaves_out_is_told() -> None:
    setups = (
        "setups:\n  A: {camera: WIDE, stop: T4, iso: 400, shutter: 180 deg, without: [TABLE]}\n"
    )
    with pytest.raises(DocumentError, match="KEY is aimed at TABLE, which is not there in A"):
        document_of(_scene("{on: TABLE}") + setups)


def test_the_schema_takes_them() -> None:
    told = json.dumps(document_schema())
    assert told.count('"clock"') >= 1
    aim = document_schema()["properties"]["cameras"]["additionalProperties"]["properties"]["aim"]
    kinds = [set(one.get("properties", {})) for one in aim["anyOf"]]
    assert {"wall", "along", "height", "room"} in kinds
    assert {"on", "level", "offset"} in kinds
