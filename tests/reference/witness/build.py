"""Render and store the witness: checks, readings, what blocks show, and pictures.

    python -m tests.reference.witness.build [PART ...] [options]

Parts: checks, readings, contents, SOFTBOX, WINDOW, BEAM, GLOBE, BEAM_particles (default: all, in
this order). It goes on from what is stored, saves as it goes, and may be stopped at any time.
"""

from __future__ import annotations

import argparse
import math
import os
import time
from typing import Any

import drjit
import mitsuba as mi
import numpy as np

mi.set_variant("scalar_rgb")  # the compiled variants fail on some machines

from tests.reference.witness import checks, pictures, store  # noqa: E402
from tests.reference.witness import receptors as plain_receptors  # noqa: E402
from tests.reference.witness.receptors import Estimate, Receptor  # noqa: E402
from tests.reference.witness.sources import SOURCES  # noqa: E402

PARTS = ("checks", "readings", "contents", "SOFTBOX", "WINDOW", "BEAM", "GLOBE", "BEAM_particles")
SAMPLES_PER_BATCH = 64
LEAST_CHUNKS = 4
LEAST_PASSES = 16
PASSES_BETWEEN_SAVES = 8
PARTICLE_AIM = 2.0  # a second opinion need not be as sharp as the first


def main() -> None:
    """Build the parts asked for."""
    options = _options()
    os.nice(max(0, 10 - os.nice(0)))
    drjit.set_thread_count(options.threads)
    mi.set_log_level(mi.LogLevel.Error)
    mi.logger().clear_appenders()  # type: ignore[operator]  # no progress bars
    for part in options.parts or PARTS:
        started = time.monotonic()
        _build(part, options)
        print(f"{part}: {time.monotonic() - started:.0f} s", flush=True)


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("parts", nargs="*", metavar="PART", help=", ".join(PARTS))
    parser.add_argument("--threads", type=int, default=1)
    parser.add_argument("--spp", type=int, default=16, help="samples per pixel in one pass")
    parser.add_argument("--block-error", type=float, default=0.05, help="stop, 99th percentile")
    parser.add_argument("--max-passes", type=int, default=512, help="at most 1016")
    parser.add_argument("--reading-error", type=float, default=0.0015, help="relative")
    parser.add_argument("--max-chunks", type=int, default=128, help="of 262 144 samples")
    options = parser.parse_args()
    unknown = [part for part in options.parts if part not in PARTS]
    if unknown:
        parser.error(f"unknown part {unknown[0]!r}; expected one of {', '.join(PARTS)}")
    return options


def _build(part: str, options: argparse.Namespace) -> None:
    if part == "checks":
        _build_checks()
    elif part == "readings":
        _build_readings(options)
    elif part == "contents":
        _build_contents()
    elif part == "BEAM_particles":
        options.block_error *= PARTICLE_AIM
        _build_picture("BEAM", "ptracer", options)
        options.block_error /= PARTICLE_AIM
    else:
        _build_picture(part, "path", options)


def _build_checks() -> None:
    done = checks.run_checks()
    store.save(
        "checks",
        {
            "names": np.array([check.name for check in done]),
            "sources": np.array([check.source for check in done]),
            "expected_lx": np.array([check.expected_lx for check in done]),
            "mean_lx": np.array([check.found.mean for check in done]),
            "standard_error_lx": np.array([check.found.standard_error for check in done]),
        },
        {"samples": done[0].found.samples, "rr_depth": plain_receptors.RR_DEPTH},
    )
    for check in done:
        found, error = check.found.mean[0], check.found.standard_error[0]
        print(
            f"  {check.name:26s} expected {check.expected_lx:10.3f}  found {found:10.3f} "
            f"+- {error:.3f}",
            flush=True,
        )


def _build_readings(options: argparse.Namespace) -> None:
    all_receptors = plain_receptors.receptors()
    arrays = store.load("readings") or _no_readings(all_receptors)
    for s, lit in enumerate(SOURCES):
        for r, receptor in enumerate(all_receptors):
            for direct in (False, True):
                _refine(arrays, (s, r), receptor, direct, options)
            store.save("readings", arrays, _reading_settings(options))
            print(
                f"  {lit:8s} {receptor.name:20s} {arrays['mean_lx'][s, r, 0]:9.3f} "
                f"+- {arrays['standard_error_lx'][s, r, 0]:.3f} lx, direct "
                f"{arrays['direct_mean_lx'][s, r, 0]:9.3f} "
                f"+- {arrays['direct_standard_error_lx'][s, r, 0]:.3f}",
                flush=True,
            )


def _no_readings(all_receptors: tuple[Receptor, ...]) -> dict[str, Any]:
    shape = (len(SOURCES), len(all_receptors))
    arrays: dict[str, Any] = {
        "names": np.array([receptor.name for receptor in all_receptors]),
        "points_m": np.array([receptor.point() for receptor in all_receptors]),
        "normals": np.array([receptor.normal for receptor in all_receptors], float),
        "sources": np.array(SOURCES),
    }
    for kind in ("", "direct_"):
        arrays[f"{kind}mean_lx"] = np.zeros((*shape, 3))
        arrays[f"{kind}standard_error_lx"] = np.zeros((*shape, 3))
        arrays[f"{kind}samples"] = np.zeros(shape, dtype=np.int64)
    return arrays


def _refine(
    arrays: dict[str, Any],
    at: tuple[int, int],
    receptor: Receptor,
    direct: bool,
    options: argparse.Namespace,
) -> None:
    """Add chunks of samples until the error is small against the *total*, or the cap is met."""
    kind = "direct_" if direct else ""
    keys = [f"{kind}{key}" for key in ("mean_lx", "standard_error_lx", "samples")]
    chunk = 4096 * SAMPLES_PER_BATCH
    scene = plain_receptors.receptor_scene(receptor, SOURCES[at[0]])
    have = Estimate(arrays[keys[0]][at], arrays[keys[1]][at], int(arrays[keys[2]][at]))
    while not _good_enough(have, arrays["mean_lx"][at], have.samples // chunk, options):
        place = (at[1] * len(SOURCES) + at[0]) * 2 + direct
        new = plain_receptors.read(
            scene,
            receptor,
            samples_per_batch=SAMPLES_PER_BATCH,
            direct_only=direct,
            seed=place * 1024 + have.samples // chunk,
        )
        have = plain_receptors.pooled(have, new) if have.samples else new
        for key, value in zip(keys, (have.mean, have.standard_error, have.samples), strict=True):
            arrays[key][at] = value


def _good_enough(have: Estimate, total: Any, chunks: int, options: argparse.Namespace) -> bool:
    if chunks < LEAST_CHUNKS:
        return False
    bar = options.reading_error * np.maximum(total, 1e-12)
    return chunks >= options.max_chunks or bool(np.all(have.standard_error <= bar))


def _reading_settings(options: argparse.Namespace) -> dict[str, Any]:
    return {
        "integrator": "path, max_depth -1; direct part: max_depth 2",
        "rr_depth": plain_receptors.RR_DEPTH,
        "sampler": "independent",
        "chunk_samples": 4096 * SAMPLES_PER_BATCH,
        "relative_error_aim": options.reading_error,
        "max_chunks": options.max_chunks,
        "receptor": "white square 2 mm, 1 mm off the surface, pi times its radiance",
    }


def _build_contents() -> None:
    if store.load("block_contents") is not None:
        return
    names, shares = pictures.contents()
    store.save(
        "block_contents",
        {"names": np.array(names), "shares": shares.astype(np.float16)},
        {"rays_per_pixel": pictures.RAYS_ACROSS_PIXEL**2, "block_pixels": pictures.BLOCK},
    )


def _build_picture(lit: str, integrator: str, options: argparse.Namespace) -> None:
    _build_contents()
    kinds = store.load("block_contents")
    assert kinds is not None, "just stored"
    things, shares = kinds["names"].tolist(), kinds["shares"].astype(float)
    judged = pictures.judged(lit, things, shares)
    name = f"blocks_{lit}" + ("_particles" if integrator == "ptracer" else "")
    blocks = _stored_blocks(name, options)
    settings = {"samples_per_pass": options.spp, "integrator": integrator}
    painters = {
        region.name: (region, pictures.Painter(lit, region, **settings))
        for region in pictures.regions(integrator, shares[:, :, things.index("solid")])
    }
    while True:
        lack = {
            key: _error_over_aim(blocks, judged & region.serves, options)
            for key, (region, _) in painters.items()
        }
        noisiest = max(lack, key=lambda key: lack[key])
        if lack[noisiest] <= 1.0:
            return
        region, painter = painters[noisiest]
        for _ in range(PASSES_BETWEEN_SAVES):
            blocks = blocks.with_pass(painter.paint(int(blocks.passes[region.serves][0])), region)
        store.save(name, _block_arrays(blocks, options), _picture_settings(integrator, options))
        _tell(name, noisiest, blocks, region.serves, judged)


def _tell(name: str, region: str, blocks: pictures.Blocks, serves: Any, judged: Any) -> None:
    middle, last = np.quantile(blocks.error_stop(judged & serves), [0.5, 0.99])
    passes = int(blocks.passes[serves][0])
    print(
        f"  {name}, {region}, {passes} passes: "
        f"block error median {middle:.4f}, p99 {last:.4f} stop",
        flush=True,
    )


def _error_over_aim(blocks: pictures.Blocks, judged: Any, options: argparse.Namespace) -> float:
    """99th percentile of a region's block error over the error aimed at; 0 at the cap."""
    passes = int(blocks.passes[judged][0])
    if passes < LEAST_PASSES:
        return math.inf
    if passes >= options.max_passes:
        return 0.0
    return float(np.quantile(blocks.error_stop(judged), 0.99)) / float(options.block_error)


def _stored_blocks(name: str, options: argparse.Namespace) -> pictures.Blocks:
    arrays = store.load(name)
    if arrays is None:
        return pictures.empty()
    if int(arrays["samples_per_pass"]) != options.spp:
        raise store.StaleDataError(
            f"{name} was begun with --spp {int(arrays['samples_per_pass'])}, not {options.spp}: "
            "passes must be alike; go on with that number, or delete the file."
        )
    mean, variance = arrays["mean"].astype(float), arrays["variance"].astype(float)
    return pictures.Blocks(mean, variance, arrays["passes"].astype(np.int64))


def _block_arrays(blocks: pictures.Blocks, options: argparse.Namespace) -> dict[str, Any]:
    return {
        "mean": blocks.mean.astype(np.float32),
        "variance": blocks.variance.astype(np.float32),
        "passes": blocks.passes.astype(np.int16),
        "samples_per_pass": np.int64(options.spp),
    }


def _picture_settings(integrator: str, options: argparse.Namespace) -> dict[str, Any]:
    return {
        "integrator": f"{integrator}, max_depth -1",
        "rr_depth": plain_receptors.RR_DEPTH,
        "rr_depth_about_the_solid": pictures.RR_DEPTH_SOLID if integrator == "path" else 0,
        "sampler": pictures.SAMPLER,
        "spp_per_pass": options.spp,
        "block_error_aim_stop": options.block_error,
        "block_pixels": pictures.BLOCK,
    }


if __name__ == "__main__":
    main()
