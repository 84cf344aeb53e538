"""Beams in a black room: what lands by the inverse square, and what takes it away."""

from __future__ import annotations

import math

import pytest
from numpy.testing import assert_allclose
from tests.unit.balance.why_rooms import panel, traced

from falloff.balance.why.beam import beam_fixtures, spill_shares, why_beam
from falloff.balance.why.complaints import read_complaint
from falloff.balance.why.plan import why_plan
from falloff.balance.why.rays import light_straight_lux, open_air
from falloff.balance.why.records import Why
from falloff.balance.why.scene import TracedSetup
from falloff.balance.why.throw import throw_of

AT = "[2.5 m, 0.9 m, 1.6 m]"
EVEN = (
    "  SPOT: {{light: profile spot, aperture: 5 cm, beam: 20 deg, output: 1000 lm, "
    "colour: 5600 K, at: {at}, aim: {aim}{more}}}\n"
)
SOLID = (
    "grip:\n  FLAG: {{kind: solid, size: [{wide} cm, 80 cm], at: [{x} m, 1.9 m, 1.55 m], "
    "aim: {aim}, surface: black cloth}}\n"
)


def spot(*, at: str = AT, aim: str = "ANNA.face", more: str = "") -> str:
    return "fixtures:\n" + EVEN.format(at=at, aim=aim, more=more)


def beam(setup: TracedSetup, toward: str = "", name: str = "SPOT") -> Why:
    return why_beam(setup, name, toward)


def lost(why: Why) -> float:
    assert why.stops is not None
    return -why.stops


def test_a_free_beam_lands_by_the_inverse_square() -> None:
    """Pencil: 1000 lm in an even cone of half angle 10° is 1000/(2π(1 − cos 10°)) = 10.48 kcd.

    The field is even in the plane of the gate, not in the angle: cd on the axis is Φ/(π tan² 10°)
    = 10.24 kcd, within 3 %; E = I/d².
    """
    setup = traced(spot())
    throw = throw_of(setup, "SPOT", "")
    (lux,) = light_straight_lux(open_air(), throw.source, (throw.probe(),))
    candela = 1000.0 / (2.0 * math.pi * (1.0 - math.cos(math.radians(10.0))))
    assert_allclose(lux, candela / throw.distance_m**2, rtol=0.05)
    why = beam(setup)
    assert lost(why) < 0.05
    assert not why.wrong
    assert why.cure is None
    assert "all that it can give" in why.says[0]
    assert why.says[-1] == "Nothing is in its way, and nothing cuts it off."


def test_a_solid_in_the_beam_is_named() -> None:
    setup = traced(spot() + SOLID.format(wide=80, x=2.5, aim="SPOT"))
    why = beam(setup)
    assert why.wrong
    assert why.causes[0].brief == "FLAG"
    assert why.causes[0].stops is None  # all of it
    assert "FLAG" in why.says[1]  # the line to her meets it
    assert why.cure == "move FLAG out of the way of SPOT"


def test_half_a_beam_behind_a_solid_is_a_stop() -> None:
    """Pencil: of a panel some half stands behind a flag's edge, by the line from her face past it:
    the edge is at x = 2.5 m, y = 1.9 m, the panel from 2.3 to 2.7 m at y = 0.9 m.
    """
    lights = "fixtures:\n" + panel("SPOT", AT)
    # Half way between, the edge on the axis hides one half of the front from her face.
    grip = SOLID.format(wide=80, x=2.1, aim="[2.1 m, 0.9 m, 1.55 m]")
    setup = traced(lights + grip)
    why = beam(setup)
    x, y, _ = throw_of(setup, "SPOT", "").point
    edge = 2.5 + (2.5 - x) * (1.9 - 0.9) / (y - 1.9)
    assert_allclose(lost(why), math.log2(0.4 / (2.7 - edge)), atol=0.1)
    assert 0.7 < lost(why) < 1.4
    assert why.causes[0].brief == "FLAG"
    assert_allclose(why.causes[0].stops or 0.0, lost(why), atol=0.05)


def test_a_net_costs_its_own_stops() -> None:
    grip = (
        "grip:\n  NET: {kind: net, size: [80 cm, 80 cm], at: [2.5 m, 1.9 m, 1.55 m], aim: SPOT, "
        "loss: 1 stop}\n"
    )
    why = beam(traced(spot() + grip))
    assert why.causes[0].brief == "NET"
    assert_allclose(lost(why), 1.0, atol=0.05)


def test_a_beam_aimed_elsewhere_is_told_by_its_angle() -> None:
    """Pencil: aimed 1 m beside her from 2 m, atan(1/2.1) is some 25°, outside a beam of 20°."""
    setup = traced(spot(aim="[3.5 m, 3 m, 1.6 m]"))
    assert not beam(setup).wrong
    why = beam(setup, "ANNA")
    assert why.wrong
    assert why.causes[0].brief == "off its axis"
    throw = throw_of(setup, "SPOT", "ANNA")
    assert f"{math.degrees(math.acos(throw.source.shape[3:6] @ throw.way)):.0f}°" in str(why.says)
    assert why.cure == "aim SPOT at ANNA's face"


def test_shutters_that_cut_the_face_are_named() -> None:
    setup = traced(spot(more=", shutters: {left: 60 %}"))
    why = beam(setup)
    assert why.wrong
    assert why.causes[0].brief == "shutters"
    assert why.cure == "pull the shutters of SPOT"


def test_doors_that_cut_her_off_are_named() -> None:
    """Aimed to her right, the leaf on her side straight ahead: she is behind it."""
    head = (
        "fixtures:\n  SPOT: {light: open face, beam: 90 deg, aperture: 20 cm, output: 1000 lm, "
        f"colour: 3200 K, at: {AT}, aim: [3.3 m, 3 m, 1.6 m], "
        "barndoors: {left: 0 deg, length: 60 cm}}\n"
    )
    why = beam(traced(head), "ANNA")
    (doors,) = (one for one in why.causes if one.brief == "doors")
    assert "the doors of SPOT take" in doors.says
    assert why.cure == "open the doors of SPOT"


def test_spill_is_shares_of_what_falls() -> None:
    """In a black room the shares of all things are one; a beam past her falls on the back wall."""
    setup = traced(spot(aim="[3.5 m, 5 m, 1.6 m]"))
    shares = spill_shares(setup, "SPOT")
    assert_allclose(sum(shares.values()), 1.0)
    assert max(shares, key=lambda one: shares[one]) == "the back wall"
    assert shares["the back wall"] > 0.9


def test_a_beam_that_is_off_is_said_to_be() -> None:
    setup = traced(spot(), setups="  DARK: {like: WIDE, dims: {SPOT: 0 %}}\n", setup="DARK")
    why = beam(setup)
    assert why.says[0] == "SPOT is off in this setup: no beam lands."
    assert not why.wrong


def test_beams_are_meant_before_other_lights() -> None:
    setup = traced(spot() + panel("FILL", "[4.1 m, 1.6 m, 1.7 m]"))
    assert beam_fixtures(setup, "") == ("SPOT",)
    assert beam_fixtures(setup, "fill") == ("FILL",)
    assert len(why_plan(setup, read_complaint("beam not landing"))) == 1


@pytest.mark.parametrize("toward", ["face", "ANNA.chest", "ANNA"])
def test_what_a_beam_should_reach_can_be_said(toward: str) -> None:
    setup = traced(spot())
    assert throw_of(setup, "SPOT", toward).target.startswith("ANNA")
