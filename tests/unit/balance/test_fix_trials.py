"""Every kind of fix in a small real room: what was estimated against a trace from nothing."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.unit.balance.fix_rooms import SOFT, SPOT, Fixed, pale_room

from falloff.balance.fixes.confirming import OFF_STOPS, TakenFix
from falloff.balance.fixes.trials import light_of_front, surfaces_hung
from falloff.balance.fixes.weighing import weigh, weighed
from falloff.balance.fixes.windows import hour_candidate, hour_problems
from falloff.balance.problem import WEIGHTS

TOO_DARK = """  face: {reading: key cheek, level: 2.5 stops}
  wall up: {reading: wall, level: 3 stops, limit: at least}"""
KIT_SPOT = (
    "  BACK: {kit: '60 W LED, Fresnel', beam: 40 deg, at: [2.6 m, 1.4 m, 2.0 m], "
    "aim: [1.5 m, 3.66 m, 1.6 m], stand: true}"
)
KIT_SOFT = (
    "  KEY: {kit: '60 W LED, open face', modifier: [60 cm soft box], at: [0.6 m, 1.1 m, 1.7 m], "
    "aim: ANNA.face, stand: true}"
)
# A window too small to matter.
DIM_WINDOW = ("width: 0.9 m, sill: 1.0 m, height: 0.9 m, glass: 0.85",
              "width: 0.3 m, sill: 1.2 m, height: 0.3 m, glass: 0.3")  # fmt: skip


@pytest.fixture(scope="module")
def bright() -> Fixed:
    """A room that is too bright, by its window above all."""
    return Fixed(pale_room())


@pytest.fixture(scope="module")
def dark() -> Fixed:
    """The same with kit that is too weak."""
    text = pale_room(fixtures=(KIT_SOFT, KIT_SPOT), targets=TOO_DARK)
    return Fixed(text.replace(*DIM_WINDOW).replace("T2.8, iso: 800", "T5.6, iso: 400"))


@pytest.fixture(scope="module")
def weak() -> Fixed:
    """The same with plain forms."""
    text = pale_room(fixtures=(SOFT.replace("2000 lm", "200 lm"), SPOT), targets=TOO_DARK)
    return Fixed(text.replace(*DIM_WINDOW))


@pytest.fixture(scope="module")
def torn() -> Fixed:
    """One light wanted bright at one place of a wall and dark at the next."""
    text = pale_room(
        fixtures=(SOFT, SPOT),
        targets="""  edge: {reading: wall edge, level: 2 stops, limit: at least}
  middle: {reading: wall, level: 0 stops, limit: at most}""",
    )
    edge = "  wall edge: {at: {wall: 3, along: 2.2 m, height: 1.7 m}}\n"
    return Fixed(text.replace(*DIM_WINDOW).replace("readings:\n", "readings:\n" + edge))


def keeps(taken: TakenFix) -> None:
    confirmed = taken.fix.confirmed
    assert confirmed is not None
    assert confirmed.targets, confirmed.says
    assert confirmed.worst_stops <= OFF_STOPS, confirmed.says
    assert confirmed.keeps


@pytest.mark.parametrize(
    "says",
    [
        "ND 0.6 gel on WINDOW",
        "a sheer in WINDOW",
        "WINDOW blacked out",
        "KEY nearer",
        "BACK nearer",
        "black for negative fill beside shadow cheek",
        "black cloth over wall 1",
        "black cloth over wall 2",
        "T11 in WIDE",
        "ND 1.2 in WIDE",
    ],
)
def test_a_fix_of_too_much_is_what_a_trace_has(bright: Fixed, says: str) -> None:
    keeps(bright.confirmed(says))


@pytest.mark.parametrize("says", ["flag BACK off wall", "a double net on BACK for wall"])
def test_what_is_put_in_the_way_is_what_a_trace_has(torn: Fixed, says: str) -> None:
    keeps(torn.confirmed(says))


@pytest.mark.parametrize(
    "says", ["the 100 W LED, open face for KEY", "the 100 W LED, Fresnel for BACK", "BACK nearer"]
)
def test_a_stronger_head_is_what_a_trace_has(dark: Fixed, says: str) -> None:
    keeps(dark.confirmed(says))


def test_more_output_is_what_a_trace_has(weak: Fixed) -> None:
    keeps(weak.confirmed("a unit"))


def test_a_white_board_is_what_a_trace_has() -> None:
    wanted = """  face: {reading: key cheek, level: 1 stop}
  contrast: {reading: shadow cheek, level: -0.5 stops, over: key cheek}"""
    text = pale_room(fixtures=(SOFT,), targets=wanted).replace(*DIM_WINDOW)
    text = text.replace("white paint", "GREY").replace(
        "openings:", "materials: {GREY: {reflectance: 0.15}}\nopenings:"
    )
    fixed = Fixed(text)
    taken = fixed.confirmed("a white board for fill beside shadow cheek")
    keeps(taken)
    assert taken.fix.worth_stops > 0.3


def test_a_second_unit_is_what_a_trace_has() -> None:
    """Beside a small head against the back wall there is room, and it is out of frame."""
    back = SPOT.replace("[2.6 m, 1.4 m, 2.0 m]", "[2.4 m, 1.0 m, 2.2 m]")
    wanted = "  wall up: {reading: wall, level: 5 stops, limit: at least}"
    text = pale_room(fixtures=(SOFT, back), targets=wanted)
    text = text.replace(*DIM_WINDOW).replace("50 mm", "85 mm")
    taken = Fixed(text).confirmed("a second BACK beside the first")
    keeps(taken)
    assert taken.weighed is not None
    assert [lever.source for lever in taken.weighed.problem.levers][-1] == "BACK 2"


def test_another_hour_is_what_a_trace_has(bright: Fixed) -> None:
    problems = hour_problems(bright.start)
    instant = next(one for one in problems if f"{one:%H:%M}" == "17:30")
    one = weighed(bright.start, hour_candidate(bright.start, instant, problems[instant]),
                  problems[instant])  # fmt: skip
    keeps(bright.confirm(one))
    assert one.candidate.says == "shoot it at 17:30"
    assert one.worth_stops > 1.0


def test_gel_takes_what_it_says(bright: Fixed) -> None:
    """Practitioner case C16, remedies by stops: ND 0.3, 0.6, 0.9 and 1.2 take 1 to 4 stops of the
    view, and no dim can make up for them there (the spot sees next to nothing else).
    """
    for stops, called in ((1, "ND 0.3"), (2, "ND 0.6"), (3, "ND 0.9"), (4, "ND 1.2")):
        one = bright.weighed(f"{called} gel on WINDOW")
        before = bright.start.judged["WIDE", "view low"].off
        after = one.got["WIDE", "view low"].off
        assert before is not None
        assert after is not None
        assert before - after == pytest.approx(stops, abs=0.1)


def test_one_wall_hung_black() -> None:
    """Practitioner case C43: in a pale room of 10 x 12 x 8 ft, ρ 0.7, with 24 fc of key on the face
    and 2,000 lm of it in the room, the fill is the bounce: 4:1; one wall of 8 x 12 ft hung black
    takes it to 5.8:1. The case's own tolerance is 0.4 stop.
    """
    material = "materials: {PALE: {reflectance: 0.7}}\n"
    text = pale_room(fixtures=(SOFT,), targets="  contrast: {reading: fill, level: -3 stops, over: "
                     "key, limit: at most}", floor="PALE")  # fmt: skip
    text = text.replace("white paint", "PALE").replace(*DIM_WINDOW).replace("openings:",
                        material + "openings:")  # fmt: skip
    # Receptors where a face would be, to the key and away from it; nobody sits there.
    start, stop = text.index("subjects:"), text.index("fixtures:")
    text = text[:start] + text[stop:]
    text = text.replace("ANNA.face", "[1.7 m, 2.2 m, 1.7 m]")
    start, stop = text.index("readings:"), text.index("targets:")
    readings = ("readings:\n  key: {at: [1.7 m, 2.2 m, 1.7 m], normal: [-1.1, -1.1, 0]}\n"
                "  fill: {at: [1.7 m, 2.2 m, 1.7 m], normal: [1.1, 1.1, 0]}\n")  # fmt: skip
    text = text[:start] + readings + text[stop:]
    text = text.replace("key: key cheek", "key: key").replace("stop: T2.8", "stop: T2.8")
    fixed = Fixed(text)
    start_light = (fixed.start.direct + fixed.start.bounced)[fixed.start.index("KEY")] @ WEIGHTS
    assert math.log2(start_light[0] / start_light[1] / 4.0) == pytest.approx(0.0, abs=0.4)
    # Of the two long walls the one that the fill receptor faces counts for more: their mean.
    stops = []
    for wall in (2, 4):
        hung = surfaces_hung(fixed.start, (f"room: wall {wall}",), 0.025)
        assert hung is not None
        after = hung.tables[0].rgb[fixed.start.index("KEY")] @ WEIGHTS
        stops.append(math.log2(after[0] / after[1] / 5.8))
    assert np.mean(stops) == pytest.approx(0.0, abs=0.4)
    keeps(fixed.confirmed("black cloth over wall 2"))


def test_coarse_trials_are_close_to_fine_ones(bright: Fixed) -> None:
    """A light traced anew where it stands, with the rays of a trial: within 0.05 stop."""
    start = bright.start
    for name in ("KEY", "BACK"):
        s = start.index(name)
        again = light_of_front(start, start.solution.stage.sources[s]) @ WEIGHTS
        was = (start.direct + start.bounced)[s] @ WEIGHTS
        assert_allclose(np.log2(again[:4] / was[:4]), 0.0, atol=0.05)


def test_what_cannot_stand_is_not_told(bright: Fixed) -> None:
    """Farther than the wall, or into the frame."""
    farther = [one for one in bright.candidates if one.says.startswith("BACK farther")]
    assert farther
    assert all(weigh(bright.start, one) is None for one in farther)
