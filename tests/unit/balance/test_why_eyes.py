"""Eyes: a key above the brow, and what an eye light must give."""

from __future__ import annotations

from numpy.testing import assert_allclose
from tests.unit.balance.why_rooms import panel, traced

from falloff.balance.why.answers import answer
from falloff.balance.why.eyes import EYES_STOPS, eye_question
from falloff.balance.why.light import Given, Lit, Measure

HIGH = "fixtures:\n" + panel("TOP", "[2.5 m, 2.55 m, 2.7 m]")
LEVEL = "fixtures:\n" + panel("KEY", "[2.5 m, 0.9 m, 1.6 m]")


def test_a_key_above_the_brow_leaves_the_eyes_dark() -> None:
    """A top light some 65° over the eyes of one in a black room: it is the cause."""
    why = answer(eye_question(traced(HIGH), "ANNA"))
    assert why.wrong
    briefs = [one.brief for one in why.causes]
    assert "TOP too high" in briefs
    (high,) = (one for one in why.causes if one.brief == "TOP too high")
    assert high.source == "TOP"
    assert (high.stops or 0.0) > 1.0
    assert "above the eyes" in high.says
    assert "the brow takes" in high.says


def test_the_lowered_key_does_what_is_said() -> None:
    """Told by its angle alone; traced anew at 25° it comes to the same within a third of a stop."""
    why = answer(eye_question(traced(HIGH), "ANNA"))
    (high,) = (one for one in why.causes if one.brief == "TOP too high")
    # pencil: her eyes are near 1.56 m up at y = 2.9; 1.2 m away at 25°: 1.09 m ahead, 0.51 m up.
    low = answer(
        eye_question(traced("fixtures:\n" + panel("TOP", "[2.5 m, 1.8 m, 2.07 m]")), "ANNA")
    )
    assert why.stops is not None
    assert low.stops is not None
    assert not low.wrong
    assert_allclose(why.stops + (high.stops or 0.0), low.stops, atol=1.0 / 3.0)


def test_a_key_at_eye_level_does_not() -> None:
    why = answer(eye_question(traced(LEVEL), "ANNA"))
    assert not why.wrong
    assert not any("too high" in one.brief for one in why.causes)


def test_an_eye_light_of_that_level_brings_the_eyes_there() -> None:
    """Pencil: E on eyes and brow alike so that (eyes + E)/(brow + E) is the limit."""
    setup = traced(HIGH)
    why = answer(eye_question(setup, "ANNA"))
    (light,) = (one for one in why.causes if one.brief == "no eye light")
    lux = float(light.says.split(": ")[1].split(" lx")[0])
    eyes = [setup.place(f"ANNA.eye_{side}") for side in ("left", "right")]
    brow = [setup.place("ANNA.forehead"), setup.place("ANNA.cheek_key")]

    def with_light(lits: list[Lit]) -> tuple[Lit, ...]:
        return tuple(
            Lit(one.name, (*one.given, Given("EYE LIGHT", lux)), one.reference) for one in lits
        )

    assert_allclose(Measure(with_light(eyes), with_light(brow)).stops(), EYES_STOPS, atol=0.02)


def test_eyes_are_read_on_the_eyes() -> None:
    """Not within the lids: a light straight ahead lands on both."""
    setup = traced(LEVEL)
    for side in ("left", "right"):
        one = setup.place(f"ANNA.eye_{side}").of("KEY")
        assert one.open is not None
        assert one.direct > 0.7 * one.open
