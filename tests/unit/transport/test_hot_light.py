"""Hot light taken two ways, solutions revised instead of traced, beams that mostly miss."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from falloff.document import parse_document
from falloff.stage import Stage, build_stage, relit
from falloff.transport import Budget, revise, trace, trace_probes

ROOM = """\
falloff: 2
title: Room
units: metric
room:
  floor: [[0 m, 0 m], [4 m, 0 m], [4 m, 3 m], [0 m, 3 m]]
  height: 2.5 m
  floor_surface: planks
  ceiling_surface: pale
  wall_surface: pale
materials: {pale: {reflectance: 0.7}}
"""
UPLIGHT = """
fixtures:
  HEAD: {light: open face, profile: even, aperture: 6 cm, output: 4000 lm, colour: 5600 K,
         at: [2 m, 1.5 m, 1 m], aim: [2 m, 1.6 m, 2.5 m]}
profiles:
  even: {angles: [0 deg, 8 deg], relative: [1, 1]}
readings:
  flat near: {at: [2.25 m, 1.6 m, 2.2 m], normal: [0, 0, 1]}
  flat far: {at: [0.4 m, 0.4 m, 0.8 m], normal: [0, 0, 1]}
  dome near: {at: [2.3 m, 1.6 m, 2.2 m], normal: [0, 0, 1], instrument: dome}
  dome far: {at: [0.4 m, 2.4 m, 1 m], normal: [1, 0, 0], instrument: dome}
"""


def stage_of_text(text: str) -> Stage:
    return build_stage(parse_document(text))


def bounced(stage: Stage, budget: Budget) -> tuple[np.ndarray, np.ndarray]:
    """Bounced light at the probes (p,), lx, and its standard error."""
    probes = trace_probes(trace(stage, budget), stage.probes)
    light = probes.bounced[0, :, 1]
    return light.mean(-1), light.std(-1, ddof=1) / np.sqrt(light.shape[-1])


def test_rays_to_hot_elements_and_gather_rays_share_one_light() -> None:
    """A spot on the ceiling, near and far, flat and dome: with the split as without it.

    Without it every element is gathered, by 64 times the rays. Same patches, so that only the last
    step differs; judged within four standard errors of the two together.
    """
    stage = stage_of_text(ROOM + UPLIGHT)
    split = Budget(reading_replicates=32)
    solution = trace(stage, split)
    assert solution.hot[0] is not None  # else this would compare a thing with itself
    found, error = bounced(stage, split)
    plain = replace(split, hot_share=2.0, reading_gather_rays=32_768)
    assert trace(stage, plain).hot[0] is None
    wanted, spread = bounced(stage, plain)
    assert (wanted > 1.0).all()
    assert (np.abs(found - wanted) < 4.0 * np.hypot(error, spread)).all()
    assert (error / found < 0.02).all()


def test_revised_reflectances_and_outputs_equal_a_new_trace() -> None:
    before = parse_document(ROOM + UPLIGHT)
    text = (ROOM + UPLIGHT).replace("reflectance: 0.7", "reflectance: 0.3")
    after = parse_document(text.replace("4000 lm", "1000 lm"))
    old = trace(build_stage(before), Budget())
    stage = relit(old.stage, after)
    anew = trace(build_stage(after), Budget())
    assert_array_equal(stage.surfaces.albedo, anew.stage.surfaces.albedo)
    found = revise(old, stage)
    assert_allclose(found.direct, anew.direct, rtol=1e-6)
    assert_allclose(found.radiosity, anew.radiosity, rtol=2e-4, atol=1e-4)


@pytest.mark.parametrize(("aim_m", "share"), [((2.0, 1.2), 1.0), ((1.4, 0.7), 0.25)])
def test_a_beam_through_a_window_keeps_its_flux(aim_m: tuple[float, float], share: float) -> None:
    """Square to a window and in its middle all of a beam comes in; at its corner a quarter does.

    Pencil: the beam is round and far narrower than the window, whose corner cuts it in four.
    """
    x, z = aim_m
    stage = stage_of_text(
        f"""{ROOM.replace("reflectance: 0.7", "reflectance: 0")}
openings:
  WINDOW: {{wall: 1, along: 1.4 m, width: 1.2 m, sill: 0.7 m, height: 1.2 m}}
sky: {{type: overcast, outside: 0 lx}}
fixtures:
  HEAD: {{light: open face, profile: even, aperture: 4 cm, output: 1000 lm, colour: 5600 K,
         outside: true, at: [{x} m, -5 m, {z} m], aim: [{x} m, 3 m, {z} m]}}
profiles:
  even: {{angles: [0 deg, 3 deg], relative: [1, 1]}}
"""
    )
    head = [source.name for source in stage.sources].index("HEAD")
    landed = trace(stage, Budget()).direct[head] @ stage.surfaces.element_area_m2
    assert_allclose(landed, share * 1000.0, rtol=0.01)
