"""The room in which one scene is worked on: windows come and go, changes are made, light follows.

All of it runs in one event loop. A change is judged and acknowledged at once; the tree, the light
and the file follow.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from falloff.document import SceneDocument
from falloff.errors import FalloffError
from falloff.page.changes import edits_of
from falloff.page.history import History
from falloff.page.keeper import Keeper
from falloff.page.patches import diff
from falloff.page.saving import SceneFile
from falloff.page.seen import Seen, trouble
from falloff.page.stored import Stored
from falloff.page.told import sentences
from falloff.page.tree import TreeMaker
from falloff.page.windows import Message, Window
from falloff.page.worktop import Worktop
from falloff.session.scene import known_names

REST_AFTER_S: Final = 0.7
_TELL_AFTER_S: Final = 0.002
WIDTH_PX: Final = 640
_MOVES: Final = {"place", "aim", "turn", "wall", "corner", "opening"}


@dataclass(slots=True)
class Room:
    """One scene under work."""

    top: Worktop
    seen: Seen
    keeper: Keeper = field(init=False)
    _rest: asyncio.TimerHandle | None = None
    _due: tuple[Window, object, str | None] | None = None

    @classmethod
    def open(cls, path: Path, *, port: int, width: int = WIDTH_PX) -> Room:
        """Open a scene file; raises DocumentError for one that has faults, OutputError if taken.

        port: that the page is served on; width: of the pictures, in pixels.
        """
        file = SceneFile.open(path, port=port)
        try:
            history = History.begin(path, file.text, known_names())
            stored = Stored()
            maker = TreeMaker(stored)
            top = Worktop(history, stored, maker, maker.tree(history.now.document))
        except FalloffError:
            file.close()
            raise
        room = cls(top, Seen(top, width))
        room.keeper = Keeper(top, file, room.changed)
        return room

    def start(self) -> None:
        """Start the worker and the watch over the file; needs a running event loop."""
        self.seen.start()
        self.keeper.start()

    async def close(self) -> None:
        """Save what is not saved yet and end the worker."""
        if self._rest is not None:
            self._rest.cancel()
        self._tell_due()
        await self.keeper.close()
        self.seen.close()

    @property
    def document(self) -> SceneDocument:
        """The scene as it is now."""
        return self.top.document

    # Windows -----------------------------------------------------------------------------

    def enter(self, window: Window) -> None:
        """A window opens: it is told everything."""
        self.top.windows.append(window)
        if window.setup not in self.document.setups:
            window.setup = next(iter(self.document.setups), None)
        window.post(self.top.hello(saved=self.keeper.saved, question=self.keeper.question))
        for name in self.top.tree["setups"]:
            self.seen.tell(window, name)
        self.seen.follow()

    def leave(self, window: Window) -> None:
        """A window closes."""
        if window in self.top.windows:
            self.top.windows.remove(window)

    def take(self, window: Window, message: Message) -> None:
        """One message of a window; what cannot be done is told to it in sentences."""
        handlers: dict[str, Callable[[Window, Message], None]] = {
            "edit": self._edit,
            "unmake": self._unmake,
            "undo": self._undo,
            "redo": self._redo,
            "back": self._back,
            "withdraw": self._withdraw,
            "look": self._look,
            "rest": self._rested,
            "ask": self.seen.ask,
            "job": self.seen.job,
            "hour": self.seen.hour,
            "cancel": self.seen.cancel,
            "grab": self.seen.grab,
            "outside": self._outside,
        }
        handler = handlers.get(str(message.get("t")))
        if handler is None:
            return
        if message["t"] != "edit":
            self._tell_due()
        try:
            handler(window, message)
        except (FalloffError, KeyError, ValueError, TypeError, IndexError) as error:
            why = sentences(error)
            if handler in {self.seen.ask, self.seen.job}:
                window.post({"t": "job", "id": message.get("id"), "ended": "failed", "why": why})
            else:
                window.post({"t": "refused", "seq": message.get("seq"), "why": why})

    # Changes -----------------------------------------------------------------------------

    def _edit(self, window: Window, message: Message) -> None:
        """The changes of one message, all of them or none, as one step."""
        setup = str(message.get("setup") or window.setup)
        gesture, seq = message.get("gesture"), message.get("seq")
        history = self.top.history
        before = history.mark()
        held = gesture if gesture is not None else f"{window.name}:{seq}"
        moving = None
        try:
            for change in message["changes"]:
                edits, label = edits_of(self.document, setup, change, text=history.now.written)
                history.edit(edits, label, gesture=held)
                if gesture is not None and change.get("do") in _MOVES:
                    moving = moving or str(change.get("name") or change["do"])
        except Exception:
            history.back_to(before)
            raise
        if gesture is None:
            history.gesture = None
        window.post({"t": "ack", "seq": seq})
        self._tell_soon(window, seq, moving)

    def _unmake(self, window: Window, message: Message) -> None:
        """A hand takes back its gesture: its step goes, or is edited back if it is not the last."""
        history = self.top.history
        if history.gesture is not None and history.gesture == message["gesture"]:
            history.drop()
            self.changed(window)
        else:
            self._edit(window, {**message, "gesture": None, "seq": None})

    def _undo(self, window: Window, _message: Message) -> None:
        self.top.history.go(self.top.history.at - 1)
        self.changed(window)

    def _redo(self, window: Window, _message: Message) -> None:
        self.top.history.go(self.top.history.at + 1)
        self.changed(window)

    def _back(self, window: Window, message: Message) -> None:
        self.top.history.put_back(int(message["step"]))
        self.changed(window)

    def _withdraw(self, window: Window, message: Message) -> None:
        self.top.history.withdraw(int(message["step"]), str(message["label"]))
        self.changed(window)

    def _tell_soon(self, window: Window, seq: object, moving: str | None) -> None:
        """Tell of an edit once its acknowledgement is out; edits that come at once are one."""
        due, self._due = self._due, (window, seq, moving)
        if due is None:
            asyncio.get_running_loop().call_later(_TELL_AFTER_S, self._tell_due)

    def _tell_due(self) -> None:
        due, self._due = self._due, None
        if due is not None:
            window, seq, moving = due
            self.changed(window, seq, moving=moving)

    def changed(
        self, window: Window | None = None, seq: object = None, *, moving: str | None = None
    ) -> None:
        """The scene is another one: tell the windows, the worker and, soon, the file."""
        top = self.top
        self._set_moving(moving)
        if moving is not None:
            self.seen.follow()  # the light of what a hand moves goes before all else
        try:
            tree = top.maker.tree(top.document)
        except FalloffError as error:
            # It can be read but not stood up: told and kept; the plan stays as it was.
            top.tell_all(trouble(None, sentences(error)), about="trouble")
            tree = top.tree
        else:
            top.tell_all(trouble(None, []), about="trouble")
        patch = diff(top.tree, tree)
        top.tree = tree
        top.rev += 1
        name = window.name if window else None
        told = {"t": "patch", "rev": top.rev, "patch": patch, "window": name, "seq": seq}
        top.tell_all({**told, "steps": top.steps(), "at": top.history.at})
        self.seen.answer_all()
        self.keeper.soon()
        self.seen.follow()

    def _set_moving(self, moving: str | None) -> None:
        """What a hand moves; where it does not move on, it is taken to rest."""
        self.top.moving = moving
        if self._rest is not None:
            self._rest.cancel()
            self._rest = None
        if moving is not None:
            loop = asyncio.get_running_loop()
            self._rest = loop.call_later(REST_AFTER_S, self._rested)

    def _rested(self, _window: Window | None = None, _message: Message | None = None) -> None:
        if self.top.moving is not None:
            self._set_moving(None)
            self.seen.follow()

    # Looking -----------------------------------------------------------------------------

    def _look(self, window: Window, message: Message) -> None:
        setups = self.top.tree["setups"]
        if message.get("setup") in setups:
            window.setup = message["setup"]
        window.beside = tuple(name for name in message.get("beside", ()) if name in setups)
        self.seen.answer_all()
        self.seen.follow()

    def _outside(self, _window: Window, message: Message) -> None:
        self.keeper.answer(str(message["take"]))
