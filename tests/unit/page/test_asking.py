"""Questions to the light: handed over whole, replaced by newer ones, looked at without a step."""

from __future__ import annotations

from pathlib import Path
from typing import Any, cast

import pytest
from tests.unit.page.worked_scene import TEXT

from falloff.document import KnownNames, SceneDocument
from falloff.errors import DocumentError
from falloff.page.asking import look_into, looked_at, task_of, tried
from falloff.page.history import History
from falloff.page.jobs import drop_older
from falloff.page.stored import Stored
from falloff.page.tasks import AskTask
from falloff.page.tree import TreeMaker
from falloff.page.windows import Window
from falloff.page.worker import Bench
from falloff.page.worktop import Worktop


def table() -> Worktop:
    """A table with the worked scene on it."""
    history = History.begin(Path("worked.scene.yaml"), TEXT, KnownNames())
    stored = Stored()
    maker = TreeMaker(stored)
    return Worktop(history, stored, maker, maker.tree(history.now.document))


async def _nothing(_text: str) -> None: ...


def window(name: str = "one") -> Window:
    return Window(name, _nothing)


def told(_setup: str, document: SceneDocument) -> dict[str, Any]:
    return {"sentences": [document.setups["ONE"].dims["KEY"].text]}


DIM = {"do": "dims", "knobs": {"KEY": 0.3}, "setups": ["ONE"]}


def test_a_question_goes_with_all_it_needs() -> None:
    top = table()
    asked = {"setups": ["ONE"]}
    message = {"what": "balance", "setup": "ONE", "asked": asked}
    task = task_of(top, window(), message, "one:1")
    assert (task.id, task.window, task.what, task.asked) == ("one:1", "one", "balance", asked)
    assert task.standing[task.plans["ONE"]].setups.keys() == {"ONE"}
    assert task.standing[task.plans["TWO"]].setups.keys() == {"TWO", "THREE"}
    assert task.text == ""  # only what edits the file is given its text
    assert task_of(top, window(), {**message, "what": "fixes"}, "one:2").text == TEXT
    with pytest.raises(DocumentError, match="no setup NINE"):
        task_of(top, window(), {**message, "setup": "NINE"}, "one:3")


def test_a_picture_goes_along_while_it_is_kept() -> None:
    top = table()
    key = top.stored.put(b"a picture")
    message = {"what": "still", "setup": "ONE", "asked": {"key": key}}
    assert task_of(top, window(), message, "one:1").asked["data"] == b"a picture"
    gone = {**message, "asked": {"key": "gone"}}
    assert task_of(top, window(), gone, "one:2").asked["data"] is None


def test_what_is_looked_at_makes_no_step() -> None:
    top = table()
    before = top.history.mark()
    document = tried(top, "ONE", [DIM, {"do": "setting", "key": "stop", "text": "T4"}])
    assert document.setups["ONE"].dims["KEY"].si == 0.3
    assert document.setups["ONE"].stop.si == 4.0
    with pytest.raises(DocumentError):
        tried(top, "ONE", [DIM, {"do": "dim", "source": "NOBODY", "knob": 1}])
    assert top.history.mark() == before
    assert top.history.now.written() == TEXT


def test_a_window_is_told_how_touched_setups_would_be() -> None:
    top = table()
    seen = looked_at(top, "ONE", [DIM], told)
    # TWO is like ONE, and THREE like TWO: KEY is dimmed in all of them.
    assert set(seen) == {"ONE", "TWO", "THREE"}
    assert seen["ONE"]["dims"]["KEY"]["knob"] == 0.3
    assert seen["ONE"]["sentences"] == ["30 %"]
    assert seen["ONE"]["dims"]["HEAD"] == top.tree["setups"]["ONE"]["dims"]["HEAD"]
    assert looked_at(top, "ONE", [], told) == {}
    assert looked_at(top, "ONE", [{"do": "dim", "source": "NOBODY", "knob": 1}], told) == {}


def test_what_has_to_be_traced_is_not_looked_at() -> None:
    top = table()
    answer = {
        "setup": "ONE",
        "changes": [DIM],
        "parts": [{"changes": [DIM]}, {"changes": [DIM], "step": True}, {"changes": []}],
    }
    look_into(top, answer, told)
    assert set(answer["look"]) == {"ONE", "TWO", "THREE"}
    assert [("look" in part) for part in cast("list[Any]", answer["parts"])] == [True, False, False]


def test_a_newer_question_of_a_window_drops_its_older_one_of_that_kind() -> None:
    top = table()

    def task(name: str, what: str, who: str = "one") -> AskTask:
        return task_of(top, window(who), {"what": what, "setup": "ONE"}, name)

    bench = Bench(cast("Any", None))
    bench.asked = task("running", "balance")
    bench.asks = [task("waiting", "balance"), task("why", "why"), task("other", "balance", "two")]
    drop_older(bench, task("newest", "balance"))
    assert bench.cancelled == {"running", "waiting"}
