"""Undo, redo and gestures: every step is a whole scene, and its text keeps what people wrote."""

from __future__ import annotations

from pathlib import Path

import pytest

from falloff.document import Add, Edit, KnownNames, Put, Remove, Rewrite, edit_text
from falloff.errors import DocumentError
from falloff.page import history as history_module
from falloff.page.history import History

TEXT = """\
# a scene for her
falloff: 2
title: One   # its name
units: metric
room:
  floor: [[0 m, 0 m], [5 m, 0 m], [5 m, 4 m], [0 m, 4 m]]
  height: 2.7 m  # high
  floor_surface: planks
  ceiling_surface: plaster
  wall_surface: plaster
  wall_surfaces: {2: brick}
practicals:
  # the one over the table
  GLOBE: {light: globe, diameter: 12 cm, output: 600 lm, colour: 2700 K, at: [1 m, 1 m, 2 m]}
props:
  BOX:
    shape: box
    size: [60 cm, 60 cm, 60 cm]
    at: [2 m, 2 m]  # by the wall
    surface: oak
setups: {}
"""
HEIGHT = ("room", "height")
AT_X = ("practicals", "GLOBE", "at", 0)


def begun() -> History:
    return History.begin(Path("one.scene.yaml"), TEXT, KnownNames())


def height(metres: float) -> Put:
    return Put(HEIGHT, f"{metres:g} m")


def heights(history: History) -> list[float]:
    return [step.document.room.height.si for step in history.steps]


def test_it_begins_with_the_file_as_it_is() -> None:
    history = begun()
    assert (len(history.steps), history.at, history.now.label) == (1, 0, "as opened")
    assert history.now.written() is TEXT or history.now.written() == TEXT
    with pytest.raises(DocumentError, match="a scene needs 'room'"):
        History.begin(Path("x"), "falloff: 2\ntitle: x\nunits: metric\n", KnownNames())


def test_undo_and_redo_are_steps_of_one_list() -> None:
    history = begun()
    history.edit([height(3.0)], "higher")
    history.edit([height(4.0)], "higher still")
    assert heights(history) == [2.7, 3.0, 4.0]
    assert [history.go(history.at - 1).label for _ in range(3)] == [
        "higher", "as opened", "as opened"]  # fmt: skip
    assert history.now.document.title == "One"
    assert [history.go(history.at + 1).label for _ in range(3)] == [
        "higher", "higher still", "higher still"]  # fmt: skip
    assert history.go(-7).label == "as opened"
    assert history.go(99).label == "higher still"


def test_an_edit_after_undo_drops_what_was_undone() -> None:
    history = begun()
    for metres in (3.0, 4.0, 5.0):
        history.edit([height(metres)], "higher")
    history.go(1)
    history.edit([height(9.0)], "high")
    assert (heights(history), history.at) == ([2.7, 3.0, 9.0], 2)
    assert history.go(history.at + 1).document.room.height.si == 9.0


def test_a_gesture_is_one_step() -> None:
    history = begun()
    for n in range(20):
        history.edit([Put(AT_X, f"{1 + n / 10:g} m")], "GLOBE moved", gesture="a drag")
    assert (len(history.steps), history.at) == (2, 1)
    assert history.now.written() == TEXT.replace("[1 m, 1 m, 2 m]", "[2.9 m, 1 m, 2 m]")
    history.edit([Put(AT_X, "3 m")], "GLOBE moved", gesture="another drag")
    history.edit([Put(AT_X, "4 m")], "GLOBE moved")
    history.edit([Put(AT_X, "4.5 m")], "GLOBE moved")
    assert len(history.steps) == 5  # what is no gesture never goes on with the one before
    history.go(0)
    assert history.now.written() == TEXT


def test_a_gesture_whose_text_was_written_midway_goes_on() -> None:
    history = begun()
    history.edit([Put(AT_X, "2 m"), height(3.0)], "both", gesture="a drag")
    assert "height: 3 m" in history.now.written()  # the file is saved while the hand moves
    history.edit([Put(AT_X, "3 m")], "both", gesture="a drag")
    assert len(history.steps) == 2
    assert history.now.written() == TEXT.replace("[1 m, 1", "[3 m, 1").replace("2.7 m", "3 m")


def test_a_gesture_that_was_undone_does_not_go_on() -> None:
    history = begun()
    history.edit([height(3.0)], "a", gesture="drag")
    history.edit([height(4.0)], "b", gesture="other")
    history.go(1)
    history.edit([height(5.0)], "c", gesture="drag")
    assert heights(history) == [2.7, 3.0, 5.0]


def test_a_gesture_whose_first_edit_is_no_put_goes_on() -> None:
    history = begun()
    at = ("props", "BOX", "at")
    history.edit([Rewrite(at, "[2 m, 2 m, 1 m]")], "BOX moved", gesture="g")
    for n in range(5):
        history.edit([Put((*at, 0), f"{n} m"), Put((*at, 2), "0 m")], "BOX moved", gesture="g")
    assert history.now.base is history.steps[0]
    assert len(history.now.edits) == 3  # pencil: the rewriting, and the last put of each value
    assert history.now.written() == TEXT.replace(
        "at: [2 m, 2 m]  # by", "at: [4 m, 2 m, 0 m]  # by"
    )


EDITS: list[list[Edit]] = [
    [height(3.0)],
    [Put(("title",), "It's another"), height(3.5)],
    [Add(("practicals", "LAMP"), "{light: candle, at: [2 m, 3 m, 1 m]}")],
    [Put(("practicals", "LAMP", "at", 1), "3.2 m"), Put(AT_X, "4' 6\"")],
    [Remove(("room", "wall_surfaces", 2))],
    [Rewrite(("props", "BOX", "at"), "{wall: 1, along: 1 m, height: 0 m}")],
    [Remove(("practicals", "GLOBE")), Remove(("practicals", "LAMP"))],
    [Add(("practicals", "G2"), "{light: candle, at: [2 m, 3 m, 1 m]}")],
    [height(2.5)],
]


@pytest.mark.parametrize("asked", [set(), {2}, {0, 3, 6}, set(range(9))])
def test_the_text_is_that_of_the_edits_one_after_another(asked: set[int]) -> None:
    """However often it is asked for in between."""
    history, text = begun(), TEXT
    for n, edits in enumerate(EDITS):
        history.edit(edits, "x")
        if n in asked:
            history.now.written()
        text = edit_text(text, edits)
    assert history.now.written() == text
    # pencil: where the section's last key went, its remark stays, since comments are kept
    assert [line for line in text.splitlines() if "#" in line] == [
        "# a scene for her",
        "title: It's another   # its name",
        "  height: 2.5 m  # high",
        "  # the one over the table",
        "    at: {wall: 1, along: 1 m, height: 0 m}  # by the wall",
    ]
    history.go(0)
    assert history.now.written() == TEXT


def test_long_lists_of_unwritten_steps_are_written() -> None:
    history = begun()
    base = history.now
    for n in range(3000):  # deeper than calls may stand in one another
        step = history_module.Step(base.root, base.document, "x", base, (), None)
        base = step
        if n == 0:
            step.edits = (height(3.0),)
    assert base.written() == TEXT.replace("2.7 m", "3 m")
    assert base.base is None


def test_only_the_newest_steps_are_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    assert history_module._MOST_STEPS == 500
    monkeypatch.setattr(history_module, "_MOST_STEPS", 5)
    history = begun()
    for n in range(8):
        history.edit([height(3.0 + n)], f"{n}")
    assert [step.label for step in history.steps] == ["3", "4", "5", "6", "7"]
    assert (history.at, heights(history)[0]) == (4, 6.0)
    assert history.steps[0].written() == TEXT.replace("2.7 m", "6 m")
    history.put_back(0)
    history.take_text(TEXT, "theirs")
    assert [step.label for step in history.steps] == ["5", "6", "7", "back to: 3", "theirs"]
    assert history.at == 4


def test_a_refused_edit_leaves_everything() -> None:
    history = begun()
    history.edit([height(3.0)], "a", gesture="drag")
    history.edit([height(4.0)], "b")
    history.go(1)
    stood = history.mark()
    for edits in (
        [height(-1.0)],
        [height(5.0), Put(("room", "floor_surface"), " ")],
        [Remove(("room", "height"))],
        [Add(("practicals", "GLOBE"), "{light: candle}")],
        [Remove(("nothing",))],
    ):
        with pytest.raises(DocumentError):
            history.edit(edits, "refused", gesture="drag")
        assert history.mark() == stood
    assert history.now.written() == TEXT.replace("2.7 m", "3 m")


def test_a_mark_is_gone_back_to_whatever_was_done() -> None:
    history = begun()
    history.edit([height(3.0)], "a", gesture="drag")
    mark = history.mark()
    history.edit([height(4.0)], "a", gesture="drag")
    history.edit([height(5.0)], "b")
    history.put_back(0)
    history.back_to(mark)
    assert (heights(history), history.at, history.gesture) == ([2.7, 3.0], 1, "drag")
    history.edit([height(6.0)], "a", gesture="drag")
    assert heights(history) == [2.7, 6.0]
    history.back_to(mark)  # a mark may be used again
    assert heights(history) == [2.7, 3.0]


def test_an_earlier_step_is_put_back_as_a_new_one() -> None:
    history = begun()
    history.edit([height(3.0)], "a")
    history.edit([height(4.0)], "b")
    step = history.put_back(1)
    assert (step.label, heights(history), history.at) == ("back to: a", [2.7, 3.0, 4.0, 3.0], 3)
    assert step.written() == TEXT.replace("2.7 m", "3 m")
    assert history.put_back(99).label == "back to: back to: a"
    assert history.put_back(-5).written() == TEXT


def test_a_text_from_elsewhere_is_the_next_step() -> None:
    history = begun()
    history.edit([height(3.0)], "a")
    theirs = TEXT.replace("One", "Theirs")
    assert history.take_text(theirs, "changed elsewhere").document.title == "Theirs"
    assert history.now.written() == theirs
    stood = history.mark()
    for bad in ("", "a: [", theirs.replace("2.7 m", "2.7"), "\t"):
        with pytest.raises(DocumentError):
            history.take_text(bad, "bad")
        assert history.mark() == stood


def test_a_step_that_its_text_cannot_take_is_dropped() -> None:
    history = begun()
    history.edit([height(3.0)], "a", gesture="g")
    history.edit([height(4.0)], "b")
    assert history.drop().label == "a"
    assert (len(history.steps), history.at) == (2, 1)
    history.drop()
    assert history.drop().label == "as opened"  # what was opened stays


def test_no_edits_are_no_step() -> None:
    history = begun()
    assert history.edit([], "nothing") is history.steps[0]
    assert len(history.steps) == 1


def test_a_text_that_is_made_beside_edits_is_that_of_its_moment() -> None:
    history = History.begin(Path("one.scene.yaml"), TEXT, KnownNames())
    history.edit([Put(("room", "height"), "3 m")], "higher", gesture="one")
    step = history.now
    waits = step.unwritten()
    # While it is worked out elsewhere the hand moves on, and somebody asks for the text.
    history.edit([Put(("room", "height"), "4 m")], "higher", gesture="one")
    assert history.now.written() == TEXT.replace("2.7 m", "4 m")
    assert step.written() == TEXT.replace("2.7 m", "3 m")
    waits.work_out().keep()
    assert step.written() == TEXT.replace("2.7 m", "3 m")
    assert history.now.written() == TEXT.replace("2.7 m", "4 m")


def test_exactly_one_step_is_taken_back_and_what_came_after_stays() -> None:
    history = begun()
    history.edit([height(3.0)], "first")
    history.edit([Put(AT_X, "2 m")], "tried")
    history.edit([height(3.2)], "last")
    now = history.withdraw(2, "tried")
    assert (now.label, now.document.room.height.si) == ("put back: tried", 3.2)
    assert now.written() == TEXT.replace("height: 2.7 m", "height: 3.2 m")
    assert history.go(history.at - 1).label == "last"


def test_the_newest_step_is_taken_back_without_a_trace() -> None:
    history = begun()
    history.edit([height(3.0)], "first")
    history.edit([Put(AT_X, "2 m")], "tried")
    history.withdraw(2, "tried")
    assert ([step.label for step in history.steps], history.at) == (["as opened", "first"], 1)


def test_a_step_that_is_not_there_or_was_written_over_is_not_taken_back() -> None:
    history = begun()
    history.edit([height(3.0)], "tried")
    history.edit([height(3.2)], "last")
    with pytest.raises(DocumentError, match="touches the same lines"):
        history.withdraw(1, "tried")
    with pytest.raises(DocumentError, match="not among the steps"):
        history.withdraw(1, "last")
    with pytest.raises(DocumentError, match="not among the steps"):
        history.withdraw(7, "tried")
    history.go(0)
    with pytest.raises(DocumentError, match="not among the steps"):
        history.withdraw(1, "tried")
    assert heights(history) == [2.7, 3.0, 3.2]
