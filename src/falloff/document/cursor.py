"""A cursor stands on one value of the document, knows its key path and gathers faults.

Reading goes on past a fault, so that all are told at once: a reader that cannot give its value
records why and raises Unread, and whoever holds the other keys catches it and reads on.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal

from falloff.document.known import KnownNames
from falloff.document.records import KeyPath, key_path_text
from falloff.document.tree import Node
from falloff.errors import DocumentError, Fault


class Unread(Exception):
    """A value could not be read, and why is recorded already."""


@dataclass(slots=True)
class Gathered:
    """The faults of one document so far, and the names it refers to, to be looked up at the end.

    known: the catalogue's names.
    """

    file_name: str
    known: KnownNames = field(default_factory=KnownNames)
    faults: list[Fault] = field(default_factory=list)
    wanted: list[Wanted] = field(default_factory=list)

    def add(self, where: tuple[KeyPath, int, int], fault: Fault) -> None:
        """Record a fault at (key path, line, column)."""
        path, line, column = where
        place = f"{self.file_name}, line {line}, column {column}"
        place += f" ({key_path_text(path)})" if path else ""
        self.faults.append(
            Fault(fault.what, place, fault.expected, fault.found, fault.fix, line, column)
        )

    def raise_any(self) -> None:
        """Raise DocumentError with all faults in the order of the text, if there are any."""
        if self.faults:
            in_order = sorted(self.faults, key=lambda one: (one.line or 0, one.column or 0))
            raise DocumentError(*dict.fromkeys(in_order))


@dataclass(frozen=True, slots=True)
class Cursor:
    """A value, its key path, its key (None in lists and at the top) and where faults go."""

    node: Node
    path: KeyPath
    gathered: Gathered
    key: Node | None = None

    def fault(self, what: str, *, expected: str = "", found: str = "", fix: str = "") -> Unread:
        """Record a fault at this value; raise what comes back."""
        blank = self.node.kind in {"nothing", "map"} and self.key is not None
        mark = self.key if blank and self.key else self.node
        where = (self.path, mark.line, mark.column)
        self.gathered.add(where, Fault(what, expected=expected, found=found, fix=fix))
        return Unread()

    def fault_at_key(self, key: Node, what: str, *, fix: str = "") -> Unread:
        """Record a fault at one of this group's keys."""
        self.gathered.add(((*self.path, key.value), key.line, key.column), Fault(what, fix=fix))
        return Unread()

    def entries(self) -> dict[str, Cursor]:
        """The keys of a group; faults where this is no group or a key is written twice."""
        if self.node.kind != "map":
            fix = "write keys below it, each on a line of its own and indented"
            raise self.fault(
                "keys are needed here",
                expected="a group of keys",
                found=self.node.called(),
                fix=fix,
            )
        found: dict[str, Cursor] = {}
        for key, node in self.node.entries:
            if key.value in found:
                first = found[key.value].key
                line = first.line if first else 0
                fix = f"keep one: the first is on line {line}"
                self.fault_at_key(key, f"{key.value!r} is written twice", fix=fix)
                continue
            found[key.value] = Cursor(node, (*self.path, key.value), self.gathered, key)
        return found

    def items(self) -> list[Cursor]:
        """The parts of a list; none where this is no list."""
        return [
            Cursor(node, (*self.path, index), self.gathered)
            for index, node in enumerate(self.node.items)
        ]

    def refuse_unknown(self, entries: dict[str, Cursor], known: Iterable[str], of: str) -> set[str]:
        """Record a fault for each key that is not known; the known keys probably meant."""
        names = list(known)
        meant: set[str] = set()
        for name, cursor in entries.items():
            if name not in names and cursor.key is not None:
                near = nearest(name, [one for one in names if one not in entries])
                meant |= {near} if near else set()
                fix = f"did you mean {near!r}?" if near else f"keys here are {listed(names)}"
                self.fault_at_key(cursor.key, f"{of} has no key {name!r}", fix=fix)
        return meant

    def wants(self, kind: WantedKind, name: str, place: str | None = None) -> None:
        """Note that this value refers to something, to be looked up when all is read."""
        self.gathered.wanted.append(Wanted(kind, name, place, self))


WantedKind = Literal[
    "named", "prop", "camera", "light", "reading", "setup", "circuit", "room", "beyond", "source",
    "movable", "material", "figure", "profile", "hair style", "head covering", "skin",
    "opening",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Wanted:
    """A name that a value refers to, with a subject's place where one is named too."""

    kind: WantedKind
    name: str
    place: str | None
    cursor: Cursor


def nearest_fix(name: str, known: Iterable[str]) -> str:
    """The question "did you mean ...?" for the nearest known name; "" where none is near."""
    near = nearest(name, known)
    return f"did you mean {near!r}?" if near else ""


def nearest(name: str, known: Iterable[str]) -> str:
    """The known name most like this one, or "" where none is near."""
    by_case = {one.casefold(): one for one in known}
    near = difflib.get_close_matches(name.casefold(), by_case, n=1, cutoff=0.6)
    return by_case[near[0]] if near else ""


def listed(names: Iterable[str]) -> str:
    """Names in a sentence: "a, b and c"; "none" where there are none."""
    *most, last = list(names) or ["none"]
    return f"{', '.join(most)} and {last}" if most else last
