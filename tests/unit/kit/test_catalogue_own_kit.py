"""The user's own kit: read with all its faults, changed without touching anything else."""

from __future__ import annotations

import datetime as dt
import math
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from falloff.errors import DocumentError, GeometryError, OutputError
from falloff.findings import Weight
from falloff.kit.catalogue import (
    Battery,
    Fixture,
    Lens,
    Modifier,
    append_item,
    day_rates,
    dimmed,
    find_as,
    find_own,
    modifier_cost,
    new_kit_text,
    parse_own_kit,
    provenance_of,
    read_own_kit,
    set_key,
    spread_of,
)
from falloff.kit.catalogue.own_kit_text import toml_value

KIT = """\
falloff_kit = 1
title = "van"   # the white one
currency = "EUR"

# two of these, one with a dent
[[item]]
item = "300 W LED, open face"
name = "big LED"
count = 2  # one has a dent
plug = "household, 230 V"
[item.measured]
on = 2024-05-31
power_w = 312
kelvin = 5450
[item.measured.beams."55° reflector"]
illuminance_lux = 5600   # at two metres
at_m = 2

[[item]]
item = "11:1 zoom"
owned = false
day_rate = 80
measured.transmitted_percent = 60

[[item]]
item = "90 cm soft box"
measured = { on = 2024-05-31, loss_stops = 2.6 }

[[item]]
item = "old battery"
count = 4
owned = false

[[battery]]
name = "old battery"
energy_wh = 95
voltage_v = 14.4
greatest_power_w = 79
weight_kg = 0.9
"""


def test_a_kit_is_read() -> None:
    kit = parse_own_kit(KIT, "van.kit.toml")
    assert (kit.title, kit.currency) == ("van", "EUR")
    assert [(one.name, one.count, one.owned) for one in kit.items] == [
        ("big LED", 2, True),
        ("24 to 264 mm T2.8 zoom, 11:1, super 35", 1, False),
        ("90 cm soft box", 1, True),
        ("old battery", 4, False),
    ]
    assert kit.items[0].plug == "household, 230 V"
    assert [one.line for one in kit.items] == [6, 19, 25, 29]
    battery = kit.items[3].item
    assert isinstance(battery, Battery)
    assert battery.energy_j == 95 * 3600  # pencil
    assert battery.provenance == "by the user"
    assert day_rates(kit) == (80.0, ("old battery",))


def test_a_measured_figure_overrides_and_says_so() -> None:
    kit = parse_own_kit(KIT, "van.kit.toml")
    head = find_own(kit, "BIG led")
    lamp = head.item
    assert isinstance(lamp, Fixture)
    assert lamp.power_w == 312.0
    assert (lamp.kelvin, lamp.kelvin_low, lamp.kelvin_high) == (5450, 5450, 5450)
    assert_allclose(lamp.beams[0].axis_cd, 5600 * 4)  # pencil: 2 m is far of a 12 cm front
    catalogue = find_as(Fixture, "300 W LED, open face")
    ratio = lamp.beams[0].flux_lm / catalogue.beams[0].flux_lm
    assert_allclose(ratio, 5600 * 4 / catalogue.beams[0].axis_cd, rtol=0.03)  # flux made to fit
    assert lamp.beams[1] == catalogue.beams[1]
    assert provenance_of(lamp, "power_w") == "measured by the user, 2024-05-31"
    assert provenance_of(lamp, "weight_kg") == "common practice, from memory"
    assert provenance_of(lamp, "beams").endswith("measured by the user, 2024-05-31: 55° reflector")
    says = [one.says for one in head.findings]
    assert "power_w: 312, measured by the user, 2024-05-31, in place of the catalogue's 300" in says
    off = math.log2(5600 * 4 / catalogue.beams[0].axis_cd)  # pencil
    assert any(f"({off:+.1f} stops)" in one for one in says)
    zoom = kit.items[1].item
    assert isinstance(zoom, Lens)
    assert zoom.transmitted_share == 0.6


def test_a_measured_loss_stands_for_the_sum() -> None:
    box = parse_own_kit(KIT, "van.kit.toml").items[2].item
    assert isinstance(box, Modifier)
    cost = modifier_cost(find_as(Fixture, "300 W LED"), box)
    assert_allclose(cost.total_stops, 2.6)
    assert_allclose(cost.absorbed_stops + cost.spread_stops, 2.6)
    assert cost.provenance == "measured by the user, 2024-05-31"
    assert cost.expected_spread_stops == spread_of(box, "loss_stops") == 0.2


def test_any_number_may_be_measured() -> None:
    text = """falloff_kit = 1
[[item]]
item = "650 W tungsten, Fresnel"
[item.measured]
flux_lm = 15000
weight_kg = 3.4
spread_stops = 0.1
[item.measured.dim]
kind = "measured"
points = [[0, 0], [0.5, 0.1], [1, 1]]
[[item]]
item = "white umbrella"
name = "mine"
"""
    with pytest.raises(DocumentError, match="did you mean"):
        parse_own_kit(text, "a.kit.toml")
    text = text.replace("white umbrella", "umbrella") + "measured.beams.fixed.passes_percent = 55\n"
    first, second = parse_own_kit(text, "a.kit.toml").items
    assert isinstance(first.item, Fixture)
    before = find_as(Fixture, "650 W tungsten, Fresnel")
    for now, then in zip(first.item.beams, before.beams, strict=True):  # beams follow the flux
        assert_allclose(now.axis_cd / then.axis_cd, 15000 / 16500)
    assert spread_of(first.item, "flux_lm") == spread_of(first.item, "beams") == 0.1
    assert_allclose(dimmed(first.item, 0.25).light_share, 0.05)
    assert isinstance(second.item, Modifier)
    assert second.item.beams[0].passes_share == 0.55
    assert "passes 55 %" in second.findings[0].says


def test_all_faults_are_told_at_once_with_their_lines() -> None:
    text = """falloff_kit = 2
[[item]]
item = "300 W LED, open fase"
[[item]]
item = "300 W LED"
cuont = 2
count = 0
[item.measured]
power_w = -5
power_kw = 1
family = "LED"
wieght_kg = 2
kelvin = nan
[item.measured.beams."55° reflector"]
illuminance_lux = 100
[item.measured.beams.flood]
axis_cd = 1
[[item]]
name = "nothing"
[[lamp]]
[[lens]]
name = "short"
focal_low_mm = "18"
"""
    with pytest.raises(DocumentError) as caught:
        parse_own_kit(text, "bad.kit.toml")
    found = {(fault.line, fault.what) for fault in caught.value.faults}
    for line, what in [
        (1, "the file does not say that it is a kit"),
        (3, "the catalogue has no '300 W LED, open fase'"),
        (6, "'cuont' is not known here"),
        (7, "count cannot be 0"),
        (9, "power_w cannot be -5"),
        (10, "'power_kw' is not known here"),
        (11, "family is nothing that one measures"),
        (12, "'wieght_kg' is not known here"),
        (13, "this is no number"),
        (14, "a reading needs its distance, and a distance its reading"),
        (16, "300 W LED, open face has no beam called 'flood'"),
        (18, "item is missing"),
        (20, "'lamp' is not known here"),
        (21, "f_number is missing"),
        (23, 'focal_low_mm cannot be "18"'),
    ]:
        assert (line, what) in found
    assert all(fault.where.startswith("bad.kit.toml") for fault in caught.value.faults)
    lines = [fault.line or 0 for fault in caught.value.faults]
    assert lines == sorted(lines)
    weight = next(fault for fault in caught.value.faults if "wieght" in fault.what)
    assert weight.fix == "did you mean 'weight_kg'?"


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("falloff_kit = 1\nitem = 3\n", "items are tables"),
        ("falloff_kit = \n", "this is not TOML"),
        ("falloff_kit = 1\ntitle = 3\n", "title is a text"),
        ('falloff_kit = 1\n[[item]]\nitem = "candle"\n[[item]]\nitem = "candle"\n', "stands twice"),
        ('falloff_kit = 1\n[[item]]\nitem = "candle"\nmeasured = 3\n', "is a table"),
        ('falloff_kit = 1\n[[item]]\nitem = "candle"\nmeasured.on = "May"\n', "this is no day"),
        ('falloff_kit = 1\n[[item]]\nitem = "candle"\nmeasured.beams = 1\n', "tables by their"),
        ('falloff_kit = 1\n[[item]]\nitem = "sandbag"\nmeasured.beams.a.b = 1\n', "only fixtures"),
        ('falloff_kit = 1\n[[item]]\nitem = "candle"\n'
         'measured.beams.fixed = {flux_lm = 12, axis_cd = 40}\n', "contradicts itself by"),
        ('falloff_kit = 1\n[[item]]\nitem = "candle"\nmeasured.weight_kg = true\n', "cannot be"),
        ('falloff_kit = 1\n[[item]]\nitem = "candle"\nmeasured.power_w = "3"\n', "cannot be"),
        ('falloff_kit = 1\n[[item]]\nitem = "big grip"\ncount = 1.5\n', "count cannot be 1.5"),
        ("falloff_kit = 1\nlens = 3\n", "these are tables"),
    ],
)  # fmt: skip
def test_each_fault_has_its_words(text: str, what: str) -> None:
    with pytest.raises(DocumentError, match=what):
        parse_own_kit(text, "bad.kit.toml")


def test_a_file_that_is_none(tmp_path: Path) -> None:
    with pytest.raises(DocumentError, match="cannot be read"):
        read_own_kit(tmp_path / "none.kit.toml")
    broken = tmp_path / "b.kit.toml"
    broken.write_bytes(b"\xff\xfe")
    with pytest.raises(DocumentError, match="not UTF-8"):
        read_own_kit(broken)
    good = tmp_path / "g.kit.toml"
    good.write_bytes(b"\xef\xbb\xbf" + KIT.replace("\n", "\r\n").encode())
    assert read_own_kit(good).items == parse_own_kit(KIT, "x").items


def test_a_name_that_is_not_in_the_kit() -> None:
    with pytest.raises(GeometryError, match="did you mean 'big LED'"):
        find_own(parse_own_kit(KIT, "van.kit.toml"), "bigg LED")


def test_a_near_reading_is_a_warning() -> None:
    text = KIT.replace("at_m = 2", "at_cm = 40").replace("5600 ", "140000 ")
    findings = parse_own_kit(text, "van.kit.toml").items[0].findings
    assert [one.weight for one in findings].count(Weight.WARNING) == 1


# Writing ---------------------------------------------------------------------------------


def test_an_item_is_appended_and_nothing_else_moves() -> None:
    text = append_item(KIT, {"item": "candle", "count": 12, "measured": {"flux_lm": 11.5}})
    assert text.startswith(KIT)
    assert parse_own_kit(text, "van.kit.toml").items[4].count == 12
    started = append_item(new_kit_text("mine"), {"item": "candle"})
    assert parse_own_kit(started, "mine.kit.toml").title == "mine"


@pytest.mark.parametrize(
    ("path", "value", "old", "new"),
    [
        (("count",), 3, "count = 2  # one", "count = 3  # one"),
        (("measured", "power_w"), 305.5, "power_w = 312", "power_w = 305.5"),
        (("measured", "beams", "55° reflector", "illuminance_lux"), 5000.0,
         "illuminance_lux = 5600   # at", "illuminance_lux = 5000.0   # at"),
        (("plug",), 'a "blue" # one', '"household, 230 V"', '"a \\"blue\\" # one"'),
        (("day_rate",), 25, 'plug = "household, 230 V"\n',
         'plug = "household, 230 V"\nday_rate = 25\n'),
        (("measured", "weight_kg"), 4.1, "kelvin = 5450\n", "kelvin = 5450\nweight_kg = 4.1\n"),
        (("measured", "beams", "bare", "axis_cd"), 9000, "kelvin = 5450\n",
         "kelvin = 5450\nbeams.bare.axis_cd = 9000\n"),
    ],
)  # fmt: skip
def test_a_key_is_set_where_it_belongs(
    path: tuple[str, ...], value: Any, old: str, new: str
) -> None:
    assert set_key(KIT, 0, path, value) == KIT.replace(old, new, 1)


def test_a_table_on_one_line_is_left_to_a_person() -> None:
    with pytest.raises(OutputError, match="cannot be changed there"):
        set_key(KIT, 2, ("measured", "loss_stops"), 2.0)
    whole = set_key(KIT, 2, ("measured",), {"loss_stops": 2.0})
    assert whole == KIT.replace("{ on = 2024-05-31, loss_stops = 2.6 }", "{ loss_stops = 2.0 }")


def test_a_dotted_key_is_set_and_added() -> None:
    text = set_key(KIT, 1, ("measured", "transmitted_percent"), 61)
    assert text == KIT.replace("transmitted_percent = 60", "transmitted_percent = 61")
    text = set_key(KIT, 1, ("measured", "t_number"), 3.4)
    assert text == KIT.replace(
        "transmitted_percent = 60\n", "transmitted_percent = 60\nmeasured.t_number = 3.4\n"
    )


def test_windows_line_ends_and_a_missing_last_one_stay() -> None:
    crlf = KIT.replace("\n", "\r\n")
    assert set_key(crlf, 0, ("count",), 5) == crlf.replace("count = 2 ", "count = 5 ")
    bare = 'falloff_kit = 1\n[[item]]\nitem = "candle"'
    assert set_key(bare, 0, ("count",), 2) == bare + "\ncount = 2\n"
    assert "\n\n[[item]]" in append_item(bare, {"item": "oil lamp, 15 mm wick"})


def test_texts_over_several_lines_do_not_mislead() -> None:
    text = 'falloff_kit = 1\n[[item]]\nitem = "candle"\nnote = """\ncount = 7 # no\n[[item]]\n"""\n'
    text += "[[item]]\nitem = 'tealight'\ncount = 1\n"
    changed = set_key(text, 1, ("count",), 9)
    assert changed == text.replace("count = 1\n", "count = 9\n")
    kit = parse_own_kit(changed, "k.kit.toml")
    assert [one.line for one in kit.items] == [2, 8]


VALUES = st.recursive(
    st.booleans() | st.integers(-(2**60), 2**60) | st.floats(allow_nan=False) | st.text()
    | st.dates(dt.date(1, 1, 1), dt.date(9999, 1, 1)),
    lambda part: st.lists(part, max_size=3)
    | st.dictionaries(st.text(max_size=5), part, max_size=3),
    max_leaves=6,
)  # fmt: skip


@given(VALUES)
def test_what_is_written_reads_back_the_same(value: Any) -> None:
    assert tomllib.loads(f"a = {toml_value(value)}")["a"] == value


def test_what_cannot_be_written_is_refused() -> None:
    with pytest.raises(OutputError, match="cannot be written"):
        toml_value(object())
