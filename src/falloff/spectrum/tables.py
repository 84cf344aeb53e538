"""Spectral tables that are shipped, each read when it is first asked for.

All are brought to one grid, 360 to 830 nm in steps of 1 nm, by straight lines between the points
of the table, as CIE 015:2018 (section 4.1) has it for its own illuminants.
"""

from __future__ import annotations

import functools
import tomllib
from importlib import resources
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

LOWEST_NM: Final = 360
HIGHEST_NM: Final = 830
GRID_NM: Final = np.arange(LOWEST_NM, HIGHEST_NM + 1, dtype=np.float64)
GRID_NM.setflags(write=False)


def on_grid(wavelength_nm: ArrayLike, values: ArrayLike, *, beyond_is_nought: bool) -> Floats:
    """Values (471,) on the grid from points (n,); beyond the points nought, or the last value."""
    beyond = 0.0 if beyond_is_nought else None
    points = np.asarray(wavelength_nm), np.asarray(values)
    return np.asarray(np.interp(GRID_NM, *points, beyond, beyond))


@functools.cache
def illuminant_tables() -> dict[str, Floats]:
    """Relative powers (471,) of the tabulated CIE illuminants, by name: "FL1", "LED-B1" ..."""
    names, table = _read("cie_illuminants.csv")
    return {
        name: _frozen(on_grid(table[:, 0], table[:, column], beyond_is_nought=True))
        for column, name in enumerate(names[1:], 1)
    }


@functools.cache
def daylight_components() -> Floats:
    """S0, S1 and S2 of CIE daylight, (3, 471). Source: CIE 015:2018, table of components."""
    _, table = _read("cie_daylight_components.csv")
    rows = [on_grid(table[:, 0], table[:, column], beyond_is_nought=False) for column in (1, 2, 3)]
    return _frozen(np.array(rows))


@functools.cache
def sample_reflectances() -> Floats:
    """Radiance factors of the 14 test colours of CIE 13.3-1995, (14, 471)."""
    _, table = _read("cie_test_colours.csv")
    columns = range(1, table.shape[1])
    rows = [on_grid(table[:, 0], table[:, column], beyond_is_nought=False) for column in columns]
    return _frozen(np.array(rows))


@functools.cache
def shipped_toml(name: str) -> dict[str, Any]:
    """A shipped file of generic data, parsed."""
    data = resources.files("falloff.spectrum") / "data" / name
    return tomllib.loads(data.read_text(encoding="utf-8"))


def _read(name: str) -> tuple[list[str], Floats]:
    """Column names and rows of a shipped table."""
    data = resources.files("falloff.spectrum") / "data" / name
    lines = data.read_text(encoding="ascii").splitlines()
    rows = [[float(cell) for cell in line.split(",")] for line in lines[1:]]
    return lines[0].split(","), np.array(rows)


def _frozen(values: Floats) -> Floats:
    values.setflags(write=False)
    return values
