"""The stored witness of sheets as plain records: readings and blocks; needs numpy only."""

from __future__ import annotations

import hashlib
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

DATA = Path(__file__).parent / "data_sheets"
BLOCK = 6

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Values:
    """Means and their standard errors, of readings (12,) in lx or of blocks (23, 40) in cd/m2."""

    mean: FloatArray
    standard_error: FloatArray


def load_readings(case: str, *, renderer: str = "readings") -> Values:
    """The twelve readings of a case; renderer: "readings" (path), "volpath" or "radiance"."""
    arrays = _arrays(renderer)
    return Values(arrays[f"{case}_mean_lx"], arrays[f"{case}_standard_error_lx"])


def load_blocks(case: str) -> Values:
    """Luminance of the blocks of a case's picture; row 0 is its top."""
    arrays = _arrays(f"blocks_{case}")
    mean, error = (arrays[f"{key}_cd_m2"].astype(np.float64) for key in ("mean", "standard_error"))
    return Values(mean, error)


def load_checks() -> dict[str, tuple[float, float]]:
    """Mean and standard error (lx) of each check of the renderer."""
    arrays = _arrays("checks")
    return {
        str(name): (float(mean), float(error))
        for name, (mean, error, _) in zip(arrays["names"], arrays["found"], strict=True)
    }


def load_record(name: str) -> dict[str, Any]:
    """What stands beside a file: who, when, how, renderer, checksums."""
    return tomllib.loads((DATA / f"{name}.toml").read_text(encoding="utf-8"))


def _arrays(name: str) -> dict[str, Any]:
    path = DATA / f"{name}.npz"
    if hashlib.sha256(path.read_bytes()).hexdigest() != load_record(name)["arrays_sha256"]:
        raise ValueError(f"{path.name} is not what its record says: make both anew")
    with np.load(path, allow_pickle=False) as arrays:
        return {key: arrays[key] for key in arrays.files}
