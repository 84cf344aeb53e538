"""Complaints as a window makes them, answered from light that is traced coarsely."""

from __future__ import annotations

from functools import cache

import pytest
from tests.unit.balance.why_rooms import BUDGET, HALL, ROOM, panel

from falloff.document import SceneDocument, arranged, parse_document
from falloff.errors import DocumentError
from falloff.layers import LightLayers, trace_layers
from falloff.page.ask_desk import Desk
from falloff.page.asked_why import why_answer
from falloff.page.tasks import AskTask
from falloff.stage import build_stage

LIGHTS = "fixtures:\n" + panel("KEY", "[4.1 m, 2 m, 1.6 m]") + panel("FILL", "[0.9 m, 2 m, 1.6 m]")
CLOSE = "  CLOSE-UP: {like: WIDE, dims: {KEY: 50 %}}\n"
BACK = "  BACK: {like: WIDE, dims: {FILL: 25 %}}\n"


@cache
def stood(setups: str) -> tuple[SceneDocument, LightLayers]:
    """The room with two lights in a wide setup and in these, traced."""
    text = ROOM.format(walls=0.2, more=LIGHTS, setups=setups, dressed="", **HALL)
    document = parse_document(text)
    return document, trace_layers(build_stage(arranged(document, "WIDE")), BUDGET, sizes={})


def abouts(said: str, *, shown: str, setups: str = CLOSE + BACK) -> list[str]:
    """What the parts of an answer are about."""
    document, layers = stood(setups)
    standing = {name: arranged(document, name) for name in document.setups}
    plans = {name: name for name in document.setups}
    task = AskTask("one:1", "one", "why", shown, standing, plans, {"said": said}, document)
    desk = Desk(
        task, lambda _: layers, lambda *_: None, lambda run: run(), lambda _: None, lambda _: ""
    )
    return sorted(part["about"] for part in why_answer(desk)["parts"])


TO_CLOSE = "ANNA's face jumps from WIDE to CLOSE-UP"
TO_BACK = "ANNA's face jumps from WIDE to BACK"


def test_the_setup_that_is_named_is_the_one_that_is_held_against_the_wide() -> None:
    for shown in ("WIDE", "CLOSE-UP", "BACK"):
        assert abouts("face jumps in the close", shown=shown) == [TO_CLOSE]
    assert abouts("face jumps in BACK", shown="CLOSE-UP") == [TO_BACK]


def test_without_a_name_it_is_the_one_that_is_shown_or_all() -> None:
    assert abouts("face jumps", shown="BACK") == [TO_BACK]
    assert abouts("face jumps", shown="WIDE") == [TO_BACK, TO_CLOSE]


def test_what_cannot_jump_is_told() -> None:
    with pytest.raises(DocumentError, match="no setup called 'tunnel'"):
        abouts("face jumps in the tunnel", shown="WIDE")
    with pytest.raises(DocumentError, match="only one setup"):
        abouts("face jumps", shown="WIDE", setups="")


def test_a_word_that_means_every_setup_leaves_the_wide_as_the_first() -> None:
    setups = "  WIDE TWO: {like: WIDE, dims: {KEY: 50 %}}\n"
    assert abouts("face jumps in wi", shown="WIDE", setups=setups) == [
        "ANNA's face jumps from WIDE to WIDE TWO"
    ]
