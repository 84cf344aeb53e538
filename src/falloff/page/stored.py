"""Bytes kept for the windows by a name made of their content; the oldest go first."""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from dataclasses import dataclass, field
from typing import Final

_MOST_BYTES: Final = 600_000_000


def key_of(content: bytes) -> str:
    """The name of some content: the same for the same bytes, in every process."""
    return hashlib.blake2b(content, digest_size=16).hexdigest()


@dataclass(slots=True)
class Stored:
    """Contents by key, each with the type that it is served as.

    dropped: keys of what went for want of room, until somebody takes them.
    """

    most_bytes: int = _MOST_BYTES
    dropped: list[str] = field(default_factory=list)
    _kept: OrderedDict[str, tuple[bytes, str]] = field(default_factory=OrderedDict)
    _held_bytes: int = 0

    def put(self, content: bytes, *, kind: str = "application/octet-stream", key: str = "") -> str:
        """Keep some bytes and give their key; `key`: where it is known already."""
        name = key or key_of(content)
        if name in self._kept:
            self._kept.move_to_end(name)
            return name
        self._kept[name] = (content, kind)
        self._held_bytes += len(content)
        while self._held_bytes > self.most_bytes and len(self._kept) > 1:
            gone, (old, _) = self._kept.popitem(last=False)
            self._held_bytes -= len(old)
            self.dropped.append(gone)
        return name

    def get(self, key: str) -> tuple[bytes, str] | None:
        """Some content and its type; None where it is not kept any more."""
        found = self._kept.get(key)
        if found is not None:
            self._kept.move_to_end(key)
        return found

    def __contains__(self, key: str) -> bool:
        """Whether it is kept."""
        return key in self._kept
