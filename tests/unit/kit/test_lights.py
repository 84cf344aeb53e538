"""Heads and modifiers read from the words that people use for them."""

from __future__ import annotations

import pytest
from numpy.testing import assert_allclose

from falloff.errors import FixtureTextError
from falloff.kit import head_names, modifier_names, read_outfit

LM_PER_WATT_LED = 95.0  # kit's own figure (common practice, from memory)


def test_a_head_in_a_modifier() -> None:
    found = read_outfit("300 W LED in 90 cm soft box")
    assert (found.head, found.modifier, found.form) == ("LED", "soft box", "soft box")
    assert_allclose(found.size_m, (0.9, 0.9))
    assert_allclose(found.flux_lm, 300.0 * LM_PER_WATT_LED * 0.33)  # pencil, by the kit's figures
    assert (found.power_w, found.colour_kelvin, found.count) == (300.0, 5600.0, 1)


@pytest.mark.parametrize(
    ("said", "form", "size_m", "power_w"),
    [
        ("2 x 1.2 kW tungsten", "open face", (0.12, 0.12), 2400.0),
        ("100 W 60 x 30 cm LED panel", "panel", (0.6, 0.3), 100.0),
        ("300W LED into a 4 x 4 ft bounce board", "panel", (1.2192, 1.2192), 300.0),
        ("1 kW daylight discharge through 1.2 m frame of diffusion", "panel", (1.2, 1.2), 1000.0),
        ("600 W LED in a book light", "book light", (0.9, 0.9), 600.0),
        ("300 w led with 3' umbrella", "panel", (0.9144, 0.9144), 300.0),
    ],
)
def test_many_ways_to_say_it(
    said: str, form: str, size_m: tuple[float, float], power_w: float
) -> None:
    found = read_outfit(said)
    assert found.form == form
    assert_allclose(found.size_m, size_m, atol=1e-9)  # pencil: 1 ft = 0.3048 m
    assert_allclose(found.power_w, power_w)


def test_every_head_stands_in_every_modifier() -> None:
    for head in head_names():
        for modifier in modifier_names():
            found = read_outfit(f"500 W {head} in 1 m {modifier}")
            assert 0.0 < found.flux_lm < 500.0 * 100.0
            assert found.head_spread_stops > 0.0


@pytest.mark.parametrize(
    ("said", "what"),
    [
        ("", "this is no fixture"),
        ("LED", "this is no fixture"),
        ("300 W lantern fish", "'lantern fish' is no head that the kit has"),
        ("300 W LED in 90 cm cardboard box", "'90 cm cardboard box' is no modifier"),
        ("300 W LED in 90 soft box", "'90' is no size"),
        ("300 W LED in 90 m soft box", "'90 m' is no size of a light"),
        ("0 W LED", "0 W is no power of a head"),
        ("90 kW LED", "90 kW is no power of a head"),
    ],
)
def test_what_cannot_be_read_is_told(said: str, what: str) -> None:
    with pytest.raises(FixtureTextError) as caught:
        read_outfit(said)
    fault = caught.value.faults[0]
    assert fault.what.startswith(what)
    assert fault.expected
    assert fault.fix
