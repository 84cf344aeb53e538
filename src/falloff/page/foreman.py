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

from falloff.page.tasks import SceneTask, Task, Told

_MOST_STARTS: Final = 4


def _work(pipe: Connection) -> None:
    """What the worker's process runs: the tracer is loaded there, and not in the server."""
    from falloff.page.worker import work

    work(pipe)


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
    _sending: threading.Lock = field(default_factory=threading.Lock)

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
        if self._scene is not None:
            self.give(self._scene)

    def give(self, task: Task) -> None:
        """Hand over a task; the newest scene is given again if the worker has to be restarted."""
        if isinstance(task, SceneTask):
            self._scene = task
        if self._pipe is None:
            return
        try:
            with self._sending:
                self._pipe.send(task)
        except OSError:
            return  # the listener finds out and starts it again

    def close(self) -> None:
        """End the process."""
        self._closing = True
        if self._pipe is not None:
            self._pipe.close()
        if self._process is not None:
            self._process.terminate()
            self._process.join(timeout=2.0)

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
