"""The questions of a quick start: at most ten, in the trade's words, each with a default."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from typing import Any, Final

from msgspec.structs import replace

from falloff.constants import METRES_PER_INCH
from falloff.errors import DocumentError, FalloffError, Fault
from falloff.session.quick import readers
from falloff.session.quick.fits import fitted_window, impossible
from falloff.session.quick.outfits import read_key
from falloff.session.quick.plan import Plan, Situation, System
from falloff.session.quick.room import clock_text, farthest_key_m, highest_key_m
from falloff.session.quick.words import word_note
from falloff.units import UnitFault


@dataclass(frozen=True, slots=True)
class Question:
    """One question: its name (also its flag), how it is asked, its default by units, its reader."""

    name: str
    asks: str
    metric: str
    imperial: str
    read: Callable[[str], dict[str, Any]]

    def default(self, system: System) -> str:
        """What is taken where nothing is answered, if it fits."""
        return self.metric if system == "metric" else self.imperial


SITUATIONS: Final[Mapping[Situation, str]] = {
    "window": "one person by a window",
    "table": "two people at a table",
    "interview": "a standing interview",
    "kitchen": "a kitchen or another working space",
}
_PLAIN: Final = str.maketrans({"\u2019": "'", "\u2018": "'", "\u2032": "'", "\u2033": '"'})
_NEAREST_USUAL_KEY_M: Final = 0.5  # a key nearer than this is nobody's default


def questions(situation: Situation) -> tuple[Question, ...]:
    """The ten questions of a situation, in the order in which they are asked."""
    return tuple(
        Question(name, asks, *_DEFAULTS[situation].get(name, usual), read)
        for name, asks, usual, read in _QUESTIONS
    )


def read_plan(situation: Situation, system: System, answers: Mapping[str, str]) -> Plan:
    """A plan from answers by question; what is left out takes its default, made to fit.

    Raises DocumentError with a fault for every answer that cannot be read, or else for those that
    do not fit one another.
    """
    plan, given = _assembled(situation, system, answers, settled=None)
    faults = _blamed(impossible(plan), given)
    if faults:
        raise DocumentError(*faults)
    return plan


def check_answer(
    situation: Situation,
    system: System,
    answers: Mapping[str, str],
    *,
    settled: Collection[str],
) -> None:
    """Check one answer with those before it: all `settled` questions, answered or left to Enter.

    What is not settled yet is left out of the room. Raises DocumentError as read_plan does.
    """
    plan, given = _assembled(situation, system, answers, settled=settled)
    faults = [f for f in _blamed(impossible(plan), given) if f.where in settled]
    if faults:
        raise DocumentError(*faults)


def fitting_default(
    question: Question,
    situation: Situation,
    system: System,
    answers: Mapping[str, str],
    *,
    settled: Collection[str],
) -> str:
    """A question's default as it fits what is settled before it, in words."""
    usual = question.default(system)
    if question.name not in ("window", "place"):
        return usual
    known = {name: said for name, said in answers.items() if name != question.name}
    plan, _ = _assembled(situation, system, known, settled={*settled, question.name})
    if question.name == "window":
        window = plan.window
        if window is None or window == question.read(usual)["window"]:
            return usual
        size = f"{_near(window.width_m, system)} x {_near(window.height_m, system)}"
        return f"{size}, {_near(window.distance_m, system)} away, {window.clock_hour} o'clock"
    said = question.read(usual)
    if plan.key is None or all(getattr(plan, name) == value for name, value in said.items()):
        return usual
    hour = clock_text(plan.key_clock).removesuffix(":00")
    place = f"{_near(plan.key_distance_m, system)}, {hour} o'clock"
    return f"{place}, {_near(plan.key_height_m, system)} up"


def read_answer(question: Question, said: str) -> dict[str, Any]:
    """The plan's values that one answer gives; DocumentError that names the question."""
    try:
        return question.read(" ".join(said.translate(_PLAIN).split()))
    except UnitFault as error:
        fault = error.fault
    except FalloffError as error:
        fault = error.faults[0]
    fix = fault.fix
    if "write" not in fix:
        fix = f"{fix} or write it like {_examples(question)}".removeprefix(" or ")
    raise DocumentError(
        Fault(
            what=fault.what,
            where=question.name,
            expected=fault.expected,
            found=fault.found or said,
            fix=fix,
        )
    )


def taken_as(answers: Mapping[str, str]) -> tuple[str, ...]:
    """What words of answers are taken as, where they are not the ones that were asked for."""
    notes = []
    for name, said in answers.items():
        plain = " ".join(said.translate(_PLAIN).split())
        note = word_note(name, plain)
        if name == "key" and plain and not note:
            note = read_key(readers.fixture_of(plain))[1]
        notes.append(note)
    return tuple(note for note in notes if note)


# A plan from answers -----------------------------------------------------------------------


def _assembled(
    situation: Situation,
    system: System,
    answers: Mapping[str, str],
    *,
    settled: Collection[str] | None,
) -> tuple[Plan, dict[str, Any]]:
    """A plan, which may be impossible, and the values that were given for it.

    settled: the questions that are done with; without the window's and the key's there are none.
    """
    usual, given = _values(situation, system, answers)
    values = usual | given  # a default never outweighs what another answer said
    for name in ("window", "key"):
        if settled is not None and name not in settled:
            values[name] = None
    plan = Plan(
        situation=situation,
        units=system,
        supply_volts=120.0 if system == "imperial" else 230.0,
        **values,
    )
    if plan.window is not None and "window" not in given:
        plan = replace(plan, window=fitted_window(plan))
    return (plan if plan.key is None else _placed(plan, given)), given


def _values(
    situation: Situation, system: System, answers: Mapping[str, str]
) -> tuple[dict[str, Any], dict[str, Any]]:
    usual: dict[str, Any] = {}
    given: dict[str, Any] = {}
    faults: list[Fault] = []
    for question in questions(situation):
        usual |= question.read(question.default(system))
        said = answers.get(question.name, "").strip()
        try:
            given |= read_answer(question, said) if said else {}
        except FalloffError as error:
            faults += error.faults
    if faults:
        raise DocumentError(*faults)
    return usual, given


def _placed(plan: Plan, given: Mapping[str, Any]) -> Plan:
    """The plan with whatever of the key's place was not said made to fit."""
    hours = [plan.key_clock]
    if "key_clock" not in given:
        across = 12.0 - plan.key_clock
        # The usual key is across from a window.
        beside = plan.window is not None and plan.window.clock_hour == 3
        hours = [across, plan.key_clock] if beside else [plan.key_clock, across]
        hours += [5.0, 7.0, 3.0, 9.0]
    tried = [_at_hour(plan, hour, given) for hour in hours]
    good = (one for one in tried if one.key_distance_m >= _NEAREST_USUAL_KEY_M)
    return next((one for one in good if not impossible(one)), tried[0])


def _at_hour(plan: Plan, hour: float, given: Mapping[str, Any]) -> Plan:
    plan = replace(plan, key_clock=hour)
    if "key_distance_m" not in given:
        plan = replace(plan, key_distance_m=_at_most(plan, plan.key_distance_m, farthest_key_m))
    if "key_height_m" not in given:  # the usual height bows to a low ceiling
        plan = replace(plan, key_height_m=_at_most(plan, plan.key_height_m, highest_key_m))
    return plan


def _at_most(plan: Plan, usual_m: float, limit: Callable[[Plan], float]) -> float:
    """A usual length, or the most that there is, in whole centimetres or inches."""
    most = limit(plan)
    if usual_m <= most:
        return usual_m
    step = 0.01 if plan.units == "metric" else METRES_PER_INCH
    return math.floor(most / step) * step


def _blamed(faults: list[Fault], given: Mapping[str, Any]) -> list[Fault]:
    """Faults of a place that nobody gave are the key's: it fits nowhere."""
    placed = {"key_distance_m", "key_clock", "key_height_m"} & given.keys()
    if placed or not any(fault.where == "place" for fault in faults):
        return faults
    told = Fault(
        what="there is no room for this key",
        where="key",
        fix="give a smaller front, or say with --place where it stands",
    )
    return [fault for fault in faults if fault.where != "place"] + [told]


def _near(length_m: float, system: System) -> str:
    """A length in few figures that is not longer than it: "1.55 m", "5 ft 1 in"."""
    if system == "metric":
        return f"{math.floor(100.0 * length_m + 1e-6) / 100.0:g} m"
    feet, inches = divmod(math.floor(length_m / METRES_PER_INCH + 1e-6), 12)
    return f"{feet} ft" + (f" {inches} in" if inches else "")


def _examples(question: Question) -> str:
    return " or ".join(repr(one) for one in dict.fromkeys((question.metric, question.imperial)))


_QUESTIONS: Final[tuple[tuple[str, str, tuple[str, str], Callable[[str], dict[str, Any]]], ...]] = (
    ("room", "How wide is the room, and how deep away from the camera?",
     ("5 x 4.5 m", "16 x 15 ft"), readers.room),
    ("ceiling", "How high is the ceiling?", ("2.6 m", "8 ft 6 in"), readers.ceiling),
    ("wall", "Walls: white, mid or dark?", ("mid", "mid"), readers.walls),
    ("window", "The window: width x height, how far from the person, at which hour (camera at 6)?",
     ("1.5 x 1.3 m, 1.3 m away, 9 o'clock", "5 x 4 ft, 4 ft away, 9 o'clock"), readers.window),
    ("dressing", "What hangs in it: bare, sheer, blind, ND 0.6 gel, blackout?",
     ("bare", "bare"), readers.dressing),
    ("outside", "Light outside now: one meter reading in the open, or the sky in words?",
     ("overcast", "overcast"), readers.outside),
    ("key", "Key fixture and modifier, or none?",
     ("300 W LED in 90 cm soft box", "300 W LED in 3 ft soft box"), readers.key),
    ("place", "How far from the face, at which hour (camera at 6), how high?",
     ("1.6 m, 4 o'clock, 2 m up", "5 ft, 4 o'clock, 6 ft 6 in up"), readers.place),
    ("camera", "Camera: stop, ISO, shutter, ND?",
     ("T2.8, ISO 800, 180 deg", "T2.8, ISO 800, 180 deg"), readers.camera),
    ("fill", "On the side away from the key: none, white board, black?",
     ("none", "none"), readers.fill),
)  # fmt: skip

_DEFAULTS: Final[Mapping[Situation, Mapping[str, tuple[str, str]]]] = {
    "window": {},
    "table": {
        "window": ("1.6 x 1.3 m, 1.9 m away, 9 o'clock", "5 x 4 ft, 6 ft away, 9 o'clock"),
        "place": ("1.8 m, 4 o'clock, 2.1 m up", "6 ft, 4 o'clock, 7 ft up"),
    },
    "interview": {
        "room": ("5 x 6 m", "16 x 20 ft"),
        "window": ("1.4 x 1.4 m, 1.8 m away, 9 o'clock", "5 x 5 ft, 6 ft away, 9 o'clock"),
    },
    "kitchen": {
        "room": ("4 x 4 m", "13 x 13 ft"),
        "wall": ("white", "white"),
        "window": ("1.2 x 1 m, 1 m away, 9 o'clock", "4 x 3 ft, 3 ft 6 in away, 9 o'clock"),
        "place": ("1.6 m, 4 o'clock, 2 m up", "5 ft, 4 o'clock, 6 ft 6 in up"),
    },
}
