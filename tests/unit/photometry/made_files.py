"""Photometric files of made-up luminaires, written as text, with pencil values."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

LABELS = "[TEST] t\n[TESTLAB] l\n[ISSUEDATE] d\n[MANUFAC] m\n"


def lm63(
    version: str = "IESNA:LM-63-2002",
    *,
    labels: str = LABELS,
    tilt: str = "TILT=NONE",
    record: str = "1 -1 1",
    kind: str = "1 2 0 0 0",
    factors: str = "1 1 100",
    vertical: str = "0 90",
    horizontal: str = "0",
    candela: str = "100 0",
) -> bytes:
    """An LM-63 file; by default 100 cd on the axis straight down to nothing at 90°."""
    counts = f"{len(vertical.replace(',', ' ').split())} {len(horizontal.split())}"
    head = f"{version}\n" if version else ""
    text = (
        f"{head}{labels}{tilt}\n{record} {counts} {kind}\n{factors}\n"
        f"{vertical}\n{horizontal}\n{candela}\n"
    )
    return text.replace("\n", "\r\n").encode("latin-1")


def eulumdat(
    symmetry: int = 1,
    planes: Sequence[float] = (0.0,),
    angles: Sequence[float] = (0.0, 90.0),
    values: Sequence[object] = (100, 0),
    *,
    factor: object = 1,
    sets: Sequence[Sequence[object]] = ((1, "lamp", 1000, "3000", "80", 36),),
    share: object = 0,
    fields: Mapping[int, object] | None = None,
) -> bytes:
    """A EULUMDAT file; `fields` overrides lines by number from 1."""
    lines: list[object] = [
        "made up", 1, symmetry, len(planes), 0, len(angles), 0, "report", "name", "", "file",
        "date", 300, 0, 100, 200, 0, 0, 0, 0, 0, 100, share, factor, 0, len(sets),
    ]  # fmt: skip
    for one in sets:
        lines += one
    lines += [0] * 10
    lines += [*planes, *angles, *values]
    for number, value in (fields or {}).items():
        lines[number - 1] = value
    return "".join(f"{line}\r\n" for line in lines).encode("latin-1")
