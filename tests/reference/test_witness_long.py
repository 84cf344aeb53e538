"""Sampling study, long: readings of the witness's room over many seeds are honest about error.

Each reading's standard error is what its spread over seeds says it is, and no seed strays past the
bar. Run: pytest -m long. Source of the values judged against: tests/reference/witness.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from tests.reference.witness import load

from falloff.stage import Probe, Stage
from falloff.transport import Budget, trace, trace_probes

SEEDS = range(101, 113)


@pytest.mark.long
def test_readings_over_many_seeds(witness_stage: Stage, witness_probes: tuple[Probe, ...]) -> None:
    names = [source.name for source in witness_stage.sources]
    totals, errors = [], []
    for seed in SEEDS:
        light = trace_probes(trace(witness_stage, Budget(seed=seed)), witness_probes)
        whole = (light.direct + light.bounced)[:, :, 0]
        totals.append(whole.mean(-1))
        errors.append(whole.std(-1, ddof=1) / math.sqrt(whole.shape[-1]))
    total, error = np.array(totals), np.array(errors)
    for k, reading in enumerate(load.load_readings()):
        for s, name in enumerate(names):
            stops = np.log2(total[:, s, k] / reading.total[name].mean_lx[0])
            assert np.abs(stops).max() <= 0.05, (name, reading.name, stops)  # the bar
            assert abs(stops.mean()) <= 0.02, (name, reading.name, stops.mean())
    # Spread over seeds against the error told. Seeds also redraw rows and elements, which a
    # reading's own replicates share, so that the spread may be larger, by three at the most.
    spread = total.std(0, ddof=1)
    told = error.mean(0)
    ratio = spread / told
    print("spread over told error: median", np.median(ratio), "largest", ratio.max())
    assert 0.3 < np.median(ratio) < 3.0
