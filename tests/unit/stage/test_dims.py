"""Dims as light and colour: curves, filaments that go warm, dims that are not steady."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.unit.stage.lit_rooms import document_of, fixture

from falloff.spectrum import colour_of_kelvin
from falloff.stage import dimmed_light

PANEL = "light: panel, size: [1 m, 1 m]"


@pytest.mark.parametrize(
    ("curve", "light"),
    [
        # pencil at a knob of 50 %: k, k², k²(3 − 2k)
        ("", 0.5),
        (", dimming: linear", 0.5),
        (", dimming: square-law", 0.25),
        (", dimming: S-curve", 0.5),
    ],
)
def test_the_light_follows_the_curve(curve: str, light: float) -> None:
    dimmed = dimmed_light(document_of(fixture(PANEL + curve)), "LIGHT", 0.5)
    assert_allclose(dimmed.light_share, light, rtol=1e-12)
    assert_allclose(dimmed.tint, 1.0, atol=0.0)
    assert dimmed.findings == ()


def test_the_kits_own_curve_holds_unless_another_is_written() -> None:
    kit = 'kit: "575 W tungsten, profile spot"'
    own = dimmed_light(document_of(fixture(kit, output="", colour="")), "LIGHT", 0.5)
    other = fixture(f"{kit}, dimming: linear", output="", colour="")
    assert_allclose(own.light_share, 0.25, rtol=1e-12)  # the catalogue's: square law
    assert_allclose(dimmed_light(document_of(other), "LIGHT", 0.5).light_share, 0.5, rtol=1e-12)


def test_tungsten_goes_warm_as_its_light_to_a_power() -> None:
    text = fixture(f"{PANEL}, warms: true", colour="3200 K")
    dimmed = dimmed_light(document_of(text), "LIGHT", 0.25)
    full = colour_of_kelvin(3200.0)
    # source: T = T₀ · share^(0.42/3.4), as falloff.spectrum.incandescent cites it; pencil: 2697 K
    warm = colour_of_kelvin(3200.0 * 0.25 ** (0.42 / 3.4))
    assert_allclose(full * dimmed.tint, warm, rtol=0.02)
    assert dimmed.tint[2] < 1.0 < dimmed.tint[0]
    # Luminance is that of the dim alone: BT.2020's weights.
    weights = np.array([0.2627, 0.6780, 0.0593])
    assert_allclose(float(full * dimmed.tint @ weights), 1.0, rtol=1e-4)


def test_a_dim_below_what_the_head_holds_steady_is_told() -> None:
    kit = fixture('kit: "300 W LED, open face"', output="", colour="")
    dimmed = dimmed_light(document_of(kit), "LIGHT", 0.005)
    (finding,) = dimmed.findings
    assert "0.5 % (-7.6 stops of light)" in finding.says  # pencil: log2 0.005
    assert "below 1 %" in finding.says
    assert dimmed_light(document_of(kit), "LIGHT", 0.02).findings == ()


def test_off_is_no_light_and_no_finding() -> None:
    dimmed = dimmed_light(document_of(fixture(PANEL)), "LIGHT", 0.0)
    assert (dimmed.light_share, dimmed.findings) == (0.0, ())


def test_a_daylight_head_cannot_warm_as_a_filament() -> None:
    text = fixture(f"{PANEL}, warms: true", colour="5600 K")
    dimmed = dimmed_light(document_of(text), "LIGHT", 0.25)
    assert_allclose(dimmed.tint, 1.0, atol=0.0)
    assert "no filament" in dimmed.findings[0].says


def test_a_setups_dims_reach_the_meter_as_light_with_the_knob_beside_it() -> None:
    from falloff.session.scene import setup_light

    kit = fixture('kit: "575 W tungsten, profile spot"', output="", colour="")
    setup = (
        "cameras:\n  A: {at: [3 m, 0.4 m, 1.4 m], aim: [3 m, 4 m, 1.4 m], lens: 35 mm}\n"
        "setups:\n  ONE: {camera: A, stop: T4, iso: 400, shutter: 180 deg, dims: {LIGHT: 50 %}}\n"
    )
    light = setup_light(document_of(kit + setup), "ONE")
    # pencil: square law, a half of the knob is a quarter of the light; a filament goes warm
    assert (light.dims["LIGHT"], light.knob("LIGHT")) == (0.25, 0.5)
    assert light.tints["LIGHT"][2] < 1.0
