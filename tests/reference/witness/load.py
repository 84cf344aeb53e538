"""The stored witness as plain records: readings, picture blocks and the checks of the renderer.

Needs numpy only. Illuminance in lx, luminance in cd/m2, three channels, positions in metres.
"""

from __future__ import annotations

import hashlib
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

DATA = Path(__file__).parent / "data"
SOURCES = ("WINDOW", "SOFTBOX", "BEAM", "GLOBE")
EMITTER_OF = {"WINDOW": "sky", "SOFTBOX": "soft_box_front", "BEAM": "", "GLOBE": "globe"}

FloatArray = NDArray[np.float64]


class WitnessDataError(ValueError):
    """Stored data that are not what their record says."""


@dataclass(frozen=True, slots=True)
class Illuminance:
    """Mean of three channels, (3,), and its standard error, (3,), in lx."""

    mean_lx: FloatArray
    standard_error_lx: FloatArray
    samples: int


@dataclass(frozen=True, slots=True)
class Reading:
    """One flat receptor: name, point (1 mm off its surface), unit normal; per source its light.

    total and direct map a source's name to what that source alone gives; total is direct and
    bounced together. The two come from separate samples.
    """

    name: str
    point_m: FloatArray
    normal: FloatArray
    total: dict[str, Illuminance]
    direct: dict[str, Illuminance]


@dataclass(frozen=True, slots=True)
class BlockContents:
    """Share of each block of 6 x 6 pixels filled by each thing: (rows, columns, things).

    Row 0 is the top of the picture. "sky" is what is seen out of the window.
    """

    things: tuple[str, ...]
    shares: FloatArray

    def share_of(self, thing: str) -> FloatArray:
        """Share of every block that a thing fills, (rows, columns).

        Raises WitnessDataError for a thing that is not in the room.
        """
        if thing not in self.things:
            raise WitnessDataError(
                f"no thing called {thing!r}; expected one of {', '.join(self.things)}"
            )
        return np.asarray(self.shares[:, :, self.things.index(thing)])

    def emitter_share(self, source: str) -> FloatArray:
        """Share of every block in which the lit source itself is seen, (rows, columns)."""
        emitter = EMITTER_OF[source]
        return self.share_of(emitter) if emitter else np.zeros(self.shares.shape[:2])

    def black_share(self, source: str) -> FloatArray:
        """Share of every block filled by what gives and reflects nothing when `source` is lit."""
        black = [t for name, t in EMITTER_OF.items() if t and name != source]
        return np.asarray(sum(self.share_of(thing) for thing in black))

    def has_edge(self) -> NDArray[np.bool_]:
        """Blocks in which more than one thing is seen, (rows, columns)."""
        return np.asarray(self.shares.max(axis=2) < 0.999)


@dataclass(frozen=True, slots=True)
class Blocks:
    """Block means of one source's picture and the variance of each mean, (rows, columns, 3).

    Luminance in cd/m2 and its square; row 0 is the top. The variance of a block is estimated from
    its passes, (rows, columns), each of samples_per_pass samples per pixel.
    """

    source: str
    mean_cd_m2: FloatArray
    variance_cd2_m4: FloatArray
    passes: NDArray[np.int64]
    samples_per_pass: int


@dataclass(frozen=True, slots=True)
class Check:
    """An illuminance known beforehand, where it comes from, and what the renderer gave."""

    name: str
    expected_lx: float
    source: str
    mean_lx: float
    standard_error_lx: float


def load_readings() -> tuple[Reading, ...]:
    """All twelve receptors. Raises WitnessDataError if a file is missing or changed."""
    arrays, _ = _arrays("readings")
    sources = [str(name) for name in arrays["sources"]]
    return tuple(
        Reading(
            name=str(arrays["names"][i]),
            point_m=arrays["points_m"][i],
            normal=arrays["normals"][i],
            total={s: _illuminance(arrays, "", k, i) for k, s in enumerate(sources)},
            direct={s: _illuminance(arrays, "direct_", k, i) for k, s in enumerate(sources)},
        )
        for i in range(len(arrays["names"]))
    )


def load_blocks(source: str, *, particles: bool = False) -> Blocks:
    """Blocks of one source's picture; by the particle tracer instead, for BEAM, if asked.

    Raises WitnessDataError for an unknown source, a missing file or a changed one.
    """
    if source not in SOURCES:
        raise WitnessDataError(f"no source called {source!r}; expected one of {SOURCES}")
    arrays, _ = _arrays(f"blocks_{source}" + ("_particles" if particles else ""))
    return Blocks(
        source=source,
        mean_cd_m2=arrays["mean"].astype(np.float64),
        variance_cd2_m4=arrays["variance"].astype(np.float64),
        passes=arrays["passes"].astype(np.int64),
        samples_per_pass=int(arrays["samples_per_pass"]),
    )


def load_block_contents() -> BlockContents:
    """What every block shows."""
    arrays, _ = _arrays("block_contents")
    things = tuple(str(name) for name in arrays["names"])
    return BlockContents(things, arrays["shares"].astype(np.float64))


def load_checks() -> tuple[Check, ...]:
    """The renderer against closed forms, first channel."""
    arrays, _ = _arrays("checks")
    return tuple(
        Check(
            name=str(arrays["names"][i]),
            expected_lx=float(arrays["expected_lx"][i]),
            source=str(arrays["sources"][i]),
            mean_lx=float(arrays["mean_lx"][i, 0]),
            standard_error_lx=float(arrays["standard_error_lx"][i, 0]),
        )
        for i in range(len(arrays["names"]))
    )


def load_record(name: str) -> dict[str, Any]:
    """Provenance of data/NAME.npz: who, when, how, renderer, settings and checksums."""
    return _arrays(name)[1]


def _illuminance(arrays: dict[str, Any], kind: str, source: int, receptor: int) -> Illuminance:
    return Illuminance(
        mean_lx=arrays[f"{kind}mean_lx"][source, receptor],
        standard_error_lx=arrays[f"{kind}standard_error_lx"][source, receptor],
        samples=int(arrays[f"{kind}samples"][source, receptor]),
    )


def _arrays(name: str) -> tuple[dict[str, Any], dict[str, Any]]:
    path, record_path = DATA / f"{name}.npz", DATA / f"{name}.toml"
    for needed in (path, record_path):
        if not needed.exists():
            raise WitnessDataError(
                f"{needed.name} is missing from {DATA}: "
                "run python -m tests.reference.witness.build to make it"
            )
    record = tomllib.loads(record_path.read_text(encoding="utf-8"))
    found = hashlib.sha256(path.read_bytes()).hexdigest()
    if found != record["arrays_sha256"]:
        raise WitnessDataError(
            f"{path.name} is not the file its record describes: expected SHA-256 "
            f"{record['arrays_sha256'][:12]}..., found {found[:12]}...; "
            "restore both files, or delete both and build them anew"
        )
    with np.load(path, allow_pickle=False) as stored:
        return {key: _read_only(stored[key]) for key in stored.files}, record


def _read_only(array: Any) -> Any:
    array.setflags(write=False)
    return array
