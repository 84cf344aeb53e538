"""What may not stand in the tree: places of one machine, and modules that grew too long."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import falloff

ROOT = Path(__file__).parents[2]
PACKAGE = Path(falloff.__file__).parent
FOLDERS = ("src", "tests", "docs", "tools", "bench", "scripts", ".ci")
TEXT = {".py", ".md", ".toml", ".yaml", ".svg", ".csv", ".txt", ""}
# Written in two halves, so that this file may stand in the tree itself.
OF_ONE_MACHINE = re.compile(
    "|".join(
        half + other
        for half, other in (
            (r"(?<![\w.])/wo", r"rk/"),
            (r"/tmp", r"/\w"),
            (r"/ho", r"me/\w"),
            (r"/ro", r"ot/"),
            (r"/Us", r"ers/\w"),
            (r"[A-Z]:\\Us", r"ers"),
            (r"\bissue", r" #?\d"),
        )
    )
)
MODULE_BAR_LINES = 400  # source: the project's own style
# Longer, each for the reason that stands with it.
EXCUSED = {
    "units.py": "the one converter: reading and writing of every unit in one place",
}


def texts() -> Iterator[Path]:
    """Every text file that is ours."""
    for folder in FOLDERS:
        for path in sorted((ROOT / folder).rglob("*")):
            if path.is_file() and path.suffix in TEXT and "cache" not in str(path):
                yield path
    yield from (path for path in sorted(ROOT.iterdir()) if path.suffix in {".md", ".toml"})


def test_no_place_of_one_machine_is_named() -> None:
    named = [
        f"{path.relative_to(ROOT)}:{number}: {line.strip()[:100]}"
        for path in texts()
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if OF_ONE_MACHINE.search(line)
    ]
    assert named == []


def test_the_search_finds_what_it_looks_for() -> None:
    for named in ("/tm" + "p/x", "/wor" + "k/main", "iss" + "ue 2", "/ho" + "me/a"):
        assert OF_ONE_MACHINE.search(f"see {named} there")
    assert not OF_ONE_MACHINE.search("frame/wor" + "k/late, homework")


def test_modules_are_short() -> None:
    long = {
        path.relative_to(PACKAGE).as_posix()
        for path in PACKAGE.rglob("*.py")
        if len(path.read_text(encoding="utf-8").splitlines()) > MODULE_BAR_LINES
    }
    assert long == set(EXCUSED)


@pytest.mark.parametrize("word", ["utils", "helpers", "common"])
def test_no_module_is_a_drawer(word: str) -> None:
    assert [path for path in PACKAGE.rglob("*.py") if path.stem == word] == []


def test_allclose_of_numpy_is_not_used() -> None:
    banned = "np." + "allclose"
    used = [
        path.name
        for path in (ROOT / "tests").rglob("*.py")
        if banned in path.read_text(encoding="utf-8")
    ]
    assert used == []
