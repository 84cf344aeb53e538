"""Choices by the mixed-integer programme: pencil cases, and every combination tried by force."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from tests.unit.balance.posed import WRITTEN, level, lever, problem, table, window

from falloff.balance import ColourChoice, ExposureChoice, best_answer
from falloff.balance.choices import Holding, can_hold, choose
from falloff.balance.conflicts import smallest_conflict
from falloff.balance.judging import judged
from falloff.balance.levels import Levelled, settle_levels
from falloff.balance.problem import AS_IT_STANDS, Answer, Mixing, Problem, as_it_stands
from falloff.balance.terms import terms_of, uv_of
from falloff.document import AnyTarget, ColourTarget, HueTarget, Quantity
from falloff.readings.colour import white_uv
from falloff.spectrum import colour_of_kelvin, colour_of_xy, generic_emitters


def test_a_light_that_must_be_dark_goes_out() -> None:
    """Its lowest steady light is too much: off is the only way (pencil: 0.2 of 400 lx is 80)."""
    wanted = {"wall": level("wall", -4.0, limit="at most")}
    posed = problem([lever("KEY", lowest=0.2)], table({"wall": (400.0,)}, wanted))
    chosen = choose(posed, terms_of(posed, as_it_stands(posed)))
    assert chosen is not None
    assert chosen.shares[0] == 0.0


def test_exposure_is_chosen_where_dims_cannot_do_it() -> None:
    """A window gives 1600 lx where key is 400: two stops more ND is the answer (pencil)."""
    exposures = (WRITTEN, *(ExposureChoice(4.0, 800.0, nd, nd, 0.1) for nd in (1.0, 2.0, 3.0)))
    wanted = {"face": level("face", 0.0)}
    posed = problem([window()], table({"face": (1600.0,)}, wanted, exposures=exposures))
    chosen = choose(posed, terms_of(posed, as_it_stands(posed)))
    assert chosen is not None
    assert chosen.exposures == (2,)


def test_the_gel_that_brings_a_colour_in() -> None:
    """A tungsten key is to read 4300 K: of half and full blue the half one does it."""
    tungsten = colour_of_kelvin(3200.0)
    half = ColourChoice("half", colour_of_kelvin(4300.0) / tungsten * 0.5, 0.3)
    full = ColourChoice("full", colour_of_kelvin(5600.0) / tungsten * 0.25, 0.3)
    wanted: dict[str, AnyTarget] = {
        "face": level("face", 0.0),
        "white": ColourTarget(reading="face", colour=Quantity(4300.0, "4300 K")),
    }
    key = replace(lever("KEY"), colours=(AS_IT_STANDS, half, full))
    posed = problem([key], table({"face": (2000.0,)}, wanted, tint={"0": tungsten.tolist()}))
    chosen = choose(posed, terms_of(posed, as_it_stands(posed)))
    assert chosen is not None
    assert [one.name for one in chosen.colours] == ["half"]
    # Without a wish for a colour it stays as it is: gel costs.
    plain = replace(posed.tables[0], targets={"face": wanted["face"]})
    posed = problem([key], plain)
    chosen = choose(posed, terms_of(posed, as_it_stands(posed)))
    assert chosen is not None
    assert [one.name for one in chosen.colours] == [""]


def _by_force(posed: Problem) -> float:
    """The least margin of the best over every way of on and off and every exposure."""
    start = as_it_stands(posed)
    terms = terms_of(posed, start)
    count = len(posed.levers)
    found: list[Levelled] = []
    for alive in itertools.product((0.0, 1.0), repeat=count):
        for exposure in range(len(posed.tables[0].exposures)):
            begun = Answer(np.array(alive) * posed.now, (AS_IT_STANDS,) * count, (exposure,))
            found.append(settle_levels(posed, terms, begun))
    best = min(found, key=lambda one: one.cost)
    return _least_margin(posed, best.answer)


def _least_margin(posed: Problem, answer: Answer) -> float:
    """What the target nearest to its edge has in hand, in stops."""
    return min(one.margin or 0.0 for one in judged(posed, answer).values())


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_no_combination_that_can_be_met_is_overlooked(seed: int) -> None:
    """Where some combination meets every target, so does the chosen one."""
    rng = np.random.default_rng(seed)
    light = {f"r{k}": tuple(rng.lognormal(5.0, 1.2, 4)) for k in range(4)}
    wanted = {f"t{k}": level(f"r{k}", float(rng.uniform(-2.0, 2.0))) for k in range(4)}
    exposures = (
        WRITTEN,
        ExposureChoice(4.0, 800.0, 1.0, 1.0),
        ExposureChoice(4.0, 400.0, 1.0, 2.0),
    )
    posed = problem(
        [lever(f"L{s}", lowest=0.1) for s in range(4)],
        table(light, wanted, exposures=exposures),
    )
    terms = terms_of(posed, as_it_stands(posed))
    chosen = choose(posed, terms)
    assert chosen is not None
    assert ((chosen.shares == 0.0) | (chosen.shares >= 0.1)).all()  # off, or no lower than steady
    ours = settle_levels(posed, terms, chosen)
    margin = _by_force(posed)
    assume(not -0.02 < margin < 0.0034)  # an answer keeps to 99 % of a tolerance: a hair is neither
    assert can_hold(posed, terms) == (margin > 0.0)
    if margin > 0.0:
        assert _least_margin(posed, ours.answer) > 0.0


def test_the_smallest_conflict_by_pencil() -> None:
    """One light on two walls cannot make one of them a stop over the other and the reverse."""
    light = {"left": (400.0, 0.0), "right": (400.0, 0.0), "face": (0.0, 400.0)}
    wanted = {
        "face": level("face", 0.0),
        "left hot": level("left", 1.0, over="right"),
        "alike": level("left", 0.0, over="face"),
    }
    posed = problem([lever("WALLS"), lever("KEY")], table(light, wanted))
    terms = terms_of(posed, as_it_stands(posed))
    found, smallest = smallest_conflict(terms, Holding(posed, {one: (one,) for one in terms}).find)
    assert [one.target for one in found] == ["left hot"]
    assert smallest


def test_two_that_exclude_each_other_are_named_among_many() -> None:
    light = {"face": (400.0, 0.0), "wall": (200.0, 0.0), "bench": (0.0, 300.0)}
    wanted = {
        "face": level("face", 0.0),
        "bench": level("bench", -1.0),
        "wall": level("wall", -3.0),
        "bench low": level("bench", 0.0, limit="at most"),
    }
    posed = problem([lever("KEY"), lever("LAMP")], table(light, wanted))
    terms = terms_of(posed, as_it_stands(posed))
    found, smallest = smallest_conflict(terms, Holding(posed, {one: (one,) for one in terms}).find)
    assert {one.target for one in found} == {"face", "wall"}
    assert smallest


@settings(max_examples=60, deadline=None)
@given(st.lists(st.frozensets(st.integers(0, 5), min_size=1, max_size=4), max_size=5))
def test_the_smallest_conflict_is_smallest(cores: list[frozenset[int]]) -> None:
    """Against every subset tried by force: the cores are what cannot hold."""

    def holding(some: Sequence[int]) -> frozenset[int] | None:
        return None if any(core <= set(some) for core in cores) else frozenset(some)

    found, smallest = smallest_conflict(tuple(range(6)), holding)
    assert smallest
    if not cores:
        assert found == ()
    else:
        assert len(found) == min(len(core) for core in cores)
        assert frozenset(found) in cores


def test_where_many_exclude_each_other_none_can_be_left_out() -> None:
    """Twelve things of which no four go together: four are told, perhaps not the fewest."""

    def holding(some: Sequence[int]) -> frozenset[int] | None:
        return None if len(set(some)) > 3 else frozenset(some)

    found, smallest = smallest_conflict(tuple(range(12)), holding)
    assert len(found) == 4
    assert not smallest


def test_a_head_that_mixes_takes_the_colour_that_another_light_leaves_to_it() -> None:
    """White light lies on a wall that is to be teal: the head's own colour must be past teal.

    Pencil: at equal light the mix is the mean of both, so half as far from white as the head.
    """
    white = colour_of_kelvin(5600.0)
    xy = [one.xy for one in generic_emitters("red", "green", "blue")]
    emitters = np.array([colour_of_xy(one) for one in xy])

    def set_to(x: float, y: float) -> ColourChoice:
        return ColourChoice(f"at xy {x:.3f}, {y:.3f}", colour_of_xy((x, y)) / white, 0.05)

    head = replace(lever("HUE"), mixing=Mixing(emitters / white, white, set_to))
    hue = Quantity(math.radians(200.0), "200 deg")
    give = Quantity(math.radians(15.0), "15 deg")
    wanted: dict[str, AnyTarget] = {
        "teal": HueTarget(reading="wall", hue=hue, tolerance=give, saturation=0.6),
        "bright": level("wall", 1.0),
    }
    tint = {"0": white.tolist(), "1": white.tolist()}
    posed = problem([window(), head], table({"wall": (400.0, 800.0)}, wanted, tint=tint))
    answer = best_answer(posed)
    got = judged(posed, answer)
    assert all(one.holds for one in got.values()), {key: one.got for key, one in got.items()}
    # Alone the head is more saturated than the wall that it lights together with the window.
    choice = answer.colours[1]
    assert choice.name
    own = uv_of((choice.rgb * white)[None])[0]
    assert 13.0 * float(np.hypot(*(own - white_uv(5600.0)))) > 1.3 * 0.6
