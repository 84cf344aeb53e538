"""What is not in the way though it stands there: a light's own shade, one's own head; and doors."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.unit.balance.why_rooms import panel, traced

from falloff.balance.why.answers import answer
from falloff.balance.why.complaints import Complaint, read_complaint
from falloff.balance.why.fabric import light_scattered_lux
from falloff.balance.why.plan import level_question, why_plan
from falloff.balance.why.records import Why
from falloff.balance.why.scene import TracedSetup
from falloff.constants import LUMINANCE_WEIGHTS

LAMP = """practicals:
  LAMP:
    light: bulb in shade
    shade: {top: 20 cm, bottom: 35 cm, height: 25 cm, fabric: bleached muslin}
    output: 600 lm
    colour: 2700 K
    at: [1 m, 4.4 m, 1 m]
readings:
  lamp wall: {at: {wall: 3, along: 4 m, height: 2 m}}
"""
BOX = (
    "props:\n  CRATE: {shape: box, at: [1 m, 4.75 m], size: [60 cm, 10 cm, 200 cm], "
    "surface: black}\n"
)


def asked(setup: TracedSetup, said: str) -> Why:
    (why,) = why_plan(setup, read_complaint(said))
    return why


def test_a_shade_does_not_stand_before_its_own_lamp() -> None:
    why = asked(traced(LAMP, walls=0.3), "lamp wall dark")
    assert "stand" not in " ".join(one.brief for one in why.causes)
    assert not any("before LAMP" in one.brief for one in why.causes)
    assert "LAMP out of the way" not in " ".join(why.says)
    assert why.cure is None or "out of the way of LAMP" not in why.cure


def test_what_does_stand_before_a_shaded_lamp_is_told_by_what_comes_through_its_shade() -> None:
    """The crate away, the wall has what a room without it has; not what a bare bulb would give.

    What the shade scatters is left as it was, as bounce is.
    """
    setup, free = traced(LAMP + BOX, walls=0.3), traced(LAMP, walls=0.3)
    one, other = (room.readings["lamp wall"].of("LAMP") for room in (setup, free))
    assert one.open is not None
    assert other.direct > 1.0
    s = free.layers.names.index("LAMP")
    scattered = light_scattered_lux(free.layers.solution, s, free.probes["lamp wall"])
    scattered *= float(free.gains["LAMP"] @ np.array(LUMINANCE_WEIGHTS))
    assert 0.1 * other.direct < scattered < 0.5 * other.direct
    assert_allclose(one.open, other.direct - scattered, rtol=0.03)
    (cause,) = (c for c in asked(setup, "lamp wall dark").causes if "before" in c.brief)
    assert cause.brief == "CRATE before LAMP"


def test_doors_are_told_as_doors() -> None:
    head = (
        "fixtures:\n  SPOT: {light: open face, beam: 90 deg, aperture: 20 cm, output: 1000 lm, "
        "colour: 3200 K, at: [2.5 m, 0.9 m, 1.6 m], aim: [3.3 m, 3 m, 1.6 m], "
        "barndoors: {left: 0 deg, length: 60 cm}}\n"
    )
    setup = traced(head, walls=0.3)
    why = asked(setup, "face dark")
    told = [one.says for one in why.causes if one.brief == "SPOT's doors before SPOT"]
    assert len(told) == 1
    assert told[0].startswith("SPOT's doors keep it off: open, it would be")
    assert why.cure is not None
    assert why.cure.startswith("open SPOT's doors: ")
    bare = traced(head.replace(", barndoors: {left: 0 deg, length: 60 cm}", ""), walls=0.3)
    light = bare.place("ANNA.cheek_key").of("SPOT")
    assert_allclose(setup.place("ANNA.cheek_key").of("SPOT").open or 0.0, light.direct, rtol=0.05)


HIGH = "fixtures:\n" + panel("TOP", "[2.5 m, 2.55 m, 2.7 m]")


def test_ones_own_head_is_told_and_is_not_to_be_moved() -> None:
    """A light overhead in front: her brow is between it and her eye.

    Pencil: the light that her own head takes is what a receptor there would have in open air.
    """
    setup = traced(HIGH, walls=0.3)
    why = answer(level_question(setup, Complaint("dark", "ANNA.eye_left")))
    own = setup.place("ANNA.eye_left").of("TOP")
    assert own.bare is not None
    assert own.open is not None
    (cause,) = (one for one in why.causes if one.brief == "ANNA's own head before TOP")
    assert cause.says.startswith("ANNA's own head is in the way of TOP: were it not, it would be")
    light = setup.place("ANNA.eye_left").light
    assert_allclose(cause.stops or 0.0, math.log2((light + own.bare - own.open) / light))
    assert "ANNA" not in (why.cure or "").partition(":")[0]


def test_a_light_brought_nearer_brings_only_what_it_gives_straight() -> None:
    """A cheek that looks away from the only light has bounce alone: nearer is no cure for it."""
    setup = traced("fixtures:\n" + panel("SIDE", "[4.4 m, 2.95 m, 1.6 m]"), walls=0.3)
    why = asked(setup, "ANNA's cheek right dark")
    assert why.wrong
    assert "it faces away from SIDE" in " ".join(why.says)
    assert why.cure is None


def test_a_place_that_faces_away_is_said_to() -> None:
    setup = traced("fixtures:\n" + panel("BACK", "[2.5 m, 4.4 m, 1.6 m]"), walls=0.3)
    why = asked(setup, "face dark")
    assert "it faces away from BACK" in " ".join(why.says)


AT = "[2.5 m, 1 m, 1.3 m]"
BACK = "fixtures:\n  BACK: {light: fresnel, aperture: 15 cm, beam: 25 deg, spot: 10 deg, "
BACK += "flood: 50 deg, output: 3000 lm, colour: 5600 K, at: [3.4 m, 4.6 m, 2.3 m], aim: ANNA."


def test_a_back_light_does_not_land_on_a_face_past_ones_own_head() -> None:
    """Her face looks the other way: none of it gets there straight, though it lands behind."""
    setup = traced(BACK + "hair_edge_left}\n", walls=0.3)
    assert setup.place("ANNA.forehead").of("BACK").direct == 0.0
    for toward in ("ANNA", "face", "ANNA's face"):
        why = asked(setup, f"BACK not landing on {toward}")
        assert why.wrong
        assert why.says[0] == "BACK does not land on ANNA's face at all."
        assert why.causes[0].brief == "ANNA's own head"
        assert "ANNA's face turns away from BACK, and ANNA's own head is in the way" in str(
            why.says
        )
        assert why.cure is not None
        assert why.cure.startswith("meter BACK where it meets ANNA first, on ANNA's ")
        assert "no more output lights ANNA's face" in why.cure
        assert why.cure_stops is None


def test_a_back_light_is_judged_where_it_lands() -> None:
    """Aimed at the hair line from behind, it lands on the near side of the head; that is said."""
    why = asked(traced(BACK + "hair_edge_left}\n", walls=0.3), "BACK not landing")
    assert not why.wrong
    assert "BACK lands " in why.says[0]
    assert "left hair edge, where BACK is aimed, is on the far side of ANNA" in why.says[1]
    assert "_" not in " ".join(why.says)


def test_a_dimmed_beam_is_said_to_be_dimmed() -> None:
    """Pencil: half the light at half the dim."""
    lights = "fixtures:\n" + panel("KEY", "[2.5 m, 0.9 m, 1.6 m]")
    full = asked(traced(lights), "KEY not landing on ANNA")
    half = asked(
        traced(lights, setups="  HALF: {like: WIDE, dims: {KEY: 50 %}}\n", setup="HALF"),
        "KEY not landing on ANNA",
    )
    lux = full.says[0].split(" lands ")[1].split(" on ")[0]
    assert "all that it can give there." in full.says[0]
    assert half.says[0].endswith(f"as it is dimmed; at full it would be {lux}.")


@pytest.mark.parametrize("toward", ["ANNA's left cheek", "ANNA.cheek_left", "ANNA cheek left"])
def test_a_place_of_a_face_is_said_one_way_or_another(toward: str) -> None:
    setup = traced("fixtures:\n" + panel("KEY", "[2.5 m, 0.9 m, 1.6 m]"))
    assert asked(setup, f"KEY misses {toward}").complaint == "KEY not landing on ANNA's left cheek"


def test_a_light_aimed_elsewhere_behind_a_face_is_not_cured_by_aim() -> None:
    """It would light the hair; the face turns away from it wherever it is aimed."""
    setup = traced(BACK.replace("aim: ANNA.", "aim: [0.5 m, 4.9 m, 1 m]") + "}\n", walls=0.3)
    why = asked(setup, "BACK not landing on ANNA")
    assert "off the axis" not in " ".join(why.says)
    assert why.cure is not None
    assert why.cure.startswith("aim BACK where it meets ANNA first")


def test_a_bare_point_where_somebody_sits_is_that_person() -> None:
    """Aimed at a point within her chest, it lands on her; she is not in its way."""
    head = BACK.replace("aim: ANNA.", "aim: [2.5 m, 3 m, 1.3 m]").replace("4.6 m, 2.3", "1 m, 1.3")
    why = asked(traced(head + "}\n", walls=0.3), "BACK not landing")
    assert why.complaint == "BACK not landing on ANNA's top"
    assert not why.wrong
    assert why.cure is None


def test_somebody_in_the_way_is_not_moved_out_of_it() -> None:
    """Past her at the wall behind: the light is moved, not she."""
    head = BACK.replace("aim: ANNA.", "aim: [2.5 m, 5 m, 1.3 m]").replace(
        "[3.4 m, 4.6 m, 2.3 m]", AT
    )
    why = asked(traced(head + "}\n", walls=0.3), "BACK not landing")
    assert why.causes[0].brief == "ANNA"
    assert why.cure == "move BACK until ANNA is clear of it"


def test_nobody_is_taken_out_of_the_way_of_a_light() -> None:
    """She stands between the light and the wall behind her: told as a cause, not as a cure."""
    more = "fixtures:\n" + panel("KEY", "[2.5 m, 1 m, 1.3 m]", aim="[2.5 m, 5 m, 1.3 m]")
    more += "readings:\n  spot: {at: {wall: 3, along: 2.5 m, height: 1.3 m}}\n"
    setup = traced(more, walls=0.1)
    why = asked(setup, "spot dark")
    assert why.causes[0].brief == "ANNA before KEY"
    assert setup.known(None, setup.readings["spot"]).built_in == {"KEY"}
    assert why.cure is None or "ANNA" not in why.cure
