"""Types A and B turned into a web: directions, flux, mirrored halves."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.unit.photometry.made_files import lm63

from falloff.findings import Weight
from falloff.photometry import PhotometricFile, read_photometric, web_flux_lm, web_intensity
from falloff.photometry.unfold import (
    direction_of_a,
    direction_of_b,
    type_b_flux_lm,
    web_of_type_b,
)
from falloff.types import Float64Array

HALF = np.arange(-90.0, 91.0, 10.0)


def table_text(table: Float64Array) -> str:
    return "\n".join(" ".join(f"{one:.9g}" for one in row) for row in table)


def file_of(kind: int, horizontal: Float64Array, vertical: Float64Array, table: Float64Array) -> (
    PhotometricFile
):  # fmt: skip
    content = lm63(
        kind=f"{kind} 2 0 0 0",
        vertical=" ".join(map(str, vertical)).replace(" ", "\n"),
        horizontal=" ".join(map(str, horizontal)),
        candela=table_text(table),
    )
    return read_photometric(content, "a.ies")


@pytest.mark.parametrize(
    ("h", "v", "gamma", "c"),
    [
        (30.0, 0.0, 30.0, 90.0),  # source: PHO-1
        (0.0, 30.0, 30.0, 0.0),  # source: PHO-1
        (30.0, 30.0, 41.4096, 49.1066),  # source: PHO-1
        (45.0, 45.0, 60.0, 54.7356),  # source: PHO-1
    ],
)
def test_directions_of_type_b(h: float, v: float, gamma: float, c: float) -> None:
    x, y, z = direction_of_b(h, v)
    assert_allclose(math.degrees(math.acos(z)), gamma, atol=1e-4)
    assert_allclose(math.degrees(math.atan2(y, x)), c, atol=1e-4)


def test_directions_of_type_a() -> None:
    # source: LM-63-2002 by the check values: (H 0, V 0) is photometric horizontal, V −90 is zero
    assert_allclose(direction_of_a(0.0, 0.0), [1.0, 0.0, 0.0], atol=1e-15)
    assert_allclose(direction_of_a(0.0, -90.0), [0.0, 0.0, 1.0], atol=1e-15)
    assert_allclose(direction_of_a(90.0, 0.0), [0.0, 1.0, 0.0], atol=1e-15)


def test_type_a_is_exact_at_its_points_and_in_flux() -> None:
    table = np.random.default_rng(1).uniform(1.0, 90.0, (19, 19)).round(3)
    file = file_of(3, HALF, HALF, table)
    assert file.findings == ()
    web = file.web()
    ways = np.array([direction_of_a(h, v) for h in HALF for v in HALF[1:-1]])
    assert_allclose(web_intensity(web, ways), table[:, 1:-1].ravel(), rtol=1e-6)
    behind = np.array([[-1.0, 0.0, 0.3], [-1.0, 0.4, 0.0]])
    assert_allclose(web_intensity(web, behind), 0.0)
    assert_allclose(web_flux_lm(web), flux_by_sum(table, HALF, HALF, "A"), rtol=2e-4)
    assert file.aim() == (1.0, 0.0, 0.0)


def flux_by_sum(table: Float64Array, h: Float64Array, v: Float64Array, kind: str) -> float:
    """source: check values, section 10: dΩ is cosV dV dH of type A, cosH dH dV of type B."""
    fine_h, fine_v = np.linspace(h[0], h[-1], 1801), np.linspace(v[0], v[-1], 1801)
    rows = np.array([np.interp(fine_h, h, column) for column in table.T]).T
    fine = np.array([np.interp(fine_v, v, row) for row in rows])
    weight = np.cos(np.radians(fine_v))[None, :] if kind == "A" else np.cos(np.radians(fine_h))
    weighed = fine * (weight if kind == "A" else weight[:, None])
    over_v = np.trapezoid(weighed, np.radians(fine_v), axis=1)
    return float(np.trapezoid(over_v, np.radians(fine_h)))


def test_uniform_type_a_and_b_are_half_a_sphere() -> None:
    """pencil: 1 cd all over a half is 2π lm."""
    ones = np.ones((19, 19))
    for kind in (2, 3):
        file = file_of(kind, HALF, HALF, ones)
        assert_allclose(file.flux_lm(), 2.0 * math.pi, rtol=1e-12 if kind == 2 else 1e-7)
        assert_allclose(web_flux_lm(file.web()), 2.0 * math.pi, rtol=1e-3)


def beam_of_b(h: Float64Array, v: Float64Array) -> Float64Array:
    """A smooth beam wider across than along, a little off its axis."""
    return 1000.0 * np.exp(-(((h[:, None] - 5.0) / 20.0) ** 2) - ((v[None, :] - 3.0) / 9.0) ** 2)


def test_type_b_keeps_flux_and_intensity() -> None:
    h = v = np.arange(-90.0, 91.0, 2.5)
    table = beam_of_b(h, v)
    file = file_of(2, h, v, table)
    assert file.findings == ()
    assert_allclose(file.flux_lm(), flux_by_sum(table, h, v, "B"), rtol=1e-5)
    web = file.web()
    assert_allclose(web_flux_lm(web), file.flux_lm(), rtol=1e-3)  # source: the brief's own bar
    ways = np.array([direction_of_b(a, b) for a in h[25:50] for b in v[25:50]])
    assert_allclose(web_intensity(web, ways), table[25:50, 25:50].ravel(), atol=5.0)
    assert file.aim() == (0.0, 0.0, 1.0)


def test_narrow_type_b_in_a_small_window_keeps_its_flux() -> None:
    """A window of 4° by 2° lit to its edges: a hard case for any grid round the axis."""
    h, v = np.linspace(-2.0, 2.0, 9), np.linspace(-1.0, 1.0, 9)
    table = np.full((9, 9), 1e5)
    web = web_of_type_b(h, v, candela=table)
    pencil = 1e5 * 2.0 * math.sin(math.radians(2.0)) * math.radians(2.0)  # ∫cosH dH · ∫dV
    assert_allclose(type_b_flux_lm(h, v, candela=table), pencil)
    assert_allclose(web_flux_lm(web), pencil, rtol=1e-3)
    assert web.candela.max() <= 1.02e5


@pytest.mark.parametrize("half", [7.3, 23.7, 41.1, 62.9])
def test_hard_edges_are_looked_at_more_finely(half: float) -> None:
    h, v = np.array([-half, half - 3.0]), np.array([-half / 3.0, half / 2.0])
    table = np.full((2, 2), 100.0)
    web = web_of_type_b(h, v, candela=table)
    # pencil: 100 ∫cosH dH ∫dV
    lumens = 100.0 * (math.sin(math.radians(half - 3.0)) + math.sin(math.radians(half)))
    lumens *= math.radians(half / 3.0 + half / 2.0)
    assert_allclose(web_flux_lm(web), lumens, rtol=1e-3)


def test_spot_away_from_the_axis_is_not_lost() -> None:
    h = v = np.arange(-90.0, 91.0, 1.0)
    table = np.zeros((181, 181))
    table[130, 60] = 1e6  # one point at H 40, V −30
    web = web_of_type_b(h, v, candela=table)
    assert_allclose(web_flux_lm(web), type_b_flux_lm(h, v, candela=table), rtol=1e-3)


@pytest.mark.parametrize("kind", [2, 3])
def test_a_start_at_zero_is_the_same_on_the_other_side(kind: int) -> None:
    quarter = np.arange(0.0, 91.0, 10.0)
    table = np.random.default_rng(2).uniform(1.0, 9.0, (10, 10)).round(3)
    both = np.concatenate([table[:0:-1], table])
    lateral = file_of(kind, quarter, quarter, table)
    whole = file_of(kind, HALF, HALF, np.concatenate([both[:, :0:-1], both], axis=1))
    assert_allclose(lateral.flux_lm(), whole.flux_lm(), rtol=1e-12)
    assert [one.weight for one in lateral.findings] == [Weight.WARNING]
    side = file_of(kind, quarter, HALF, np.concatenate([table[:, :0:-1], table], axis=1))
    assert_allclose(side.flux_lm(), whole.flux_lm(), rtol=1e-12)
    assert side.findings == ()
    assert_allclose(web_flux_lm(side.web()), side.flux_lm(), rtol=1e-3)


@pytest.mark.parametrize("kind", [2, 3])
def test_a_window_is_dark_outside_and_told(kind: int) -> None:
    h, v = np.array([-30.0, -10.0, 20.0]), np.array([-15.0, 5.0, 15.0])
    file = file_of(kind, h, v, np.full((3, 3), 50.0))
    assert len(file.findings) == 2
    summed = flux_by_sum(np.full((3, 3), 50.0), h, v, "A" if kind == 3 else "B")
    assert_allclose(file.flux_lm(), summed, rtol=1e-4)
    assert_allclose(web_flux_lm(file.web()), file.flux_lm(), rtol=1e-3)
    away = direction_of_a(25.0, 0.0) if kind == 3 else direction_of_b(25.0, 0.0)
    assert web_intensity(file.web(), np.array([away])).tolist() == [0.0]
