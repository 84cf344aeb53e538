"""Whether targets of every kind hold, by how much and in which words; readings made by hand."""

from __future__ import annotations

import math
import warnings
from collections.abc import Mapping
from typing import Any, get_args

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.unit.readings.test_in_brief import reading, readings

from falloff.document import (
    AnyTarget,
    ColourTarget,
    EvenTarget,
    HueTarget,
    KeepTarget,
    Quantity,
    Target,
    ValueTarget,
    parse_document,
)
from falloff.readings import Judged, Metered, judge, judge_all
from falloff.readings.colour import hue_of, uv_of, white_of
from falloff.readings.targets import AS_A_STOP, Unit, margin_of
from falloff.spectrum import full_green_duv, light_of_kelvin, uv_1976_from_xy, xy_of_cct_duv

with warnings.catch_warnings():  # of its optional parts that are not here
    warnings.simplefilter("ignore")
    import colour

KEY_LUX, GREY_NIT = 480.0, 27.5
THIRD = 1.0 / 3.0


def stops(value: float) -> Quantity:
    return Quantity(value, f"{value:g} stops")


def lit(level: float | None, *, spot: bool = False, uv: Any = None) -> Metered:
    """A reading so many stops over key, of a spot over middle grey; None: without light."""
    value = 0.0 if level is None else (GREY_NIT if spot else KEY_LUX) * 2.0**level
    return Metered(value, None if uv is None else (float(uv[0]), float(uv[1])), spot)


def judged(
    target: AnyTarget, taken: Mapping[str, Metered] | None = None, *,
    kept: dict[str, float] | None = None, points: Mapping[str, tuple[str, ...]] | None = None,
    balance: float | None = None, **more: Metered,
) -> Judged:  # fmt: skip
    one = judge(
        "T", target, {**(taken or {}), **more}, key_lux=KEY_LUX, grey_nit=GREY_NIT,
        balance_kelvin=balance, kept=kept, points=points or {},
    )  # fmt: skip
    assert one is not None
    assert one.target == "T"
    assert (one.miss == "") is one.holds
    return one


def level(wanted: float, **more: Any) -> Target:
    return Target(reading="a", level=stops(wanted), **more)


# The rule --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("limit", "off", "margin"),
    [
        # pencil: within half a stop
        ("equal", 0.0, 0.5),
        ("equal", 0.4, 0.1),
        ("equal", -0.7, -0.2),
        ("at most", -6.0, 6.5),
        ("at most", 0.7, -0.2),
        ("at least", 5.0, 5.5),
        ("at least", -0.8, -0.3),
    ],
)
def test_how_far_something_is_within_its_tolerance(limit: Any, off: float, margin: float) -> None:
    assert_allclose(margin_of(off, tolerance=0.5, limit=limit), margin, atol=1e-12)


def test_every_unit_has_what_is_as_bad_as_a_stop() -> None:
    assert set(AS_A_STOP) == set(get_args(Unit))


# Levels ----------------------------------------------------------------------------------

SET = {"a": lit(1.0), "b": lit(-1.0), "s": lit(2.0, spot=True), "dark": lit(None)}


@pytest.mark.parametrize(
    ("target", "off", "holds", "got", "miss"),
    [
        # pencil: a is 1 stop over key, b 1 stop under key, the spot s 2 stops over grey
        (level(1.0), 0.0, True, "1 over key", ""),
        (level(0.7), 0.3, True, "1 over key", ""),
        (level(0.0), 1.0, False, "1 over key", "1 too bright"),
        (level(2.5), -1.5, False, "1 over key", "1 2/3 too dark"),
        (level(0.9, tolerance=stops(0.05)), 0.1, False, "1 over key", "a little too bright"),
        (level(2 / 3), THIRD, True, "1 over key", ""),  # on the very edge
        (level(0.0, limit="at most"), 1.0, False, "1 over key", "1 too bright"),
        (level(5.0, limit="at most"), -4.0, True, "1 over key", ""),
        (level(0.0, limit="at least"), 1.0, True, "1 over key", ""),
        (level(3.0, limit="at least"), -2.0, False, "1 over key", "2 too dark"),
        (level(2.0, over="b"), 0.0, True, "2 over b", ""),
        (level(0.0, over="a"), 0.0, True, "level with a", ""),
        # the spot's 2 over grey are 1 more than a's 1 over key, whatever their units are
        (level(-1.0, over="s"), 0.0, True, "1 under s", ""),
        (level(0.0, over="dark"), 40.0, False, "no light at dark", "no light at dark"),
        (level(0.0, over="dark", limit="at least"), 40.0, True, "no light at dark", ""),
    ],
)  # fmt: skip
def test_a_level(target: Target, off: float, holds: bool, got: str, miss: str) -> None:
    one = judged(target, taken=SET)
    assert one.off is not None
    assert_allclose(one.off, off, atol=1e-12)
    assert (one.holds, one.got, one.miss, one.unit) == (holds, got, miss, "stops")


def test_a_spot_is_told_over_middle_grey() -> None:
    target = Target(reading="s", level=stops(2.0), limit="at most")
    one = judged(target, taken=SET)
    assert one.asks == "s at most 2 over middle grey, give or take a third"
    assert (one.got, one.holds) == ("2 over middle grey", True)


@pytest.mark.parametrize("limit", ["equal", "at least"])
def test_without_light_nothing_is_met_but_at_most(limit: Any) -> None:
    for wanted in (level(-38.0, limit=limit), level(0.0, limit=limit, over="dark")):
        one = judged(wanted, a=lit(None), dark=lit(None))
        assert (one.holds, one.got, one.miss) == (False, "no light", "no light")
    assert judged(level(0.0, limit="at most"), a=lit(None)).holds


def test_a_reading_that_is_not_taken_is_not_judged() -> None:
    for target in (
        level(0.0),
        level(0.0, over="gone"),
        ValueTarget(reading="a", value=Quantity(3.0, "3 lx")),
        EvenTarget(readings=("b", "a"), within=stops(1.0)),
        ColourTarget(reading="a", colour=Quantity(3200.0, "3200 K")),
        HueTarget(reading="a", hue=Quantity(1.0, "1 rad")),
        KeepTarget(reading="a"),
    ):
        found = judge(
            "T", target, {"b": lit(0.0)}, key_lux=1.0, grey_nit=1.0, balance_kelvin=None,
            kept={"a": 1.0}, points={},
        )  # fmt: skip
        assert found is None


def test_a_level_along_a_walk_holds_where_every_point_holds() -> None:
    walk = {"a": ("a 1", "a 2", "a 3")}
    taken = {"a 1": lit(0.1), "a 2": lit(-0.9), "a 3": lit(0.2)}
    one = judged(level(0.0), points=walk, taken=taken)
    assert (one.holds, one.got, one.miss) == (False, "a 2 1 under key", "1 too dark")
    assert one.asks == "a everywhere at key, give or take a third"
    assert judged(level(0.0), points=walk, taken=(taken | {"a 2": lit(0.3)})).holds
    # of points that are not taken in this setup nothing is said
    assert judged(level(0.0), points=walk, taken={"a 3": lit(0.2)}).holds


def test_contrast_as_a_ratio_is_counted_as_it_says() -> None:
    """EXP-21: key 300 lx and fill 100 lx are 4:1 key and fill to fill, 3:1 key to fill, 2 stops."""
    scene = """
falloff: 2
title: A
units: metric
room:
  floor: [[0 m, 0 m], [5 m, 0 m], [5 m, 4 m], [0 m, 4 m]]
  height: 3 m
  floor_surface: plaster
  ceiling_surface: plaster
  wall_surface: plaster
readings:
  key: {at: [1 m, 1 m, 1 m], normal: [0, 0, 1]}
  fill: {at: [2 m, 1 m, 1 m], normal: [0, 0, 1]}
targets:
  both: {reading: key, over: fill, ratio: 4:1, of: key and fill to fill, tolerance: 0.001 stops}
  alone: {reading: key, over: fill, ratio: 3:1, of: key to fill, tolerance: 0.001 stops}
  two: {reading: key, over: fill, ratio: "2:1", of: key and fill to fill}
  eight: {reading: key, over: fill, ratio: "8 : 1", of: key and fill to fill}
"""
    targets = parse_document(scene).level_targets
    told = {name: one.level.si for name, one in targets.items()}
    assert told == {"both": 2.0, "alone": 2.0, "two": 1.0, "eight": 3.0}
    for name in ("both", "alone"):
        lux = {"key": Metered(300.0 + 100.0, None, False), "fill": Metered(100.0, None, False)}
        one = judged(targets[name], taken=lux)
        assert (one.off, one.holds, one.got) == (0.0, True, "2 over fill")
    assert judged(targets["two"], taken=lux).miss == "1 too bright"


# Values, even ones, kept ones ------------------------------------------------------------


@pytest.mark.parametrize(
    ("said", "lux", "holds", "got", "miss"),
    [
        # pencil: 400 lx over 320 lx is 0.32 stop; 640 one stop; a foot-candle is 10.764 lx
        (Quantity(320.0, "320 lx"), 400.0, True, "400 lx", ""),
        (Quantity(320.0, "320 lx"), 640.0, False, "640 lx", "1 too bright"),
        (Quantity(322.917, "30 fc"), 322.917, True, "30.0 fc", ""),
        (Quantity(320.0, "320 lx"), 0.0, False, "no light", "no light"),
    ],
)
def test_a_value(said: Quantity, lux: float, holds: bool, got: str, miss: str) -> None:
    one = judged(ValueTarget(reading="a", value=said), a=Metered(lux, None, spot=False))
    assert (one.holds, one.got, one.miss) == (holds, got, miss)


def test_a_luminance() -> None:
    target = ValueTarget(reading="a", value=Quantity(50.0, "50 cd/m2"), limit="at most")
    one = judged(target, a=Metered(12.0, None, spot=True))
    assert (one.holds, one.got) == (True, "12.0 nit")
    assert one.asks == "a at most 50 cd/m2, give or take a third"
    feet = ValueTarget(reading="a", value=Quantity(102.8, "30 fL"))
    assert judged(feet, a=Metered(102.8, None, spot=True)).got == "30.0 fL"
    assert judged(target, a=Metered(0.0, None, spot=True)).holds


def test_even_is_the_most_over_the_least() -> None:
    target = EvenTarget(readings=("wall", "b"), within=Quantity(0.5, "1/2 stop"))
    walk = {"wall": ("wall 1", "wall 2")}
    taken = {"wall 1": lit(0.0), "wall 2": lit(0.4), "b": lit(0.1)}
    one = judged(target, points=walk, taken=taken)
    assert (one.off, one.margin) == pytest.approx((0.4, 0.1), abs=1e-12)  # pencil
    assert one.asks == "wall, b even within 1/2 stop"
    assert one.got == "a third apart, wall 2 the brightest and wall 1 the darkest"
    one = judged(target, points=walk, taken=(taken | {"b": lit(-0.6)}))
    assert (one.off, one.margin) == pytest.approx((1.0, -0.5), abs=1e-12)  # pencil
    assert one.miss == "two thirds too far apart"
    one = judged(target, points=walk, taken=(taken | {"b": lit(None)}))
    assert (one.holds, one.got, one.miss) == (False, "no light at b", "no light at b")
    dark = dict.fromkeys(taken, lit(None))
    assert judged(target, points=walk, taken=dark).got == "no light"
    assert judged(target, points=walk, taken=dict.fromkeys(taken, lit(0.0))).got == "all alike"


@pytest.mark.parametrize(
    ("before", "now", "holds", "got", "miss"),
    [
        # pencil: 400 over 320 is 0.32 stop, 640 over 320 one
        (320.0, 400.0, True, "a third over what it was", ""),
        (320.0, 320.0, True, "as it was", ""),
        (320.0, 640.0, False, "1 over what it was", "1 too bright"),
        (320.0, 160.0, False, "1 under what it was", "1 too dark"),
        (320.0, 0.0, False, "no light", "no light"),
        (0.0, 320.0, False, "no light before", "40 too bright"),
        (0.0, 0.0, True, "no light, as it was", ""),
    ],
)
def test_what_is_kept(before: float, now: float, holds: bool, got: str, miss: str) -> None:
    one = judged(KeepTarget(reading="a"), kept={"a": before}, a=Metered(now, None, spot=False))
    assert (one.holds, one.got, one.miss) == (holds, got, miss)
    assert one.asks == "a as it is written, give or take a third"


def test_what_was_never_known_is_not_kept() -> None:
    assert judge(
        "T", KeepTarget(reading="a"), {"a": lit(0.0)}, key_lux=1.0, grey_nit=1.0,
        balance_kelvin=None, kept=None, points={},
    ) is None  # fmt: skip


# Colour ----------------------------------------------------------------------------------


def white(kelvin: float, cc: float = 0.0) -> Metered:
    """A light on the line of whites, and so many CC of green off it."""
    if not cc:
        return lit(0.0, uv=uv_1976_from_xy(light_of_kelvin(kelvin).xy))
    line = light_of_kelvin(kelvin).temperature.duv
    duv = line + cc / 30.0 * full_green_duv(1e6 / kelvin)
    return lit(0.0, uv=uv_1976_from_xy(xy_of_cct_duv(kelvin, duv)))


def colour_of(text: str, **more: Any) -> ColourTarget:
    return ColourTarget(reading="a", colour=Quantity(float(text[:-2]), text), **more)


def test_a_colour_temperature() -> None:
    """Pencil: 3200 K is 312.5 mired, 3000 K 333.3, 2800 K 357.1, 3400 K 294.1."""
    one = judged(colour_of("3200 K"), a=white(3000.0))
    assert one.off is not None
    assert one.margin is not None
    assert_allclose([one.off, one.margin], [20.83, 9.17], atol=0.3)
    assert (one.holds, one.got, one.unit) == (True, "3000 K", "mired")
    assert one.asks == "a 3200 K, give or take 30 mired"
    one = judged(colour_of("3200 K"), a=white(2800.0))
    assert (one.holds, one.miss) == (False, "45 mired too warm")
    one = judged(colour_of("3200 K", tolerance=10.0), a=white(3400.0))
    assert (one.holds, one.miss) == (False, "18 mired too cool")


def test_green_is_told_off_the_line() -> None:
    target = colour_of("4300 K", green=0.0)
    assert target.green_tolerance == 10.0
    asks = "a 4300 K, give or take 30 mired; no green, give or take 10 CC"
    one = judged(target, a=white(4300.0, 15.0))
    assert one.off is not None
    assert_allclose(one.off, 15.0, atol=0.3)
    assert (one.unit, one.holds, one.asks) == ("CC", False, asks)
    assert (one.got, one.miss) == ("4300 K, 15 CC of green", "15 CC too green")
    one = judged(target, a=white(4300.0, -15.0))
    assert (one.got, one.miss) == ("4300 K, 15 CC of magenta", "15 CC too magenta")
    # both are within their tolerances, and green is the nearer to its end
    one = judged(target, a=white(4300.0, 6.0))
    assert (one.unit, one.holds) == ("CC", True)
    warm = judged(target, a=white(3900.0, 6.0))
    assert (warm.unit, warm.holds) == ("mired", True)


def test_a_colour_over_another() -> None:
    """Pencil: 3200 K is 134 mired warmer than 5600 K."""
    target = ColourTarget(reading="a", over="b", mired=134.0, green=0.0)
    asks = "a 134 mired warmer than b, give or take 30 mired; no green, give or take 10 CC"
    one = judged(target, a=white(3200.0), b=white(5600.0))
    assert (one.holds, one.asks, one.got) == (True, asks, "134 mired warmer")
    one = judged(target, a=white(3200.0, 8.0), b=white(5600.0))
    assert (one.holds, one.unit, one.got) == (True, "CC", "8 CC of green")
    one = judged(target, a=white(5600.0), b=white(3200.0))
    assert (one.holds, one.got, one.unit) == (False, "134 mired cooler", "mired")
    assert one.miss == "268 mired too cool"
    same = ColourTarget(reading="a", over="b", mired=0.0)
    one = judged(same, a=white(3200.0), b=white(3200.0))
    assert (one.got, one.asks) == ("as warm", "a as warm as b, give or take 30 mired")


def test_without_a_colour_temperature_none_is_met() -> None:
    target = ColourTarget(reading="a", over="b", mired=0.0)
    red = lit(0.0, uv=(0.45, 0.52))
    for a, b, got in (
        (lit(None), white(3200.0), "no light"),
        (red, white(3200.0), "too strong a colour for a temperature"),
        (white(3200.0), red, "no colour temperature at b"),
        (white(3200.0), lit(None), "no colour temperature at b"),
    ):
        one = judged(target, a=a, b=b)
        assert (one.holds, one.got, one.off, one.margin) == (False, got, None, None)
    assert white_of((-0.1, 0.5)) is None  # no light has this colour


@pytest.mark.parametrize(
    ("hue_deg", "saturation", "tolerance", "holds", "miss"),
    [
        # pencil: 210 degrees wanted within 15, at least 0.3
        (220.0, 0.9, 15.0, True, ""),
        (240.0, 0.9, 15.0, False, "30° past it"),
        (180.0, 0.9, 15.0, False, "30° short of it"),
        (31.0, 0.9, 178.0, False, "179° short of it"),
        (210.0, 0.1, 15.0, False, "too pale"),
        (210.0, 0.301, 15.0, True, ""),
    ],
)
def test_a_hue(hue_deg: float, saturation: float, tolerance: float, holds: bool, miss: str) -> None:
    uv = at_hue(hue_deg, saturation, 3200.0)
    hue = Quantity(math.radians(210.0), "210 deg")
    near = Quantity(math.radians(tolerance), f"{tolerance:g} deg")
    one = judged(HueTarget(reading="a", hue=hue, tolerance=near), a=lit(0.0, uv=uv), balance=3200.0)
    assert (one.holds, one.miss, one.unit) == (holds, miss, "degrees")
    assert one.got == f"hue {hue_deg:.0f}°, saturation {saturation:.2g}"


def at_hue(hue_deg: float, saturation: float, kelvin: float) -> np.ndarray:
    way = np.array([math.cos(math.radians(hue_deg)), math.sin(math.radians(hue_deg))])
    return np.asarray(uv_1976_from_xy(light_of_kelvin(kelvin).xy) + saturation / 13.0 * way)


def test_a_hue_across_the_start_of_the_circle_and_however_pale() -> None:
    target = HueTarget(reading="a", hue=Quantity(math.radians(355.0), "355 deg"), saturation=0.0)
    one = judged(target, a=lit(0.0, uv=at_hue(5.0, 0.01, 5600.0)))
    assert one.off is not None
    assert_allclose(one.off, 10.0, atol=1e-6)
    assert (one.holds, one.asks) == (True, "a of hue 355°, give or take 15°")
    one = judged(HueTarget(reading="a", hue=Quantity(0.0, "0 deg")), a=lit(None))
    assert (one.holds, one.got, one.off) == (False, "no light", None)
    assert one.asks == "a of hue 0°, give or take 15°, saturation 0.3 or more"


# Words -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("tolerance", "told"),
    [
        (THIRD, "a third"),
        (2 * THIRD, "two thirds"),
        (1.0, "1"),
        (0.5, "half a stop"),
        (0.1, "0.1 stop"),
        (0.25, "0.25 stop"),
    ],
)
def test_a_tolerance_in_words(tolerance: float, told: str) -> None:
    target = Target(
        reading="shadow cheek", level=stops(-2.0), over="key cheek", tolerance=stops(tolerance)
    )
    taken = {"shadow cheek": lit(0.0), "key cheek": lit(0.0)}
    assert (
        judged(target, taken=taken).asks == f"shadow cheek 2 under key cheek, give or take {told}"
    )


# Against colour-science ------------------------------------------------------------------

LIGHTS = np.array([[0.9, 0.3, 0.1], [0.6, 0.5, 0.3], [0.3, 0.34, 0.36], [0.26, 0.32, 0.42]])


@pytest.mark.parametrize("rgb", LIGHTS)
def test_colours_are_those_of_colour_science(rgb: np.ndarray) -> None:
    """Light of BT.2020 in u'v'; CCT and Duv by Ohno 2013; hue and saturation of CIE 1976 u*v*."""
    uv = uv_of(rgb)
    assert uv is not None
    xyz = colour.RGB_COLOURSPACES["ITU-R BT.2020"].matrix_RGB_to_XYZ @ rgb
    expected = colour.Luv_to_uv(colour.XYZ_to_Luv(xyz))
    assert_allclose(uv, expected, atol=2e-5)
    cct, duv = colour.temperature.uv_to_CCT_Ohno2013(colour.UCS_to_uv(colour.XYZ_to_UCS(xyz)))
    found = white_of(uv)
    if abs(duv) < 0.05:
        assert found is not None
        assert_allclose(found.mired, 1e6 / cct, atol=0.5)
        line = light_of_kelvin(found.kelvin).temperature.duv
        cc = 30.0 * (duv - line) / full_green_duv(found.mired)
        assert_allclose(found.green_cc, cc, atol=0.2)
    white_xy = light_of_kelvin(5000.0).xy
    luv = colour.XYZ_to_Luv(xyz, illuminant=white_xy)
    hue, saturation = hue_of(uv, 5000.0)
    assert_allclose(hue, math.atan2(luv[2], luv[1]) % math.tau, atol=3e-4)
    chroma = math.hypot(luv[1], luv[2])
    assert_allclose(saturation, chroma / luv[0], rtol=1e-3)  # CIE 15: s_uv = C*_uv / L*


def test_no_light_has_no_colour() -> None:
    assert uv_of(np.zeros(3)) is None
    assert uv_of(np.array([math.nan, 0.0, 0.0])) is None


# Of readings -----------------------------------------------------------------------------


def test_targets_of_readings() -> None:
    taken = readings(reading("a", 1.0), reading("s", 2.0, instrument="spot"))
    found = judge_all(
        {
            "one": level(1.0),
            "here": level(0.0, setups=("ONE",)),
            "elsewhere": level(0.0, setups=("TWO",)),
            "gone": Target(reading="gone", level=stops(0.0)),
            "kept": KeepTarget(reading="a"),
            "changed": KeepTarget(reading="s"),
        },
        taken,
    )
    assert {name: one.holds for name, one in found.items()} == {
        "one": True, "here": False, "kept": True, "changed": True,
    }  # fmt: skip
    found = judge_all({"changed": KeepTarget(reading="s")}, taken, kept={"s": GREY_NIT})
    assert found["changed"].miss == "2 too bright"
