"""The open windows: one queue of messages each, so that a slow one holds up no other."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from typing import Any, Final

import msgspec

_MOST_WAITING: Final = 2000

Message = dict[str, Any]
_ENCODER: Final = msgspec.json.Encoder()


@dataclass(slots=True, eq=False)
class Window:
    """One window: what waits to be sent to it, which setup it shows.

    Messages of one kind about one thing replace their older selves while they wait.
    """

    name: str
    send: Callable[[str], Awaitable[None]]
    setup: str | None = None
    beside: tuple[str, ...] = ()
    _waiting: dict[object, Message] = field(default_factory=dict)
    _count: int = 0
    _ready: asyncio.Event = field(default_factory=asyncio.Event)

    def post(self, message: Message, *, about: object = None) -> None:
        """Queue a message; about: what it is about, whose older message it replaces."""
        self._count += 1
        key = about if about is not None else self._count
        self._waiting.pop(key, None)
        self._waiting[key] = message
        while len(self._waiting) > _MOST_WAITING:
            del self._waiting[next(iter(self._waiting))]
        self._ready.set()

    async def run(self) -> None:
        """Send what waits, in order, until the window is gone."""
        with contextlib.suppress(ConnectionError, RuntimeError):
            while True:
                await self._ready.wait()
                while self._waiting:
                    key = next(iter(self._waiting))
                    message = self._waiting.pop(key)
                    await self.send(_ENCODER.encode(message).decode())
                self._ready.clear()
