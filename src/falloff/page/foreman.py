"""The server's side of the worker: starts it, hands it tasks, hears it, starts it again."""

from __future__ import annotations

import asyncio
import multiprocessing
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Final

from falloff.page.tasks import HourTask, SceneTask, Task, Told

_MOST_STARTS: Final = 4


def _work(pipe: Connection) -> None:
    """What the worker's process runs: the tracer is loaded there, and not in the server."""
    from falloff.page.worker import work

    work(pipe)


def _gives_way(waiting: Task, newer: Task) -> bool:
    if isinstance(waiting, HourTask) and isinstance(newer, HourTask):
        return waiting.window == newer.window
    return isinstance(waiting, SceneTask) and isinstance(newer, SceneTask)


@dataclass(slots=True)
class Foreman:
    """One worker process; hear: called in the event loop with everything it tells.

    lost: called with a sentence where the worker stopped by itself.
    """

    hear: Callable[[Told], None]
    lost: Callable[[str], None]
    _pipe: Connection | None = None
    _process: BaseProcess | None = None
    _scene: SceneTask | None = None
    _starts: int = 0
    _closing: bool = False
    _tasks: list[Task] = field(default_factory=list)
    _waiting: threading.Condition = field(default_factory=threading.Condition)

    def start(self) -> None:
        """Start the process and the thread that listens to it; needs a running event loop."""
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe()
        self._process = context.Process(target=_work, args=(theirs,), daemon=True)
        self._process.start()
        theirs.close()
        self._pipe = ours
        self._starts += 1
        loop = asyncio.get_running_loop()
        threading.Thread(target=self._listen, args=(ours, loop), daemon=True).start()
        threading.Thread(target=self._send, args=(ours,), daemon=True).start()
        if self._scene is not None:
            self.give(self._scene)

    def give(self, task: Task) -> None:
        """Hand over a task and go on; the newest scene is given again if the worker is restarted.

        A worker that traces takes tasks up only now and then: a scene that still waits to be taken
        gives way to a newer one, an hour to a newer hour of the same window, and the event loop
        never waits for the pipe.
        """
        with self._waiting:
            if isinstance(task, SceneTask):
                self._scene = task
            self._tasks = [one for one in self._tasks if not _gives_way(one, task)]
            self._tasks.append(task)
            self._waiting.notify_all()

    def close(self) -> None:
        """End the process."""
        self._closing = True
        with self._waiting:
            self._waiting.notify_all()
        if self._pipe is not None:
            self._pipe.close()
        if self._process is not None:
            self._process.terminate()
            self._process.join(timeout=2.0)

    def _send(self, pipe: Connection) -> None:
        """Send what waits, one after the other, until this pipe is no longer the worker's."""
        while True:
            with self._waiting:
                self._waiting.wait_for(lambda: bool(self._tasks) or self._is_over(pipe))
                if self._is_over(pipe):
                    return
                task = self._tasks.pop(0)
            try:
                pipe.send(task)
            except (OSError, ValueError):
                return  # the listener finds out and starts it again

    def _is_over(self, pipe: Connection) -> bool:
        return self._closing or self._pipe is not pipe

    def _listen(self, pipe: Connection, loop: asyncio.AbstractEventLoop) -> None:
        try:
            while True:
                told = pipe.recv()
                loop.call_soon_threadsafe(self.hear, told)
        except (EOFError, OSError, RuntimeError, TypeError):
            if not self._closing and not loop.is_closed():
                loop.call_soon_threadsafe(self._again)

    def _again(self) -> None:
        if self._closing:
            return
        if self._starts >= _MOST_STARTS:
            self.lost("The tracer stopped several times. Save, close the page and open it again.")
            return
        self.lost("The tracer stopped and was started again; nothing you did is lost.")
        self.start()
