"""Photometric files: read, checked against the lumens they declare, and written again."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path, PurePath
from typing import Final

from falloff.errors import PhotometricFileError
from falloff.findings import Finding, Weight
from falloff.photometry.eulumdat import may_hold_as_text, read_eulumdat, write_eulumdat
from falloff.photometry.lm63 import read_lm63, read_tilt_block, tilt_line
from falloff.photometry.lm63_write import write_lm63
from falloff.photometry.plain_text import MOST_BYTES, Notes, Numbers, decode, fault, number_of
from falloff.photometry.record import PhotometricFile, Tilt

FLUX_TOLERANCE: Final = 0.05  # of the declared lumens


def read_photometric_file(path: Path) -> PhotometricFile:
    """The photometric file at a path: ANSI/IES LM-63 or EULUMDAT, told apart by what it holds.

    Raises PhotometricFileError where its light cannot be trusted, or it cannot be opened. A tilt
    file that LM-63 names is read if it lies beside it.
    """
    file = read_photometric(_content(path), path.name)
    if file.tilt.written.upper() not in {"NONE", "INCLUDE"}:
        return _with_tilt_file(file, path.parent)
    return file


def read_photometric(content: bytes, name: str) -> PhotometricFile:
    """The photometric file in these bytes; `name` is for faults and findings.

    Raises PhotometricFileError where its light cannot be trusted.
    """
    notes = Notes(name)
    lines, encoding = decode(content, notes)
    tilt_at = tilt_line(lines)
    has_tilt = tilt_at is not None and not may_hold_as_text(lines, tilt_at)
    if has_tilt or name.lower().endswith(".ies"):
        file = read_lm63(lines, notes, encoding=encoding)
    else:
        file = read_eulumdat(lines, notes, encoding=encoding)
    for array in (file.vertical_deg, file.horizontal_deg, file.values):
        array.flags.writeable = False
    for lamp_set in range(len(file.lamp_sets)):
        notes.found += _flux_findings(file, lamp_set)
    return replace(file, findings=tuple(notes.found))


def write_photometric(file: PhotometricFile) -> bytes:
    """The bytes of a photometric file in its own format, so that no number or text changes."""
    return write_eulumdat(file) if file.format == "EULUMDAT" else write_lm63(file)


# Flux against what is declared -----------------------------------------------------------


def _flux_findings(file: PhotometricFile, lamp_set: int) -> list[Finding]:
    """What the intensities make against the lumens declared, where they differ by over 5 %.

    EULUMDAT declares what share of the lamps' lumens leaves the light. LM-63 does not, so that
    less may be the light's own loss, while more cannot be.
    """
    flux = file.flux_lm(lamp_set)
    which = f" of lamp set {lamp_set + 1}" if len(file.lamp_sets) > 1 else ""
    share = number_of(file.keyword("output share %").replace(",", "."))
    lamps = file.lamp_sets[lamp_set].flux_lm
    if file.format == "EULUMDAT":
        if share is None or share <= 0.0 or lamps is None:
            return []  # many files leave it at 0
        declared, words = lamps * share / 100.0, f"lumens ({lamps:g} lm, {share:g} % of it out)"
    else:
        known = file.declared_flux_lm(lamp_set)
        if known is None:
            return []
        declared, words = float(known), "lumens of its lamps"
    if math.isclose(flux, declared, rel_tol=0.0, abs_tol=FLUX_TOLERANCE * declared):
        return []
    says = (
        f"its intensities make {flux:.4g} lm{which}; the {words} declared make {declared:.4g} lm: "
        f"{100.0 * (flux / declared - 1.0):+.0f} %"
    )
    if file.format == "LM-63" and flux < declared:
        do = "what is lost in the light itself looks like this; the intensities are used"
        return [Finding(weight=Weight.NOTE, about=file.name, says=says, do=do)]
    do = "one of them is wrong; the intensities are used: check with one meter reading"
    return [Finding(weight=Weight.WARNING, about=file.name, says=says, do=do)]


# Files on disk ---------------------------------------------------------------------------


def _content(path: Path) -> bytes:
    try:
        with path.open("rb") as stream:
            return stream.read(MOST_BYTES + 1)
    except (OSError, ValueError) as cause:
        expected = "a photometric file"
        found = getattr(cause, "strerror", None) or str(cause)
        raise fault(str(path), "the file cannot be opened", expected, found) from cause


def _with_tilt_file(file: PhotometricFile, folder: Path) -> PhotometricFile:
    """The file with the tilt block that it names, read from beside it, or a finding why not."""
    name = file.tilt.written
    try:
        if name != PurePath(name).name or "\\" in name or name in {".", ".."}:
            raise fault(name, "the tilt file's name leads elsewhere", "a name without a folder")
        notes = Notes(name)
        lines, _ = decode(_content(folder / name), notes)
        tilt = Tilt(name, *read_tilt_block(Numbers(name, lines, 1)))
    except PhotometricFileError as cause:
        says = f"how its lamp gives less light when tilted is not known: {cause.faults[0].what}"
        finding = Finding(
            weight=Weight.WARNING, about=file.name, says=says, do=f"put {name} beside"
        )
        return replace(file, findings=(*file.findings, finding))
    return replace(file, tilt=tilt)
