"""Reading and writing EULUMDAT (.ldt): one field a line, in a fixed order.

Strict about counts, angles and whatever scales light; forgiving about the rest, each forgiveness
a finding. Source: public summaries of the field list (Stockmar 1990 and 1998).
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from falloff.photometry.angles import FIX, check_seam, check_vertical, closes
from falloff.photometry.opening import Opening, eulumdat_opening
from falloff.photometry.plain_text import (
    MOST_LAMPS,
    Notes,
    check_ascending,
    check_light,
    encode,
    fault,
    number_of,
    plain,
)
from falloff.photometry.record import NO_TILT, Label, LampSet, PhotometricFile
from falloff.photometry.unfold import Symmetry
from falloff.types import Float64Array

# The fields before the lamp sets, in order; those in light are numbers, the rest text as read.
FIELDS: Final = (
    "company", "light type", "symmetry", "planes", "plane step", "angles", "angle step",
    "report number", "luminaire name", "luminaire number", "file name", "date and user",
    "length mm", "width mm", "height mm", "luminous length mm", "luminous width mm",
    "luminous height C0 mm", "luminous height C90 mm", "luminous height C180 mm",
    "luminous height C270 mm", "downward share %", "output share %", "conversion factor",
    "tilt deg", "lamp sets",
)  # fmt: skip
IN_LIGHT: Final = {"symmetry", "planes", "angles", "conversion factor", "lamp sets"}
_SYMMETRIES: Final[tuple[Symmetry, ...]] = (
    "none", "round", "about C0-C180", "about C90-C270", "four quarters"
)  # fmt: skip
_SET_FIELDS: Final = 6
RATIOS: Final = 10
MOST_SETS: Final = 1000
_TEXT_LINES: Final = {0, 7, 8, 9, 10, 11}  # from company to date and user


class _Lines:
    """The file's lines by number, with faults that name them."""

    def __init__(self, lines: list[str], notes: Notes) -> None:
        self.lines = lines
        self.notes = notes

    def text(self, index: int) -> str:
        """Line `index` (from 0); the file must go that far."""
        if index >= len(self.lines):
            found = f"{len(self.lines)} lines"
            raise fault(self.notes.name, "the file ends too early", "more lines", found, FIX)
        return self.lines[index]

    def number(self, index: int, what: str) -> float:
        """A number that light hangs on."""
        text = self.text(index)
        value = decimal_of(text)
        if value is None:
            raise fault(
                self.notes.name, f"{what} is no number", "one number", text.strip() or "nothing",
                "write one number with a decimal point", line=index + 1,
            )  # fmt: skip
        self.told_of_comma(text)
        return value

    def told_of_comma(self, text: str) -> None:
        """A finding, once, where a number is written with a decimal comma."""
        if "," in text:
            self.notes.note("its decimals are written with a comma")

    def whole(self, index: int, what: str, *, least: int, most: int) -> int:
        """A whole number within a range that light hangs on."""
        value = self.number(index, what)
        if value != int(value) or not least <= value <= most:
            expected = f"a whole number from {least} to {most}"
            raise fault(
                self.notes.name, f"{what} cannot be", expected, plain(value), FIX, line=index + 1
            )
        return int(value)

    def above_zero(self, index: int, what: str) -> float:
        """A number above 0 that light hangs on."""
        value = self.number(index, what)
        if value <= 0.0:
            raise fault(
                self.notes.name, f"{what} cannot be", "more than 0", plain(value), FIX,
                line=index + 1,
            )  # fmt: skip
        return value

    def many(self, first: int, count: int, what: str) -> Float64Array:
        """A number a line."""
        return np.array([self.number(first + k, what) for k in range(count)], np.float64)

    def rather(self, index: int, what: str) -> float:
        """A number that no light hangs on; 0 with a finding where it is none."""
        value = decimal_of(self.text(index))
        if value is None:
            found = self.text(index).strip()[:30] or "blank"
            self.notes.note(f"its {what} is no number ({found}): taken as 0")
            return 0.0
        self.told_of_comma(self.text(index))
        return value


class _Planes(NamedTuple):
    symmetry: Symmetry
    listed: int
    stored: int
    angles: int


def decimal_of(text: str) -> float | None:
    """A number written with a decimal point or a decimal comma, or None."""
    tidy = text.strip(" \t\f\v")
    if "," in tidy:
        tidy = tidy.replace(",", ".", 1) if "." not in tidy else ""
    return number_of(tidy)


def may_hold_as_text(lines: list[str], index: int) -> bool:
    """Whether line `index` would be a field of text, in a file whose lines 2 to 7 are numbers."""
    return index in _TEXT_LINES and all(decimal_of(line) is not None for line in lines[1:7])


def read_eulumdat(lines: list[str], notes: Notes, *, encoding: str) -> PhotometricFile:
    """A EULUMDAT file from its lines; PhotometricFileError where its light cannot be trusted."""
    at = _Lines(lines, notes)
    at.text(len(FIELDS) - 1)
    planes = _read_planes(at)
    multiplier = at.above_zero(_index("conversion factor"), "the conversion factor")
    most = min(MOST_SETS, (len(lines) - len(FIELDS)) // _SET_FIELDS)
    sets = at.whole(_index("lamp sets"), "the number of lamp sets", least=1, most=max(1, most))
    lamp_sets = _read_lamp_sets(at, sets)
    ratios_at = len(FIELDS) + _SET_FIELDS * sets
    after_at = ratios_at + RATIOS + planes.listed + planes.angles + planes.stored * planes.angles
    if len(lines) < after_at:
        expected = f"{after_at} lines by its counts"
        raise fault(notes.name, "the file ends too early", expected, str(len(lines)), FIX)
    listed, vertical, values = _read_web(at, planes, ratios_at + RATIOS)
    labels = _read_labels(at, ratios_at)
    file = PhotometricFile(
        name=notes.name,
        format="EULUMDAT",
        version="",
        version_line="",
        labels=labels,
        lamp_sets=lamp_sets,
        multiplier=multiplier,
        ballast_factor=1.0,
        future_use=1.0,
        input_power_w=decimal_of(lamp_sets[0].power),
        photometric_type="C",
        symmetry=planes.symmetry,
        opening=_read_opening(at),
        written_sizes=(0.0, 0.0, 0.0),
        feet=False,
        tilt=NO_TILT,
        vertical_deg=vertical,
        horizontal_deg=listed,
        values=values,
        encoding=encoding,
        after=_read_after(at, after_at, planes.symmetry),
        findings=(),
    )
    for k in range(sets):
        check_light(notes.name, values, file.candela_per_value(k))
    return file


def write_eulumdat(file: PhotometricFile) -> bytes:
    """The file's bytes: text as it was read, numbers that read back as the same floats."""
    written = {
        "symmetry": _SYMMETRIES.index(file.symmetry),
        "planes": file.horizontal_deg.size,
        "angles": file.vertical_deg.size,
        "conversion factor": file.multiplier,
        "lamp sets": len(file.lamp_sets),
    }
    text = {label.keyword: label.line for label in file.labels}
    lines = [plain(written[one]) if one in written else text.get(one, "") for one in FIELDS]
    for lamps in file.lamp_sets:
        flux = plain(lamps.flux_lm or 0.0)
        lines += [str(lamps.count), lamps.kind, flux, lamps.colour, lamps.rendering, lamps.power]
    lines += [text.get(_ratio_word(k), "") for k in range(RATIOS)]
    for numbers in (file.horizontal_deg, file.vertical_deg, file.values.ravel()):
        lines += map(plain, numbers)
    return encode([*lines, *file.after], file.encoding)


# Parts -----------------------------------------------------------------------------------


def _index(word: str) -> int:
    return FIELDS.index(word)


def _ratio_word(k: int) -> str:
    return f"direct ratio {k + 1}"


def _read_planes(at: _Lines) -> _Planes:
    """Symmetry and counts, and how many planes are stored by them."""
    room = len(at.lines)
    code = at.whole(_index("symmetry"), "the symmetry", least=0, most=4)
    listed = at.whole(_index("planes"), "the number of planes", least=1, most=room)
    angles = at.whole(_index("angles"), "the number of angles", least=2, most=room)
    symmetry = _SYMMETRIES[code]
    multiple = {"about C0-C180": 2, "about C90-C270": 4, "four quarters": 4}.get(symmetry, 1)
    if listed % multiple:
        expected = f"a multiple of {multiple} for its symmetry"
        raise fault(
            at.notes.name, "the number of planes cannot be", expected, str(listed), FIX,
            line=_index("planes") + 1,
        )  # fmt: skip
    halves = {"none": listed, "round": 1, "four quarters": listed // 4 + 1}
    return _Planes(symmetry, listed, halves.get(symmetry, listed // 2 + 1), angles)


def _read_web(
    at: _Lines, planes: _Planes, first: int
) -> tuple[Float64Array, Float64Array, Float64Array]:
    """Plane angles as listed, angles, and values by stored plane."""
    name = at.notes.name
    listed = at.many(first, planes.listed, "an angle of a plane")
    check_ascending(name, listed, "angles of the planes", line=first + 1)
    angles_at = first + planes.listed
    vertical = at.many(angles_at, planes.angles, "an angle from the axis")
    check_ascending(name, vertical, "angles from the axis", line=angles_at + 1)
    check_vertical("C", vertical, angles_at + 1, at.notes)
    _check_listed(at, planes, listed, first + 1)
    _check_steps(at, listed, vertical)
    flat = at.many(angles_at + planes.angles, planes.stored * planes.angles, "an intensity")
    values = flat.reshape(planes.stored, planes.angles)
    if planes.symmetry == "none":
        check_seam(listed, values, at.notes)
    return listed, vertical, values


def _check_listed(at: _Lines, planes: _Planes, listed: Float64Array, line: int) -> None:
    """The planes that symmetry turns on must be where it says."""
    quarter, many = planes.listed // 4, planes.listed
    turning = {
        "none": {0: 0.0},
        "round": {},
        "about C0-C180": {0: 0.0, many // 2: 180.0},
        "about C90-C270": {0: 0.0, quarter: 90.0, many - quarter: 270.0},
        "four quarters": {0: 0.0, quarter: 90.0},
    }[planes.symmetry]
    wrong = [f"C{wanted:g} at place {k + 1}" for k, wanted in turning.items()
             if k >= many or listed[k] != wanted]  # fmt: skip
    open_end = planes.symmetry == "none" and (many < 2 or not closes(listed))
    if wrong or listed[-1] > 360.0 or open_end:
        expected = ", ".join(wrong) or "planes all round, up to 360 deg"
        found = f"{listed[0]:g} to {listed[-1]:g} in {many}"
        what = "the angles of the planes do not fit its symmetry"
        raise fault(at.notes.name, what, expected, found, FIX, line=line)


def _check_steps(at: _Lines, listed: Float64Array, vertical: Float64Array) -> None:
    for field, degrees in (("plane step", listed), ("angle step", vertical)):
        step = at.rather(_index(field), field)
        if step > 0.0 and degrees.size > 1 and np.abs(np.diff(degrees) - step).max() > 0.011:
            at.notes.note(f"its {field} of {step:g} deg is not that of its angles, which hold")


def _read_lamp_sets(at: _Lines, sets: int) -> tuple[LampSet, ...]:
    """The lamp sets, grouped by set as files have them, or by field as some summaries print."""
    first = len(FIELDS)
    raw = [at.text(first + k) for k in range(_SET_FIELDS * sets)]
    by_set = [raw[_SET_FIELDS * k : _SET_FIELDS * (k + 1)] for k in range(sets)]
    by_field = [raw[k::sets] for k in range(sets)]
    good_set, good_field = (all(map(_is_lamp_set, one)) for one in (by_set, by_field))
    chosen = by_set if good_set or not good_field else by_field
    if chosen is by_field:
        at.notes.note("its lamp sets are grouped by field")
    elif good_field and sets > 1 and [s[2] for s in by_set] != [s[2] for s in by_field]:
        at.notes.warn(
            "its lamp sets could be grouped by set or by field: taken by set",
            "compare the flux of each set with the maker's sheet",
        )
    fields = [(s, first + k * _SET_FIELDS) for k, s in enumerate(chosen)]
    return tuple(_lamp_set(at, one, line) for one, line in fields)


def _is_lamp_set(fields: list[str]) -> bool:
    count, flux, power = (decimal_of(fields[k]) for k in (0, 2, 5))
    whole = count is not None and count == int(count)
    return (
        whole and flux is not None and flux > 0.0 and (power is not None or not fields[5].strip())
    )


def _lamp_set(at: _Lines, fields: list[str], first_line: int) -> LampSet:
    count, flux = decimal_of(fields[0]), decimal_of(fields[2])
    if flux is None or flux <= 0.0:
        raise fault(
            at.notes.name, "the flux of a lamp set cannot be", "lumens above 0",
            fields[2].strip() or "nothing", FIX, line=first_line + 3,
        )  # fmt: skip
    if count is None or count != int(count) or abs(count) > MOST_LAMPS:
        raise fault(
            at.notes.name, "the number of lamps cannot be", "a whole number, below 0 if absolute",
            fields[0].strip() or "nothing", FIX, line=first_line + 1,
        )  # fmt: skip
    if count == 0.0:
        at.notes.note("a lamp set has no lamps; its flux is taken all the same")
    at.told_of_comma(fields[2])
    if fields[5].strip() and decimal_of(fields[5]) is None:
        at.notes.note("the watts of a lamp set are no number")
    return LampSet(int(count), flux, fields[1], fields[3], fields[4], fields[5])


def _read_labels(at: _Lines, ratios_at: int) -> tuple[Label, ...]:
    labels = [
        Label(word, at.text(k).replace("\0", "").strip(), at.text(k))
        for k, word in enumerate(FIELDS)
        if word not in IN_LIGHT
    ]
    for k, word in enumerate(FIELDS):
        if word not in IN_LIGHT and k not in _TEXT_LINES:
            at.rather(k, word)
    if at.rather(_index("tilt deg"), "tilt") != 0.0:
        at.notes.note("it was measured tilted; its angles are taken as from its own axis")
    for k in range(RATIOS):
        at.rather(ratios_at + k, _ratio_word(k))
    ratios = [at.text(ratios_at + k) for k in range(RATIOS)]
    return (*labels, *(Label(_ratio_word(k), one.strip(), one) for k, one in enumerate(ratios)))


def _read_opening(at: _Lines) -> Opening:
    first = _index("luminous length mm")
    length, width, *heights = (at.rather(first + k, FIELDS[first + k]) for k in range(6))
    return eulumdat_opening(length, width, heights_mm=tuple(heights))


def _read_after(at: _Lines, first: int, symmetry: Symmetry) -> tuple[str, ...]:
    """Lines after the last intensity; more numbers there put an unusual order in doubt."""
    rest = tuple(at.lines[first:])
    if any(decimal_of(line) is not None for line in rest):
        if symmetry == "about C90-C270":
            expected = f"{first} lines by its counts"
            what = "more planes are stored than its symmetry has, so their order is in doubt"
            raise fault(at.notes.name, what, expected, str(len(at.lines)), FIX, line=first + 1)
        at.notes.warn(
            f"numbers remain after the last intensity: {rest[0][:30]}",
            "a line may be there twice; see whether its flux agrees with what is declared",
        )
    elif any(line.strip() for line in rest):
        at.notes.note("text stands after the last intensity, kept as it is")
    return rest
