"""The server's side of the worker, before a pipe that nobody reads for a while."""

from __future__ import annotations

import threading
import time
from multiprocessing.connection import Connection
from typing import cast

from falloff.page.foreman import Foreman
from falloff.page.tasks import CancelTask, HourTask, SceneTask, Sight, Task


class SlowPipe:
    """A pipe whose other end takes one thing at a time, when it is let."""

    def __init__(self) -> None:
        self.taken: list[Task] = []
        self.let = threading.Semaphore(0)

    def send(self, task: Task) -> None:
        self.let.acquire()
        self.taken.append(task)

    def close(self) -> None:
        self.let.release(100)


def scene(generation: int) -> SceneTask:
    return SceneTask(generation, {}, (), 320)


def test_nobody_waits_for_a_worker_that_traces_and_it_gets_the_newest_scene() -> None:
    pipe = SlowPipe()
    foreman = Foreman(hear=lambda told: None, lost=lambda why: None)
    foreman._pipe = cast("Connection", pipe)
    sender = threading.Thread(target=foreman._send, args=(pipe,), daemon=True)
    sender.start()
    foreman.give(scene(1))
    end = time.monotonic() + 5.0
    while foreman._tasks and time.monotonic() < end:
        time.sleep(0.005)  # the first is being sent, and is stuck there
    for generation in range(2, 50):
        foreman.give(scene(generation))
        foreman.give(CancelTask(f"job {generation}"))
        foreman.give(HourTask("window", Sight("A", "B"), f"2026-06-21T13:{generation:02d}+01:00"))
    pipe.let.release(100)
    while len(pipe.taken) < 51 and time.monotonic() < end:
        time.sleep(0.005)
    scenes = [task.generation for task in pipe.taken if isinstance(task, SceneTask)]
    assert scenes == [1, 49]  # pencil: the one on its way, and the newest
    hours = [task.at for task in pipe.taken if isinstance(task, HourTask)]
    assert hours == ["2026-06-21T13:49+01:00"]  # the newest alone
    assert len(pipe.taken) == 2 + 1 + 48  # nothing but scenes and hours gives way
    foreman.close()
    sender.join(timeout=5.0)
    assert not sender.is_alive()


def test_an_hour_in_one_window_leaves_that_of_another() -> None:
    foreman = Foreman(hear=lambda told: None, lost=lambda why: None)
    sight = Sight("A", "B")
    foreman.give(HourTask("one", sight, "2026-06-21T13:00+01:00"))
    foreman.give(HourTask("one", sight, None))
    foreman.give(HourTask("two", sight, "2026-06-21T14:00+01:00"))
    foreman.give(HourTask("two", sight, "2026-06-21T14:05+01:00"))
    waiting = [(task.window, task.at) for task in foreman._tasks if isinstance(task, HourTask)]
    assert waiting == [("one", None), ("two", "2026-06-21T14:05+01:00")]
