"""The stored witness of the locations. Needs numpy only; row 0 of a picture is its top."""

from __future__ import annotations

import hashlib
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

DATA = Path(__file__).parent / "data"
LEAST_OF_MEDIAN = 0.01  # darker blocks are not judged
SHARP_STOP = 0.06  # blocks that the witness knows less well cannot be judged to 0.15 stop
LEAST_SHARE = 0.02  # a source that gives less of a reading is not judged there


@dataclass(frozen=True, slots=True)
class Fingerprint:
    """What a stage's surfaces are, by material, however they are cut; compared with a little room.

    numbers: (m, 7) area (m²), middle by area (m), reflectance of three channels.
    """

    materials: tuple[str, ...]
    numbers: NDArray[np.float64]

    def agrees(self, other: Fingerprint) -> bool:
        """Whether the two are of one geometry."""
        if self.materials != other.materials or self.numbers.shape != other.numbers.shape:
            return False
        off = np.abs(self.numbers - other.numbers)
        return bool((off <= 1e-4 + 1e-4 * np.abs(other.numbers)).all())


@dataclass(frozen=True, slots=True)
class StoredLocation:
    """Arrays as stored; of s sources, r readings and blocks of 6 x 6 pixels.

    mean_lx, standard_error_lx: (s, r, 3); mean, variance (of the mean): (s, rows, columns, 4),
    luminance and three channels, cd/m²; shows_source: (s, rows, columns).
    """

    sources_sha256: str
    fingerprint: Fingerprint
    arrays: dict[str, Any]

    @property
    def sources(self) -> tuple[str, ...]:
        """Names of the sources, each alone."""
        return tuple(self.arrays["sources"].tolist())


def load_location(name: str) -> StoredLocation | None:
    """A location's data, None if there are none; refuses arrays that their record disowns."""
    record, arrays = DATA / f"{name}.toml", DATA / f"{name}.npz"
    if not (record.exists() and arrays.exists()):
        return None
    known = tomllib.loads(record.read_text(encoding="utf-8"))
    if known["arrays_sha256"] != hashlib.sha256(arrays.read_bytes()).hexdigest():
        raise ValueError(f"{arrays.name} is not what {record.name} says; build it anew")
    with np.load(arrays, allow_pickle=False) as found:
        held = {key: found[key] for key in found.files}
    mark = Fingerprint(tuple(held["materials"].tolist()), held["material_numbers"])
    return StoredLocation(known["sources_sha256"], mark, held)


def judged_blocks(
    luminance: NDArray[np.floating], shows_source: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Blocks that do not show the source and are not darker than a hundredth of their median."""
    lit = ~shows_source & (luminance > 0.0)
    if not lit.any():
        return np.asarray(lit)
    return np.asarray(lit & (luminance >= LEAST_OF_MEDIAN * np.median(luminance[lit])))
