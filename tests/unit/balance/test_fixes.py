"""Fixes weighed and ranked: pencil sums by kind, and whole runs in small rooms."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import time
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.unit.balance.fix_rooms import SOFT, SPOT, Fixed, pale_room
from tests.unit.balance.posed import level, lever, problem, table, window

from falloff.balance import Problem, best_answer
from falloff.balance.fixes.camera import accepted, shifted
from falloff.balance.fixes.candidates import Candidate, Hire
from falloff.balance.fixes.efforts import Effort, effort_minutes
from falloff.balance.fixes.find import dims_do_it, find_fixes, ranked
from falloff.balance.fixes.start import FixCase, Start, needs_of
from falloff.balance.fixes.trials import Board
from falloff.balance.fixes.weighing import Weighed, fix_of, weigh, weighed, weighed_at
from falloff.balance.judging import judged
from falloff.document import Put
from falloff.readings import Judged

VIEW = {"face": (400.0, 100.0), "view": (0.0, 9000.0)}
WANTED = {
    "face": level("face", 0.0, tolerance=0.2),
    "view": level("view", 2.0, limit="at most", tolerance=0.2),
}


def started(posed: Problem) -> Start:
    """A start without a room: its problem is all that is weighed."""
    answer = best_answer(posed)
    case = cast(
        "FixCase",
        SimpleNamespace(setups=("WIDE",), document=SimpleNamespace(setups={"WIDE": None})),
    )
    return Start(case, posed, answer, judged(posed, answer))


def lit(posed: Problem, factors: dict[tuple[int, int], float]) -> Problem:
    """The problem with so many times the light of a source at a reading."""
    one = posed.tables[0]
    rgb = one.rgb.copy()
    for (s, k), factor in factors.items():
        rgb[s, k] *= factor
    return replace(posed, tables=(replace(one, rgb=rgb),))


def candidate(posed: Problem | None, *, says: str = "it", minutes: float = 5.0, hands: int = 1,
              hire: float | None = None, kind: str = "window") -> Candidate:  # fmt: skip
    return Candidate(
        kind=kind, says=says, does=(says,), edits=(Put(("setups", says), "x"),),  # type: ignore[arg-type]
        trial=lambda: posed, effort=Effort(minutes, hands), hire=Hire(hire),
    )  # fmt: skip


def test_a_gel_by_pencil() -> None:
    """The window gives all of a view that is log2(9000/400) - 2 = 2.49 stops too bright. Two stops
    of gel leave 0.49, less the tolerance of 0.2; the face, 100 lx of 400 from it, is dimmed up.
    """
    posed = problem([lever("KEY"), window()], table(VIEW, WANTED))
    start = started(posed)
    missed = math.log2(9000.0 / 400.0) - 2.0 - 0.2
    assert start.missed == (("WIDE", "view"),)
    gelled = lit(posed, {(1, 0): 0.25, (1, 1): 0.25})
    one = weigh(start, candidate(gelled))
    assert one is not None
    assert one.worth_stops == pytest.approx(2.0, abs=1e-6)
    told = fix_of(start, one)
    (target,) = told.targets
    assert target.name == "view"
    assert target.before == pytest.approx(missed)
    assert target.after == pytest.approx(missed - 2.0)
    assert not told.brings_all


def test_dims_are_settled_anew() -> None:
    """A second key beside the first: twice the light, and the dim goes down to half."""
    light = {"face": (300.0, 100.0)}
    posed = problem([lever("KEY"), window()], table(light, {"face": level("face", 0.5)}))
    start = started(posed)
    # Pencil: log2(400/400) is half a stop short, so missed by 0.5 - 1/3 with KEY at full.
    (key,) = start.judged
    assert not start.judged[key].holds
    one = weighed(start, candidate(None), lit(posed, {(0, 0): 2.0}))
    assert one.brings_all
    wanted = 400.0 * 2.0**0.5
    assert 600.0 * one.answer.shares[0] + 100.0 == pytest.approx(wanted, rel=0.25)
    assert one.answer.shares[0] < 1.0


def test_side_effects_are_told() -> None:
    """The wall goes dark by 2 stops, the other target is lost, and a light goes to full."""
    light = {
        "face": (500.0, 300.0),
        "view": (0.0, 9000.0),
        "wall": (2.0, 98.0),
        "hair": (0.0, 90.0),
    }
    targets = WANTED | {"hair": level("hair", -2.2, tolerance=0.3)}
    posed = problem([lever("KEY"), window()], table(light, targets))
    start = started(posed)
    assert start.judged["WIDE", "hair"].holds
    dark = lit(posed, dict.fromkeys([(1, 0), (1, 1), (1, 2), (1, 3)], 0.25))
    told = fix_of(start, weighed(start, candidate(None), dark))
    assert any("hair in WIDE held, and no longer does" in one for one in told.side_effects)
    assert any("wall" in one and "darker" in one for one in told.side_effects)


def test_needs_go_both_ways_in_a_ratio() -> None:
    """Too little at one reading is too much at the other."""
    light = {"key": (400.0,), "fill": (300.0,)}
    wanted = {"contrast": level("fill", -3.0, over="key")}
    posed = problem([lever("KEY")], table(light, wanted))
    answer = best_answer(posed)
    (needs,) = needs_of(posed, answer, {("WIDE", "contrast")})
    assert_allclose(needs, [1.0, -1.0])


def test_a_net_for_the_lighter_face() -> None:
    """Practitioner case C45: faces of 36 % and 16 % are log2(36/16) = 1.17 stops apart as they are
    pictured; to have them a tenth of a stop apart, a double net on the lighter does one stop.
    """
    light = {"dark face": (400.0,), "fair face": (400.0 * 36.0 / 16.0,)}
    wanted = {"faces": level("fair face", 0.0, over="dark face", tolerance=0.2)}
    posed = problem([lever("KEY")], table(light, wanted))
    start = started(posed)
    assert start.judged["WIDE", "faces"].holds is False
    net = weighed(start, candidate(None), lit(posed, {(0, 1): 0.5}))
    half = weighed(start, candidate(None), lit(posed, {(0, 1): 0.5**0.5}))
    assert net.brings_all
    assert half.worth_stops == pytest.approx(0.5, abs=1e-6)


def test_an_exposure_changes_no_ratio() -> None:
    light = {"key": (800.0,), "fill": (400.0,)}
    wanted = {"face": level("key", 0.0), "contrast": level("fill", -2.0, over="key")}
    posed = problem([window("LAMP")], table(light, wanted))
    start = started(posed)
    one = weighed(start, candidate(None), shifted(posed, 0, 1.0))
    assert one.got["WIDE", "face"].holds
    assert one.got["WIDE", "contrast"].off == pytest.approx(start.judged["WIDE", "contrast"].off)


# Ranks -----------------------------------------------------------------------------------


MISSED = {
    ("WIDE", "face"): Judged(
        target="face", asks="", got="", off=1.0, margin=-1.0, unit="stops", holds=False
    )
}


def of_worth(stops: float, **told: object) -> Weighed:
    posed = problem([window()], table({"face": (400.0,)}, {}))
    made = candidate(posed, **told)  # type: ignore[arg-type]
    return Weighed(made, posed, best_answer(posed), {}, stops)


def test_effort_by_pencil() -> None:
    """5 minutes + 10 minutes of 2 people + a rate of 40 = 65."""
    assert effort_minutes(Effort(10.0, 2), 40.0) == pytest.approx(65.0)
    assert effort_minutes(Effort(10.0, 2), None) == pytest.approx(25.0)


def test_rank_is_stops_for_effort() -> None:
    """2 stops in 25 minutes of 2 people (2/55) come behind 1 stop in 5 minutes (1/10)."""
    big = of_worth(2.0, says="big", minutes=25.0, hands=2)
    small = of_worth(1.0, says="small", minutes=5.0)
    hired = of_worth(1.0, says="hired", minutes=5.0, hire=90.0)
    assert [one.candidate.says for one in ranked([big, hired, small])] == ["small", "big", "hired"]


def test_what_brings_all_in_comes_first() -> None:
    """It holds everything, for ten times the effort."""
    whole = of_worth(1.0, says="whole", minutes=95.0)
    part = replace(of_worth(1.0, says="part", minutes=5.0), got=MISSED)
    assert [one.candidate.says for one in ranked([part, whole])] == ["whole", "part"]


def test_a_target_that_is_lost_counts_half_a_stop() -> None:
    """1 stop in 10 minutes that loses a target, (1 - 0.5) / 10, comes behind 0.6 stop, 0.6 / 10."""
    loses = replace(of_worth(1.0, says="loses"), got=MISSED, comes_in=-1)
    keeps = replace(of_worth(0.6, says="keeps"), got=MISSED)
    assert [one.candidate.says for one in ranked([loses, keeps])] == ["keeps", "loses"]


def test_a_kind_is_told_twice_of_one_thing_at_most() -> None:
    every = [replace(of_worth(2.0 + 0.1 * k), worth_stops=2.0 + 0.1 * k) for k in range(5)]
    assert len(ranked(every)) == 2


# Geometry --------------------------------------------------------------------------------


def test_a_board_hides_what_lies_behind_it() -> None:
    board = Board(np.array([1.0, 0.0, 1.0]), np.array([-1.0, 0.0, 0.0]), (1.0, 0.6))
    here = np.array([0.0, 0.0, 1.0])
    assert board.hides(here, np.array([2.0, 0.0, 1.0]))
    assert not board.hides(here, np.array([0.5, 0.0, 1.0]))
    assert not board.hides(here, np.array([2.0, 1.2, 1.0]))
    assert board.hides(here, np.array([2.0, 0.9, 1.0]))
    assert not board.hides(here, np.array([2.0, 0.0, 1.7]))


# Whole runs ------------------------------------------------------------------------------


def test_nothing_missed_is_nothing_to_fix() -> None:
    fixed = Fixed(pale_room(targets="  face: {reading: key cheek, level: 1 stop}"))
    found = find_fixes(fixed.case)
    assert found.taken == ()
    assert "nothing to fix" in found.told.says[0]


def test_nothing_wanted_is_said() -> None:
    text = pale_room(targets="").replace("targets:\n", "")
    found = find_fixes(Fixed(text).case)
    assert found.taken == ()
    assert "Nothing is wanted" in found.told.says[0]


def test_a_whole_run_ranks_and_confirms() -> None:
    """The first are traced, and what is told is what the trace has."""
    fixed = Fixed(pale_room(targets="  view low: {reading: view, level: 4 stops, limit: at most}"))
    found = find_fixes(fixed.case, trace=fixed.traced, confirmed=2)
    first, second = (one.fix for one in found.taken[:2])
    for one in (first, second):
        assert one.confirmed is not None
        assert one.confirmed.keeps
        assert one.worth_stops == pytest.approx(one.confirmed.worth_stops)
    scores = [one.fix.worth_stops / one.fix.effort_minutes for one in found.taken
              if not one.fix.later and one.fix.kind != "accept"]  # fmt: skip
    assert scores == sorted(scores, reverse=True)
    kinds = {one.fix.kind for one in found.taken}
    assert {"window", "hour", "accept"} <= kinds
    assert found.taken[-1].fix.kind == "accept"
    hours = [one.fix.says for one in found.taken if one.fix.kind == "hour"]
    assert all(time.fromisoformat(says.split()[-1]) for says in hours)


def test_the_grade_comes_after_what_does_as_much_on_set() -> None:
    fixed = Fixed(pale_room(targets="  view low: {reading: view, level: 4 stops, limit: at most}")
                  .replace("key: key cheek", "key: key cheek, highlight: 9 stops"))  # fmt: skip
    found = find_fixes(fixed.case)
    at = [k for k, one in enumerate(found.taken) if one.fix.later]
    assert len(at) == 1
    grade = found.taken[at[0]].fix
    behind = [one.fix for one in found.taken[at[0] + 1 :] if one.fix.kind != "accept"]
    assert all(one.worth_stops < grade.worth_stops - 0.049 for one in behind)
    assert any("below where the camera clips" in one for one in grade.side_effects)


def test_what_clips_is_not_left_to_the_grade() -> None:
    fixed = Fixed(pale_room(targets="  view low: {reading: view, level: 1 stop, limit: at most}"))
    found = find_fixes(fixed.case, hours=False)
    assert not any(one.fix.later for one in found.taken)


def test_no_fixture_and_a_reading_in_the_dark() -> None:
    """Nothing gives light: it is said, and nothing breaks."""
    text = pale_room(fixtures=(), targets="  face: {reading: key cheek, level: 0 stops}")
    text = text.replace("fixtures:\n\n", "")
    start, stop = text.index("openings:"), text.index("subjects:")
    text = text[:start] + text[stop:]
    found = find_fixes(Fixed(text).case)
    assert "No light of this scene reaches key cheek" in " ".join(found.told.says)
    assert "none brings it nearer" in " ".join(found.told.says)


def test_accepting_says_what_one_lives_with() -> None:
    fixed = Fixed(pale_room(targets="  view low: {reading: view, level: 1 stop, limit: at most}"))
    (says,) = accepted(fixed.start).side_effects
    assert says.startswith("view low in WIDE stays at")


def test_a_light_moved_back_evens_a_deep_place() -> None:
    """Practitioner case C14: 8 ft to the near and 16 ft to the far is 2.0 stops; 4 ft farther back,
    12 and 20 ft, is 2 log2(20/12) = 1.47: it does as much as one half wire, half a stop. Here the
    light is moved 1.4 times as far from the near: 11.2 and 19.2 ft, 2 log2(19.2/11.2) = 1.56.
    """
    text = """falloff: 2
title: Deep hall
units: imperial
room:
  floor: [[0 ft, 0 ft], [14 ft, 0 ft], [14 ft, 34 ft], [0 ft, 34 ft]]
  height: 12 ft
  floor_surface: black cloth
  ceiling_surface: black cloth
  wall_surface: black cloth
fixtures:
  HEAD: {light: panel, size: [4 in, 4 in], output: 4000 lm, colour: 5600 K,
         at: [7 ft, 13 ft, 6 ft], aim: [7 ft, 21 ft, 6 ft]}
cameras:
  CAM: {at: [13 ft, 21 ft, 5 ft], aim: [7 ft, 30 ft, 5 ft], lens: 50 mm, gate: super 35}
setups:
  WIDE: {camera: CAM, stop: T2.8, iso: 800, shutter: 180 deg}
readings:
  near: {at: [7 ft, 21 ft, 6 ft], normal: [0, -1, 0]}
  far: {at: [7 ft, 29 ft, 6 ft], normal: [0, -1, 0]}
targets:
  even: {reading: near, level: 1 stop, over: far, limit: at most}
"""
    fixed = Fixed(text)
    lux = (fixed.start.direct + fixed.start.bounced).sum(-1)[0]
    assert math.log2(lux[0] / lux[1]) == pytest.approx(2.0, abs=0.05)
    one = fixed.weighed("HEAD farther, 11")
    moved = one.problem.tables[0].rgb.sum(-1)[0]
    assert math.log2(moved[0] / moved[1]) == pytest.approx(2.0 * math.log2(19.2 / 11.2), abs=0.05)
    assert one.worth_stops == pytest.approx(0.44, abs=0.07)


def test_the_sum_of_two_lights_is_told_of_both() -> None:
    """Two setups of one arrangement share a fix; SPOT and SOFT are named as the scene does."""
    text = pale_room(fixtures=(SOFT, SPOT), targets="  view low: {reading: view, level: 1 stop, "
                     "limit: at most}")  # fmt: skip
    text = text.replace("readings:\n", "  CLOSE: {like: WIDE, iso: 1600}\nreadings:\n", 1)
    found = find_fixes(Fixed(text).case, hours=False)
    first = found.taken[0].fix
    assert {one.setup for one in first.targets} == {"WIDE", "CLOSE"}


def test_ones_own_kit_comes_first_with_its_hire(tmp_path: Path) -> None:
    """A head of the van is taken before a smaller one of the catalogue, at its day rate."""
    (tmp_path / "van.kit.toml").write_text(
        'falloff_kit = 1\ntitle = "Van"\ncurrency = "GBP"\n\n'
        '[[item]]\nitem = "600 W LED, open face"\nowned = false\nday_rate = 45\n',
        encoding="utf-8",
    )
    wanted = "  face: {reading: key cheek, level: 3 stops}"
    text = pale_room(fixtures=(SOFT.replace("2000 lm", "200 lm"),), targets=wanted)
    text = text.replace("units: metric", "units: metric\nown_kit: van.kit.toml")
    fixed = Fixed(text, path=str(tmp_path / "room.scene.yaml"))
    one = fixed.weighed("a unit")
    assert "600 W LED, open face" in one.candidate.says
    assert one.candidate.hire.rate == 45.0
    assert one.effort == pytest.approx(5.0 + 10.0 + 45.0)


def test_a_setup_that_takes_after_another_is_weighed_with_it() -> None:
    """CLOSE is like WIDE and has no stop of its own: what moves WIDE's key moves CLOSE's too."""
    wanted = "  view low: {reading: view, level: 4 stops, limit: at most, setups: [WIDE]}"
    text = pale_room(targets=wanted + "\n  table: {reading: table, level: 1 stop}")
    text = text.replace("readings:\n", "  CLOSE: {like: WIDE}\nreadings:\n", 1)
    fixed = Fixed(text)
    one = fixed.weighed("T")
    before, after = fixed.start.problem.tables, one.problem.tables
    stops = [math.log2(b.key_lux / a.key_lux) for a, b in zip(before, after, strict=True)]
    assert stops[0] == pytest.approx(stops[1])
    assert stops[0] > 0.5
    confirmed = fixed.confirm(one).fix.confirmed
    assert confirmed is not None
    assert confirmed.keeps


def test_what_a_dim_chooses_between_is_no_fix() -> None:
    """A head twice as strong at a quarter gives 400 lx, key, where KEY at full gives 800, a stop
    over it: a target is lost, another comes in, and the shade is 0.6 stop nearer. KEY at half does
    the same without it.
    """
    light = {"face": (800.0, 0.0), "shade": (80.0, 100.0)}
    either = {"low": level("face", 0.0, tolerance=0.2), "high": level("face", 1.0, tolerance=0.2),
              "shade up": level("shade", 1.0, over="face", tolerance=0.2)}  # fmt: skip
    posed = problem([lever("KEY"), window()], table(light, either))
    full = replace(best_answer(posed), shares=np.array([1.0, 1.0]))
    start = Start(started(posed).case, posed, full, judged(posed, full))
    answer = replace(full, shares=np.array([0.25, 1.0]))
    stronger = lit(posed, {(0, 0): 2.0, (0, 1): 2.0})
    one = weighed_at(start, candidate(None), stronger, answer)
    assert one.worth_stops == pytest.approx(math.log2(140.0 / 400.0) - math.log2(180.0 / 800.0))
    assert one.comes_in == 0
    assert dims_do_it(start, one)


def test_what_no_dim_gives_is_a_fix() -> None:
    """2 stops over key are wanted of a light that gives one."""
    wanted = {"high": level("face", 2.0, tolerance=0.2)}
    posed = problem([lever("KEY")], table({"face": (800.0,)}, wanted))
    start = started(posed)
    one = weighed_at(start, candidate(None), lit(posed, {(0, 0): 2.0}), start.answer)
    assert one.comes_in == 1
    assert not dims_do_it(start, one)
