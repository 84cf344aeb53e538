"""What a day's sheet says in words: the answers on top, the day's facts, what days differ in."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Final

from falloff.clock import clock_words as clock
from falloff.day.records import Day, Stretch
from falloff.findings import Weight
from falloff.units import density_from_stops

CAUTIONS: Final = (
    (
        "Levels are expected, not measured, until a meter has read them outside. A hill or a house"
        " that the scene does not have takes the sun earlier."
    ),
    (
        "Never look at the sun through a lens or a finder; a sunlit lens can burn what is behind"
        " it: cap it between takes. Gel and frames outside a window need rigging against wind."
    ),
)
_MOST_TARGETS: Final = 3
_BRIEF: Final = timedelta(minutes=5)
_DAY_NAMES: Final = (
    "Monday",
    "Tuesday",
    "Wednesday",
    "Thursday",
    "Friday",
    "Saturday",
    "Sunday",
)
_MONTHS: Final = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
# Names of what the sun does, for its marks, the most wanted first.
EVENT_WORDS: Final = {
    "rise": "sunrise",
    "sunrise": "sunrise",
    "set": "sunset",
    "sunset": "sunset",
    "civil_dusk": "dusk",
    "dusk": "dusk",
    "civil_dawn": "dawn",
    "dawn": "dawn",
    "noon": "noon",
    "night": "night",
}


def date_words(written: str) -> str:
    """A day such as "2026-06-21" as "Sunday 21 June 2026"; what is no such date stays as it is."""
    try:
        one = date.fromisoformat(written)
    except ValueError:
        return written
    return f"{_DAY_NAMES[one.weekday()]} {one.day} {_MONTHS[one.month - 1]} {one.year}"


def north_words(day: Day) -> str:
    """Which way north is on the plan."""
    turn = day.north_deg % 360.0
    sides = {
        0.0: "right on the plan",
        90.0: "up the plan",
        180.0: "left on the plan",
        270.0: "down the plan",
    }
    return f"north {sides.get(turn, f'at {turn:g}° on the plan')}"


def facts(day: Day) -> dict[str, str]:
    """The day's facts by what they are, each as words of their own."""
    return {
        "scene": day.scene,
        "setup": day.setup,
        "date": date_words(day.date),
        "place": day.place,
        "zone": day.zone,
        "sky": day.sky,
        "north": north_words(day),
        "camera": day.camera,
        "exposure": day.exposure,
    }


def differing(days: Sequence[Day]) -> list[str]:
    """Which facts are not the same on all days; the date where all are."""
    told = [facts(day) for day in days]
    return [name for name in told[0] if len({one[name] for one in told}) > 1] or ["date"]


def heading(day: Day, names: Sequence[str]) -> str:
    """What tells one day from others beside it."""
    told = facts(day)
    return _capital(", ".join(told[name] for name in names))


def stretch_words(one: Stretch) -> str:
    """From when to when, as "09:40 to 12:10"."""
    return f"{clock(one.start)} to {clock(one.end)}"


def and_words(parts: Sequence[str]) -> str:
    """Parts with commas and an "and"."""
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def answers(day: Day) -> list[str]:
    """The plain answers of a day, the most asked first."""
    said = [_holds(day, one.name, one.holds) for one in day.targets[:_MOST_TARGETS]]
    left = len(day.targets) - _MOST_TARGETS
    if left > 0:
        said.append(f"{left} more target{'s' * (left > 1)}: see the strips.")
    return [*said, *_countdown(day), *_views(day), *_sun(day)]


def _holds(day: Day, name: str, stretches: Sequence[Stretch]) -> str:
    # Beside longer ones a minute or two is not worth a word.
    long = [one for one in stretches if one.end - one.start >= _BRIEF] or stretches
    sure = [one for one in long if one.sure]
    perhaps = [one for one in long if not one.sure]
    told = [_whole(day, part) for part in (sure, perhaps)]
    head = f"{_capital(name)}: "
    if not stretches:
        return f"{head}at no hour of this day."
    if not perhaps:
        return f"{head}{told[0]}."
    if not sure:
        return f"{head}perhaps {told[1]}; the spread leaves it open."
    return f"{head}{told[0]}; perhaps {told[1]}."


def _whole(day: Day, stretches: Sequence[Stretch]) -> str:
    """Stretches in words; the whole of the day as that."""
    if len(stretches) == 1 and len(day.moments) > 1:
        first, last = day.moments[0].instant, day.moments[-1].instant
        if stretches[0].start <= first and stretches[0].end >= last:
            return "all the time shown"
    if len(stretches) > 4:
        more = len(stretches) - 3
        return f"{', '.join(stretch_words(one) for one in stretches[:3])} and {more} times more"
    return and_words([stretch_words(one) for one in stretches]) if stretches else ""


def _countdown(day: Day) -> list[str]:
    """How long the key reading stays; of others only where there is no key."""
    told = [one for one in day.countdowns if one.reading == day.key_reading] or day.countdowns
    if not told:
        return []
    one = told[0]
    if one.minutes is None:
        return [f"From {clock(day.hour)}: {one.reading} stays within half a stop till the end."]
    how = "drops" if one.falls else "rises"
    minutes = minutes_words(one.minutes)
    return [f"From {clock(day.hour)}: {minutes} until {one.reading} {how} half a stop."]


def minutes_words(minutes: float) -> str:
    """Whole minutes; hours and minutes from two hours on."""
    count = round(minutes)
    if count >= 120:
        return f"{count // 60} h {count % 60:02d} min"
    return f"{count} minute{'s' * (count != 1)}"


def _views(day: Day) -> list[str]:
    said = []
    for one in day.view_fixes[:2]:
        sense = "over" if one.over_face >= 0.0 else "under"
        text = f"View in {one.opening} is {abs(one.over_face):.1f} {sense} the face"
        ways = []
        if one.gel_as_sold is not None:
            cost = one.key_loss or 0.0
            lost = f", which takes {cost:.1f} off the face" if cost >= 0.05 else ""
            ways.append(f"with gel {density_from_stops(one.gel_as_sold):.1f} on it{lost}")
        elif one.gel_stops is not None:
            ways.append(f"with {one.gel_stops:.1f} stops of gel on it")
        if one.hour is not None:
            ways.append(f"after {clock(one.hour)}")
        if one.gel_as_sold is None and one.polariser_deg is not None:
            ways.append(f"polarising film on it and a polariser at {one.polariser_deg:.0f}°")
        if one.key_gain > 0.05 and not ways:
            ways.append(f"with {one.key_gain:.1f} stops more on the face")
        said.append(f"{text}; {one.wanted:.3g} {', or '.join(ways)}." if ways else f"{text}.")
    return said


def _sun(day: Day) -> list[str]:
    if day.always_up:
        return ["The sun does not set this day."]
    return ["The sun does not rise this day."] if day.always_down else []


def caution_lines(days: Sequence[Day]) -> list[str]:
    """What a person must mind: our own cautions, and those that the days found."""
    found = {
        f"{one.says} {one.do}".strip()
        for day in days
        for one in day.findings
        if one.weight is Weight.CAUTION
    }
    return [*CAUTIONS, *sorted(found)]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
