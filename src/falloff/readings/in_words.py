"""A paragraph that a gaffer would say, from readings alone."""

from __future__ import annotations

import math

from falloff.readings.records import Contrast, Reading, Readings
from falloff.units import format_stops_thirds

NO_KEY_TO_FILL = "the shadow side has more light than the key side, so there is no key to fill"
_MOSTLY_BOUNCE = 0.5
_WORTH_NAMING = 0.2


def describe(readings: Readings) -> str:
    """The face and its contrast, each other reading and who gives it, and all against the key."""
    sentences = [_contrast_sentence(readings)] if readings.contrasts else []
    seen_faces = {contrast.subject for contrast in readings.contrasts}
    for reading in readings.readings:
        subject, _, spot = reading.place.partition(".")
        if subject in seen_faces and spot in ("cheek_key", "cheek_shadow"):
            continue
        sentences.append(_sentence(reading))
    sentences += _from_key(readings)
    return " ".join(sentences)


def _from_key(readings: Readings) -> list[str]:
    """Where everything metered stands against the reading that the setup calls its key."""
    metered = [r for r in readings.readings if r.unit == "lx" and r.value > 0.0]
    key = next((r for r in metered if r.name == readings.key_reading), None)
    others = [r for r in metered if r is not key]
    if key is None or not others:
        return []
    told = []
    for reading in others:
        stops = format_stops_thirds(math.log2(reading.value / key.value))
        told.append(f"{reading.name} {'level' if stops == 'at key' else stops}")
    return [f"From {key.name}: {', '.join(told)}."]


def _contrast_sentence(readings: Readings) -> str:
    parts = []
    for contrast in readings.contrasts:
        key, shadow = (
            next(r for r in readings.readings if r.place == f"{contrast.subject}.{side}")
            for side in ("cheek_key", "cheek_shadow")
        )
        parts.append(
            f"{contrast.subject}'s key side is {_level(key)}, mostly {_leader(key)}; the shadow "
            f"side is {_level(shadow)}, {_origin(shadow)}: "
            f"{_ratio(contrast.key_and_fill_to_fill)} key and fill to fill"
            f"{_key_to_fill(contrast)}."
        )
    return " ".join(parts)


def _key_to_fill(contrast: Contrast) -> str:
    """The second convention, or why there is none."""
    if contrast.key_to_fill is None:
        return f"; {NO_KEY_TO_FILL}"
    return f", {_ratio(contrast.key_to_fill)} key to fill"


def _sentence(reading: Reading) -> str:
    # Plain words begin a sentence; a name or a letter stays as it was written.
    plain = reading.name.islower() and len(reading.name) > 1
    name = reading.name[0].upper() + reading.name[1:] if plain else reading.name
    if reading.value <= 0.0:
        return f"{name} gets no light."
    return f"{name} is {_level(reading)}: {_origin(reading)}."


def _origin(reading: Reading) -> str:
    """Whether a place lives on bounce, and off what; or who lights it straight."""
    if reading.instrument == "spot":
        # A spot sees what a surface sends on; the bounce in it is what lit that surface.
        return f"{_percent(_largest_share(reading))} of it {_leader(reading)}"
    bounce = reading.bounced / reading.value if reading.value > 0.0 else 0.0
    if bounce >= _MOSTLY_BOUNCE and reading.bounce_from:
        surface, share = next(iter(reading.bounce_from.items()))
        if surface in reading.fabrics:
            return (
                f"{_percent(share)} of its light comes scattered from {_the(surface)}, "
                f"{_percent(bounce - share)} off all else"
            )
        return (
            f"it lives on bounce, {_percent(bounce)} of its light, "
            f"{_percent(share)} off {_the(surface)}"
        )
    straight = max(reading.parts, key=lambda part: part.direct)
    share = straight.direct / reading.value if reading.value > 0.0 else 0.0
    said = f"{_percent(share)} straight from {straight.source}"
    if bounce >= _WORTH_NAMING:
        said += f", {_percent(bounce)} bounced"
    return said


def _level(reading: Reading) -> str:
    if reading.instrument == "spot":
        stops, reference = reading.stops_over_grey, "middle grey"
    else:
        stops, reference = reading.stops_over_key, "key"
    if stops is None:
        return "without light"
    said = format_stops_thirds(stops, reference=reference)
    return said if said.startswith("at ") else f"{said} {reference}"


def _leader(reading: Reading) -> str:
    return max(reading.parts, key=lambda part: part.share).source


def _largest_share(reading: Reading) -> float:
    return max(part.share for part in reading.parts)


def _the(surface: str) -> str:
    """How one says a surface: "the ceiling", "wall 2", "KEY's body"."""
    thing, _, part = surface.partition(": ")
    if thing == "room":
        return part if part.startswith("wall") else f"the {part}"
    return f"{thing}'s {part}" if part else thing


def _ratio(value: float) -> str:
    return f"{value:.1f}:1" if value < 9.95 else f"{value:.0f}:1"


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f} %"
