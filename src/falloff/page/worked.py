"""The scene as one window works on it: the document, the setup it shows, how things stand in it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Final

from falloff.document import (
    Edit,
    KeyPath,
    SceneDocument,
    arranged,
    put_or_add,
    reading_of,
    rewrite_or_add,
)
from falloff.document.arrange import written_at
from falloff.document.sections import MOVABLE_SECTIONS
from falloff.page.told import cannot
from falloff.stage.places import Placer

_LIGHTS: Final = ("fixtures", "practicals")
_NAMED: Final = (*MOVABLE_SECTIONS, "cameras", "openings", "readings", "targets", "setups")


@dataclass(frozen=True, slots=True)
class Worked:
    """A document and the setup that is looked at.

    text: gives the file's text, where a change has to copy some of it.
    """

    document: SceneDocument
    setup: str
    text: Callable[[], str]
    _standing: list[SceneDocument] = field(default_factory=list)
    _placers: list[Placer] = field(default_factory=list)

    @property
    def standing(self) -> SceneDocument:
        """The document as it stands in the setup."""
        if not self._standing:
            self._standing.append(arranged(self.document, self.setup))
        return self._standing[0]

    @property
    def placer(self) -> Placer:
        """Where everything stands in this setup."""
        if not self._placers:
            self._placers.append(Placer(self.standing))
        return self._placers[0]

    def wrote(self, key_path: KeyPath) -> bool:
        """Whether the file itself says this."""
        return self.document.seen.has(key_path)

    def section_of(self, name: str) -> str:
        """The section that a thing stands in; DocumentError where there is none."""
        for section in _NAMED:
            if name in getattr(self.document, section):
                return section
        walk = reading_of(self.document, name)
        if walk is not None:
            raise cannot(f"{name} is one point of {walk}", "change its ends in the scene file")
        raise cannot(f"there is no {name} in the scene any more")

    def light(self, name: str) -> tuple[str, Any]:
        """A fixture or practical with its section; DocumentError where it is no light to set."""
        for section in _LIGHTS:
            found = getattr(self.document, section).get(name)
            if found is not None:
                return section, found
        raise cannot(f"{name} is no light that can be set")

    def record(self, name: str) -> tuple[str, Any]:
        """A placed thing as it stands in this setup, with its section."""
        section = self.section_of(name)
        found = getattr(self.standing, section).get(name)
        if found is None:
            raise cannot(f"{name} is not there in {self.setup}")
        return section, found

    def path_of(self, section: str, name: str, key: str) -> KeyPath:
        """Where a thing's key was written that holds in this setup."""
        if section not in MOVABLE_SECTIONS:
            return (section, name, key)
        return written_at(
            self.document.setups, self.setup, (section, name, key), self.document.seen.has
        )

    def put_or_add(self, group: KeyPath, key: str, told: str) -> Edit:
        """Write a key of a group, which is made where there is none."""
        return put_or_add(self.document, group, key, told)

    def rewrite_or_add(self, key_path: KeyPath, yaml_text: str) -> Edit:
        """Write a key's value anew whatever it held, or add the key."""
        return rewrite_or_add(self.document, key_path, yaml_text)

    def free_name(self, wanted: str) -> str:
        """The name, or with a number behind it where it is taken."""
        name, count = wanted.strip() or "THING", 1
        taken = {one for section in _NAMED for one in getattr(self.document, section)}
        base = name
        while name in taken:
            count += 1
            name = f"{base} {count}"
        return name
