"""Targets of other kinds than a level: what of them is typed, what of the file is rewritten."""

from __future__ import annotations

from typing import Any

import pytest
from tests.unit.page.worked_scene import TEXT, changed, parsed

from falloff.errors import DocumentError
from falloff.page.target_typed import typed_of
from falloff.page.targets import targets_told

NAME = "wanted"


def scene(inside: str) -> str:
    return f"{TEXT.rstrip()}\n  {NAME}: {{{inside}}}\n"


def typed(inside: str, keys: dict[str, str], *, setups: list[str] | None = None) -> str:
    """What stands between the braces of the target once it is typed anew."""
    more: dict[str, Any] = {} if setups is None else {"setups": setups}
    text = changed({"do": "retarget", "name": NAME, "typed": keys, **more}, text=scene(inside))
    head, tail = text.rstrip().rsplit(f"  {NAME}: {{", 1)
    assert head.rstrip() == TEXT.rstrip()
    return tail.removesuffix("}")


# What holds where it is left out: docs/scene-file.md, targets.
@pytest.mark.parametrize(
    ("inside", "keys"),
    [
        (
            "reading: cheek, value: 320 lx",
            {"value": "320 lx", "limit": "equal", "tolerance": "1/3 stop"},
        ),
        (
            "readings: [cheek, on the table], even: 1/2 stop",
            {"even": "1/2 stop"},
        ),
        (
            "reading: cheek, colour: 3200 K",
            {"colour": "3200 K", "tolerance": "30 mired", "green": "", "green_tolerance": ""},
        ),
        (
            "reading: cheek, mired: 60, over: on the table, green: -3 CC",
            {"mired": "60", "tolerance": "30 mired", "green": "-3 CC", "green_tolerance": "10 CC"},
        ),
        (
            "reading: cheek, hue: 210 deg",
            {"hue": "210 deg", "tolerance": "15 deg", "saturation": "0.3"},
        ),
        ("reading: cheek, keep: true", {"tolerance": "1/3 stop"}),
    ],
)
def test_what_can_be_typed_is_told_as_it_is_written(inside: str, keys: dict[str, str]) -> None:
    document = parsed(scene(inside))
    assert typed_of(document, NAME) == {**keys, "weight": "1"}
    told = targets_told(document)
    assert told[NAME]["typed"] == {**keys, "weight": "1"}
    assert "typed" not in told["face"]  # a level at one point has a form of its own
    # Typed back, nothing is changed; and all of it is what the file may say.
    assert typed(inside, keys) == inside
    for key, text in keys.items():
        if text and f"{key}:" not in inside:
            again = parsed(scene(f"{inside}, {key}: {text}"))
            assert typed_of(again, NAME)[key] == text


@pytest.mark.parametrize(
    ("inside", "keys", "then"),
    [
        (
            "reading: cheek, value: 320 lx",
            {"value": "30 fc", "limit": "at most"},
            "reading: cheek, value: 30 fc, limit: at most",
        ),
        (
            "reading: cheek, value: 320 lx, tolerance: 1 stop",
            {"tolerance": "", "weight": "2"},
            "reading: cheek, value: 320 lx, weight: 2",
        ),
        (
            "reading: cheek, colour: 3200 K, green: 3 CC, green_tolerance: 5 CC",
            {"green": "", "colour": "4300 K"},
            "reading: cheek, colour: 4300 K",
        ),
        (
            "readings: [cheek, on the table], even: 1/2 stop",
            {"even": "1 stop"},
            "readings: [cheek, on the table], even: 1 stop",
        ),
    ],
)
def test_only_what_says_something_else_is_written(
    inside: str, keys: dict[str, str], then: str
) -> None:
    assert typed(inside, keys) == then


def test_where_it_is_wanted_is_written_and_left_out() -> None:
    inside = "reading: cheek, keep: true"
    assert typed(inside, {}, setups=["ONE"]) == f"{inside}, setups: [ONE]"
    assert typed(f"{inside}, setups: [ONE]", {"weight": "3"}, setups=[]) == f"{inside}, weight: 3"


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"value": ""}, "has to say what is wanted"),
        ({"value": "much"}, "much"),
        ({"value": "320 K"}, "320 K"),
        ({"limit": "about"}, "about"),
        ({"reading": "on the table"}, "no reading that can be typed"),
    ],
)
def test_what_no_target_can_ask_is_refused_in_words(keys: dict[str, str], said: str) -> None:
    with pytest.raises(DocumentError, match=said):
        typed("reading: cheek, value: 320 lx", keys)
    with pytest.raises(DocumentError, match="no target nothing"):
        changed({"do": "retarget", "name": "nothing", "typed": {}})
