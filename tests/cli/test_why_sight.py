"""falloff why of what some setups see and others do not."""

from __future__ import annotations

from pathlib import Path

from tests.unit.balance.test_why_sight import BEHIND, MORE
from tests.unit.balance.why_rooms import HALL, ROOM

from .conftest import Falloff


def test_setups_that_do_not_see_it_are_left_out_where_one_does(
    falloff: Falloff, tmp_path: Path
) -> None:
    path = tmp_path / "two.scene.yaml"
    path.write_text(ROOM.format(walls=0.3, more=MORE, setups=BEHIND, dressed="", **HALL))
    told = falloff("why", path, "face", "flat", "--no-fix").out
    assert "WIDE: ANNA's face flat" in told
    assert "BACK is left out, for B does not see it." in told
    alone = falloff("why", path, "face", "flat", "--no-fix", "--setup", "BACK").out
    assert "BACK: ANNA's face flat" in alone
    assert "B does not see it." in alone


def test_what_no_setup_has_is_told_once(falloff: Falloff, tmp_path: Path) -> None:
    path = tmp_path / "two.scene.yaml"
    path.write_text(ROOM.format(walls=0.3, more=MORE, setups=BEHIND, dressed="", **HALL))
    told = falloff("why", path, "the sofa", "dark")
    assert told.code == 2
    assert told.err.count("there is no reading or place called 'sofa'") == 1
    assert told.err.startswith("WIDE, BACK: ")
    assert "did you mean" not in told.err
