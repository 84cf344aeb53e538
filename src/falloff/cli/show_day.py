"""The day in a terminal: answers, hours, what the sun does, the order of shots; and as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import msgspec

from falloff.cli import show
from falloff.clock import clock_words as clock
from falloff.day import Day, DayMoment, ShotTurn, SunPatch
from falloff.drawing.day_words import (
    EVENT_WORDS,
    and_words,
    answers,
    caution_lines,
    date_words,
    differing,
    heading,
    north_words,
    stretch_words,
)
from falloff.findings import Finding, Weight
from falloff.session import DaysShown
from falloff.units import density_from_stops, format_stops_tenths

_MOST_READINGS: Final = 5  # columns that a terminal of 80 letters holds
_LEVEL_WIDE: Final = 9


def day_document(shown: DaysShown) -> dict[str, Any]:
    """One JSON document of all that was asked."""
    return {
        "falloff_json": show.JSON_VERSION,
        "days": [msgspec.to_builtins(one) for one in shown.days],
        "beside": [msgspec.to_builtins(one) for one in shown.beside] if shown.differs else [],
        "order": [msgspec.to_builtins(one) for one in shown.order],
        "files": [str(one) for one in shown.files],
    }


def print_days(shown: DaysShown) -> None:
    """Answers on top, then the hours, then the order of shots and the sheet's files."""
    first = shown.beside[0]
    names = differing(shown.beside) if shown.differs else []
    show.print_line("")
    show.print_line(
        f"{first.scene}, {first.setup}: {date_words(first.date)}, {first.place}; sky {first.sky}, "
        f"{north_words(first)}"
    )
    for day in shown.beside:
        if names:
            show.print_line(f"{heading(day, names)}:")
        show.print_lines(
            [*answers(day), *_gel_lines(day), *_dusk_lines(day), *_nd_lines(day), *_sun_lines(day)]
        )
        show.print_line("")
        _print_hours(day)
        _print_patches(day)
    for day in shown.days[1:]:
        show.print_lines([f"{day.setup}, {clock(day.hour)}:", *answers(day)])
    if len(shown.days) > 1:
        _print_order(shown.order)
    show.print_findings(_warnings(shown))
    show.print_lines(caution_lines((*shown.beside, *shown.days)))
    show.print_line(f"Sheet: {', '.join(str(one) for one in shown.files)}")


def _warnings(shown: DaysShown) -> list[Finding]:
    """What would make the plan wrong, each once; cautions have lines of their own."""
    every = (one for day in (*shown.beside, *shown.days) for one in day.findings)
    return list({one.says: one for one in every if one.weight is Weight.WARNING}.values())


def _sun_lines(day: Day) -> list[str]:
    told = [
        f"{EVENT_WORDS.get(name, name)} {clock(at)}"
        for name, at in day.events.items()
        if at is not None
    ]
    lines = [f"{and_words(told)}."[:1].upper() + f"{and_words(told)}."[1:]] if told else []
    if day.sun_out:
        over = and_words([stretch_words(one) for one in day.sun_out])
        inside = [stretch_words(one) for one in day.sun_in_room]
        into = f"in the room {and_words(inside)}" if inside else "never in the room"
        lines.append(f"Sun over the skyline {over}; {into}.")
    if day.sun_in_frame:
        when = and_words([stretch_words(one) for one in day.sun_in_frame])
        lines.append(f"The sun is in {day.camera}'s frame {when}.")
    if day.sun_on_lens:
        when = and_words([stretch_words(one) for one in day.sun_on_lens])
        lines.append(f"It strikes {day.camera}'s lens {when}: flag it.")
    if not (day.sun_in_frame or day.sun_on_lens):
        lines.append(f"No sun in {day.camera}'s frame or on its lens.")
    return lines


def _nd_lines(day: Day) -> list[str]:
    if not day.nd:
        return []
    told = [
        f"{clock(one.at)} {'down' if one.after < one.before else 'up'} to "
        f"{density_from_stops(one.after):.1f}"
        for one in day.nd
    ]
    return [f"ND on the lens to keep {day.key_reading} where it is: {', '.join(told)}."]


def _gel_lines(day: Day) -> list[str]:
    return [
        f"Gel {density_from_stops(one.gel_as_sold):.1f} on {one.opening} takes "
        f"{one.room_loss:.1f} off the room."
        for one in day.view_fixes
        if one.gel_as_sold is not None and one.room_loss is not None
    ]


def _dusk_lines(day: Day) -> list[str]:
    lines = []
    for one in day.dusk:
        parts = [
            f"{where} at {clock(at)}"
            for where, at in (
                (f"{one.over:g} over", one.start),
                ("level", one.level),
                (f"{-one.under:g} under", one.end),
            )
            if at is not None
        ]
        text = f"Dusk in {one.opening}: the view is {and_words(parts)}"
        if one.start and one.end and one.stops_a_minute:
            minutes = round((one.end - one.start).total_seconds() / 60.0)
            pace = f"{1.0 / one.stops_a_minute:.0f}"
            text += f"; {minutes} minutes, from level on a stop in {pace}"
        lines.append(f"{text}.")
    return lines


def _print_hours(day: Day) -> None:
    names = list(day.moments[0].levels)
    if day.key_reading in names:
        names.insert(0, names.pop(names.index(day.key_reading)))
    shown, rest = names[:_MOST_READINGS], names[_MOST_READINGS:]
    table = show.plain_table("hour")
    for title in ("sun", "sky lx", "sun lx"):
        table.add_column(title, justify="right", no_wrap=True, min_width=len(title))
    for title in shown:
        table.add_column(title, justify="right", min_width=_LEVEL_WIDE, max_width=_LEVEL_WIDE)
    for moment in _whole_hours(day):
        mark = " *" if moment.instant == day.hour else ""
        table.add_row(
            f"{moment.instant:%H:%M}{mark}",
            f"{moment.sun_altitude_deg:.0f}°",
            _lux(moment.sky_lux),
            _lux(moment.sun_lux) if moment.sun_lux > 0.0 else "",
            *(_told(moment, name) for name in shown),
        )
    show.print_table(table)
    unit = "stops over key (a spot: over middle grey); ± the spread to be expected"
    show.print_line(
        f"Columns of readings: {unit}." + (f" Not shown: {', '.join(rest)}." if rest else "")
    )


def _whole_hours(day: Day) -> list[DayMoment]:
    return [one for one in day.moments if one.instant.minute == 0 or one.instant == day.hour]


def _told(moment: DayMoment, name: str) -> str:
    level = moment.levels[name]
    if level.stops is None or level.low_stops is None or level.high_stops is None:
        return "no light"
    either = 0.5 * (level.high_stops - level.low_stops)
    return format_stops_tenths(level.stops) + (f" ±{either:.1f}" if either >= 0.05 else "     ")


def _lux(lux: float) -> str:
    if lux >= 10_000:
        return f"{lux / 1000:.0f} k"
    return f"{lux:.0f}" if lux >= 10 else f"{lux:.2g}"


def _print_patches(day: Day) -> None:
    """Where the sun falls at whole hours, the three largest surfaces of each."""
    rows = []
    for moment in _whole_hours(day):
        big = [one for one in moment.patches if one.area_m2 >= 0.05 and not one.of_opening][:3]
        if big:
            told = ", ".join(_patch_words(one) for one in big)
            rows.append(f"{moment.instant:%H:%M} {told}")
    if rows:
        show.print_lines(["Sun in the room:", *(f"  {row}" for row in rows)])


def _patch_words(patch: SunPatch) -> str:
    """A patch's surface and size, and where it lies on the plan if that is known."""
    told = f"{patch.surface.removeprefix('room: ')} {patch.area_m2:.1f} m²"
    if not patch.outlines:
        return told
    x = [place[0] for line in patch.outlines for place in line]
    y = [place[1] for line in patch.outlines for place in line]
    return f"{told} (x {min(x):.1f} to {max(x):.1f}, y {min(y):.1f} to {max(y):.1f} m)"


def _print_order(order: Sequence[ShotTurn]) -> None:
    numbered = [f"  {number}. {turn.setup}: {turn.why}" for number, turn in enumerate(order, 1)]
    show.print_lines(["In this order:", *numbered])
