"""Where a quick start puts things (pencil), and what it says cannot be so put."""

from __future__ import annotations

import math

import msgspec
import pytest
from numpy.testing import assert_allclose

from falloff.session.quick.ask import SITUATIONS, questions, read_plan
from falloff.session.quick.fits import impossible
from falloff.session.quick.plan import Plan, Situation, System, WindowHour, WindowPlan
from falloff.session.quick.room import (
    clock_text,
    clock_way,
    face_height_m,
    fill_hour,
    highest_key_m,
    lay_out,
)

# Own wall numbers of the hours at which a window may be, the camera at 6 (docs/conventions.md).
WALL = {3: 2, 12: 3, 9: 4}


def plan(situation: Situation = "window", units: System = "metric", **answers: str) -> Plan:
    """A plan from answers by question."""
    return read_plan(situation, units, answers)


def test_the_clock_is_seen_from_above_with_the_camera_at_six() -> None:
    # pencil: x to the camera's right, y away from it
    for hour, way in ((6.0, (0.0, -1.0)), (12.0, (0.0, 1.0)), (3.0, (1.0, 0.0)), (9.0, (-1.0, 0.0)),
                      (4.0, (math.sqrt(0.75), -0.5)), (7.5, (-math.sqrt(0.5), -math.sqrt(0.5))),
                      ):  # fmt: skip
        assert_allclose(clock_way(hour), way, atol=1e-12)


@pytest.mark.parametrize(
    ("hour", "text"),
    [(4.5, "4:30"), (12.0, "12:00"), (0.0, "12:00"), (13.0, "1:00"), (-1.0, "11:00"),
     (4.999, "5:00"), (11.9999, "12:00"), (24.0, "12:00")],
)  # fmt: skip
def test_an_hour_is_written_as_a_clock_shows_it(hour: float, text: str) -> None:
    assert clock_text(hour) == text  # pencil: whole minutes, 0 o'clock is 12


def test_the_usual_room() -> None:
    taken = plan(ceiling="4 m", place="1.6 m, 4 o'clock, 2 m up")
    layout = lay_out(taken)
    # pencil: 5 × 4.5 m; a window 1.3 m away camera left puts the person 1.3 m from that wall;
    # 0.6 of the depth from the wall behind the camera
    assert_allclose(layout.person, (1.3, 0.6 * 4.5))
    # pencil: 1.9 m before the person
    assert_allclose(layout.camera, (1.3, 2.7 - 1.9))
    assert layout.lens_m == 0.040
    assert layout.key is not None
    # pencil: 4 o'clock is 60° round from 6 towards the camera's right
    assert_allclose(layout.key, (1.3 + 1.6 * math.sqrt(0.75), 2.7 - 0.8))
    # pencil: wall 4 runs from the far corner to the near one; the window's middle is by the person
    assert layout.window_wall == 4
    assert_allclose(layout.window_along_m, (4.5 - 2.7) - 0.75)
    assert layout.sill_m == 0.85


@pytest.mark.parametrize("hour", [3, 9, 12])
def test_a_window_is_as_far_from_the_person_as_was_said(hour: int) -> None:
    layout = lay_out(plan(key="none", window=f"1.2 x 1.1 m, 1.5 m away, {hour} o'clock"))
    x, y = layout.person
    # pencil: distances of the person to the walls of a room of 5 × 4.5 m
    assert_allclose({3: 5.0 - x, 12: 4.5 - y, 9: x}[hour], 1.5)
    assert layout.window_wall == WALL[hour]
    # pencil: from the wall's first corner, the walls run counter-clockwise
    middle = {3: y, 12: 5.0 - x, 9: 4.5 - y}[hour]
    assert_allclose(layout.window_along_m, middle - 0.6)


def test_a_window_near_a_corner_is_pushed_along_its_wall() -> None:
    layout = lay_out(plan(key="none", window="3.6 x 1.1 m, 1.5 m away, 9 o'clock"))
    # pencil: 1.8 m beside 1.8 m off the corner leaves nothing; 5 cm stay
    assert_allclose(layout.window_along_m, 0.05, atol=1e-9)


def test_a_low_ceiling_lowers_the_sill() -> None:
    layout = lay_out(plan(ceiling="2.2 m", window="1.5 x 1.9 m, 1.3 m away, 9 o'clock"))
    # pencil: 2.2 - 1.9 - 0.1
    assert_allclose(layout.sill_m, 0.2)


def test_a_camera_in_a_shallow_room_has_a_wider_lens() -> None:
    layout = lay_out(plan("interview", room="5 x 3.4 m"))
    x, y = layout.person
    assert_allclose(y, 0.6 * 3.4)  # pencil
    assert_allclose(layout.camera, (x, 0.35))  # pencil: as far back as the wall lets it
    # pencil: what 50 mm holds from 2.3 m
    assert_allclose(layout.lens_m, 0.050 * (y - 0.35) / 2.3, atol=5e-4)


def test_the_fill_stands_across() -> None:
    # pencil: 4 o'clock over the line from 6 to 12 is 8 o'clock
    assert fill_hour(plan()) == 8.0
    assert fill_hour(plan(key="none")) == 3.0  # the window at 9 keys
    assert fill_hour(plan(key="none", window="none")) == 3.0
    assert fill_hour(plan(key="none", window="1.2 x 1 m, 1.5 m away, 12 o'clock")) == 12.0


@pytest.mark.parametrize("situation", SITUATIONS)
@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_defaults_fit_one_another(situation: Situation, units: System) -> None:
    taken = plan(situation, units)
    assert impossible(taken) == []
    assert taken.key_height_m > face_height_m(taken) + 0.1


@pytest.mark.parametrize(
    "key",
    [
        "300 W LED in 90 cm soft box",
        "300 W LED",
        "2k fresnel",
        "100 W LED panel",
        "575 W tungsten in book light",
    ],
)
@pytest.mark.parametrize("ceiling", ["2.1 m", "2.4 m", "3.5 m"])
def test_the_highest_key_stays_under_the_ceiling(key: str, ceiling: str) -> None:
    taken = plan(key=key, ceiling=ceiling, window="none")
    highest = highest_key_m(taken)
    half = 0.5 * taken.key.size_m[1] if taken.key else 0.0
    # pencil: half the front's height tilted by the angle down to the face
    tilt = math.atan2(highest - face_height_m(taken), taken.key_distance_m)
    assert highest + half * math.cos(tilt) <= taken.ceiling_m
    assert impossible(msgspec.structs.replace(taken, key_height_m=highest - 0.01)) == []
    assert impossible(msgspec.structs.replace(taken, key_height_m=highest + 0.02)) != []


def test_a_key_at_any_hour_in_a_room_of_any_size_stands_in_it_or_is_told() -> None:
    sizes = ((1.8, 2.0), (2.4, 5.0), (3.0, 3.0), (6.0, 4.0), (20.0, 30.0))
    for width, depth in sizes:
        for hour in range(1, 13):
            for distance in (0.3, 0.9, 1.8, 3.2):
                taken = msgspec.structs.replace(
                    plan(window="none"), width_m=width, depth_m=depth, key_clock=float(hour),
                    key_distance_m=distance, key_height_m=1.5,
                )  # fmt: skip
                faults = impossible(taken)
                layout = lay_out(taken)
                assert layout.key is not None
                x, y = layout.key
                # pencil: the key's middle is in the room with something to spare, or is told
                inside = 0.1 < x < width - 0.1 and 0.1 < y < depth - 0.1
                assert inside or faults
                assert all(fault.where == "place" for fault in faults)


def test_a_room_too_small_for_its_window_is_told_by_the_window() -> None:
    small = msgspec.structs.replace(plan(window="none", key="none"), width_m=1.9, depth_m=1.9)
    hours: tuple[WindowHour, ...] = (3, 9, 12)
    for hour in hours:
        window = WindowPlan(width_m=1.0, height_m=1.0, distance_m=1.0, clock_hour=hour)
        faults = impossible(msgspec.structs.replace(small, window=window))
        assert all(fault.where == "window" for fault in faults)
        # pencil: 1.9 m less 1.3 m leaves 0.6 m before a window behind
        assert bool(faults) == (hour == 12)


def test_every_question_is_named_by_some_fault() -> None:
    named = {question.name for question in questions("window")}
    bad = msgspec.structs.replace(plan(), width_m=99.0, ceiling_m=99.0)
    assert {fault.where for fault in impossible(bad)} <= named


@pytest.mark.parametrize(
    ("name", "value", "asked"),
    [
        # pencil: 3 ft are 0.91 m, lower than anybody puts a key; 6.5 ft are 1.98 m
        ("key_height_m", 3.0, False),
        ("key_height_m", 6.5, True),
        # pencil: 30 ft are 9.1 m, a high ceiling; 90 ft are 27 m, which no room here has
        ("ceiling_m", 30.0, True),
        ("ceiling_m", 90.0, False),
        ("width_m", 70.0, True),
    ],
)
def test_feet_are_asked_for_only_where_feet_would_fit(name: str, value: float, asked: bool) -> None:
    taken = plan(key="300 W LED")
    faults = impossible(msgspec.structs.replace(taken, **{name: value}))
    assert faults
    assert all(fault.fix for fault in faults)
    assert any("feet" in fault.fix for fault in faults) == asked


def test_a_room_of_a_metre_is_told_what_a_room_holds() -> None:
    faults = impossible(msgspec.structs.replace(plan(), width_m=1.0, depth_m=1.0))
    assert len(faults) == 2
    assert all("the whole room" in fault.fix for fault in faults)
