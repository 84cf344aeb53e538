"""falloff fixes in the terminal: told, taken, written; what is wrong is said in words."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from rich.console import Console
from tests.unit.balance.fix_rooms import pale_room, written
from typer.testing import CliRunner

from falloff.cli.commands import app
from falloff.document import read_document
from falloff.errors import DocumentError
from falloff.session.balance import run_balance
from falloff.session.fixes import FixesAsked, run_fixes
from falloff.session.scene import known_names

BRIGHT = "  view low: {reading: view, level: 4 stops, limit: at most}"


@pytest.fixture(scope="module")
def scene(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A room whose window is too bright."""
    return written(tmp_path_factory.mktemp("fixes"), pale_room(targets=BRIGHT))


def test_the_first_screen_tells_what_misses_and_the_best(
    scene: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is missed, three fixes with what they do, one line for each of the others."""
    monkeypatch.setattr("falloff.cli.show._out", Console(highlight=False, width=100))
    result = CliRunner().invoke(app, ["fixes", str(scene), "--no-hours"])
    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    assert len(lines) < 50
    assert max(len(line) for line in lines) <= 100
    whole = " ".join(result.stdout.split())
    assert "missed with the best dims" in whole
    assert "too bright" in whole
    assert "1. " in whole
    assert "brings in view low" in whole
    assert "min" in whole
    assert "accept it: what is missed stays as it is" in whole
    assert "--all tells each at length" in whole
    assert "a trace confirms it" not in whole


def test_all_tells_each_at_length(scene: Path) -> None:
    result = CliRunner().invoke(app, ["fixes", str(scene), "--no-hours", "--all"])
    whole = " ".join(result.stdout.split())
    assert "a trace confirms it" in whole
    assert "ranked by stops nearer for the effort" in whole
    assert "view low in WIDE stays at" in whole


@pytest.mark.parametrize("columns", [60, 80])
def test_cells_are_broken_in_a_narrow_terminal(
    scene: Path, columns: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("falloff.cli.show._out", Console(highlight=False, width=columns))
    result = CliRunner().invoke(app, ["fixes", str(scene), "--no-hours"])
    assert result.exit_code == 0
    assert max(len(line) for line in result.stdout.splitlines()) <= columns
    assert "view low" in result.stdout


def test_fixes_as_json(scene: Path) -> None:
    result = CliRunner().invoke(app, ["fixes", str(scene), "--no-hours", "--json"])
    told = json.loads(result.stdout)
    (group,) = told["groups"]
    first = group["fixes"][0]
    assert first["worth_stops"] > 1.0
    assert first["confirmed"]["keeps"]
    assert {"minutes", "hands", "day_rate", "side_effects", "cautions"} <= set(first)


def test_a_fix_taken_brings_the_target_in(scene: Path, tmp_path: Path) -> None:
    """What is written holds when it is balanced anew, and comments stay."""
    found = run_fixes(scene, FixesAsked(hours=False))
    number = 1 + next(
        k for k, one in enumerate(found.every) if one.fix.brings_all and one.edits
        and one.fix.kind == "window"
    )  # fmt: skip
    out = tmp_path / "new.scene.yaml"
    taken = run_fixes(scene, FixesAsked(hours=False, take=number, out=out))
    assert taken.written == out
    document = read_document(out, known=known_names())
    assert document.openings["WINDOW"].dressing  # type: ignore[union-attr]
    (group,) = run_balance(out).groups
    assert group.result.holds


def test_take_without_a_place_to_write_to(scene: Path) -> None:
    with pytest.raises(DocumentError, match="nothing says where to write"):
        run_fixes(scene, FixesAsked(take=1))
    with pytest.raises(DocumentError, match="unless a fix is taken"):
        run_fixes(scene, FixesAsked(write=True))


def test_no_such_number_and_nothing_to_write(scene: Path, tmp_path: Path) -> None:
    out = tmp_path / "new.scene.yaml"
    with pytest.raises(DocumentError, match="there is no fix 99"):
        run_fixes(scene, FixesAsked(hours=False, confirmed=0, take=99, out=out))
    last = len(run_fixes(scene, FixesAsked(hours=False, confirmed=0)).every)
    with pytest.raises(DocumentError, match="changes nothing in the scene: accept it"):
        run_fixes(scene, FixesAsked(hours=False, confirmed=0, take=last, out=out))
    assert not out.exists()


def test_no_such_target(scene: Path) -> None:
    result = CliRunner().invoke(app, ["fixes", str(scene), "--target", "hair"])
    assert isinstance(result.exception, DocumentError)
    assert "no target called 'hair'" in str(result.exception)


def test_nothing_to_fix(tmp_path: Path) -> None:
    wanted = "  face: {reading: key cheek, level: 1 stop}"
    path = written(tmp_path, pale_room(targets=wanted))
    result = CliRunner().invoke(app, ["fixes", str(path)])
    assert result.exit_code == 0
    assert "nothing to fix" in result.stdout
