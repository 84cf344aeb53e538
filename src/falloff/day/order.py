"""An order of shots that suits the sun: what its light leaves first is shot first."""

from __future__ import annotations

from collections.abc import Sequence

from falloff.clock import clock_words
from falloff.day.records import Day, ShotTurn, Stretch, TargetDay


def order_of_shots(days: Sequence[Day]) -> tuple[ShotTurn, ...]:
    """Setups by when the stretch that they are shot in is over, those without haste last.

    A setup's light is there while all its targets hold; where it has none, while its key reading
    stays within half a stop of what it is at the setup's own hour. It is shot in the stretch that
    its hour lies in, or in the next one, or in the last.
    """
    turns = []
    for day in days:
        good = _joined(_good(day))
        meant = _meant(day, good)
        lasting = meant is None or meant.end >= day.moments[-1].instant
        deadline = day.moments[-1].instant if lasting or meant is None else meant.end
        begins = day.hour if meant is None else max(meant.start, day.hour)
        turns.append((good == (), lasting, deadline, begins, day, meant))
    turns.sort(key=lambda one: (*one[:4], one[4].setup))
    return tuple(
        ShotTurn(setup=day.setup, stretches=() if meant is None else (meant,), why=_why(day, meant))
        for *_, day, meant in turns
    )


def _meant(day: Day, good: Sequence[Stretch]) -> Stretch | None:
    """The stretch that a setup is to be shot in."""
    return next((one for one in good if one.end > day.hour), good[-1] if good else None)


def _joined(parts: Sequence[Stretch]) -> tuple[Stretch, ...]:
    """Sure and perhaps that follow on one another as one stretch, sure where all of it is."""
    found: list[Stretch] = []
    for one in parts:
        if found and one.start <= found[-1].end:
            last = found.pop()
            found.append(Stretch(start=last.start, end=one.end, sure=last.sure and one.sure))
        else:
            found.append(one)
    return tuple(found)


def _good(day: Day) -> tuple[Stretch, ...]:
    if not day.targets:
        return day.near_hour
    good = day.targets[0].holds
    for target in day.targets[1:]:
        good = both(good, target.holds)
    return good


def both(a: Sequence[Stretch], b: Sequence[Stretch]) -> tuple[Stretch, ...]:
    """Where two sets of stretches overlap."""
    found = []
    for one in a:
        for other in b:
            start, end = max(one.start, other.start), min(one.end, other.end)
            if start < end:
                found.append(Stretch(start=start, end=end, sure=one.sure and other.sure))
    return tuple(found)


def _why(day: Day, meant: Stretch | None) -> str:
    if meant is None:
        return "its targets hold together at no hour of this day: see what is missed"
    perhaps = "" if meant.sure or not day.targets else ", perhaps"
    told = f"{clock_words(meant.start)} to {clock_words(meant.end)}{perhaps}"
    if meant.end >= day.moments[-1].instant:
        if meant.start <= day.moments[0].instant:
            return f"at any hour{perhaps}"
        return f"from {clock_words(meant.start)} on{perhaps}"
    if not day.targets:
        return f"its key stays within half a stop {told}"
    ended = next((one.name for one in day.targets if _ends_there(one, meant)), "")
    return f"{told}; then {ended} is over" if ended else told


def _ends_there(target: TargetDay, meant: Stretch) -> bool:
    return any(one.end == meant.end for one in _joined(target.holds))
