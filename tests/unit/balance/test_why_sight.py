"""What a camera does not see is said to be unseen, and what is looked into is no wall."""

from __future__ import annotations

import pytest
from tests.unit.balance.why_rooms import panel, traced

from falloff.balance.why.complaints import read_complaint
from falloff.balance.why.plan import all_questions, why_plan
from falloff.balance.why.records import Why
from falloff.balance.why.scene import TracedSetup

# Behind her and looking away from the camera's own wall: B sees the wall behind A, and her back.
MORE = "  B: {at: [2.5 m, 4.6 m, 1.5 m], aim: [2.5 m, 0 m, 1.5 m], lens: 35 mm}\n"
MORE += "fixtures:\n" + panel("KEY", "[4.1 m, 1.6 m, 1.7 m]")
MORE += """practicals:
  GLOBE: {light: globe, diameter: 14 cm, output: 450 lm, colour: 2700 K, at: [1.6 m, 4.2 m, 1.6 m]}
readings:
  the back wall: {at: {wall: 3, along: 2 m, height: 1.5 m}}
  globe: {at: [1.6 m, 4.2 m, 1.6 m], instrument: spot}
"""
BEHIND = "  BACK: {like: WIDE, camera: B}\n"


def asked(setup: TracedSetup, said: str) -> Why:
    (why,) = why_plan(setup, read_complaint(said))
    return why


@pytest.fixture(scope="module")
def ahead() -> TracedSetup:
    return traced(MORE, walls=0.3, setups=BEHIND)


@pytest.fixture(scope="module")
def behind() -> TracedSetup:
    return traced(MORE, walls=0.3, setups=BEHIND, setup="BACK")


@pytest.mark.parametrize(
    "said", ["face flat", "eyes dark", "the back wall hot", "face dark", "ANNA's chin dark"]
)
def test_what_no_frame_has_is_said_to_be_unseen(
    ahead: TracedSetup, behind: TracedSetup, said: str
) -> None:
    """Pencil: she looks down the plan at A, so B, behind her, sees neither her face nor wall 3."""
    there, away = asked(ahead, said), asked(behind, said)
    assert there.seen
    assert "does not see" not in " ".join(there.says)
    assert not away.seen
    assert "B does not see it." in away.says


def test_an_unseen_face_is_not_gone_through(behind: TracedSetup) -> None:
    assert not any("ANNA" in one.complaint for one in all_questions(behind))


def test_a_lamp_in_the_picture_is_not_held_against_a_walls_limit(ahead: TracedSetup) -> None:
    why = asked(ahead, "globe hot")
    assert why.complaint == "the globe too bright"
    assert why.seen
    assert why.wanted_stops == 3.0
    assert "wall" not in why.says[0]
