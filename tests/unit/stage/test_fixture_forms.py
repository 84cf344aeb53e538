"""Forms of fixtures and practicals: the flux that leaves them, their luminance, their bodies."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.unit.stage.lit_rooms import document_of, fixture, source_of, stage_of, told_of

from falloff.errors import GeometryError
from falloff.photometry import beam_angle_rad
from falloff.photometry.profile import IntensityDistribution
from falloff.sources import BEAM, PANEL, POLYGON, SPHERE, TUBE
from falloff.stage import build_stage, relit

WEB = """IESNA:LM-63-2002
[TEST] made up
TILT=NONE
1 -1 1 3 2 1 2 -0.3 -0.3 0
1 1 50
0 45 90
0 90
1000 800 0
1000 600 0
"""


def test_a_soft_box_is_as_bright_as_its_flux_over_pi_and_its_area() -> None:
    source = source_of(fixture("light: soft box, size: [1 m, 50 cm], depth: 40 cm"))
    assert (source.kind, source.flux_lm) == (PANEL, 1000.0)
    assert_allclose(source.shape[13], 1000.0 / (math.pi * 0.5), rtol=1e-12)  # pencil: Φ/(πA)


def test_round_and_octagonal_fronts_have_the_area_of_a_disc_and_an_octagon() -> None:
    round_ = source_of(fixture("light: soft box, shape: round, size: [1 m, 1 m], depth: 40 cm"))
    octagon = source_of(fixture("light: panel, shape: octagon, size: [1 m, 1 m]"))
    assert {round_.kind, octagon.kind} == {POLYGON}
    # pencil: π/4 of a disc; 8 tan(22.5°)/4 = 0.828427 of an octagon one metre from side to side
    assert_allclose(round_.shape[12], math.pi / 4.0, rtol=1e-9)
    assert_allclose(octagon.shape[12], 2.0 * math.tan(math.pi / 8.0), rtol=1e-9)
    assert_allclose(round_.shape[13], 1000.0 / (math.pi * math.pi / 4.0), rtol=1e-9)
    # The way it shines is the way it is aimed.
    assert_allclose(octagon.shape[9:12], [0.0, 1.0, 0.0], atol=1e-12)


def test_an_egg_crate_takes_light_but_not_luminance_straight_ahead() -> None:
    bare = source_of(fixture("light: panel, size: [1 m, 1 m]"))
    by_angle = source_of(fixture("light: panel, size: [1 m, 1 m], crate: 45 deg"))
    by_ratio = source_of(fixture("light: panel, size: [1 m, 1 m], crate: 1.0"))
    # pencil: cells as deep as wide cut off at atan 1 = 45 deg
    assert_allclose(by_angle.shape, by_ratio.shape, rtol=1e-12)
    assert by_angle.shape[13] == bare.shape[13]
    # source: view factor of the ends of a cube, 0.1998 (Howell's catalogue, C-11)
    assert_allclose(by_angle.flux_lm / bare.flux_lm, 0.19982, rtol=2e-4)


def test_a_tube_lies_level_and_stands_up_when_rolled() -> None:
    form = "light: tube, length: 1.2 m, diameter: 4 cm"
    level, upright = source_of(fixture(form)), source_of(fixture(form, roll="90 deg"))
    assert level.kind == TUBE
    assert_allclose(np.abs(level.shape[3:6]), [1.0, 0.0, 0.0], atol=1e-12)  # pencil
    assert_allclose(np.abs(upright.shape[3:6]), [0.0, 0.0, 1.0], atol=1e-12)
    # pencil: Φ / (π · π d l)
    assert_allclose(level.shape[13], 1000.0 / (math.pi**2 * 0.04 * 1.2), rtol=1e-12)


def test_a_lantern_needs_no_aim_and_shines_all_round() -> None:
    source = source_of(fixture("light: lantern, diameter: 60 cm", aim=""))
    assert source.kind == SPHERE
    assert_allclose(
        source.shape[13], 1000.0 / (math.pi**2 * 0.6**2), rtol=1e-12
    )  # pencil: Φ/(π·πd²)


@pytest.mark.parametrize(
    ("form", "angle_deg"),
    [
        ("light: open face, aperture: 12 cm, beam: 55 deg", 55.0),
        ("light: fresnel, aperture: 15 cm, beam: 20 deg, spot: 8 deg, flood: 55 deg", 20.0),
        ("light: fresnel, aperture: 15 cm, beam: 60 deg", 60.0),
    ],
)
def test_a_beam_is_as_wide_at_half_intensity_as_written(form: str, angle_deg: float) -> None:
    source = source_of(fixture(form))
    assert (source.kind, source.flux_lm) == (BEAM, 1000.0)
    angles = np.linspace(0.0, source.shape[14], int(source.shape[15]))
    profile = IntensityDistribution(angles, source.table)
    # pencil: the full angle at half of the greatest intensity, within the table's steps
    assert_allclose(math.degrees(beam_angle_rad(profile)), angle_deg, rtol=5e-3)


def test_a_profile_spot_loses_half_its_light_to_a_shutter_at_the_middle() -> None:
    form = "light: profile spot, aperture: 15 cm, beam: 26 deg"
    whole = source_of(fixture(form))
    half = source_of(fixture(f"{form}, shutters: {{top: 50 %}}"))
    assert_allclose(whole.flux_lm, 1000.0, rtol=1e-6)
    assert_allclose(half.flux_lm, 500.0, rtol=5e-3)  # pencil: half of an even field


def test_the_top_shutter_cuts_the_bottom_of_the_beam_and_the_left_one_its_right() -> None:
    form = "light: profile spot, aperture: 15 cm, beam: 26 deg, shutters: "
    for side, way in (("top", (0.0, 0.0, 1.0)), ("left", (1.0, 0.0, 0.0))):
        source = source_of(fixture(f"{form}{{{side}: 50 %}}"))
        steps, planes = int(source.shape[15]), int(source.shape[16])
        azimuth = source.table[steps : steps + planes]
        candela = source.table[steps + planes :].reshape(planes, steps)[:, steps // 2]
        across = np.cos(azimuth)[:, None] * source.shape[18:21]
        across = across + np.sin(azimuth)[:, None] * source.shape[21:24]
        lit = (candela[:-1, None] * across[:-1]).sum(0)
        # pencil: aimed along +y, left as seen from behind is −x; what is left lies up, and right
        # is +x, so that the right cut leaves −x: a lens turns the gate over
        wanted = np.array(way) * (1.0 if side == "top" else -1.0)
        assert float(lit @ wanted) > 0.3 * float(np.abs(candela).sum())


def test_barndoors_stand_where_they_are_said_to() -> None:
    doors = "barndoors: {left: 0 deg, length: 30 cm}"
    stage = stage_of(fixture(f"light: open face, aperture: 20 cm, beam: 60 deg, {doors}"))
    names = [stage.surfaces.names[k] for k in stage.surfaces.face_name]
    faces = [k for k, name in enumerate(names) if name == "LIGHT: barndoor"]
    assert len(faces) == 6  # pencil: one leaf
    mine = np.isin(stage.surfaces.triangle_face, faces)
    corners = stage.surfaces.corners[mine].reshape(-1, 3)
    # pencil: aimed along +y, left is −x, ten centimetres out, and it reaches 30 cm before the mouth
    assert corners[:, 0].max() < 3.0 - 0.1
    assert_allclose(corners[:, 1].max(), 1.0 + 0.302, atol=1e-4)
    assert_allclose(np.ptp(corners[:, 2]), 0.22, atol=1e-5)


def test_a_file_gives_its_own_flux_power_and_mouth(tmp_path: Path) -> None:
    (tmp_path / "web.ies").write_text(WEB, encoding="ascii")
    scene = tmp_path / "a.scene.yaml"
    source = source_of(fixture("light: file, file: web.ies", output=""), path=scene)
    # pencil: 2π ∫ I sinγ dγ of the mean of both planes, straight between 1000, 700 and 0
    low, high = math.pi / 4.0, math.pi / 2.0
    slope_1, slope_2 = (700.0 - 1000.0) / low, -700.0 / (high - low)
    first = (1000.0 - 700.0 * math.cos(low)) + slope_1 * math.sin(low)
    second = 700.0 * math.cos(low) + slope_2 * (1.0 - math.sin(low))
    assert_allclose(source.flux_lm, 2.0 * math.pi * (first + second), rtol=1e-9)
    assert source.power_w == 50.0
    assert_allclose(np.linalg.norm(source.shape[6:9]), 0.15, rtol=1e-9)  # pencil: half of 0.3 m


def test_an_output_takes_the_place_of_the_files_and_is_told(tmp_path: Path) -> None:
    (tmp_path / "web.ies").write_text(WEB, encoding="ascii")
    scene = tmp_path / "a.scene.yaml"
    stage = stage_of(fixture("light: file, file: web.ies"), path=scene)
    assert_allclose(stage.sources[0].flux_lm, 1000.0, rtol=1e-12)
    assert "takes the place of the file's" in told_of(stage, "LIGHT")


def test_what_a_file_sends_backward_is_left_out_and_told(tmp_path: Path) -> None:
    both_ways = WEB.replace("1 -1 1 3 2", "1 -1 1 3 1").replace("0 45 90\n0 90\n", "0 90 180\n0\n")
    both_ways = both_ways.replace("1000 800 0\n1000 600 0\n", "500 500 500\n")
    (tmp_path / "ball.ies").write_text(both_ways, encoding="ascii")
    scene = tmp_path / "a.scene.yaml"
    stage = stage_of(fixture("light: file, file: ball.ies", output=""), path=scene)
    assert_allclose(stage.sources[0].flux_lm, 2.0 * math.pi * 500.0, rtol=1e-6)  # pencil: 2π I
    assert "50 % of the light" in told_of(stage, "LIGHT")


@pytest.mark.parametrize(
    ("form", "told"),
    [
        ("light: file, file: none.ies", "cannot be opened"),
        ("light: file, file: web.ies, lamp_set: 2", "no such set of lamps"),
        ("kit: 300 W LED open fase", "open fase"),
        ('kit: "300 W LED, open face", modifier: 90 cm sofft box', "sofft"),
        ('kit: "300 W LED, open face", beam: spot', "no beam called 'spot'"),
        ('kit: "300 W LED, Fresnel", beam: 90 deg', "cannot be set to that beam"),
        ("light: panel, size: [1 m, 1 m], gels: [half ornge gel]", "half ornge gel"),
    ],
)
def test_a_wrong_name_is_a_fault_where_it_stands(tmp_path: Path, form: str, told: str) -> None:
    (tmp_path / "web.ies").write_text(WEB, encoding="ascii")
    with pytest.raises(GeometryError) as caught:
        stage_of(fixture(form), path=tmp_path / "a.scene.yaml")
    fault = caught.value.faults[0]
    assert told in fault.sentence()
    # pencil: the fixture stands on line 14 of the text
    assert fault.line == 14
    assert "fixtures.LIGHT" in fault.where


def test_all_wrong_lights_are_told_at_once() -> None:
    two = fixture("kit: no such head") + fixture("kit: nor this one").split("\n")[1].replace(
        "LIGHT", "OTHER"
    ).replace("[3 m, 1 m", "[1 m, 1 m")
    with pytest.raises(GeometryError) as caught:
        stage_of(two + "\n")
    assert len(caught.value.faults) == 2  # pencil


# The kit ---------------------------------------------------------------------------------


def test_a_head_with_a_soft_box_is_the_kits_front_and_tells_its_cost() -> None:
    stage = stage_of(
        fixture('kit: "300 W LED, open face", modifier: 90 cm soft box', output="", colour="")
    )
    (source,) = stage.sources
    # pencil: 28500 lm of the bare head, 0.33 of it leaves the cloth (the catalogue's figures)
    assert (source.kind, source.power_w) == (PANEL, 300.0)
    assert_allclose(source.flux_lm, 28500.0 * 0.33, rtol=1e-9)
    assert_allclose(source.shape[12], 0.81, rtol=1e-9)  # pencil: 90 cm by 90 cm
    told = told_of(stage, "LIGHT")
    # pencil: 22800 lm in the 55° beam to 9405 lm is 1.28 stops absorbed
    assert "+1.3 absorbed" in told
    assert "common practice, from memory" in told


def test_an_egg_crate_of_the_kit_is_a_crate_before_the_cloth() -> None:
    kit = 'kit: "300 W LED, open face", modifier: [90 cm soft box, 40° fabric egg crate]'
    (source,) = stage_of(fixture(kit, output="", colour="")).sources
    # pencil: its full cut-off is 80 deg, so cells 1/tan 40 deg as deep as wide
    assert_allclose(source.shape[16], 1.0 / math.tan(math.radians(40.0)), rtol=1e-9)
    assert_allclose(source.shape[13], 9405.0 / (math.pi * 0.81), rtol=1e-9)


def test_what_is_written_takes_the_place_of_the_kits_and_is_told() -> None:
    kit = 'kit: "300 W LED, open face", modifier: 90 cm soft box, size: [60 cm, 60 cm]'
    stage = stage_of(fixture(kit, output="5000 lm", colour="3200 K", power="280 W"))
    (source,) = stage.sources
    assert (source.flux_lm, source.power_w) == (5000.0, 280.0)
    assert_allclose(source.shape[12], 0.36, rtol=1e-9)
    told = told_of(stage, "LIGHT")
    assert "takes the place of the kit's 9405 lm (-0.9 stops)" in told  # pencil: log2(5000/9405)
    assert "is 3200 K as written; the kit has it at 5600 K" in told


@pytest.mark.parametrize(
    ("kit", "kind"),
    [
        ('"300 W LED, open face", beam: bare', POLYGON),
        ('"50 W RGBW LED tube, 120 cm"', PANEL),
        ('"400 W bi-colour LED panel"', PANEL),
        ('"200 W LED panel, 30° lenses"', BEAM),
        ('"575 W tungsten, profile spot", beam: 36°', BEAM),
        ('"650 W tungsten, Fresnel", beam: spot', BEAM),
    ],
)
def test_every_form_of_the_kit_has_its_kind_of_source(kit: str, kind: int) -> None:
    text = fixture(f"kit: {kit}", output="", colour="")
    assert source_of(text).kind == kind


# Gels and colours ------------------------------------------------------------------------


def test_a_gel_by_its_figures_takes_its_stops_and_shifts_the_mired() -> None:
    text = fixture(
        "light: panel, size: [1 m, 1 m], gels: [{mired: 100, loss: 1 stop}]", colour="5000 K"
    )
    plain = fixture("light: panel, size: [1 m, 1 m]", colour="{kelvin: 3333.333 K, duv: 0.0}")
    gelled, warm = source_of(text), source_of(plain)
    assert_allclose(gelled.flux_lm, 500.0, rtol=1e-12)  # pencil: one stop
    # pencil: 200 + 100 mired is 3333 K; Duv stays that of 5000 K daylight, so near only
    assert_allclose(gelled.colour, warm.colour, atol=0.06)


def test_gels_of_the_kit_add_their_losses() -> None:
    form = "light: panel, size: [1 m, 1 m], gels: [ND 0.3 gel, ND 0.6 gel]"
    # pencil: 10^-0.9, three stops but for the films' own figures
    assert_allclose(source_of(fixture(form)).flux_lm, 1000.0 * 10.0**-0.9, rtol=0.03)


def test_a_colour_by_x_and_y_is_that_colour() -> None:
    from falloff.spectrum import D65_XY

    x, y = D65_XY
    source = source_of(fixture("light: panel, size: [1 m, 1 m]", colour=f"{{xy: [{x}, {y}]}}"))
    assert_allclose(source.colour, [1.0, 1.0, 1.0], atol=1e-6)  # pencil: the working space's white


def test_another_output_is_a_stage_lit_anew() -> None:
    form = "light: soft box, size: [1 m, 1 m], depth: 40 cm, crate: 40 deg"
    one, other = document_of(fixture(form)), document_of(fixture(form, output="250 lm"))
    stage = relit(build_stage(one), other)
    wanted = build_stage(other)
    assert_allclose(stage.sources[0].flux_lm, wanted.sources[0].flux_lm, rtol=1e-12)
    assert_allclose(stage.sources[0].shape, wanted.sources[0].shape, rtol=1e-12)


# Practicals ------------------------------------------------------------------------------


def practical(form: str) -> str:
    return f"practicals:\n  LIGHT: {{{form}, at: [3 m, 2 m, 1.4 m]}}\n"


def test_a_screen_by_its_luminance_gives_pi_times_it_over_its_area() -> None:
    text = practical(
        "light: screen, size: [1 m, 50 cm], luminance: 200 nit, colour: 6500 K, aim: down"
    )
    source = source_of(text)
    assert_allclose(source.flux_lm, math.pi * 200.0 * 0.5, rtol=1e-12)  # pencil: Φ = πLA
    assert_allclose(source.shape[13], 200.0, rtol=1e-12)


def test_a_candle_is_one_candela_all_round() -> None:
    source = source_of(practical("light: candle"))
    assert_allclose(source.flux_lm, 4.0 * math.pi, rtol=1e-12)  # pencil
    assert source.colour[0] > source.colour[2]


def test_a_bulb_of_the_kit_shines_in_shot() -> None:
    source = source_of(practical('kit: "60 W household tungsten bulb, E27"'))
    assert (source.kind, source.flux_lm, source.power_w) == (SPHERE, 700.0, 60.0)  # the catalogue's
