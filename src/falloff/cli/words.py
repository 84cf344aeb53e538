"""Words of a few that an option or argument may be."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from typing import TypeVar

from falloff.errors import DocumentError, Fault

T = TypeVar("T", bound=str)


def one_of(word: str, words: Sequence[T], what: str) -> T:
    """The word itself where it is one of the few, whatever its case; DocumentError where not."""
    for known in words:
        if word.strip().lower() == known:
            return known
    near = difflib.get_close_matches(word.lower(), words, n=1)
    raise DocumentError(
        Fault(
            what=f"there is no {what} {word!r}",
            expected=", ".join(words),
            fix=f"did you mean {near[0]!r}?" if near else "",
        )
    )
