"""What is left to the grade: a window over a face or a thing, and nothing that no window does."""

from __future__ import annotations

import pytest
from tests.unit.balance.fix_rooms import Fixed, pale_room

from falloff.balance.fixes.efforts import GRADE_WINDOW
from falloff.balance.fixes.grade import graded

HELD = ("key: key cheek", "key: key cheek, highlight: 12 stops, shadow: 12 stops")
APART = """  left: {at: {wall: 3, along: 0.5 m, height: 1.7 m}}
  right: {at: {wall: 3, along: 2.6 m, height: 1.7 m}}
targets:
"""


def of(targets: str) -> Fixed:
    """The pale room shot with a camera that holds everything, two places of one wall read."""
    return Fixed(pale_room(targets=targets).replace(*HELD).replace("targets:\n", APART))


def test_a_ratio_within_one_face_is_not_left_to_the_grade() -> None:
    """A window over a face lifts both cheeks alike."""
    fixed = of("  contrast: {reading: shadow cheek, level: -5 stops, over: key cheek}")
    assert fixed.start.missed
    assert graded(fixed.start) is None


def test_two_places_of_one_wall_keep_their_ratio() -> None:
    fixed = of("  split: {reading: left, level: 4 stops, over: right}")
    assert fixed.start.missed
    assert graded(fixed.start) is None


def test_one_wall_is_not_lifted_and_lowered_at_once() -> None:
    """The left wanted far up and the right far down: one window does one of them at most."""
    fixed = of("  up: {reading: left, level: 3 stops, limit: at least}\n"
               "  down: {reading: right, level: -5 stops, limit: at most}\n"
               "  face: {reading: key cheek, level: 0 stops}")  # fmt: skip
    assert len(fixed.start.missed) == 2
    fix = graded(fixed.start)
    assert fix is not None
    assert not fix.brings_all
    assert fix.minutes == pytest.approx(GRADE_WINDOW.minutes)
    before = sum(one.before for one in fix.targets)
    assert sum(one.after for one in fix.targets) == pytest.approx(before - fix.worth_stops)


def test_a_point_in_mid_air_is_in_no_picture() -> None:
    fixed = of("  low: {reading: table, level: -6 stops, limit: at most}\n"
               "  face: {reading: key cheek, level: 0 stops}")  # fmt: skip
    assert ("WIDE", "low") in fixed.start.missed
    assert graded(fixed.start) is None


def test_a_window_lowers_by_what_is_missed() -> None:
    """A window takes the view down by what it is too bright; minutes of somebody are its price."""
    fixed = of("  view low: {reading: view, level: 4 stops, limit: at most}\n"
               "  face: {reading: key cheek, level: 0 stops}")  # fmt: skip
    (missed,) = fixed.start.missed
    short = -(fixed.start.judged[missed].margin or 0.0)
    fix = graded(fixed.start)
    assert fix is not None
    assert fix.brings_all
    assert fix.later
    assert fix.worth_stops == pytest.approx(short)
    assert fix.says.startswith("leave it for the grade: view")
    assert fix.says.endswith("stops down")
    told = float(fix.says.split()[-3])
    assert short - 0.05 <= told <= short + 0.1501
    assert fix.minutes == pytest.approx(GRADE_WINDOW.minutes)
