"""What targets of a moment make of light with its spread; light invented, of white."""

from __future__ import annotations

from typing import Any

import pytest

from falloff.day.spread import Judging, Spread
from falloff.document import AnyTarget, parse_document
from falloff.readings import Metered

SCENE = """
falloff: 2
title: Targets
units: metric
room:
  floor: [[0 m, 0 m], [4 m, 0 m], [4 m, 3 m], [0 m, 3 m]]
  height: 2.5 m
  floor_surface: planks
  ceiling_surface: white paint
  wall_surface: plaster
readings:
  face: {at: [1 m, 1 m, 1 m], normal: [0, 1, 0]}
  back: {at: [1 m, 1 m, 1 m], normal: [0, -1, 0]}
  walk: {at: [1 m, 1 m, 1 m], to: [2 m, 1 m, 1 m], points: 2, normal: [0, 0, 1]}
targets:
  T: {SAID}
"""


KEY_LUX = 100.0


def target(said: str) -> AnyTarget:
    return parse_document(SCENE.replace("SAID", said)).targets["T"]


def light(**stops: float | None) -> dict[str, Metered]:
    """Readings so many stops over key; None: without light."""
    return {
        name.replace("_", " "): Metered(
            0.0 if one is None else KEY_LUX * 2.0**one, (0.1978, 0.4683), spot=False
        )
        for name, one in stops.items()
    }


def at(
    said: str, expected: dict[str, Metered], low: dict[str, Metered], high: dict[str, Metered],
    **more: Any,
) -> tuple[Spread, float | None]:  # fmt: skip
    told: dict[str, Any] = {"points": {}, "kept": {}, "balance_kelvin": None}
    judging = Judging({"T": target(said)}, key_lux=KEY_LUX, grey_nit=10.0, **(told | more))
    spread = judging.at(expected, low, high)["T"]
    return spread, judging.level(judging.targets["T"], spread, expected)


ALONE = "reading: face, level: 1 stop, tolerance: 1/2 stop"


def test_a_target_over_key_is_the_reading_itself() -> None:
    spread, level = at(ALONE, light(face=1.2), light(face=0.9), light(face=1.6))
    assert level == pytest.approx(1.2)
    # pencil: half a stop less the 0.2, the 0.6 that it is off
    assert (spread.margin, spread.least) == pytest.approx((0.3, -0.1))
    assert at(ALONE, {}, {}, {}) == (Spread(None, None, None), None)
    dark, level = at(ALONE, *[light(face=None)] * 3)
    assert (dark.holds, level) == (False, None)


def test_a_target_over_another_reading_is_their_difference() -> None:
    """Pencil: both move with the sky, and the worse end counts whichever it is."""
    lights = light(face=2.0, back=0.0), light(face=1.5, back=-1.0), light(face=2.5, back=0.9)
    spread, level = at(f"{ALONE}, over: back", *lights)
    assert level == pytest.approx(2.0)
    assert (spread.margin, spread.least) == pytest.approx((-0.5, -1.0))
    assert at(f"{ALONE}, over: back", *[light(face=2.0)] * 3)[0] == Spread(None, None, None)
    assert at(f"{ALONE}, over: back", *[light(face=2.0, back=None)] * 3)[1] is None


@pytest.mark.parametrize(
    ("limit", "told", "holds"),
    [
        ("equal", (1.0, 0.7, 1.3), True),  # over the whole spread
        ("equal", (1.0, 0.4, 1.3), None),  # as expected, yet not on a dull day
        ("equal", (1.7, 1.2, 2.0), None),  # not as expected, yet on a dull day
        ("equal", (3.0, 2.0, 4.0), False),
        ("equal", (-1.0, -2.0, 0.0), False),
        ("equal", (3.0, -3.0, 4.0), None),  # somewhere between the ends it holds
        ("at most", (0.0, -1.0, 1.4), True),
        ("at most", (0.0, -1.0, 2.0), None),
        ("at most", (3.0, 2.0, 4.0), False),
        ("at least", (3.0, 2.0, 4.0), True),
        ("at least", (3.0, 0.0, 4.0), None),
        ("at least", (0.0, -1.0, 0.4), False),
        ("equal", (None, None, None), False),
    ],
)
def test_whether_a_target_holds_over_the_spread(
    limit: str, told: tuple[float | None, float | None, float | None], holds: bool | None
) -> None:
    said = ALONE if limit == "equal" else f"{ALONE}, limit: {limit}"
    assert at(said, *(light(face=one) for one in told))[0].holds is holds


def test_nothing_is_told_where_an_end_tells_nothing() -> None:
    spread, _ = at(ALONE, light(face=1.0), light(face=1.0), {})
    assert (spread.holds, spread.least) == (True, None)
    assert spread.margin == pytest.approx(0.5)
    gone, _ = at(ALONE, light(face=1.0), {}, {})
    assert gone.least is None


def test_targets_of_other_kinds_have_a_day_too() -> None:
    even, level = at(
        "even: 1/2 stop, readings: [face, back]",
        light(face=1.0, back=0.8),
        light(face=0.5, back=0.4),
        light(face=1.5, back=0.6),
    )
    # pencil: 0.2, 0.1 and 0.9 of a stop apart
    assert (even.holds, level) == (None, None)
    assert (even.margin, even.least) == pytest.approx((0.3, -0.4))
    keep, _ = at("reading: face, keep: true", *[light(face=1.0)] * 3, kept={"face": 2 * KEY_LUX})
    assert keep.holds is True
    white, _ = at("reading: face, colour: 6500 K", *[light(face=1.0)] * 3)
    assert white.holds is True  # source: u'v' of D65 in CIE 015, near 6504 K
    walk = {"walk": ("walk 1", "walk 2")}
    along, level = at(
        "reading: walk, level: 1 stop", *[light(walk_1=1.0, walk_2=2.0)] * 3, points=walk
    )
    assert along.holds is False
    assert level == pytest.approx(2.0)
