"""Writing ANSI/IES LM-63: the lines of text as they were read, the numbers so that none changes."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from falloff.photometry.plain_text import encode, plain
from falloff.photometry.record import PhotometricFile, Tilt

LONGEST_LINE: Final = 76  # the narrowest limit of any version is 80, with its line end


def write_lm63(file: PhotometricFile) -> bytes:
    """The file's bytes: CRLF, its own encoding, numbers that read back as the same floats."""
    lines = [file.version_line] if file.version_line else []
    lines += [label.line for label in file.labels]
    lines.append(f"TILT={file.tilt.written}")
    if file.tilt.written.upper() == "INCLUDE":
        lines += _tilt_lines(file.tilt)
    lines += _head_lines(file)
    lines += _wrapped(file.vertical_deg)
    lines += _wrapped(file.horizontal_deg)
    for plane in file.values:
        lines += _wrapped(plane)
    return encode([*lines, *file.after], file.encoding)


def _tilt_lines(tilt: Tilt) -> list[str]:
    return [
        str(tilt.geometry),
        str(tilt.angle_deg.size),
        *_wrapped(tilt.angle_deg),
        *_wrapped(tilt.factor),
    ]


def _head_lines(file: PhotometricFile) -> list[str]:
    lamps = file.lamp_sets[0]
    kind = {"C": 1, "B": 2, "A": 3}[file.photometric_type]
    first = [
        lamps.count,
        lamps.each_lm,
        file.multiplier,
        file.vertical_deg.size,
        file.horizontal_deg.size,
        kind,
        1 if file.feet else 2,
        *file.written_sizes,
    ]
    second = [file.ballast_factor, file.future_use, file.input_power_w or 0.0]
    return [*_wrapped(first), *_wrapped(second)]


def _wrapped(numbers: Iterable[float]) -> list[str]:
    """Numbers with a space between, on lines that are not too long."""
    lines = [""]
    for word in map(plain, numbers):
        if lines[-1] and len(lines[-1]) + 1 + len(word) > LONGEST_LINE:
            lines.append(word)
        else:
            lines[-1] = f"{lines[-1]} {word}".strip()
    return lines
