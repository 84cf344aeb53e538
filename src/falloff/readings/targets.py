"""Whether a target holds: one rule for readings, for a balance and for a day."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import msgspec

from falloff.document import AnyTarget, Target
from falloff.units import format_stops_thirds


@dataclass(frozen=True, slots=True)
class Metered:
    """What was metered at one point: lx or, for a spot, cd/m²; its colour u'v' of CIE 1976."""

    value: float
    uv: tuple[float, float] | None
    spot: bool


class Judged(msgspec.Struct, frozen=True, kw_only=True):
    """A target against what is there, in the target's own unit.

    off: signed, above nought where there is too much; margin: at least 0 where it holds.
    """

    target: str
    asks: str
    got: str
    off: float | None
    margin: float | None
    unit: Literal["stops", "mired", "CC", "degrees"]
    holds: bool


def judge(
    name: str,
    target: AnyTarget,
    metered: Mapping[str, Metered],
    *,
    key_lux: float,
    grey_nit: float,
    balance_kelvin: float | None,
    kept: Mapping[str, float] | None,
    points: Mapping[str, tuple[str, ...]],
) -> Judged | None:
    """A target judged by what was metered; None where its reading was not taken."""
    if not isinstance(target, Target) or target.reading not in metered:
        return None

    def level(reading: str) -> float:
        one = metered[reading]
        return math.log2(max(one.value, 1e-9) / (grey_nit if one.spot else key_lux))

    got = level(target.reading) - (level(target.over) if target.over else 0.0)
    off = got - target.level.si
    sided = off
    if target.limit == "at most":
        margin = target.tolerance.si - off
    elif target.limit == "at least":
        margin = off + target.tolerance.si
    else:
        margin = target.tolerance.si - abs(off)
    return Judged(
        target=name, asks=target.level.text, got=format_stops_thirds(got), off=sided,
        margin=margin, unit="stops", holds=margin >= 0.0,
    )  # fmt: skip
