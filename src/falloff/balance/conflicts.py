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

from falloff.balance.programme import Programme

T = TypeVar("T", bound=Hashable)
_MOST_TURNS: Final = 12  # some 0.3 s with twenty targets


def smallest_conflict(
    things: Sequence[T], find: Callable[[Sequence[T]], frozenset[T] | None]
) -> tuple[tuple[T, ...], bool]:
    """The fewest of the things that cannot hold together, and whether fewer are ruled out.

    () where all of them can. Where they stand in each other's way so manifoldly that the search
    would take long, the second is False: none of the things can be left out, but another set may
    be smaller. find: all that holds where some hold, None where these cannot hold together.
    """
    if find(things) is not None:
        return (), True
    ways_out: list[frozenset[int]] = []
    for _ in range(_MOST_TURNS):
        tried = _hitting(len(things), ways_out)
        held = find([things[k] for k in tried])
        if held is None:
            return tuple(things[k] for k in tried), True
        whole = {*held, *(things[k] for k in tried)}
        for one in things:
            if one not in whole:
                more = find([*whole, one])
                whole |= (more or frozenset()) | ({one} if more is not None else set())
        ways_out.append(frozenset(k for k, one in enumerate(things) if one not in whole))
    return _one_that_cannot_shrink(things, find), False


def _one_that_cannot_shrink(
    things: Sequence[T], find: Callable[[Sequence[T]], frozenset[T] | None]
) -> tuple[T, ...]:
    """Things that cannot hold together, of which none can be left out; not always the fewest."""
    left = list(things)
    for one in things:
        without = [other for other in left if other != one]
        if find(without) is None:
            left = without
    return tuple(left)


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
