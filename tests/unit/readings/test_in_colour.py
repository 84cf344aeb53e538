"""The colour of the light at readings, in a sentence (snapshot: our own wording)."""

from __future__ import annotations

import msgspec
import pytest
from tests.unit.readings.test_in_brief import reading, readings

from falloff.readings import colours_in
from falloff.spectrum import light_of_kelvin, uv_1976_from_xy, xy_of_cct_duv


def told(uv: dict[str, tuple[float, float] | None]) -> str:
    taken = [
        msgspec.structs.replace(reading(name, None if one is None else 0.0), uv=one)
        for name, one in uv.items()
    ]
    return colours_in(readings(*taken))


def white(kelvin: float, duv: float | None = None) -> tuple[float, float]:
    xy = light_of_kelvin(kelvin).xy if duv is None else xy_of_cct_duv(kelvin, duv)
    u, v = uv_1976_from_xy(xy)
    return float(u), float(v)


@pytest.mark.parametrize(
    ("uv", "said"),
    [
        ({}, ""),
        ({"a": None}, ""),
        ({"a": white(3200.0)}, "Colour of the light: a 3200 K."),
        # pencil: 5600 K and 5200 K are 14 mired apart, 5000 K is 21 from 5600 K
        ({"a": white(5600.0), "b": white(5200.0)}, "Colour of the light: 5390 K throughout."),
        (
            {"a": white(5600.0), "b": white(5000.0), "dark": None},
            "Colour of the light: a 5600 K; b 5000 K.",
        ),
        # pencil: Duv 0.02 at 3200 K, where a full green gel of 30 CC is worked out as 0.0217
        (
            {"a": white(3200.0), "b": white(3200.0, 0.02)},
            "Colour of the light: a 3200 K; b 3200 K, 28 CC of green.",
        ),
        (
            {"a": white(3200.0), "b": (0.4507, 0.5229)},  # source: u'v' of the red of BT.709
            "Colour of the light: a 3200 K; b of hue 10°, saturation 3.3.",
        ),
        (
            {
                "dolly 1": white(5600.0), "dolly 2": white(4000.0), "dolly 3": white(4500.0, 0.02),
                "bed": white(3200.0), "lone 1": white(3000.0),
            },
            "Colour of the light: dolly 1 to 3 4000 K to 5600 K, up to 20 CC of green; "
            "bed 3200 K; lone 1 3000 K.",
        ),
        (
            {"w 1": white(3200.0), "w 2": white(3200.0), "b": white(5600.0)},
            "Colour of the light: w 1 to 2 3200 K; b 5600 K.",
        ),
        (
            {"w 1": white(3200.0), "w 2": (0.4507, 0.5229)},
            "Colour of the light: w 1 3200 K; w 2 of hue 10°, saturation 3.3.",
        ),
    ],
)  # fmt: skip
def test_colours(uv: dict[str, tuple[float, float] | None], said: str) -> None:
    assert told(uv) == said
