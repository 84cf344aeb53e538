"""What may be done at the camera or after: another stop, ISO or ND, the grade, nothing at all."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Final

import numpy as np

from falloff.balance.fixes.candidates import Candidate
from falloff.balance.fixes.efforts import DIAL, MATTE_BOX, NOTHING, RULE, effort_minutes
from falloff.balance.fixes.records import Fix, FixTarget
from falloff.balance.fixes.start import Start
from falloff.balance.judging import judged_in, short_of
from falloff.balance.problem import WEIGHTS, Problem, Told
from falloff.balance.terms import LevelTerm, terms_of, totals
from falloff.document import Edit, Target, ValueTarget, put_or_add
from falloff.errors import FalloffError
from falloff.readings import AS_A_STOP
from falloff.units import density_from_stops

__all__ = ["RULE", "accepted", "camera_candidates", "graded"]

_MOST_STOPS: Final = 4.0
_THIRD: Final = 1.0 / 3.0
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
            table.targets[name].weight * short_of(one) / AS_A_STOP[one.unit]
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
        text = f"ND {density_from_stops(nd):.1f}" if nd > 0.0 else "0 stops"
        told.append(("nd", text, nd - nd_now, False, "look for a colour cast of the filter"))
    for key, text, by, dial, also in told:
        called = {"stop": text, "iso": f"ISO {text}", "nd": text if nd > 0.0 else "no ND"}[key]
        settings = {"stop": f"T{stop:g}", "iso": f"{iso:g}", "nd": f"{nd_now:g} stops"}
        written = {"stop": setup.stop.si == stop, "iso": setup.iso == iso,
                   "nd": setup.nd.si == nd_now}  # fmt: skip
        edits: tuple[Edit, ...] = tuple(
            put_or_add(start.case.document, ("setups", table.setup), one, value)
            for one, value in (settings | {key: text}).items()
            if one == key or not written[one]
        )
        found.append(
            Candidate(
                kind="exposure",
                says=f"{called} in {table.setup}",
                does=(f"{table.setup}: {called}, {abs(by):.1f} stops {_darker(by)}",),
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


def _darker(stops: float) -> str:
    return "darker" if stops > 0.0 else "brighter"


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


# Later -----------------------------------------------------------------------------------


def graded(start: Start) -> Fix | None:
    """Leave to the grade what lies within the camera's limits, and say what is left below clip."""
    brought: dict[Told, float] = {}
    notes: list[str] = []
    for t, table in enumerate(start.problem.tables):
        settings = start.case.posed[t].light.settings
        light = totals(start.problem, start.answer)[t]
        exposure = table.exposure_stops(start.answer.exposures[t])
        for name, target in table.targets.items():
            one = start.judged.get((table.setup, name))
            if one is None or one.holds or not isinstance(target, Target | ValueTarget):
                continue
            rows = [table.readings.index(r) for r in table.points.get(target.reading, ())
                    if r in table.readings]  # fmt: skip
            if not rows:
                continue
            levels = [_over_grey(start, t, k, float(light[k] @ WEIGHTS), exposure) for k in rows]
            high, low = max(levels), min(levels)
            inside = high <= settings.highlight_stops and low >= -settings.shadow_stops
            stops = short_of(one) + 0.0
            if not inside:
                where = "clipped" if high > settings.highlight_stops else "lost in the shadows"
                notes.append(f"{target.reading} is {where} in {table.setup}: no grade brings it")
                continue
            brought[table.setup, name] = stops
            notes.append(_grade_note(target.reading, stops, one.off, high, settings))
    if not brought:
        return None
    targets = tuple(
        FixTarget(setup=setup, name=name, before=short_of(one),
                  after=0.0 if (setup, name) in brought else short_of(one),
                  unit=one.unit, got="in the grade" if (setup, name) in brought else one.got)
        for (setup, name), one in start.judged.items() if not one.holds
    )  # fmt: skip
    weights = {(t.setup, n): g.weight for t in start.problem.tables for n, g in t.targets.items()}
    worth = sum(weights[key] * stops for key, stops in brought.items())
    names = dict.fromkeys(name for _, name in brought)
    return Fix(
        kind="grade",
        says=f"leave {', '.join(names)} for the grade",
        does=("nothing on set; a mask that follows the place in the grade",),
        dims=(),
        worth_stops=worth,
        brings_all=len(brought) == len(start.missed),
        targets=targets,
        minutes=NOTHING.minutes,
        hands=1,
        day_rate=None,
        hire_says="",
        effort_minutes=effort_minutes(NOTHING, None),
        side_effects=tuple(dict.fromkeys(notes)),
        cautions=("it is done later, by somebody else's hour: tell them, and shoot a grey card",),
        later=True,
    )


def _over_grey(start: Start, t: int, k: int, value: float, exposure: float) -> float:
    """Stops over middle grey as the surface there is pictured; of no known surface, as a card."""
    table = start.problem.tables[t]
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


def _grade_note(
    reading: str, stops: float, off: float | None, high: float, settings: object
) -> str:
    limit = float(getattr(settings, "highlight_stops", 6.0))
    if off is not None and off < 0.0:
        shot, read = 2.0 ** (-0.5 * stops), 2.0**-stops
        return (
            f"{reading} lifted {stops:.1f} stops in the grade shows its noise: signal to noise "
            f"is that of {stops:.1f} stops less light, {shot:.1f} of what the wanted light had "
            f"where photons decide it, down to {read:.1f} deep in the shadows where the sensor "
            "does (square root and straight: assumed, no camera was measured)"
        )
    return (
        f"{reading} taken down {stops:.1f} stops in the grade: {limit - high:.1f} stops are left "
        "below where the camera clips, and what spills from it in the lens stays"
    )


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
                      unit=one.unit, got=one.got)
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
