"""One complaint answered: how far off it is, from what cause, and what costs least to cure it."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import msgspec

from falloff.balance.why.causes import Known, causes_of
from falloff.balance.why.cures import ENOUGH_STOPS, Cure, Handle, Wanted, cheapest
from falloff.balance.why.light import Lit, Measure
from falloff.balance.why.records import Cause, Why
from falloff.balance.why.words import Telling, against, amount, sentence
from falloff.balance.words import listed
from falloff.findings import Finding, Weight

_AT_LEAST_STOPS: Final = 0.05  # past a limit, before it is past it
_SECOND_STOPS: Final = 1.0 / 3.0  # that a second cause must be worth to be told at once
_MORE_STOPS: Final = 1.0  # what a person wants who complains of what is within the usual


@dataclass(frozen=True, slots=True)
class Limit:
    """Where a measure begins to be wrong, in stops, and whose limit that is, in words.

    target: the name of the target whose tolerance ends there, "" where none does; far_stops: where
    that ends on the other side, None where it does not.
    """

    stops: float
    whose: str
    target: str = ""
    far_stops: float | None = None


@dataclass(frozen=True, slots=True)
class Question:
    """A complaint in a setup, as a measure.

    high: whether it is said to be too high, else too low. more: causes known besides; cures:
    besides those by arithmetic. notes: sentences that come after the first. black: the measure with
    a surface black and every bounce settled anew, None where only the first order is known. unseen:
    whether the setup's camera does not see it. face_room_stops: how far the face may rise for it.
    """

    complaint: str
    setup: str
    measure: Measure
    telling: Telling
    high: bool
    limit: Limit
    known: Known = field(default_factory=Known)
    handles: Mapping[str, Handle] = field(default_factory=dict)
    face: Lit | None = None
    more: tuple[Cause, ...] = ()
    cures: tuple[Cure, ...] = ()
    notes: tuple[str, ...] = ()
    black: Callable[[Measure, str], Measure] | None = None
    unseen: bool = False
    face_room_stops: float = math.inf


def aim_of(stops: float, limit_stops: float, *, high: bool) -> float:
    """What a cure should bring a measure to: its limit if it is past that, else a stop more."""
    sign = 1.0 if high else -1.0
    past = sign * (stops - limit_stops) > _AT_LEAST_STOPS
    return limit_stops if past else stops - sign * _MORE_STOPS


def answer(question: Question) -> Why:
    """Why it is as it is; within its limit, what a stop more would take."""
    measure, telling = question.measure, question.telling
    if measure.dark:
        return _in_the_dark(question)
    stops = measure.stops()
    sign = 1.0 if question.high else -1.0
    past = sign * (stops - question.limit.stops)
    off = past if past > _AT_LEAST_STOPS else 0.0
    aim = aim_of(stops, question.limit.stops, high=question.high)
    causes = causes_of(measure, telling, high=question.high, known=question.known)
    causes = _ranked((*question.more, *(_settled(question, one) for one in causes)))
    wanted = Wanted(
        measure, telling, aim, question.high, question.handles, question.known, question.face,
        question.face_room_stops,
    )  # fmt: skip
    cure = _first_cure(wanted, question.cures)
    if cure is not None and cure.surface is not None and question.black is not None:
        cure = _settled_cure(question, cure, cure.surface)
    says = [sentence(f"{telling.is_at(stops)}, {_verdict(past, off, question)}")]
    says += [sentence(one) for one in question.notes]
    told = _cause_sentences(causes, now=f"would be {against(stops, telling.reference)}")
    says += told or ["No one source or surface stands out as the cause."]
    if cure is not None and not off and cure.stops < _SECOND_STOPS:
        cure = None
    if cure is not None:
        says.append(sentence(_cure_text(question, cure, wanted.need, asked=not off)))
    elif off:
        says.append("None of the usual cures does it.")
    return Why(
        complaint=question.complaint,
        setup=question.setup,
        says=tuple(says),
        causes=causes,
        stops=stops if math.isfinite(stops) else None,
        wanted_stops=question.limit.stops,
        off_stops=off,
        cure=None if cure is None else cure.says,
        cure_stops=None if cure is None else cure.stops,
        cure_light=None if cure is None else cure.light,
        target=question.limit.target or None,
        seen=not question.unseen,
    )


def _cure_text(question: Question, cure: Cure, need: float, *, asked: bool) -> str:
    """The cure, and where it does not do it by itself, what is left; asked: for a stop more."""
    aim = f"a stop {'less' if question.high else 'more'}"
    short = need - cure.stops
    if short <= ENOUGH_STOPS + 1e-6:
        return f"{f'For {aim}, cheapest' if asked else 'Cheapest'}: {cure.says}"
    head = f"no one change gives {aim}" if asked else "no one change does it"
    return f"{head}; the best for its effort: {cure.says}; still {amount(short)} short"


def _settled(question: Question, cause: Cause) -> Cause:
    """A cause off a surface with every bounce counted, where that can be had."""
    if not cause.first_order or cause.surface is None or question.black is None:
        return cause
    stops = question.black(question.measure, cause.surface).stops()
    gain = (question.measure.stops() - stops) * (1.0 if question.high else -1.0)
    head = cause.says.rpartition(": ")[0]
    name = question.telling.surface(cause.surface)
    return msgspec.structs.replace(
        cause,
        says=f"{head}: with {name} black, {question.telling.would(stops)}",
        stops=gain if math.isfinite(gain) else None,
        first_order=False,
    )


def _settled_cure(question: Question, cure: Cure, surface: str) -> Cure:
    """Black on a surface with every bounce counted."""
    assert question.black is not None
    stops = question.black(question.measure, surface).stops()
    gain = (question.measure.stops() - stops) * (1.0 if question.high else -1.0)
    would = f"{cure.says.partition(': ')[0]}: {question.telling.would(stops)}"
    return replace(cure, says=would, stops=gain) if math.isfinite(gain) else cure


def cautions(whys: Sequence[Why]) -> tuple[Finding, ...]:
    """What is to be minded with the cures that are told: what hangs, what is hot, what can fall."""
    found = []
    cures = [one.cure or "" for one in whys if one.wrong]
    if any(re.match(r"hang|flag|cut|ND", cure) for cure in cures):
        found.append(
            Finding(
                weight=Weight.CAUTION,
                about="flags and cloth",
                says="cloth, gel and flags near a lamp can burn, and what hangs overhead can fall",
                do="keep them clear of lamps, take flame-proof cloth, tie off what hangs; local "
                "rules and licensed people decide",
            )
        )
    if any(re.match(r"bring .* from .* m to|move .* round|lower|aim", cure) for cure in cures):
        found.append(
            Finding(
                weight=Weight.CAUTION,
                about="moved lights",
                says="a light on a stand can fall, and one near a person is hot and dazzles",
                do="weigh the stand down, mind cables and reach; local rules and licensed people "
                "decide",
            )
        )
    return tuple(found)


def _verdict(past: float, off: float, question: Question) -> str:
    if off:
        return f"{amount(past)} past {question.limit.whose}"
    far = question.limit.far_stops
    if far is not None and (question.measure.stops() - far) * (1.0 if question.high else -1.0) < 0:
        words = ("dark", "bright") if question.high else ("bright", "dark")
        return f"too {words[0]} by {question.limit.whose}, not too {words[1]}"
    if question.limit.target:
        return f"so {question.limit.whose} holds"
    if abs(past) < 0.1:
        return f"just at {question.limit.whose}"
    return f"clear of {question.limit.whose} by {amount(past)}"


def _first_cure(wanted: Wanted, more: tuple[Cure, ...]) -> Cure | None:
    """The cheapest of the table and of what is known besides."""
    found = [*more]
    usual = cheapest(wanted)
    if usual is not None:
        found.append(usual)
    if not math.isfinite(wanted.need) or wanted.need <= 0.0:
        return None
    enough = [one for one in found if one.stops >= wanted.need - ENOUGH_STOPS]
    if enough:
        return min(enough, key=lambda one: (one.cost, -one.stops))
    return max(found, key=lambda one: one.stops, default=None)


def _ranked(causes: tuple[Cause, ...]) -> tuple[Cause, ...]:
    return tuple(sorted(causes, key=lambda one: -math.inf if one.stops is None else -one.stops))


def _cause_sentences(causes: tuple[Cause, ...], *, now: str) -> list[str]:
    """The first cause, and the second where it counts; now: what would be no change in words."""
    told = [one for one in causes[:2] if one is causes[0] or (one.stops or 0.0) >= _SECOND_STOPS]
    return [
        sentence(one.says) for one in told if not re.search(rf"{re.escape(now)}(?:$| \()", one.says)
    ]


def _in_the_dark(question: Question) -> Why:
    """What is told where a place has no light at all."""
    dark = [
        lit.name for lit in question.measure.places if lit.light <= 1e-9 * max(lit.reference, 1e-12)
    ]
    says = f"no light falls on {listed(list(dict.fromkeys(dark)))}: nothing to compare"
    return Why(
        complaint=question.complaint,
        setup=question.setup,
        says=(sentence(says), "Turn a light on, or look at its dim and at what stands before it."),
        off_stops=0.0 if question.high else 10.0,
        seen=not question.unseen,
    )
