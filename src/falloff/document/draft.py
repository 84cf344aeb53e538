"""What has been read of a document so far, for the checks that look across it."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from typing import Any

from falloff.document.cursor import Cursor, Gathered, Unread
from falloff.document.records import KeyPath, Room, Sky
from falloff.document.sections import NAMED_SECTIONS, PLACED_SECTIONS


@dataclass(frozen=True, slots=True)
class KnownNames:
    """Names that the catalogue knows; None where they are not to be checked."""

    materials: Collection[str] | None = None
    figures: Collection[str] | None = None
    profiles: Collection[str] | None = None


def _by_section() -> dict[str, dict[str, Any]]:
    return {section: {} for section in NAMED_SECTIONS}


def _names_by_section() -> dict[str, list[str]]:
    return {section: [] for section in NAMED_SECTIONS}


@dataclass(slots=True)
class Draft:
    """Good records by section and name, all names written, and where everything stands."""

    gathered: Gathered
    known: KnownNames
    head: dict[str, Any] = field(default_factory=dict)
    room: Room | None = None
    sky: Sky | None = None
    has_sky: bool = False
    records: dict[str, dict[str, Any]] = field(default_factory=_by_section)
    names: dict[str, list[str]] = field(default_factory=_names_by_section)
    unread: set[str] = field(default_factory=set)  # sections that are no group of keys
    cursors: dict[KeyPath, Cursor] = field(default_factory=dict)

    def fault(
        self, path: KeyPath, what: str, *, expected: str = "", found: str = "", fix: str = ""
    ) -> Unread:
        """Record a fault at a key path, or at the nearest part of it that was written."""
        cursor = self._nearest(path)
        return cursor.fault(what, expected=expected, found=found, fix=fix)

    def placed(self) -> dict[str, str]:
        """Every name that something can be placed by or aimed at, with its section."""
        return {name: section for section in PLACED_SECTIONS for name in self.names[section]}

    def each(self, section: str) -> Iterator[tuple[str, Any]]:
        """The good records of a section."""
        return iter(self.records[section].items())

    def _nearest(self, path: KeyPath) -> Cursor:
        depth = next(n for n in range(len(path), 0, -1) if path[:n] in self.cursors)
        cursor = self.cursors[path[:depth]]
        for part in path[depth:]:
            cursor = _inside(cursor, part)
        return cursor


def _inside(cursor: Cursor, part: str | int) -> Cursor:
    """The value at one of a group's keys, or the group itself where it has no such key."""
    path = (*cursor.path, part)
    found = (
        Cursor(node, path, cursor.gathered, key)
        for key, node in cursor.node.entries
        if key.value == str(part)
    )
    return next(found, cursor)
