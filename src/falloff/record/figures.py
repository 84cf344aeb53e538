"""Figures as a person writes them: in the unit of an older text, to four figures at most."""

from __future__ import annotations

import re

from falloff.units import format_like


def to_three(value: float) -> str:
    """A number to three figures, without an exponent."""
    return f"{float(f'{value:.3g}'):.10g}"


def written_like(value_si: float, as_written: str, *, figures: int = 4) -> str:
    """A value in SI in the unit of an older text, to so many figures."""
    told = format_like(value_si, as_written)
    found = re.match(r"[-+]?[\d.]+", told)
    if found is None:
        return told
    return f"{float(f'{float(found[0]):.{figures}g}'):.10g}" + told[found.end() :]
