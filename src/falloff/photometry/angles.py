"""What the angles of a file must be, and what they say is the same again on the other side."""

from __future__ import annotations

from typing import Final

import numpy as np

from falloff.photometry.plain_text import Notes, fault
from falloff.photometry.unfold import PhotometricType, Symmetry
from falloff.types import Float64Array

FIX: Final = "get the file anew; light must not be guessed"


def check_vertical(kind: PhotometricType, angles: Float64Array, line: int, notes: Notes) -> None:
    """PhotometricFileError where vertical angles leave light unknown; a finding where they end."""
    first, last = float(angles[0]), float(angles[-1])
    if kind == "C":
        if first not in {0.0, 90.0} or last > 180.0:
            expected = "from 0 or 90 to 90 or 180 deg"
            found = f"{first:g} to {last:g}"
            what = "the vertical angles leave part of the light unknown"
            raise fault(notes.name, what, expected, found, FIX, line=line)
        if last not in {90.0, 180.0}:
            notes.warn(f"its vertical angles end at {last:g} deg: no light is taken beyond")
        return
    _check_half(notes, angles, "vertical", line)
    if first == 0.0:
        notes.warn(
            "its vertical angles start at 0: taken as the same above and below",
            "see whether its flux agrees with what is declared",
        )


def _check_half(notes: Notes, angles: Float64Array, what: str, line: int) -> None:
    """Angles of types A and B: within a quarter turn, about 0."""
    first, last = float(angles[0]), float(angles[-1])
    if first < -90.0 or last > 90.0 or first > 0.0 or last <= 0.0:
        expected = "from -90 or 0 to 90 deg"
        found = f"{first:g} to {last:g}"
        raise fault(notes.name, f"the {what} angles cannot be", expected, found, FIX, line=line)
    if first not in {0.0, -90.0} or last != 90.0:
        notes.warn(f"its {what} angles span {first:g} to {last:g} deg: no light is taken beyond")


def symmetry_of(kind: PhotometricType, angles: Float64Array, line: int, notes: Notes) -> Symmetry:
    """What the horizontal angles say is the same again."""
    if kind != "C":
        if angles.size < 2:
            expected = "two or more of types A and B"
            raise fault(notes.name, "there are too few horizontal angles", expected, "1", line=line)
        _check_half(notes, angles, "horizontal", line)
        return "none"
    first, last = float(angles[0]), float(angles[-1])
    if angles.size == 1:
        if first != 0.0:
            notes.note(f"its one horizontal angle is {first:g}, not 0: taken as round")
        return "round"
    if (first, last) in {(90.0, 270.0), (-90.0, 90.0)}:
        return "about C90-C270"
    if first == 0.0 and last == 90.0:
        return "four quarters"
    if first == 0.0 and last == 180.0:
        return "about C0-C180"
    if first == 0.0 and 180.0 < last <= 360.0 and closes(angles):
        return "none"
    expected = "from 0 to 90, 180 or all round, or 90 to 270"
    found = f"{first:g} to {last:g}"
    what = "the horizontal angles leave part of the light unknown"
    raise fault(notes.name, what, expected, found, FIX, line=line)


def closes(degrees: Float64Array) -> bool:
    """Whether the step from the last plane to C360 is no wider than twice the widest other."""
    return bool(360.0 - degrees[-1] <= 2.0 * float(np.diff(degrees).max()))


def check_seam(horizontal: Float64Array, values: Float64Array, notes: Notes) -> None:
    """A finding where the planes at 0 and 360 deg are not the same."""
    if horizontal[-1] == 360.0 and bool(np.any(values[0] != values[-1])):
        notes.warn("its planes at 0 and 360 deg differ, though they are the same place")
