"""What a close must hold of the wide: key level, contrast and background, as targets for it."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from typing import Final, Literal

from falloff.balance.words import capital, listed
from falloff.document import AnyTarget, Quantity, Target
from falloff.readings import Reading, Readings

Held = Literal["key", "contrast", "background"]
HELD: Final[tuple[Held, ...]] = ("key", "contrast", "background")
# How near a cut is held, and what goes first where all cannot be: common practice, no source.
_SIXTH: Final = Quantity(1.0 / 6.0, "1/6 stop")
_THIRD: Final = Quantity(1.0 / 3.0, "1/3 stop")
_TOLERANCE: Final[Mapping[Held, Quantity]] = {
    "key": _SIXTH,
    "contrast": _THIRD,
    "background": _THIRD,
}
# One after the other: the next is never bought with the one before.
_WEIGHT: Final[Mapping[Held, float]] = {"key": 1000.0, "contrast": 30.0, "background": 1.0}
_SIDES: Final = ("cheek_key", "cheek_shadow")
_LEAST_TOLD_RAD: Final = math.radians(3.0)


def targets_to_match(
    first: Readings,
    second: Readings,
    *,
    hold: Sequence[Held] = HELD,
    unseen: Collection[str] = (),
) -> dict[str, AnyTarget]:
    """Targets that make the second setup's readings stand as the first's do, by name.

    Levels are each over its own setup's key, so that another stop does not matter. The background
    is every reading that both setups take and that lies on no face, but for those unseen: spots out
    of the frame of either.
    """
    found: dict[str, AnyTarget] = {}
    theirs = {one.name: one for one in first.readings}
    mine = {one.name: one for one in second.readings}
    both = [name for name in theirs if name in mine]
    key = second.key_reading if second.key_reading in both else None
    faces = {name for name in both if _on_face(theirs[name])}
    if key is None:
        key = next((name for name in both if _is_side(theirs[name], "cheek_key")), None)
    if key is not None and "key" in hold:
        found |= _held("key", key, _level(theirs[key]), None)
    shadow = next((name for name in both if _is_side(theirs[name], "cheek_shadow")), None)
    if key is not None and shadow is not None and shadow != key and "contrast" in hold:
        levels = _level(theirs[shadow]), _level(theirs[key])
        if None not in levels:
            assert levels[0] is not None
            assert levels[1] is not None
            found |= _held("contrast", shadow, levels[0] - levels[1], key)
    if "background" in hold:
        for name in both:
            if name not in faces and name != key and name not in unseen:
                found |= _held("background", name, _level(theirs[name]), None)
    return found


def unseen_sentences(first: Readings, second: Readings, unseen: Collection[str]) -> tuple[str, ...]:
    """What is left out of a match, since a spot out of frame is nobody's background."""
    theirs = {one.name for one in first.readings}
    names = [one.name for one in second.readings if one.name in theirs and one.name in unseen]
    if not names:
        return ()
    lie, are = ("lies", "is") if len(names) == 1 else ("lie", "are")
    setups = f"{first.setup} or {second.setup}"
    return (f"{capital(listed(names))} {lie} out of the frame of {setups}, and {are} not held.",)


def _held(kind: Held, reading: str, level: float | None, over: str | None) -> dict[str, AnyTarget]:
    """A target named for what it holds; nothing where there was no light to hold."""
    if level is None:
        return {}
    return {
        f"{kind}: {reading}": Target(
            reading=reading,
            level=Quantity(level, f"{level:.2f} stops"),
            over=over,
            tolerance=_TOLERANCE[kind],
            weight=_WEIGHT[kind],
        )
    }


def _level(reading: Reading) -> float | None:
    return reading.stops_over_grey if reading.instrument == "spot" else reading.stops_over_key


def _on_face(reading: Reading) -> bool:
    return "." in reading.place


def _is_side(reading: Reading, side: str) -> bool:
    return reading.place.rpartition(".")[2] == side and side in _SIDES


def softness_sentences(first: Readings, second: Readings) -> tuple[str, ...]:
    """Which sources look larger or smaller from the face than they did, as no dim can undo."""
    before = {(one.source, one.subject): one for one in first.softness}
    found = []
    for one in second.softness:
        old = before.get((one.source, one.subject))
        if old is None or abs(one.across_rad - old.across_rad) < _LEAST_TOLD_RAD:
            continue
        word = "softer" if one.across_rad > old.across_rad else "harder"
        found.append(
            f"{one.source} looks {math.degrees(one.across_rad):.0f}° across from {one.subject}, "
            f"{math.degrees(old.across_rad):.0f}° before: {word}, whatever its dim."
        )
    return tuple(found)
