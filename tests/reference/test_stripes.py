"""Stripes of a blind against the pencil: what slats leave of a source.

Slats of depth s leaning by t, one every p, are d = (s sin t + thickness · cos t) / p opaque to
light that comes level. To a source of height h, a metres before them, receivers b metres behind
see stripes p (a + b) / a apart whose edges are h b / a wide: w = (h b / a) / (p (a + b) / a)
stripes. The light is 1 − d on the mean; with w small it goes from nothing to all, and over whole
numbers of stripes it is even. Source: similar triangles, as for the width of a penumbra.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.document import parse_document
from falloff.stage import build_stage
from falloff.stage.records import Probe
from falloff.transport import Budget, trace, trace_probes

SCENE = """
falloff: 2
title: Stripes
units: metric
sky: {{type: overcast, outside: 1 lx}}
room:
  floor: [[0 m, 0 m], [4 m, 0 m], [4 m, 4 m], [0 m, 4 m]]
  height: 2.6 m
  wall_thickness: 0.2 m
  floor_surface: none
  ceiling_surface: none
  wall_surface: none
materials:
  none: {{reflectance: 0}}
openings:
  WINDOW:
    wall: 4
    along: 1 m
    width: 2 m
    sill: 0.6 m
    height: 1.6 m
    glass: 1.0
    dressing: [{{kind: blind, slat: 4 cm, pitch: 4 cm, tilt: {tilt} deg, surface: none}}]
fixtures:
  HEAD:
    light: panel
    size: [{width} m, {height} m]
    output: 10000 lm
    colour: 5600 K
    at: [{x} m, 2 m, 1.4 m]
    aim: [2 m, 2 m, 1.4 m]
    outside: true
cameras:
  A: {{at: [2 m, 0.4 m, 1.3 m], aim: [2 m, 3 m, 1.3 m], lens: 35 mm}}
"""
PITCH_M, SLAT_M, THICK_M, TILT = 0.04, 0.04, 0.002, math.radians(30.0)
# The blind hangs in the middle of a wall 20 cm thick; receivers stand in a line behind it.
BLIND_M, BEHIND_M = -0.1, 0.9


def profile(height_m: float, before_m: float, *, blind: bool = True) -> np.ndarray:
    """Illuminance (lx) of 64 level receivers over four stripes about the middle of the window."""
    text = SCENE.format(tilt=30 if blind else 0, width=0.05, height=height_m, x=BLIND_M - before_m)
    if not blind:
        start = text.index("    dressing")
        text = text[:start] + text[text.index("fixtures:") :]
    stage = build_stage(parse_document(text, "stripes.scene.yaml"), guarded=False)
    far = PITCH_M * (before_m + BEHIND_M) / before_m
    heights = 1.4 + far * 4.0 * (np.arange(64) + 0.5) / 64.0 - 2.0 * far
    probes = tuple(
        Probe(f"{k}", "flat", np.array([BLIND_M + BEHIND_M, 2.0, z]), np.array([-1.0, 0.0, 0.0]))
        for k, z in enumerate(heights)
    )
    light = trace_probes(trace(stage, Budget(row_rays=16)), probes)
    s = [source.name for source in stage.sources].index("HEAD")
    return np.asarray(light.direct[s, :, 1].mean(-1))


def contrast(light: np.ndarray) -> float:
    return float((light.max() - light.min()) / (light.max() + light.min()))


def without_slope(light: np.ndarray) -> np.ndarray:
    """Without the slow change that leaning slats make, seen from ever lower."""
    at = np.linspace(-1.0, 1.0, light.size)
    return np.asarray(light / np.polyval(np.polyfit(at, light, 2), at))


OPEN = 1.0 - (SLAT_M * math.sin(TILT) + THICK_M * math.cos(TILT)) / PITCH_M


def test_a_small_source_far_off_makes_stripes_from_nothing_to_all() -> None:
    light, bare = profile(0.02, 4.0), profile(0.02, 4.0, blind=False)
    # pencil: w = 0.02 · 0.9 / (0.04 · 4.9) = 0.09, less than the 0.46 that is open and the rest
    assert contrast(light) > 0.98
    assert_allclose(light.max(), bare.mean(), rtol=0.01)
    # Slats seen from a little above or below are not quite so thick: within 2 % of the pitch.
    assert_allclose(light.mean() / bare.mean(), OPEN, atol=0.03)


@pytest.mark.parametrize("stripes", [1.0, 2.0])
def test_a_large_source_near_by_dissolves_them(stripes: float) -> None:
    before = 0.8
    # pencil: h = w p (a + b) / b
    height = stripes * PITCH_M * (before + BEHIND_M) / BEHIND_M
    light = profile(height, before)
    bare = profile(height, before, blind=False)
    assert contrast(without_slope(light)) < 0.05
    assert_allclose((light / bare).mean(), OPEN, atol=0.04)


def test_half_a_stripe_leaves_what_the_pencil_leaves() -> None:
    before = 2.0
    height = 0.5 * PITCH_M * (before + BEHIND_M) / BEHIND_M
    light = profile(height, before) / profile(height, before, blind=False)
    # pencil: a window of 0.5 stripe over a square wave that is `OPEN` light: at most OPEN / 0.5 of
    # the whole where it looks into the gap, and 1 − (1 − OPEN) / 0.5, or nothing, behind a slat
    assert_allclose(light.max(), min(1.0, OPEN / 0.5), atol=0.06)
    assert_allclose(light.min(), max(0.0, 1.0 - (1.0 - OPEN) / 0.5), atol=0.06)
