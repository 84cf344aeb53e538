"""The quick start's questions at a terminal: each answer is checked as soon as it is given."""

from __future__ import annotations

import os
import re
import shlex
import sys
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, Literal, TypeAlias

from rich.console import Console

from falloff.cli import show
from falloff.cli.words import one_of
from falloff.errors import DocumentError, FalloffError, Fault
from falloff.session import (
    SITUATIONS,
    check_answer,
    fitting_default,
    questions,
    read_answer,
    taken_as,
)

Kind: TypeAlias = Literal["window", "table", "interview", "kitchen"]
System: TypeAlias = Literal["metric", "imperial"]
_UNIT_WORDS: Final[Mapping[str, System]] = {
    "m": "metric", "metre": "metric", "metres": "metric", "meters": "metric", "metric": "metric",
    "ft": "imperial", "foot": "imperial", "feet": "imperial", "imperial": "imperial",
}  # fmt: skip
_FEET_PLACES: Final = ("_US", "_LR", "_MM")  # countries that measure in feet
_out = Console(highlight=False)


class Left(Exception):
    """The person closed the input."""


@dataclass(slots=True)
class Asked:
    """What is known so far: situation, units, answers by question, and what is done with.

    settled: questions that were answered or left to their default.
    """

    situation: Kind | None
    system: System | None
    answers: dict[str, str]
    settled: set[str] = field(default_factory=set)

    def kind(self) -> Kind:
        """The situation, once it is known."""
        assert self.situation is not None
        return self.situation

    def units(self) -> System:
        """The units, metric as long as nobody said otherwise."""
        return self.system or "metric"


def may_ask(answers: Mapping[str, str], *, json: bool) -> bool:
    """Whether one sits at a terminal and has answered nothing in the command."""
    return not json and sys.stdin.isatty() and not any(answers.values())


def ask_all(asked: Asked) -> None:
    """Ask situation, units and each question that has no answer yet; Enter takes the default.

    Raises Left where the input ends, DocumentError where an answer of the command is at fault.
    """
    if asked.situation is None or asked.system is None:
        _ask_situation(asked)
    kind, system = asked.kind(), asked.units()
    asked.settled |= {name for name, said in asked.answers.items() if said.strip()}
    check_answer(kind, system, asked.answers, settled=asked.settled)
    wanted = [one.name for one in questions(kind) if one.name not in asked.settled]
    _out.print(f"{len(wanted)} questions; Enter takes what stands in brackets.")
    for name in wanted:
        if not _needless(asked, name):
            _ask(asked, name)


def ask_again(asked: Asked, error: FalloffError) -> bool:
    """Ask the questions that faults name once more; False where they name none of them."""
    names = [one.name for one in questions(asked.kind())]
    blamed = [name for name in names if any(fault.where == name for fault in error.faults)]
    if not blamed:
        return False
    show.print_error(error)
    for name in blamed:
        asked.answers[name] = ""
        asked.settled.discard(name)
    for name in blamed:
        _ask(asked, name)
    return True


def command_line(asked: Asked, *, ask: bool = False) -> str:
    """The one command that repeats all that was answered; ask: it asks what is left."""
    words = ["falloff new", asked.kind()]
    words += [f"--{name} {_quoted(said)}" for name, said in asked.answers.items() if said.strip()]
    words += ["--units imperial"] if asked.system == "imperial" else []
    words += ["--ask"] if ask else []
    return " ".join(words)


def _quoted(text: str) -> str:
    """An answer as a shell takes it back, in double quotes where it has an apostrophe."""
    if "'" in text and not re.search(r'["$`\\!]', text):
        return f'"{text}"'
    return shlex.quote(text)


# One question ----------------------------------------------------------------------------


def _ask_situation(asked: Asked) -> None:
    """Ask for the situation and for the units that lengths are given in, at one prompt."""
    system = asked.system or _local_units()
    unit = "m" if system == "metric" else "ft"
    if asked.situation is not None:
        _out.print(f"{SITUATIONS[asked.situation].capitalize()}: lengths in m or ft?")
    else:
        _out.print("Which situation? Add m or ft for lengths.")
        for number, (name, told) in enumerate(SITUATIONS.items(), start=1):
            _out.print(f"  {number}  {told} ({name})", markup=False)
    while True:
        said = _typed(unit if asked.situation is not None else f"1, {unit}")
        if asked.situation is not None:
            units = _units_in(asked, said)
            if said and units is None:
                _say_m_or_ft(said)
                continue
            asked.system = units or system
            return
        try:
            kind, units = _situation_in(said)
        except FalloffError as error:
            show.print_error(error)
            continue
        asked.situation = asked.situation or kind or "window"
        asked.system = units or system
        return


def _situation_in(said: str) -> tuple[Kind | None, System | None]:
    """A situation and units from "1", "2 ft", "table, m", or nothing at all."""
    words = re.sub(r"[,;]", " ", said.lower()).split()
    units = next((_UNIT_WORDS[word] for word in words if word in _UNIT_WORDS), None)
    rest = " ".join(word for word in words if word not in _UNIT_WORDS)
    names: list[Kind] = list(SITUATIONS)
    if not rest:
        return None, units
    if rest in {"1", "2", "3", "4"}:
        return names[int(rest) - 1], units
    told = {text.lower(): name for name, text in SITUATIONS.items()}
    return told[rest] if rest in told else one_of(rest, names, "situation"), units


def _units_in(asked: Asked, said: str) -> System | None:
    """The units that an answer names, or is in; a room's size is kept for the next question."""
    plain = said.strip().lower()
    if plain in _UNIT_WORDS:
        return _UNIT_WORDS[plain]
    found = re.search(r"[0-9]\s*(m|metres?|meters?|cm|ft|foot|feet|'|\u2032)(?![a-z])", plain)
    if not found:
        return None
    units: System = "metric" if found[1][0] in "mc" else "imperial"
    answers = {**asked.answers, "room": said}
    try:
        check_answer(asked.kind(), units, answers, settled={"room"})
    except FalloffError:
        return units
    if not asked.answers.get("room", "").strip():
        asked.answers["room"] = said
        _out.print(f"  taken as the room's size too: {said}", markup=False)
    return units


def _say_m_or_ft(said: str) -> None:
    """That this question wants a unit alone."""
    show.print_error(
        DocumentError(
            Fault(
                what="this asks for the unit of lengths",
                expected="m or ft",
                found=said,
                fix="write m for metres, ft for feet, or press Enter for what stands in brackets",
            )
        )
    )


def _local_units() -> System:
    """The units of the place that the environment names; metric where it names none."""
    place = next((os.environ[one] for one in ("LC_ALL", "LC_MEASUREMENT", "LANG")
                  if os.environ.get(one)), "")  # fmt: skip
    return "imperial" if any(country in place for country in _FEET_PLACES) else "metric"


def _ask(asked: Asked, name: str) -> None:
    """Ask one question until its answer can be read and fits those before it."""
    kind, system = asked.kind(), asked.units()
    (question,) = [one for one in questions(kind) if one.name == name]
    while True:
        _out.print(question.asks, markup=False)
        default = fitting_default(question, kind, system, asked.answers, settled=asked.settled)
        said = _typed(default)
        answers = {**asked.answers, name: said}
        try:
            if said:
                read_answer(question, said)
            check_answer(kind, system, answers, settled={*asked.settled, name})
        except FalloffError as error:
            show.print_error(error)
            continue
        asked.answers[name] = said
        asked.settled.add(name)
        for note in taken_as({name: said}):
            _out.print(f"  {note}", markup=False)
        return


def _needless(asked: Asked, name: str) -> bool:
    """Whether other answers leave nothing to be asked."""
    said = {one: asked.answers[one].strip().lower() for one in ("key", "window")}
    kind = asked.kind()
    gone = {one: bool(said[one]) and _nothing(kind, one, said[one]) for one in ("key", "window")}
    if name == "place":
        return gone["key"] or (bool(said["key"]) and _tells_place(kind, said["key"]))
    return name in ("dressing", "outside") and gone["window"]


def _tells_place(kind: Kind, said: str) -> bool:
    (question,) = [one for one in questions(kind) if one.name == "key"]
    return "key_distance_m" in read_answer(question, said)


def _nothing(kind: Kind, name: str, said: str) -> bool:
    (question,) = [one for one in questions(kind) if one.name == name]
    return read_answer(question, said)[name] is None


def _typed(default: str) -> str:
    _out.print(f"  [{default}] ", end="", markup=False)
    try:
        return input().strip()
    except EOFError:
        raise Left from None
