"""Render and store the witness of the three locations.

    python -m tests.reference.locations.build [LOCATION ...] [--minutes 12] [options]

Goes on from what is stored unless geometry or sources changed; saves every few passes and may be
stopped at any time. The picture that wants fewest passes more to meet its aim goes first.
"""

from __future__ import annotations

import argparse
import datetime as dt
import hashlib
import json
import os
import time
from typing import Any

import drjit
import mitsuba as mi
import numpy as np
from numpy.typing import NDArray

mi.set_variant("scalar_rgb")  # the compiled variants fail on some machines

from tests.reference.locations import load, scenes  # noqa: E402
from tests.reference.locations.sources import LIGHTS  # noqa: E402
from tests.reference.witness import pictures, receptors  # noqa: E402

from falloff.constants import LUMINANCE_WEIGHTS  # noqa: E402

READING_BATCH = 16
CHUNK = receptors.BATCHES_ACROSS**2 * READING_BATCH
LEAST_CHUNKS = 2
SEEN_SAMPLES = 64  # a pixel, of what shines in view
LEAST_PASSES = 16
PASSES_BETWEEN_SAVES = 16
# A path from the camera seldom finds a lamp's own cavity; particles from the lamp do, with a ninth
# to a third of the work. The two agree where both were run (README.md).
PARTICLES = {"REFRIGERATOR LAMP", "HOOD LAMP", "MOON"}
WHOLE = pictures.Region(
    "whole",
    slice(0, scenes.ROWS),
    slice(0, scenes.COLUMNS),
    np.ones((scenes.ROWS, scenes.COLUMNS), np.bool_),
    receptors.RR_DEPTH,
)


def main() -> None:
    """Build the locations asked for, all if none is."""
    parser = argparse.ArgumentParser(description="The witness of the three locations.")
    parser.add_argument("locations", nargs="*", metavar="LOCATION")
    parser.add_argument(
        "--minutes", type=float, default=12.0, help="of one core, for each location"
    )
    parser.add_argument("--spp", type=int, default=16, help="samples per pixel in one pass")
    parser.add_argument("--block-error", type=float, default=0.05, help="stop, 99th percentile")
    parser.add_argument("--reading-error", type=float, default=0.008, help="relative")
    parser.add_argument("--max-chunks", type=int, default=16, help="of 65 536 samples")
    options = parser.parse_args()
    unknown = [name for name in options.locations if name not in scenes.LOCATIONS]
    if unknown:
        parser.error(f"unknown {unknown[0]!r}; expected one of {', '.join(scenes.LOCATIONS)}")
    os.nice(max(0, 10 - os.nice(0)))
    drjit.set_thread_count(1)
    mi.set_log_level(mi.LogLevel.Error)
    mi.logger().clear_appenders()  # type: ignore[operator]  # no progress bars
    for name in options.locations or scenes.LOCATIONS:
        _build(name, options)


def _build(name: str, options: argparse.Namespace) -> None:
    until = time.process_time() + 60.0 * options.minutes
    arrays = _stored(name, options)
    for s, source in enumerate(arrays["sources"].tolist()):
        _read_all(name, s, source, arrays, options, most=LEAST_CHUNKS)
    for s, source in enumerate(arrays["sources"].tolist()):
        _read_all(name, s, source, arrays, options, most=options.max_chunks)
        if not arrays["passes"][s]:
            arrays["shows_source"][s] = _shows_source(name, source)
        _save(name, arrays, options)
    painters = [_Painter(name, s, source) for s, source in enumerate(arrays["sources"].tolist())]
    while time.process_time() < until:
        wanting = [_passes_wanting(arrays, s, options) for s in range(len(painters))]
        if max(wanting) <= 0.0:
            return
        s = min((one for one, more in enumerate(wanting) if more > 0.0), key=wanting.__getitem__)
        blocks = _blocks(arrays, s)
        for _ in range(PASSES_BETWEEN_SAVES):
            new = painters[s].paint(int(arrays["passes"][s]), options.spp)
            blocks = blocks.with_pass(new, WHOLE)
            arrays["passes"][s] += 1
        arrays["mean"][s], arrays["variance"][s] = blocks.mean, blocks.variance
        _save(name, arrays, options)
        middle, last = np.quantile(_errors(arrays, s), [0.5, 0.99])
        print(
            f"{name} {painters[s].source}, {int(arrays['passes'][s])} passes: block error "
            f"median {middle:.4f}, 99 % {last:.4f} stop",
            flush=True,
        )


# Readings --------------------------------------------------------------------------------


def _read_all(
    name: str,
    s: int,
    source: str,
    arrays: dict[str, Any],
    options: argparse.Namespace,
    *,
    most: int,
) -> None:
    """A source's readings; past the first chunks only those of which it gives some share."""
    scene = None
    for r, receptor in enumerate(scenes.location_receptors(name)):
        while True:
            done = int(arrays["samples"][s, r])
            mean, error = arrays["mean_lx"][s, r], arrays["standard_error_lx"][s, r]
            sharp = bool(np.all(error <= options.reading_error * mean))
            chunks = done // CHUNK
            all_of_it = arrays["mean_lx"][:, r].sum(0)
            small = bool(np.all(mean < 0.75 * load.LEAST_SHARE * all_of_it))
            if chunks >= most or (chunks >= LEAST_CHUNKS and (sharp or small)):
                break
            if scene is None:
                scene = mi.load_dict(scenes.location_scene(name, source, receptors=True))
            _sees_its_square(scene, receptor)
            new = receptors.read(
                scene,
                receptor,
                samples_per_batch=READING_BATCH,
                direct_only=False,
                seed=(s * 64 + r) * 1024 + chunks,
            )
            if done:
                new = receptors.pooled(receptors.Estimate(mean, error, done), new)
            arrays["mean_lx"][s, r] = new.mean
            arrays["standard_error_lx"][s, r] = new.standard_error
            arrays["samples"][s, r] = new.samples
        if most > LEAST_CHUNKS:
            print(
                f"{name} {source}, {receptor.name}: {arrays['mean_lx'][s, r, 1]:.4g} "
                f"± {arrays['standard_error_lx'][s, r, 1]:.2g} lx",
                flush=True,
            )


def _sees_its_square(scene: Any, receptor: receptors.Receptor) -> None:
    """Refuse a reading whose square is hidden from the eye above it, by a lock of hair say."""
    normal = np.array(receptor.normal)
    eye = receptor.point() + receptors.EYE_ABOVE_M * normal
    hit = scene.ray_intersect(mi.Ray3f(eye.tolist(), (-normal).tolist()))
    assert abs(float(hit.t) - receptors.EYE_ABOVE_M) < 1e-4, f"{receptor.name} is hidden"


# Pictures --------------------------------------------------------------------------------


class _Painter:
    """One source's scene, ready to render passes; loaded when first wanted."""

    def __init__(self, name: str, s: int, source: str) -> None:
        self.source = source
        self._name, self._s, self._scene = name, s, None

    def paint(self, number: int, spp: int) -> NDArray[np.float64]:
        """Block means of luminance and three channels, (rows, columns, 4)."""
        if self._scene is None:
            self._scene = mi.load_dict(scenes.location_scene(self._name, self.source))
        seed = (64 + self._s) * 65_536 + number
        picture = _render(
            self._name, self._scene, spp, seed, depth=-1, integrator=_integrator_of(self.source)
        )
        luminance = picture @ np.array(LUMINANCE_WEIGHTS)
        return pictures.block_means(np.concatenate([luminance[..., None], picture], axis=2))


def _integrator_of(source: str) -> str:
    return "ptracer" if source in PARTICLES else "path"


def _render(
    name: str, scene: Any, spp: int, seed: int, *, depth: int, integrator: str
) -> NDArray[np.float64]:
    """The picture's whole rows of blocks, (132, 240, 3)."""
    picture = mi.render(
        scene,
        sensor=mi.load_dict(scenes.location_camera(name, scenes.PICTURE, spp=spp)),
        integrator=mi.load_dict(
            {"type": integrator, "max_depth": depth, "rr_depth": receptors.RR_DEPTH}
        ),
        spp=spp,
        seed=mi.UInt32(seed),
    )
    return np.array(picture, dtype=np.float64)[: scenes.ROWS * scenes.BLOCK]


def _shows_source(name: str, source: str) -> NDArray[np.bool_]:
    """Blocks in which the lit source itself is seen."""
    scene = mi.load_dict(scenes.location_scene(name, source))
    picture = _render(name, scene, SEEN_SAMPLES, 1, depth=1, integrator="path")
    return np.asarray(pictures.block_means(picture).max(axis=2) > 0.0)


def _blocks(arrays: dict[str, Any], s: int) -> pictures.Blocks:
    passes = np.full((scenes.ROWS, scenes.COLUMNS), arrays["passes"][s], np.int64)
    return pictures.Blocks(arrays["mean"][s], arrays["variance"][s], passes)


def _errors(arrays: dict[str, Any], s: int) -> NDArray[np.float64]:
    judged = load.judged_blocks(arrays["mean"][s, ..., 0], arrays["shows_source"][s])
    return _blocks(arrays, s).error_stop(judged)


def _passes_wanting(arrays: dict[str, Any], s: int, options: argparse.Namespace) -> float:
    """About how many passes more until the 99th percentile of the block error is as aimed at."""
    passes = float(arrays["passes"][s])
    if passes < LEAST_PASSES:
        return LEAST_PASSES - passes
    lack = float(np.quantile(_errors(arrays, s), 0.99)) / float(options.block_error)
    return passes * (lack**2 - 1.0)


# Files -----------------------------------------------------------------------------------


def _stored(name: str, options: argparse.Namespace) -> dict[str, Any]:
    """What there is of this very geometry and these sources, or nothing yet."""
    known = load.load_location(name)
    mine = scenes.fingerprint(name)
    if known is not None:
        same = known.fingerprint.agrees(mine) and known.sources_sha256 == scenes.sources_checksum(
            name
        )
        points = np.array([one.point() for one in scenes.location_receptors(name)])
        same = same and bool(np.abs(known.arrays["points_m"] - points).max() <= 1e-5)
        if same and int(known.arrays["samples_per_pass"]) == options.spp:
            kept = dict(known.arrays)
            for key in ("mean", "variance"):
                kept[key] = kept[key].astype(np.float64)
            now = np.array([_integrator_of(source) for source in kept["sources"].tolist()])
            kept["passes"] = np.where(kept["integrators"] == now, kept["passes"], 0)
            kept["integrators"] = now
            return kept
        print(f"{name}: stored data are of another scene or another --spp; begun anew", flush=True)
    names = tuple(LIGHTS[name])
    probes = scenes.location_receptors(name)
    count, readings = len(names), len(probes)
    blocks = (count, scenes.ROWS, scenes.COLUMNS)
    return {
        "sources": np.array(names),
        "integrators": np.array([_integrator_of(source) for source in names]),
        "materials": np.array(mine.materials),
        "material_numbers": mine.numbers,
        "names": np.array([probe.name for probe in probes]),
        "points_m": np.array([probe.point() for probe in probes]),
        "normals": np.array([probe.normal for probe in probes], float),
        "mean_lx": np.zeros((count, readings, 3)),
        "standard_error_lx": np.zeros((count, readings, 3)),
        "samples": np.zeros((count, readings), np.int64),
        "mean": np.zeros((*blocks, 4)),
        "variance": np.zeros((*blocks, 4)),
        "passes": np.zeros(count, np.int64),
        "samples_per_pass": np.int64(options.spp),
        "shows_source": np.zeros(blocks, np.bool_),
    }


def _save(name: str, arrays: dict[str, Any], options: argparse.Namespace) -> None:
    load.DATA.mkdir(exist_ok=True)
    kept = dict(arrays)
    for key in ("mean", "variance"):
        kept[key] = kept[key].astype(np.float32)
    new = load.DATA / f"{name}.npz.new"
    with open(new, "wb") as file:
        np.savez_compressed(file, **kept)
    reached = {
        source: round(float(np.quantile(_errors(arrays, s), 0.99)), 4) if arrays["passes"][s] else 0
        for s, source in enumerate(arrays["sources"].tolist())
    }
    record = {
        "who": "falloff maintainers",
        "when": dt.datetime.now(dt.UTC).strftime("%Y-%m-%d"),
        "how": "python -m tests.reference.locations.build",
        "renderer": f"Mitsuba {mi.__version__}, {mi.variant()}",
        "integrator_of_readings": "path, max_depth -1",
        "integrators_of_pictures": arrays["integrators"].tolist(),
        "rr_depth": receptors.RR_DEPTH,
        "sampler": "independent",
        "picture_pixels": list(scenes.PICTURE),
        "block_pixels": scenes.BLOCK,
        "spp_per_pass": options.spp,
        "passes": arrays["passes"].tolist(),
        "block_error_aim_stop": options.block_error,
        "block_error_reached_stop": list(reached.values()),
        "reading_relative_error_aim": options.reading_error,
        "reading_chunk_samples": CHUNK,
        "columns": "luminance and three linear channels, cd/m²",
        "sources_sha256": scenes.sources_checksum(name),
        "arrays_sha256": hashlib.sha256(new.read_bytes()).hexdigest(),
    }
    lines = (f"{key} = {json.dumps(value)}\n" for key, value in record.items())
    (load.DATA / f"{name}.toml.new").write_text("".join(lines), encoding="utf-8")
    os.replace(new, load.DATA / f"{name}.npz")
    os.replace(load.DATA / f"{name}.toml.new", load.DATA / f"{name}.toml")


if __name__ == "__main__":
    main()
