"""What was on while a meter was read, from words: "BOOK on", "ambient", "all but GLOBE"."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from falloff.units import UnitFault, parse_level


class LitUnread(ValueError):
    """Words that do not say what was on: the word at fault; or daylight where there is none.

    why: what is wrong with it, where it is no unknown word; fix: what to write.
    """

    def __init__(
        self, word: str, *, no_daylight: bool = False, why: str = "", fix: str = ""
    ) -> None:
        super().__init__(why or word)
        self.word = word
        self.no_daylight = no_daylight
        self.why = why
        self.fix = fix


@dataclass(frozen=True, slots=True)
class LitSaid:
    """What was on (None: all of the setup), and dims that were set for it (0 to 1)."""

    on: tuple[str, ...] | None
    knobs: dict[str, float]


_FILLERS: Final = {"and", ",", "with", "+", "the", "was", "were", "is", "are"}
_ON: Final = {"on", "lit"}
_ALONE: Final = {"alone", "only", "just"}
_BUT: Final = {"but", "except", "minus"}
_NO: Final = {"no", "without"}
_OFF: Final = {"off", "out"}
_ALL: Final = {"all", "everything", "full", "setup"}
_DAY: Final = {"ambient", "daylight", "windows", "natural", "day", "outside"}
_DARK: Final = {"night", "dark", "blacked-out", "blackout"}
_LIGHTS: Final = {"light", "lights"}
_MEANINGLESS: Final = {"as", "in"}
_KNOWN: Final = (
    _FILLERS | _ON | _ALONE | _BUT | _NO | _OFF | _ALL | _DAY | _DARK | _LIGHTS | _MEANINGLESS
)
_BREAK: Final = ";"
_AT: Final = re.compile(
    r"(?:at\s+)?full\b|at\s+(-?[\d.]+\s*%|-?[\d./ ]+stops?)(?!\w)", re.IGNORECASE
)


def read_lit(
    text: str, sources: Sequence[str], daylight: Sequence[str], *, out: Sequence[str] = ()
) -> LitSaid:
    """What a phrase says was on; raises LitUnread.

    "BOOK on" is with the daylight that cannot be switched off, unless an opening is named too;
    "BOOK alone" is without; "ambient" is daylight alone; "all but BOOK", "BOOK off" the rest of the
    setup; "no daylight" the setup's lights by night; "BOOK at 50 % on" sets its dim. Several may
    stand in one, with commas or semicolons: "BOOK on, no daylight". out: lights that the setup has
    out, which are not of its rest.
    """
    said = _heard(text, sources, daylight)
    day = tuple(daylight)
    if not daylight and (said.day or said.dark or (said.all_off and not said.on)):
        raise LitUnread(text.strip(), no_daylight=True)
    both = [one for one in said.on if one in said.off]
    if both:
        raise LitUnread(both[0], why=f"{both[0]} is said to be on and off at once")
    gone = {*said.off, *(day if said.dark else ())}
    if said.all_off and not said.on:
        on: tuple[str, ...] = day
    elif said.on and not said.all_on:
        has_own = said.alone or bool(set(said.on) & set(day))
        on = (*said.on, *(day if said.day or not has_own else ()))
    elif said.day and not said.all_on:
        on = day
    elif said.all_on and not gone and not set(said.on) & set(out):
        return LitSaid(None, said.knobs)
    elif said.all_on or gone:
        on = tuple(one for one in sources if one not in out or one in said.on)
    else:
        raise LitUnread(text.strip())
    return LitSaid(tuple(one for one in dict.fromkeys(on) if one not in gone), said.knobs)


@dataclass(slots=True)
class _Heard:
    """What was said of each: lights on and off, all and daylight likewise, dims; "alone"."""

    on: list[str] = field(default_factory=list)
    off: list[str] = field(default_factory=list)
    all_on: bool = False
    all_off: bool = False
    day: bool = False
    dark: bool = False
    alone: bool = False
    knobs: dict[str, float] = field(default_factory=dict)


@dataclass(slots=True)
class _Clause:
    """What was named since it was last said whether that was on; taken: "but" stood before it."""

    names: list[str] = field(default_factory=list)
    is_all: bool = False
    is_day: bool = False
    is_lights: bool = False
    taken: str = ""

    def close(self, heard: _Heard, *, off: bool) -> None:
        """Say of all that was named that it was on, or off; and begin anew."""
        whole = self.is_all or (self.is_lights and not self.names and not self.is_day)
        if off:
            heard.off += self.names
            heard.all_off |= whole
            heard.dark |= self.is_day
        else:
            heard.on += self.names
            heard.all_on |= whole
            heard.day |= self.is_day
        self.names, self.is_all, self.is_day, self.is_lights = [], False, False, False
        self.taken = ""


def _heard(text: str, sources: Sequence[str], daylight: Sequence[str]) -> _Heard:
    """The words of a phrase one after another."""
    rest = " ".join(re.sub(r"([,+;])", r" \1 ", text).split())
    by_length = sorted(sources, key=len, reverse=True)
    heard, clause = _Heard(), _Clause()
    while rest:
        name = next((one for one in by_length if _starts(rest, one)), None)
        if name is not None:
            clause.names.append(name)
            rest = _with_knob(rest[len(name) :].strip(), name, heard.knobs, daylight)
            continue
        word, _, rest = rest.partition(" ")
        plain = word.casefold()
        if plain not in _KNOWN and plain != _BREAK:
            raise LitUnread(_unknown(word, rest))
        _hear(plain, clause, heard)
    clause.close(heard, off=bool(clause.taken))
    return heard


def _hear(word: str, clause: _Clause, heard: _Heard) -> None:
    """One word that is no light's name."""
    if word in _OFF:
        clause.close(heard, off=True)
    elif word in _ON or word == _BREAK:
        clause.close(heard, off=bool(clause.taken))
    elif word in _BUT | _NO:
        clause.close(heard, off=bool(clause.taken))
        clause.taken = word
    elif word == ",":
        # "all, BOOK off" and "no daylight, BOOK on" are two each; "BOOK, GLOBE off" is one.
        if clause.is_all or (clause.taken in _NO and clause.is_day and not clause.names):
            clause.close(heard, off=bool(clause.taken))
    elif word in _DARK:
        heard.dark = True
    else:
        clause.is_all |= word in _ALL
        clause.is_day |= word in _DAY
        clause.is_lights |= word in _LIGHTS
        heard.alone |= word in _ALONE


def _with_knob(rest: str, name: str, knobs: dict[str, float], daylight: Sequence[str]) -> str:
    """Take the dim that follows a light's name, if one does; what stands behind it."""
    found = _AT.match(rest)
    if found is None:
        return rest
    knob = 1.0 if found[1] is None else _knob(found[1], f"{name} {found[0]}")
    if name in daylight:
        raise LitUnread(name, why=f"{name} is daylight, which has no dim",
                        fix="say what was on and off; a curtain belongs in the scene")  # fmt: skip
    if abs(knobs.get(name, knob) - knob) > 0.0:
        told = f"{100.0 * knobs[name]:.3g} % and {100.0 * knob:.3g} %"
        raise LitUnread(name, why=f"{name} is said to be at {told} at once")
    knobs[name] = knob
    return rest[found.end() :].strip()


def _starts(text: str, name: str) -> bool:
    head, after = text[: len(name)], text[len(name) : len(name) + 1]
    return head.casefold() == name.casefold() and not (after.isalnum() or after == "_")


def _unknown(word: str, rest: str) -> str:
    """An unknown name, to its end: up to a word that is known."""
    known = _FILLERS | _ON | _ALONE | _BUT | _NO | _OFF | {_BREAK}
    following = []
    for one in rest.split():
        if one.casefold() in known:
            break
        following.append(one)
    return " ".join([word, *following])


def _knob(text: str, said: str) -> float:
    plain = " ".join(text.split())
    try:
        knob = float(parse_level(plain))
    except UnitFault as error:
        why = f"{said}: {error.fault.what}"
        raise LitUnread(text, why=why, fix="a dim is 0 to 100 %, or stops under full") from error
    if 0.0 <= knob <= 1.0:
        return knob
    fix = f"stops under full are -{plain}" if "stop" in plain else "a dim is 0 to 100 %"
    raise LitUnread(text, why=f"no light can be like this: {said}", fix=fix)
