"""The quick start in a terminal: asks, answers in sentences, lists what was taken for granted."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any, NoReturn

import msgspec
import typer
from rich.console import Console
from rich.table import Table

from falloff.cli import show
from falloff.cli.asking import Asked, Left, System, ask_again, ask_all, command_line, may_ask
from falloff.cli.words import one_of
from falloff.errors import DocumentError, Fault
from falloff.session import SITUATIONS, QuickAnswer, Started, run_new, warm_up

_WORTH_TELLING_STOPS = 0.1
_STOPPED = 130  # as shells report a program that Ctrl-C ended
_out = Console(highlight=False)


def start(
    situation: str | None,
    answers: dict[str, str],
    *,
    units: str | None,
    out: Path | None,
    ask: bool | None,
    json: bool,
) -> None:
    """Ask what is to be asked, answer, write the scene file and say where it is."""
    systems: tuple[System, ...] = ("metric", "imperial")
    system = None if units is None else one_of(units, systems, "system of units")
    asking = ask if ask is not None else may_ask(answers, json=json)
    if situation is None and not asking:
        raise DocumentError(
            Fault(
                what="which situation?",
                expected=", ".join(SITUATIONS),
                fix="falloff new window",
            )
        )
    kind = None if situation is None else one_of(situation, tuple(SITUATIONS), "situation")
    asked = Asked(kind, system, answers)
    if not asking:
        asked.system = system or "metric"
    else:
        # The kernels compile while the person reads the questions.
        threading.Thread(target=warm_up, daemon=True).start()
    try:
        started = _started(asked, out=out, asking=asking, json=json)
    except Left as left:
        _leave(asked, "Left before the end; nothing was written.", code=1, heard=left)
    except KeyboardInterrupt:
        _leave(asked, "Stopped; nothing was written.", code=_STOPPED)
    if json:
        show.print_json(started_document(started))
        return
    print_answer(started)
    told = "The same in one line"
    _out.print(f"{told}: {command_line(asked)}", markup=False, soft_wrap=True)


def _started(asked: Asked, *, out: Path | None, asking: bool, json: bool) -> Started:
    """Ask and answer; what turns out at the end not to fit is asked again, all else kept."""
    if asking:
        ask_all(asked)
    while True:
        try:
            with (
                _out.status("tracing", spinner="line")
                if _out.is_terminal and not json
                else _Quiet()
            ):
                return run_new(asked.kind(), asked.answers, units=asked.units(), out=out)
        except DocumentError as error:
            if not asking or not ask_again(asked, error):
                raise


def _leave(asked: Asked, word: str, *, code: int, heard: BaseException | None = None) -> NoReturn:
    """Say so in a plain word, with the line that repeats what was answered so far, and end."""
    _out.print()
    _out.print(word, markup=False)
    if asked.situation is not None:
        line = command_line(asked, ask=True)
        _out.print(f"To go on from here: {line}", markup=False, soft_wrap=True)
    raise typer.Exit(code) from heard


class _Quiet:
    """Stands for a spinner where there is no terminal."""

    def __enter__(self) -> None:
        return None

    def __exit__(self, *_: object) -> None:
        return None


def print_answer(started: Started) -> None:
    """Sentences, then what was taken for granted by its worth, then the scene file."""
    answer = started.answer
    _out.print()
    _out.print(f"[bold]{SITUATIONS[answer.situation].capitalize()}[/bold]  {answer.exposure}")
    _out.print()
    for note in answer.taken_as:
        _out.print(f"Taken: {note}.", markup=False)
    if answer.taken_as:
        _out.print()
    for sentence in answer.sentences:
        _out.print(sentence, markup=False)
    _out.print()
    if answer.worths:
        _print_worths(answer)
    _out.print(
        f"The scene: {started.scene}. Change it, then: falloff picture {started.scene}",
        markup=False,
        soft_wrap=True,
    )


def _print_worths(answer: QuickAnswer) -> None:
    _out.print(_worth_table(answer))
    small = [worth.about for worth in answer.worths if worth.stops < _WORTH_TELLING_STOPS]
    if small:
        _out.print(f"Worth less than a tenth of a stop: {', '.join(small)}.", markup=False)
    _out.print()


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
