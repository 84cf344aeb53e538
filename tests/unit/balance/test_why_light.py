"""Light told apart by source: sums by hand, and that what is taken away and left is the whole."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from falloff.balance.why.causes import Known, causes_of
from falloff.balance.why.cures import Cure, Handle, Wanted, cheapest
from falloff.balance.why.light import (
    Given,
    Lit,
    Measure,
    Weigh,
    as_it_is,
    factor_for,
    opened,
    scaled,
    without,
    without_bounce,
    without_direct,
    without_surface,
)
from falloff.balance.why.words import Telling, against, amount

LUX = st.floats(0.0, 1e4)
TELLING = Telling("the shadow side", "the key side", place="the shadow side")
WALL = "room: wall 4"


def lit(name: str, **given: tuple[float, float]) -> Lit:
    """A place with (direct, bounced) of each source, the bounce all off one wall."""
    parts = tuple(Given(s, d, b, {WALL: b}) for s, (d, b) in given.items())
    return Lit(name, parts, reference=100.0)


# pencil: the key side gets 300 straight and 20 by bounce of BOOK, and 20 of FILL: 340; the shadow
# side 10 straight, 110 by bounce, and 40 of FILL: 160. log2(160/340) = −1.09.
KEY = lit("key", BOOK=(300.0, 20.0), FILL=(20.0, 0.0))
SHADOW = lit("shadow", BOOK=(10.0, 110.0), FILL=(40.0, 0.0))
FLAT = Measure((SHADOW,), (KEY,))


@st.composite
def lits(draw: st.DrawFn) -> Lit:
    parts = []
    for s in range(draw(st.integers(1, 5))):
        bounced = draw(LUX)
        on_wall = bounced * draw(st.floats(0.0, 1.0))
        parts.append(Given(f"S{s}", draw(LUX), bounced, {WALL: on_wall}))
    return Lit("place", tuple(parts), reference=draw(st.floats(1.0, 1e3)))


def light(place: Lit, weigh: Weigh) -> float:
    return sum(weigh(one) for one in place.given)


@given(lits())
def test_what_is_taken_and_what_is_left_are_the_whole(place: Lit) -> None:
    """Linearity: without a source and that alone; straight and bounced; on and off a wall."""
    whole = light(place, as_it_is)
    assert_allclose(whole, place.light)
    for one in place.given:
        assert_allclose(light(place, without(one.source)) + one.light, whole, atol=1e-9)
        assert_allclose(light(place, without_bounce(one.source)) + one.bounced, whole, atol=1e-9)
        assert_allclose(light(place, without_direct(one.source)) + one.direct, whole, atol=1e-9)
    off = sum(one.off[WALL] for one in place.given)
    assert_allclose(light(place, without_surface(WALL)) + off, whole, atol=1e-9)
    assert_allclose(place.surfaces[WALL], off)


@given(lits(), st.floats(0.0, 4.0))
def test_a_dim_is_a_weighing(place: Lit, factor: float) -> None:
    one = place.given[0]
    expected = place.light + (factor - 1.0) * one.light
    assert_allclose(light(place, scaled(one.source, factor)), expected, rtol=1e-9, atol=1e-6)


@given(lits(), lits())
def test_a_measure_is_a_ratio_of_places(over: Lit, under: Lit) -> None:
    found = Measure((over,), (under,)).stops()
    if over.light > 0.01 and under.light > 0.01:
        levels = over.light / over.reference / (under.light / under.reference)
        assert_allclose(found, math.log2(levels), atol=1e-9)
    assert not math.isnan(found)


def test_stops_by_hand() -> None:
    """Pencil."""
    assert_allclose(FLAT.stops(), math.log2(160.0 / 340.0))
    assert_allclose(FLAT.stops(without_bounce("BOOK")), math.log2(50.0 / 320.0))
    assert_allclose(FLAT.stops(without("FILL")), math.log2(120.0 / 320.0))
    assert_allclose(FLAT.stops(without_direct("BOOK"), only_over=True), math.log2(150.0 / 340.0))
    assert_allclose(Measure((KEY,)).stops(), math.log2(3.4))


def test_darkness_is_told_as_such() -> None:
    dark = lit("dark", BOOK=(0.0, 0.0))
    assert Measure((dark,)).stops() == -math.inf
    assert Measure((KEY,), (dark,)).stops() == math.inf
    assert Measure((dark,), (dark,)).stops() == 0.0
    assert Measure((KEY,), (dark,)).dark
    assert not FLAT.dark


def test_what_stands_in_the_way_is_taken_away() -> None:
    """Pencil: 20 of 80 get through."""
    place = Lit("place", (Given("KEY", 20.0, 4.0, open=80.0), Given("FILL", 8.0)), 32.0)
    assert_allclose(Measure((place,)).stops(opened("KEY")), math.log2(92.0 / 32.0))
    assert_allclose(Measure((place,)).stops(opened("FILL")), 0.0)


@given(lits(), st.floats(-3.0, -0.1))
def test_a_factor_brings_it_there(place: Lit, stops: float) -> None:
    measure = Measure((place,))
    if place.light < 1.0:
        return
    source = max(place.given, key=lambda one: one.light).source
    wanted = measure.stops() + stops
    factor = factor_for(measure, source, wanted)
    if factor is None:  # out is not enough
        assert measure.stops(scaled(source, 0.0)) > wanted - 1e-9
    else:
        assert_allclose(measure.stops(scaled(source, factor)), wanted, atol=1e-6)


def test_bounce_is_the_first_cause_of_a_flat_face() -> None:
    """Pencil: without BOOK's bounce −2.68 for −1.09; without FILL −1.42; without the wall the same
    as without the bounce, all of which comes off it.
    """
    causes = causes_of(FLAT, TELLING, high=True, known=Known(lead="BOOK"))
    by = {one.brief: one for one in causes}
    gains = {one.brief: one.stops or math.nan for one in causes}
    assert causes[0].source == "BOOK"
    assert_allclose(gains["BOOK's bounce"], math.log2(160 / 340) - math.log2(50 / 320))
    assert_allclose(by["BOOK's bounce"].share or 0.0, 110.0 / 160.0)
    assert by["BOOK's bounce"].surface == WALL
    assert_allclose(gains["light off wall 4"], gains["BOOK's bounce"])
    assert by["light off wall 4"].first_order
    assert not by["BOOK's bounce"].first_order
    # All of FILL is straight, so it is told as that.
    assert_allclose(gains["FILL straight"], math.log2(160 / 340) - math.log2(120 / 320))
    assert "2 2/3 under the key side" in by["BOOK's bounce"].says
    stops = [one.stops for one in causes if one.stops is not None]
    assert stops == sorted(stops, reverse=True)


def test_the_key_is_never_taken_away_whole() -> None:
    causes = causes_of(FLAT, TELLING, high=True, known=Known(lead="BOOK"))
    assert "BOOK" not in {one.brief for one in causes}


def test_a_dimmed_and_a_hidden_light_are_causes_of_darkness() -> None:
    """Pencil: KEY at a quarter gives 20 of 24; at full 84 of 24, 1.81 stops."""
    place = Lit("face", (Given("KEY", 20.0, open=60.0), Given("FILL", 4.0)), 100.0)
    known = Known(shares={"KEY": 0.25, "FILL": 1.0}, in_the_way={"KEY": "NET"})
    told = Telling("the face", "key")
    causes = causes_of(Measure((place,)), told, high=False, known=known)
    gains = {one.brief: one.stops or math.nan for one in causes}
    assert_allclose(gains["KEY dimmed"], math.log2(84.0 / 24.0))
    assert_allclose(gains["NET before KEY"], math.log2(64.0 / 24.0))


def test_nothing_to_find_is_said() -> None:
    place = Lit("face", (Given("KEY", 20.0, open=20.0),), 100.0)
    (cause,) = causes_of(Measure((place,)), Telling("the face", "key"), high=False)
    assert cause.stops is None
    assert "KEY 100 %" in cause.says


def cured(
    measure: Measure, wanted: float, *, face: Lit, known: Known, handles: dict[str, Handle]
) -> Cure:
    """The cheapest cure of what is too high."""
    found = cheapest(
        Wanted(measure, TELLING, wanted, high=True, handles=handles, known=known, face=face)
    )
    assert found is not None
    return found


def test_a_hot_wall_is_cured_by_its_own_light() -> None:
    """Pencil: wall 400 of HEAD and 100 of KEY; to halve it HEAD goes to (250 − 100)/400 = 37.5 %,
    and the face does not see HEAD.
    """
    wall = lit("wall", HEAD=(400.0, 0.0), KEY=(0.0, 100.0))
    face = lit("face", HEAD=(0.0, 0.0), KEY=(300.0, 0.0))
    cure = cured(
        Measure((wall,)), math.log2(2.5), face=face, known=Known(lead="KEY"),
        handles={"HEAD": Handle("light", 1.0)},
    )  # fmt: skip
    assert "dim HEAD from 100 % to 38 %" in cure.says
    assert_allclose(cure.stops, 1.0, atol=1e-6)
    assert "the face" not in cure.says.split(": ")[1]


def test_a_light_that_would_be_lower_than_a_knob_goes_is_turned_off() -> None:
    """Pencil: 400 of 500 from a light at 20 %, wanted at 102: a knob of 0.1 %; off, 100 are left,
    log2(500/100) = 2.32 stops down.
    """
    wall = lit("wall", WASH=(400.0, 0.0), KEY=(0.0, 100.0))
    cure = cured(
        Measure((wall,)), math.log2(1.02), known=Known(lead="KEY"),
        face=lit("face", KEY=(300.0, 0.0)),
        handles={"WASH": Handle("light", 0.2), "KEY": Handle("fixed")},
    )  # fmt: skip
    assert cure.says.startswith("turn WASH off: ")
    assert cure.light == ("WASH", 0.0)
    assert_allclose(cure.stops, math.log2(5.0))


@pytest.mark.parametrize(("room", "said"), [(0.0, "ND"), (1.0, "bring up KEY")])
def test_a_face_that_is_at_key_is_not_raised_for_a_view(room: float, said: str) -> None:
    """Pencil: the face has 200 from KEY at half; at full it would be a stop up."""
    view = Lit("WINDOW", (Given("WINDOW", 1600.0),), 100.0)
    face = Lit("face", (Given("KEY", 200.0),), 100.0)
    measure = Measure((view,), (face,))
    wanted = Wanted(
        measure, Telling("it", "the face"), measure.stops() - 0.7, high=True, face=face,
        known=Known(lead="KEY"), face_room_stops=room,
        handles={"WINDOW": Handle("window"), "KEY": Handle("light", 0.5)},
    )  # fmt: skip
    cure = cheapest(wanted)
    assert cure is not None
    assert cure.says.startswith(said)


def test_a_gel_is_the_lightest_that_does_it() -> None:
    """Pencil: a view of 1600 to be 2 stops down: ND 0.6; the face has 100 of its 200 from it, so
    it keeps 125: log2(200/125) = 0.68 down, and the view is 1.32 nearer.
    """
    view = Lit("WINDOW", (Given("WINDOW", 1600.0),), 100.0)
    face = Lit("face", (Given("WINDOW", 100.0), Given("KEY", 100.0)), 100.0)
    measure = Measure((view,), (face,))
    cure = cured(
        measure, measure.stops() - 1.3, face=face, known=Known(lead="KEY"),
        handles={"WINDOW": Handle("window"), "KEY": Handle("light", 1.0)},
    )  # fmt: skip
    assert "ND 0.6 on the glass of WINDOW" in cure.says
    assert "the face loses two thirds of a stop" in cure.says
    assert_allclose(cure.stops, 2.0 - math.log2(200.0 / 125.0))


@pytest.mark.parametrize(
    ("stops", "said"),
    [(0.0, "level with the key side"), (-1.0, "1 under the key side"),
     (0.66, "two thirds over the key side"), (-math.inf, "without light")],
)  # fmt: skip
def test_stops_are_told_in_thirds(stops: float, said: str) -> None:
    assert against(stops, "the key side") == said


def test_amounts_are_told_in_thirds() -> None:
    told = [amount(stops) for stops in (0.1, 0.33, 1.0, 1.34, -2.0, math.inf)]
    assert told == [
        "less than a third of a stop", "a third of a stop", "1 stop", "1 1/3 stops", "2 stops",
        "all of it",
    ]  # fmt: skip
