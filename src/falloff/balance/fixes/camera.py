"""What may be done at the camera: another stop, ISO or ND; or nothing at all."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Final

from falloff.balance.fixes.candidates import Candidate
from falloff.balance.fixes.efforts import (
    A_TARGET_STOPS,
    DIAL,
    MATTE_BOX,
    NOTHING,
    effort_minutes,
)
from falloff.balance.fixes.records import Fix, FixTarget
from falloff.balance.fixes.start import Start
from falloff.balance.fixes.weighing import takes_after
from falloff.balance.fixes.words import amount
from falloff.balance.judging import as_stops, judged_in, short_of
from falloff.balance.problem import Problem
from falloff.balance.terms import LevelTerm, terms_of, totals
from falloff.balance.words import listed
from falloff.document import Edit, put_or_add
from falloff.errors import FalloffError
from falloff.units import density_from_stops, stops_from_density

_MOST_STOPS: Final = 4.0
_THIRD: Final = 1.0 / 3.0
_ALIKE_STOPS: Final = 0.05
_ND_STEPS: Final = 1.0  # filters are sold by whole stops
_ISO_LOW: Final = 50.0
_ISO_HIGH: Final = 25_600.0
_STOP_LOW: Final = 1.2
_STOP_HIGH: Final = 22.0
_NO_RATIO: Final = "it moves everything alike: no ratio in the frame changes by it"


def camera_candidates(start: Start) -> list[Candidate]:
    """Of each setup whose levels against key are missed, the shift that serves them best."""
    found: list[Candidate] = []
    for t in range(len(start.problem.tables)):
        shift = _best_shift(start, t)
        if abs(shift) < 0.5 * _THIRD:
            continue
        found += _ways(start, t, shift)
    return found


def _best_shift(start: Start, t: int) -> float:
    """Stops that key moves by (more light: above 0), so that this setup misses least."""
    keyed = any(
        isinstance(term, LevelTerm) and term.table == t and term.keyed
        for term in terms_of(start.problem, start.answer)
    )
    setup = start.problem.tables[t].setup
    # Of no light at all no exposure makes any.
    missed = [key for key in start.missed if key[0] == setup and not start.judged_dark(key)]
    if not keyed or not missed:
        return 0.0
    table, light = start.problem.tables[t], totals(start.problem, start.answer)[t]
    now = table.exposure_stops(start.answer.exposures[t])
    count = round(_MOST_STOPS / _THIRD)
    best = (math.inf, 0.0)
    for k in sorted(range(-count, count + 1), key=abs):
        stops = k * _THIRD
        cost = sum(
            table.targets[name].weight * as_stops(one) + A_TARGET_STOPS * (not one.holds)
            for name, one in judged_in(table, light, now + stops)
        )
        if cost < best[0] - 1e-9:
            best = (cost, stops)
    return best[1]


def _ways(start: Start, t: int, shift: float) -> list[Candidate]:
    """The stop, the ISO or ND by so much."""
    table = start.problem.tables[t]
    setup = start.case.document.setups[table.setup]
    iso, stop, nd_now = setup.iso, setup.stop.si, setup.nd.si
    if table.exposures:  # what the best dims go with
        chosen = table.exposures[start.answer.exposures[t]]
        iso, stop, nd_now = chosen.iso, chosen.stop, chosen.nd_stops
    found = []
    told: list[tuple[str, str, float, bool, str]] = []
    other_stop = float(f"{stop * 2.0 ** (0.5 * shift):.2g}")
    if _STOP_LOW <= other_stop <= _STOP_HIGH:
        depth = "more" if shift > 0.0 else "less"
        by = 2.0 * math.log2(other_stop / stop)
        told.append(("stop", f"T{other_stop:g}", by, True, f"{depth} depth of field"))
    other_iso = _round_iso(iso * 2.0**-shift)
    if _ISO_LOW <= other_iso <= _ISO_HIGH:
        noise = "less noise, and less held in the highlights" if shift > 0.0 else "more noise"
        told.append(("iso", f"{other_iso:g}", -math.log2(other_iso / iso), True, noise))
    nd = max(0.0, nd_now + _ND_STEPS * round(shift / _ND_STEPS))
    if abs(nd - nd_now) > 0.5:
        text = _nd(nd)
        told.append(("nd", text, nd - nd_now, False, "look for a colour cast of the filter"))
    for key, text, by, dial, also in told:
        settings = {"stop": f"T{stop:.3g}", "iso": f"{iso:g}", "nd": _nd(nd_now)}
        written = {"stop": setup.stop.si == stop, "iso": setup.iso == iso,
                   "nd": setup.nd.si == nd_now}  # fmt: skip
        edits: tuple[Edit, ...] = tuple(
            put_or_add(start.case.document, ("setups", table.setup), one, value)
            for one, value in (settings | {key: text}).items()
            if one == key or not written[one]
        )
        called = _called(key, text)
        besides = [_called(one, settings[one]) for one in settings
                   if one != key and not written[one]]  # fmt: skip
        after = [one.setup for one in start.problem.tables if one.setup != table.setup
                 and takes_after(start, one.setup, (table.setup,), key)]  # fmt: skip
        whose = f"{table.setup}, and {listed(after)} after it" if after else table.setup
        change = by + table.exposure_stops(start.answer.exposures[t])
        found.append(
            Candidate(
                kind="exposure",
                says=f"{called} in {table.setup}",
                does=(f"{whose}: {', '.join((called, *besides))}, {_darker(change)}",),
                edits=edits,
                trial=_shift_trial(start, t, by, edits),
                effort=DIAL if dial else MATTE_BOX,
                cautions=(_NO_RATIO, also),
                rank=1.0,
            )
        )
    return found


def _shift_trial(
    start: Start, t: int, by: float, edits: tuple[Edit, ...]
) -> Callable[[], Problem | None]:
    """Key of one setup moved, and that of those which take after it as they are written."""

    def trial() -> Problem | None:
        try:
            edited = start.case.edited(edits)
        except FalloffError:
            return None
        problem = shifted(start.problem, t, by)
        for other, table in enumerate(start.problem.tables):
            old, new = start.case.document.setups[table.setup], edited.setups[table.setup]
            stops = 2.0 * math.log2(new.stop.si / old.stop.si) - math.log2(new.iso / old.iso)
            stops += new.nd.si - old.nd.si
            if other != t and stops != 0.0:
                problem = shifted(problem, other, stops)
        return problem

    return trial


def _nd(stops: float) -> str:
    """Neutral density as it is sold, or in stops."""
    density = round(density_from_stops(stops), 1)
    if stops <= 0.0:
        return "0 stops"
    near = abs(stops_from_density(density) - stops) < _ALIKE_STOPS
    return f"ND {density:.1f}" if near else f"{stops:.2f} stops"


def _called(key: str, text: str) -> str:
    """A setting as a person says it."""
    if key == "nd":
        return "no ND" if text == "0 stops" else text if text.startswith("ND") else f"ND of {text}"
    return f"ISO {text}" if key == "iso" else text


def _darker(stops: float) -> str:
    """How an exposure is beside the one that is written."""
    if abs(stops) < _ALIKE_STOPS:
        return "exposed as written"
    way = "darker" if stops > 0.0 else "brighter"
    return f"{amount(abs(stops), 'stops')} {way} than written"


def _round_iso(iso: float) -> float:
    step = 10.0 ** (math.floor(math.log10(iso)) - 1)
    return round(iso / step) * step


def shifted(problem: Problem, t: int, stops: float) -> Problem:
    """The problem with key of one setup so many stops more light."""
    gain = 2.0**stops
    tables = list(problem.tables)
    table = tables[t]
    tables[t] = replace(table, key_lux=table.key_lux * gain, grey_nit=table.grey_nit * gain)
    return replace(problem, tables=tuple(tables))


# Nothing ---------------------------------------------------------------------------------


def accepted(start: Start) -> Fix:
    """Nothing is done: what one would live with."""
    missed = [(key, start.judged[key]) for key in start.missed]
    lived = tuple(
        f"{name} in {setup} stays at {one.got}, wanted {one.asks}" for (setup, name), one in missed
    )
    return Fix(
        kind="accept",
        says="accept it",
        does=("nothing",),
        dims=(),
        worth_stops=0.0,
        brings_all=False,
        targets=tuple(
            FixTarget(setup=setup, name=name, before=short_of(one), after=short_of(one),
                      unit=one.unit, got=one.got, asks=one.asks, miss=one.miss)
            for (setup, name), one in missed
        ),
        minutes=0.0,
        hands=1,
        day_rate=None,
        hire_says="",
        effort_minutes=effort_minutes(NOTHING, None),
        side_effects=lived,
        cautions=(),
    )  # fmt: skip
