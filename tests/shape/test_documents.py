"""The documents are true: links lead somewhere, code runs, words are those of the code."""

from __future__ import annotations

import importlib
import inspect
import re
from pathlib import Path

import pytest

from falloff import build_stage, errors
from falloff.cli.commands import app
from falloff.document import document_schema, parse_document
from falloff.findings import Weight

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
PAGES = sorted(DOCS.rglob("*.md"))
TOP = [ROOT / name for name in ("README.md", "CONTRIBUTING.md", "CHANGELOG.md")]
GLOSSARY = (DOCS / "glossary.md").read_text(encoding="utf-8")


def relative(page: Path) -> str:
    """A page's path as a test's name."""
    return page.relative_to(ROOT).as_posix()


def links(page: Path) -> list[str]:
    """Links of a page that stay in the repository, without their anchors."""
    found = re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", page.read_text(encoding="utf-8"))
    return [link for link in found if "://" not in link]


def blocks(page: Path, language: str) -> list[str]:
    """Fenced blocks of one language."""
    text = page.read_text(encoding="utf-8")
    return re.findall(rf"^```{language}\n(.*?)^```", text, flags=re.DOTALL | re.MULTILINE)


@pytest.mark.parametrize("page", [*TOP, *PAGES], ids=relative)
def test_links_lead_somewhere(page: Path) -> None:
    assert [link for link in links(page) if not (page.parent / link).exists()] == []


def test_every_page_can_be_reached_from_the_index() -> None:
    reached: set[Path] = set()
    open_pages = [DOCS / "index.md"]
    while open_pages:
        page = open_pages.pop()
        if page in reached or page.suffix != ".md" or not page.exists():
            continue
        reached.add(page)
        open_pages += [(page.parent / link).resolve() for link in links(page)]
    assert [relative(page) for page in PAGES if page not in reached] == []


@pytest.mark.parametrize(
    ("page", "block"),
    [(page, block) for page in [*TOP, *PAGES] for block in blocks(page, "python")],
    ids=lambda given: relative(given) if isinstance(given, Path) else "",
)
def test_code_runs(page: Path, block: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    exec(compile(block, str(page), "exec"), {"__name__": "page"})


def test_there_is_code_to_run() -> None:
    assert blocks(DOCS / "index.md", "python")


@pytest.mark.parametrize(
    ("page", "block"),
    [
        (page, block)
        for page in [*TOP, *PAGES]
        for block in blocks(page, "yaml")
        if block.startswith("falloff:")
    ],
    ids=lambda given: relative(given) if isinstance(given, Path) else "",
)
def test_scenes_can_be_built(page: Path, block: str) -> None:
    stage = build_stage(parse_document(block, page.name))
    assert stage.sources
    assert stage.probes


def test_the_readme_says_both_commands_literally() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    # source: the project's own plan of the first version
    for command in (
        "python3 -m venv .venv && .venv/bin/pip install . && .venv/bin/falloff demo",
        'python3 -m venv .venv && .venv/bin/pip install ".[test]" && .venv/bin/python -m pytest',
    ):
        assert readme.count(f"    {command}\n") == 1
    ran = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    assert ran[-1] == command


def rows(title: str) -> list[list[str]]:
    """Cells of the table under a heading of the glossary."""
    section = GLOSSARY.split(f"## {title}\n", 1)[1].split("\n## ", 1)[0]
    lines = [line for line in section.splitlines() if line.startswith("|")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines[2:]]


WORDS = [
    row
    for title in re.findall(r"^## (.+)$", GLOSSARY, flags=re.MULTILINE)
    if title not in ("Commands", "Words we do not use")
    for row in rows(title)
]


@pytest.mark.parametrize("row", WORDS, ids=[row[0] for row in WORDS])
def test_a_word_has_its_home_in_the_code(row: list[str]) -> None:
    package, name = row[2].strip("`").split(".")
    assert hasattr(importlib.import_module(f"falloff.{package}"), name)


def test_a_word_stands_once() -> None:
    words = [word for row in WORDS for word in row[0].split(", ")]
    assert sorted(word for word in set(words) if words.count(word) > 1) == []


def test_commands_of_the_terminal_are_those_of_the_glossary() -> None:
    told = {row[0].strip("`").removeprefix("falloff ") for row in rows("Commands")}
    assert told == {command.name or command.callback.__name__
                    for command in app.registered_commands if command.callback}  # fmt: skip


def test_sections_of_a_scene_are_in_the_glossary() -> None:
    words = {word for row in WORDS for word in row[0].split(", ")}
    head = {"falloff", "title", "units"}
    # pencil: singulars of the sections' names
    singular = {"props": "prop", "profiles": "beam profile"}
    for section in set(document_schema()["properties"]) - head:
        word = singular.get(section, section if section in words else section.removesuffix("s"))
        assert word in words, section


def test_weights_of_findings_are_in_the_glossary() -> None:
    told = [row[0] for row in WORDS if row[2] == "`findings.Weight`"]
    assert told == [weight.value for weight in Weight]


def test_the_tree_of_errors_is_drawn_whole() -> None:
    drawn = set(re.findall(r"[├└]── (\w+)", errors.__doc__ or ""))
    built = {
        name
        for name, one in vars(errors).items()
        if inspect.isclass(one)
        and issubclass(one, errors.FalloffError)
        and one is not errors.FalloffError
    }
    assert drawn == built


def test_words_that_are_not_used_are_not_used() -> None:
    """What people read says luminance or level; the glossary alone names the other word."""
    pages = [page for page in [*TOP, *PAGES] if page.name != "glossary.md"]
    said = [relative(page) for page in pages if "brightness" in page.read_text(encoding="utf-8")]
    assert said == []
