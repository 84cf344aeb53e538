"""Bytes kept for the windows by a name made of their content."""

from __future__ import annotations

import shutil
from pathlib import Path
from types import SimpleNamespace
from typing import cast

from falloff.page.foreman import Foreman
from falloff.page.room import Room
from falloff.page.stored import Stored, key_of
from falloff.page.tasks import ForgetTask, Task, Told

TEST_ROOM = Path(__file__).parents[2] / "reference/scenes/test_room.scene.yaml"


def test_the_same_content_has_the_same_name_and_is_kept_once() -> None:
    stored = Stored()
    key = stored.put(b"light", kind="image/png")
    assert stored.put(b"light") == key == key_of(b"light")
    assert stored.put(b"dark") != key
    assert stored.get(key) == (b"light", "image/png")
    assert stored._held_bytes == len(b"light") + len(b"dark")
    assert len(key) == 32  # pencil: 16 bytes in hex


def test_what_is_not_kept_is_nothing() -> None:
    stored = Stored()
    assert stored.get("0" * 32) is None
    assert "0" * 32 not in stored
    key = stored.put(b"x")
    assert key in stored


def test_a_name_that_is_known_is_not_worked_out() -> None:
    stored = Stored()
    assert stored.put(b"x", key="given") == "given"
    assert stored.get("given") == (b"x", "application/octet-stream")


def test_the_least_used_go_first_when_the_cap_is_passed() -> None:
    stored = Stored(most_bytes=25)
    first, second = stored.put(b"a" * 10), stored.put(b"b" * 10)
    stored.get(first)  # used: now the second is the oldest
    third = stored.put(b"c" * 10)
    assert [key in stored for key in (first, second, third)] == [True, False, True]
    assert stored._held_bytes == 20
    stored.put(b"a" * 10)  # put once more: used too
    fourth = stored.put(b"d" * 6)
    assert [key in stored for key in (first, third, fourth)] == [True, False, True]


def test_what_is_larger_than_the_cap_is_kept_alone() -> None:
    stored = Stored(most_bytes=25)
    stored.put(b"a" * 10)
    large = stored.put(b"b" * 100)
    assert stored.get(large) == (b"b" * 100, "application/octet-stream")
    assert stored._held_bytes == 100
    small = stored.put(b"c")
    assert (large in stored, small in stored, stored._held_bytes) == (False, True, 1)


def test_what_the_server_drops_the_worker_is_told_to_send_again(tmp_path: Path) -> None:
    scene = tmp_path / TEST_ROOM.name
    shutil.copy(TEST_ROOM, scene)
    room = Room.open(scene, port=1)
    given: list[Task] = []
    room.seen._foreman = cast("Foreman", SimpleNamespace(give=given.append))
    room.top.stored.most_bytes = 25
    contents = tuple((key_of(content), content) for content in (b"a" * 10, b"b" * 10, b"c" * 10))
    room.top.stored.dropped.clear()
    room.seen._hear(Told("idle", {}, contents[:1]))
    room.seen._hear(Told("idle", {}, contents[1:]))
    told = {key for task in given if isinstance(task, ForgetTask) for key in task.keys}
    assert contents[0][0] in told
    assert contents[2][0] not in told
    assert contents[2][0] in room.top.stored
    assert room.top.stored.dropped == []
