"""Groups of two kinds: those keyed by names of the person's own, and those of several forms."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from typing import Any

from falloff.document.cursor import Cursor, Unread, listed, nearest_fix
from falloff.document.known import KnownNames
from falloff.document.placing import NAME
from falloff.document.values import (
    Key,
    Schema,
    Value,
    group_schema,
    may,
    need,
    read_all,
    read_keys,
)


def map_of(value: Value[Any], *, keyed: Value[Any] = NAME) -> Value[dict[Any, Any]]:
    """A group whose keys are names (or numbers) of the person's own."""

    def read(cursor: Cursor) -> dict[Any, Any]:
        entries = cursor.entries()
        keys = [
            (keyed, Cursor(one.key, one.path, cursor.gathered, one.key))
            for one in entries.values()
            if one.key is not None
        ]
        names: list[Any] = []
        with contextlib.suppress(Unread):
            names = read_all(keys)
        values = read_all([(value, one) for one in entries.values()])
        if len(names) != len(values):
            raise Unread
        return dict(zip(names, values, strict=True))

    schema = {"type": "object", "additionalProperties": value.schema}
    return Value(read, f"{{{keyed.example}: {value.example}}}", schema)


@dataclass(frozen=True, slots=True)
class OtherWords:
    """The form of all words but those of the named forms, where the catalogue knows the word."""

    keys: Mapping[str, Key]
    known: Callable[[KnownNames], Collection[str] | None]
    told: str


@dataclass(frozen=True, slots=True)
class Forms:
    """What a group may hold by the word at its key `mark`; `usual` is meant where it is absent."""

    mark: str
    of: Mapping[str, Mapping[str, Key]]
    usual: str = ""
    others: OtherWords | None = None

    def keys_of(self, word: str, known: KnownNames) -> Mapping[str, Key] | None:
        """The keys of a word's form; None where the word is unknown."""
        if word in self.of:
            return self.of[word]
        if self.others is None or not word:
            return None
        kinds = self.others.known(known)
        return self.others.keys if kinds is None or word in kinds else None

    def expected(self) -> str:
        """The words, in a sentence."""
        told = " or ".join(self.of)
        return f"{told} or {self.others.told}" if self.others else told

    def fix(self, word: str, known: KnownNames) -> str:
        """The nearest word, or all that the catalogue has."""
        kinds = (self.others.known(known) if self.others else None) or ()
        near = nearest_fix(word, [*self.of, *kinds])
        return near or (f"choose from {listed([*self.of, *sorted(kinds)])}" if kinds else "")

    def schema(self) -> Schema:
        """One of the forms."""
        found = []
        for word, keys in self.of.items():
            schema = group_schema(keys, **{self.mark: word})
            if word == self.usual:
                schema["required"] = [one for one in schema["required"] if one != self.mark]
            found.append(schema)
        if self.others:
            schema = group_schema(self.others.keys, **{self.mark: ""})
            schema["properties"][self.mark] = {"type": "string", "not": {"enum": list(self.of)}}
            found.append(schema)
        return {"oneOf": found}


def variant(forms: Forms, what: str, example: str) -> Value[tuple[str, dict[str, Any]]]:
    """A group whose key `mark` says which other keys it has; gives the word and the values."""
    mark = forms.mark

    def read(cursor: Cursor) -> tuple[str, dict[str, Any]]:
        entries = cursor.entries()
        if mark not in entries and not forms.usual:
            fix = f"add `{mark}: {next(iter(forms.of))}`"
            raise cursor.fault(f"{what} needs {mark!r}", expected=forms.expected(), fix=fix)
        word = entries[mark].node.value.strip() if mark in entries else forms.usual
        keys = forms.keys_of(word, cursor.gathered.known)
        if keys is None:
            _read_shared(entries, forms)
            raise entries[mark].fault(
                f"unknown {mark} {word!r}" if word else f"{mark} needs a word",
                expected=forms.expected(),
                fix=forms.fix(word, cursor.gathered.known),
            )
        marked = (may if forms.usual else need)(NAME)
        called = f"{what} ({word})"
        values = read_keys(cursor, {mark: marked} | dict(keys), called, entries=entries)
        values.pop(mark, None)
        return word, values

    return Value(read, example, forms.schema())


def _read_shared(entries: dict[str, Cursor], forms: Forms) -> None:
    """Read the keys that all forms have, for their faults only."""
    first, *others = [*forms.of.values(), *([forms.others.keys] if forms.others else [])]
    for name, key in first.items():
        if name in entries and all(name in other for other in others):
            with contextlib.suppress(Unread):
                key.value.read(entries[name])
