"""The scene file on disk: saved soon after each change, watched for changes from elsewhere."""

from __future__ import annotations

import contextlib
import difflib
import json
import shutil
import socket
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from falloff.document import checksum_of, read_text, replace_file
from falloff.errors import DocumentError, Fault, OutputError

_TAKEN: Final = "another Falloff works on this scene"


@dataclass(slots=True)
class SceneFile:
    """One scene file, what we last read or wrote of it, and the lock that keeps others away."""

    path: Path
    text: str
    port: int
    _seen: tuple[int, int] = (0, 0)

    @classmethod
    def open(cls, path: Path, *, port: int) -> SceneFile:
        """Read the file and take its lock; OutputError where another program holds it.

        port: that this program serves its page on, by which others find out that it runs.
        """
        text = read_text(path)
        held = cls(path, text, port)
        held._lock()
        held._seen = held._mark()
        with contextlib.suppress(OSError):
            shutil.copyfile(path, path.with_name(f".{path.name}.before"))
        return held

    def save(self, text: str) -> None:
        """Put a text in the file's place; DocumentError where the file changed meanwhile.

        Raises OutputError where it cannot be written. The state it was opened in stays beside it
        as .NAME.before.
        """
        if text == self.text:
            return
        replace_file(self.path, text, unchanged=checksum_of(self.text))
        self.text = text
        self._seen = self._mark()

    def changed_outside(self) -> str | None:
        """The file's text where somebody else changed it since, None where it is as we know it."""
        mark = self._mark()
        if mark == self._seen:
            return None
        try:
            text = read_text(self.path)
        except DocumentError:
            return None  # in the middle of being replaced, or gone: looked at again later
        self._seen = mark
        return None if text == self.text else text

    def accept(self, text: str) -> None:
        """A text from outside is now what the file is known to hold."""
        self.text = text

    def close(self) -> None:
        """Give the lock back."""
        if _port_of(self._lock_path()) == self.port:
            with contextlib.suppress(OSError):
                self._lock_path().unlink()

    def _mark(self) -> tuple[int, int]:
        try:
            status = self.path.stat()
        except OSError:
            return (0, 0)
        return (status.st_mtime_ns, status.st_size)

    def _lock_path(self) -> Path:
        return self.path.with_name(f".{self.path.name}.open")

    def _lock(self) -> None:
        lock = self._lock_path()
        for _ in range(2):
            try:
                with lock.open("x", encoding="utf-8") as file:
                    json.dump({"port": self.port}, file)
            except FileExistsError:
                port = _port_of(lock)
                if port is not None and port != self.port and _answers(port):
                    fix = f"use its page, http://127.0.0.1:{port}/; if that is none, delete {lock}"
                    raise OutputError(Fault(_TAKEN, where=str(self.path), fix=fix)) from None
                with contextlib.suppress(OSError):
                    lock.unlink()
            except OSError:
                return  # a folder that cannot be written: saving will say so
            else:
                return


def _port_of(lock: Path) -> int | None:
    try:
        return int(json.loads(lock.read_text(encoding="utf-8"))["port"])
    except (OSError, ValueError, KeyError, TypeError, OverflowError):
        return None


def _answers(port: int) -> bool:
    """Whether a program listens on a port of this machine."""
    try:
        with socket.create_connection(("127.0.0.1", port), timeout=0.5):
            return True
    except OSError:
        return False


def merged(base: str, ours: str, theirs: str) -> str | None:
    """Both changes of a text together, None where they touch the same lines.

    Lines that stand next to one another count as the same place.
    """
    lines = base.splitlines(keepends=True)
    changes = sorted(
        (low, high, new)
        for other in (ours, theirs)
        for low, high, new in _changes(lines, other.splitlines(keepends=True))
    )
    result: list[str] = []
    at = 0
    last: tuple[int, int, tuple[str, ...]] | None = None
    for low, high, new in changes:
        if last is not None and (low, high, new) == last:
            continue  # both made the same change
        if last is not None and low <= last[1]:
            return None
        result += lines[at:low]
        result += new
        at, last = high, (low, high, new)
    return "".join([*result, *lines[at:]])


def _changes(old: list[str], new: list[str]) -> list[tuple[int, int, tuple[str, ...]]]:
    found = difflib.SequenceMatcher(None, old, new, autojunk=False).get_opcodes()
    return [(a, b, tuple(new[c:d])) for kind, a, b, c, d in found if kind != "equal"]
