"""Complaints as a person says them: what is wrong, and of what."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from falloff.errors import DocumentError, Fault

ComplaintKind: TypeAlias = Literal["flat", "harsh", "bright", "dark", "eyes", "beam", "jump"]

USUAL: Final = (
    "face flat", "face contrasty", "wall hot", "window hot", "eyes dark", "beam not landing",
    "face jumps in the close", "face too dark",
)  # fmt: skip
_MOST_SHOWN: Final = 12  # names told at once
_BRIGHT: Final = (
    "hot", "bright", "blown out", "blown", "overexposed", "over", "clipped", "clipping", "burnt",
    "white", "strong", "light",
)  # fmt: skip
_DARK: Final = ("dark", "underexposed", "under", "dim", "murky", "black", "crushed", "weak")
_FLAT: Final = ("flat", "even", "without contrast", "without shape")
_HARSH: Final = ("contrasty", "harsh", "hard")
_JUMP: Final = r"\b(?:jumps?|jumping|mismatch(?:es)?|(?:does not|doesn't|not) match(?:ing)?)\b"
_MISSES: Final = (
    r"\b(?:not landing|not land|does not land|doesn't land|not reaching|not hitting|misses|"
    r"missing|off target|lands? (?:elsewhere|wrong))\b"
)
_EYES: Final = r"(?:eye sockets?|eyes?|sockets?)"
_ARTICLE: Final = r"^(?:(?:the|my|her|his|their)(?:\s+|$)|an?\s+)"
_WHOEVER: Final = ("her", "him", "them")
_FILLER: Final = r"\b(?:is|are|too|looks?|very|so|much|a bit|rather|much)\b"


@dataclass(frozen=True, slots=True)
class Complaint:
    """What is wrong and of what; about, toward: names as said, "" where none is.

    toward: what a beam should land on, or the setup that jumps.
    """

    kind: ComplaintKind
    about: str = ""
    toward: str = ""


def read_complaint(said: Sequence[str] | str) -> Complaint:
    """A complaint from its words; raises DocumentError with the nearest one that is known."""
    text = said if isinstance(said, str) else " ".join(said)
    plain = re.sub(r"\s+", " ", text.strip().strip(".!"))
    if re.search(_JUMP, plain, re.IGNORECASE):
        return _jump(plain)
    if re.search(_MISSES, plain, re.IGNORECASE):
        return _beam(plain)
    bare = re.sub(r"\s+", " ", re.sub(_FILLER, " ", plain, flags=re.IGNORECASE)).strip()
    for words, kind in ((_FLAT, "flat"), (_HARSH, "harsh"), (_BRIGHT, "bright"), (_DARK, "dark")):
        about = _ends_with(bare, words)
        if about is None:
            continue
        if kind == "dark" and re.search(rf"\b{_EYES}\b", about, re.IGNORECASE):
            whose = rf"\s*(?:'s|’s)?\s*\b(?:(?:left|right)\s+)?{_EYES}(?:\s+(?:left|right))?\b"
            return Complaint("eyes", _bare_name(re.sub(whose, "", about, flags=re.IGNORECASE)))
        if kind in ("flat", "harsh"):
            return Complaint("flat" if kind == "flat" else "harsh", _person(about))
        return Complaint("bright" if kind == "bright" else "dark", _bare_name(about) or "face")
    raise unknown("complaint", text, USUAL, what="nobody can tell what is wrong from that")


def unknown(
    kind: str, said: str, known: Iterable[str], *, what: str = "", where: str = ""
) -> DocumentError:
    """A name that there is not, with the nearest that there is."""
    names = list(dict.fromkeys(known))
    lowered = {name.casefold(): name for name in names}
    near = difflib.get_close_matches(said.casefold(), list(lowered), n=1, cutoff=0.6)
    return DocumentError(
        Fault(
            what=what or f"there is no {kind} called {said!r}",
            where=where,
            expected=_some_of(said, names),
            found=said if what else "",
            fix=f"did you mean {lowered[near[0]]!r}?" if near else "",
        )
    )


def _some_of(said: str, names: list[str]) -> str:
    """The names that there are, the nearest few where they are many."""
    if not names:
        return ""
    if len(names) <= _MOST_SHOWN:
        return "one of " + ", ".join(names)
    lowered = {name.casefold(): name for name in names}
    near = difflib.get_close_matches(said.casefold(), list(lowered), n=_MOST_SHOWN, cutoff=0.0)
    return "such as " + ", ".join(lowered[name] for name in near)


def same_name(one: str, other: str) -> bool:
    """Whether two names are the same as people say them."""
    return _bare_name(one).casefold() == _bare_name(other).casefold()


def _ends_with(text: str, words: tuple[str, ...]) -> str | None:
    """What stands before one of these words at the end (or after it at the beginning)."""
    for word in words:
        found = re.fullmatch(rf"(.*?)\s*\b{re.escape(word)}", text, re.IGNORECASE)
        if found:
            return found[1]
        found = re.fullmatch(rf"{re.escape(word)}\b\s+(.+)", text, re.IGNORECASE)
        if found:
            return found[1]
    return None


def _bare_name(text: str) -> str:
    """A name without its article."""
    return re.sub(_ARTICLE, "", text.strip().strip(","), flags=re.IGNORECASE)


def _person(text: str) -> str:
    """Whose face is meant, "" for whoever there is."""
    bare = re.sub(r"(?:'s|’s)?\s*\b(?:faces?|light)\b", "", text, flags=re.IGNORECASE)
    return _bare_name(bare)


def _jump(text: str) -> Complaint:
    """What jumps (the face), and in which setup."""
    found = re.search(r"\b(?:in|on|at|with|to)\s+(.+)$", text, re.IGNORECASE)
    before = re.split(_JUMP, text, flags=re.IGNORECASE)[0]
    return Complaint("jump", _person(before), _bare_name(found[1]) if found else "")


def _beam(text: str) -> Complaint:
    """Which beam does not land, and on what."""
    before, after = re.split(_MISSES, text, maxsplit=1, flags=re.IGNORECASE)
    toward = re.sub(r"^\s*(?:on|at|to)\s+", "", after, flags=re.IGNORECASE)
    about = re.sub(r"\b(?:is|does|beams?(?:\s+of)?)\b", "", before, flags=re.IGNORECASE)
    on = "face" if toward.strip().casefold() in _WHOEVER else _bare_name(toward)
    return Complaint("beam", _bare_name(about), on)
