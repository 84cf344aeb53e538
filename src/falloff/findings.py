"""Facts that a person must know but that do not stop the work."""

from __future__ import annotations

import enum

import msgspec


class Weight(enum.StrEnum):
    """How much a finding should weigh on the reader."""

    CAUTION = "caution"  # someone could be hurt
    WARNING = "warning"  # the picture or the plan would be wrong
    NOTE = "note"  # an assumption or a simplification that may matter


class Finding(msgspec.Struct, frozen=True, kw_only=True):
    """One fact: what it is about, what it says, what one may do about it."""

    weight: Weight
    about: str
    says: str
    do: str = ""
