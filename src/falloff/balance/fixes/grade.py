"""What may be left to the grade: a window over each face or thing, and no more than that.

A window lifts or lowers all that it is over alike: two places of one face, or of one wall, keep the
ratio that they were shot with.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.balance.fixes.efforts import A_TARGET_STOPS, GRADE_WINDOW, Effort, effort_minutes
from falloff.balance.fixes.frames import on_something
from falloff.balance.fixes.records import Fix, FixTarget
from falloff.balance.fixes.start import Start
from falloff.balance.fixes.weighing import lost, worth
from falloff.balance.fixes.words import amount
from falloff.balance.judging import as_stops, judged_in, short_of
from falloff.balance.problem import WEIGHTS, Table, Told
from falloff.balance.terms import totals
from falloff.balance.words import listed
from falloff.document import readings_asked
from falloff.readings import Judged
from falloff.stage import Probe
from falloff.types import Float64Array

# Common practice, no source: past that a lift shows what the sensor made up.
_MOST_UP_STOPS: Final = 2.0
_MOST_DOWN_STOPS: Final = 4.0
_THIRD: Final = 1.0 / 3.0
_TENTH: Final = 0.1
_ROUNDS: Final = 2
_LEAST_WORTH: Final = 0.3  # stops, that a window must bring
_NEARLY: Final = 1e-6


@dataclass(frozen=True, slots=True)
class GradeWindow:
    """A place of one setup that the grade lifts (+) or lowers (-); rows: of its readings."""

    table: int
    place: str
    rows: tuple[int, ...]
    stops: float
    highest_stops: float  # over middle grey, as it was shot


def graded(start: Start) -> Fix | None:
    """The windows that bring targets nearest, with their noise and minutes; None for none."""
    got: dict[Told, Judged] = {}
    windows: list[GradeWindow] = []
    notes: list[str] = []
    for t, table in enumerate(start.problem.tables):
        free = []
        for place, rows in _places(start, t).items():
            low, high = _low_high(start, t, rows)
            settings = start.case.posed[t].light.settings
            if high > settings.highlight_stops:
                notes.append(f"{place} is clipped in {table.setup}: no grade brings it")
            elif low < -settings.shadow_stops:
                notes.append(f"{place} is lost in the shadows in {table.setup}: no grade brings it")
            else:
                free.append(GradeWindow(t, place, rows, 0.0, high))
        mine = _best_windows(start, t, free)
        windows += mine
        got |= _judged_with(start, t, mine)
    if not windows:
        return None
    notes = [*_window_notes(start, windows), *lost(start, got), *notes]
    effort = Effort(GRADE_WINDOW.minutes * len(windows))
    named = _windows_told(start, windows)
    return Fix(
        kind="grade",
        says=f"leave it for the grade: {listed(named)}",
        does=(f"nothing on set; in the grade a window that follows {listed(named)}",),
        dims=(),
        worth_stops=worth(start, got),
        brings_all=all(one.holds for one in got.values()),
        targets=tuple(
            FixTarget(
                setup=setup, name=name, before=short_of(one), after=short_of(got[setup, name]),
                unit=one.unit, asks=one.asks, got=got[setup, name].got, miss=one.miss,
            )
            for (setup, name), one in start.judged.items()
            if not (one.holds and got[setup, name].holds)
        ),
        minutes=effort.minutes,
        hands=effort.hands,
        day_rate=None,
        hire_says="",
        effort_minutes=effort_minutes(effort, None),
        side_effects=tuple(dict.fromkeys(notes)),
        cautions=("it is done later, by somebody else's hour: tell them, and shoot a grey card",),
        later=True,
    )  # fmt: skip


def _places(start: Start, t: int) -> dict[str, tuple[int, ...]]:
    """What a window can be put over, by name, with the readings on it that count.

    A face, a wall, what a spot meter is pointed at; only where more or less light is asked for. No
    point in mid-air: nothing is pictured there.
    """
    table, probes = start.problem.tables[t], start.solution.stage.probes
    found: dict[str, list[int]] = {}
    wanted: set[str] = set()
    subjects = start.document.subjects
    for k, row in enumerate(start.probe_rows[t]):
        place = _pictured(probes[row])
        if place:
            found.setdefault(place, []).append(k)
            if start.needs[t][k] != 0.0:
                wanted.add(place)
    called = {
        place: table.readings[rows[0]] if len(rows) == 1 and place not in subjects else place
        for place, rows in found.items()
    }
    asked = {
        table.index(point)
        for target in table.targets.values()
        for name in readings_asked(target)
        for point in table.points.get(name, (name,))
        if point in table.readings
    }
    kept = {place: tuple(k for k in rows if k in asked) for place, rows in found.items()}
    return {called[place]: rows for place, rows in kept.items() if rows and place in wanted}


def _pictured(probe: Probe) -> str:
    """The face or thing that a reading is taken on, "" for none."""
    if probe.subject:
        return probe.subject
    if on_something(probe):
        return probe.place
    return probe.name if probe.instrument == "spot" else ""


def _best_windows(start: Start, t: int, free: list[GradeWindow]) -> list[GradeWindow]:
    """Windows at the stops that this setup misses least with; as few as bring something."""
    stops = [0.0] * len(free)

    def cost(tried: list[float]) -> float:
        return _missing(start, t, _with_stops(free, tried))

    thirds = np.arange(-round(_MOST_DOWN_STOPS / _THIRD), round(_MOST_UP_STOPS / _THIRD) + 1)
    for turn in range(_ROUNDS):
        for k in range(len(free)):
            ways = thirds * _THIRD if turn == 0 else stops[k] + np.arange(-3, 4) * _TENTH
            best = math.inf
            for way in sorted(ways, key=abs):
                if not -_MOST_DOWN_STOPS <= way <= _MOST_UP_STOPS:
                    continue
                tried = [*stops[:k], float(way), *stops[k + 1 :]]
                if (found := cost(tried)) < best - _NEARLY:
                    best, stops = found, tried
    for k in range(len(free)):
        without = [*stops[:k], 0.0, *stops[k + 1 :]]
        if cost(without) - cost(stops) < _LEAST_WORTH:
            stops = without
    return [one for one in _with_stops(free, stops) if one.stops != 0.0]


def _with_stops(free: list[GradeWindow], stops: list[float]) -> list[GradeWindow]:
    return [
        GradeWindow(one.table, one.place, one.rows, by, one.highest_stops)
        for one, by in zip(free, stops, strict=True)
    ]


def _missing(start: Start, t: int, windows: list[GradeWindow]) -> float:
    targets = start.problem.tables[t].targets
    got = _judged_with(start, t, windows)
    return sum(
        targets[name].weight * as_stops(one) + A_TARGET_STOPS * (not one.holds)
        for (_, name), one in got.items()
    )


def _judged_with(start: Start, t: int, windows: list[GradeWindow]) -> Mapping[Told, Judged]:
    """A setup's targets with windows over what was shot."""
    table = start.problem.tables[t]
    light: Float64Array = totals(start.problem, start.answer)[t].copy()
    for one in windows:
        light[list(one.rows)] *= 2.0**one.stops
    exposure = table.exposure_stops(start.answer.exposures[t])
    return {(table.setup, name): one for name, one in judged_in(table, light, exposure)}


def _low_high(start: Start, t: int, rows: tuple[int, ...]) -> tuple[float, float]:
    """The darkest and the brightest of some readings as they are pictured, stops over grey."""
    table = start.problem.tables[t]
    light = totals(start.problem, start.answer)[t]
    exposure = table.exposure_stops(start.answer.exposures[t])
    levels = [_over_grey(start, t, k, float(light[k] @ WEIGHTS), exposure) for k in rows]
    return min(levels), max(levels)


def _over_grey(start: Start, t: int, k: int, value: float, exposure: float) -> float:
    """Stops over middle grey as the surface there is pictured; of no known surface, as a card."""
    table: Table = start.problem.tables[t]
    if value <= 0.0:
        return -math.inf
    if table.spots[k]:
        return math.log2(value / table.grey_nit) - exposure
    stage = start.solution.stage
    probe = stage.probes[start.probe_rows[t][k]]
    albedo = 0.18
    if probe.material is not None and probe.material in stage.material_names:
        tint = stage.surfaces.albedo[stage.material_names.index(probe.material)]
        albedo = float(np.asarray(tint, np.float64) @ WEIGHTS)
    return math.log2(max(albedo, 1e-6) * value / math.pi / table.grey_nit) - exposure


# Told ------------------------------------------------------------------------------------


def _windows_told(start: Start, windows: list[GradeWindow]) -> list[str]:
    """Each window with its stops, and the setups that have it where not all do."""
    alike: dict[str, list[str]] = {}
    for one in windows:
        way = "up" if one.stops > 0.0 else "down"
        text = f"{one.place} {amount(abs(one.stops), 'stops')} {way}"
        alike.setdefault(text, []).append(start.problem.tables[one.table].setup)
    count = len(start.problem.tables)
    return [
        text if len(setups) == count else f"{text} in {listed(setups)}"
        for text, setups in alike.items()
    ]


def _window_notes(start: Start, windows: list[GradeWindow]) -> list[str]:
    """What the highest lift does to noise; how far below clipping was shot what is taken down."""
    found = []
    most = max(one.stops for one in windows)
    if most > 0.0:
        shot, read = 2.0 ** (-0.5 * most), 2.0**-most
        found.append(
            f"a lift of {amount(most, 'stops')} shows its noise: signal to noise is {shot:.1f} of "
            f"what the wanted light had, {read:.1f} of it deep in the shadows (assumed: no camera "
            "was measured)"
        )
    for one in windows:
        if one.stops < 0.0:
            settings = start.case.posed[one.table].light.settings
            left = amount(settings.highlight_stops - one.highest_stops, "stops")
            setup = start.problem.tables[one.table].setup
            found.append(
                f"{one.place} was shot {left} below where the camera clips in {setup}, and what "
                "spills from it in the lens stays"
            )
    return found
