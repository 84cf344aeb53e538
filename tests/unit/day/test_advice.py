"""What is told of a day's levels: ND to pull, dusk, gel against a view, polarisers, countdowns."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.unit.day.invented import EVENING, every, minutes, views

from falloff.day.advice import (
    countdown,
    dusk_of,
    nd_pulls,
    polariser_stops,
    polariser_turn_deg,
    view_fix,
)

TIMES = every(10, 8)
FALLING = [-float(k) for k in range(8)]  # a stop in ten minutes


def pulled(levels: list[float | None], nd_stops: float) -> list[tuple[float, float, float]]:
    """Minutes from six, ND before and after."""
    found = nd_pulls(TIMES, levels, nd_stops=nd_stops, start=EVENING)
    return [((one.at - EVENING).total_seconds() / 60.0, one.before, one.after) for one in found]


def test_nd_is_pulled_a_stop_at_a_time_as_dusk_falls() -> None:
    """pencil: a stop in ten minutes: half a stop under after 5, and again every ten from there."""
    assert pulled(list(FALLING), 3.0) == [(5.0, 3.0, 2.0), (15.0, 2.0, 1.0), (25.0, 1.0, 0.0)]
    assert pulled(list(FALLING), 0.0) == []  # none is on that could come out


def test_the_densities_that_are_sold_are_pulled_to_their_ends() -> None:
    """ND 0.3 is 0.997 stop, ND 2.1 is 6.976 and ND 2.4 is 7.973 (log2 10 times each; pencil)."""
    one, seven, eight = (math.log2(10.0) * each for each in (0.3, 2.1, 2.4))
    rising: list[float | None] = [0.1 * k for k in range(8)]
    ((when, before, after),) = pulled(rising, seven)
    assert_allclose([when, before, after], [50.0, seven, eight], atol=1e-9)
    assert pulled(rising, eight) == []  # no denser one is sold
    falling: list[float | None] = [-0.1 * k for k in range(8)]
    ((when, before, after),) = pulled(falling, one)
    assert_allclose([when, before, after], [50.0, one, 0.0], atol=1e-9)
    # and one after another, from the densest to none
    told = pulled([-0.1 * k * k for k in range(8)], 3.0 * one)
    assert [round(after / one, 1) for _, _, after in told] == [2.0, 1.0, 0.0]


def test_nd_is_put_in_as_it_grows_light() -> None:
    rising = [0.1 * k for k in range(8)]
    # pencil: half a stop over after 50 minutes; a stop and a half is never reached
    assert pulled(list(rising), 0.0) == [(50.0, 0.0, 1.0)]


def test_nd_goes_back_in_when_a_cloud_has_passed() -> None:
    """pencil: down a stop and up two: out at 5, in again at 15 and 25 minutes."""
    levels = [0.0, -1.0, 0.0, 1.0, 1.0, 1.0, 1.0, 1.0]
    assert pulled(list(levels), 2.0) == [(5.0, 2.0, 1.0), (15.0, 1.0, 2.0), (25.0, 2.0, 3.0)]


def test_no_nd_is_told_of_the_dark() -> None:
    assert pulled([None] * 8, 3.0) == []


def test_the_minutes_of_dusk() -> None:
    """pencil: from 4 over to 4 under in 32 minutes, a quarter of a stop a minute."""
    times = every(8, 5)
    dusk = dusk_of(views(times, [4.0, 2.0, 0.0, -2.0, -4.0]), "WINDOW")
    assert dusk is not None
    assert (dusk.start, dusk.level, dusk.end) == (minutes(6), minutes(16), minutes(24))
    assert (dusk.over, dusk.under) == (2.5, -2.0)
    assert dusk.stops_a_minute == 0.25


def test_dusk_of_a_view_that_is_not_there_or_never_falls() -> None:
    times = every(8, 5)
    assert dusk_of(views(times, [4.0, 2.0, 0.0, -2.0, -4.0]), "OTHER") is None
    assert dusk_of(views(times, [None] * 5), "WINDOW") is None
    assert dusk_of(views(times, [4.0] * 5), "WINDOW") is None


def test_a_view_that_falls_comes_back_and_falls_for_good() -> None:
    """The last time counts: a cloud in the afternoon is no dusk. pencil: 2.5 at 35 minutes."""
    times = every(10, 6)
    dusk = dusk_of(views(times, [4.0, 1.0, 4.0, 4.0, 1.0, -2.5]), "WINDOW")
    assert dusk is not None
    assert dusk.start == minutes(35)


def test_gel_that_brings_a_view_down() -> None:
    """pencil: with x = 2^−g of gel g, 4 + log2 x − log2(½ + ½ x) = 2.5 at x = 0.2147, g = 2.219."""
    fix = view_fix(views(TIMES, [4.0] * 8), "WINDOW", hour=EVENING, shares=(0.5, 0.25))
    assert fix is not None
    assert fix.gel_stops is not None
    assert_allclose(fix.gel_stops, 2.219, atol=2e-3)
    assert fix.gel_as_sold == 3.0  # density 0.9
    # pencil: of what lights the face half comes through it: ½ + ½/8 is left; of the room ¾ + ¼/8
    losses = np.array([fix.key_loss, fix.room_loss], np.float64)
    assert_allclose(losses, [-math.log2(0.5625), -math.log2(0.78125)])
    assert fix.key_gain == 1.5
    assert fix.hour is None
    # pencil: a stop of film leaves 4 − 1 − log2 0.75 = 3.415, 0.915 over: acos(2^−0.4575) = 43.3°
    assert fix.polariser_deg is not None
    assert_allclose(fix.polariser_deg, 43.26, atol=0.05)


@pytest.mark.parametrize("share", [0.0, 0.2, 0.5, 0.8])
def test_the_gel_solves_its_own_equation(share: float) -> None:
    """Nothing of the key through it: pencil, just the stops that are too many."""
    fix = view_fix(views(TIMES, [5.0] * 8), "WINDOW", hour=EVENING, shares=(share, share))
    assert fix is not None
    gel = fix.gel_stops
    assert gel is not None
    left = 5.0 - gel - math.log2(1.0 - share + share * 2.0**-gel)
    assert_allclose(left, 2.5, atol=2e-3)
    if share == 0.0:
        assert_allclose(gel, 2.5, atol=2e-3)


def test_no_gel_helps_where_all_the_light_comes_through_it() -> None:
    """pencil: view and face are dimmed alike; a lens's polariser still dims the view alone."""
    fix = view_fix(views(TIMES, [4.0] * 8), "WINDOW", hour=EVENING, shares=(1.0, 1.0))
    assert fix is not None
    assert (fix.gel_stops, fix.gel_as_sold, fix.key_loss, fix.room_loss) == (None, None, None, None)
    assert fix.polariser_deg is not None
    assert_allclose(polariser_stops(fix.polariser_deg), 1.5)


def test_the_hour_at_which_a_view_is_right_by_itself() -> None:
    falling = [5.0 - k for k in range(8)]
    fix = view_fix(views(TIMES, list(falling)), "WINDOW", hour=EVENING, shares=(0.0, 0.0))
    assert fix is not None
    assert fix.hour == minutes(25)  # pencil: 2.5 stops, ten minutes each
    assert view_fix(views(TIMES, [2.4] * 8), "WINDOW", hour=EVENING, shares=(0.0, 0.0)) is None
    assert view_fix(views(TIMES, [None] * 8), "WINDOW", hour=EVENING, shares=(0.0, 0.0)) is None


@pytest.mark.parametrize(
    ("turned_deg", "stops"), [(0.0, 0.0), (60.0, 2.0), (69.3, 3.0), (75.5, 4.0)]
)
def test_a_polariser_takes_the_cosine_squared(turned_deg: float, stops: float) -> None:
    """Source: practitioners' cases, C18 (Malus's law)."""
    assert_allclose(polariser_stops(turned_deg), stops, atol=5e-3)
    turn = polariser_turn_deg(stops)
    assert turn is not None
    assert_allclose(turn, turned_deg, atol=0.05)


def test_crossed_polarisers_do_not_hold_for_ever() -> None:
    assert polariser_turn_deg(12.0) is None
    assert polariser_turn_deg(-1.0) == 0.0  # it is dark enough open
    assert polariser_stops(90.0) > 20.0


def test_eighteen_minutes_until_the_face_drops_half_a_stop() -> None:
    """pencil: a stop in 36 minutes."""
    times = every(36, 3)
    told = countdown(times, [1.0, 0.0, -1.0], reading="face", start=EVENING)
    assert told is not None
    assert (told.reading, told.minutes, told.falls) == ("face", 18.0, True)
    # from ten minutes on it is as long again: the fall is as steep
    later = countdown(times, [1.0, 0.0, -1.0], reading="face", start=minutes(10))
    assert later is not None
    assert later.minutes is not None
    assert_allclose(later.minutes, 18.0, atol=0.02)  # to the second


def test_a_countdown_that_rises_lasts_or_is_dark() -> None:
    times = every(36, 3)
    told = countdown(times, [0.0, 1.0, 2.0], reading="face", start=EVENING)
    assert told is not None
    assert (told.minutes, told.falls) == (18.0, False)
    lasts = countdown(times, [0.0, 0.1, 0.2], reading="face", start=EVENING)
    assert lasts is not None
    assert lasts.minutes is None
    assert countdown(times, [None, None, None], reading="face", start=EVENING) is None
