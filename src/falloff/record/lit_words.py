"""What was on while a meter was read, from words: "BOOK on", "ambient", "all but GLOBE"."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from falloff.units import UnitFault, parse_level


class LitUnread(ValueError):
    """Words that do not say what was on: the word at fault; or daylight where there is none."""

    def __init__(self, word: str, *, no_daylight: bool = False) -> None:
        super().__init__(word)
        self.word = word
        self.no_daylight = no_daylight


@dataclass(frozen=True, slots=True)
class LitSaid:
    """What was on (None: all of the setup), dims that were set for it, and whether it was dark.

    dark: "no daylight" was said beside it.
    """

    on: tuple[str, ...] | None
    knobs: dict[str, float]
    dark: tuple[str, ...] = ()

    def both(self, other: LitSaid) -> LitSaid:
        """Two phrases together: what both allow, daylight that either excludes being out."""
        dark = tuple({*self.dark, *other.dark})
        if self.dark and not other.dark:
            on = other.on
        elif other.dark and not self.dark:
            on = self.on
        elif self.on is None or other.on is None:
            on = other.on if self.on is None else self.on
        else:
            on = tuple(dict.fromkeys((*self.on, *other.on)))
        on = None if on is None else tuple(one for one in on if one not in dark)
        return LitSaid(on, {**self.knobs, **other.knobs}, dark)


_FILLERS = {"and", ",", "with", "+", "the", "was", "were", "is", "are"}
_ON = {"on", "lit"}
_ALONE = {"alone", "only", "just"}
_BUT = {"but", "except", "without", "minus", "no"}
_OFF = {"off", "out"}
_ALL = {"all", "everything", "full", "setup"}
_DAY = {"ambient", "daylight", "windows", "natural", "day", "outside"}
_DARK = {"night", "dark", "blacked-out", "blackout"}
_MEANINGLESS = {"light", "lights", "as", "in"}


def read_lit(text: str, sources: Sequence[str], daylight: Sequence[str]) -> LitSaid:
    """What a phrase says was on; raises LitUnread.

    "BOOK on" is with the daylight that cannot be switched off, unless an opening is named too;
    "BOOK alone" is without; "ambient" is daylight alone; "all but BOOK", "BOOK off" the rest of the
    setup; "no daylight" the setup's lights by night; "BOOK at 50 % on" sets its dim.
    """
    named, knobs, words = _words(text, sources)
    day = {one for one in words if one in _DAY}
    if day and not daylight:
        raise LitUnread(next(iter(day)), no_daylight=True)
    if "lights" in words and words & _OFF and not named:  # all lights off
        if not daylight:
            raise LitUnread("off", no_daylight=True)
        return LitSaid(tuple(daylight), {})
    less = words & (_BUT | _OFF)
    if words & _DARK or (less and day):
        gone = {*daylight, *(named if less else ())}
        on = None if named and not less else tuple(s for s in sources if s not in gone)
        if named and not less:
            on = tuple(named)
        return LitSaid(on, knobs, tuple(daylight))
    if less and named:
        return LitSaid(tuple(one for one in sources if one not in named), knobs)
    if day:
        return LitSaid(tuple(dict.fromkeys((*named, *daylight))), knobs)
    if named:
        beside = () if words & _ALONE or set(named) & set(daylight) else tuple(daylight)
        return LitSaid((*named, *beside), knobs)
    if words & _ALL:
        return LitSaid(None, {})
    raise LitUnread(text.strip())


def _words(text: str, sources: Sequence[str]) -> tuple[tuple[str, ...], dict[str, float], set[str]]:
    """Sources named, dims set for them, and the other words."""
    rest = " ".join(text.replace(",", " , ").replace("+", " + ").split())
    by_length = sorted(sources, key=len, reverse=True)
    named: list[str] = []
    knobs: dict[str, float] = {}
    words: set[str] = set()
    while rest:
        name = next((one for one in by_length if _starts(rest, one)), None)
        if name is not None:
            named.append(name)
            rest = rest[len(name) :].strip()
            knob = re.match(r"at\s+([\d.]+\s*%|-?[\d./ ]+stops?)", rest, re.IGNORECASE)
            if knob:
                knobs[name] = _knob(knob[1])
                rest = rest[knob.end() :].strip()
            continue
        word, _, rest = rest.partition(" ")
        plain = word.casefold()
        known = _FILLERS | _ON | _ALONE | _BUT | _OFF | _ALL | _DAY | _DARK | _MEANINGLESS
        if plain not in known:
            raise LitUnread(_unknown(word, rest))
        if plain not in _FILLERS | _ON:
            words.add(plain)
    return tuple(dict.fromkeys(named)), knobs, words


def _starts(text: str, name: str) -> bool:
    head, after = text[: len(name)], text[len(name) : len(name) + 1]
    return head.casefold() == name.casefold() and not (after.isalnum() or after == "_")


def _unknown(word: str, rest: str) -> str:
    """An unknown name, to its end: up to a word that is known."""
    known = _FILLERS | _ON | _ALONE | _BUT | _OFF
    following = []
    for one in rest.split():
        if one.casefold() in known:
            break
        following.append(one)
    return " ".join([word, *following])


def _knob(text: str) -> float:
    try:
        return min(1.0, float(parse_level(" ".join(text.split()))))
    except UnitFault as error:
        raise LitUnread(text) from error
