"""The fault of a name that the catalogue does not have."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from falloff.errors import Fault, GeometryError


def unknown_name(
    what: str, name: str, known: Iterable[str], *, otherwise: str = "", expected: str = ""
) -> GeometryError:
    """An error that tells the nearest known name, or else what to do instead.

    what: a figure, a material ...; known: every name, in the order in which they are told;
    expected: said in place of all of them.
    """
    names = list(known)
    near = difflib.get_close_matches(name, names, n=1)
    return GeometryError(
        Fault(
            what=f"no {what} is called {name!r}",
            expected=expected or "one of " + ", ".join(names),
            found=name,
            fix=f"did you mean {near[0]!r}?" if near else otherwise or f"write {names[0]}",
        )
    )
