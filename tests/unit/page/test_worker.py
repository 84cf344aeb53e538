"""The worker's table: what is done when, and when it waits."""

from __future__ import annotations

import threading
from dataclasses import replace
from typing import Any, cast

import pytest
from tests.unit.page.worked_scene import TEXT

from falloff.document import arranged, parse_document
from falloff.page.ask_desk import Desk
from falloff.page.jobs import make_answer
from falloff.page.tasks import AskTask, CancelTask, SceneTask, Sight, Task, Told
from falloff.page.traced import Place
from falloff.page.worker import Bench

SIGHT = Sight("plan", "A")


class Pipe:
    """A pipe whose other end sends `coming`, one at a wait, and hears `told`."""

    def __init__(self, *coming: Task) -> None:
        self.coming = list(coming)
        self.waits: list[float | None] = []
        self.told: list[Told] = []

    def poll(self, wait_s: float | None) -> bool:
        self.waits.append(wait_s)
        return bool(self.coming) and wait_s != 0.0

    def recv(self) -> Task:
        return self.coming.pop(0)

    def send(self, told: Told) -> None:
        self.told.append(told)


class Hours:
    """Hours that a day is read of, as far as anything gives way to it."""

    def day(self, _sight: Sight, unpressed: Any) -> dict[str, Any]:
        unpressed()
        return {"date": "2026-06-21"}

    def taken(self, _camera: str) -> None: ...


class Standing:
    """How things stand, as far as a day asks."""

    document = arranged(parse_document(TEXT), "ONE")


def bench(pipe: Pipe, *, moving: str | None) -> Bench:
    """A table with a scene that is traced, whose day is wanted."""
    scene = SceneTask(1, {"plan": Standing.document}, (SIGHT,), 320, moving)
    made = Bench(cast("Any", pipe), scene, done={SIGHT}, dayless={SIGHT})
    made.places["plan"] = cast("Place", type("Stood", (), {"hours": Hours(), "standing": Standing}))
    return made


def asked() -> AskTask:
    document = Standing.document
    return AskTask(
        "one:1", "one", "nothing", "ONE", {"plan": document}, {"ONE": "plan"}, {}, document
    )


def test_a_question_that_a_hand_holds_up_is_waited_with_not_turned_over(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("falloff.page.worker.day_fields", lambda *_: ("fields",))
    pipe = Pipe()
    table = bench(pipe, moving="KEY")
    table.asks.append(asked())
    table.turn()
    assert pipe.waits == [0.0, None]  # a look at the pipe, then a wait for something
    assert table.asks
    # The hand lets go: the question is answered, then the day is read.
    assert table.scene is not None
    pipe.coming.append(replace(table.scene, moving=None))
    table.read(wait_s=None)
    table.done.add(SIGHT)
    table.turn()
    assert not table.asks
    table.turn()
    assert [told.kind for told in pipe.told[-2:]] == ["idle", "day"]


def test_a_sum_beside_tells_no_share_of_it_and_can_be_dropped(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    pipe = Pipe()
    table = bench(pipe, moving=None)
    go_on = threading.Event()

    def looked_up(wait_s: float | None) -> bool:
        found = Pipe.poll(pipe, wait_s)
        if pipe.waits.count(wait_s) > 2:
            go_on.set()
        return found

    def told(desk: Desk) -> dict[str, Any]:
        return {"made": desk.beside(lambda: go_on.wait(10.0))}

    monkeypatch.setattr(pipe, "poll", looked_up)
    monkeypatch.setattr("falloff.page.jobs.answer_to", told)
    make_answer(table, asked())
    assert [told.parts for told in pipe.told] == [
        {"id": "one:1", "ended": "done", "answer": {"made": True}}
    ]
    pipe.waits.clear()
    go_on.clear()
    pipe.coming.append(CancelTask("one:1"))
    make_answer(table, asked())
    assert pipe.told[-1].parts == {"id": "one:1", "ended": "cancelled"}
    go_on.set()
