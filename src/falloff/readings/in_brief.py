"""The situation in two or three sentences: the face, what stands out, what is wanted."""

from __future__ import annotations

import math
from collections.abc import Mapping

from falloff.readings.records import Reading, Readings
from falloff.readings.targets import AS_A_STOP, Judged
from falloff.units import format_stops_thirds

_MOSTLY = 0.5
_MOST_OTHERS = 3
_SIDES = ("cheek_key", "cheek_shadow")


def brief(readings: Readings, judged: Mapping[str, Judged] | None = None) -> tuple[str, ...]:
    """Two or three sentences that hold for these very readings.

    judged: what is wanted of them, by name. Levels are told in thirds of a stop.
    """
    if not readings.readings:
        return ("Nothing is metered yet: take a reading in the picture or on the plan.",)
    faces, told = _faces(readings)
    sentences = [*faces]
    others = _others(readings, told)
    if others:
        sentences.append(others)
    wanted = _wanted(judged or {})
    if wanted:
        sentences.append(wanted)
    return tuple(sentences)


def _faces(readings: Readings) -> tuple[list[str], set[str]]:
    """A sentence for each face, or for the key reading where there is none; what it speaks of."""
    by_place = {r.place: r for r in readings.readings if r.faces == "square"}
    sentences, told = [], set()
    for contrast in readings.contrasts[:2]:
        key, shadow = (by_place[f"{contrast.subject}.{side}"] for side in _SIDES)
        told |= {key.name, shadow.name}
        sentences.append(
            f"{_capital(key.name)} {_level(key)}{_from_whom(key)}; "
            f"{shadow.name} {_gap(contrast.stops)}{_from_whom(shadow)}."
        )
    lead = next((r for r in readings.readings if r.name == readings.key_reading), None)
    if not sentences and lead is not None:
        told.add(lead.name)
        sentences.append(f"{_capital(lead.name)} {_level(lead)}{_from_whom(lead)}.")
    return sentences, told


def _others(readings: Readings, told: set[str]) -> str:
    """What lies farthest from its reference besides, the brightest first."""
    left = [
        r
        for r in readings.readings
        if r.name not in told
        and r.place.rpartition(".")[2] not in _SIDES
        and _stops(r) is not None
        and not (r.instrument != "spot" and "." in r.place and told)
    ]
    ranked = sorted(left, key=lambda r: -abs(_stops(r) or 0.0))[:_MOST_OTHERS]
    ranked.sort(key=lambda r: -(_stops(r) or 0.0))
    if not ranked:
        return ""
    parts = []
    for reading in ranked:
        said = f"{reading.name} {_level(reading, brief=True)}"
        if reading.instrument != "spot" and _bounce(reading) >= _MOSTLY:
            said += " and lives on bounce"
        parts.append(said)
    return f"{_capital(', '.join(parts))}."


def _wanted(judged: Mapping[str, Judged]) -> str:
    """How many targets are met, and the one that is missed by most."""
    missed = {name: one for name, one in judged.items() if not one.holds}
    count = len(judged)
    if not count:
        return ""
    if not missed:
        return "All that is wanted is met." if count > 1 else "What is wanted is met."
    name = min(missed, key=lambda one: _spare(missed[one]))
    miss = missed[name].miss
    how = "has" if miss.startswith("no ") else "is"
    return f"{count - len(missed)} of {count} targets met: {name} {how} {miss}."


def _spare(one: Judged) -> float:
    return -math.inf if one.margin is None else one.margin / AS_A_STOP[one.unit]


def _stops(reading: Reading) -> float | None:
    return reading.stops_over_grey if reading.instrument == "spot" else reading.stops_over_key


def _level(reading: Reading, *, brief: bool = False) -> str:
    stops = _stops(reading)
    if stops is None:
        return "without light"
    reference = "middle grey" if reading.instrument == "spot" else "key"
    said = format_stops_thirds(stops, reference=reference)
    return said if brief or said.startswith("at ") else f"{said} {reference}"


def _gap(stops: float) -> str:
    """How far the shadow side of a face lies below its key side."""
    if not math.isfinite(stops):
        return "alone has light"
    said = format_stops_thirds(-stops, reference="it")
    return "level with the key side" if said == "at it" else f"{said} the key side"


def _bounce(reading: Reading) -> float:
    return reading.bounced / reading.value if reading.value > 0.0 else 0.0


def _from_whom(reading: Reading) -> str:
    """Who lights it, in two or three words; nothing where nobody does."""
    if reading.value <= 0.0 or not reading.parts:
        return ""
    leader = max(reading.parts, key=lambda part: part.share)
    if _bounce(reading) >= _MOSTLY:
        return f", on {leader.source}'s bounce"
    return f", mostly {leader.source}" if leader.share >= _MOSTLY else f", {leader.source} first"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
