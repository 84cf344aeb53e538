"""A candidate: edits of a scene with a quick way to weigh them, before anything is solved."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from falloff.balance.fixes.efforts import Effort
from falloff.balance.fixes.records import FixKind
from falloff.balance.problem import Problem
from falloff.document import Edit


@dataclass(frozen=True, slots=True)
class Hire:
    """A day's rate in the kit's currency, None where none is known; in words where that matters."""

    rate: float | None = None
    says: str = ""


@dataclass(frozen=True, slots=True)
class Candidate:
    """One change that may help.

    does: its edits in words; trial: the problem as it would be, None where it cannot stand so;
    rank: how likely it is to help, of its own kind: of what must be traced only the likeliest are
    tried; traced: whether its trial traces; size: of two alike that do as much the smaller is told
    first; alike: lights that it adds, by whose dim they take.
    """

    kind: FixKind
    says: str
    does: tuple[str, ...]
    edits: tuple[Edit, ...]
    trial: Callable[[], Problem | None]
    effort: Effort
    hire: Hire = Hire()
    cautions: tuple[str, ...] = ()
    rank: float = 0.0
    traced: bool = False
    size: float = 0.0
    alike: Mapping[str, str] = field(default_factory=dict)
