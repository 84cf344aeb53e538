"""Where a thing is moved to, and the refusal of what cannot be done."""

from __future__ import annotations

from falloff.errors import DocumentError, Fault
from falloff.stage.moving import Where, clock_text, length, moved_edits, where

__all__ = ["Where", "cannot", "clock_text", "length", "moved_edits", "where"]


def cannot(what: str, fix: str = "") -> DocumentError:
    """The refusal of a change, in a sentence."""
    return DocumentError(Fault(what, fix=fix))
