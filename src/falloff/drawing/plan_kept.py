"""What was worked out for an earlier plan and has not changed since."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Any, Final, TypeVar

_One = TypeVar("_One")
_MOST: Final = 4000  # things: of a hundred plans of a full scene
_found: dict[Hashable, Any] = {}


def kept(key: Hashable, make: Callable[[], _One]) -> _One:
    """What `make` gives, made once for a key; the oldest are let go where there are too many.

    key: all that the result depends on, and what tells it from others' keys.
    """
    if key not in _found:
        made = make()
        if len(_found) >= _MOST:
            for old in list(_found)[: _MOST // 4]:
                del _found[old]
        _found[key] = made
    one: _One = _found[key]
    return one
