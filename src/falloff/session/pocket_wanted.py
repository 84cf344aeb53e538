"""What is wanted, in a pocket copy: level targets that it judges, fixes found beforehand."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from falloff.balance import Posed
from falloff.balance.fixes.find import find_fixes
from falloff.balance.fixes.records import Fix
from falloff.document import Limit, SceneDocument, Target, targets_in
from falloff.errors import FalloffError
from falloff.session.fixes import case_of

_MOST_FIXES: Final = 4


class PocketTarget(msgspec.Struct, frozen=True, kw_only=True):
    """A level that is wanted: places of its reading, and of the one it is told over, if any."""

    name: str
    reading: int
    over: int | None
    level_stops: float
    limit: Limit
    tolerance_stops: float
    weight: float


class PocketFix(msgspec.Struct, frozen=True, kw_only=True):
    """What would help beyond dims: what to do, what it costs, what the targets come to with it."""

    says: str
    costs: str
    dims: tuple[str, ...]
    levels: tuple[str, ...]
    minds: tuple[str, ...]


def pocket_targets(
    document: SceneDocument, setup: str, readings: Sequence[str]
) -> tuple[PocketTarget, ...]:
    """A setup's level targets; those of other kinds, or of readings that are not there, are not.

    readings: their names, in the copy's order.
    """
    at = {name: n for n, name in enumerate(readings)}
    return tuple(
        PocketTarget(
            name=name,
            reading=at[one.reading],
            over=None if one.over is None else at[one.over],
            level_stops=one.level.si,
            limit=one.limit,
            tolerance_stops=one.tolerance.si,
            weight=one.weight,
        )
        for name, one in targets_in(document, setup).items()
        if isinstance(one, Target) and one.reading in at and (one.over is None or one.over in at)
    )


def pocket_fixes(posed: Posed, document: SceneDocument, text: str) -> tuple[PocketFix, ...]:
    """The best fixes on set where a target is missed with the best dims; none are traced.

    document, text: the scene whole, and as its file has it.
    """
    if not targets_in(posed.document, posed.setup):
        return ()
    try:
        found = find_fixes(case_of((posed,), document, text), hours=False)
    except FalloffError:
        return ()
    useful = [one for one in found.told.fixes if one.worth_stops > 0.0 and not one.later]
    return tuple(_told(one) for one in useful[:_MOST_FIXES])


def _told(fix: Fix) -> PocketFix:
    nearer = f"{fix.worth_stops:.1f} stops nearer"
    costs = [
        "brings all in" if fix.brings_all else nearer,
        f"{fix.minutes:.0f} min" if fix.minutes else "",
        f"{fix.hands} {'hand' if fix.hands == 1 else 'hands'}" if fix.hands else "",
        fix.hire_says,
    ]
    return PocketFix(
        says=fix.says,
        costs=", ".join(one for one in costs if one),
        dims=fix.dims,
        levels=tuple(f"{one.name} {one.got}" for one in fix.targets),
        minds=(*fix.side_effects, *fix.cautions),
    )
