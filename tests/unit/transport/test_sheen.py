"""Sheen of coats in direct light: the lobe by itself, and through the whole transport."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numba import njit
from numpy.testing import assert_allclose
from tests.reference.scenes.stages import WHITE, box_room, stage_of

from falloff.sources import panel
from falloff.stage import Probe, Stage, View
from falloff.transport import Budget, picture_direct, trace, trace_probes, trace_view
from falloff.transport.kernels_sheen import coat_lobe

X, Y, Z = np.eye(3)


@njit
def lobe_at(f0: float, alpha: float, light: np.ndarray, eye: np.ndarray) -> Any:
    half = light + eye
    half /= math.sqrt(half[0] ** 2 + half[1] ** 2 + half[2] ** 2)
    return coat_lobe(f0, alpha, light[2], eye[2], half[2], (light * half).sum())


@njit
def given_back(f0: float, alpha: float, eye: np.ndarray, steps: int) -> float:
    """∫ f cosθ dω over the upper hemisphere, by midpoints."""
    total = 0.0
    for i in range(steps):
        theta = (i + 0.5) / steps * 0.5 * math.pi
        for j in range(2 * steps):
            phi = (j + 0.5) / (2 * steps) * 2.0 * math.pi
            light = np.array(
                [math.sin(theta) * math.cos(phi), math.sin(theta) * math.sin(phi), math.cos(theta)]
            )
            total += lobe_at(f0, alpha, light, eye) * math.cos(theta) * math.sin(theta)
    return total * (0.5 * math.pi / steps) * (math.pi / steps)


@pytest.mark.parametrize("alpha", [0.1, 0.2, 0.35])
def test_a_coat_gives_back_its_share(alpha: float) -> None:
    """Pencil: a coat gives back f0 of what falls square on it, less what its facets send down.

    Facets steeper than 45° do: by the distribution's own sum 1 − 1/(1 + α²) of them; masking may
    take a little more.
    """
    share = given_back(0.04, alpha, np.array([0.0, 0.0, 1.0]), 600)
    most = 0.04 / (1.0 + alpha**2)
    assert 0.93 * most < share < 1.005 * most


def test_a_perfect_coat_gives_back_no_more_than_falls_on_it() -> None:
    for angle in (0.0, 0.6, 1.2):
        eye = np.array([math.sin(angle), 0.0, math.cos(angle)])
        for alpha in (0.15, 0.4, 0.8):
            assert 0.2 < given_back(1.0, alpha, eye, 400) < 1.0


def test_either_way_is_alike() -> None:
    """Helmholtz: light and eye may change places."""
    a = np.array([0.6, 0.0, 0.8])
    b = np.array([-0.28, 0.0, 0.96])
    assert_allclose(lobe_at(0.04, 0.3, a, b), lobe_at(0.04, 0.3, b, a), rtol=1e-12)


def test_the_spread_of_facets_is_that_of_a_known_renderer() -> None:
    """source: Mitsuba 3's own microfacet distribution, by its value at a half vector."""
    mitsuba = pytest.importorskip("mitsuba")
    mitsuba.set_variant("scalar_rgb")
    alpha = 0.3
    theirs = mitsuba.MicrofacetDistribution(mitsuba.MicrofacetType.GGX, alpha)
    for slope in (0.0, 0.2, 0.5):
        half = np.array([math.sin(slope), 0.0, math.cos(slope)])
        # seen and lit along the half vector: D F / (4 (n·l)² · masking), its masking known
        ours = lobe_at(1.0, alpha, half.copy(), half.copy())
        n = half[2]
        masking = 0.5 / (2.0 * n * math.sqrt(n * n * (1.0 - alpha**2) + alpha**2))
        density = theirs.eval(mitsuba.Vector3f(*half.tolist()))
        assert_allclose(ours, masking * float(density), rtol=1e-5)


def glossy_floor(alpha: float) -> Stage:
    """A black floor with a smooth coat under a ceiling that shines all over."""
    side = 20.0
    room = box_room((side, side, 3.0), leave_out=("z1", "x0", "x1", "y0", "y1"))
    light = panel("sky", np.array([0.0, side, 3.0]), edge_u=side * X, edge_v=-side * Y,
                  flux_lm=math.pi * side**2 * 100.0, colour=WHITE)  # fmt: skip
    stage = stage_of([room], sources=[light])
    coats = np.array([[0.04, alpha]], np.float32)
    return replace(stage, surfaces=replace(stage.surfaces, coats=coats))


@pytest.mark.parametrize("tilt_deg", [10.0, 30.0, 45.0])
def test_a_floor_mirrors_the_sky(tilt_deg: float) -> None:
    """Pencil: 100 cd/m² times Schlick's share, 0.04 + 0.96 (1 − cosθ)⁵; the lobe is all in it."""
    tilt = math.radians(tilt_deg)
    forward = np.array([math.sin(tilt), 0.0, -math.cos(tilt)])
    up = np.array([math.cos(tilt), 0.0, math.sin(tilt)])
    view = View("A", np.array([10.0 - 1.5 * math.tan(tilt), 10.0, 1.5]), forward,
                np.cross(forward, up), up, 0.02, 0.02)  # fmt: skip
    stage = glossy_floor(0.1)
    solution = trace(stage, Budget(shadow_rays=64))
    shot = trace_view(solution, view, width=64, height=64)
    seen = float(picture_direct(shot, stage, 0).mean())
    expected = 100.0 * (0.04 + 0.96 * (1.0 - math.cos(tilt)) ** 5)
    assert_allclose(seen, expected, rtol=0.06)


def test_a_spot_meter_sees_sheen_and_a_receptor_does_not() -> None:
    stage = glossy_floor(0.1)
    spot = Probe("spot", "spot", np.array([10.0, 10.0, 0.0]), Z, eye=np.array([10.0, 10.2, 1.5]))
    flat = Probe("flat", "flat", np.array([10.0, 10.0, 1e-3]), Z)
    direct, _ = trace_probes(trace(stage, Budget()), (spot, flat)).mean()
    assert_allclose(direct[0, 0], 4.0, rtol=0.05)  # pencil: 0.04 of 100 cd/m²
    matte = replace(stage, surfaces=replace(stage.surfaces, coats=0.0 * stage.surfaces.coats))
    plain, _ = trace_probes(trace(matte, Budget()), (spot, flat)).mean()
    assert_allclose(plain[0, 0], 0.0, atol=1e-9)
    assert_allclose(direct[0, 1], plain[0, 1], rtol=1e-6)
