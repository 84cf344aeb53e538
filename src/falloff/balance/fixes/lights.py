"""What may be done about a light: nearer or farther, cut down in the head, twice, or away."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final

import numpy as np

from falloff.balance.fixes.candidates import Candidate
from falloff.balance.fixes.efforts import AWAY, MOVE, MOVE_BIG, NET, SECOND_UNIT, WIRE, Effort
from falloff.balance.fixes.frames import box_points, free_name, seen_by
from falloff.balance.fixes.start import Start
from falloff.balance.fixes.text import entry_text, flow_text
from falloff.balance.fixes.trials import light_elsewhere, scaled, standing_after, with_row
from falloff.balance.problem import Problem
from falloff.document import (
    Add,
    BookLight,
    Edit,
    Fixture,
    FresnelLight,
    GelFigures,
    KitLight,
    OpenFace,
    ProfileSpotLight,
    SoftBox,
    put_or_add,
    rewrite_or_add,
)
from falloff.document.arrange import written_at
from falloff.errors import FalloffError
from falloff.stage.moving import moved_edits, where
from falloff.types import Float64Array
from falloff.units import format_length

_DISTANCES: Final = (0.7, 0.5, 1.4, 2.0)
_LEAST: Final = 0.04  # of a missed reading's light
_AT_END: Final = 0.97
_BIG_M: Final = 1.0
_HEAVY_M: Final = 2.0  # how high a stand is told of
_ASIDE_M: Final = 0.15  # the second of two heads, beside the first
_LOSSES: Final = ((0.5, "single"), (1.0, "double"))  # the kit's wires and nets
_HARD: Final = (OpenFace, FresnelLight, ProfileSpotLight)
# A breaker is loaded to eight tenths for hours on end: common practice, no source.
BREAKER_SHARE: Final = 0.8


def light_candidates(start: Start) -> list[Candidate]:
    """Every light's: moved, wired, doubled, taken away."""
    found: list[Candidate] = []
    for name in start.document.fixtures:
        if name not in start.source_names:
            continue
        found += _moves(start, name)
        found += _wires(start, name)
        found += _second(start, name)
        found += _one_of_several(start, name)
    return found


# Nearer or farther -----------------------------------------------------------------------


def _moves(start: Start, name: str) -> list[Candidate]:
    fixture, s = start.document.fixtures[name], start.index(name)
    if fixture.aim is None:
        return []
    placer = start.placer
    target = placer.aim_point(fixture.aim)
    if target is None:
        return []
    here = placer.origin(name)
    far = float(np.linalg.norm(here - target))
    wish = max(float(start.less[s]), float(start.more_at_full[s]))
    # A ratio may want both more of it and less of it at once.
    touched = max(_touches(start, s), wish)
    if touched < _LEAST or far < 0.3:
        return []
    found = []
    for k, times in enumerate(_DISTANCES):
        spot = target + times * (here - target)
        said = format_length(times * far, units=start.document.units)
        word = "nearer" if times < 1.0 else "farther"
        toward = start.more_at_full[s] > start.less[s]
        likely = 1.0 if (times < 1.0) == toward else 0.6
        edits = _edits_to(start, name, fixture, spot)
        if not edits:
            continue
        found.append(
            Candidate(
                kind="move",
                says=f"{name} {word}, {said} from what it is aimed at",
                does=(f"{name}: from {format_length(far, units=start.document.units)} to {said}",),
                edits=edits,
                trial=_move_trial(start, name, edits),
                effort=MOVE_BIG if _is_big(start, name) else MOVE,
                cautions=_stand_cautions(float(spot[2])),
                rank=touched * likely - 0.01 * k,
                traced=True,
            )
        )
    return found


def _touches(start: Start, s: int) -> float:
    """The largest share that a source has of a reading that wants more or less light."""
    most = 0.0
    for t, need in enumerate(start.needs):
        parts = start.parts(t)
        shares = parts[s] / np.maximum(parts.sum(0), 1e-12)
        most = max(most, float((shares * (need != 0.0)).max(initial=0.0)))
    return most


def _edits_to(start: Start, name: str, fixture: Fixture, spot: Float64Array) -> tuple[Edit, ...]:
    case = start.case
    path = written_at(
        case.document.setups, case.setups[0], ("fixtures", name, "at"), case.document.seen.has
    )
    try:
        point = (float(spot[0]), float(spot[1]), float(spot[2]))
        return tuple(moved_edits(start.placer, where(case.document, fixture.at, path), point))
    except FalloffError:
        return ()


def _move_trial(start: Start, name: str, edits: tuple[Edit, ...]) -> Callable[[], Problem | None]:
    def trial() -> Problem | None:
        standing = standing_after(start, edits, name)
        if standing is None:
            return None
        body = standing.stage.bodies[name]
        was = start.solution.stage.bodies[name]
        if seen_by(start, box_points(body.low, body.high)) and not seen_by(
            start, box_points(was.low, was.high)
        ):
            return None
        light = light_elsewhere(start, standing, name)
        return None if light is None else with_row(start, name, light)

    return trial


def _is_big(start: Start, name: str) -> bool:
    body = start.solution.stage.bodies[name]
    light = start.document.fixtures[name].light
    soft = isinstance(light, SoftBox | BookLight)
    return soft and float((body.high - body.low).max()) > _BIG_M


def _stand_cautions(height_m: float) -> tuple[str, ...]:
    found = ["a bag on the stand, the cable away from where people walk"]
    if height_m > _HEAVY_M:
        found.append("above head height: a safety line, and nobody under it while it goes up")
    return tuple(found)


# Less than it dims to --------------------------------------------------------------------


def _wires(start: Start, name: str) -> list[Candidate]:
    fixture, s = start.document.fixtures[name], start.index(name)
    lever, share = start.problem.levers[s], float(start.answer.shares[s])
    at_lowest = not lever.free or share <= lever.lowest / _AT_END
    if start.less[s] < _LEAST or not at_lowest or share <= 0.0:
        return []
    hard = isinstance(fixture.light, _HARD) or (
        isinstance(fixture.light, KitLight) and not fixture.light.modifier
    )
    found = []
    for loss, word in _LOSSES:
        what = f"{word} wire in {name}" if hard else f"{word} net over the front of {name}"
        found.append(
            Candidate(
                kind="cut",
                says=f"a {what}",
                does=(f"{name}: {what}, {loss:g} stop less",),
                edits=(_gel_edit(start, name, loss),),
                trial=_factor_trial(start, name, 2.0**-loss),
                effort=WIRE if hard else NET,
                cautions=(
                    "wire and cloth near a head go hot: gloves, and keep cloth clear of the lens",
                ),
                rank=float(start.less[s]),
            )
        )
    return found


def _gel_edit(start: Start, name: str, loss: float) -> Edit:
    """A loss of so many stops behind all gels that are on."""
    path = ("fixtures", name, "gels")
    gels = start.document.fixtures[name].gels
    told = [
        flow_text(start.case.text, (*path, k)) if isinstance(one, GelFigures) else f'"{one}"'
        for k, one in enumerate(gels)
    ]
    told.append(f"{{loss: {loss:g} stops}}")
    return rewrite_or_add(start.case.document, path, f"[{', '.join(told)}]")


def _factor_trial(start: Start, name: str, factor: float) -> Callable[[], Problem | None]:
    return lambda: scaled(start, {name: factor})


# More of it, or fewer --------------------------------------------------------------------


def _second(start: Start, name: str) -> list[Candidate]:
    s = start.index(name)
    lever = start.problem.levers[s]
    full = not lever.free or start.answer.shares[s] >= _AT_END * lever.highest
    if not full or start.more_at_full[s] < _LEAST:
        return []
    fixture = start.document.fixtures[name]
    copy = free_name(start, name)
    placer, here = start.placer, start.placer.origin(name)
    toward = np.array([*placer.facing(name)[:2], 0.0])
    aside = np.array([-toward[1], toward[0], 0.0])
    body = start.solution.stage.bodies[name]
    step = _ASIDE_M + 0.8 * float((body.high - body.low)[:2].max())
    found = []
    for sign in (1.0, -1.0):
        edits = _edits_to(start, name, fixture, here + sign * step * aside)
        if not edits or any(edit.key_path[0] == "setups" for edit in edits):
            continue
        copied = Add(("fixtures", copy), entry_text(start.case.text, ("fixtures", name)))
        renamed = tuple(replace(edit, key_path=("fixtures", copy, *edit.key_path[2:]))
                        for edit in edits)  # fmt: skip
        dims = tuple(
            put_or_add(start.case.document, ("setups", setup, "dims"), copy, dim.text)
            for setup in start.case.setups
            if (dim := start.document.setups[setup].dims.get(name)) is not None
        )
        found.append(
            Candidate(
                kind="units",
                says=f"a second {name} beside the first",
                does=(f"{copy}: like {name}, a step beside it",),
                edits=(copied, *renamed, *dims),
                trial=_second_trial(start, name, edits),
                effort=SECOND_UNIT,
                cautions=(
                    "two units make two shadows: look at the nose and the wall",
                    *power_cautions(start, fixture, name),
                    *_stand_cautions(float(here[2])),
                ),
                rank=float(start.more_at_full[s]) - (0.01 if sign < 0.0 else 0.0),
                traced=True,
                alike={copy: name},
            )
        )
    return found[:2]


def _second_trial(start: Start, name: str, edits: tuple[Edit, ...]) -> Callable[[], Problem | None]:
    """The first light's own, and the same once more from beside it."""

    def trial() -> Problem | None:
        standing = standing_after(start, edits, name)
        if standing is None:
            return None
        body = standing.stage.bodies[name]
        if seen_by(start, box_points(body.low, body.high)):
            return None
        light = light_elsewhere(start, standing, name)
        if light is None:
            return None
        s = start.index(name)
        return with_row(start, name, start.direct[s] + start.bounced[s] + light)

    return trial


def power_cautions(
    start: Start, fixture: Fixture, name: str, *, watts: float | None = None
) -> tuple[str, ...]:
    """What the circuit would carry with so much more on it."""
    power = start.document.house_power
    own = start.solution.stage.sources[start.index(name)].power_w
    more = watts if watts is not None else own
    general = "count what each circuit carries; who wires it is licensed to"
    if power is None or fixture.circuit is None or more is None:
        return (general,)
    circuit = power.circuits.get(fixture.circuit)
    if circuit is None:
        return (general,)
    load = more + sum(
        one.power_w or 0.0
        for one in start.solution.stage.sources
        if (lit := start.document.fixtures.get(one.name)) is not None
        and lit.circuit == fixture.circuit
    )
    amps, breaker = load / power.supply.si, circuit.breaker.si
    if amps <= BREAKER_SHARE * breaker:
        return ()
    says = (
        f"{fixture.circuit} would carry {amps:.1f} A on a {breaker:g} A breaker, past the "
        f"{100.0 * BREAKER_SHARE:.0f} % that is common practice: put it on another circuit"
    )
    return (says,)


def _one_of_several(start: Start, name: str) -> list[Candidate]:
    """One of several alike left out, where it cannot be dimmed low enough."""
    s = start.index(name)
    fixture, lever = start.document.fixtures[name], start.problem.levers[s]
    alike = [
        other
        for other, one in start.document.fixtures.items()
        if other != name and one.light == fixture.light and one.output == fixture.output
    ]
    share = float(start.answer.shares[s])
    low = not lever.free or (0.0 < share <= lever.lowest / _AT_END)
    if not alike or start.less[s] < _LEAST or not low:
        return []
    if any(start.case.document.setups[one].without for one in start.case.setups):
        return []
    edits = tuple(
        put_or_add(start.case.document, ("setups", setup, "dims"), name, "0 %")
        for setup in start.case.setups
    )
    others = " and ".join(alike)
    return [
        Candidate(
            kind="units",
            says=f"{name} off, of several alike",
            does=(f"{name} off; {others} stay",),
            edits=edits,
            trial=_factor_trial(start, name, 0.0),
            effort=Effort(AWAY.minutes),
            rank=float(start.less[s]),
        )
    ]
