"""What may be done about daylight: gel on the glass, a sheer, a blackout, another hour."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, time, timedelta
from typing import Final

import numpy as np

from falloff.balance.fixes.candidates import Candidate
from falloff.balance.fixes.efforts import (
    BLACKOUT,
    GEL_PANE,
    GEL_UP,
    PANEL_OUTSIDE,
    SHEER,
    WAIT,
    Effort,
)
from falloff.balance.fixes.frames import seen_by, sheet_points
from falloff.balance.fixes.sheer import looked_through, through_sheer
from falloff.balance.fixes.start import Start
from falloff.balance.fixes.text import flow_text
from falloff.balance.fixes.trials import scaled
from falloff.balance.problem import Problem
from falloff.clock import local_instant
from falloff.document import (
    Edit,
    Skylight,
    Window,
    WindowGel,
    instant_of,
    put_or_add,
    readings_asked,
    rewrite_or_add,
)
from falloff.errors import DaylightError
from falloff.layers import LightLayers, keep_hours, read_hour
from falloff.sources import SKY, SUN
from falloff.stage import SUN_NAME, skies_by_hour
from falloff.transport import hour_light
from falloff.types import Float64Array

_GELS: Final = ((1, "ND 0.3"), (2, "ND 0.6"), (3, "ND 0.9"), (4, "ND 1.2"))
# A sheer as the quick start takes it: common practice, no source.
SHEER_STRAIGHT: Final = 0.3
SHEER_SCATTERED: Final = 0.3
_BIG_M2: Final = 3.0  # glass that is too much to gel by hand
_HIGH_M: Final = 1.8  # a sill so high that the ground outside is a floor below
_LEAST: Final = 0.03  # of a missed reading, that a window must give
_FIRST_HOUR: Final = time(6, 0)
_LAST_HOUR: Final = time(21, 0)
_HALF_HOUR: Final = timedelta(minutes=30)


def window_candidates(start: Start) -> list[Candidate]:
    """What every opening that gives too much may be dressed with."""
    found: list[Candidate] = []
    for s, source in enumerate(start.solution.stage.sources):
        opening = start.document.openings.get(source.name)
        if source.kind != SKY or not isinstance(opening, Window | Skylight):
            continue
        if start.less[s] > _LEAST:
            found += _dressed(start, s, opening)
    return found


def _dressed(start: Start, s: int, opening: Window | Skylight) -> list[Candidate]:
    name = start.source_names[s]
    area = _area_m2(opening)
    big = area > _BIG_M2
    effort = Effort(GEL_UP.minutes + area * GEL_PANE.minutes)
    cautions = _cautions(opening)
    before = sum(one.loss.si for one in opening.dressing if isinstance(one, WindowGel))
    found = []
    for stops, called in _GELS:
        how = f"a rigid {called} panel or cloth outside" if big else f"{called} gel on"
        told = (*_told_dressing(start, name, gels=False), f"{{kind: gel, loss: {_stops(stops)}}}")
        if before:
            how = f"{called} in place of what is on" if not big else how
        factor = 2.0 ** (before - stops)
        if factor >= 1.0:
            continue
        found.append(
            Candidate(
                kind="window",
                says=f"{how} {name}",
                does=(f"{name}: {how.removesuffix(' on')}, {_stops(stops)}",),
                edits=_dressing_edits(start, name, told),
                trial=_scaling(start, s, factor),
                effort=PANEL_OUTSIDE if big else effort,
                cautions=cautions,
                rank=float(start.less[s]),
                size=float(stops),
            )
        )
    sheer = f"{{kind: sheer, straight: {SHEER_STRAIGHT}, scattered: {SHEER_SCATTERED}}}"
    kept = _told_dressing(start, name, gels=True)
    found.append(
        Candidate(
            kind="window",
            says=f"a sheer in {name}",
            does=(f"{name}: a sheer inside, 30 % straight and 30 % scattered",),
            edits=_dressing_edits(start, name, (*kept, sheer)),
            trial=_sheer_trial(start, s),
            effort=SHEER,
            cautions=("a sheer goes bright itself: look at it in frame", *cautions[1:]),
            rank=float(start.less[s]),
        )
    )
    if isinstance(opening, Window) and not _view_is_wanted(start, name):
        instead = ", in place of all that hangs there" if opening.dressing else ""
        black = "{kind: curtain, open: 0 %, surface: black cloth}"
        found.append(
            Candidate(
                kind="window",
                says=f"{name} blacked out",
                does=(f"{name}: a blackout, shut{instead}",),
                edits=_dressing_edits(start, name, (black,)),
                trial=_scaling(start, s, 0.0),
                effort=BLACKOUT,
                cautions=(
                    *(("its view is gone from the frame",) if _in_frame(start, name) else ()),
                    "keep the way out free, and air in a room with lights",
                ),
                rank=float(start.less[s]),
            )
        )
    return found


def _in_frame(start: Start, name: str) -> bool:
    low, u, v = start.placer.opening_frame(name)
    return bool(seen_by(start, sheet_points(np.array([low, low + u, low + u + v, low + v]))))


def _view_is_wanted(start: Start, name: str) -> bool:
    """Whether a target asks for what is seen through an opening, in frame: it is not to be shut."""
    low, u, v = start.placer.opening_frame(name)
    probes = start.solution.stage.probes
    for t, table in enumerate(start.problem.tables):
        asked = {one for target in table.targets.values() for one in readings_asked(target)}
        seen = asked - set(table.out_of_frame)
        if any(
            table.readings[k] in seen and looked_through(probes[row], low, u, v) is not None
            for k, row in enumerate(start.probe_rows[t])
        ):
            return True
    return False


def _told_dressing(start: Start, name: str, *, gels: bool) -> tuple[str, ...]:
    """What hangs there already, as YAML; gels: with its gels."""
    opening = start.document.openings[name]
    assert isinstance(opening, Window | Skylight)
    return tuple(
        flow_text(start.case.text, ("openings", name, "dressing", k))
        for k, one in enumerate(opening.dressing)
        if gels or not isinstance(one, WindowGel)
    )


def _dressing_edits(start: Start, name: str, told: tuple[str, ...]) -> tuple[Edit, ...]:
    path = ("openings", name, "dressing")
    return (rewrite_or_add(start.case.document, path, f"[{', '.join(told)}]"),)


def _scaling(start: Start, s: int, factor: float) -> Callable[[], Problem | None]:
    factors: dict[str, float | Float64Array] = {start.source_names[s]: factor}
    factors |= dict.fromkeys(_suns_through(start, s), factor)
    return lambda: scaled(start, factors)


def _suns_through(start: Start, s: int) -> tuple[str, ...]:
    """The sun, where no other opening lets it in; else it is left for a trace to tell."""
    sources = start.solution.stage.sources
    suns = tuple(one.name for one in sources if one.kind == SUN)
    skies = [k for k, one in enumerate(sources) if one.kind == SKY]
    return suns if skies == [s] else ()


def _sheer_trial(start: Start, s: int) -> Callable[[], Problem | None]:
    def trial() -> Problem:
        name = start.source_names[s]
        whole = through_sheer(start, name, straight=SHEER_STRAIGHT, scattered=SHEER_SCATTERED)
        for sun in _suns_through(start, s):
            whole[start.index(sun)] *= SHEER_STRAIGHT + SHEER_SCATTERED
        return start.with_light(whole)

    return trial


def _area_m2(opening: Window | Skylight) -> float:
    if isinstance(opening, Skylight):
        return opening.size[0].si * opening.size[1].si
    return opening.width.si * opening.height.si


def _cautions(opening: Window | Skylight) -> tuple[str, ...]:
    found = ["gel shows its edges and wrinkles: look at it in frame"]
    if isinstance(opening, Skylight) or opening.sill.si > _HIGH_M:
        found.append(
            "work at height: a ladder has somebody at its foot, and nobody leans out of a window"
        )
    else:
        found.append("outside above the ground floor only from a proper platform: ask who may")
    return tuple(found)


def _stops(stops: int) -> str:
    return f"{stops} stop" if stops == 1 else f"{stops} stops"


# Another hour ----------------------------------------------------------------------------


def wants_hours(start: Start) -> bool:
    """Whether daylight matters to what is missed, and the scene has an hour to change."""
    stage = start.solution.stage
    if instant_of(start.document) is None:
        return False
    return any(
        source.kind in {SKY, SUN} and max(start.less[s], start.more_at_full[s]) > _LEAST
        for s, source in enumerate(stage.sources)
    )


def hour_problems(start: Start) -> dict[datetime, Problem]:
    """The problem at each half hour of the setups' day, but for their own; what is kept is shot."""
    own = instant_of(start.document)
    location = start.document.location
    assert own is not None
    assert location is not None
    outside = skies_by_hour(start.document)
    kept = keep_hours(_few_sunrays(start))
    stage = start.solution.stage
    found: dict[datetime, Problem] = {}
    for instant in _half_hours(own, location.zone):
        hour = hour_light(stage, outside(instant, None).sources)
        read = read_hour(kept, hour)
        light = start.direct + start.bounced
        for s, source in hour.sources.items():
            white = read.direct[s] + read.bounced[s]
            dark = source.name == SUN_NAME and source.flux_lm <= 0.0
            light[s] = 0.0 if dark else white * np.asarray(source.colour, np.float64)
        found[instant] = start.with_light(light)
    return found


_SUN_RAYS: Final = 4096  # as a day has them


def _few_sunrays(start: Start) -> LightLayers:
    layers = start.case.posed[0].layers
    solution = layers.solution
    budget = replace(solution.budget, beam_rays=_SUN_RAYS)
    return replace(layers, solution=replace(solution, budget=budget))


def _half_hours(own: datetime, zone: str) -> list[datetime]:
    found = []
    at = datetime.combine(own.date(), _FIRST_HOUR)
    while at.time() <= _LAST_HOUR:
        try:
            instant = local_instant(at, zone)
        except DaylightError:  # the clock skips it
            instant = own
        if abs(instant - own) >= _HALF_HOUR / 2:
            found.append(instant)
        at += _HALF_HOUR
    return found


def hour_candidate(start: Start, instant: datetime, problem: Problem) -> Candidate:
    """The setups shot at another hour of their day."""
    told = f"{instant:%H:%M}"
    edits = tuple(
        put_or_add(start.case.document, ("setups", setup), "at", told)
        for setup in start.case.setups
    )
    return Candidate(
        kind="hour",
        says=f"shoot it at {told}",
        does=tuple(f"{setup}: shot at {told}" for setup in start.case.setups),
        edits=edits,
        trial=lambda: problem,
        effort=WAIT,
        cautions=("what is shot before and after it must match; falloff day shows the whole day",),
        rank=1.0,
    )
