"""Scenes in words as practitioners' cases put them, and what a meter reads in them."""

from __future__ import annotations

import numpy as np

from falloff.document import parse_document
from falloff.stage import Stage, build_stage
from falloff.transport import Budget, trace, trace_probes

LUMINANCE = np.array([0.2627, 0.6780, 0.0593])  # ITU-R BT.2020: luminance weights
BUDGET = Budget(reading_replicates=4)

BLACK_ROOM = """\
falloff: 2
title: A dark hall
units: metric
room:
  floor: [[0 m, 0 m], [30 m, 0 m], [30 m, 30 m], [0 m, 30 m]]
  height: 8 m
  floor_surface: black
  ceiling_surface: black
  wall_surface: black
materials: {black: {reflectance: 0.0}}
"""


def readings_on(stage: Stage, budget: Budget = BUDGET) -> dict[str, float]:
    """Every flat and dome reading of a stage, in lux with all lights at 100 %."""
    direct, bounced = trace_probes(trace(stage, budget), stage.probes).mean()
    total = (direct + bounced) @ LUMINANCE
    return {
        probe.name: float(light) for probe, light in zip(stage.probes, total.sum(0), strict=True)
    }


def readings_of(text: str, budget: Budget = BUDGET) -> dict[str, float]:
    """The same of a scene in words."""
    return readings_on(build_stage(parse_document(text)), budget)
