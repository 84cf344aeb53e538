"""Keeping the file: saved soon after each change, merged or asked about if changed elsewhere."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from falloff.errors import DocumentError, OutputError
from falloff.page.history import Step
from falloff.page.saving import SceneFile, merged
from falloff.page.told import sentences
from falloff.page.worktop import Worktop

SAVE_AFTER_S: Final = 0.25
WATCH_EVERY_S: Final = 0.7


@dataclass(slots=True)
class Keeper:
    """Saves the scene of one table; changed: called when the scene became another one by itself."""

    top: Worktop
    file: SceneFile
    changed: Callable[[], None]
    question: str | None = None
    saved_rev: int = 0
    _timer: asyncio.TimerHandle | None = None
    _writing: asyncio.Task[None] | None = None
    _watching: asyncio.Task[None] | None = None

    def start(self) -> None:
        """Watch the file for changes from elsewhere; needs a running event loop."""
        self._watching = asyncio.get_running_loop().create_task(self._watch())

    async def close(self) -> None:
        """Save what is not saved yet and give the file's lock back."""
        if self._watching is not None:
            self._watching.cancel()
        if self._timer is not None:
            self._timer.cancel()
        if self._writing is not None:
            await self._writing
        await self._write()
        self.file.close()

    @property
    def saved(self) -> bool:
        """Whether the file holds what the windows show."""
        return self.saved_rev == self.top.rev

    def soon(self) -> None:
        """Save a little after the first change that is not saved, however many follow."""
        if self._timer is None and self._writing is None:
            loop = asyncio.get_running_loop()
            self._timer = loop.call_later(SAVE_AFTER_S, self._begin)

    def _begin(self) -> None:
        self._timer = None
        self._writing = asyncio.get_running_loop().create_task(self._write())
        self._writing.add_done_callback(self._written)

    def _written(self, _task: asyncio.Task[None]) -> None:
        self._writing = None
        if not self.saved and self.question is None:
            self.soon()

    async def _write(self) -> None:
        """Text and file are made beside the event loop, which goes on answering edits."""
        if self.question is not None:
            return
        rev, step = self.top.rev, self.top.history.now
        try:
            (await asyncio.to_thread(step.unwritten().work_out)).keep()
        except DocumentError as error:
            self._refused(step, error)
            return
        try:
            await asyncio.to_thread(self.file.save, step.written())
        except DocumentError:
            self._look_outside()
            return
        except OutputError as error:
            self.top.tell_all({"t": "notice", "says": " ".join(sentences(error))}, about="saving")
            await asyncio.sleep(2.0)
            return
        self.saved_rev = rev
        self.top.tell_all({"t": "saved", "rev": rev}, about="saved")

    def _refused(self, step: Step, error: DocumentError) -> None:
        """The text cannot take an edit that the tree took: that step is forgotten."""
        if self.top.history.now is step:
            self.top.history.drop()
        self.top.tell_all({"t": "refused", "seq": None, "why": sentences(error)})
        self.changed()

    async def _watch(self) -> None:
        with contextlib.suppress(asyncio.CancelledError):
            while True:
                await asyncio.sleep(WATCH_EVERY_S)
                if self._writing is None:
                    self._look_outside()

    def _look_outside(self) -> None:
        """Take in what somebody else wrote into the file, if both can stand; else ask."""
        base = self.file.text
        theirs = self.file.changed_outside()
        if theirs is None:
            return
        self.file.accept(theirs)
        ours = self.top.history.now.written()
        both = theirs if ours == base else merged(base, ours, theirs)
        why = "The file was changed elsewhere in the very lines that were changed here."
        if both is not None:
            try:
                self.top.history.take_text(both, "changed in the file")
            except DocumentError as error:
                told = " ".join(sentences(error))
                why = f"The file was changed elsewhere and is no scene: {told}"
            else:
                self.changed()
                return
        self.question = why
        self.top.tell_all({"t": "outside", "why": why})

    def answer(self, take: str) -> None:
        """theirs: the file's text is taken, ours stays one undo away; mine: it is written over."""
        if self.question is None:
            return
        if take == "theirs":
            self.top.history.take_text(self.file.text, "taken from the file")
        self.question = None
        self.top.tell_all({"t": "outside", "why": None})
        self.changed()
