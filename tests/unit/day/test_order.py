"""In which order shots go: what the sun leaves first comes first."""

from __future__ import annotations

from datetime import datetime

from tests.unit.day.invented import EVENING, day_of, minutes

from falloff.day import Day, Stretch, TargetDay, order_of_shots
from falloff.day.order import both


def stretch(start: float, end: float, *, sure: bool = False) -> Stretch:
    return Stretch(start=minutes(start), end=minutes(end), sure=sure)


def with_targets(setup: str, *sets: tuple[Stretch, ...], hour: datetime = EVENING) -> Day:
    targets = tuple(
        TargetDay(name=f"t{k}", asks="face level with key", holds=holds)
        for k, holds in enumerate(sets)
    )
    return day_of(setup, hour, targets=targets)


def test_where_two_sets_of_stretches_overlap() -> None:
    a = (stretch(0, 30, sure=True), stretch(60, 90))
    b = (stretch(20, 70, sure=True),)
    assert both(a, b) == (stretch(20, 30, sure=True), stretch(60, 70))
    assert both(a, ()) == ()
    assert both((stretch(0, 10),), (stretch(10, 20),)) == ()  # they only touch


def test_the_light_that_goes_first_is_shot_first() -> None:
    days = [
        with_targets("ALL DAY", (stretch(0, 120, sure=True),)),
        with_targets("LATE", (stretch(30, 110),)),
        with_targets("EARLY", (stretch(0, 40),)),
    ]
    turns = order_of_shots(days)
    assert [one.setup for one in turns] == ["EARLY", "LATE", "ALL DAY"]
    assert "18:00 to 18:40" in turns[0].why
    assert turns[2].why == "at any hour"


def test_all_targets_of_a_setup_count_together() -> None:
    days = [
        with_targets("ONE", (stretch(0, 60),)),
        with_targets("TWO", (stretch(0, 100),), (stretch(10, 50),)),
    ]
    first, second = order_of_shots(days)
    assert (first.setup, first.stretches) == ("TWO", (stretch(10, 50),))
    assert second.setup == "ONE"


def test_light_that_comes_and_stays_has_no_haste() -> None:
    days = [
        with_targets("FROM", (stretch(20, 120, sure=True),)),
        with_targets("GOES", (stretch(0, 119),)),
    ]
    first, comes = order_of_shots(days)
    assert (first.setup, comes.setup) == ("GOES", "FROM")
    assert comes.why == "from 18:20 on"


def test_a_setup_whose_targets_hold_at_no_hour_says_so() -> None:
    days = [with_targets("NEVER", ()), with_targets("NOW", (stretch(0, 10),))]
    now, never = order_of_shots(days)
    assert (now.setup, never.setup) == ("NOW", "NEVER")
    assert never.stretches == ()
    assert "at no hour" in never.why


def test_without_targets_the_key_counts_and_hours_break_ties() -> None:
    held = (stretch(0, 50),)
    days = [
        day_of("SECOND", minutes(20), near_hour=held),
        day_of("FIRST", minutes(10), near_hour=held),
    ]
    turns = order_of_shots(days)
    assert [one.setup for one in turns] == ["FIRST", "SECOND"]
    assert "key stays within half a stop" in turns[0].why


def test_the_stretch_that_the_hour_lies_in_is_meant_and_what_ends_it_told() -> None:
    """Sure and perhaps that follow on one another are one stretch; the night's counts for none."""
    held = (stretch(0, 10, sure=True), stretch(40, 70, sure=True), stretch(70, 80))
    (turn,) = order_of_shots([with_targets("NOW", held, hour=minutes(45))])
    assert turn.stretches == (stretch(40, 80),)
    assert turn.why == "18:40 to 19:20, perhaps; then t0 is over"
