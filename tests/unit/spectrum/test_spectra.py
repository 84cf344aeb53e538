"""Spectra: what is taken, what is refused, sums by pencil, shipped tables on record."""

from __future__ import annotations

import hashlib
import tomllib
from importlib import resources

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff import spectrum
from falloff.errors import FalloffError


def test_a_spectrum_cannot_be_changed_and_says_its_name_only() -> None:
    own = np.ones(471)
    light = spectrum.Spectrum(own, "flat")
    own[0] = 5.0
    assert light.relative[0] == 1.0  # pencil: a copy was taken
    with pytest.raises(ValueError, match="read-only"):
        light.relative[0] = 2.0
    assert "flat" in repr(light)
    assert len(repr(light)) < 100


@pytest.mark.parametrize(
    "relative",
    [np.ones(81), np.zeros(471), -np.ones(471), np.full(471, np.nan), np.full(471, np.inf)],
)
def test_what_is_no_spectrum(relative: np.ndarray) -> None:
    with pytest.raises(FalloffError, match="no spectrum of a light"):
        spectrum.Spectrum(relative)


def test_points_are_joined_by_straight_lines_and_end() -> None:
    light = spectrum.spectrum_from_points([380.0, 400.0, 780.0], [0.0, 2.0, 2.0])
    at = dict(zip(spectrum.GRID_NM.tolist(), light.relative.tolist(), strict=True))
    # pencil: half way up at 390 nm; nothing where nothing was measured
    assert (at[390.0], at[400.0], at[600.0], at[370.0], at[790.0]) == (1.0, 2.0, 2.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("waves", "powers"),
    [
        ([400.0, 700.0], [1.0]),
        ([700.0, 400.0], [1.0, 1.0]),
        ([420.0, 700.0], [1.0, 1.0]),
        ([380.0, 690.0], [1.0, 1.0]),
        ([500.0], [1.0]),
        ([380.0, float("nan"), 780.0], [1.0, 1.0, 1.0]),
    ],
)
def test_points_that_make_no_curve(waves: list[float], powers: list[float]) -> None:
    with pytest.raises(FalloffError, match="no curve over the visible light"):
        spectrum.spectrum_from_points(waves, powers)


def test_colour_of_a_spectrum_is_that_of_its_kelvin() -> None:
    """pencil: the same sum by two ways; luminance one."""
    found = spectrum.colour_of_spectrum(spectrum.planckian(3200))
    assert_allclose(found, spectrum.colour_of_kelvin(3200), atol=1e-12)
    assert_allclose(spectrum.luminance(found), 1.0, rtol=1e-12)


def test_colours_outside_the_working_space_keep_their_side() -> None:
    """pencil: a red line is drawn towards white, no channel negative, luminance one."""
    for x, y in ((0.735, 0.265), (0.15, 0.02), (0.05, 0.80)):
        rgb = spectrum.colour_of_xy((x, y))
        assert rgb.min() >= 0.0
        assert_allclose(spectrum.luminance(rgb), 1.0, rtol=1e-12)
    assert int(np.argmax(spectrum.colour_of_xy((0.735, 0.265)))) == 0
    assert int(np.argmax(spectrum.colour_of_xy((0.15, 0.02)))) == 2


@pytest.mark.parametrize("xy", [(0.3, 0.0), (-0.1, 0.4), (0.7, 0.4), (0.3, 0.3, 0.4)])
def test_chromaticities_that_no_light_has(xy: tuple[float, ...]) -> None:
    with pytest.raises(FalloffError, match="no light has this chromaticity"):
        spectrum.colour_of_xy(xy)


def test_no_light_has_no_colour() -> None:
    with pytest.raises(FalloffError, match="no light there is no colour"):
        spectrum.xy_from_xyz((0.0, 0.0, 0.0))


def test_diagrams_there_and_back() -> None:
    """source: CIE 015:2018: E at u 0.2105, v 0.3158, v′ 0.4737 (pencil: 4/19, 6/19, 9/19)."""
    white = (1.0 / 3.0, 1.0 / 3.0)
    assert_allclose(spectrum.uv_from_xy(white), (4 / 19, 6 / 19), rtol=1e-12)
    assert_allclose(spectrum.uv_1976_from_xy(white), (4 / 19, 9 / 19), rtol=1e-12)
    some = np.random.default_rng(3).uniform(0.1, 0.45, (7, 2))
    assert_allclose(spectrum.xy_from_uv(spectrum.uv_from_xy(some)), some, rtol=1e-12)
    assert_allclose(spectrum.xy_from_uv_1976(spectrum.uv_1976_from_xy(some)), some, rtol=1e-12)


def test_mixing_keeps_shares_of_light() -> None:
    """pencil: XYZ of equal luminance add in their shares, whatever the scale of each spectrum."""
    one, other = spectrum.planckian(2700), spectrum.illuminant("D65")
    loud = spectrum.Spectrum(other.relative * 1000.0)
    mixture = spectrum.mixed([(one, 3.0), (loud, 1.0)])
    xyz = [spectrum.xyz_of_spectrum(part) for part in (one, other)]
    expected = 0.75 * xyz[0] / xyz[0][1] + 0.25 * xyz[1] / xyz[1][1]
    found = spectrum.xyz_of_spectrum(mixture)
    assert_allclose(found / found[1], expected, rtol=1e-12)


@pytest.mark.parametrize("shares", [(-1.0, 2.0), (0.0, 0.0), (float("nan"), 1.0)])
def test_shares_that_cannot_be_mixed(shares: tuple[float, float]) -> None:
    lights = (spectrum.illuminant("A"), spectrum.illuminant("E"))
    with pytest.raises(FalloffError, match="cannot be mixed"):
        spectrum.mixed(list(zip(lights, shares, strict=True)))


def test_unknown_illuminant() -> None:
    with pytest.raises(FalloffError, match=r"no such illuminant.*FL12"):
        spectrum.illuminant("F2")


def test_natural_spectra_are_hot_bodies_then_daylight() -> None:
    """pencil: as the locus "auto" at its two ends."""
    for cct_kelvin in (1800.0, 3200.0, 5600.0, 9000.0):
        found = spectrum.xy_of_spectrum(spectrum.natural_spectrum(cct_kelvin))
        # CIE daylight's M1 and M2 are rounded to three decimals: some 1e-4 in x and y.
        assert_allclose(found, spectrum.xy_of_kelvin(cct_kelvin), atol=2e-4)


@pytest.mark.parametrize("name", ["cie_illuminants", "cie_daylight_components", "cie_test_colours"])
def test_shipped_tables_are_those_on_record(name: str) -> None:
    """source: the record beside each table, written when it was made."""
    data = resources.files("falloff.spectrum") / "data"
    record = tomllib.loads((data / f"{name}.toml").read_text(encoding="ascii"))
    text = (data / f"{name}.csv").read_bytes()
    assert hashlib.sha256(text).hexdigest() == record["sha256"]
    assert len(record["columns"]) == len(text.split(b"\n", 1)[0].split(b","))
    assert record["source"].startswith("CIE ")


@pytest.mark.parametrize("name", ["gels.toml", "lamps.toml", "surfaces.toml"])
def test_generic_data_say_where_they_are_from(name: str) -> None:
    data = resources.files("falloff.spectrum") / "data" / name
    assert "from memory" in tomllib.loads(data.read_text(encoding="utf-8"))["source"]
