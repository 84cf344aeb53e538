"""What a person should know of an answer besides what holds: lights at full, coloured whites."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from falloff.balance.fewest import BYSTANDER, shares_of_targets
from falloff.balance.problem import Answer, Problem
from falloff.balance.terms import totals
from falloff.document import ColourTarget, readings_asked
from falloff.findings import Finding, Weight
from falloff.readings.colour import uv_of, white_of

_COLOURED_CC: Final = 10.0  # a third of a full green gel: seen beside white (common practice)


def findings_of(problem: Problem, answer: Answer) -> tuple[Finding, ...]:
    """Lights with nothing in hand, no light to dim, targets out of frame, whites that are none."""
    return (
        *_at_full(problem, answer),
        *_none_dims(problem),
        *_out_of_frame(problem),
        *_coloured_whites(problem, answer),
    )


def _at_full(problem: Problem, answer: Answer) -> Iterator[Finding]:
    """A light at full has nothing in hand; one stop is the habit (common practice, no source)."""
    counts = shares_of_targets(problem, answer, wanting=True)
    for s, (lever, share) in enumerate(zip(problem.levers, answer.shares, strict=True)):
        if lever.dims and lever.is_full(share) and counts[s] >= BYSTANDER:
            says = f"{lever.source} is at 100 %: there is nothing in hand for a flag, a net or gel"
            do = "bring it nearer or a stronger one, so that a stop is left: that is the habit"
            if lever.in_shot:
                says = f"{lever.source} is at 100 %: there is nothing in hand"
                do = "a stronger bulb would leave something; never more than its fitting is for"
            yield Finding(weight=Weight.WARNING, about=lever.source, says=says, do=do)


def _none_dims(problem: Problem) -> Iterator[Finding]:
    if not any(lever.free for lever in problem.levers):
        says = "no light of this scene can be dimmed: there is nothing to balance with but exposure"
        do = "add a fixture, or look at the fixes: hour, window, stop"
        yield Finding(weight=Weight.WARNING, about=problem.scene, says=says, do=do)


def _out_of_frame(problem: Problem) -> Iterator[Finding]:
    """What a spot meter is pointed at is there for the picture."""
    for table in problem.tables:
        for name, target in table.targets.items():
            for reading in readings_asked(target):
                if reading in table.out_of_frame:
                    says = (
                        f"{reading} lies outside the frame of {table.setup}: {name} asks for what "
                        "nobody sees there, and counts all the same"
                    )
                    do = (
                        f"say which setups {name} is for (setups: [...]), or meter what is in frame"
                    )
                    yield Finding(weight=Weight.WARNING, about=name, says=says, do=do)


def _coloured_whites(problem: Problem, answer: Answer) -> Iterator[Finding]:
    """A temperature says nothing of green and magenta."""
    for table, light in zip(problem.tables, totals(problem, answer), strict=True):
        for name, target in table.targets.items():
            if not isinstance(target, ColourTarget) or target.green is not None:
                continue
            for reading in table.points.get(target.reading, (target.reading,)):
                uv = uv_of(light[table.index(reading)]) if reading in table.readings else None
                white = None if uv is None else white_of(uv)
                if white is None or abs(white.green_cc) < _COLOURED_CC:
                    continue
                side = "green" if white.green_cc > 0.0 else "magenta"
                says = (
                    f"{reading} in {table.setup} is {abs(white.green_cc):.0f} CC of {side} off "
                    f"white: {name} asks for a temperature alone, and looks {side} all the same"
                )
                do = "ask for green: 0 CC besides, or for a hue where a colour is meant"
                yield Finding(weight=Weight.WARNING, about=name, says=says, do=do)
