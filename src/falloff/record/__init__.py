"""compare(stood, taken) -> Corrections: what meter readings say of what a plan assumed.

Outputs, modifiers, reflectances, sky and sun by regularised least squares, with spreads; readings
that cannot be true are asked about. Names are found when first asked for.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from falloff.record.comparing import Compared, begin_with, compare
    from falloff.record.outside import DaylightSaid, daylight_said
    from falloff.record.records import (
        Corrected,
        Corrections,
        Doubted,
        Followed,
        MightBe,
        NextReading,
        ReadBack,
        Taken,
        named_apart,
    )
    from falloff.record.stood import Stood
    from falloff.record.telling import (
        Names,
        hour_by_clock,
        lit_told,
        no_source,
        read_typed,
        read_written,
    )
    from falloff.record.unknowns import Unknown
    from falloff.record.writing import cannot_be_kept, edits_of, edits_of_readings

_HOMES = {
    "Compared": "falloff.record.comparing",
    "Corrected": "falloff.record.records",
    "Corrections": "falloff.record.records",
    "DaylightSaid": "falloff.record.outside",
    "Doubted": "falloff.record.records",
    "Followed": "falloff.record.records",
    "MightBe": "falloff.record.records",
    "Names": "falloff.record.telling",
    "NextReading": "falloff.record.records",
    "ReadBack": "falloff.record.records",
    "Stood": "falloff.record.stood",
    "Taken": "falloff.record.records",
    "Unknown": "falloff.record.unknowns",
    "cannot_be_kept": "falloff.record.writing",
    "begin_with": "falloff.record.comparing",
    "compare": "falloff.record.comparing",
    "daylight_said": "falloff.record.outside",
    "edits_of": "falloff.record.writing",
    "edits_of_readings": "falloff.record.writing",
    "hour_by_clock": "falloff.record.telling",
    "lit_told": "falloff.record.telling",
    "named_apart": "falloff.record.records",
    "no_source": "falloff.record.telling",
    "read_typed": "falloff.record.telling",
    "read_written": "falloff.record.telling",
}

__all__ = [
    "Compared",
    "Corrected",
    "Corrections",
    "DaylightSaid",
    "Doubted",
    "Followed",
    "MightBe",
    "Names",
    "NextReading",
    "ReadBack",
    "Stood",
    "Taken",
    "Unknown",
    "begin_with",
    "cannot_be_kept",
    "compare",
    "daylight_said",
    "edits_of",
    "edits_of_readings",
    "hour_by_clock",
    "lit_told",
    "named_apart",
    "no_source",
    "read_typed",
    "read_written",
]


def __getattr__(name: str) -> Any:
    """A name from its home, which is loaded then."""
    if name in _HOMES:
        return getattr(importlib.import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'falloff.record' has no attribute {name!r}")
