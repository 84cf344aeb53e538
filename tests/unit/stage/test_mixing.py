"""Heads of the kit set to a colour: what it costs, and what they cannot be set to."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.findings import Weight
from falloff.kit import Fixture
from falloff.kit.catalogue import find_as
from falloff.spectrum import generic_emitters, light_of_kelvin, light_of_xy
from falloff.stage.mixing import set_to_colour

MIXING = find_as(Fixture, "300 W RGBW LED, open face")
TUNGSTEN = find_as(Fixture, "300 W tungsten, Fresnel")


def test_one_emitter_alone_gives_its_own_share_of_the_light() -> None:
    # pencil: red is 0.17 of all four at full, so 2.556 stops under them; the head's 5600 K is not
    # all four at full, but no more than a quarter of a stop under
    red = generic_emitters("red")[0]
    light, lost, findings = set_to_colour("A", MIXING, light_of_xy(red.xy))
    assert_allclose(light.xy, red.xy, atol=1e-4)
    assert math.log2(1.0 / 0.17) - 0.25 < lost < math.log2(1.0 / 0.17)
    assert [one.weight for one in findings] == [Weight.NOTE]


def test_its_own_colour_costs_nothing() -> None:
    own = light_of_kelvin(MIXING.kelvin)
    assert set_to_colour("A", MIXING, own)[1:] == (0.0, ())


def test_a_colour_past_the_emitters_is_told_and_the_nearest_taken() -> None:
    # the sRGB green primary (IEC 61966-2-1) is within reach, that of ITU-R BT.2020 is not
    inside = set_to_colour("A", MIXING, light_of_xy(np.array([0.30, 0.60])))
    assert [one.weight for one in inside[2]] == [Weight.NOTE]  # what it costs, and no warning
    light, _, findings = set_to_colour("A", MIXING, light_of_xy([0.170, 0.797]))
    assert findings[0].weight is Weight.WARNING
    assert light.xy[1] < 0.79


@pytest.mark.parametrize(("kelvin", "told"), [(3200.0, 0), (5600.0, 1)])
def test_a_white_head_is_taken_at_the_word_and_told(kelvin: float, told: int) -> None:
    light, lost, findings = set_to_colour("A", TUNGSTEN, light_of_kelvin(kelvin))
    assert (light.temperature.cct_kelvin, lost, len(findings)) == (kelvin, 0.0, told)
