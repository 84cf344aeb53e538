"""A head in words gives what the kit's own item of the same words gives."""

from __future__ import annotations

import math

import pytest
from numpy.testing import assert_allclose

from falloff.document import parse_document
from falloff.kit import Fixture, Modifier, Outfit, list_items, modifier_cost
from falloff.kit.catalogue import find_as
from falloff.kit.catalogue.beams import axis_of_flux
from falloff.session.quick.ask import read_plan
from falloff.session.quick.assume import assumptions
from falloff.session.quick.heads import rated_power_w
from falloff.session.quick.outfits import read_key
from falloff.session.quick.write import scene_text
from falloff.session.scene import known_names
from falloff.sources import Source
from falloff.stage import Grain, build_stage

# The promise of kit/data/lights.toml: within this of the catalogue's items of the same words, in
# flux of the front and on its axis.
PROMISE_STOPS = 0.3
WORDS = {
    "LED white": "LED",
    "LED bi-colour": "bi-colour LED",
    "tungsten": "tungsten",
    "daylight discharge": "daylight discharge",
}
FORMS = {"open face": "open face", "Fresnel": "fresnel", "parabolic": "parabolic"}
# The quick start's modifier, and the catalogue's.
MODIFIERS = {
    "90 cm soft box": "90 cm soft box",
    "4 x 4 ft book light": "4 x 4 ft book light set",
    "4 x 4 ft frame of diffusion": "4 x 4 ft frame of full white diffusion",
    "4 x 4 ft bounce board": "4 x 4 ft bounce off white board",
    "43 in umbrella": "43 in white umbrella, bounced",
}
FIXTURES = [one for one in list_items("fixture") if isinstance(one, Fixture)]
HEADS = [
    one
    for one in FIXTURES
    if one.family in WORDS
    and one.form in FORMS
    and "ballast" not in one.name
    and "bulb" not in one.name
]
PANELS = [
    one
    for one in FIXTURES
    if (one.form, one.family) in {("panel", "LED bi-colour"), ("bank", "fluorescent")}
]


def outfit(said: str) -> Outfit:
    """The key that a text is read as."""
    found, _ = read_key(said)
    assert found is not None
    return found


def words(item: Fixture, form: str = "") -> str:
    """What one says of an item: its rated power, the word for its kind, perhaps its form."""
    power = f"{rated_power_w(item):g} W"
    if item.form == "panel":
        return f"{power} LED panel"
    return f"{power} {WORDS.get(item.family, 'fluorescent')}" + (f" {form}" if form else "")


def axis_cd(found: Outfit) -> float:
    """Intensity on the axis: a matte front's, or a focused beam's."""
    if found.beam_rad is None:
        return found.flux_lm / math.pi  # pencil: matte
    return axis_of_flux("focused", found.beam_rad, found.flux_lm)


def stops(one: float, other: float) -> float:
    """How far apart two are."""
    return math.log2(one / other)


@pytest.mark.parametrize("item", HEADS, ids=lambda one: one.name)
def test_a_head_is_the_item_of_its_name(item: Fixture) -> None:
    found = outfit(words(item, FORMS[item.form]))
    beam = item.beams[0]
    assert_allclose(found.flux_lm, beam.flux_lm, rtol=1e-9)
    assert_allclose((found.power_w, found.power_factor), (item.power_w, item.power_factor))
    assert_allclose(found.size_m, (item.opening.width_m, item.opening.height_m))
    assert (found.beam_rad, found.colour_kelvin) == (beam.beam_angle_rad, item.kelvin)
    assert (found.head_spread_stops, found.modifier_spread_stops) == (item.spread_stops, 0.0)
    # The catalogue's own flux, axis and angle agree within half a stop (its tests); most do better.
    assert abs(stops(axis_cd(found), beam.axis_cd)) < 0.5


@pytest.mark.parametrize("item", [one for one in HEADS if one.form != "Fresnel"],
                         ids=lambda one: one.name)  # fmt: skip
@pytest.mark.parametrize("said", MODIFIERS)
def test_a_modifier_gives_what_the_catalogue_s_gives(said: str, item: Fixture) -> None:
    """Flux of the front and intensity on its axis; 2 m away both fall off alike, of one size."""
    front = modifier_cost(item, find_as(Modifier, MODIFIERS[said])).front
    found = outfit(f"{words(item)} with {said}")
    assert abs(stops(found.flux_lm, front.flux_lm)) < PROMISE_STOPS
    assert abs(stops(axis_cd(found), front.axis_cd)) < PROMISE_STOPS


@pytest.mark.parametrize("item", PANELS, ids=lambda one: one.name)
def test_a_panel_gives_what_the_catalogue_s_gives(item: Fixture) -> None:
    found, beam = outfit(words(item)), item.beams[0]
    assert abs(stops(found.flux_lm, beam.flux_lm)) < PROMISE_STOPS
    assert abs(stops(axis_cd(found), beam.axis_cd)) < PROMISE_STOPS
    box = find_as(Modifier, "soft box for a panel")
    inside = outfit(f"{words(item)} in 60 x 40 cm soft box")
    assert abs(stops(inside.flux_lm, modifier_cost(item, box).front.flux_lm)) < PROMISE_STOPS


@pytest.mark.parametrize(
    ("said", "name", "beam"),
    [
        ("300 W LED fresnel", "300 W LED, Fresnel", "flood"),
        ("650 W tungsten fresnel", "650 W tungsten, Fresnel", "flood"),
        ("2k fresnel", "2 kW tungsten, Fresnel", "flood"),
        ("2k fresnel, full spot", "2 kW tungsten, Fresnel", "spot"),
        ("1.2k discharge fresnel", "1.2 kW daylight discharge, Fresnel", "flood"),
        ("1 kW tungsten open face", "1 kW tungsten, open face", "flood"),
        ("300 W LED", "300 W LED, open face", "55° reflector"),
        ("1.2k discharge", "1.2 kW daylight discharge, parabolic", "wide lens"),
    ],
)
def test_the_file_s_key_is_the_kit_s_own_light(said: str, name: str, beam: str) -> None:
    """The same mouth, beam and flux as `kit:` in its place, and so the same answer."""
    taken = read_plan("interview", "metric", {"key": said, "window": "none"})
    text = scene_text(taken)
    start, end = text.index("    light: "), text.index("    at: {from: PERSON")
    ours = _key(text)
    kits = _key(f"{text[:start]}    kit: {name}\n    beam: {beam}\n{text[end:]}")
    assert ours.flux_lm == pytest.approx(kits.flux_lm, rel=1e-3)
    assert ours.power_w == pytest.approx(kits.power_w, rel=1e-3)
    assert ours.kind == kits.kind
    # Angles are written to four figures.
    assert_allclose(ours.shape, kits.shape, rtol=1e-3, atol=1e-4)


def _key(text: str) -> Source:
    document = parse_document(text, "x.scene.yaml", known=known_names())
    stage = build_stage(document, grain=Grain(patch_m=1.0, element_m=0.5))
    return next(one for one in stage.sources if one.name == "KEY")


def test_a_fresnel_s_spread_is_its_item_s_and_there_is_no_other() -> None:
    taken = read_plan("interview", "metric", {"key": "300 W LED fresnel", "window": "none"})
    told = {one.about: one for one in assumptions(taken, ())}
    # data/catalogue/led.toml: 0.4 stop
    assert "0.4" in told["output of the LED, Fresnel"].might
    assert not [about for about in told if about.startswith("loss in")]


def test_a_bi_colour_fresnel_is_a_white_one_by_lumens_per_watt() -> None:
    # data/lights.toml: 70 and 95 lm/W; data/catalogue/led.toml: 9500 lm of 200 W, at flood
    assert_allclose(outfit("200 W bi-colour LED fresnel").flux_lm, 9500.0 * 70.0 / 95.0)
    assert outfit("200 W bi-colour LED fresnel").head_spread_stops == 0.5
