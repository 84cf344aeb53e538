"""Our trace of the witness's room against the witness: readings and blocks of pictures.

Source: tests/reference/witness, a path tracer that shares no code, format or exporter with ours.
Bars: readings within 0.05 stop; blocks of 6 × 6 pixels of 480 × 270 within 0.03 stop at the median
and 0.15 stop at the 99th percentile. Both are asked of the plain differences, noise of either side
included, which is stricter than asked. The tables printed (pytest -rP) tell the noise apart:
"judged" is √(d² − σ²), σ being the standard errors of both sides together and d the difference.

Left out of the blocks: those that show the lit source itself or what is black while it is lit (one
edge of a source outshines its block by thousands), and those darker than a thousandth of the
picture's median, of which there are none in this room. Nothing else.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest
from tests.reference.witness import load

from falloff.stage import Probe, Stage
from falloff.transport import (
    Budget,
    Solution,
    picture_bounced,
    picture_direct,
    trace,
    trace_probes,
    trace_view,
)
from falloff.types import Float64Array

SEEDS = (20, 77, 1234)
STOPS = 1.0 / math.log(2.0)


@dataclass(frozen=True, slots=True)
class Repeats:
    """What a few seeds give: readings (n, s, p, 3) lx, their direct part, and blocks' luminance."""

    names: tuple[str, ...]
    total_lx: Float64Array
    direct_lx: Float64Array
    error_lx: Float64Array
    blocks_nit: Float64Array


@pytest.fixture(scope="module")
def repeats(witness_stage: Stage, witness_probes: tuple[Probe, ...]) -> Repeats:
    """The room traced from nothing with each seed."""
    parts = [_trace_once(witness_stage, witness_probes, seed) for seed in SEEDS]
    return Repeats(
        tuple(source.name for source in witness_stage.sources),
        *(np.stack(arrays) for arrays in zip(*parts, strict=True)),
    )


def _trace_once(
    stage: Stage, probes: tuple[Probe, ...], seed: int
) -> tuple[Float64Array, Float64Array, Float64Array, Float64Array]:
    solution = trace(stage, Budget(seed=seed))
    light = trace_probes(solution, probes)
    whole = light.direct + light.bounced
    error = whole.std(-1, ddof=1) / math.sqrt(whole.shape[-1])
    return whole.mean(-1), light.direct.mean(-1), error, _blocks(solution)


def _blocks(solution: Solution) -> Float64Array:
    """Luminance of the blocks of every source's picture, (s, 45, 80, 3)."""
    stage = solution.stage
    seen = trace_view(solution, stage.views["CAMERA"], width=480, height=270)
    pictures = [
        picture_direct(seen, stage, s)
        + picture_bounced(seen, solution, solution.radiosity[s], solution.hot[s])
        for s in range(len(stage.sources))
    ]
    shape = (len(pictures), 45, 6, 80, 6, 3)
    return np.asarray(np.stack(pictures).astype(np.float64).reshape(shape).mean((2, 4)))


@pytest.mark.parametrize("source", load.SOURCES)
def test_readings(repeats: Repeats, source: str) -> None:
    """Every receptor, channel and seed within 0.05 stop of the witness."""
    s = repeats.names.index(source)
    print(f"\n{source:>28}    ours      ±  witness      ±   stops      z")
    for k, reading in enumerate(load.load_readings()):
        witness = reading.total[source]
        ours, error = repeats.total_lx[:, s, k], repeats.error_lx[:, s, k]
        stops = np.log2(ours / witness.mean_lx)
        z = (ours - witness.mean_lx) / np.hypot(error, witness.standard_error_lx)
        print(
            f"{reading.name:>28} {ours[0, 0]:7.2f} {error[0, 0]:6.2f} "
            f"{witness.mean_lx[0]:8.2f} {witness.standard_error_lx[0]:6.2f} "
            f"{stops[0, 0]:7.4f} {z[0, 0]:6.2f}"
        )
        assert np.abs(stops).max() <= 0.05, (reading.name, stops)


@pytest.mark.parametrize("source", load.SOURCES)
def test_readings_lean_neither_way(repeats: Repeats, source: str) -> None:
    """The mean over receptors and seeds is within 0.01 stop: no common factor is missing."""
    s = repeats.names.index(source)
    stops = [
        np.log2(repeats.total_lx[:, s, k] / reading.total[source].mean_lx)
        for k, reading in enumerate(load.load_readings())
    ]
    assert abs(float(np.mean(stops))) <= 0.01


@pytest.mark.parametrize("source", load.SOURCES)
def test_direct_part_of_readings(repeats: Repeats, source: str) -> None:
    """Direct light alone within 0.05 stop where it is a hundredth of the reading or more."""
    s = repeats.names.index(source)
    for k, reading in enumerate(load.load_readings()):
        witness, total = reading.direct[source], reading.total[source]
        ours = repeats.direct_lx[:, s, k].mean(0)
        room = 4.0 * witness.standard_error_lx + 0.01 * total.mean_lx
        close = np.abs(ours - witness.mean_lx) <= (2.0**0.05 - 1.0) * witness.mean_lx + room
        assert close.all(), (reading.name, ours, witness.mean_lx)


@pytest.mark.parametrize("source", load.SOURCES)
def test_blocks(repeats: Repeats, source: str) -> None:
    """Median ≤ 0.03 and 99th percentile ≤ 0.15 stop, each seed by itself, first channel."""
    witness, contents = load.load_blocks(source), load.load_block_contents()
    mean = witness.mean_cd_m2[..., 0]
    kept = (contents.black_share(source) == 0.0) & (contents.emitter_share(source) == 0.0)
    dark = kept & ~(mean > 1e-3 * np.median(mean[kept]))
    assert not dark.any(), f"{int(dark.sum())} blocks of the witness hold nothing"
    ours = repeats.blocks_nit[:, repeats.names.index(source), ..., 0][:, kept]
    stops = np.log2(ours / mean[kept])
    error = STOPS * np.sqrt(witness.variance_cd2_m4[..., 0][kept]) / mean[kept]
    own = STOPS * ours.std(0, ddof=1) / ours.mean(0)
    size = np.abs(stops)
    judged = np.sqrt(np.maximum(0.0, stops**2 - error**2 - own**2))
    z = stops.mean(0) / np.hypot(error, own / math.sqrt(len(SEEDS)))
    print(f"\n{source}: {int(kept.sum())} blocks; stops, one number a seed")
    for label, values in (("plain", size), ("judged", judged)):
        print(
            f"{label:>8}: median {np.median(values, 1).round(4)}, "
            f"99 % {np.quantile(values, 0.99, axis=1).round(4)}, greatest {values.max(1).round(3)}"
        )
    print(
        f"    mean {stops.mean(1).round(4)}; noise at the median: ours {np.median(own):.4f}, "
        f"witness {np.median(error):.4f}; |z| at the median {np.median(np.abs(z)):.2f}"
    )
    assert np.median(size, axis=1).max() <= 0.03
    assert np.quantile(size, 0.99, axis=1).max() <= 0.15
    # No common factor is missing: the picture as a whole, over seeds.
    assert abs(float(stops.mean())) <= 0.02


def test_tinted_furniture_colours_the_bounce_alike(repeats: Repeats) -> None:
    """Blue over red of every block with the globe alone, ours against the witness's."""
    s = repeats.names.index("GLOBE")
    witness, contents = load.load_blocks("GLOBE"), load.load_block_contents()
    kept = (contents.black_share("GLOBE") == 0.0) & (contents.emitter_share("GLOBE") == 0.0)
    ours = repeats.blocks_nit[:, s][:, kept].mean(0)
    theirs = witness.mean_cd_m2[kept]
    stops = np.log2((ours[:, 2] / ours[:, 0]) / (theirs[:, 2] / theirs[:, 0]))
    assert np.median(np.abs(stops)) <= 0.03
    assert np.quantile(np.abs(stops), 0.99) <= 0.15
