"""What differs between two trees, and the same patches applied: the window shares the cases."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from falloff.errors import FalloffError
from falloff.page.patches import apply, diff

CASES = json.loads((Path(__file__).parents[2] / "page/cases/tree.json").read_text("utf-8"))
NAMES = st.sampled_from(["a", "b", "c", "d.e", "", "f g"])
LEAVES = (
    st.none()
    | st.booleans()
    | st.integers(-2, 2)
    | st.sampled_from([0.5, 1.5])
    | st.sampled_from(["", "x"])
    | st.lists(st.integers(0, 2), max_size=2)
)
TREES = st.recursive(LEAVES, lambda below: st.dictionaries(NAMES, below, max_size=4), max_leaves=12)
MAPS = st.dictionaries(NAMES, TREES, max_size=4)


def as_json(tree: Any) -> str:
    """Exactly what a window is told: here true is not 1."""
    return json.dumps(tree, sort_keys=True)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_cases(case: dict[str, Any]) -> None:
    """pencil: what stands in the file."""
    before = copy.deepcopy(case["old"])
    if case.get("error"):
        with pytest.raises(FalloffError, match="a patch has no place to go"):
            apply(case["old"], case["patch"])
    else:
        assert as_json(apply(case["old"], case["patch"])) == as_json(case["new"])
    assert as_json(case["old"]) == as_json(before)  # a patch changes no tree in place


@pytest.mark.parametrize(
    ("old", "new", "patch"),
    [
        # pencil: the least that leads from one to the other
        ({"a": 1}, {"a": 1}, []),
        ({"a": {"b": 1, "c": 2}}, {"a": {"b": 1, "c": 3}}, [[["a", "c"], 3]]),
        ({"a": {"b": 1}}, {"a": {}}, [[["a", "b"]]]),
        ({"a": {"b": 1}}, {}, [[["a"]]]),
        ({}, {"a": {"b": 1}}, [[["a"], {"b": 1}]]),
        ({"a": [1, 2]}, {"a": [1, 3]}, [[["a"], [1, 3]]]),
        ({"a": {"b": 1}}, {"a": 2}, [[["a"], 2]]),
        ({"a": True}, {"a": 1}, [[["a"], 1]]),
        ({"a": 1}, {"a": 1.0}, []),
        (1, {"a": 1}, [[[], {"a": 1}]]),
    ],
)
def test_the_patch_is_the_least(old: Any, new: Any, patch: list[Any]) -> None:
    assert as_json(diff(old, new)) == as_json(patch)


@settings(max_examples=300, deadline=None)
@given(MAPS, MAPS)
def test_a_patch_leads_from_any_tree_to_any_other(old: Any, new: Any) -> None:
    kept = as_json(old)
    assert as_json(apply(old, json.loads(json.dumps(diff(old, new))))) == as_json(new)
    assert as_json(old) == kept
    assert diff(new, copy.deepcopy(new)) == []


def test_what_a_patch_does_not_touch_is_the_same_object() -> None:
    old: dict[str, Any] = {"a": {"b": {}, "c": {}}, "d": {}}
    new = apply(old, [[["a", "b"], 1]])
    assert new["d"] is old["d"]
    assert new["a"]["c"] is old["a"]["c"]
    assert new["a"] is not old["a"]


def test_the_same_object_is_not_looked_into() -> None:
    class Closed(dict[str, Any]):
        """A branch that must not be read."""

        def __iter__(self) -> Any:
            raise AssertionError("it was looked into")

        def items(self) -> Any:
            raise AssertionError("it was looked into")

    branch = Closed(a=1)
    assert diff({"x": branch, "y": 1}, {"x": branch, "y": 2}) == [[["y"], 2]]
