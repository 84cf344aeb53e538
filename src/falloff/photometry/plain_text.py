"""Bytes of a photometric file as lines and numbers, each with its place for a fault."""

from __future__ import annotations

import math
import re
from typing import Final

import numpy as np

from falloff.errors import Fault, PhotometricFileError
from falloff.findings import Finding, Weight
from falloff.types import Float64Array

MOST_BYTES: Final = 8_000_000  # a web of half-degree steps all round is about 2 MB
LONGEST_NUMBER: Final = 40  # characters
MOST_LAMPS: Final = 10_000
LEAST_STEP_DEG: Final = 1e-5  # no goniometer parts angles nearer than this

_NUMBER: Final = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
_TOKEN: Final = re.compile(r",[ \t]*,|[^ \t\f\v,]+")  # two commas with nothing between are kept
_LINE_END: Final = re.compile(r"\r\n|\r|\n")
_JUNK: Final = "\0\x1a \t\r\n\f\v"
_MOST_SHOWN: Final = 60


class Notes:
    """Gathers findings about one file while it is read."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.found: list[Finding] = []

    def add(self, weight: Weight, says: str, do: str = "") -> None:
        """One finding about this file, told once."""
        finding = Finding(weight=weight, about=self.name, says=says, do=do)
        if finding not in self.found:
            self.found.append(finding)

    def note(self, says: str, do: str = "") -> None:
        """Something forgiven that changes no light."""
        self.add(Weight.NOTE, says, do)

    def warn(self, says: str, do: str = "") -> None:
        """Something that may make the light wrong."""
        self.add(Weight.WARNING, says, do)


def decode(content: bytes, notes: Notes) -> tuple[list[str], str]:
    """Lines of a file without their ends, and the encoding that writes them back.

    ASCII and Latin-1 as the formats say; UTF-8 (told by its byte order mark, or by being valid)
    and UTF-16 with its mark are forgiven.
    """
    if len(content) > MOST_BYTES:
        found = f"{len(content)} bytes"
        raise fault(notes.name, "the file is too large", f"at most {MOST_BYTES} bytes", found)
    text, encoding = _text_of(content, notes)
    tidy = text.rstrip(_JUNK)
    if "\0" in text or "\x1a" in text:
        notes.note("it holds NUL or end-of-file characters, which mean nothing")
    lines = _LINE_END.split(tidy)
    if "\n" in tidy and "\r\n" not in tidy:
        notes.note("its lines end in LF alone; the format says CRLF")
    return lines, encoding


def encode(lines: list[str], encoding: str) -> bytes:
    """Lines as bytes, each with CRLF; UTF-8 where the encoding cannot hold a character."""
    text = "".join(f"{line}\r\n" for line in lines)
    try:
        return text.encode(encoding)
    except UnicodeEncodeError:
        return text.encode("utf-8")


def _text_of(content: bytes, notes: Notes) -> tuple[str, str]:
    if content[:2] in {b"\xff\xfe", b"\xfe\xff"}:
        notes.note("it is UTF-16 text; the format says Latin-1")
        return content.decode("utf-16", errors="replace").removeprefix("\ufeff"), "utf-8"
    marked = content.startswith(b"\xef\xbb\xbf")
    if marked:
        notes.note("it begins with a byte order mark, which means nothing here")
        content = content[3:]
    if content.isascii():
        return content.decode("ascii"), "latin-1"
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError:
        return content.decode("latin-1"), "latin-1"
    if not marked:
        notes.note("its text is UTF-8; the format says Latin-1")
    return text, "utf-8"


def number_of(token: str) -> float | None:
    """A plain finite decimal, or None: no words for infinity, no underscores, ASCII digits only."""
    if len(token) > LONGEST_NUMBER or not _NUMBER.fullmatch(token):
        return None
    value = float(token)
    return value if math.isfinite(value) else None


def plain(value: float) -> str:
    """A number in the fewest characters that read back as the same float."""
    if value == int(value) and abs(value) < 1e15:
        return str(int(value))
    return repr(float(value))


def fault(
    name: str, what: str, expected: str = "", found: str = "", fix: str = "", *, line: int = 0
) -> PhotometricFileError:
    """An error about a file, at a line of it if one is given (from 1)."""
    where = f"{name}, line {line}" if line else name
    shown = found if len(found) <= _MOST_SHOWN else found[:_MOST_SHOWN] + "…"
    place = line or None
    return PhotometricFileError(Fault(what, where, expected, shown, fix, place))


class Numbers:
    """The numbers of a block of lines, in order, wherever the lines wrap.

    Spaces, tabs, commas and line ends separate; two commas with nothing between are no number.
    """

    def __init__(self, name: str, lines: list[str], first_line: int) -> None:
        self.name = name
        self._tokens: list[str] = []
        self._lines: list[int] = []
        for number, line in enumerate(lines, first_line):
            found = _TOKEN.findall(line)
            self._tokens += found
            self._lines += [number] * len(found)
        self._next = 0

    @property
    def left(self) -> int:
        """How many tokens have not been taken."""
        return len(self._tokens) - self._next

    @property
    def line(self) -> int:
        """The line of the token taken last."""
        return self._lines[max(0, self._next - 1)] if self._lines else 0

    def take(self, what: str) -> float:
        """The next number; PhotometricFileError names what it should have been."""
        if self.left == 0:
            raise fault(self.name, "the file ends too early", what, "no more numbers", _WHOLE)
        token = self._tokens[self._next]
        self._next += 1
        value = number_of(token)
        if value is None:
            raise fault(self.name, "this is no number", what, token, _NUMERIC, line=self.line)
        return value

    def take_whole(self, what: str) -> int:
        """The next number, which must be whole."""
        value = self.take(what)
        if value != int(value):
            raise fault(
                self.name, "this must be a whole number", what, plain(value), line=self.line
            )
        return int(value)

    def take_many(self, count: int, what: str) -> Float64Array:
        """The next `count` numbers; refused before anything is made if there are not so many."""
        if count > self.left:
            raise fault(
                self.name,
                f"the file ends before all {what} are read",
                f"{count} numbers",
                f"{self.left}",
                _WHOLE,
                line=self.line,
            )
        values = [number_of(token) for token in self._tokens[self._next : self._next + count]]
        if None in values:
            self._next += values.index(None)
            self.take(what)
        self._next += count
        return np.array(values, np.float64)

    def rest(self) -> tuple[str, ...]:
        """What was not taken, line by line."""
        by_line: dict[int, list[str]] = {}
        for token, line in zip(self._tokens[self._next :], self._lines[self._next :], strict=True):
            by_line.setdefault(line, []).append(token)
        return tuple(" ".join(tokens) for tokens in by_line.values())


_WHOLE: Final = "get the file anew: part of it is missing or its counts are wrong"
_NUMERIC: Final = "write numbers with a point for decimals and a space or one comma between them"


def check_ascending(name: str, degrees: Float64Array, what: str, *, line: int) -> None:
    """PhotometricFileError unless each angle is greater than the one before it, by 1e-5 deg."""
    wrong = np.flatnonzero(np.diff(degrees) < LEAST_STEP_DEG)
    if wrong.size:
        k = int(wrong[0])
        raise fault(
            name,
            f"the {what} do not ascend",
            "each greater than the one before",
            f"{degrees[k]:g} then {degrees[k + 1]:g}",
            "get the file anew; angles must not be guessed",
            line=line,
        )


def check_light(name: str, values: Float64Array, scale: float) -> None:
    """PhotometricFileError for intensities that are negative, all dark, or beyond any lamp."""
    low, high = float(values.min()), float(values.max())
    if low < 0.0:
        raise fault(name, "an intensity is below nothing", "0 or more", f"{low:g}")
    if high <= 0.0:
        raise fault(name, "the file holds no light", "an intensity above 0", "zeros alone")
    # limits by multiplication of finite factors: no lamp comes near them
    if not 1e-12 <= high * scale <= 1e12:
        expected = "a greatest intensity between 1e-12 and 1e12 cd"
        raise fault(name, "the intensities are beyond any lamp", expected, f"{high * scale:g} cd")
