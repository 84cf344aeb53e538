"""A face that jumps between two setups: each difference in stops, by pencil."""

from __future__ import annotations

import math
import re

import pytest
from numpy.testing import assert_allclose
from tests.unit.balance.why_rooms import panel, traced

from falloff.balance.why.jump import why_jumps
from falloff.balance.why.records import Why

LIGHTS = "fixtures:\n" + panel("KEY", "[4.1 m, 2 m, 1.6 m]") + panel("FILL", "[0.9 m, 2 m, 1.6 m]")
CLOSE = "  CLOSE: {{like: WIDE{more}}}\n"


def jump(more: str, *, walls: float = 0.2) -> Why:
    setups = CLOSE.format(more=more)
    first = traced(LIGHTS, walls=walls, setups=setups)
    second = traced(LIGHTS, walls=walls, setups=setups, setup="CLOSE")
    return why_jumps(first, second, "ANNA")


def by_brief(why: Why) -> dict[str, float]:
    return {one.brief: one.stops or 0.0 for one in why.causes}


def test_nothing_changed_nothing_jumps() -> None:
    why = jump("")
    assert not why.wrong
    assert "holds" in why.says[0]
    assert why.causes == ()
    assert why.cure is None


def test_another_stop_is_so_many_stops() -> None:
    """Pencil: T2.8 to T4 is one stop less (nominal stops: 2 log2(4/2.8) = 1.03)."""
    why = jump(", stop: T4")
    assert_allclose(by_brief(why)["exposure"], 2.0 * math.log2(4.0 / 2.8), atol=1e-6)
    assert_allclose(why.stops or 0.0, -2.0 * math.log2(4.0 / 2.8), atol=1e-6)
    assert "T2.8 to T4" in why.says[1]
    assert why.cure is not None
    assert "1 stop more" in why.cure


def test_a_dimmed_key_is_the_cause_and_is_set_back() -> None:
    """All but what FILL gives goes down by two stops; what is told of KEY is all of the jump."""
    why = jump(", dims: {KEY: 25 %}")
    causes = by_brief(why)
    assert "KEY from 100 % to 25 %, key" in causes
    assert_allclose(causes["KEY from 100 % to 25 %, key"], 2.0, atol=0.35)
    assert why.cure is not None
    assert why.cure.startswith("set KEY to 100 %, as in WIDE")


def test_a_dimmed_fill_changes_the_ratio() -> None:
    why = jump(", dims: {FILL: 25 %}")
    assert max(why.causes, key=lambda one: one.stops or 0.0).source == "FILL"
    assert "the shadow side against it falls" in why.says[0]


def test_a_moved_fixture_is_told() -> None:
    why = jump(", moved: {KEY: {at: [2.5 m, 0.9 m, 1.6 m], aim: ANNA.face}}")
    assert any("KEY moved" in one.says for one in why.causes)


def test_what_is_gone_is_told() -> None:
    why = jump(", without: [FILL]")
    assert any("FILL is not there" in one.says for one in why.causes)
    assert why.wrong


@pytest.mark.parametrize("dim", ["50 %", "6 %"])
def test_a_dim_that_is_told_brings_the_jump_to_nought(dim: str) -> None:
    """A key that comes nearer: the dim is neither the wide's nor one that overshoots."""
    moved = "moved: {KEY: {at: [3.4 m, 2.4 m, 1.6 m], aim: ANNA.face}}"

    def told(knob: str) -> Why:
        setups = f"  NEAR: {{like: WIDE, {moved}, dims: {{KEY: {knob}}}}}\n"
        first = traced(LIGHTS, walls=0.2, setups="  FAR: {like: WIDE, dims: {KEY: 50 %}}\n",
                       setup="FAR")  # fmt: skip
        second = traced(LIGHTS, walls=0.2, setups=setups, setup="NEAR")
        return why_jumps(first, second, "ANNA")

    why = told(dim)
    assert why.wrong
    found = re.match(rf"(?:dim|bring up) KEY from {dim} to (\d+ %): the key side", why.cure or "")
    assert found is not None, why.cure
    again = told(found[1])
    assert not again.wrong
    assert "the key side stays" in again.says[0]
