"""The catalogue's names, as far as whoever reads a document knows them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class KnownNames:
    """Names that the catalogue knows; None where they are not to be checked.

    furniture: the kinds of furniture, written at a prop's `shape`.
    """

    materials: Collection[str] | None = None
    figures: Collection[str] | None = None
    profiles: Collection[str] | None = None
    furniture: Collection[str] | None = None
    hair_styles: Collection[str] | None = None
    coverings: Collection[str] | None = None
    skins: Collection[str] | None = None
