"""The kit's verbs: what a light gives at a spot, what a file makes, how surely two compare."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path

import msgspec
import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.unit.photometry.made_files import LABELS, eulumdat, lm63

from falloff.errors import DocumentError, FalloffError, GeometryError, PhotometricFileError
from falloff.kit import Beam, Fixture, describe
from falloff.kit.catalogue import (
    beam_distribution,
    disagreement_stops,
    find_as,
    flux_by_axis,
    matte_illuminance_lux,
    near_names,
    read_own_kit,
)
from falloff.kit.catalogue.records import BeamShape
from falloff.photometry import intensity_web, round_web, web_flux_lm
from falloff.session.kit import (
    SheetOptions,
    run_kit_compare,
    run_kit_import,
    run_kit_list,
    run_kit_show,
)
from falloff.session.kit.find import Shelf, find_light
from falloff.session.kit.from_light import nearest_beam
from falloff.session.kit.known_light import Spot, illuminance_at, looks_m, read_spot

HEAD = "300 W LED, open face"
PANEL = "200 W bi-colour LED panel"


def written(folder: Path, name: str, beam: str = "") -> tuple[Path, Path]:
    """A catalogue beam as an LM-63 and a EULUMDAT file, in steps of 1 degree, size as it is."""
    light = find_light(f"{name}: {beam}" if beam else name, Shelf())
    web = round_web(beam_distribution(light.beam), light.beam.flux_lm)
    angles = [float(k) for k in range(181)]
    candela = np.interp(np.radians(angles), web.angle_rad, web.candela[0], right=0.0)
    candela *= light.beam.axis_cd / candela.max()  # the axis leads where its flux says another
    candela[90:] = 0.0 if light.beam.shape != "all round" else candela[90:]
    front = light.opening
    ies = folder / "made.ies"
    # LM-63: width along y, length along x, minus signs for a round one; metres by units type 2
    sign = -1.0 if front.shape == "disc" else 1.0
    ies.write_bytes(
        lm63(
            "IESNA:LM-63-2002",
            labels=LABELS,
            record="1 -1 1",
            kind=f"1 2 {sign * front.height_m} {sign * front.width_m} 0",
            factors=f"1 1 {light.item.power_w}",
            vertical=" ".join(f"{one:g}" for one in angles),
            horizontal="0",
            candela=" ".join(f"{one:.4f}" for one in candela),
        )
    )
    ldt = folder / "made.ldt"
    flux = float(light.beam.flux_lm)
    ldt.write_bytes(
        eulumdat(
            1,
            [0.0, 90.0, 180.0, 270.0],
            angles,
            [one * 1000.0 / flux for one in candela],
            sets=[(-1, "made", flux, "5600", "96", light.item.power_w)],
            fields={
                # lines 16 and 17 of the format: luminous length (or diameter) and width, mm
                16: f"{1000.0 * front.height_m:g}",
                17: "0" if front.shape == "disc" else f"{1000.0 * front.width_m:g}",
            },
        )
    )
    return ies, ldt


@pytest.mark.parametrize(
    ("name", "at"), [(HEAD, "3 m"), (HEAD, "2 m, 20 deg off"), (PANEL, "3 m, 15 deg off")]
)
def test_catalogue_files_and_data_sheet_agree_within_half_a_stop_and_what_is_told(
    name: str, at: str, tmp_path: Path
) -> None:
    ies, ldt = written(tmp_path, name)
    item = find_as(Fixture, name)
    beam, front = item.beams[0], item.opening
    at_one_m = describe(item).beams[0].metric[0].illuminance_lux
    disc = front.shape == "disc"
    size = f"{front.width_m} m" if disc else f"{front.width_m} x {front.height_m} m"
    own = tmp_path / "mine.kit.toml"
    sheet = SheetOptions(
        lux=(f"{float(at_one_m):.1f} lx at 1 m",),
        beam=f"{math.degrees(beam.beam_angle_rad):.3f} deg",
        size=size,
    )
    run_kit_import(None, sheet=sheet, name="by its sheet", own=own)
    others = [str(ies), str(ldt), "by its sheet"]
    pairs = [(name, other) for other in others] + [(others[0], others[1]), (others[0], others[2])]
    for first, second in pairs:
        found = run_kit_compare(first, second, at=at, own=own)
        assert found.apart_stops is not None
        assert abs(found.apart_stops) < 0.5  # source: the project's own bar
        assert abs(found.apart_stops) <= found.combined_spread_stops
        assert found.within
        assert found.combined_spread_stops < 1.0


def test_files_alone_agree_with_their_own_light_to_a_hundredth(tmp_path: Path) -> None:
    for path in written(tmp_path, HEAD):
        found = run_kit_compare(HEAD, str(path), at="3 m, 20 deg off")
        assert found.apart_stops is not None
        assert abs(found.apart_stops) < 0.01


def test_a_difference_beyond_the_spread_is_told() -> None:
    found = run_kit_compare("60 W LED, open face", "600 W LED, open face")
    assert found.apart_stops is not None
    assert found.apart_stops > found.combined_spread_stops
    assert not found.within


def test_swapping_the_two_turns_every_difference_round() -> None:
    a = run_kit_compare(HEAD, "2 kW tungsten, Fresnel", at="10 ft, 5 deg off")
    b = run_kit_compare("2 kW tungsten, Fresnel", HEAD, at="10 ft, 5 deg off")
    assert a.apart_stops is not None
    assert b.apart_stops is not None
    assert_allclose(a.apart_stops, -b.apart_stops)
    assert a.shift_mired is not None
    # pencil: 10⁶/3200 − 10⁶/5600 = 133.9 mired warmer
    assert_allclose(a.shift_mired, 133.9, atol=0.05)
    assert_allclose(a.softer_ratio * b.softer_ratio, 1.0)


def test_what_the_first_one_s_light_takes_of_the_second() -> None:
    # pencil: a 600 W head of the same kind gives ten times a 60 W one's light or so
    many = run_kit_compare("600 W LED, open face", "60 W LED, open face")
    assert many.apart_stops is not None
    assert many.same_light_heads == math.ceil(2.0**-many.apart_stops)
    assert many.same_light_w is not None
    assert_allclose(many.same_light_w, 60.0 * 2.0**-many.apart_stops, rtol=1e-6)
    few = run_kit_compare("60 W LED, open face", "600 W LED, open face")
    assert few.same_light_heads == 1
    # A filament at half its light draws 0.73 of its watts. Source: Lighting Handbook of the
    # Illuminating Engineering Society, from memory: light by volts to 3.38, watts to 1.54.
    warm = run_kit_compare("300 W tungsten, Fresnel", "650 W tungsten, Fresnel")
    assert warm.apart_stops is not None
    half = 0.5 ** (1.54 / 3.38)
    assert warm.same_light_w is not None
    assert_allclose(warm.same_light_w, 650.0 * half**warm.apart_stops, rtol=1e-6)


@pytest.mark.parametrize("distance_m", [0.3, 1.0, 4.0])
def test_light_of_a_matte_front_is_the_closed_form(distance_m: float) -> None:
    # source: closed form of the view factor from a patch to a rectangle
    light = find_light(PANEL, Shelf())
    assert light.beam.shape == "matte"
    wanted = matte_illuminance_lux(light.opening, light.beam.axis_cd, distance_m)
    assert_allclose(illuminance_at(light, Spot(distance_m=distance_m)), wanted, rtol=2e-3)


def test_light_of_a_matte_disc_is_the_closed_form() -> None:
    # pencil: E = I / (r² + d²)
    light = find_light(f"{HEAD}: bare", Shelf())
    radius = light.opening.width_m / 2.0
    wanted = light.beam.axis_cd / (radius**2 + 0.1**2)
    assert_allclose(illuminance_at(light, Spot(distance_m=0.1)), wanted, rtol=2e-3)


def test_far_off_the_axis_light_goes_as_the_beam() -> None:
    # pencil: a focused beam is half its axis at half its beam angle
    light = find_light(HEAD, Shelf())
    half = light.beam.beam_angle_rad / 2.0
    on, off = (illuminance_at(light, Spot(distance_m=30.0, off_rad=turn)) for turn in (0.0, half))
    assert_allclose(off / on, 0.5, rtol=5e-3)


def test_a_spot_behind_a_panel_has_no_light() -> None:
    found = run_kit_compare(PANEL, HEAD, at="2 m, 120 deg off")
    assert found.first.illuminance_lux == 0.0
    assert found.apart_stops is None
    assert not found.within


def test_a_front_looks_narrower_from_the_side() -> None:
    light = find_light(PANEL, Shelf())
    opening = msgspec.structs.replace(light.opening, width_m=1.0, height_m=0.2)
    # pencil: cos 60° = 1/2
    assert_allclose(looks_m(opening, Spot(off_rad=math.radians(60.0))), 0.5)


@pytest.mark.parametrize(
    ("said", "spot"),
    [
        ("3 m", (3.0, 0.0, 0.0)),
        ("10 ft, 20 deg off", (3.048, 20.0, 0.0)),
        ("2 m, 20° off, 10 deg down", (2.0, 20.0, -10.0)),
    ],
)
def test_spots_are_read(said: str, spot: tuple[float, float, float]) -> None:
    found = read_spot(said)
    assert_allclose(
        (found.distance_m, math.degrees(found.off_rad), math.degrees(found.up_rad)), spot
    )


@pytest.mark.parametrize(
    "said", ["", "3", "3 kg", "0 m", "3 m, 20 deg", "3 m, off", "3 m, 300 deg off"]
)
def test_what_is_no_spot_is_refused(said: str) -> None:
    with pytest.raises(DocumentError, match="no spot"):
        read_spot(said)


def test_modifiers_and_beams_can_be_named() -> None:
    box = find_light(f"{HEAD} + 90 cm soft box", Shelf())
    assert (box.beam.shape, box.opening.width_m) == ("matte", 0.9)
    assert find_light(f"{HEAD}: bare", Shelf()).beam.name == "bare"
    with pytest.raises(GeometryError, match="no beam called"):
        find_light(f"{HEAD}: narrow", Shelf())


@pytest.mark.parametrize("shape", ["focused", "flat", "matte", "all round"])
def test_the_nearest_beam_of_a_kit_beam_is_itself(shape: BeamShape) -> None:
    angle = {"matte": 120.0, "all round": 360.0}.get(shape, 40.0)
    beam = Beam(name="b", shape=shape, beam_angle_rad=math.radians(angle), flux_lm=1000.0,
                axis_cd=1.0)  # fmt: skip
    web = round_web(beam_distribution(beam), 1000.0)
    found, findings = nearest_beam(web, "b")
    assert (found.shape, findings) == (shape, [])
    assert_allclose(found.beam_angle_rad, math.radians(angle), rtol=0.01)
    assert_allclose(found.flux_lm, 1000.0, rtol=1e-3)


def test_a_beam_that_the_kit_has_not_says_so() -> None:
    # a ring of light from 60° to 80° and next to nothing on the axis
    angles = np.radians([0.0, 59.0, 60.0, 70.0, 80.0, 81.0])
    one = np.array([10.0, 10.0, 1000.0, 1000.0, 1000.0, 0.0])
    ring = intensity_web(np.array([0.0, math.tau]), angles, candela=np.stack([one, one]))
    found, findings = nearest_beam(ring, "ring")
    assert found.axis_cd == 1000.0
    assert abs(disagreement_stops(found)) < 1e-6  # its flux is made to fit
    assert abs(math.log2(found.flux_lm / float(web_flux_lm(ring)))) > 0.5
    assert "no beam of the kit has its shape" in findings[0].says


# Import ----------------------------------------------------------------------------------


def test_an_imported_file_is_in_the_kit_with_its_path_and_checksum(tmp_path: Path) -> None:
    ies, _ = written(tmp_path, HEAD)
    own = tmp_path / "mine.kit.toml"
    own.write_text("# the van\nfalloff_kit = 1\n\n[[item]]\nitem = '100 W LED' # spare\n")
    made = run_kit_import(ies, sheet=SheetOptions(kelvin="5600 K"), name="that head", own=own)
    text = own.read_text()
    assert text.startswith("# the van\nfalloff_kit = 1\n\n[[item]]\nitem = '100 W LED' # spare\n")
    entry = tomllib.loads(text)["fixture"][0]
    assert (entry["photometric_file"], entry["photometric_sha256"]) == ("made.ies", made.sha256)
    assert [one.name for one in read_own_kit(own).items] == ["100 W LED, open face", "that head"]
    found = run_kit_compare("that head", HEAD, own=own)
    assert found.first.origin == "file"
    assert found.apart_stops is not None
    assert abs(found.apart_stops) < 0.01
    with pytest.raises(DocumentError, match="is taken"):
        run_kit_import(ies, name="that head", own=own)


def test_a_file_that_has_changed_is_not_used(tmp_path: Path) -> None:
    ies, _ = written(tmp_path, HEAD)
    own = tmp_path / "mine.kit.toml"
    run_kit_import(ies, name="that head", own=own)
    ies.write_bytes(ies.read_bytes() + b"\n")
    found = run_kit_compare("that head", HEAD, own=own)
    assert any("has changed" in one.says for one in found.findings)
    assert found.first.origin == "own kit"
    ies.unlink()
    assert any("cannot be opened" in one.says
               for one in run_kit_compare("that head", HEAD, own=own).findings)  # fmt: skip


def test_a_kit_that_cannot_be_read_is_left_alone(tmp_path: Path) -> None:
    ies, _ = written(tmp_path, HEAD)
    own = tmp_path / "mine.kit.toml"
    own.write_text("falloff_kit = 1\nnonsense = 3\n")
    with pytest.raises(DocumentError):
        run_kit_import(ies, own=own)
    assert own.read_text() == "falloff_kit = 1\nnonsense = 3\n"
    assert sorted(one.name for one in tmp_path.iterdir()) == [
        "made.ies",
        "made.ldt",
        "mine.kit.toml",
    ]


def test_what_a_file_does_not_say_is_unknown(tmp_path: Path) -> None:
    ies, ldt = written(tmp_path, HEAD)
    assert run_kit_compare(str(ies), HEAD).shift_mired is None
    # the EULUMDAT file says 5600, Ra 96
    assert run_kit_compare(str(ldt), HEAD).shift_mired == 0.0


def test_declared_lumens_stand_beside_the_sum(tmp_path: Path) -> None:
    _, ldt = written(tmp_path, HEAD)
    made = run_kit_import(ldt)
    flux = flux_by_axis(find_as(Fixture, HEAD).beams[0])
    assert made.declared_lm is None  # its lamp count is negative: absolute photometry
    assert_allclose(made.flux_lm, flux, rtol=2e-3)
    assert_allclose(math.degrees(made.planes[0].beam_angle_rad), 55.0, atol=0.2)


def test_a_sheet_that_contradicts_itself_is_less_sure() -> None:
    lux = ("3200 lx at 1 m", "200 lx at 2 m")  # inverse square asks for 800 at 2 m
    made = run_kit_import(None, sheet=SheetOptions(lux=lux, beam="45 deg"))
    # pencil: two stops apart, so that the mean is a stop from each
    assert_allclose(sorted(one.stops for one in made.misses)[::2], [-1.0, 1.0], atol=1e-6)
    assert made.fixture.spread_stops > 1.0
    assert sum("do not agree" in one.do for one in made.findings) == 2


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({}, "nothing to import"),
        ({"lux": ("3200",)}, "--lux"),
        ({"lux": ("3200 m at 1 m",)}, "--lux"),
        ({"lux": ("3200 lx at 1 m",), "beam": "45"}, "--beam"),
        ({"lux": ("3200 lx at 1 m",), "beam": "45 deg", "size": "60"}, "--size"),
        ({"lux": ("3200 lx at 1 m",), "beam": "45 deg", "kelvin": "56 K"}, "--kelvin"),
        ({"lux": ("3200 lx at 1 m",), "beam": "45 deg", "family": "plasma"}, "no family"),
        ({"lux": ("3200 lx at 1 m",), "beam": "190 deg"}, "beam angle cannot be"),
    ],
)
def test_options_that_cannot_be_read_are_refused(options: dict[str, object], said: str) -> None:
    with pytest.raises(FalloffError, match=said):
        run_kit_import(None, sheet=SheetOptions(**options))  # type: ignore[arg-type]


def test_figures_beside_a_file_and_files_that_are_none_are_refused(tmp_path: Path) -> None:
    ies, _ = written(tmp_path, HEAD)
    with pytest.raises(DocumentError, match="--beam beside a photometric file"):
        run_kit_import(ies, sheet=SheetOptions(beam="45 deg"))
    with pytest.raises(PhotometricFileError, match="cannot be opened"):
        run_kit_import(tmp_path / "nothing.ies")


# List and show ---------------------------------------------------------------------------


def test_lists_by_kind_and_word() -> None:
    gels = run_kit_list("gels", search="blue FULL")
    assert gels.items[0].name == "full blue gel"
    assert {one.kind for one in run_kit_list().items} >= {"fixture", "lens", "haze machine"}
    with pytest.raises(GeometryError, match="kind of item"):
        run_kit_list("gadget")


def test_every_item_of_the_catalogue_can_be_shown() -> None:
    for one in run_kit_list().items:
        shown = run_kit_show(one.name)
        assert shown.figures
        assert all(figure.provenance for figure in shown.figures)
        assert (shown.sheet is not None) == (one.kind == "fixture")


def test_what_fits_and_what_does_not() -> None:
    fits = {one.name for one in run_kit_show(HEAD).fits}
    assert {"90 cm soft box", "4 x 4 ft frame of full white diffusion"} <= fits
    assert "lamp shade, white drum 30 x 20 cm" not in fits
    bulb = {one.name for one in run_kit_show("60 W household tungsten bulb, E27").fits}
    assert "lamp shade, white drum 30 x 20 cm" in bulb
    assert "90 cm soft box" not in bulb


def test_softness_on_the_sheet() -> None:
    soft = run_kit_show(HEAD, modifiers=("90 cm soft box",)).softness[1]
    # pencil: 0.9 m at 2 m: 2 atan 0.225 = 25.4°; an edge of 0.45 m for each metre
    assert_allclose(math.degrees(soft.angular_size_rad), 25.36, atol=0.01)
    assert_allclose(soft.edge_per_m, 0.45)


def test_a_sheet_for_what_has_none_is_refused(tmp_path: Path) -> None:
    with pytest.raises(DocumentError, match="has no sheet"):
        run_kit_show("full blue gel", out=tmp_path)
    assert near_names("full blu")[0]
