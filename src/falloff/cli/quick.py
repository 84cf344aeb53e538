"""The quick start in a terminal: asks, answers in sentences, lists what was taken for granted."""

from __future__ import annotations

import sys
import threading
from pathlib import Path
from typing import Any, Literal

import msgspec
from rich.console import Console
from rich.table import Table

from falloff.cli import show
from falloff.cli.words import one_of
from falloff.errors import DocumentError, FalloffError, Fault
from falloff.session import (
    SITUATIONS,
    QuickAnswer,
    Started,
    questions,
    read_answer,
    run_new,
    warm_up,
)

_WORTH_TELLING_STOPS = 0.1
_out = Console(highlight=False)


def start(
    situation: str | None,
    answers: dict[str, str],
    *,
    units: str,
    out: Path | None,
    ask: bool | None,
    json: bool,
) -> None:
    """Ask what is to be asked, answer, write the scene file and say where it is."""
    systems: tuple[Literal["metric", "imperial"], ...] = ("metric", "imperial")
    system = one_of(units, systems, "system of units")
    asking = ask if ask is not None else _may_ask(answers, json=json)
    if asking:
        # The kernels compile while the person reads the questions.
        threading.Thread(target=warm_up, daemon=True).start()
    if situation is None:
        if not asking:
            raise DocumentError(
                Fault(
                    what="which situation?",
                    expected=", ".join(SITUATIONS),
                    fix="falloff new window",
                )
            )
        situation = _ask_situation()
    kind = one_of(situation, tuple(SITUATIONS), "situation")
    if asking:
        _ask_rest(kind, system, answers)
    if json:
        show.print_json(started_document(run_new(kind, answers, units=system, out=out)))
        return
    with _out.status("tracing", spinner="line") if _out.is_terminal else _Quiet():
        started = run_new(kind, answers, units=system, out=out)
    print_answer(started)


class _Quiet:
    """Stands for a spinner where there is no terminal."""

    def __enter__(self) -> None:
        return None

    def __exit__(self, *_: object) -> None:
        return None


def _may_ask(answers: dict[str, str], *, json: bool) -> bool:
    """Whether one sits at a terminal and has answered nothing in the command."""
    return not json and sys.stdin.isatty() and not any(answers.values())


def _ask_situation() -> str:
    names = list(SITUATIONS)
    _out.print("Which situation?")
    for number, (name, told) in enumerate(SITUATIONS.items(), start=1):
        _out.print(f"  {number}  {told} ({name})", markup=False)
    while True:
        said = _typed("1")
        if said in {"1", "2", "3", "4"}:
            return names[int(said) - 1]
        try:
            return one_of(said, names, "situation")
        except FalloffError as error:
            show.print_error(error)


def _ask_rest(
    kind: Literal["window", "table", "interview", "kitchen"],
    system: Literal["metric", "imperial"],
    answers: dict[str, str],
) -> None:
    """Ask each question that has no answer yet until it can be read; Enter takes the default."""
    asked = [one for one in questions(kind) if not answers[one.name]]
    _out.print(f"{len(asked)} questions; Enter takes what stands in brackets.")
    for question in asked:
        if question.name == "place" and (
            " at " in answers["key"] or answers["key"].lower() == "none"
        ):
            continue
        if question.name in ("dressing", "outside") and answers["window"].lower() == "none":
            continue
        while True:
            _out.print(question.asks, markup=False)
            said = _typed(question.default(system))
            try:
                read_answer(question, said or question.default(system))
            except FalloffError as error:
                show.print_error(error)
                continue
            answers[question.name] = said
            break


def _typed(default: str) -> str:
    _out.print(f"  [{default}] ", end="", markup=False)
    try:
        return input().strip()
    except EOFError:
        return ""


def print_answer(started: Started) -> None:
    """Sentences, then what was taken for granted by its worth, then the scene file."""
    answer = started.answer
    _out.print()
    _out.print(f"[bold]{SITUATIONS[answer.situation].capitalize()}[/bold]  {answer.exposure}")
    _out.print()
    for sentence in answer.sentences:
        _out.print(sentence, markup=False)
    _out.print()
    _out.print(_worth_table(answer))
    small = [worth.about for worth in answer.worths if worth.stops < _WORTH_TELLING_STOPS]
    if small:
        _out.print(f"Worth less than a tenth of a stop: {', '.join(small)}.", markup=False)
    _out.print()
    _out.print(
        f"The scene: {started.scene}. Change it, then: falloff picture {started.scene}",
        markup=False,
        soft_wrap=True,
    )


def _worth_table(answer: QuickAnswer) -> Table:
    """Assumptions, the weightiest first; the stops are the most that any figure moves."""
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 1, 0, 0))
    table.add_column("taken for granted", no_wrap=True)
    table.add_column("as", overflow="fold", max_width=22)
    table.add_column("might be", overflow="fold", max_width=22)
    table.add_column("worth", justify="right", no_wrap=True)
    table.add_column("moves most", no_wrap=True)
    for worth in answer.worths:
        if worth.stops >= _WORTH_TELLING_STOPS:
            stops = f"{worth.stops:.1f} stop{'s' * (worth.stops >= 1.05)}"
            table.add_row(worth.about, worth.taken, worth.might, stops, worth.moves)
    return table


def started_document(started: Started) -> dict[str, Any]:
    """A quick start as JSON; docs/json.md tells the fields."""
    answer = msgspec.to_builtins(started.answer)
    del answer["scene"]
    return {"falloff_json": show.JSON_VERSION, "scene": str(started.scene), **answer}
