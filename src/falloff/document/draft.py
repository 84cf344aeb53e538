"""What has been read of a document so far, for the checks that look across it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from falloff.document.cursor import Cursor, Gathered, Unread
from falloff.document.known import KnownNames
from falloff.document.records import KeyPath, Room
from falloff.document.sections import NAMED_SECTIONS, PLACED_SECTIONS

__all__ = ["Draft", "KnownNames"]


def _by_section() -> dict[str, dict[str, Any]]:
    return {section: {} for section in NAMED_SECTIONS}


def _names_by_section() -> dict[str, list[str]]:
    return {section: [] for section in NAMED_SECTIONS}


@dataclass(slots=True)
class Draft:
    """Good records by section and name, all names written, and where everything stands."""

    gathered: Gathered
    head: dict[str, Any] = field(default_factory=dict)
    room: Room | None = None
    singles: dict[str, Any] = field(default_factory=dict)  # sections such as sky
    records: dict[str, dict[str, Any]] = field(default_factory=_by_section)
    names: dict[str, list[str]] = field(default_factory=_names_by_section)
    unread: set[str] = field(default_factory=set)  # sections that are no group of keys
    cursors: dict[KeyPath, Cursor] = field(default_factory=dict)

    @property
    def known(self) -> KnownNames:
        """The catalogue's names."""
        return self.gathered.known

    def written(self, section: str) -> bool:
        """Whether the document has this section, good or not."""
        return (section,) in self.cursors

    def wrote(self, path: KeyPath) -> bool:
        """Whether the document itself says this, rather than a default or another setup."""
        return self._nearest(path).path == path

    def fault(
        self, path: KeyPath, what: str, *, expected: str = "", found: str = "", fix: str = ""
    ) -> Unread:
        """Record a fault at a key path, or at the nearest part of it that was written."""
        cursor = self._nearest(path)
        return cursor.fault(what, expected=expected, found=found, fix=fix)

    def placed(self) -> dict[str, str]:
        """Every name that something can be placed by or aimed at, with its section."""
        return {name: section for section in PLACED_SECTIONS for name in self.names[section]}

    def rooms(self) -> dict[str | None, Room]:
        """The good rooms by name; None names the scene's own."""
        own: dict[str | None, Room] = {None: self.room} if self.room else {}
        return own | self.records["rooms"]

    def room_path(self, name: str | None) -> KeyPath:
        """The key path of a room."""
        return ("room",) if name is None else ("rooms", name)

    def each(self, section: str) -> Iterator[tuple[str, Any]]:
        """The good records of a section."""
        return iter(self.records[section].items())

    def _nearest(self, path: KeyPath) -> Cursor:
        depth = next(n for n in range(len(path), 0, -1) if path[:n] in self.cursors)
        cursor = self.cursors[path[:depth]]
        for part in path[depth:]:
            found = _inside(cursor, part)
            if found is None:
                break
            cursor = found
        return cursor


def _inside(cursor: Cursor, part: str | int) -> Cursor | None:
    """The value at one of a group's keys; None where it has no such key."""
    path = (*cursor.path, part)
    found = (
        Cursor(node, path, cursor.gathered, key)
        for key, node in cursor.node.entries
        if key.value == str(part)
    )
    return next(found, None)
