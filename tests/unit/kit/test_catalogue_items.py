"""The catalogue's items: units, ranges, where from, and that their figures agree."""

from __future__ import annotations

import math
import re
import typing
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.errors import GeometryError
from falloff.kit.catalogue import (
    KINDS,
    Beam,
    Cable,
    Fabric,
    Filter,
    Fixture,
    Gel,
    Grip,
    Item,
    Lens,
    Modifier,
    find_as,
    find_item,
    fixtures_reaching,
    kind_of,
    list_items,
    modifier_cost,
    near_names,
    provenance_of,
    spread_of,
    t_number,
)
from falloff.kit.catalogue.records import FROM_MEMORY
from falloff.photometry import beam_angle_rad, flux_of, round_beam
from falloff.units import Candela

ITEMS = list_items()
FIXTURES = [one for one in ITEMS if isinstance(one, Fixture)]
MODIFIERS = [one for one in ITEMS if isinstance(one, Modifier)]
BEAMS = [(one, beam) for one in FIXTURES for beam in one.beams]

# Endings that say a unit, and pure numbers: ratios, and numbers on a scale of their own.
UNITS = re.compile(
    r"_(m|m2|s|rad|kelvin|mired|w|lm|cd|nit|share|stops|amps|v|kg|hz|j|cc|m3_per_s)$|^kelvin$"
)
PURE = {"cri", "f_number", "t_number", "power_factor", "inrush_ratio", "day_rate", "kelvin_low",
        "kelvin_high", "spread_of"}  # fmt: skip


def names(one: Any) -> str:
    return one.name if isinstance(one, Item | Beam) else str(one)


def number_fields(cls: type[msgspec.Struct]) -> typing.Iterator[str]:
    """Names of a record's numbers, and of the records that it holds."""
    for one in msgspec.structs.fields(cls):
        for part in [one.type, *typing.get_args(one.type)]:
            if isinstance(part, type) and issubclass(part, msgspec.Struct):
                yield from number_fields(part)
        if "float" in str(one.type):
            yield one.name


@pytest.mark.parametrize("cls", KINDS.values(), ids=lambda cls: cls.__name__)
def test_numbers_end_in_their_unit(cls: type[Item]) -> None:
    found = set(number_fields(cls)) - {"points"}
    assert sorted(name for name in found if not UNITS.search(name) and name not in PURE) == []
    assert "spread_stops" in found  # the search itself works


@pytest.mark.parametrize("item", ITEMS, ids=names)
def test_each_figure_says_where_it_is_from(item: Item) -> None:
    for one in msgspec.structs.fields(item):
        assert provenance_of(item, one.name).startswith((FROM_MEMORY, "standard: "))
    assert item.spread_stops <= 1.0
    if isinstance(item, Fixture | Modifier | Gel | Fabric | Filter):
        light = "beams" if isinstance(item, Fixture | Modifier) else "loss_stops"
        assert spread_of(item, light) >= 0.05
    assert item.day_rate is None  # a rate is the user's own


@pytest.mark.parametrize("item", ITEMS, ids=names)
def test_figures_are_finite_and_survive_being_sent(item: Item) -> None:
    told = msgspec.json.decode(msgspec.json.encode(item))
    assert told["kind"] == kind_of(item)

    def numbers(value: Any) -> typing.Iterator[float]:
        if isinstance(value, dict):
            for part in value.values():
                yield from numbers(part)
        elif isinstance(value, list):
            for part in value:
                yield from numbers(part)
        elif isinstance(value, float):
            yield value

    assert all(math.isfinite(number) for number in numbers(told))
    assert msgspec.convert(told, KINDS[told["kind"]]) == item


def of_shape(beam: Beam) -> tuple[np.ndarray, np.ndarray]:
    """A beam's intensity by its shape, written here anew: angles and relative values."""
    half = beam.beam_angle_rad / 2.0
    if beam.shape == "flat":
        return np.array([0.0, half * 0.99, half * 1.01]), np.array([1.0, 1.0, 0.0])
    if beam.shape in {"all round", "tube"}:
        angles = np.linspace(0.0, math.pi, 2001)
        return angles, np.ones_like(angles) if beam.shape == "all round" else np.sin(angles).clip(0)
    angles = np.linspace(0.0, math.pi / 2, 20001)
    power = math.log(0.5) / math.log(math.cos(half))  # pencil: cosⁿ(half) = ½
    return angles, np.cos(angles).clip(0) ** power


@pytest.mark.parametrize(("fixture", "beam"), BEAMS, ids=names)
def test_flux_axis_and_angle_agree_within_half_a_stop(fixture: Fixture, beam: Beam) -> None:
    angles, values = of_shape(beam)
    found = round_beam(angles, values)
    peak = float(found.candela_per_lumen.max())
    by_axis = beam.axis_cd / peak if beam.shape == "tube" else flux_of(found, Candela(beam.axis_cd))
    assert abs(math.log2(by_axis / beam.flux_lm)) <= 0.5  # source: the bar of this catalogue
    if beam.shape in {"focused", "flat", "matte"}:
        assert_allclose(beam_angle_rad(found), beam.beam_angle_rad, rtol=0.03)
    assert beam.flux_lm <= fixture.flux_lm * 1.01  # a lens or a bowl makes no light


@pytest.mark.parametrize("fixture", FIXTURES, ids=names)
def test_a_fixture_is_plausible_for_its_family(fixture: Fixture) -> None:
    # common practice, no source: lumens a watt drawn, by family
    per_watt = {
        "LED white": (50, 140), "LED bi-colour": (50, 100), "LED RGBW": (35, 95),
        "tungsten": (6, 30), "daylight discharge": (60, 100), "fluorescent": (40, 90),
        "display": (0.5, 12),
    }  # fmt: skip
    if fixture.family != "flame":
        low, high = per_watt[fixture.family]
        assert low <= fixture.flux_lm / fixture.power_w <= high
    assert 1700 <= fixture.kelvin_low <= fixture.kelvin <= fixture.kelvin_high <= 12000
    assert fixture.cri is None or 50 <= fixture.cri <= 100
    assert 0.0 < fixture.power_factor <= 1.0
    assert fixture.weight_kg < 60.0
    assert fixture.dims or fixture.lowest_steady_share == 1.0
    if fixture.luminance_nit is not None:  # pencil: Φ = π L A of a matte rectangle
        area = fixture.opening.width_m * fixture.opening.height_m
        assert_allclose(fixture.flux_lm, math.pi * fixture.luminance_nit * area, rtol=0.01)


@pytest.mark.parametrize("item", ITEMS, ids=names)
def test_an_item_is_found_by_every_word_for_it(item: Item) -> None:
    assert find_item(item.name.upper()) is item
    for word in item.also:
        assert find_item(word) is item  # no word means two things
    assert find_item(item.name, kind_of(item)) is item


def test_a_word_means_one_thing() -> None:
    words = [word.lower() for one in ITEMS for word in (one.name, *one.also)]
    assert sorted({word for word in words if words.count(word) > 1}) == []


def test_mounts_meet() -> None:
    """What a fixture accepts there is a modifier for, and the other way round."""
    accepted = {mount for one in FIXTURES for mount in one.accepts}
    elsewhere = {"stand", "ceiling", "umbrella shaft", "soft box front"}
    screwed = {one.mount for one in FIXTURES}  # a paper lantern hangs on a bulb's own socket
    mounts = {one.mount for one in MODIFIERS}
    assert accepted <= mounts
    assert mounts - elsewhere - screwed <= accepted


@pytest.mark.parametrize("modifier", MODIFIERS, ids=names)
def test_a_modifier_makes_no_light(modifier: Modifier) -> None:
    head = find_as(Fixture, "300 W LED, open face")
    for front in modifier.beams:
        cost = modifier_cost(head, modifier, front=front.name)
        fed = head.flux_lm if modifier.takes == "head" else head.beams[0].flux_lm
        assert cost.front.flux_lm <= fed
        assert_allclose(cost.absorbed_stops + cost.spread_stops, cost.total_stops, atol=1e-9)
    half = modifier.form == "half wire"  # its loss is that of the half which it covers
    if modifier.loss_stops is not None and not half:
        # source: losses as practice has them, ± half a stop
        assert abs(modifier_cost(head, modifier).total_stops - modifier.loss_stops) <= 0.5


def test_an_egg_crate_never_brightens_the_axis() -> None:
    head, box = find_as(Fixture, "300 W LED"), find_as(Modifier, "90 cm soft box")
    plain = modifier_cost(head, box).total_stops
    for angle in (30, 40, 50):
        crated = modifier_cost(head, box, find_as(Modifier, f"{angle}° fabric egg crate"))
        # common practice, no source: a third of a stop on the axis
        assert_allclose(crated.total_stops - plain, 0.33, atol=0.1)


@pytest.mark.parametrize("fabric", [x for x in ITEMS if isinstance(x, Fabric)], ids=names)
def test_a_fabric_adds_up(fabric: Fabric) -> None:
    passed = fabric.straight_share + fabric.scattered_share
    assert passed + fabric.reflected_share <= 1.0
    # source: check values, section 12: stops to transmission 2^-s, within a third of a stop
    assert_allclose(-math.log2(passed), fabric.loss_stops, atol=1 / 3)


# source: a gaffer's own list, practitioner cases ("which numbers practitioners trust"), ± ½ stop
LOSSES = {
    "full white diffusion": 1.5, "half white diffusion": 0.75, "quarter white diffusion": 1 / 3,
    "eighth white diffusion": 0.25, "opal diffusion": 0.5, "light frost": 0.25, "heavy frost": 2,
    "full grid cloth": 2.5, "light grid cloth": 2, "quarter grid cloth": 1, "full spun": 2.5,
    "half spun": 1.5, "quarter spun": 0.75, "artificial silk": 5 / 3, "quarter silk": 2 / 3,
    "China silk": 1, "bleached muslin": 2, "unbleached muslin": 2, "overhead silk": 2.5,
    "single net, cloth": 0.5, "double net, cloth": 1,
}  # fmt: skip


@pytest.mark.parametrize("name", LOSSES)
def test_diffusion_loses_what_practice_says(name: str) -> None:
    assert_allclose(find_as(Fabric, name).loss_stops, LOSSES[name], atol=1 / 3)


# source: practitioner cases C19, C38, C39 and their table of trusted numbers
GELS = {
    "full blue gel": (-137, 1.75), "half blue gel": (-80, 1.0), "quarter blue gel": (-35, None),
    "eighth blue gel": (-10, None), "full orange gel": (149, 0.9), "half orange gel": (88, 0.5),
    "quarter orange gel": (49, 0.25),
}  # fmt: skip


@pytest.mark.parametrize("name", GELS)
def test_gels_are_what_practice_says(name: str) -> None:
    gel, (mired, stops) = find_as(Gel, name), GELS[name]
    assert_allclose(gel.shift_mired, mired, atol=20)  # ± 20 mired between makers
    if stops is not None:
        assert_allclose(gel.loss_stops, stops, atol=0.5)  # pages disagree by half a stop


def test_green_gels_count_in_cc() -> None:
    for name, cc in (("full", 30), ("half", 15), ("quarter", 8)):  # source: C39, ± 5 CC
        assert_allclose(find_as(Gel, f"{name} plus-green gel").green_cc, cc, atol=5)
        assert_allclose(find_as(Gel, f"{name} minus-green gel").green_cc, -cc, atol=5)
    full = find_as(Gel, "full plus-green gel")
    assert 1 / 3 - 0.01 <= full.loss_stops <= 0.5  # source: C39


def test_nets_and_wires_are_half_a_stop_and_one() -> None:
    for one in ITEMS:
        if isinstance(one, Grip) and one.form == "net":
            assert one.loss_stops == (0.5 if "single" in one.name else 1.0)  # source: C14
    wires = {one.name: one.loss_stops for one in MODIFIERS if "wire" in one.form}
    assert wires["double wire, full"] == 1.0
    assert wires["single wire, half"] == 0.5


def test_neutral_density_is_counted_from_density() -> None:
    # source: check values EXP-17
    assert_allclose(find_as(Filter, "ND 0.9 filter").loss_stops, 2.990, atol=1e-3)
    assert_allclose(find_as(Filter, "10-stop ND").loss_stops, 9.966, atol=1e-3)


@pytest.mark.parametrize("lens", [x for x in ITEMS if isinstance(x, Lens)], ids=names)
def test_a_lens_passes_no_more_than_its_stop(lens: Lens) -> None:
    assert t_number(lens) > lens.f_number
    assert lens.focal_low_m <= lens.focal_high_m


def test_cables_carry_what_their_copper_may() -> None:
    # common practice, no source: 4 to 14 A for each mm², small sections more
    for one in ITEMS:
        if isinstance(one, Cable):
            assert 3.0 <= one.rating_amps / (one.section_m2 * 1e6) <= 14.0


@pytest.mark.parametrize(
    ("family", "form", "low_w", "high_w"),
    [
        ("tungsten", "open face", 150, 10_000),
        ("tungsten", "Fresnel", 150, 10_000),
        ("LED white", "Fresnel", 30, 1_000),
        ("LED white", "open face", 60, 1_200),
        ("LED bi-colour", "panel", 10, 1_200),
        ("LED bi-colour", "mat", 50, 500),
        ("LED RGBW", "tube", 10, 100),
        ("daylight discharge", "Fresnel", 575, 4_000),
        ("daylight discharge", "parabolic", 575, 4_000),
        ("fluorescent", "bank", 80, 220),
        ("tungsten", "profile spot", 575, 750),
        ("tungsten", "bulb", 15, 500),
        ("LED white", "bulb", 2, 19),
    ],
)
def test_ranges_reach_from_small_to_large(
    family: str, form: str, low_w: float, high_w: float
) -> None:
    watts = sorted(
        float(re.sub(r" k?W .*", "", one.name)) * (1000 if re.match(r"[\d.]+ kW", one.name) else 1)
        for one in FIXTURES
        if (one.family, one.form) == (family, form)
    )
    assert watts[0] <= low_w
    assert watts[-1] >= high_w
    assert len(watts) >= 2


def test_more_watts_give_more_light() -> None:
    for form in ("open face", "Fresnel"):
        for family in ("tungsten", "LED white", "daylight discharge"):
            by_watts = sorted(
                (one.power_w, one.beams[0].axis_cd)
                for one in FIXTURES
                if (one.family, one.form) == (family, form) and "kW tungsten, open" not in one.name
            )
            axes = [axis for _, axis in by_watts]
            assert axes == sorted(axes)


def test_an_unknown_name_is_told_with_near_ones() -> None:
    with pytest.raises(GeometryError) as caught:
        find_item("300 W LED, open fase")
    fault = caught.value.faults[0]
    assert fault.fix == "did you mean '300 W LED, open face'?"
    assert near_names("Fresnel", "modifier") == ("Fresnel attachment, 10° to 40°",)
    assert len(near_names("frame of diffusion", most=4)) == 4
    with pytest.raises(GeometryError, match="no kind of item is called 'lamp'"):
        list_items("lamp")
    with pytest.raises(GeometryError):
        find_item("300 W LED", "lens")


def test_kinds_are_all_there() -> None:
    counts = {kind: len(list_items(kind)) for kind in KINDS}
    assert all(counts.values())
    assert sum(counts.values()) == len(ITEMS)
    assert counts["fixture"] >= 100


def test_fixtures_that_reach_an_intensity_begin_with_the_least_watts() -> None:
    able = fixtures_reaching(100_000.0)
    assert able
    assert [one.power_w for one in able] == sorted(one.power_w for one in able)
    assert all(max(beam.axis_cd for beam in one.beams) >= 100_000.0 for one in able)
    assert fixtures_reaching(1e9) == ()


DOCS = Path(__file__).parents[3] / "docs" / "kit.md"


def cases() -> dict[str, str]:
    rows = re.findall(r"^\| (C\d\d) \| (.+?) \|$", DOCS.read_text(encoding="utf-8"), re.MULTILINE)
    return dict(rows)


def test_each_case_of_practice_has_its_items() -> None:
    told = cases()
    assert list(told) == [f"C{number:02}" for number in range(1, 61)]
    found = 0
    for items in told.values():
        for name in re.findall(r"`([^`]+)`", items):
            find_item(name)
            found += 1
    assert found > 100
