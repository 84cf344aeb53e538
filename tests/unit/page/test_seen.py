"""What a window that opens is told of light that was made before it was there."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from falloff.page.room import Room
from falloff.page.tasks import Told
from falloff.page.windows import Message, Window

SCENE = Path(__file__).parents[2] / "page" / "day.scene.yaml"


class Heard(Window):
    """A window that keeps what it is sent."""

    def __init__(self, name: str) -> None:
        super().__init__(name, self.keep)
        self.heard: list[Message] = []

    async def keep(self, _text: str) -> None:
        """Nothing is sent anywhere."""

    def post(self, message: Message, *, about: object = None) -> None:
        """Keep a message."""
        assert about is not None or message["t"] == "hello"
        self.heard.append(message)

    def days(self) -> dict[str, bool]:
        """By setup, whether the last day told was of an earlier state."""
        return {one["setup"]: one["stale"] for one in self.heard if one["t"] == "day"}


class Idle:
    """A worker that takes tasks and does none."""

    def give(self, _task: Any) -> None:
        """Nothing comes of it."""


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Room]:
    path = tmp_path / SCENE.name
    path.write_text(SCENE.read_text(encoding="utf-8"), encoding="utf-8")
    opened = Room.open(path, port=1)
    opened.seen._foreman = Idle()  # type: ignore[assignment]
    yield opened
    opened.keeper.file.close()


def test_an_old_day_is_told_as_that_to_a_window_that_opens(room: Room) -> None:
    first, second, third = (Heard(name) for name in ("first", "second", "third"))
    room.enter(first)
    day = Told("day", {"sight": room.top.sight_of("WIDE").name, "day": {"date": "2026-06-21"}})
    room.seen._hear(day)
    room.enter(second)
    assert first.days()["WIDE"] is False
    assert second.days() == first.days()
    room.top.moving = "PANEL"  # another state, whose day is not there yet
    room.seen.follow()
    room.enter(third)
    assert third.days() == dict.fromkeys(first.days(), True)
    room.seen._hear(day)
    assert third.days() == first.days() == dict.fromkeys(first.days(), False)
