"""What follows from a day's levels: ND to pull, dusk's minutes, gel against a view, countdowns."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import Final

from falloff.camera import ND_SOLD
from falloff.day.records import Countdown, DayMoment, Dusk, NdPull, ViewFix
from falloff.day.stretches import crossing_after, value_at
from falloff.units import stops_from_density

WANTED_OVER_FACE: Final = 2.5  # stops of a view over a face: common practice, no source
_DUSK_UNDER: Final = -2.0
_HALF_STOP: Final = 0.5
_WORTH_A_FILTER: Final = timedelta(minutes=10)  # light that passes sooner is waited out
_ONE_PULL: Final = timedelta(minutes=3)  # changes so near together are one
_MOST_PULLS: Final = 40
_AS_GOOD: Final = 0.05  # stops: a filter of ND 0.3 is 0.997 of one
_LEAST_GEL: Final = 0.05
FILM_STOPS: Final = 1.0  # that polarising film takes of what comes in: common practice, no source
_POLARISERS_HOLD_STOPS: Final = 6.0  # crossed, as photographic pairs hold (from memory)


def nd_pulls(
    times: Sequence[datetime], levels: Sequence[float | None], *, nd_stops: float, start: datetime
) -> tuple[NdPull, ...]:
    """Changes of ND from an hour on that keep a reading within half a stop of what it is then.

    levels: the reading in stops over key with the setup's own ND on. A filter of one stop is put
    in or taken out whenever the reading has drifted by half a stop and stays there for ten minutes;
    none is there to be taken out below nought, nor to be put in over the densest that is sold.
    """
    begun = value_at(times, levels, start)
    if begun is None:
        return ()
    found: list[NdPull] = []
    on, most = nd_stops, max(nd_stops, stops_from_density(ND_SOLD[-1]))
    at: datetime = start
    while len(found) < _MOST_PULLS:
        low = begun + (on - nd_stops) - _HALF_STOP
        high = begun + (on - nd_stops) + _HALF_STOP
        falls = rises = None
        if on >= 1.0 - _AS_GOOD:
            falls = _stays(times, levels, low, after=at, rising=False)
        if on + 1.0 <= most + _AS_GOOD:
            rises = _stays(times, levels, high, after=at, rising=True)
        known = [when for when in (falls, rises) if when is not None]
        if not known:
            break
        at = min(known)
        after = max(0.0, on - 1.0) if at == falls else min(on + 1.0, most)
        last = found[-1] if found else None
        if (
            last is not None
            and at - last.at < _ONE_PULL
            and (after < on) == (last.after < last.before)
        ):
            found[-1] = NdPull(at=last.at, before=last.before, after=after)
        else:
            found.append(NdPull(at=at, before=on, after=after))
        on = after
    return tuple(found)


def _stays(
    times: Sequence[datetime],
    levels: Sequence[float | None],
    level: float,
    *,
    after: datetime,
    rising: bool,
) -> datetime | None:
    """When a reading goes through a level and is still past it ten minutes later."""
    at: datetime | None = after
    while at is not None:
        at = crossing_after(times, levels, level, after=at, rising=rising)
        if at is None:
            return None
        later = value_at(times, levels, min(at + _WORTH_A_FILTER, times[-1]))
        if later is None:
            return None if rising else at
        if later >= level - 1e-9 if rising else later <= level + 1e-9:
            return at
        at += timedelta(seconds=1)
    return None


def dusk_of(moments: Sequence[DayMoment], opening: str) -> Dusk | None:
    """The evening's minutes between a view well over the face and one well under it."""
    evening = [one for one in moments if _after_noon(moments, one)]
    times = [one.instant for one in evening]
    over = [_over_face(one, opening) for one in evening]
    if not times or all(value is None for value in over):
        return None
    start = _last_down(times, over, WANTED_OVER_FACE)
    level = _last_down(times, over, 0.0)
    end = _last_down(times, over, _DUSK_UNDER)
    if start is None and level is None and end is None:
        return None
    rate = None
    if level is not None and end is not None and end > level:
        # From level on it is dusk; before it, much of the time is the day's own slow fall.
        rate = -_DUSK_UNDER / ((end - level).total_seconds() / 60.0)
    return Dusk(
        opening=opening,
        start=start,
        level=level,
        end=end,
        over=WANTED_OVER_FACE,
        under=_DUSK_UNDER,
        stops_a_minute=rate,
    )


def _after_noon(moments: Sequence[DayMoment], one: DayMoment) -> bool:
    highest = max(moments, key=lambda each: each.sun_altitude_deg)
    return one.instant >= highest.instant


def _last_down(
    times: Sequence[datetime], values: Sequence[float | None], level: float
) -> datetime | None:
    """The last time at which a value falls through a level."""
    found, after = None, times[0]
    while True:
        at = crossing_after(times, values, level, after=after, rising=False)
        if at is None:
            return found
        found = at
        later = [time for time in times if time > at]
        if not later:
            return found
        after = later[0]


def _over_face(moment: DayMoment, opening: str) -> float | None:
    return next((one.over_face for one in moment.views if one.opening == opening), None)


def view_fix(
    moments: Sequence[DayMoment],
    opening: str,
    *,
    hour: datetime,
    shares: tuple[float, float],
    wanted: float = WANTED_OVER_FACE,
) -> ViewFix | None:
    """What brings a view down to so many stops over the face at an hour; None where it is there.

    shares: of the key reading's light and of the room's that come through this opening. Gel on the
    glass dims the view by its stops and the face by what the opening gives it: where all of that
    comes through it, no gel changes the one against the other.
    """
    times = [one.instant for one in moments]
    over = [_over_face(one, opening) for one in moments]
    now = value_at(times, over, hour)
    if now is None or now <= wanted:
        return None
    share, room = shares

    def left(gel: float) -> float:
        return now - gel - math.log2(1.0 - share + share * 2.0**-gel)

    gel = _solve(left, wanted)
    sold = None if gel is None else _as_sold(gel)
    later = crossing_after(times, over, wanted, after=hour)
    polarised = now - FILM_STOPS - math.log2(1.0 - share + share * 2.0**-FILM_STOPS)
    return ViewFix(
        opening=opening,
        over_face=now,
        wanted=wanted,
        gel_stops=gel,
        gel_as_sold=sold,
        key_loss=None if sold is None else -math.log2(1.0 - share + share * 2.0**-sold),
        room_loss=None if sold is None else -math.log2(1.0 - room + room * 2.0**-sold),
        hour=later,
        key_gain=now - wanted,
        polariser_deg=polariser_turn_deg(polarised - wanted),
    )


def polariser_stops(turned_deg: float) -> float:
    """Stops that a polariser takes from light of another one, turned so far from open; 0 to 90°.

    Source: Malus's law, cos² of the angle.
    """
    return -2.0 * math.log2(max(1e-9, math.cos(math.radians(turned_deg))))


def polariser_turn_deg(stops: float) -> float | None:
    """How far a polariser is turned to take so many stops; None past what a pair still holds."""
    if stops > _POLARISERS_HOLD_STOPS:
        return None
    return math.degrees(math.acos(2.0 ** (-0.5 * max(0.0, stops))))


def _solve(left: Callable[[float], float], wanted: float) -> float | None:
    """The least gel, in stops, that leaves no more than is wanted; None where even 8 do not."""
    low, high = 0.0, 8.0
    if left(high) > wanted:
        return None
    while high - low > 1e-3:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if left(middle) <= wanted else (middle, high)
    return high


def _as_sold(stops: float) -> float:
    """The next neutral gel that is sold, in whole stops of density 0.3."""
    return float(math.ceil(stops - _LEAST_GEL))


def countdown(
    times: Sequence[datetime], levels: Sequence[float | None], *, reading: str, start: datetime
) -> Countdown | None:
    """How long a reading stays within half a stop of what it is at an hour; None in the dark."""
    begun = value_at(times, levels, start)
    if begun is None:
        return None
    falls = crossing_after(times, levels, begun - _HALF_STOP, after=start)
    rises = crossing_after(times, levels, begun + _HALF_STOP, after=start)
    known = [when for when in (falls, rises) if when is not None]
    if not known:
        return Countdown(reading=reading, minutes=None, falls=True)
    first = min(known)
    minutes = (first - start).total_seconds() / 60.0
    return Countdown(reading=reading, minutes=minutes, falls=first == falls)
