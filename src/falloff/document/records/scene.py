"""The whole scene, with where each of its values was written."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import msgspec

from falloff.document.records.lights import Fixture, Practical
from falloff.document.records.places import KeyPath
from falloff.document.records.room import Location, Opening, Outside, Room, Sky
from falloff.document.records.setups import (
    AnyTarget,
    Camera,
    HousePower,
    Measured,
    Profile,
    ReadingWanted,
    Setup,
    Target,
)
from falloff.document.records.things import Grip, Material, Prop, Subject


class Positions(msgspec.Struct, frozen=True):
    """Where every key and value was written: JSON pointer -> (line, column), both from 1."""

    at: dict[str, tuple[int, int]]

    def has(self, key_path: KeyPath) -> bool:
        """Whether the document itself says this, rather than a default."""
        return pointer(key_path) in self.at

    def position_of(self, key_path: KeyPath) -> tuple[int, int]:
        """Line and column of a key path, or of the nearest part of it that was written."""
        for depth in range(len(key_path), -1, -1):
            found = self.at.get(pointer(key_path[:depth]))
            if found is not None:
                return found
        return (1, 1)


class SceneDocument(msgspec.Struct, frozen=True, kw_only=True):
    """A scene as written; names are unique across everything that can be placed or aimed at.

    rooms: further rooms by name, in the same plan; own_kit: the kit file beside the scene whose
    items come before the catalogue's; version: of the format as the file has it.
    """

    path: str
    version: int
    title: str
    units: Literal["metric", "imperial"]
    room: Room
    rooms: dict[str, Room] = {}
    openings: dict[str, Opening] = {}
    materials: dict[str, Material] = {}
    location: Location | None = None
    sky: Sky | None = None
    outside: Outside | None = None
    house_power: HousePower | None = None
    own_kit: str | None = None
    props: dict[str, Prop] = {}
    subjects: dict[str, Subject] = {}
    fixtures: dict[str, Fixture] = {}
    practicals: dict[str, Practical] = {}
    grip: dict[str, Grip] = {}
    cameras: dict[str, Camera] = {}
    setups: dict[str, Setup] = {}
    readings: dict[str, ReadingWanted] = {}
    targets: dict[str, AnyTarget] = {}
    measured: dict[str, Measured] = {}
    profiles: dict[str, Profile] = {}
    seen: Positions
    checksum: str  # SHA-256 of the file's bytes as read, in hex

    @property
    def file_name(self) -> str:
        """The document's own file name, without its folder."""
        return Path(self.path).name

    @property
    def level_targets(self) -> dict[str, Target]:
        """The targets that are levels in stops, by name."""
        return {name: one for name, one in self.targets.items() if isinstance(one, Target)}

    def position_of(self, key_path: KeyPath) -> tuple[int, int]:
        """Line and column (from 1) of a key path such as ("fixtures", "KEY", "at")."""
        return self.seen.position_of(key_path)


def pointer(key_path: KeyPath) -> str:
    """A key path as a JSON pointer (RFC 6901): ("room", "floor", 0) -> "/room/floor/0"."""
    return "".join("/" + str(part).replace("~", "~0").replace("/", "~1") for part in key_path)


def key_path_text(key_path: KeyPath) -> str:
    """A key path as people read it: ("room", "floor", 0) -> "room.floor[0]"."""
    parts = (f"[{part}]" if isinstance(part, int) else f".{part}" for part in key_path)
    return "".join(parts).removeprefix(".")
