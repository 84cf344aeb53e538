"""Files of the witness: compact arrays, each with a provenance record beside it."""

from __future__ import annotations

import datetime
import hashlib
import json
import os
from pathlib import Path
from typing import Any

import mitsuba as mi
import numpy as np
from tests.reference.witness import room

DATA = Path(__file__).parent / "data"


class StaleDataError(RuntimeError):
    """Stored data belong to another room than the one described now."""


def save(name: str, arrays: dict[str, Any], settings: dict[str, Any]) -> None:
    """Write data/NAME.npz and data/NAME.toml, the old pair staying whole until both are there."""
    DATA.mkdir(exist_ok=True)
    arrays_path, record_path = DATA / f"{name}.npz", DATA / f"{name}.toml"
    with open(f"{arrays_path}.new", "wb") as file:
        np.savez_compressed(file, **arrays)
    record = {
        "who": "falloff maintainers",
        "when": datetime.datetime.now(datetime.UTC).strftime("%Y-%m-%d"),
        "how": "python -m tests.reference.witness.build",
        "renderer": f"Mitsuba {mi.__version__}, {mi.variant()}",
        "geometry_sha256": room.checksum(),
        "arrays_sha256": hashlib.sha256(Path(f"{arrays_path}.new").read_bytes()).hexdigest(),
        **settings,
    }
    lines = (f"{key} = {json.dumps(value)}\n" for key, value in record.items())
    Path(f"{record_path}.new").write_text("".join(lines), encoding="utf-8")
    os.replace(f"{arrays_path}.new", arrays_path)
    os.replace(f"{record_path}.new", record_path)


def load(name: str) -> dict[str, Any] | None:
    """Arrays stored before, to go on from; None if there are none yet.

    Raises StaleDataError if they were made of another room.
    """
    import tomllib

    arrays_path, record_path = DATA / f"{name}.npz", DATA / f"{name}.toml"
    if not (arrays_path.exists() and record_path.exists()):
        return None
    record = tomllib.loads(record_path.read_text(encoding="utf-8"))
    if record["geometry_sha256"] != room.checksum():
        raise StaleDataError(
            f"{arrays_path.name} was made of another room (checksum "
            f"{record['geometry_sha256'][:12]}, now {room.checksum()[:12]}): "
            "delete the file to render it anew, or put the room back."
        )
    with np.load(arrays_path, allow_pickle=False) as arrays:
        return {key: arrays[key] for key in arrays.files}
