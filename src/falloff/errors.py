"""One tree of errors; each states what, where, expected, found and what to do.

Falloff's own errors, and what each is for:

    FalloffError
    ├── DocumentError         faults in a scene document, all told at once
    ├── FixtureTextError      a head or modifier said in words that the kit cannot read
    ├── PhotometricFileError  a photometric file that cannot be trusted with light
    ├── GeometryError         a place that cannot be built or looked at
    ├── DaylightError         a sky, place or instant that makes no sense
    ├── BudgetExceeded        more surface, sources or pixels than the engine holds
    ├── OutputError           a file that cannot be written
    └── MissingExtra          an optional part that is not installed
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong, told in parts so that any front can format it.

    what: the fault, as a short clause; where: file, line and column, or key path;
    expected, found, fix: empty where they would add nothing.
    """

    what: str
    where: str = ""
    expected: str = ""
    found: str = ""
    fix: str = ""
    line: int | None = None
    column: int | None = None

    def sentence(self) -> str:
        """The fault in one or two lines, as a person should read it."""
        head = f"{self.where}: {self.what}" if self.where else self.what
        parts = [
            f"{label} {text}"
            for label, text in (("expected", self.expected), ("found", self.found))
            if text
        ]
        body = "; ".join(parts)
        text = f"{head} ({body})" if body else head
        return f"{text}\n    → {self.fix}" if self.fix else text


class FalloffError(Exception):
    """Root of all errors that a user can cause and cure."""

    def __init__(self, *faults: Fault) -> None:
        self.faults = faults
        super().__init__("\n".join(fault.sentence() for fault in faults))


class DocumentError(FalloffError):
    """A scene document has faults; `faults` holds every one of them."""


class FixtureTextError(FalloffError):
    """A head or modifier is said in words that the kit cannot read."""


class PhotometricFileError(FalloffError):
    """A photometric file cannot be read without guessing about light."""


class GeometryError(FalloffError):
    """A room, prop, fixture, subject or camera cannot stand as written."""


class DaylightError(FalloffError):
    """A sky, place or instant is missing or impossible."""


class BudgetExceeded(FalloffError):
    """The scene holds more than the engine's limits."""


class OutputError(FalloffError):
    """A result cannot be written where it was asked for."""


class MissingExtra(FalloffError):
    """An optional part is needed that is not installed."""
