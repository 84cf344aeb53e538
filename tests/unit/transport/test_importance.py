"""What light on each element is worth to a reading: against the solve, by pencil, ends swapped."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.reference.scenes.stages import WHITE, box_room, probe_at, stage_of
from tests.unit.transport.hour_rooms import SMALL, daylight_in, luminous, stage_at
from tests.unit.transport.test_sheets import Y, Z, fabric, sheet

from falloff.sources import Source, ball, panel
from falloff.stage import Grain, Probe, Stage
from falloff.stage.records import Piece
from falloff.transport import Budget, importance_of, trace, trace_probes
from falloff.types import Float64Array

FACES = ("x0", "x1", "y0", "y1", "z0", "z1")
# Without the short way to hot elements every element is gathered, so that the forward reading is
# plain; it takes more rays.
PLAIN = replace(SMALL, hot_share=2.0, reading_replicates=8, reading_gather_rays=8192)


@pytest.mark.parametrize(("clock", "word"), [("12:00", "overcast"), ("16:30", "clear")])
def test_worth_times_light_is_the_bounced_reading(clock: str, word: str) -> None:
    """Flat, dome and spot among panes, a sheer, a cloth and a mirror, as the solve has it.

    Consistency: over four seeds within 3 standard errors, or within 0.02 stop where those are less.
    """
    stage = stage_at(clock, word)
    off = []
    for seed in range(31, 35):
        solution = trace(stage, replace(PLAIN, seed=seed))
        worth = importance_of(solution, stage.probes)
        found = trace_probes(
            replace(solution, budget=replace(PLAIN, seed=seed + 900)), stage.probes
        )
        mine, wanted = np.zeros(len(stage.probes)), np.zeros(len(stage.probes))
        for s in daylight_in(stage):
            mine += luminous(worth.bounced(solution.direct[s]), stage, s)
            wanted += luminous(found.bounced[s].mean(-1), stage, s)
        off.append(np.log2(mine / wanted))
    error = np.std(off, axis=0, ddof=1) / math.sqrt(len(off))
    assert (np.abs(np.mean(off, 0)) <= np.maximum(3.0 * error, 0.02)).all(), (off, error)


def cube(
    reflectance: float, probes: list[Probe], *sources: Source, grain: Grain | None = None
) -> Stage:
    """A closed cube of 4 m, alike all over, its middle at (2, 2, 2) m."""
    room = box_room((4.0, 4.0, 4.0), grain=grain, materials=dict.fromkeys(FACES, "wall"))
    return stage_of([room], reflectances={"wall": reflectance}, probes=probes, sources=sources)


def spot_at(name: str, eye: tuple[float, ...], point: tuple[float, ...]) -> Probe:
    way = np.subtract(eye, point)
    return Probe(name, "spot", np.array(point), way / np.linalg.norm(way), eye=np.array(eye))


@pytest.mark.parametrize("reflectance", [0.1, 0.5, 0.8])
def test_even_light_in_a_closed_room(reflectance: float) -> None:
    """pencil: with 1 lx straight on everything each surface sends out ρ/(1 − ρ) lx by bounce alone.

    A flat receptor reads just that, wherever it is; a dome, which gathers both sides, double; a
    spot ρ/π of it.
    """
    lamp = ball("lamp", np.array([2.0, 2.0, 2.0]), radius_m=0.1, flux_lm=1.0, colour=WHITE)
    probes = [
        probe_at("corner", (0.0, 0.1, 0.1), (1.0, 0.0, 0.0)),
        probe_at("air", (1.0, 2.5, 1.7), (0.3, -0.8, 0.2)),
        probe_at("dome", (3.0, 1.0, 1.0), (0.0, 0.0, 1.0), instrument="dome"),
        spot_at("spot", (2.0, 2.0, 1.5), (0.0, 1.0, 2.0)),
    ]
    stage = cube(reflectance, probes, lamp)
    worth = importance_of(trace(stage, SMALL), stage.probes)
    found = worth.bounced(np.ones(stage.surfaces.element_count, np.float32))
    bounced = reflectance / (1.0 - reflectance)
    wanted = np.array([1.0, 1.0, 2.0, reflectance / math.pi]) * bounced
    assert_allclose(found, np.repeat(wanted[:, None], 3, axis=1), rtol=0.01)


def test_mean_of_a_face_in_a_closed_cube() -> None:
    """C171-9, source: CIE 171:2006 5.8, Φρ/(S(1 − ρ)): 104.17 lx at ρ = 0.5 from 10 000 lm."""
    steps = (np.arange(8) + 0.5) * 0.5
    probes = [probe_at(f"{x} {y}", (x, y, 0.0), (0.0, 0.0, 1.0)) for x in steps for y in steps]
    lamp = ball("lamp", np.array([2.0, 2.0, 2.0]), radius_m=0.02, flux_lm=1e4, colour=WHITE)
    stage = cube(0.5, probes, lamp)
    solution = trace(stage, replace(SMALL, row_rays=128))
    found = importance_of(solution, stage.probes).bounced(solution.direct[0])[:, 1]
    assert_allclose(found.mean(), 104.17, rtol=0.01)
    middle = found.reshape(8, 8)[3:5, 3:5].mean()
    assert_allclose(middle, 311.0 - 198.94, rtol=0.02)  # C171-10: floor's middle, fine radiosity


ENDS = {
    "A": ((0.7, 0.8, 0.9), (0.6, 0.5, 0.4)),
    "B": ((2.9, 1.9, 1.4), (-0.2, -0.9, 0.5)),
}


def patch(name: str) -> Source:
    """A matte patch of 1 cm at one end, so small that it is a point, of 1000 lm."""
    place, facing = (np.array(part) for part in ENDS[name])
    normal = facing / np.linalg.norm(facing)
    side = np.cross(normal, Z)
    side *= 0.01 / np.linalg.norm(side)
    up = np.cross(normal, side)
    return panel(
        "patch", place - 0.5 * (side + up), edge_u=side, edge_v=up, flux_lm=1000.0, colour=WHITE
    )


def between(source: str, reading: str, seed: int) -> Float64Array:
    """Bounced light (3,) at one end from a patch at the other, in a room of odd surfaces."""
    place, facing = ENDS[reading]
    room = box_room(
        (3.5, 2.6, 2.4),
        grain=Grain(0.1, 0.05),
        materials=dict(zip(FACES, ("dark", "pale", "pale", "red", "dark", "pale"), strict=True)),
    )
    cloth = sheet((1.2, 0.4, 0.5), 1.3 * Y, 1.2 * Z, fabric(0.2, 0.3, 0.4))
    pieces: list[Piece] = [room, cloth]
    stage = stage_of(
        pieces,
        sources=[patch(source)],
        reflectances={"dark": 0.2, "pale": 0.8, "red": 0.5},
        probes=[probe_at("there", place, facing)],
    )
    budget = Budget(
        row_rays=128, element_points=4, element_rays=4, opening_rays=8, seed=seed, tolerance=1e-6
    )
    solution = trace(stage, budget)
    return np.asarray(importance_of(solution, stage.probes).bounced(solution.direct[0])[0])


def test_light_and_reading_may_be_swapped() -> None:
    """pencil: what a small matte patch gives a receptor by bounce it gives with places changed.

    A cloth stands between. Within 3 standard errors of four seeds, or 0.02 stop: light is even
    within a patch.
    """
    there = np.array([between("A", "B", seed) for seed in range(4)])
    back = np.array([between("B", "A", seed) for seed in range(4, 8)])
    assert there.min() > 5.0
    error = np.hypot(there.std(0, ddof=1), back.std(0, ddof=1)) / 2.0
    off = np.abs(there.mean(0) - back.mean(0))
    assert (off <= np.maximum(3.0 * error, (2.0**0.02 - 1.0) * there.mean(0))).all(), (there, back)
