"""match: what the wide holds at the face and behind it, held in the close."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import msgspec

from falloff.balance import (
    HELD,
    Held,
    Posed,
    out_of_frame,
    softness_sentences,
    targets_to_match,
    unseen_sentences,
)
from falloff.document import AnyTarget
from falloff.errors import DocumentError, Fault
from falloff.readings import Readings, take_readings
from falloff.session.balance import (
    Group,
    group_of,
    posed_setup,
    standing_layers,
    write_scene,
)
from falloff.session.scene import open_scene
from falloff.transport import Progress, silent

_NEEDS: Final = "a key reading, the two cheeks of a face, or a wall behind it"


@dataclass(frozen=True, slots=True)
class Matched:
    """The second setup balanced to stand as the first does; what no dim can hold, as sentences.

    before: the readings of the first and of the second as it was written; besides: what no dim can
    undo, and what is left out as out of frame.
    """

    first: str
    second: str
    before: tuple[Readings, Readings]
    group: Group
    besides: tuple[str, ...]
    written: Path | None


@dataclass(frozen=True, slots=True)
class MatchAsked:
    """The setup that is held, the one that is to match it, what of it, and where it is written."""

    first: str
    second: str
    hold: tuple[Held, ...] = HELD
    out: Path | None = None
    write: bool = False


def held_of(words: tuple[str, ...]) -> tuple[Held, ...]:
    """What is to be held, from words; all of it where none. Raises DocumentError for others."""
    unknown = [word for word in words if word not in HELD]
    if unknown:
        expected = "one of " + ", ".join(HELD)
        what = "this is nothing that a match holds"
        raise DocumentError(
            *(Fault(what, "--hold", expected=expected, found=word) for word in unknown)
        )
    return tuple(one for one in HELD if one in words) or HELD


@dataclass(frozen=True, slots=True)
class HeldFrom:
    """What a setup is to hold of another: targets for it, both as they stand, what is said besides.

    before: the readings of the first and of the second.
    """

    targets: dict[str, AnyTarget]
    before: tuple[Readings, Readings]
    besides: tuple[str, ...]


def held_from(first: Posed, second: Posed, hold: Sequence[Held]) -> HeldFrom:
    """What the second setup is to hold of the first; spots out of either frame are left out."""
    before = (take_readings(first.layers, first.light), take_readings(second.layers, second.light))
    unseen = out_of_frame(first) | out_of_frame(second)
    left_out = unseen_sentences(*before, unseen) if "background" in hold else ()
    return HeldFrom(
        targets=targets_to_match(*before, hold=hold, unseen=unseen),
        before=before,
        besides=(*softness_sentences(*before), *left_out),
    )


def run_match(path: Path, asked: MatchAsked, *, progress: Progress = silent) -> Matched:
    """Hold key level, contrast and background from one setup to another by its dims.

    Raises DocumentError where the two are one, or have no reading in common to be held.
    """
    if asked.first == asked.second:
        what = "a setup matches itself"
        raise DocumentError(Fault(what, path.name, found=asked.first, fix="name two setups"))
    scene = open_scene(path, (asked.first, asked.second))
    posed: dict[str, Posed] = {}
    for standing in scene.arrangements:
        layers = standing_layers(standing, progress)
        posed |= {name: posed_setup(standing, name, layers) for name in standing.setups}
    own = posed[asked.second]
    held = held_from(posed[asked.first], own, asked.hold)
    if not held.targets:
        raise DocumentError(
            Fault(
                f"{asked.first} and {asked.second} have no reading in common that can be held",
                path.name,
                expected=_NEEDS,
                found=_listed([one.name for one in held.before[1].readings]),
                fix="add such readings to the scene",
            )
        )
    document = msgspec.structs.replace(own.document, targets=held.targets)
    group = group_of((replace(own, document=document),))
    written = write_scene(path, group.edits, out=asked.out, write=asked.write)
    return Matched(asked.first, asked.second, held.before, group, held.besides, written)


def _listed(names: Sequence[str]) -> str:
    return ", ".join(names) or "no readings"
