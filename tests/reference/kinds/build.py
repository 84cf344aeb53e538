"""Render and store the readings of every kind of source.

    python -m tests.reference.kinds.build [KIND ...] [--error 0.003] [--max-chunks 16]

Goes on from what is stored unless the scenes changed; saves after every receptor.
"""

from __future__ import annotations

import argparse
import datetime as dt
import json
import os
import tomllib
from pathlib import Path
from typing import Any

import drjit
import mitsuba as mi
import numpy as np

mi.set_variant("scalar_rgb")  # the compiled variants fail on some machines

from tests.reference.kinds import scenes  # noqa: E402
from tests.reference.witness.receptors import (  # noqa: E402
    RR_DEPTH,
    Estimate,
    pooled,
    read,
    white_square,
)

DATA = Path(__file__).parent / "data"
SAMPLES_PER_BATCH = 16
CHUNK = 4096 * SAMPLES_PER_BATCH


def main() -> None:
    """Build the kinds asked for, all if none is."""
    parser = argparse.ArgumentParser(description="Readings of every kind of source.")
    parser.add_argument("kinds", nargs="*", metavar="KIND", help=", ".join(scenes.KINDS))
    parser.add_argument("--error", type=float, default=0.003, help="relative")
    parser.add_argument("--max-chunks", type=int, default=16, help="of 65 536 samples")
    options = parser.parse_args()
    os.nice(max(0, 10 - os.nice(0)))
    drjit.set_thread_count(1)
    mi.set_log_level(mi.LogLevel.Error)
    mi.logger().clear_appenders()  # type: ignore[operator]  # no progress bars
    arrays = _stored()
    for kind in options.kinds or scenes.KINDS:
        for r, receptor in enumerate(scenes.receptors()):
            at = scenes.KINDS.index(kind), r
            _refine(arrays, at, receptor, options)
            _save(arrays, options)
            mean, error = arrays["mean_lx"][at], arrays["standard_error_lx"][at]
            print(f"{kind:6s} {receptor.name:12s} {mean:10.2f} +- {error:.2f} lx", flush=True)


def _refine(arrays: dict[str, Any], at: tuple[int, int], receptor: Any, options: Any) -> None:
    scene = mi.load_dict({**scenes.scene(scenes.KINDS[at[0]]), "receptor": white_square(receptor)})
    while True:
        done = int(arrays["samples"][at])
        mean, error = arrays["mean_lx"][at], arrays["standard_error_lx"][at]
        if done // CHUNK >= options.max_chunks or (done and error <= options.error * mean):
            return
        seed = (at[0] * 64 + at[1]) * 1024 + done // CHUNK
        new = read(
            scene, receptor, samples_per_batch=SAMPLES_PER_BATCH, direct_only=False, seed=seed
        )
        if done:
            new = pooled(Estimate(np.full(3, mean), np.full(3, error), done), new)
        arrays["mean_lx"][at] = new.mean[0]
        arrays["standard_error_lx"][at] = new.standard_error[0]
        arrays["samples"][at] = new.samples


def _stored() -> dict[str, Any]:
    record, arrays = DATA / "readings.toml", DATA / "readings.npz"
    if record.exists() and arrays.exists():
        known = tomllib.loads(record.read_text(encoding="utf-8"))
        if known["scenes_sha256"] == scenes.checksum():
            with np.load(arrays, allow_pickle=False) as found:
                return {key: found[key] for key in found.files}
    shape = (len(scenes.KINDS), len(scenes.receptors()))
    return {
        "kinds": np.array(scenes.KINDS),
        "names": np.array([receptor.name for receptor in scenes.receptors()]),
        "points_m": np.array([receptor.point() for receptor in scenes.receptors()]),
        "normals": np.array([receptor.normal for receptor in scenes.receptors()], float),
        "mean_lx": np.zeros(shape),
        "standard_error_lx": np.zeros(shape),
        "samples": np.zeros(shape, np.int64),
    }


def _save(arrays: dict[str, Any], options: Any) -> None:
    DATA.mkdir(exist_ok=True)
    new = DATA / "readings.npz.new"
    with open(new, "wb") as file:
        np.savez_compressed(file, **arrays)
    os.replace(new, DATA / "readings.npz")
    record = {
        "who": "falloff maintainers",
        "when": dt.datetime.now(dt.UTC).strftime("%Y-%m-%d"),
        "how": "python -m tests.reference.kinds.build",
        "renderer": f"Mitsuba {mi.__version__}, {mi.variant()}",
        "integrator": "path, max_depth -1",
        "rr_depth": RR_DEPTH,
        "relative_error_aim": options.error,
        "max_chunks": options.max_chunks,
        "chunk_samples": CHUNK,
        "scenes_sha256": scenes.checksum(),
    }
    lines = (f"{key} = {json.dumps(value)}\n" for key, value in record.items())
    (DATA / "readings.toml").write_text("".join(lines), encoding="utf-8")


if __name__ == "__main__":
    main()
