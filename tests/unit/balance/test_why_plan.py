"""Rooms whose fault is known, looked into: the cause that is named is the one that was built in."""

from __future__ import annotations

import math
import re

import pytest
from numpy.testing import assert_allclose
from tests.unit.balance.why_rooms import panel, traced

from falloff.balance.why.answers import answer
from falloff.balance.why.causes import causes_of
from falloff.balance.why.complaints import read_complaint
from falloff.balance.why.light import Measure, as_it_is
from falloff.balance.why.places import find_place, wall_words, window_views
from falloff.balance.why.plan import all_questions, flat_question, view_question, why_plan
from falloff.balance.why.records import Cause, Why
from falloff.balance.why.scene import TracedSetup
from falloff.balance.why.targets import measured_targets
from falloff.balance.why.window import later
from falloff.balance.why.words import Telling
from falloff.errors import DocumentError
from falloff.readings import take_readings

# C43: 10 × 12 × 8 ft; a matte face of 2000 lm is 637 cd on its axis, 258 lx (24 fc) 1.57 m away.
PALE = {"width": 3.05, "depth": 3.66, "height": 2.44, "x": 1.3, "y": 2.2}
KEY_LUX = 258.0
LEFT_KEY = """fixtures:
  KEY: {light: panel, size: [8 cm, 8 cm], output: 2000 lm, colour: 5600 K,
        at: [2.66 m, 1.46 m, 1.55 m], aim: ANNA.face}
"""


def asked(setup: TracedSetup, said: str) -> Why:
    (why,) = why_plan(setup, read_complaint(said))
    return why


def stops(one: Why | Cause) -> float:
    assert one.stops is not None
    return one.stops


@pytest.fixture(scope="module")
def pale() -> TracedSetup:
    """The pale room of C43 with a person in it, the key square to one cheek."""
    return traced(LEFT_KEY, walls=0.7, room=PALE)


def test_white_walls_eat_the_contrast(pale: TracedSetup) -> None:
    """C43: at 0.7 the bounce is 85 lx, (K+F):F 4:1, ±0.4 stop; and all of it is the key's bounce.

    The case's sum knows no face; the key on this cheek is what was metered, near 258 lx.
    """
    key, shadow = pale.place("ANNA.cheek_key"), pale.place("ANNA.cheek_shadow")
    assert abs(math.log2(key.of("KEY").direct / KEY_LUX)) < 0.2
    assert abs(math.log2(shadow.light / 85.0)) < 0.4
    why = asked(pale, "face flat")
    assert abs(stops(why) + 2.0) < 0.4
    first = why.causes[0]
    assert (first.brief, first.source) == ("KEY's bounce", "KEY")
    assert (first.share or 0.0) > 0.95
    assert first.surface is not None
    assert first.surface.startswith("room: ")


def test_a_black_wall_is_worth_what_a_new_trace_finds(pale: TracedSetup) -> None:
    """C43: one wall hung black gives 5.8:1 for 4:1, 0.54 stop, ±0.4, in the mean of the four.

    What is told is settled anew over the same rays; a trace of a room with that wall agrees to 0.05
    stop. The first order alone leaves out what a wall sends by way of others: it is never more.
    """
    question = flat_question(pale, "ANNA")
    flat = question.measure.stops()
    by_shares = causes_of(question.measure, question.telling, high=True, known=question.known)
    first = {one.surface: stops(one) for one in by_shares if one.first_order}
    told = {one.brief: one for one in asked(pale, "face flat").causes}
    gained = {}
    for wall in (1, 2, 3, 4):
        surface = f"room: wall {wall}"
        black = traced(LEFT_KEY, walls=0.7, room=PALE, dressed=f"{wall}: black")
        gained[surface] = flat - stops(asked(black, "face flat"))
        settled = flat - pale.with_black(question.measure, surface).stops()
        assert abs(settled - gained[surface]) < 0.05
        assert first.get(surface, 0.0) <= settled + 0.02
    assert abs(sum(gained.values()) / 4.0 - 0.54) < 0.4
    left = told["light off the left wall"]
    assert not left.first_order
    assert_allclose(stops(left), gained["room: wall 4"], atol=0.05)


def test_counterfactuals_are_what_a_new_trace_finds(pale: TracedSetup) -> None:
    """Without its bounce the key is alone in a black room: the same direct light, exactly."""
    dark = traced(LEFT_KEY, walls=0.0, room=PALE)
    for place in ("ANNA.cheek_key", "ANNA.forehead"):
        alone = pale.place(place).of("KEY").direct
        assert_allclose(dark.place(place).of("KEY").direct, alone, rtol=1e-3)


def test_parts_sum_to_the_reading(pale: TracedSetup) -> None:
    """By source, straight and bounced, and off every surface; and as the readings themselves."""
    lit = pale.place("ANNA.cheek_shadow")
    assert_allclose(sum(as_it_is(one) for one in lit.given), lit.light)
    assert_allclose(sum(lit.surfaces.values()), sum(one.bounced for one in lit.given), rtol=0.02)
    with_reading = traced(
        LEFT_KEY + "readings:\n  cheek: {at: ANNA.cheek_shadow}\n", walls=0.7, room=PALE
    )
    (reading,) = take_readings(with_reading.layers, with_reading.setup).readings
    assert_allclose(with_reading.readings["cheek"].light, reading.value, rtol=1e-6)
    assert_allclose(with_reading.place("ANNA.cheek_shadow").light, reading.value, rtol=0.05)


def test_a_frontal_key_is_flat_by_itself() -> None:
    """In a black room, a key at the camera: both cheeks alike, and nothing else to blame."""
    setup = traced("fixtures:\n" + panel("KEY", "[2.5 m, 0.9 m, 1.55 m]"))
    why = asked(setup, "face flat")
    assert abs(stops(why)) < 0.3
    assert why.wrong
    first = why.causes[0]
    assert (first.brief, first.source) == ("KEY straight", "KEY")
    assert "moved round" in first.says
    assert why.cure is not None
    assert why.cure.startswith("move KEY round")


def test_a_fill_that_is_too_strong_is_dimmed() -> None:
    """A side key and a side fill nearly as strong: the fill is the cause, its dim the cure."""
    lights = panel("KEY", "[4.1 m, 2.2 m, 1.55 m]") + panel(
        "FILL", "[0.9 m, 2.2 m, 1.55 m]", lumens=3200.0
    )
    setup = traced("fixtures:\n" + lights)
    why = asked(setup, "face flat")
    assert why.wrong
    assert why.causes[0].source == "FILL"
    assert why.cure is not None
    assert why.cure.startswith("dim FILL from 100 % to ")
    # The dim that is told does what it says: pencil, by the parts.
    knob = float(why.cure.split(" to ")[1].split(" %")[0]) / 100.0
    question = flat_question(setup, "ANNA")
    dimmed = question.measure.stops(lambda one: one.light * (knob if one.source == "FILL" else 1.0))
    assert_allclose(dimmed, -1.0, atol=0.03)


def test_a_wall_is_hot_by_spill() -> None:
    """A bare head beside the back wall that was meant for her hair: the wall is its light."""
    lights = panel("KEY", "[4.1 m, 1.6 m, 1.7 m]", lumens=3000.0)
    lights += "  HAIR: {light: lantern, diameter: 20 cm, output: 6000 lm, colour: 5600 K, "
    lights += "at: [1.2 m, 4.5 m, 2.2 m]}\n"
    setup = traced("fixtures:\n" + lights, walls=0.5)
    why = asked(setup, "wall hot")
    assert why.complaint == "the back wall too bright"
    assert why.wrong
    assert why.causes[0].source == "HAIR"
    assert (why.causes[0].share or 0.0) > 0.8
    assert why.cure is not None
    assert "HAIR" in why.cure


def test_walls_are_called_as_the_camera_sees_them(pale: TracedSetup) -> None:
    assert wall_words(pale) == {
        "room: wall 1": "the wall behind the camera",
        "room: wall 2": "the right wall",
        "room: wall 3": "the back wall",
        "room: wall 4": "the left wall",
    }
    assert find_place(pale, "left wall", high=True).telling.place == "the left wall"


@pytest.mark.parametrize("said", ["forehead", "ANNA's forehead", "ANNA.forehead", "ANNA forehead"])
def test_a_place_of_a_face_needs_no_name_where_one_is_there(pale: TracedSetup, said: str) -> None:
    assert find_place(pale, said, high=True).lit.name == "ANNA.forehead"


def test_a_face_in_the_shadow_of_a_flag_is_dark_by_it() -> None:
    """A solid between key and face; without it the key would land."""
    lights = panel("KEY", "[2.5 m, 0.9 m, 1.9 m]")
    grip = (
        "grip:\n  CUTTER: {kind: solid, size: [80 cm, 80 cm], at: [2.5 m, 1.9 m, 1.75 m], "
        "aim: KEY, surface: black cloth}\n"
    )
    open_room = traced("fixtures:\n" + lights, walls=0.2)
    setup = traced("fixtures:\n" + lights + grip, walls=0.2)
    why = asked(setup, "face dark")
    first = why.causes[0]
    assert first.brief == "CUTTER before KEY"
    expected = Measure((open_room.place("ANNA.cheek_key"),)).stops()
    now = Measure((setup.place("ANNA.cheek_key"),)).stops()
    # What is bounced changes as well, which the cause does not count.
    assert_allclose(stops(first), expected - now, atol=0.3)
    assert why.cure is not None
    assert "CUTTER" in why.cure


WINDOW = """openings:
  WINDOW: {wall: 3, along: 0.6 m, width: 1.2 m, sill: 1 m, height: 1.2 m, glass: 0.5}
sky: {type: overcast, outside: 20000 lx}
"""


def test_a_window_is_hot_over_the_face() -> None:
    setup = traced(WINDOW + "fixtures:\n" + panel("KEY", "[4.1 m, 1.6 m, 1.7 m]"), walls=0.3)
    why = asked(setup, "window hot")
    assert why.causes[0].source == "WINDOW"
    assert any("glass takes 1 stop" in says for says in why.says)
    # pencil: a view's luminance against a fair face; its gel is arithmetic.
    view, face = setup.place("WINDOW"), setup.in_picture(setup.place("ANNA.cheek_key"))
    assert_allclose(stops(why), Measure((view,), (face,)).stops())
    assert why.cure is not None
    assert "on the glass of WINDOW" in why.cure


@pytest.mark.parametrize(("dim", "raised"), [("60 %", False), ("2 %", True)])
def test_a_face_over_key_is_not_raised_for_a_window(dim: str, *, raised: bool) -> None:
    """Against a view, a face has room to rise as far as it is under key and no farther."""
    setup = traced(
        WINDOW.replace("20000", "60000") + "fixtures:\n" + panel("KEY", "[4.1 m, 1.6 m, 1.7 m]"),
        setups=f"  LOW: {{like: WIDE, dims: {{KEY: {dim}}}}}\n", setup="LOW",
    )  # fmt: skip
    face = Measure((setup.place("ANNA.cheek_key"),)).stops()
    assert (face < -1.0) == raised
    assert (face > 0.5) != raised
    (view,) = window_views(setup)
    question = view_question(setup, view)
    assert question is not None
    assert_allclose(question.face_room_stops, max(0.0, -face))
    assert "bring up" not in (answer(question).cure or "") or raised


def test_a_window_falls_with_the_hour() -> None:
    """Where the scene has a place and an hour, waiting is a cure; by then it is that much lower."""
    text = WINDOW.replace("outside: 20000 lx", "at: 2026-03-20 16:00, outside: 20000 lx")
    text += "location: {latitude: 51.5 N, longitude: 0.1 W, zone: Europe/London}\n"
    setup = traced(text + "fixtures:\n" + panel("KEY", "[4.1 m, 1.6 m, 1.7 m]"), walls=0.3)
    (view,) = window_views(setup)
    face = setup.in_picture(setup.place("ANNA.cheek_key"))
    measure, told = Measure((view,), (face,)), Telling("the view", "the face")
    cure = later(setup, "WINDOW", measure, told, measure.stops() - 1.5)
    assert cure is not None
    found = re.search(r"until (\d\d):(\d\d)", cure.says)
    assert found is not None
    # The sun sets at 18:12 UTC in London on 20 March (almanac, from memory): dusk, not midnight.
    assert 16.5 <= int(found[1]) + int(found[2]) / 60.0 <= 18.5
    assert cure.stops >= 1.5
    no_hour = traced(WINDOW + "fixtures:\n" + panel("KEY", "[4.1 m, 1.6 m, 1.7 m]"), walls=0.3)
    assert later(no_hour, "WINDOW", measure, told, measure.stops() - 1.5) is None


def test_everything_is_looked_at(pale: TracedSetup) -> None:
    names = [one.complaint for one in all_questions(pale)]
    assert names == ["ANNA's face flat", "ANNA's eyes dark", "the back wall too bright"]


TARGETS = """readings:
  cheek: {at: ANNA.cheek_key}
targets:
  face: {reading: cheek, level: 2 stops, limit: at least}
"""


def test_a_missed_target_is_told_by_its_edge(pale: TracedSetup) -> None:
    """Pencil: the edge is 2 − 1/3; off by what is missing to that."""
    setup = traced(LEFT_KEY + TARGETS, walls=0.7, room=PALE)
    why = asked(setup, "face dark")
    assert_allclose(stops(why), Measure((setup.readings["cheek"],)).stops(), atol=0.05)
    assert "target 'face'" in why.says[0]
    assert_allclose(why.off_stops, max(0.0, 2.0 - 1.0 / 3.0 - stops(why)), atol=1e-9)


@pytest.mark.parametrize(
    ("said", "says"),
    [
        ("BOB flat", "no person called 'BOB'"),
        ("the bak wall hot", "did you mean 'the back wall'"),
        ("window hot", "sees no window"),
        ("ANNA nose dark", "no place of a face called 'nose'"),
        ("FILL not landing", "no fixture with an aim called 'FILL'"),
        ("KEY not landing on BOB", "no thing to light called 'BOB'"),
    ],
)
def test_what_is_not_there_is_told(pale: TracedSetup, said: str, says: str) -> None:
    with pytest.raises(DocumentError) as told:
        why_plan(pale, read_complaint(said))
    assert says in told.value.faults[0].sentence()


def test_a_dark_room_is_told_in_words() -> None:
    setup = traced(
        "fixtures:\n" + panel("KEY", "[2.5 m, 0.9 m, 1.9 m]"),
        setups="  DARK: {like: WIDE, dims: {KEY: 0 %}}\n", setup="DARK",
    )  # fmt: skip
    for said in ("face flat", "eyes dark", "wall hot", "face dark", "beam not landing"):
        why = asked(setup, said)
        assert "light" in why.says[0] or "off" in why.says[0]


METERED = """readings:
  left: {at: [0.8 m, 3 m, 1.4 m], normal: [0, -1, 0]}
  right: {at: [4.2 m, 3 m, 1.4 m], normal: [0, -1, 0]}
targets:
  level: {reading: left, value: 40 lx}
  even: {readings: [left, right], even: 1/2 stop}
"""


def test_targets_in_the_meters_own_unit_and_even_ones_are_looked_at() -> None:
    """Pencil: log2 of what is metered over 40 lx, and of the most over the least."""
    setup = traced("fixtures:\n" + panel("KEY", "[0.8 m, 0.6 m, 1.4 m]") + METERED, walls=0.2)
    left, right = setup.readings["left"].light, setup.readings["right"].light
    whys = {one.target: one for one in map(answer, measured_targets(setup))}
    assert_allclose(stops(whys["level"]), math.log2(left / 40.0))
    assert_allclose(whys["level"].off_stops, math.log2(left / 40.0) - 1.0 / 3.0)
    assert_allclose(stops(whys["even"]), math.log2(left / right))
    assert_allclose(whys["even"].off_stops, math.log2(left / right) - 0.5)
    # A dim that costs the face more than a stop is no cure; a flag leaves the face alone.
    assert whys["level"].cure is not None
    assert whys["level"].cure.startswith("flag KEY off the left")


def test_a_target_that_is_missed_the_other_way_is_said_to_be() -> None:
    setup = traced(
        LEFT_KEY + TARGETS.replace("2 stops, limit: at least", "-4 stops"), walls=0.7, room=PALE
    )
    why = asked(setup, "face dark")
    assert not why.wrong
    assert "too bright by the target 'face', not too dark" in why.says[0]


def test_a_face_that_no_dim_brings_down_is_exposed_down() -> None:
    """A window is no lamp to dim; pencil: as many stops as it is over the target's edge."""
    more = WINDOW.replace("wall: 3, along: 0.6 m", "wall: 2, along: 1 m") + "readings:\n"
    more += "  cheek: {at: ANNA.cheek_key}\ntargets:\n  face: {reading: cheek, level: 0 stops}\n"
    setup = traced(more.replace("20000 lx", "90000 lx"), walls=0.3)
    for said in ("face hot", "cheek hot"):
        why = asked(setup, said)
        assert why.off_stops > 1.0
        assert why.cure is not None
        assert why.cure.startswith("close down ")
        assert "all else in the picture with it: it would be a third over key" in why.cure
        assert_allclose(why.cure_stops or 0.0, why.off_stops)


def test_a_wall_with_a_missed_target_is_told_once() -> None:
    more = "readings:\n  wall: {at: {wall: 3, along: 2 m, height: 1.5 m}}\ntargets:\n"
    more += "  dark wall: {reading: wall, level: -3 stops}\n"
    setup = traced(LEFT_KEY + more, walls=0.7, room=PALE)
    asked_of = [one.complaint for one in all_questions(setup) if "wall" in one.complaint]
    assert asked_of == ["dark wall: wall too bright"]
