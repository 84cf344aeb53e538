"""The colour of the light at readings, in a sentence."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from falloff.readings import target_words as words
from falloff.readings.colour import UV, WhiteTold, hue_of, white_of
from falloff.readings.records import Readings

_ALIKE_MIRED: Final = 15.0  # common practice, no source: nobody sees less from shot to shot
_ALIKE_CC: Final = 3.0


def colours_in(readings: Readings) -> str:
    """What colour the light is at each reading, of spots what they see; "" without any light.

    One colour temperature for all where they are alike; green and magenta from 3 CC on.
    """
    lit = {one.name: one.uv for one in readings.readings if one.uv is not None}
    told = {name: white_of(uv) for name, uv in lit.items()}
    whites = [one for one in told.values() if one is not None]
    if not lit:
        return ""
    if len(lit) > 1 and len(whites) == len(lit) and _alike(whites):
        middle = sum(one.mired for one in whites) / len(whites)
        green = sum(one.green_cc for one in whites) / len(whites)
        said = words.white(1e6 / middle, green, least_cc=_ALIKE_CC)
        return f"Colour of the light: {said} throughout."
    return f"Colour of the light: {'; '.join(_parts(lit, told))}."


def _parts(lit: dict[str, UV], told: dict[str, WhiteTold | None]) -> Iterator[str]:
    """Each by itself, but one range for points that are numbered from 1, all of them white."""
    names = list(told)
    while names:
        name = names.pop(0)
        run = [name]
        stem, space, number = name.rpartition(" ")
        while space and number == "1" and names and names[0] == f"{stem} {len(run) + 1}":
            run.append(names.pop(0))
        whites = [one for one in (told[each] for each in run) if one is not None]
        if len(run) == 1 or len(whites) < len(run):
            yield from (f"{each} {_said(lit[each], told[each])}" for each in run)
            continue
        warm, cool = (1e6 / limit(one.mired for one in whites) for limit in (max, min))
        low, high = words.white(warm, 0.0), words.white(cool, 0.0)
        span = low if low == high else f"{low} to {high}"
        green = max((one.green_cc for one in whites), key=abs)
        more = f", up to {words.greens(green)}" if abs(green) >= _ALIKE_CC else ""
        yield f"{name} to {len(run)} {span}{more}"


def _alike(whites: list[WhiteTold]) -> bool:
    mireds, greens = [one.mired for one in whites], [one.green_cc for one in whites]
    return max(mireds) - min(mireds) <= _ALIKE_MIRED and max(greens) - min(greens) <= _ALIKE_CC


def _said(uv: UV, white: WhiteTold | None) -> str:
    """One colour: as white where it is that, else as a hue."""
    if white is not None:
        return words.white(white.kelvin, white.green_cc, least_cc=_ALIKE_CC)
    hue, saturation = hue_of(uv, None)
    return f"of hue {math.degrees(hue):.0f}°, saturation {saturation:.1f}"
