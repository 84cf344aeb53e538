"""quick start: answers to a plan, an ordered list of what was taken for granted, a scene file."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

import msgspec

from falloff.errors import DocumentError, Fault, GeometryError
from falloff.layers import warm_up
from falloff.session.quick.advise import Advice, advise
from falloff.session.quick.ask import read_plan, taken_as
from falloff.session.quick.assume import Worth, worths
from falloff.session.quick.frame import window_in_frame
from falloff.session.quick.measure import Figures, Measured, measure
from falloff.session.quick.plan import Plan, Situation, System
from falloff.session.quick.readers import fixture_of
from falloff.session.quick.sentences import Alone, alone, amps_of, sentences, stop_at_face
from falloff.session.quick.write import scene_text


class QuickAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """What a quick start says: sentences, the figures behind them, and each assumption's worth.

    taken_as: what words of the answers were taken as; stop_at_face: the stop at which the key side
    would be at key (a T- or f-number), None without light; alone: each source by itself;
    window_in_frame: None without a window; amps: None where no fixture is brought, at supply_volts;
    scene: the text of the scene file.
    """

    situation: Situation
    exposure: str
    taken_as: tuple[str, ...]
    sentences: tuple[str, ...]
    stop_at_face: float | None
    figures: Figures
    alone: tuple[Alone, ...]
    window_in_frame: bool | None
    amps: float | None
    supply_volts: float
    advice: Advice
    worths: tuple[Worth, ...]
    scene: str


def quick_answer(situation: Situation, system: System, answers: Mapping[str, str]) -> QuickAnswer:
    """Answer a quick start's questions by tracing its scene; no file is written.

    Raises DocumentError with a fault for each answer that cannot be read or does not fit, its
    question named in `where`.
    """
    plan = read_plan(situation, system, answers)
    warm_up()
    base = _measured(plan)
    notes = taken_as(answers)
    if base.figures.face_lux <= 0.0:
        return _told(base, notes, Advice(amiss="", do=""), ())
    given = {name for name, said in answers.items() if said.strip()}
    if len(fixture_of(answers.get("key", ""))) < len(answers.get("key", "")):
        given.add("place")
    return _told(base, notes, advise(base), worths(base, given))


def _told(
    base: Measured, notes: tuple[str, ...], advice: Advice, weighed: tuple[Worth, ...]
) -> QuickAnswer:
    plan, dark = base.plan, base.figures.face_lux <= 0.0
    return QuickAnswer(
        situation=plan.situation,
        exposure=base.readings.exposure,
        taken_as=notes,
        sentences=tuple(sentences(base, advice)),
        stop_at_face=None if dark else stop_at_face(plan, base.figures),
        figures=base.figures,
        alone=alone(base),
        window_in_frame=None if plan.window is None else window_in_frame(plan),
        amps=amps_of(plan),
        supply_volts=plan.supply_volts,
        advice=advice,
        worths=weighed,
        scene=scene_text(plan),
    )


# Which question is to be asked again where a thing of the scene cannot stand.
_QUESTION_OF: Final = {
    "KEY": "place",
    "WINDOW": "window",
    "BOARD": "fill",
    "BLACK": "fill",
    "PERSON": "window",
    "TABLE": "window",
    "LEFT": "window",
    "RIGHT": "window",
}
_FURNITURE: Final = ("SHELVES", "SOFA")


def _measured(plan: Plan) -> Measured:
    """The plan traced; furniture that nobody asked for is left out where it is in the way."""
    try:
        return measure(plan)
    except GeometryError as error:
        if plan.furnished and any(_names(fault, _FURNITURE) for fault in error.faults):
            return _measured(msgspec.structs.replace(plan, furnished=False))
        raise DocumentError(*(_asked(plan, fault) for fault in error.faults)) from error


def _asked(plan: Plan, fault: Fault) -> Fault:
    """A fault of the scene as one of the question that put the thing there."""
    named = [name for name in _QUESTION_OF if _names(fault, (name,))]
    question = _QUESTION_OF[named[0]] if named else "room"
    if question == "window" and plan.window is None:
        question = "room"
    fix = "answer this one otherwise, or give a larger room"
    if question == "fill":
        fix = "give a smaller one such as 2x3 poly, or none, or a larger room"
    return Fault(
        what=fault.what, where=question, expected=fault.expected, found=fault.found, fix=fix
    )


def _names(fault: Fault, names: tuple[str, ...]) -> bool:
    return any(re.search(rf"\b{name}\b", f"{fault.what} {fault.where}") for name in names)
