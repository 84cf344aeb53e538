"""Sources as sixteen numbers: luminance from flux, frames, shares of a beam's flux."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.reference.scenes.stages import WHITE, matte_beam

from falloff.daylight import overcast_sky
from falloff.sources import BEAM, PANEL, SKY, SPHERE, ball, beam, panel, sky_opening
from falloff.units import Lux


def test_panel_luminance_and_facing() -> None:
    found = panel(
        "p",
        np.array([1.0, 2.0, 3.0]),
        edge_u=np.array([0.0, 0.5, 0.0]),
        edge_v=np.array([2.0, 0.0, 0.0]),
        flux_lm=100.0,
        colour=WHITE,
        power_w=80.0,
    )
    assert found.kind == PANEL
    assert_allclose(found.shape[9:12], [0.0, 0.0, -1.0])  # pencil: y × x
    assert_allclose(found.shape[12:14], [1.0, 100.0 / math.pi])  # pencil: L = Φ/(πA), 1 m²
    assert (found.flux_lm, found.power_w) == (100.0, 80.0)


def test_slanted_panel_counts_its_true_area() -> None:
    found = panel(
        "p",
        np.zeros(3),
        edge_u=np.array([1.0, 0.0, 0.0]),
        edge_v=np.array([1.0, 1.0, 0.0]),
        flux_lm=1.0,
        colour=WHITE,
    )
    assert_allclose(found.shape[12], 1.0)  # pencil: base times height


def test_ball_luminance() -> None:
    found = ball("b", np.array([1.0, 2.0, 3.0]), radius_m=0.5, flux_lm=math.pi**2, colour=WHITE)
    assert found.kind == SPHERE
    assert_allclose(found.shape[12:14], [math.pi, 1.0])  # pencil: 4πr² = π, L = π²/(π·π)


@pytest.mark.parametrize(
    "axis", [(0.0, 0.0, -1.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (0.6, 0.0, 0.8), (0.0, 0.8, -0.6)]
)
def test_beam_mouth_is_square_to_its_axis(axis: tuple[float, float, float]) -> None:
    found = beam(
        "b",
        np.zeros(3),
        axis=np.array(axis),
        aperture_m=0.2,
        profile=matte_beam(),
        flux_lm=500.0,
        colour=WHITE,
    )
    u, v = found.shape[6:9], found.shape[9:12]
    assert found.kind == BEAM
    assert_allclose([u @ u, v @ v, u @ v], [0.01, 0.01, 0.0], atol=1e-15)  # pencil: r = 0.1
    assert_allclose(np.cross(u, v) / 0.01, axis, atol=1e-12)
    assert_allclose(found.shape[12:15], [math.pi * 0.01, 500.0, math.pi / 2])  # pencil


def test_beam_shares_of_flux() -> None:
    found = beam(
        "b",
        np.zeros(3),
        axis=np.array([0.0, 0.0, 1.0]),
        aperture_m=0.1,
        profile=matte_beam(),
        flux_lm=1.0,
        colour=WHITE,
    )
    share = np.linspace(0.0, 1.0, len(found.angle_of_share))
    # pencil: a matte source sends sin²θ of its flux within θ
    assert_allclose(np.sin(found.angle_of_share) ** 2, share, atol=2e-6)
    assert np.all(np.diff(found.angle_of_share) > 0.0)


def test_sky_opening_shines_inward() -> None:
    sky = overcast_sky(Lux(8_000.0), ground_reflectance=0.25)
    found = sky_opening(
        "w",
        np.array([2.0, 0.0, 1.0]),
        edge_u=np.array([-1.0, 0.0, 0.0]),
        edge_v=np.array([0.0, 0.0, 2.0]),
        daylight=sky,
        colour=WHITE,
    )
    assert found.kind == SKY
    assert_allclose(found.shape[9:12], [0.0, 1.0, 0.0])  # pencil: −x × z = y
    assert_allclose(found.shape[12:15], [2.0, sky.zenith_nit, sky.ground_nit])
    # pencil: (0.396177 + ½ · 0.25) · 8000 lx on 2 m², facing the horizon
    assert_allclose(found.flux_lm, 2.0 * 8_000.0 * (0.396177 + 0.125), rtol=1e-4)
