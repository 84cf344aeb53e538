"""Remake the colour tables that `falloff.spectrum` ships; needs the `test` extra.

Run from the root of the repository: `python tools/make_colour_tables.py`. It writes the CIE 1931
2° colour-matching functions at 1 nm and a record of where they came from, with a checksum that a
test compares with the shipped file.
"""

from __future__ import annotations

import datetime
import hashlib
import importlib.metadata
from pathlib import Path

DATA = Path(__file__).parents[1] / "src" / "falloff" / "spectrum" / "data"
NAME = "cie_1931_2_degree"

RECORD = """\
# Provenance of {name}.csv
title = "CIE 1931 colour-matching functions, 2 degree standard observer"
source = "CIE 015:2018 (also ISO/CIE 11664-1:2019), 360 nm to 830 nm in steps of 1 nm"
columns = ["wavelength in nm", "x bar", "y bar (= V(lambda))", "z bar"]
who = "the Falloff project"
when = "{when}"
how = "tools/make_colour_tables.py, from the table in colour-science {version} (BSD-3-Clause)"
sha256 = "{checksum}"
"""


def main() -> None:
    """Write the table and its record."""
    text = table_text()
    (DATA / f"{NAME}.csv").write_text(text, encoding="ascii", newline="\n")
    record = RECORD.format(
        name=NAME,
        when=datetime.datetime.now(datetime.UTC).date().isoformat(),
        version=importlib.metadata.version("colour-science"),
        checksum=hashlib.sha256(text.encode("ascii")).hexdigest(),
    )
    (DATA / f"{NAME}.toml").write_text(record, encoding="ascii", newline="\n")


def table_text() -> str:
    """The table as comma-separated text, numbers as published."""
    import colour

    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    rows = ["wavelength_nm,x_bar,y_bar,z_bar"]
    for wavelength_nm, values in zip(observer.wavelengths, observer.values, strict=True):
        rows.append(",".join([f"{wavelength_nm:.0f}", *(f"{value:.12g}" for value in values)]))
    return "\n".join(rows) + "\n"


if __name__ == "__main__":
    main()
