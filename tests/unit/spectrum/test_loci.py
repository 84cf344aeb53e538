"""Colour temperature to colour: joints, limits and refusals."""

from __future__ import annotations

import hashlib
import tomllib
from importlib import resources

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff import spectrum
from falloff.errors import FalloffError


@pytest.mark.parametrize("cct_kelvin", [1000, 1800, 3200, 4000, 4500, 5000, 5600, 7000, 25000])
def test_luminance_is_one_and_no_channel_negative(cct_kelvin: float) -> None:
    """pencil: scaled so."""
    rgb = spectrum.colour_of_kelvin(cct_kelvin)
    assert rgb.shape == (3,)
    assert rgb.min() >= 0.0
    assert_allclose(spectrum.luminance(rgb), 1.0, rtol=1e-12)


def test_auto_joins_its_loci_without_a_step() -> None:
    """pencil: equal to Planck's at 4000 K and to daylight at 5000 K, and smooth between."""
    assert_allclose(
        spectrum.xy_of_kelvin(4000), spectrum.xy_of_kelvin(4000, locus="planckian"), atol=1e-12
    )
    assert_allclose(
        spectrum.xy_of_kelvin(5000), spectrum.xy_of_kelvin(5000, locus="daylight"), atol=1e-12
    )
    kelvins = np.arange(3900.0, 5100.0, 5.0)
    xy = np.array([spectrum.xy_of_kelvin(k) for k in kelvins])
    slope = np.diff(xy, axis=0)
    # A step of 5 K moves x by about 1.8e-4; a break of the locus would show as a jump of 5e-3, a
    # corner as a jump of the slope.
    assert np.abs(slope).max() < 4e-4
    assert np.abs(np.diff(slope, axis=0)).max() < 2e-5
    assert np.all(slope[:, 0] < 0.0)


def test_auto_between_lies_between() -> None:
    """pencil: half way in mired, between 250 and 200, the smooth step is one half."""
    cct_kelvin = 1e6 / 225.0

    def uv(locus: spectrum.Locus) -> np.ndarray:
        x, y = spectrum.xy_of_kelvin(cct_kelvin, locus=locus)
        return np.asarray(np.array([4 * x, 6 * y]) / (-2 * x + 12 * y + 3))

    assert_allclose(uv("auto"), 0.5 * (uv("planckian") + uv("daylight")), atol=1e-12)


def test_warm_light_has_more_red() -> None:
    """pencil: red over blue falls as the temperature rises, over the whole range."""
    colours = [spectrum.colour_of_kelvin(k) for k in np.geomspace(1100, 25000, 60)]
    ratio = np.array([rgb[2] / rgb[0] for rgb in colours])
    assert np.all(np.diff(ratio) > 0.0)


@pytest.mark.parametrize(
    ("cct_kelvin", "locus"),
    [(999, "auto"), (25001, "auto"), (3999, "daylight"), (float("nan"), "auto"), (-1, "planckian")],
)
def test_outside_the_range(cct_kelvin: float, locus: spectrum.Locus) -> None:
    """The refusal says what would be right."""
    with pytest.raises(FalloffError, match=r"colour temperature.*expected \d+ K to 25000 K"):
        spectrum.colour_of_kelvin(cct_kelvin, locus=locus)


def test_unknown_locus() -> None:
    """The refusal names the loci there are."""
    with pytest.raises(FalloffError, match="auto, planckian or daylight"):
        spectrum.colour_of_kelvin(3200, locus="candle")  # type: ignore[arg-type]


def test_shipped_table_is_the_one_on_record() -> None:
    """source: the record beside the table, written when it was made."""
    data = resources.files("falloff.spectrum") / "data"
    record = tomllib.loads((data / "cie_1931_2_degree.toml").read_text(encoding="ascii"))
    text = (data / "cie_1931_2_degree.csv").read_bytes()
    assert hashlib.sha256(text).hexdigest() == record["sha256"]
    # source: CIE 015:2018: 360 to 830 nm in steps of 1 nm, and V(555 nm) = 1.
    table = spectrum.observer_table()
    assert table.shape == (471, 4)
    assert table[555 - 360, 2] == 1.0
    assert not table.flags.writeable
