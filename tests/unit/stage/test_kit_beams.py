"""What a lens or a bowl of the kit gives in a room, straight ahead, and what its sheet says."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.unit.stage.lit_rooms import fixture, source_of

from falloff.kit import Fixture
from falloff.kit.catalogue import list_items
from falloff.sources import BEAM

FOCUSED = [
    (item.name, beam.name, beam.axis_cd)
    for item in list_items()
    if isinstance(item, Fixture) and item.form == "Fresnel"
    for beam in item.beams
]


@pytest.mark.parametrize(("name", "beam", "axis_cd"), FOCUSED)
def test_a_fresnel_of_the_kit_gives_its_sheet_s_candela_straight_ahead(
    name: str, beam: str, axis_cd: float
) -> None:
    text = fixture(f'kit: "{name}", beam: {beam}', output="", colour="")
    source = source_of(text)
    assert source.kind == BEAM
    # The catalogue's flux and angle ask for its axis within 0.05 stop, by the cosine power.
    stops = math.log2(source.flux_lm * float(source.table[0]) / axis_cd)
    assert abs(stops) < 0.07


def test_the_100_w_led_fresnel_at_flood_gives_678_lux_at_three_metres() -> None:
    source = source_of(fixture('kit: "100 W LED, Fresnel"', output="", colour=""))
    # pencil: 6100 cd / (3 m)², as its sheet says
    assert_allclose(source.flux_lm * float(source.table[0]) / 9.0, 6100.0 / 9.0, rtol=0.01)
    # pencil: cosⁿ with n = ln ½ / ln cos 25°, so at 12.5° it is cos(12.5°)^7.04 of that
    at = np.interp(math.radians(12.5), np.linspace(0.0, source.shape[14], len(source.table)),
                   source.table)  # fmt: skip
    power = math.log(0.5) / math.log(math.cos(math.radians(25.0)))
    assert_allclose(at / source.table[0], math.cos(math.radians(12.5)) ** power, rtol=2e-3)


def test_a_fresnel_set_between_lies_between_its_ends() -> None:
    ends = [source_of(fixture(f'kit: "100 W LED, Fresnel", beam: {one}', output="", colour=""))
            for one in ("flood", "30 deg", "spot")]  # fmt: skip
    flood, between, spot = (one.flux_lm * float(one.table[0]) for one in ends)
    assert flood < between < spot
