"""Readings set against the plan as a window asks it, with light that is traced coarsely."""

from __future__ import annotations

from typing import Any

import pytest
from tests.unit.record.rooms import ROOM, small_room

from falloff.errors import DocumentError
from falloff.page.ask_desk import Answer, Desk
from falloff.page.asked_correct import correct_answer
from falloff.page.tasks import AskTask

HALF = ROOM.replace("{camera: CAM,", "{camera: CAM, dims: {PANEL: 50 %},")


def answer(*reads: str, text: str = ROOM, **asked: Any) -> Answer:
    """What a window is told of readings in the small room."""
    stood = small_room(text)
    told = {"reads": [["WIDE", one] for one in reads], **asked}
    task = AskTask(
        "one:1", "one", "correct", "WIDE", {"": stood.document}, {"WIDE": ""}, told, stood.document
    )
    desk = Desk(
        task, lambda _: stood.layers, lambda *_: None, lambda run: run(), lambda _: None,
        lambda _: "",
    )  # fmt: skip
    return correct_answer(desk)


def planned(reading: str, on: str, text: str = ROOM) -> float:
    """What the plan has at a reading, lx."""
    (one,) = answer(f"{reading}: 100 lx; {on}", text=text)["readings"]
    return float(one["planned"])


def refused(*reads: str, text: str = ROOM, **asked: Any) -> str:
    with pytest.raises(DocumentError) as caught:
        answer(*reads, text=text, **asked)
    return "\n".join(one.sentence() for one in caught.value.faults)


def edited(made: Answer) -> str:
    return str([one["edits"] for one in made["changes"]])


@pytest.mark.parametrize(
    ("stops", "words"),
    [
        (-1.0, "PANEL gives 1 stop less"),
        (-1.35, "PANEL gives 1 1/3 stops less"),
        (-0.35, "PANEL gives a third of a stop less"),
        (0.65, "PANEL gives two thirds of a stop more"),
    ],
)
def test_what_moved_is_told_in_thirds(stops: float, words: str) -> None:
    level = planned("key side", "PANEL alone")
    # Three alike, so that it is the lamp that moves by nearly all of it.
    read = [f"key side: {level * 2.0 ** (1.08 * stops):.4g} lx; PANEL alone" for _ in range(3)]
    assert words in answer(*read, believe=["key side"])["says"][0]


def test_a_dim_that_is_not_the_setups_is_not_kept_in_the_file() -> None:
    read = "key side: 100 lx; PANEL at 50 % on"
    assert answer(read)["readings"]  # it may be compared
    told = refused(read, record=True)
    assert "at a dim that is not the setup's" in told
    assert "--" not in told  # no words of a command line


def test_a_dim_that_is_the_setups_is_kept() -> None:
    made = answer("key side: 100 lx; PANEL at 50 % on", text=HALF, record=True)
    assert "measured" in edited(made)


def test_what_is_left_as_assumed_is_in_no_change() -> None:
    made = answer("up: 260 lx; ambient")
    assert {"PANEL", "HEAD"} <= set(made["unsaid"])
    assert "PANEL" not in edited(made)
    assert not [name for name in made["unsaid"] if name in edited(made)]


def test_no_reading_at_all_is_told() -> None:
    assert "no reading to correct the plan by" in refused()
