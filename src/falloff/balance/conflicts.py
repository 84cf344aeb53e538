"""The smallest set of targets that cannot hold together.

By implicit hitting sets: a smallest set that meets every known way out of the conflict is tried; if
it can hold, it is grown to a largest set that can, and what is left out is one more way out. The
first that cannot hold is a smallest of all. Source: A. Ignatiev, A. Previti, M. Liffiton and
J. Marques-Silva, "Smallest MUS Extraction with Minimal Hitting Set Dualization", CP 2015.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from typing import Final, TypeVar

import numpy as np

from falloff.balance.choices import Programme

T = TypeVar("T", bound=Hashable)
_MOST_TURNS: Final = 400


def smallest_conflict(
    things: Sequence[T], can_hold: Callable[[tuple[T, ...]], bool]
) -> tuple[T, ...]:
    """The fewest of the things that cannot hold together; () where all of them can."""
    if can_hold(tuple(things)):
        return ()
    ways_out: list[frozenset[int]] = []
    for _ in range(_MOST_TURNS):
        tried = _hitting(len(things), ways_out)
        if not can_hold(tuple(things[k] for k in tried)):
            return tuple(things[k] for k in tried)
        held = list(tried)
        for k in range(len(things)):
            if k not in held and can_hold(tuple(things[j] for j in sorted((*held, k)))):
                held.append(k)
        ways_out.append(frozenset(range(len(things))) - frozenset(held))
    return tuple(things)


def _hitting(count: int, ways_out: list[frozenset[int]]) -> tuple[int, ...]:
    """A smallest set of numbers below `count` that has one of each way out."""
    if not ways_out:
        return ()
    programme = Programme()
    columns = [programme.column(1.0, most=1.0, whole=True) for _ in range(count)]
    for way in ways_out:
        programme.row({columns[k]: 1.0 for k in way}, 1.0, np.inf)
    found = programme.solve()
    assert found is not None  # every way out has a thing in it
    return tuple(k for k in range(count) if found[columns[k]] > 0.5)
