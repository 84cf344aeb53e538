"""Words of the quick start's answers: what they stand for, plain synonyms, and near misses."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from typing import Final

# Luminous reflectance of a room's walls in a word, and what it may be: off-white plaster 65 to
# 75 % and new white paint 80 to 88 % (handbook ranges, from memory); mid and dark are our own.
WALLS: Final[Mapping[str, tuple[float, float, float]]] = {
    "white": (0.75, 0.65, 0.85),
    "mid": (0.45, 0.30, 0.60),
    "dark": (0.12, 0.05, 0.25),
}
# Illuminance on open ground in a word (lx): as taken, least and most; and the light's colour (K).
# Common practice, no source; one meter reading outside is worth more.
OUTSIDE: Final[Mapping[str, tuple[float, float, float, float]]] = {
    "bright overcast": (18_000.0, 10_000.0, 30_000.0, 6500.0),
    "overcast": (10_000.0, 6_000.0, 18_000.0, 6500.0),
    "dull": (4_000.0, 2_000.0, 7_000.0, 6500.0),
    "shade of a clear sky": (12_000.0, 8_000.0, 18_000.0, 9000.0),
    "dusk": (100.0, 20.0, 500.0, 8500.0),
    "night": (0.5, 0.05, 5.0, 3500.0),
}
DRESSINGS: Final = ("bare", "sheer", "blind", "gel", "blackout")
FILLS: Final = ("none", "white board", "black")

_NOTHING: Final = ("no", "nothing", "-", "without")
# What else people say (common practice, no source), by what it is taken as.
_SYNONYMS: Final[Mapping[str, Mapping[str, tuple[str, ...]]]] = {
    "wall": {
        "white": ("off-white", "off white", "warm white", "cool white", "cream",
                  "magnolia", "ivory", "pale", "light", "white paint", "plaster"),
        "mid": ("light grey", "light gray", "grey", "gray", "mid grey", "mid gray", "medium",
                "beige", "wood", "brick"),
        "dark": ("dark grey", "dark gray", "charcoal", "black", "navy", "dark wood"),
    },
    "window": {"none": (*_NOTHING, "no window")},
    "dressing": {
        "bare": (*_NOTHING, "none", "open", "clear"),
        "sheer": ("sheers", "net", "nets", "net curtain", "net curtains", "lace", "lace curtain",
                  "lace curtains", "voile", "sheer curtain", "sheer curtains"),
        "blind": ("blinds", "venetian", "venetian blind", "venetian blinds", "slats"),
        "blackout": ("blacked out", "black out", "blackout curtain", "blackout curtains",
                     "closed curtains", "curtains closed", "drapes", "shutters"),
    },
    "outside": {
        "overcast": ("cloudy", "cloud", "clouds", "grey sky", "grey"),
        "bright overcast": ("bright cloud", "hazy", "thin cloud"),
        "dull": ("rain", "rainy", "dark cloud", "heavy cloud", "storm"),
        "shade of a clear sky": ("shade", "open shade", "north light", "blue sky", "clear shade"),
        "dusk": ("dawn", "twilight", "blue hour", "evening"),
        "night": ("dark", "night-time", "nighttime"),
    },
    "key": {"none": (*_NOTHING, "no key", "no light", "available light", "natural light")},
    "fill": {
        "none": (*_NOTHING, "no fill"),
        "white board": ("white", "bounce", "bounce board", "board", "poly", "polyboard",
                        "poly board", "foam board", "white poly", "white card", "reflector",
                        "foamcore", "beadboard"),
        "black": ("neg", "negative", "negative fill", "neg fill", "black flag", "black cloth",
                  "solid", "black board", "black poly"),
    },
}  # fmt: skip
_OWN: Final[Mapping[str, tuple[str, ...]]] = {
    "wall": tuple(WALLS),
    "window": ("none",),
    "dressing": DRESSINGS,
    "outside": tuple(OUTSIDE),
    "key": ("none",),
    "fill": FILLS,
}


def plain_word(question: str, said: str) -> str:
    """The word of ours that an answer means, or the answer itself where it is none."""
    word = _trimmed(said)
    if word in _OWN.get(question, ()):
        return word
    for ours, others in _SYNONYMS.get(question, {}).items():
        if word in others:
            return ours
    return said


def fill_parts(said: str) -> tuple[str, str]:
    """A fill's size, "" for none, and what it is; a board's "4x4" is in feet."""
    unit = r"(?:m|cm|ft|feet|foot|in|'|\")"
    sides = rf"[0-9.]+\s*{unit}?\s*(?:x|×|\bby\b)\s*[0-9.]+"
    found = re.fullmatch(rf"(?:an?\s+)?({sides})\s*({unit})?\s+(.+)", said, re.IGNORECASE)
    return (f"{found[1]} {found[2] or 'ft'}", found[3]) if found else ("", said)


def word_note(question: str, said: str) -> str:
    """What a synonym is taken as, in words: "cream walls are taken as white, 75 %"; else empty."""
    size, word = fill_parts(said) if question == "fill" else ("", said)
    ours, told = plain_word(question, word), _trimmed(said)
    if not size and ours in (said, told):
        return ""
    notes = {
        "dressing": f"{told!r} in the window is taken as {ours}",
        "fill": f"{told!r} as fill is taken as {ours}" + (f", {size}" if size else ""),
    }
    if question == "wall":
        return f"{told} walls are taken as {ours}, {100 * WALLS[ours][0]:.0f} %"
    if question == "outside":
        return f"{told!r} outside is taken as {ours}, {OUTSIDE[ours][0]:g} lx"
    return notes.get(question, "")


def meant(question: str, said: str) -> str:
    """The nearest word to one that is not known: "did you mean 'sheer'?", or nothing."""
    closed = re.fullmatch(r"(?:thick\s+|heavy\s+)?curtains?", _trimmed(said))
    if question == "dressing" and closed:
        return "say sheer for net curtains, blackout for closed ones;"
    known = [*_OWN.get(question, ())]
    known += [word for words in _SYNONYMS.get(question, {}).values() for word in words]
    near = difflib.get_close_matches(_trimmed(said), known, n=1, cutoff=0.7)
    if near:
        return f"did you mean {near[0]!r}?"
    inside = [word for word in known if len(word) > 3 and word in _trimmed(said).split()]
    return f"did you mean {inside[0]!r}?" if inside else ""


def _trimmed(said: str) -> str:
    """An answer as the tables have it: small letters, no article, no "walls" or "sky" after it."""
    word = " ".join(said.lower().split())
    word = re.sub(r"^(?:an?|the)\s+", "", word)
    return re.sub(r"\s+(?:walls?|paint|weather)$", "", word)
