"""falloff new at a terminal: each answer checked at once, nothing lost, a line to go on from."""

from __future__ import annotations

import re
import shlex
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

import pytest
from tests.cli.conftest import Falloff, Told

from falloff.cli import asking, quick, show
from falloff.cli.asking import Asked, Kind, System, command_line
from falloff.errors import DocumentError, Fault
from falloff.readings import Readings
from falloff.readings.records import Softness
from falloff.session import Started, run_new

WINDOW = "1.2 x 1 m, 1.3 m away, 9 o'clock"


Typed = Callable[..., Told]


class Typist:
    """Types line after line; an exception among them is what the terminal raises."""

    def __init__(self, *lines: str | BaseException) -> None:
        self.lines: Iterator[str | BaseException] = iter(lines)
        self.left = len(lines)

    def __call__(self) -> str:
        line = next(self.lines)
        self.left -= 1
        if isinstance(line, BaseException):
            raise line
        return line


@pytest.fixture
def typed(tmp_path: Path, falloff: Falloff, monkeypatch: pytest.MonkeyPatch) -> Typed:
    """Run `falloff new --ask` in an empty folder with lines typed at it, all of which are read."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(quick, "warm_up", lambda: None)
    for one in ("LC_ALL", "LC_MEASUREMENT", "LANG"):
        monkeypatch.delenv(one, raising=False)

    def run(*lines: str | BaseException, options: tuple[str, ...] = ()) -> Told:
        typist = Typist(*lines)
        monkeypatch.setattr("builtins.input", typist)
        told = falloff("new", "--ask", *options)
        assert typist.left == 0
        return told

    return run


def test_an_impossible_answer_is_asked_again_at_its_own_prompt(typed: Typed) -> None:
    told = typed("", "4 x 5 m", "40 m", "2.5 m", "cream", f"6{WINDOW[3:]}", WINDOW, "bare", "",
                 "300 W LED", "6 m, 4 o'clock", "0.8 m, 8 o'clock, 1.8 m up", "", "")  # fmt: skip
    assert told.code == 0
    assert told.err.count("does not fit") == 2
    assert "were those feet?" in told.err
    assert "the fixture would stand in the wall" in told.err
    asked = re.findall(r"How high is the ceiling|The window: width|How far from the face", told.out)
    # pencil: each of the three is asked twice, one straight after the other
    assert asked == [one for one in dict.fromkeys(asked) for _ in range(2)]
    assert "cream walls are taken as white, 75 %" in told.out
    line = next(one for one in told.out.splitlines() if one.startswith("The same in one line"))
    words = shlex.split(line.partition(": ")[2])
    assert words[:3] == ["falloff", "new", "window"]
    for flag, said in (("--ceiling", "2.5 m"), ("--window", WINDOW),
                       ("--place", "0.8 m, 8 o'clock, 1.8 m up")):  # fmt: skip
        assert words[words.index(flag) + 1] == said


def test_what_turns_out_at_the_end_is_asked_again_and_the_rest_is_kept(
    typed: Typed,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    tried: list[dict[str, str]] = []

    def late(kind: Kind, answers: Mapping[str, str], *, units: System, out: Path | None) -> Started:
        tried.append(dict(answers))
        if len(tried) == 1:
            raise DocumentError(Fault(what="BOARD is inside KEY", where="fill", fix="otherwise"))
        return run_new(kind, answers, units=units, out=out)

    monkeypatch.setattr(quick, "run_new", late)
    told = typed("1", "4 x 5 m", "", "", "none", "300 W LED", "", "", "white board", "black")
    assert told.code == 0
    assert "BOARD is inside KEY" in told.err
    assert [one["fill"] for one in tried] == ["white board", "black"]
    assert tried[1] == {**tried[0], "fill": "black"}


def test_enter_takes_the_first_situation_and_metres(typed: Typed) -> None:
    told = typed("", EOFError())
    assert told.code == 1
    assert "[1, m]" in told.out
    assert "[5 x 4.5 m]" in told.out
    assert "nothing was written" in told.out
    assert "falloff new window --ask" in told.out


@pytest.mark.parametrize(
    ("said", "line"),
    [("2 ft", "falloff new table --units imperial --ask"), ("ft", "new window --units imperial"),
     ("kitchen, m", "falloff new kitchen --ask"), ("a standing interview", "new interview --ask")],
)  # fmt: skip
def test_situation_and_units_are_one_question(typed: Typed, said: str, line: str) -> None:
    assert line in typed(said, EOFError()).out


def test_units_asked_for_by_themselves_say_so(typed: Typed) -> None:
    """Where the situation stands in the command, only the unit is asked."""
    told = typed("tall", "ft", EOFError(), options=("window",))
    assert "this asks for the unit of lengths" in told.err
    assert "m or ft" in told.err
    assert "situation" not in told.err
    assert "[16 x 15 ft]" in told.out


def test_a_size_in_place_of_the_unit_tells_both(typed: Typed) -> None:
    told = typed("14 x 12 ft", EOFError(), options=("window",))
    assert told.err == ""
    assert "taken as the room's size too: 14 x 12 ft" in told.out
    assert "How wide is the room" not in told.out
    assert "falloff new window --room '14 x 12 ft' --units imperial --ask" in told.out
    assert "[5 x 4.5 m]" in typed("5 m", EOFError(), options=("window",)).out


def test_the_units_of_the_place_are_the_default(
    typed: Typed,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("LANG", "en_US.UTF-8")
    told = typed("", EOFError())
    assert "[1, ft]" in told.out
    assert "[16 x 15 ft]" in told.out


def test_ctrl_c_leaves_a_line_that_repeats_what_was_answered(typed: Typed) -> None:
    told = typed("3", "14'6 x 20'", "", "dark", KeyboardInterrupt())
    assert told.code == 130
    line = next(one for one in told.out.splitlines() if "falloff new" in one)
    words = shlex.split(line.partition(": ")[2])
    assert words == ["falloff", "new", "interview", "--room", "14'6 x 20'", "--wall", "dark",
                     "--ask"]  # fmt: skip
    assert list(Path().iterdir()) == []


def test_ctrl_d_at_the_first_prompt_leaves_with_a_word(typed: Typed) -> None:
    told = typed(EOFError())
    assert told.code == 1
    assert "Left before the end; nothing was written." in told.out
    assert told.err == ""


@pytest.mark.parametrize("said", ["8' 6\"", "1.5 x 1 m, 9 o'clock", "5 x 4 m", "white", "a\"b'c$d"])
def test_a_line_is_read_back_by_a_shell_as_it_was_said(said: str) -> None:
    line = command_line(Asked("window", "metric", {"room": said}))
    assert shlex.split(line) == ["falloff", "new", "window", "--room", said]


def test_questions_that_are_answered_by_others_are_not_asked(typed: Typed) -> None:
    told = typed("1", "", "", "", "no window", "available light", "", "")
    assert "What hangs in it" not in told.out
    assert "How far from the face" not in told.out
    assert "There is no light in this scene (no window and no key)" in told.out
    assert "0:1" not in told.out
    assert "taken for granted" not in told.out


def test_sizes_are_told_from_each_face_by_itself() -> None:
    seen = tuple(
        Softness(source=source, subject=who, across_rad=0.5, upward_rad=0.5, distance_m=far)
        for who, source, far in (("LEFT", "WINDOW", 1.5), ("LEFT", "KEY", 2.5),
                                 ("RIGHT", "WINDOW", 2.9), ("RIGHT", "KEY", 1.4))
    )  # fmt: skip
    readings = Readings(
        scene="", setup="", camera="", exposure="", meter_constant_lux_s=250.0, key_lux=1.0,
        mid_grey_nit=1.0, sources=(), dims={}, readings=(), contrasts=(), softness=seen,
        findings=(),
    )  # fmt: skip
    # pencil: 0.5 rad is 28.6°
    assert show.softness_lines(readings, "metric") == [
        "Size seen from LEFT's face: WINDOW 29° at 1.50 m, KEY 29° at 2.50 m.",
        "Size seen from RIGHT's face: WINDOW 29° at 2.90 m, KEY 29° at 1.40 m.",
    ]


def test_local_units_know_where_feet_are_used(monkeypatch: pytest.MonkeyPatch) -> None:
    for one in ("LC_ALL", "LC_MEASUREMENT", "LANG"):
        monkeypatch.delenv(one, raising=False)
    assert asking._local_units() == "metric"
    monkeypatch.setenv("LANG", "en_US.UTF-8")
    assert asking._local_units() == "imperial"
    monkeypatch.setenv("LC_MEASUREMENT", "de_DE.UTF-8")
    assert asking._local_units() == "metric"
