"""The scene file of a quick start: it reads, it builds, and things stand where they were put."""

from __future__ import annotations

import math
from itertools import product

import msgspec
import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.document import PointPlace, SceneDocument, Window, parse_document
from falloff.errors import DocumentError
from falloff.findings import Weight
from falloff.session.quick.ask import SITUATIONS, questions, read_plan
from falloff.session.quick.plan import Plan, Situation, System
from falloff.session.quick.room import lay_out
from falloff.session.quick.write import scene_text
from falloff.session.scene import known_names
from falloff.sources import Source
from falloff.stage import Grain, Stage, build_stage

# Coarse: these tests look at places, not at light.
GRAIN = Grain(patch_m=1.0, element_m=0.5)
KEYS = {
    "none": "none",
    "soft box": "300 W LED in 90 cm soft box",
    "open face": "300 W LED",
    "panel": "100 W LED panel",
    "fresnel": "650 W tungsten fresnel",
    "book light": "575 W daylight discharge in 90 x 90 cm book light",
}
FILLS = ("none", "white board", "black")
HOURS = (3, 9, 12, None)
UNITS: tuple[System, ...] = ("metric", "imperial")
SITUATION_NAMES: tuple[Situation, ...] = tuple(SITUATIONS)


def plan(situation: Situation = "window", units: System = "metric", **answers: str) -> Plan:
    """A plan from answers by question."""
    return read_plan(situation, units, answers)


def with_window(situation: Situation, units: System, hour: int | None) -> str:
    """The answer of a situation's usual window at another hour, or of none."""
    (usual,) = [one.default(units) for one in questions(situation) if one.name == "window"]
    return "none" if hour is None else usual.replace("9 o'clock", f"{hour} o'clock")


def read(taken: Plan) -> SceneDocument:
    """The plan's scene, read as a person's own."""
    return parse_document(scene_text(taken), "quick.scene.yaml", known=known_names())


def built(taken: Plan) -> tuple[SceneDocument, Stage]:
    """The plan's scene, read and built."""
    document = read(taken)
    return document, build_stage(document, grain=GRAIN)


def middle(source: Source) -> np.ndarray:
    """The middle of a source's front (m), from its shape as its record tells it."""
    if source.name == "KEY" and source.kind == 0:  # a panel: corner and two edges
        corner, u, v = (source.shape[k : k + 3] for k in (0, 3, 6))
        return np.asarray(corner + 0.5 * (u + v))
    return np.asarray(source.shape[:3])


# One build of each situation, window and key; units and fills take turns, so that each meets each.
CASES = [
    (situation, hour, key, UNITS[(k + j) % 2], FILLS[(i + j + k) % 3])
    for (i, situation), (j, hour), (k, key) in product(
        enumerate(SITUATION_NAMES), enumerate(HOURS), enumerate(KEYS)
    )
]


def test_turns_are_taken_by_all() -> None:
    assert len(CASES) == 4 * 4 * 6  # pencil
    assert {(case[0], case[3], case[4]) for case in CASES} == set(
        product(SITUATION_NAMES, UNITS, FILLS)
    )


@pytest.mark.parametrize(("situation", "hour", "key", "units", "fill"), CASES)
def test_every_quick_scene_is_sound_and_stands_as_laid_out(
    situation: Situation, hour: int | None, key: str, units: System, fill: str
) -> None:
    taken = plan(
        situation, units, window=with_window(situation, units, hour), key=KEYS[key], fill=fill
    )
    layout = lay_out(taken)
    document, stage = built(taken)
    assert all(finding.weight == Weight.NOTE for finding in stage.findings)
    assert document.units == units
    # Lengths are written to a millimetre, or to a thousandth of a foot.
    slack_m = 0.002
    camera = (*layout.camera, layout.camera_height_m)
    assert_allclose(stage.views["CAMERA"].eye, camera, rtol=0.0, atol=slack_m)
    who = document.props["TABLE"] if situation == "table" else document.subjects["PERSON"]
    assert isinstance(who.at, PointPlace)
    assert_allclose(
        np.array([who.at.x.si, who.at.y.si]), np.array(layout.person), rtol=0.0, atol=slack_m
    )
    names = {source.name for source in stage.sources}
    assert names == ({"KEY"} if key != "none" else set()) | ({"WINDOW"} if hour else set())
    if layout.key is not None:
        (source,) = [one for one in stage.sources if one.name == "KEY"]
        # pencil: distance and hour from the person, seen from the camera's six o'clock; the hour
        # is written in whole minutes, half a degree each
        told = (*layout.key, taken.key_height_m)
        slack = 0.003 + math.radians(0.25) * taken.key_distance_m
        assert_allclose(middle(source), told, rtol=0.0, atol=slack)
        assert source.power_w == taken.key.power_w if taken.key else None
        assert_allclose(source.flux_lm, taken.key.flux_lm if taken.key else 0.0, rtol=1e-3)
    if hour is not None:
        window = document.openings["WINDOW"]
        assert isinstance(window, Window)
        assert window.wall == layout.window_wall
        assert_allclose(window.along.si, layout.window_along_m, rtol=0.0, atol=slack_m)
        assert_allclose(window.sill.si, layout.sill_m, rtol=0.0, atol=slack_m)
    grip = {"none": [], "white board": ["BOARD"], "black": ["BLACK"]}[fill]
    assert sorted(document.grip) == grip


@pytest.mark.parametrize(("situation", "hour"), list(product(SITUATION_NAMES, HOURS)))
def test_a_fill_stands_clear_of_everything(situation: Situation, hour: int | None) -> None:
    window = with_window(situation, "metric", hour)
    built(plan(situation, "metric", window=window, key="none", fill="white board"))


def tried(**answers: str) -> tuple[Plan | None, set[str]]:
    """The plan of an interview without a window, or else which questions are told to be wrong."""
    try:
        return plan("interview", "metric", window="none", **answers), set()
    except DocumentError as error:
        return None, {fault.where for fault in error.faults}


@pytest.mark.parametrize("key", ["soft box", "open face", "fresnel", "panel", "book light"])
@pytest.mark.parametrize("hour", [2, 4, 6, 8, 10])
def test_a_key_that_is_let_stand_can_be_built(key: str, hour: int) -> None:
    """Whatever the questions let through, the room takes; what it cannot take they have told."""
    for distance in ("0.6 m", "1.2 m", "1.8 m", "2.2 m", "2.6 m"):
        taken, told = tried(key=KEYS[key], place=f"{distance}, {hour} o'clock, 1.8 m up")
        if taken is None:
            assert told == {"place"}
        else:
            built(taken)


@pytest.mark.parametrize(
    ("dressing", "kind"),
    [("bare", None), ("sheer", "sheer"), ("blind", "blind"), ("ND 0.9 gel", "gel"),
     ("blackout", "curtain")],
)  # fmt: skip
def test_what_hangs_in_the_window(dressing: str, kind: str | None) -> None:
    document, _ = built(plan(dressing=dressing))
    window = document.openings["WINDOW"]
    assert isinstance(window, Window)
    hung = [type(one).__name__.lower().removeprefix("window") for one in window.dressing]
    assert hung == ([kind] if kind else [])
    # A window that lets nothing through has no luminance to read.
    assert ("the window" in document.readings) == (dressing != "blackout")


def test_a_kitchen_worktop_is_at_the_window() -> None:
    for hour in (3, 9, 12):
        document = read(plan("kitchen", key="none", window=with_window("kitchen", "metric", hour)))
        at = document.props["WORKTOP"].at
        # pencil: 4 × 4 m; half of 62 cm and a centimetre off the wall
        x, y = at.x.si, at.y.si  # type: ignore[union-attr]
        assert_allclose({3: 4.0 - x, 9: x, 12: 4.0 - y}[hour], 0.32, atol=1e-6)


def test_what_was_answered_is_written_as_it_was() -> None:
    document = read(plan(camera="f/4, ISO 1600, 90 deg, 25 fps, ND 0.6", outside="EV 12",
                         wall="62 %", ceiling="3.1 m"))  # fmt: skip
    setup = document.setups["SHOT"]
    assert (setup.stop.text, setup.iso, setup.fps.si) == ("f/4", 1600.0, 25.0)
    # pencil: a quarter of 1/25 s
    assert_allclose(setup.shutter.si, 0.01)
    assert_allclose(setup.nd.si, 0.6 / math.log10(2.0), atol=0.01)  # pencil
    assert document.sky is not None
    assert document.sky.outside is not None
    assert_allclose(document.sky.outside.si, 10240.0)  # pencil: 2.5 lx · 2^12
    assert document.materials["the walls"].reflectance == 0.62
    assert document.room.height.si == 3.1


def test_numbers_have_no_exponents() -> None:
    for lux, text in ((0.05, "0.05 lx"), (123456.0, "123500 lx"), (1e-4, "0.0001 lx")):
        taken = msgspec.structs.replace(plan(), outside_lux=lux)
        assert f"outside: {text}\n" in scene_text(taken)


def test_an_imperial_scene_is_in_feet() -> None:
    text = scene_text(plan(units="imperial"))
    assert "16 ft" in text
    assert " m]" not in text
    assert " m," not in text


@pytest.mark.parametrize("fps", ["23.976 fps", "24000/1001 fps"])
def test_odd_frame_rates_come_back(fps: str) -> None:
    taken = plan(camera=f"T2.8, 180 deg, {fps}")
    setup = read(taken).setups["SHOT"]
    assert_allclose(setup.shutter.si, taken.exposure_time_s, rtol=1e-4)
