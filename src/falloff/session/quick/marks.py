"""Stops and ratios as they are said: as a lens is marked, as filters are sold."""

from __future__ import annotations

import math

from falloff.units import density_from_stops, stops_from_density

_THIRDS = ("", "⅓", "⅔")
_MARKS = ("1", "1.4", "2", "2.8", "4", "5.6", "8", "11", "16", "22", "32")
WIDEST_LENS: float = 0.7


def stop_text(number: float, letter: str = "T") -> str:
    """A stop to the nearest third, as marked on a lens: "T2.8", "T4⅓"."""
    thirds = round(6.0 * math.log2(number)) if number > 0.0 else 0
    whole, rest = divmod(thirds, 3)
    inside = 0 <= whole < len(_MARKS)
    mark = _MARKS[whole] if inside else f"{2.0 ** (whole / 2.0):.2g}"
    return f"{letter}{mark}{_THIRDS[rest]}"


def nd_text(stops: float) -> str:
    """Neutral density as it is sold, "ND 0.9", or in stops where it is none of those."""
    density = round(density_from_stops(stops), 1)
    if density > 0.0 and abs(stops_from_density(density) - stops) < 0.02:
        return f"ND {density:.1f}"
    return f"{stops:.3g} stops"


def stops_long(stops: float) -> str:
    """A number of stops to a tenth: "1 stop", "3 stops", "0.4 stop"."""
    size = f"{abs(stops):.1f}".removesuffix(".0")
    return f"{size} stop{'s' * (abs(stops) >= 1.05)}"


def ratio_text(ratio: float) -> str:
    """A ratio to one: "1.6:1", "30:1"."""
    text = f"{ratio:.1f}".removesuffix(".0") if ratio < 20.0 else f"{ratio:.0f}"
    return f"{text}:1"
