"""What differs between two trees of plain data, as puts and deletes, and how to apply it."""

from __future__ import annotations

from typing import Any, TypeAlias

from falloff.errors import FalloffError, Fault

Path: TypeAlias = list[str]
Patch: TypeAlias = list[list[Any]]  # [path, value] puts, [path] deletes


def diff(old: Any, new: Any) -> Patch:
    """The patch from one tree to another; maps are gone into, all else is put whole.

    Branches that are the same object are not looked at.
    """
    found: Patch = []
    _diff([], old, new, found)
    return found


def _diff(path: Path, old: Any, new: Any, found: Patch) -> None:
    if old is new:
        return
    if not (isinstance(old, dict) and isinstance(new, dict)):
        if old != new or isinstance(old, bool) != isinstance(new, bool):  # true is not 1
            found.append([path, new])
        return
    for key in old:
        if key not in new:
            found.append([[*path, key]])
    for key, value in new.items():
        if key in old:
            _diff([*path, key], old[key], value, found)
        else:
            found.append([[*path, key], value])


def apply(tree: Any, patch: Patch) -> Any:
    """The tree after a patch; branches it does not touch are the same objects.

    Raises FalloffError where a parent is not there.
    """
    for path, *value in patch:
        tree = _put(tree, path, value)
    return tree


def _put(tree: Any, path: Path, value: list[Any]) -> Any:
    if not path and value:
        return value[0]
    if not path or not isinstance(tree, dict):
        raise FalloffError(Fault("a patch has no place to go", where=".".join(path)))
    first, *rest = path
    if not rest:
        if value:
            return {**tree, first: value[0]}
        return {key: below for key, below in tree.items() if key != first}
    if first not in tree:
        raise FalloffError(Fault("a patch has no place to go", where=".".join(path)))
    return {**tree, first: _put(tree[first], rest, value)}
