"""Reading older formats: the tree of an old scene is turned into what a new one would hold.

One step leads from each version to the next; a step changes words of the tree and never where
they stand, so that faults and edits still point into the file as it was written.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Final, TypeAlias

from falloff.document.tree import Node

Step: TypeAlias = Callable[[Node], Node]


def read_forward(root: Node) -> Node:
    """The tree as the newest format would say it: kinds and words change, places do not.

    A tree whose version is missing, unreadable or newer than FORMAT_VERSION comes back as it is:
    the reader tells that fault. Valid for the versions 1 to FORMAT_VERSION.
    """
    version = _version_of(root)
    if version is None or not 1 <= version < FORMAT_VERSION:
        return root
    for step in STEPS[version - 1 :]:
        root = step(root)
    return _changed(root, "falloff", lambda node: replace(node, value=str(FORMAT_VERSION)))


def _version_of(root: Node) -> int | None:
    """The version that the file says it is written in; the first, where it says so twice."""
    for key, node in root.entries:
        if key.value == "falloff":
            text = node.value.strip()
            return int(text) if re.fullmatch(r"\+?[0-9]{1,9}", text) else None
    return None


# Steps -----------------------------------------------------------------------------------


def _one_to_two(root: Node) -> Node:
    """Version 1 had one figure, called seated; version 2 says who sits there."""

    def subject(node: Node) -> Node:
        return _changed(node, "figure", lambda word: _renamed(word, "seated", "woman seated"))

    return _changed(root, "subjects", lambda section: _each(section, subject))


STEPS: Final[tuple[Step, ...]] = (_one_to_two,)  # STEPS[n - 1] leads from version n to n + 1
FORMAT_VERSION: Final = len(STEPS) + 1


# Parts of steps --------------------------------------------------------------------------


def _changed(group: Node, name: str, change: Step) -> Node:
    """The group with the value at one key changed; a list, a scalar or another key stays."""
    entries = tuple(
        (key, change(value) if key.value == name else value) for key, value in group.entries
    )
    return replace(group, entries=entries)


def _each(group: Node, change: Step) -> Node:
    """The group with every value changed."""
    return replace(group, entries=tuple((key, change(value)) for key, value in group.entries))


def _renamed(node: Node, old: str, new: str) -> Node:
    """A word that was written `old`, or else the node as it is."""
    return replace(node, value=new) if node.value.strip() == old else node
