"""Between moments things run on straight lines: where they cross, what is sure, what is unknown."""

from __future__ import annotations

from itertools import pairwise

import pytest
from tests.unit.day.invented import EVENING, every, minutes

from falloff.day.records import Stretch
from falloff.day.stretches import crossing_after, stretches, value_at

TIMES = every(10, 5)  # 0, 10, 20, 30 and 40 minutes


def test_a_stretch_begins_and_ends_where_its_margin_is_nought() -> None:
    # pencil: −1 to 1 in ten minutes passes nought after 5; 1 to −3 in ten after 2.5
    found = stretches(TIMES, [-1.0, 1.0, 1.0, -3.0, -3.0])
    assert found == (Stretch(start=minutes(5), end=minutes(22.5)),)


def test_stretches_at_either_end_of_the_day_and_two_of_them() -> None:
    found = stretches(TIMES, [1.0, -1.0, -1.0, 1.0, 2.0])
    assert [(one.start, one.end) for one in found] == [
        (EVENING, minutes(5)),
        (minutes(25), minutes(40)),
    ]
    assert stretches(TIMES, [-1.0] * 5) == ()
    assert [(one.start, one.end) for one in stretches(TIMES, [0.0] * 5)] == [(EVENING, minutes(40))]


def test_what_is_not_known_does_not_hold() -> None:
    found = stretches(TIMES, [None, 1.0, 1.0, None, None])
    assert [(one.start, one.end) for one in found] == [(minutes(10), minutes(20))]


@pytest.mark.parametrize(
    ("least", "sure"),
    [
        # pencil: the stretch lasts from 5 to 25 minutes; straight lines cross between moments
        ([0.5] * 5, [(5.0, 25.0)]),
        ([-0.5] * 5, []),
        ([-0.5, -0.5, 0.5, -0.5, -0.5], [(15.0, 25.0)]),
        ([-0.5, 0.5, -0.5, -0.5, -0.5], [(5.0, 15.0)]),
    ],
)
def test_a_stretch_is_parted_where_it_is_sure(
    least: list[float | None], sure: list[tuple[float, float]]
) -> None:
    found = stretches(TIMES, [-1.0, 1.0, 1.0, -1.0, -1.0], least)
    assert [(one.start, one.end) for one in found if one.sure] == [
        (minutes(start), minutes(end)) for start, end in sure
    ]
    assert found[0].start == minutes(5)
    assert found[-1].end == minutes(25)
    assert all(one.end == other.start for one, other in pairwise(found))


def test_nothing_is_sure_where_no_spread_is_known() -> None:
    (found,) = stretches(TIMES, [1.0] * 5)
    assert not found.sure


def test_the_second_stretch_is_judged_by_its_own_moments() -> None:
    found = stretches(TIMES, [1.0, -1.0, -1.0, 1.0, 1.0], [-0.5, -2.0, -2.0, 0.5, 0.5])
    # pencil: the second begins at 25 minutes, and is sure from 20 + 10 · 2/2.5 = 28 on
    assert [one.sure for one in found] == [False, False, True]
    assert found[2].start == minutes(28)


def test_the_first_crossing_after_a_time() -> None:
    values = [0.0, 2.0, 0.0, 2.0, 2.0]
    # pencil: through 1 at 5 and 25 minutes upward, at 15 down
    assert crossing_after(TIMES, values, 1.0, after=EVENING) == minutes(5)
    assert crossing_after(TIMES, values, 1.0, after=minutes(6)) == minutes(15)
    assert crossing_after(TIMES, values, 1.0, after=minutes(16)) == minutes(25)
    assert crossing_after(TIMES, values, 1.0, after=minutes(26)) is None
    assert crossing_after(TIMES, values, 3.0, after=EVENING) is None


def test_darkness_lies_below_every_level() -> None:
    found = crossing_after(TIMES, [2.0, 1.0, None, None, None], 0.0, after=EVENING)
    assert found is not None
    assert minutes(10) <= found <= minutes(20)
    assert crossing_after(TIMES, [None] * 5, 0.0, after=EVENING) is None


def test_a_value_between_moments() -> None:
    values = [0.0, 2.0, None, 4.0, 8.0]
    assert value_at(TIMES, values, minutes(2.5)) == 0.5  # pencil
    assert value_at(TIMES, values, minutes(40)) == 8.0
    assert value_at(TIMES, values, minutes(10)) == 2.0  # known, though the next is not
    assert value_at(TIMES, values, minutes(12)) is None
    assert value_at(TIMES, values, minutes(30)) == 4.0
    assert value_at(TIMES, values, minutes(41)) is None
    assert value_at(TIMES, values, minutes(-1)) is None
