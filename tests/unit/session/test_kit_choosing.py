"""Choosing a package: what may stand at a place, what it gives there, what it costs."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.constants import LUMINANCE_WEIGHTS
from falloff.document import KitLight, SceneDocument, parse_document
from falloff.kit import Fixture, OwnKit
from falloff.kit.catalogue import find_as, parse_own_kit
from falloff.layers import LightLayers, trace_layers
from falloff.session.kit.choosing import ChooseAsked, run_kit_choose
from falloff.session.kit.choosing_candidates import Fit, fits_at, with_fixture
from falloff.session.kit.choosing_light import light_of_fits
from falloff.session.kit.choosing_likes import Look, look_of
from falloff.session.kit.choosing_stock import assumed_rate, offers_of
from falloff.session.scene import known_names
from falloff.stage import build_stage, light_now
from falloff.transport import Budget

HEAD = """
falloff: 2
title: Dark studio
units: metric
room:
  floor: [[0 m, 0 m], [6 m, 0 m], [6 m, 5 m], [0 m, 5 m]]
  height: 3 m
  floor_surface: {surface}
  ceiling_surface: {surface}
  wall_surface: {surface}
fixtures:
  KEY: {{{light}, at: [1 m, 2.5 m, 1.5 m], stand: true}}
cameras:
  WIDE: {{at: [5 m, 4.5 m, 1.5 m], aim: [1 m, 1 m, 1.5 m], lens: 24 mm}}
setups:
  ROOM: {{camera: WIDE, stop: T4, iso: 400, shutter: 180 deg}}
readings:
  ahead: {{at: [4 m, 2.5 m, 1.5 m], normal: [-1, 0, 0]}}
"""
HARD = "light: open face, beam: 55 deg, aperture: 12 cm, output: 9000 lm, colour: 5600 K"
SOFT = "light: soft box, size: [90 cm, 90 cm], depth: 40 cm, output: 8000 lm, colour: 5600 K"
BALL = "light: lantern, diameter: 60 cm, output: 5000 lm, colour: 5600 K"
AIMED = ", aim: [4 m, 2.5 m, 1.5 m]"
KIT = """\
falloff_kit = 1
currency = "EUR"
[[item]]
item = "300 W bi-colour LED, open face"
count = 2
[[item]]
item = "90 cm soft box"
[[item]]
item = "600 W LED, open face"
owned = false
day_rate = 45
[[item]]
item = "650 W tungsten, Fresnel"
owned = false
[[item]]
item = "light stand, 2.4 m"
count = 3
"""


def _scene(light: str, surface: str = "black cloth") -> SceneDocument:
    """A room with one fixture, 3 m before a meter that faces it."""
    return parse_document(HEAD.format(light=light, surface=surface), known=known_names())


def _own() -> OwnKit:
    return parse_own_kit(KIT, "van.kit.toml")


def _fits(document: SceneDocument, own: OwnKit | None = None) -> dict[str, Fit]:
    found = fits_at(document, "KEY", offers_of(own, kit_only=False))
    return {one.name: one for one in reversed(found)}


def _layers(document: SceneDocument) -> LightLayers:
    return trace_layers(build_stage(document), Budget(), sizes={})


def _lux(document: SceneDocument, layers: LightLayers, *fits: Fit) -> list[float]:
    found = light_of_fits(document, layers, "KEY", fits)
    return [float(one.light[0] @ LUMINANCE_WEIGHTS) for one in found]


def test_a_head_gives_what_its_sheet_says_at_its_distance() -> None:
    """On its axis at 3 m in a black room a head gives I/d² (inverse square)."""
    document = _scene(HARD + AIMED)
    found = _fits(document)
    names = ["60 W LED, open face", "150 W LED, open face", "600 W LED, open face"]
    lux = _lux(document, _layers(document), *(found[name] for name in names))
    axis_cd = [find_as(Fixture, name).beams[0].axis_cd for name in names]
    stops = np.log2(np.array(lux) / (np.array(axis_cd) / 9.0))
    assert_allclose(stops, 0.0, atol=0.08)  # black cloth gives back some 2 %


def test_a_soft_box_gives_what_a_matte_square_gives() -> None:
    """Pencil: E = Φ / (π A) times the view factor's closed form of a square 3 m away."""
    document = _scene(SOFT + AIMED)
    fit = next(one for one in _fits(document).values() if "90 cm soft box" in one.name)
    (lux,) = _lux(document, _layers(document), fit)
    x = 0.45 / 3.0  # half a side over the distance
    arm = x / math.sqrt(1.0 + x * x)
    view = 4.0 * (2.0 * arm * math.atan(arm)) / (2.0 * math.pi)  # four corners (CIE 171 / Siegel)
    assert_allclose(math.log2(lux / (fit.light.flux_lm / 0.81 * view)), 0.0, atol=0.08)


def test_a_ball_is_not_hidden_by_a_larger_one_that_stands_there() -> None:
    """A 65 cm lantern in the place of one of 70 cm: I/d² with I = Φ/4π (pencil)."""
    document = _scene("light: lantern, diameter: 70 cm, output: 5000 lm, colour: 5600 K")
    fit = next(one for one in _fits(document).values() if "65 cm lantern" in one.name)
    (lux,) = _lux(document, _layers(document), fit)
    assert_allclose(math.log2(lux / (fit.light.flux_lm / (4.0 * math.pi) / 9.0)), 0.0, atol=0.1)


def test_a_candidate_traced_alone_gives_what_it_gives_in_the_scene() -> None:
    """In a white room, bounce and all; a consistency test, within a tenth of a stop."""
    document = _scene(SOFT + AIMED, surface="white paint")
    found = [one for one in _fits(document, _own()).values() if one.own]
    assert found
    (alone,) = _lux(document, _layers(document), found[0])
    stood = with_fixture(document, "KEY", found[0].fixture)
    layers = _layers(stood)
    direct, bounced = layers.probes.mean()
    whole = ((direct + bounced)[0, 0] * layers.colours[0]) @ LUMINANCE_WEIGHTS
    assert_allclose(math.log2(alone / whole), 0.0, atol=0.1)


@pytest.mark.parametrize(
    ("one", "other", "alike"),
    [
        (Look("soft", 0.9), Look("soft", 1.2), True),
        (Look("soft", 0.9), Look("soft", 1.3), False),
        (Look("soft", 0.9), Look("hard", 0.1, 1.0), False),
        (Look("hard", 0.1, 1.0), Look("hard", 0.3, 1.4), True),
        (Look("hard", 0.1, 1.0), Look("hard", 0.1, 1.6), False),
        (Look("cut", 0.1, 0.5), Look("hard", 0.1, 0.5), False),
    ],
)
def test_what_is_alike(one: Look, other: Look, alike: bool) -> None:
    """1.4 times in width, 1.5 times in angle, hard never for soft: common practice, no source."""
    assert one.like(other) is alike
    assert other.like(one) is alike


@pytest.mark.parametrize(
    ("light", "told"),
    [
        (HARD + AIMED, "a hard light of 55°"),
        (SOFT + AIMED, "a soft light 90 cm wide"),
        (BALL, "a lantern 60 cm wide"),
        (
            "light: panel, size: [120 cm, 4 cm], output: 2000 lm, colour: 5600 K" + AIMED,
            "a tube 120 cm long",
        ),
        (
            'kit: "300 W LED, open face", modifier: "43 in silver umbrella"' + AIMED,
            "a soft light 109 cm wide",
        ),
    ],
)  # fmt: skip
def test_a_form_is_told_by_what_it_does_to_shadows(light: str, told: str) -> None:
    document = _scene(light)
    look = look_of(document, light_now(document, "KEY"))
    assert look is not None
    assert look.in_words() == told


def test_a_hard_place_takes_hard_lights_of_a_like_beam() -> None:
    found = _fits(_scene(HARD + AIMED))
    assert found
    for one in found.values():
        assert isinstance(one.fixture.light, KitLight)
        assert not one.fixture.light.modifier


def test_colour_comes_by_itself_by_knob_or_by_gel() -> None:
    """5600 K: white LED as it is, bi-colour set to it, tungsten with a blue gel of the kit."""
    kit = KIT.replace("650 W tungsten, Fresnel", "650 W tungsten, open face")
    own = parse_own_kit(kit, "van.kit.toml")
    found = fits_at(_scene(HARD + AIMED), "KEY", offers_of(own, kit_only=False))
    by_kit = {one.name.split(" with ")[0]: one for one in reversed(found)}
    assert by_kit["600 W LED, open face"].fixture.colour is None
    assert by_kit["600 W LED, open face"].fixture.gels == ()
    colour = by_kit["300 W bi-colour LED, open face"].fixture.colour
    assert colour is not None
    assert colour.si == 5600.0
    gelled = by_kit["650 W tungsten, open face"]
    assert gelled.fixture.gels == ("full blue gel",)
    assert gelled.name.endswith("with full blue gel")
    # Pencil: a flood of 9900 lm less 1.75 stops (the catalogue's full blue) is some 2900 lm.
    assert_allclose(math.log2(gelled.light.flux_lm / 9900.0), -1.75, atol=0.3)


def test_an_egg_crate_that_is_written_stays_before_whatever_stands_there() -> None:
    light = 'kit: "300 W LED, open face", modifier: [90 cm soft box, 40° fabric egg crate]'
    found = _fits(_scene(light + AIMED), _own())
    assert found
    assert all("egg crate" in name for name in found)


def test_own_comes_first_and_hire_is_written_or_assumed() -> None:
    """A watt of tungsten at 0.03: 650 W are 20 (pencil); what is owned costs nothing."""
    offers = offers_of(_own(), kit_only=False)
    stock = {one.name: one for one in reversed(offers.stock)}
    assert (stock["90 cm soft box"].owned, stock["90 cm soft box"].day_rate) == (True, 0.0)
    assert (stock["600 W LED, open face"].day_rate, stock["600 W LED, open face"].assumed) == (
        45.0,
        False,
    )
    tungsten = stock["650 W tungsten, Fresnel"]
    assert (tungsten.count, tungsten.day_rate, tungsten.assumed) == (1, 20.0, True)
    assert offers.stands_known
    assert offers.heads[0].name == "300 W bi-colour LED, open face"
    alone = offers_of(_own(), kit_only=True)
    assert len(alone.stock) == 5
    assert not offers_of(None, kit_only=True).heads
    assert assumed_rate(find_as(Fixture, "30 W bi-colour LED panel")) == 8.0


ROOM = """\
falloff: 2
title: Narrow
units: metric
room:
  floor: [[0 m, 0 m], [5 m, 0 m], [5 m, 3 m], [0 m, 3 m]]
  height: 3 m
  floor_surface: planks
  ceiling_surface: white paint
  wall_surface: plaster
own_kit: van.kit.toml
fixtures:
  KEY: {light: soft box, size: [60 cm, 60 cm], depth: 30 cm, output: 8000 lm, colour: 5600 K,
        at: [1.5 m, 0.36 m, 1.5 m], aim: [4.5 m, 0.36 m, 1.5 m]}
  BACK: {light: open face, beam: 55 deg, aperture: 12 cm, output: 900 lm, colour: 5600 K,
         at: {from: KEY, distance: 2 m, clock: "3:00", height: 1.5 m}, aim: [0.2 m, 2.4 m, 1.5 m]}
props:
  TABLE: {shape: box, size: [40 cm, 40 cm, 70 cm], at: [4.2 m, 1.5 m], surface: oak}
cameras:
  WIDE: {at: [4.5 m, 2.6 m, 1.5 m], aim: [1 m, 1 m, 1.5 m], lens: 24 mm}
setups:
  ROOM: {camera: WIDE, stop: T2.8, iso: 800, shutter: 180 deg}
readings:
  ahead: {at: [3 m, 0.36 m, 1.5 m], normal: [-1, 0, 0]}
targets:
  face: {reading: ahead, level: 0 stops}
"""
TOO_WIDE = """\
falloff_kit = 1
[[modifier]]
name = "80 cm box"
form = "soft box"
takes = "head"
mount = "bayonet ring"
opening = { shape = "rectangle", width_m = 0.8, height_m = 0.8 }
beams = [{ passes_share = 0.33, shape = "matte" }]
weight_kg = 2
[[item]]
item = "80 cm box"
[[item]]
item = "300 W LED, open face"
"""


def test_what_does_not_go_between_the_walls_is_not_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """36 cm from a wall a box of 60 cm stands and one of 80 cm does not: another is hired.

    What BACK hangs on stays: KEY is filled. BACK is wanted by no target, and taken out.
    """
    monkeypatch.setattr("falloff.layers.store._cache_folder", lambda: tmp_path / "cache")
    path = tmp_path / "narrow.scene.yaml"
    dark = ROOM.replace("planks", "black cloth").replace("white paint", "black cloth")
    path.write_text(dark.replace("plaster", "black cloth"), encoding="utf-8")
    (tmp_path / "van.kit.toml").write_text(TOO_WIDE, encoding="utf-8")
    out = tmp_path / "out.scene.yaml"
    found = run_kit_choose(path, ChooseAsked(out=out))
    assert found.choice.confirmed
    assert found.choice.best.holds
    key, back = found.choice.best.places
    assert "80 cm box" not in key.light
    assert "60 cm" in key.light or "28 in" in key.light
    assert back.light == ""
    assert "BACK" not in out.read_text(encoding="utf-8")


def test_a_light_on_which_another_hangs_is_left_and_put_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only BACK's light is asked for, and BACK is placed from KEY: KEY stays in the file, off."""
    monkeypatch.setattr("falloff.layers.store._cache_folder", lambda: tmp_path / "cache")
    path = tmp_path / "narrow.scene.yaml"
    text = (
        ROOM.replace("own_kit: van.kit.toml\n", "")
        .replace("aim: [0.2 m, 2.4 m, 1.5 m]", "aim: [4 m, 2.5 m, 1 m]")
        .replace(
            "at: [3 m, 0.36 m, 1.5 m], normal: [-1, 0, 0]",
            "at: [3.9 m, 2.48 m, 1.02 m], normal: [-1, 0, 0.2]",
        )
    )
    path.write_text(text, encoding="utf-8")
    out = tmp_path / "out.scene.yaml"
    found = run_kit_choose(path, ChooseAsked(out=out))
    assert found.choice.best.holds
    key, back = found.choice.best.places
    assert (key.light, bool(back.light)) == ("", True)
    written = out.read_text(encoding="utf-8")
    assert "KEY: 0 %" in written
    assert any("hang on it" in one.says for one in found.choice.findings)
