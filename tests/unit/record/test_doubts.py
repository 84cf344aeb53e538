"""Readings that cannot be true are asked about: a nought, the other unit, other lights on."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tests.unit.record.rooms import (
    compared,
    correction_of,
    read_at,
    room_of,
    small_room,
    taken,
    with_values,
)

from falloff.record import Compared, Doubted, Taken
from falloff.record.doubts import Expected, doubt

READ = [
    taken("key side", 1.0, "PANEL", "WINDOW", name="key side, PANEL"),
    taken("back wall", 1.0),
    taken("up", 1.0, "WINDOW"),
]


def good_values() -> list[float]:
    room = room_of(small_room(), compared(small_room(), READ))
    return read_at(room, READ, np.zeros(len(room.unknowns)))


def with_one(index: int, taken_: Taken, believed: tuple[str, ...] = ()) -> Compared:
    read = with_values(READ, good_values())
    read[index] = taken_
    return compared(small_room(), read, believed)


@pytest.mark.parametrize("index", [0, 1, 2])
@pytest.mark.parametrize("factor", [10.0, 0.1])
def test_a_factor_of_ten_is_asked_about_and_the_meant_value_named(
    index: int, factor: float
) -> None:
    good = good_values()[index]
    one = READ[index]
    typed = taken(one.reading, good * factor, *(one.lit or ()), name=one.name)
    found = with_one(index, typed).corrections
    (doubted,) = found.doubted
    assert doubted.name == one.name
    assert doubted.stops == pytest.approx(math.log2(factor), abs=0.3)
    assert any(might.value == pytest.approx(good, rel=1e-3) for might in doubted.might_be)
    assert "Was it" in doubted.says
    assert [one.used for one in found.readings] == [k != index for k in range(3)]
    # What it said has moved nothing.
    assert max(abs(one.stops) for one in found.corrected) < 0.02


@pytest.mark.parametrize(("unit", "scale", "other"), [("lx", 1.0, "fc"), ("fc", 10.7639, "lx")])
def test_lux_for_footcandles_is_asked_about(unit: str, scale: float, other: str) -> None:
    # 1 fc = 10.764 lx (one lumen a square foot): the number of one unit with the other's name.
    good = good_values()[0]
    number = good / 10.7639 if unit == "lx" else good
    typed = taken("key side", number * scale, "PANEL", "WINDOW",
                  name="key side, PANEL", text=f"{number:.4g} {unit}")  # fmt: skip
    (doubted,) = with_one(0, typed).corrections.doubted
    told = [might for might in doubted.might_be if might.says.endswith(other)]
    assert told
    assert told[0].value == pytest.approx(good, rel=2e-3)
    assert told[0].says.split()[0] == f"{number:.3g}"


def test_what_is_believed_is_taken_and_said_to_be_out_of_the_usual() -> None:
    good = good_values()[0]
    typed = taken("key side", 0.1 * good, "PANEL", "WINDOW", name="key side, PANEL")
    found = with_one(0, typed, ("key side, PANEL",)).corrections
    assert found.readings[0].used
    assert found.readings[0].after_stops == pytest.approx(0.0, abs=0.15)
    panel = correction_of(found, "output", "PANEL")
    assert panel is not None
    assert panel.stops < -2.0
    assert "PANEL" in [one.about for one in found.findings]


def test_the_place_names_a_reading_to_be_believed_too() -> None:
    typed = taken("key side", 0.1 * good_values()[0], "PANEL", "WINDOW", name="key side, PANEL")
    assert with_one(0, typed, ("key side",)).corrections.readings[0].used


def test_lights_that_were_on_after_all_are_named() -> None:
    # Read with everything on, and told as daylight alone: the plan knows what that would be.
    room = room_of(small_room(), compared(small_room(), READ))
    zero = np.zeros(len(room.unknowns))
    (all_on,) = read_at(room, [taken("key side", 1.0)], zero)
    found = compared(
        small_room(),
        [*with_values(READ, good_values()), taken("key side", all_on, "WINDOW", name="ambient")],
    ).corrections
    (doubted,) = found.doubted
    assert doubted.name == "ambient"
    assert any("all on" in one.says or "PANEL" in one.says for one in doubted.might_be)


def test_a_reading_of_nothing_says_nothing_and_is_told() -> None:
    found = with_one(1, taken("back wall", 0.0)).corrections
    (doubted,) = found.doubted
    assert doubted.stops is None
    assert "nothing in stops" in doubted.says
    assert found.readings[1].before_stops is None


def test_every_reading_nothing_is_no_crash() -> None:
    found = compared(small_room(), with_values(READ, [0.0, 0.0, 0.0])).corrections
    assert len(found.doubted) == 3
    assert max(abs(one.stops) for one in found.corrected) < 1e-9


def test_light_where_the_plan_has_none_is_asked_about() -> None:
    dark = Taken(name="key side", reading="key side", value=80.0, text="80 lx", setup="WIDE",
                 lit=(), on="nothing on")  # fmt: skip
    (doubted,) = with_one(0, dark).corrections.doubted
    assert "reaches it" in doubted.says


def test_readings_that_are_all_off_alike_are_laid_on_the_meter() -> None:
    # All noted in lux, and read in foot-candles: no lamp or wall does that to all of them.
    read = with_values(READ, [value / 10.7639 for value in good_values()])
    found = compared(small_room(), read).corrections
    assert len(found.doubted) == 3
    (note,) = [one for one in found.findings if one.about == "the meter"]
    assert "3.4 stops under" in note.says


def test_readings_all_alike_are_taken_for_what_they_are() -> None:
    found = compared(small_room(), with_values(READ, [300.0, 300.0, 300.0])).corrections
    assert all(math.isfinite(one.found) for one in found.corrected)
    assert [one.measured for one in found.readings] == [300.0, 300.0, 300.0]


def test_the_same_reading_thrice_is_surer_than_once() -> None:
    good = good_values()
    read = [taken("back wall", good[1], name=f"back wall #{k}") for k in range(3)]
    once = compared(small_room(), read[:1]).corrections
    thrice = compared(small_room(), read).corrections
    spread = [
        next(one.spread_after_stops for one in found.plan if one.reading == "back wall")
        for found in (once, thrice)
    ]
    assert spread[1] < 0.75 * spread[0]


# In words --------------------------------------------------------------------------------


def test_a_doubt_is_told_in_a_sentence() -> None:
    one = taken("key cheek", 3200.0, text="3200 lx")
    told: Doubted = doubt(one, Expected(326.0, 0.3, ()), "lx", alone=False)
    assert told.says == (
        "key cheek: 3200 lx (all on) is 3.3 stops over what the other readings and the plan "
        "allow: 326 lx, give or take 0.3 stop; left out. Was it 320 lx?"
    )


def test_what_no_slip_explains_is_to_be_read_again() -> None:
    one = taken("key cheek", 1300.0, text="1300 lx")
    told = doubt(one, Expected(326.0, 0.2, ()), "lx", alone=True)
    assert told.might_be == ()
    assert told.says.endswith("read it again.")
