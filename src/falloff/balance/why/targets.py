"""A scene's own targets as questions: what is missed, and why."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from falloff.balance.why.answers import Limit, Question
from falloff.balance.why.causes import Known, leader_of
from falloff.balance.why.light import Lit, Measure
from falloff.balance.why.places import wall_words
from falloff.balance.why.scene import TracedSetup
from falloff.balance.why.words import Telling, the_name
from falloff.document import AnyTarget, EvenTarget, Target, ValueTarget


def face_of(traced: TracedSetup) -> Lit | None:
    """The key side of the first face, None where nobody is there or it has no light."""
    for person in traced.subjects:
        lit = traced.place(f"{person}.cheek_key")
        if lit.light > 0.0:
            return lit
    return None


def target_question(traced: TracedSetup, name: str, target: Target) -> Question | None:
    """A target as a question; None where its readings are not taken in this setup."""
    lit = traced.readings.get(target.reading)
    over = None if target.over is None else traced.readings.get(target.over)
    if lit is None or (target.over is not None and over is None):
        return None
    measure = Measure((lit,), () if over is None else (over,))
    stops = measure.stops()
    high = stops > target.level.si
    tolerance = target.tolerance.si
    limit = target.level.si + (tolerance if high else -tolerance)
    if (target.limit == "at most" and not high) or (target.limit == "at least" and high):
        limit = stops  # it holds on that side
    reference = target.over or ("key" if lit.unit == "lx" else "middle grey")
    face = face_of(traced)
    same = face is not None and _position(traced, lit) == _position(traced, face)
    known: Known = traced.known(
        leader_of(over) if over is not None else None, *(() if high else measure.over)
    )
    return Question(
        complaint=f"{name}: {target.reading} {'too bright' if high else 'too dark'}",
        setup=traced.setup.name,
        measure=measure,
        telling=Telling(
            the_name(target.reading),
            the_name(reference),
            walls=wall_words(traced),
            place=the_name(target.reading),
        ),
        high=high,
        limit=Limit(limit, f"the target {name!r}", target=name),
        known=known,
        handles=traced.handles,
        black=traced.with_black,
        face=None if same else face,
    )


def measured_targets(traced: TracedSetup) -> Iterator[Question]:
    """Targets as the meter's own number, and of readings that are to be even."""
    for name, target in traced.document.targets.items():
        if not wanted_here(traced, target):
            continue
        if isinstance(target, ValueTarget) and target.reading in traced.readings:
            lit = replace(traced.readings[target.reading], reference=max(target.value.si, 1e-9))
            high = lit.light > lit.reference
            open_side = target.limit == ("at least" if high else "at most")
            edge = target.tolerance.si if high else -target.tolerance.si
            limit = math.inf if high else -math.inf
            limit = limit if open_side else edge
            about = f"{name}: {target.reading}"
            yield _alone(
                traced, about, name, Measure((lit,)), limit, (target.reading, target.value.text)
            )
        elif isinstance(target, EvenTarget):
            lits = [traced.readings[one] for one in target.readings if one in traced.readings]
            if len(lits) < 2:
                continue
            most = max(lits, key=lambda one: one.light / one.reference)
            least = min(lits, key=lambda one: one.light / one.reference)
            about = f"{name}: {most.name} and {least.name} uneven, {most.name}"
            yield _alone(
                traced, about, name, Measure((most,), (least,)), target.within.si,
                (most.name, least.name),
            )  # fmt: skip


def _alone(
    traced: TracedSetup,
    about: str,
    name: str,
    measure: Measure,
    limit_stops: float,
    names: tuple[str, str],
) -> Question:
    """A measure that a target tells by itself."""
    high = bool(measure.under) or measure.stops() > 0.0
    face = face_of(traced)
    return Question(
        complaint=f"{about} {'too bright' if high else 'too dark'}",
        setup=traced.setup.name,
        measure=measure,
        telling=Telling(
            the_name(names[0]),
            the_name(names[1]),
            walls=wall_words(traced),
            place=the_name(names[0]),
        ),
        high=high,
        limit=Limit(limit_stops, f"the target {name!r}", target=name),
        known=traced.known(None, *(() if high else measure.over)),
        handles=traced.handles,
        black=traced.with_black,
        face=None if face is None or _position(traced, measure.over[0]) == _position(traced, face)
        else face,
    )  # fmt: skip


def _position(traced: TracedSetup, lit: Lit) -> tuple[float, ...]:
    return tuple(round(float(x), 3) for x in traced.probes[lit.name].point)


def same_spot(traced: TracedSetup, one: Lit, other: Lit) -> bool:
    """Whether two readings are taken in the same spot."""
    return _position(traced, one) == _position(traced, other)


def target_of(traced: TracedSetup, lit: Lit) -> tuple[str, Target] | None:
    """The target against key of a reading that is taken in the same spot."""
    for name, target in traced.document.level_targets.items():
        other = traced.readings.get(target.reading)
        if other is None or target.over is not None or lit.name not in traced.probes:
            continue
        alike = other.unit == lit.unit and _position(traced, other) == _position(traced, lit)
        if alike and wanted_here(traced, target):
            return name, target
    return None


def target_over(traced: TracedSetup, place: str, over: str) -> tuple[str, Target] | None:
    """The target of a place over another."""
    places = {name: traced.probes[name].place for name in traced.readings}
    for name, target in traced.document.level_targets.items():
        if not wanted_here(traced, target):
            continue
        if target.over and places.get(target.reading) == place and places.get(target.over) == over:
            return name, target
    return None


def wanted_here(traced: TracedSetup, target: AnyTarget) -> bool:
    """Whether a target is wanted in this setup."""
    return not target.setups or traced.setup.name in target.setups


def edge_of(found: tuple[str, Target] | None, usual: Limit, *, high: bool) -> Limit:
    """The edge of a target's tolerance, where there is a target."""
    if found is None:
        return usual
    name, target = found
    edge = target.tolerance.si if high else -target.tolerance.si
    open_side = target.limit == ("at most" if high else "at least")
    far = None if open_side else target.level.si - edge
    return Limit(target.level.si + edge, f"the target {name!r}", target=name, far_stops=far)
