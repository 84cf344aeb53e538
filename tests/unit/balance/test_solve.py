"""Which answer is taken: what is held where not all can be, and what choices are worth."""

from __future__ import annotations

import math
from dataclasses import replace

from tests.unit.balance.posed import WRITTEN, level, lever, problem, table, window

from falloff.balance import ExposureChoice, balance
from falloff.document import AnyTarget, ColourTarget, KeepTarget, Quantity
from falloff.spectrum import colour_of_xy, xy_of_cct_duv


def test_one_of_two_that_exclude_each_other_is_held_rather_than_neither() -> None:
    """Pencil: a face cannot be at key and two under; the one that held as things stood holds on.

    A third target that nothing can meet neither bends them nor hides that they exclude each other.
    """
    wanted: dict[str, AnyTarget] = {
        "under": level("face", -2.0),
        "at key": level("face", 0.0),
        "shadow": level("shadow", 3.0, over="face"),
    }
    light = {"face": (400.0, 10.0), "shadow": (100.0, 10.0)}
    posed = problem([lever("KEY"), window()], table(light, wanted))
    result = balance(posed)
    held = {one.name for one in result.targets if one.got.holds}
    assert held == {"at key"}
    told = [{name for _, name in one.targets} for one in result.conflicts]
    assert told == [{"shadow"}, {"under", "at key"}]


def test_the_camera_is_left_alone_where_dims_do_it() -> None:
    """Half the light or half the exposure would do: a dim is turned, the stop is not."""
    exposures = (WRITTEN, ExposureChoice(5.6, 800.0, 0.0, 1.0, 0.4))
    wanted: dict[str, AnyTarget] = {"face": level("face", 0.0)}
    posed = problem([lever("KEY")], table({"face": (800.0,)}, wanted, exposures=exposures))
    result = balance(posed)
    assert result.holds
    assert [one.after == one.before for one in result.exposures] == [True]


def test_many_small_misses_do_not_outweigh_one_that_is_told() -> None:
    """Pencil: KEY feeds both; two stops apart and wanted one apart: one holds.

    A compromise of squares would miss both by a third beyond their tolerance.
    """
    wanted: dict[str, AnyTarget] = {"face": level("face", 0.0), "wall": level("wall", -1.0)}
    posed = problem([lever("KEY", 0.5)], table({"face": (1600.0,), "wall": (400.0,)}, wanted))
    result = balance(posed)
    assert sum(one.got.holds for one in result.targets) == 1
    (conflict,) = result.conflicts
    assert {name for _, name in conflict.targets} == {"face", "wall"}


def test_a_target_of_what_is_out_of_frame_is_told() -> None:
    wanted: dict[str, AnyTarget] = {"hidden": level("behind", -2.0)}
    seen = table({"behind": (400.0,)}, wanted, spots=("behind",))
    posed = problem([lever("LAMP")], replace(seen, out_of_frame=frozenset({"behind"})))
    assert [one.about for one in balance(posed).findings] == ["hidden"]
    assert not balance(replace(posed, tables=(seen,))).findings


def test_a_white_that_holds_in_kelvin_and_is_green_is_told() -> None:
    """Duv 0.015 at 4000 K lies 0.015/0.018 of a full green gel off (its 30 CC: common practice)."""
    for duv, told in ((0.015, ["white"]), (0.001, [])):
        tint = colour_of_xy(xy_of_cct_duv(4000.0, duv)).tolist()
        asked = ColourTarget(reading="face", colour=Quantity(4000.0, "4000 K"))
        posed = problem(
            [lever("KEY", 0.5)], table({"face": (800.0,)}, {"white": asked}, tint={"0": tint})
        )
        result = balance(posed)
        assert result.holds
        assert [one.about for one in result.findings] == told


def test_what_is_kept_or_must_not_be_brighter_needs_nothing_in_hand() -> None:
    kept = Quantity(math.log2(1.3), "a third")
    wanted: dict[str, AnyTarget] = {
        "glow": level("shade", 1.0, limit="at most"),
        "stays": KeepTarget(reading="shade", tolerance=kept),
    }
    posed = problem([replace(lever("LAMP"), in_shot=True)], table({"shade": (400.0,)}, wanted))
    assert not balance(posed).findings
    bright = problem([lever("KEY")], table({"face": (400.0,)}, {"face": level("face", 0.0)}))
    (finding,) = balance(bright).findings
    assert finding.about == "KEY"
