"""Light that a fabric in a beam scatters on is that light's own, checked by the fabric away."""

from __future__ import annotations

import math

import pytest
from numpy.testing import assert_allclose
from tests.unit.balance.why_rooms import panel, traced

from falloff.balance.why.complaints import read_complaint
from falloff.balance.why.plan import why_plan
from falloff.balance.why.scene import TracedSetup

KEY = "fixtures:\n" + panel("KEY", "[4.1 m, 1.6 m, 1.7 m]")
SILK = """grip:
  SILK: {kind: frame, size: [1.2 m, 1.2 m], fabric: half white diffusion,
         at: [3.4 m, 2.2 m, 1.65 m], aim: ANNA.face}
"""


@pytest.fixture(scope="module")
def silked() -> TracedSetup:
    return traced(KEY + SILK, walls=0.2)


def test_a_beam_through_a_fabric_loses_what_a_meter_loses(silked: TracedSetup) -> None:
    """The key side read with the frame there and without it, by a trace of its own."""
    bare = traced(KEY, walls=0.2)
    with_it, without = (one.place("ANNA.cheek_key").of("KEY").direct for one in (silked, bare))
    (why,) = why_plan(silked, read_complaint("KEY not landing on ANNA"))
    assert_allclose(-(why.stops or 0.0), math.log2(without / with_it), atol=0.35)
    assert why.cure == "take SILK away"
    assert_allclose(why.cure_stops or 0.0, math.log2(without / with_it), atol=0.35)
    assert any("scattered through SILK" in one for one in why.says)


def test_light_through_a_fabric_is_no_bounce(silked: TracedSetup) -> None:
    """In a room of a fifth the key side lives on what the frame passes."""
    given = silked.place("ANNA.cheek_key").of("KEY")
    assert given.direct > 0.7 * given.light
    assert "SILK: SILK cloth" not in given.off
    for said in ("face flat", "face contrasty", "wall hot"):
        for why in why_plan(silked, read_complaint(said)):
            told = " ".join((*why.says, *(one.says for one in why.causes)))
            assert "SILK" not in told, told


def test_a_fabric_beside_the_beam_bounces() -> None:
    """A frame behind her passes nothing of KEY on to her cheek: what it gives is bounce."""
    beside = SILK.replace("[3.4 m, 2.2 m, 1.65 m]", "[1.2 m, 4 m, 1.65 m]")
    setup = traced(KEY + beside, walls=0.2)
    assert any("SILK: SILK cloth" in one.off for one in setup.place("ANNA.cheek_shadow").given)
