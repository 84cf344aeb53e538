"""One's own kit file, put in the place of the old one if that is still as it was read."""

from __future__ import annotations

import contextlib
import os
import shutil
from pathlib import Path

from falloff.camera.atomic_write import write_whole
from falloff.errors import Fault, OutputError
from falloff.kit.catalogue import parse_own_kit


def write_own_kit(own: Path, text: str, before: bytes | None) -> None:
    """Put the text in the kit file's place, durably, with the old one's rights.

    before: what the file held when it was read, None where there was none. Raises what reading the
    text finds wrong, and OutputError where the file has changed since or cannot be written; then
    the old one stays.
    """
    parse_own_kit(text, own.name)  # what is written can be read
    target = own.resolve()
    write_whole(target, lambda part: _fill(part, text, target, before))


def _fill(part: Path, text: str, target: Path, before: bytes | None) -> None:
    with part.open("wb") as stream:
        stream.write(text.encode("utf-8"))
        stream.flush()
        os.fsync(stream.fileno())
    if before is not None:
        with contextlib.suppress(OSError):
            shutil.copymode(target, part)
    if before != (target.read_bytes() if target.exists() else None):
        what = "the kit file has changed on disk since it was read"
        raise OutputError(Fault(what, str(target), fix="run it again"))
