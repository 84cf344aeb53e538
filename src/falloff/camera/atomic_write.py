"""Files that appear whole or not at all."""

from __future__ import annotations

import contextlib
import os
import secrets
from collections.abc import Callable
from pathlib import Path

from falloff.errors import Fault, OutputError


def write_whole(path: str | Path, write: Callable[[Path], None]) -> Path:
    """Let `write` fill a new file beside `path`, then put it in its place; the path.

    What stood at `path` stays untouched until the new file is complete, and stays if writing
    fails. Raises OutputError if the folder is missing or the place cannot be written.
    """
    target = Path(path)
    _check_place(target)
    # The suffix stays last, for a writer that goes by it.
    part = target.with_name(f".{target.stem[:80]}.{secrets.token_hex(4)}{target.suffix}")
    try:
        # Made here first, so that a refusal is the system's own error and not the writer's.
        with part.open("xb"):
            pass
        write(part)
        os.replace(part, target)
    except (OSError, RuntimeError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise OutputError(
            Fault(
                "the file cannot be written",
                where=str(target),
                found=reason,
                fix="check that you may write in this folder and that the disk has room",
            )
        ) from error
    finally:
        with contextlib.suppress(OSError):
            part.unlink()
    return target


def _check_place(target: Path) -> None:
    # os.path answers no where pathlib would raise, as for a name that is too long.
    if os.path.isdir(target):
        raise OutputError(
            Fault(
                "a folder stands where the file should go",
                where=str(target),
                fix="give a file name",
            )
        )
    if not os.path.isdir(target.parent):
        raise OutputError(
            Fault(
                "there is no such folder to write in",
                where=str(target.parent),
                fix="make the folder first, or give another",
            )
        )
