"""Reading ANSI/IES LM-63, versions 1986, 1991, 1995, 2002 and 2019.

Strict about numbers, counts and angles; forgiving about text, each forgiveness a finding.
Source: the formats' grammar by public transcriptions of LM-63-1986 to 2019.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Final, NamedTuple, cast

import numpy as np

from falloff.photometry.angles import FIX, check_seam, check_vertical, symmetry_of
from falloff.photometry.opening import lm63_opening
from falloff.photometry.plain_text import (
    MOST_LAMPS,
    Notes,
    Numbers,
    check_ascending,
    check_light,
    fault,
    number_of,
    plain,
)
from falloff.photometry.record import NO_TILT, Label, LampSet, PhotometricFile, Tilt
from falloff.photometry.unfold import PhotometricType
from falloff.types import Float64Array

TILT_LINE: Final = re.compile(r"TILT\s*=\s*(.*)", re.IGNORECASE)

_EXACT: Final = {
    "IESNA91": "1991",
    "IESNA:LM-63-1995": "1995",
    "IESNA:LM-63-2002": "2002",
    "IES:LM-63-2019": "2019",
}
_NEARLY: Final = re.compile(
    r"IES(?:NA)?\W*(?:LM\W*63\W*)?(?:19|20)?(86|91|95|02|19)", re.IGNORECASE
)
_YEARS: Final = {"86": "1986", "91": "1991", "95": "1995", "02": "2002", "19": "2019"}
_LABEL: Final = re.compile(r"\[([^\]]*)\](.*)")
_REQUIRED_2002: Final = ("TEST", "TESTLAB", "ISSUEDATE", "MANUFAC")
_TYPES: Final = {1: "C", 2: "B", 3: "A"}


class _Version(NamedTuple):
    year: str
    line: str
    sure: bool


class _Head(NamedTuple):
    """The first two records, as numbers."""

    lamps: LampSet
    multiplier: float
    counts: tuple[int, int]
    photometric_type: PhotometricType
    feet: bool
    sizes: tuple[float, float, float]
    ballast_factor: float
    future_use: float
    input_power_w: float


def tilt_line(lines: list[str]) -> int | None:
    """Index of the TILT line, which every LM-63 file has; None if there is none."""
    return next((k for k, line in enumerate(lines) if TILT_LINE.fullmatch(line.strip())), None)


def read_lm63(lines: list[str], notes: Notes, *, encoding: str) -> PhotometricFile:
    """An LM-63 file from its lines; PhotometricFileError where its light cannot be trusted."""
    at = _tilt_at(lines, notes)
    version, text = _version_of(lines[:at], notes)
    labels = tuple(_label_of(line) for line in text)
    numbers = Numbers(notes.name, lines[at + 1 :], at + 2)
    tilt = _read_tilt(lines[at], numbers, version.year, notes)
    head = _read_head(numbers, version, notes)
    many_v, many_h = head.counts
    vertical = _read_angles(numbers, many_v, "vertical angles")
    horizontal = _read_angles(numbers, many_h, "horizontal angles")
    check_vertical(head.photometric_type, vertical, numbers.line, notes)
    symmetry = symmetry_of(head.photometric_type, horizontal, numbers.line, notes)
    if many_v * many_h > numbers.left:
        found = f"{numbers.left} left"
        what = f"{many_v} × {many_h} intensities"
        raise fault(notes.name, "intensities are missing", what, found, FIX)
    values = numbers.take_many(many_v * many_h, "intensities").reshape(many_h, many_v)
    after = _read_after(numbers, notes)
    check_seam(horizontal, values, notes)
    opening = lm63_opening(head.sizes, feet=head.feet, year=int(version.year), notes=notes)
    _note_labels(version.year, labels, notes)
    file = PhotometricFile(
        name=notes.name,
        format="LM-63",
        version=version.year,
        version_line=version.line,
        labels=labels,
        lamp_sets=(head.lamps,),
        multiplier=head.multiplier,
        ballast_factor=head.ballast_factor,
        future_use=head.future_use,
        input_power_w=head.input_power_w,
        photometric_type=head.photometric_type,
        symmetry=symmetry,
        opening=opening,
        written_sizes=head.sizes,
        feet=head.feet,
        tilt=tilt,
        vertical_deg=vertical,
        horizontal_deg=horizontal,
        values=values,
        encoding=encoding,
        after=after,
        findings=(),
    )
    check_light(notes.name, values, file.candela_per_value())
    return file


def read_tilt_block(numbers: Numbers) -> tuple[int, Float64Array, Float64Array]:
    """Geometry, angles and factors of TILT=INCLUDE, or of a file that TILT names."""
    geometry = numbers.take_whole("the lamp's geometry, 1, 2 or 3")
    if geometry not in {1, 2, 3}:
        expected = "1 (upright), 2 or 3 (level)"
        raise fault(
            numbers.name, "the lamp's tilt geometry is unknown", expected, str(geometry),
            line=numbers.line,
        )  # fmt: skip
    many = _count(numbers, "tilt angles", 1)
    angle = numbers.take_many(many, "tilt angles")
    check_ascending(numbers.name, angle, "tilt angles", line=numbers.line)
    factor = numbers.take_many(many, "tilt factors")
    if float(factor.min()) < 0.0:
        found = f"{factor.min():g}"
        raise fault(
            numbers.name, "a tilt factor is below nothing", "0 or more", found, line=numbers.line
        )
    return geometry, angle, factor


# Text ------------------------------------------------------------------------------------


def _tilt_at(lines: list[str], notes: Notes) -> int:
    """Index of the TILT line; PhotometricFileError without one."""
    index = tilt_line(lines)
    if index is None:
        raise fault(
            notes.name,
            "there is no TILT line",
            "a line TILT=NONE, TILT=INCLUDE or TILT= and a file's name",
            "none",
            "get the file anew: it is cut off, or is no LM-63 file",
        )
    if not lines[index].startswith("TILT="):
        notes.note(f'the TILT line is written "{lines[index].strip()[:40]}"')
    return index


def _version_of(lines: list[str], notes: Notes) -> tuple[_Version, list[str]]:
    """The version and the lines of text that remain."""
    for index, line in enumerate(lines):
        if line.strip().upper() in _EXACT:
            if index:
                notes.note(f"the version stands on line {index + 1}, not on the first")
            rest = lines[:index] + lines[index + 1 :]
            return _Version(_EXACT[line.strip().upper()], line, sure=True), rest
    bracketed = any(_LABEL.fullmatch(line.strip()) for line in lines)
    first = lines[0].strip() if lines else ""
    nearly = _NEARLY.fullmatch(first)
    if nearly:
        year = _YEARS[nearly[1]]
        notes.note(f'the first line "{first}" is no version as written: read as {year}')
        return _Version(year, lines[0], sure=False), lines[1:]
    if not bracketed:
        return _Version("1986", "", sure=True), lines
    if first.upper().startswith("IES"):
        notes.warn(f'the version "{first[:40]}" is unknown: read as 2002')
        return _Version("2002", lines[0], sure=False), lines[1:]
    notes.warn("there is no version line, but there are keywords: read as 1991")
    return _Version("1991", "", sure=False), lines


def _label_of(line: str) -> Label:
    found = _LABEL.fullmatch(line.strip())
    if not found:
        return Label("", line.replace("\0", "").strip(), line)
    return Label(found[1].strip().upper(), found[2].replace("\0", "").strip(), line)


def _note_labels(year: str, labels: tuple[Label, ...], notes: Notes) -> None:
    if year in {"2002", "2019"}:
        present = {label.keyword for label in labels}
        missing = [f"[{word}]" for word in _REQUIRED_2002 if word not in present]
        if missing:
            notes.note(f"keywords that its version requires are missing: {', '.join(missing)}")
        if any(not label.keyword and label.value for label in labels):
            notes.note("it has lines of text without a keyword, kept as they are")
    if labels and labels[0].keyword == "MORE":
        notes.note("[MORE] continues nothing")


def _read_tilt(line: str, numbers: Numbers, year: str, notes: Notes) -> Tilt:
    found = TILT_LINE.fullmatch(line.strip())
    written = found[1] if found else ""
    if written.upper() == "NONE":
        return replace(NO_TILT, written=written)
    if written.upper() == "INCLUDE":
        tilt = Tilt(written, *read_tilt_block(numbers))
        if bool(np.any(tilt.factor != 1.0)):
            notes.note(
                "its lamp gives another output when tilted; the web is of the light untilted"
            )
        return tilt
    if not written:
        raise fault(notes.name, "TILT says nothing", "NONE, INCLUDE or a file's name", "TILT=", FIX)
    if year == "2019":
        notes.note("its version knows no TILT by file")
    return replace(NO_TILT, written=written)


# Numbers ---------------------------------------------------------------------------------


def _read_head(numbers: Numbers, version: _Version, notes: Notes) -> _Head:
    lamps = _read_lamps(numbers, notes)
    multiplier = _above_zero(numbers, "the candela multiplier")
    many_v = _count(numbers, "vertical angles", 2)
    many_h = _count(numbers, "horizontal angles", 1)
    kind = numbers.take_whole("the photometric type")
    if kind not in _TYPES:
        expected = "1 (C), 2 (B) or 3 (A)"
        raise fault(
            notes.name, "the photometric type is unknown", expected, str(kind), line=numbers.line
        )
    unit = numbers.take_whole("the unit of length")
    if unit not in {1, 2}:
        expected = "1 (feet) or 2 (metres)"
        raise fault(
            notes.name, "the unit of length is unknown", expected, str(unit), line=numbers.line
        )
    width, length, height = numbers.take_many(3, "sizes of the luminous opening").tolist()
    ballast = _above_zero(numbers, "the ballast factor")
    future = _read_future_use(numbers, version, notes)
    power = numbers.take("the input watts")
    if power < 0.0:
        notes.warn(f"its input watts are below nothing: {power:g}")
    return _Head(
        lamps,
        multiplier,
        (many_v, many_h),
        cast("PhotometricType", _TYPES[kind]),
        unit == 1,
        (width, length, height),
        ballast,
        future,
        power,
    )


def _read_lamps(numbers: Numbers, notes: Notes) -> LampSet:
    """Number of lamps and lumens of each; -1 lumens for absolute photometry."""
    count = numbers.take_whole("the number of lamps")
    lumens = numbers.take("the lumens of one lamp")
    if count < 0 or count > MOST_LAMPS:
        raise fault(
            notes.name, "the number of lamps cannot be", "1 or more", str(count), line=numbers.line
        )
    if lumens < 0.0 and lumens != -1.0:
        found = plain(lumens)
        raise fault(
            notes.name, "the lumens cannot be", "0 or more, or -1", found, line=numbers.line
        )
    if count == 0 or lumens == 0.0:
        notes.note("it declares no lumens, so that its light cannot be checked against them")
    known = count > 0 and lumens > 0.0
    return LampSet(count, count * lumens if known else None, each_lm=lumens)


def _read_future_use(numbers: Numbers, version: _Version, notes: Notes) -> float:
    """X: a factor up to 1991, a filler in 1995 and 2002, a code in 2019."""
    value = numbers.take("the second number of the second record")
    if value == 1.0:
        return value
    if not version.sure:
        raise fault(
            notes.name,
            "without its version it is unclear whether a number multiplies all light",
            "1 as the second number of the second record, or a version line",
            plain(value),
            "find out the file's version and write it on the first line",
            line=numbers.line,
        )
    if version.year in {"1986", "1991"}:
        if value <= 0.0:
            what = "the ballast-lamp factor cannot be"
            raise fault(notes.name, what, "more than 0", plain(value), line=numbers.line)
        notes.note(f"its ballast-lamp factor {plain(value)} is in the light")
    elif version.year != "2019":
        notes.note(f"its field for future use is {plain(value)}; it multiplies nothing")
    return value


def _read_angles(numbers: Numbers, count: int, what: str) -> Float64Array:
    angles = numbers.take_many(count, what)
    check_ascending(numbers.name, angles, what, line=numbers.line)
    return angles


def _read_after(numbers: Numbers, notes: Notes) -> tuple[str, ...]:
    rest = numbers.rest()
    tokens = " ".join(rest).split()
    if any(number_of(token) is not None for token in tokens):
        notes.warn(
            f"numbers remain after the last intensity: {' '.join(tokens)[:40]}",
            "a line may be there twice; see whether its flux agrees with what is declared",
        )
    elif rest:
        notes.note("text stands after the last intensity, kept as it is")
    return rest


def _count(numbers: Numbers, what: str, least: int) -> int:
    """How many of something follow; no more than the file could hold."""
    value = numbers.take_whole(f"the number of {what}")
    if not least <= value <= numbers.left:
        expected = f"{least} or more, and no more than are there ({numbers.left})"
        raise fault(
            numbers.name, f"there cannot be so many {what}", expected, str(value),
            FIX, line=numbers.line,
        )  # fmt: skip
    return value


def _above_zero(numbers: Numbers, what: str) -> float:
    value = numbers.take(what)
    if value <= 0.0:
        raise fault(
            numbers.name, f"{what} cannot be", "more than 0", plain(value), line=numbers.line
        )
    return value
