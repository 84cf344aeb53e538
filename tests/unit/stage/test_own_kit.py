"""Things of one's own kit in a scene: found by name, measured figures taken, faults told."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from numpy.testing import assert_allclose

from falloff.document import read_document
from falloff.errors import DocumentError, GeometryError
from falloff.findings import Weight
from falloff.stage import build_stage
from falloff.stage.lights import light_of
from falloff.stage.places import Placer

SCENE = """
falloff: 2
title: A room
units: metric
{kit}room:
  floor: [[0 m, 0 m], [4 m, 0 m], [4 m, 4 m], [0 m, 4 m]]
  height: 2.6 m
  floor_surface: plaster
  ceiling_surface: plaster
  wall_surface: plaster
fixtures:
  KEY: {{kit: {name}, at: [1 m, 1 m, 1.5 m], aim: [3 m, 3 m, 1 m]}}
cameras:
  A: {{at: [2 m, 0.4 m, 1.3 m], aim: [2 m, 3 m, 1.3 m], lens: 35 mm}}
"""
KIT = """
falloff_kit = 1
[[item]]
item = "300 W LED, open face"
name = "big LED"
[item.measured.beams."bare"]
flux_lm = 21000
[[fixture]]
name = "small head"
family = "LED white"
form = "as its papers say"
power_w = 50
flux_lm = {flux}
beams = [
  {{ name = "own", shape = "focused", beam_angle_deg = 40, flux_lm = {flux}, axis_cd = 800 }},
]
opening = {{ shape = "disc", width_m = 0.1, height_m = 0.1 }}
weight_kg = 1
kelvin = 5600
kelvin_low = 5600
kelvin_high = 5600
photometric_file = "small.ies"
photometric_sha256 = "{sha}"
[[item]]
item = "small head"
"""
# LM-63-2002: one even cone of 1000 cd to 20°, whose flux is 2π·1000·(1 − cos 20°) = 378.9 lm
FILE = b"\r\n".join(
    (
        b"IESNA:LM-63-2002",
        b"TILT=NONE",
        b"1 -1 1 4 1 1 2 0.1 0.1 0",
        b"1 1 50",
        b"0 10 20 20.01",
        b"0",
        b"1000 1000 1000 0",
        b"",
    )
)


def placer(folder: Path, *, name: str, kit: str = "van.kit.toml", sha: str = "") -> Placer:
    (folder / "small.ies").write_bytes(FILE)
    text = KIT.format(flux=379, sha=sha or hashlib.sha256(FILE).hexdigest())
    (folder / "van.kit.toml").write_text(text, encoding="utf-8")
    scene = folder / "room.scene.yaml"
    line = f"own_kit: {kit}\n" if kit else ""
    scene.write_text(SCENE.format(kit=line, name=name), encoding="utf-8")
    return Placer(read_document(scene))


def test_what_was_measured_is_taken_and_told(tmp_path: Path) -> None:
    room = placer(tmp_path, name="Big  LED, beam: bare")
    light = light_of(room, "KEY")
    assert_allclose(light.flux_lm, 21000.0)
    assert any("your kit's" in one.says for one in light.findings)
    assert any("21000" in one.says.replace(" ", "") for one in light.findings)
    build_stage(room.document)


def test_a_fixture_read_from_a_file_has_the_file_s_beam(tmp_path: Path) -> None:
    light = light_of(placer(tmp_path, name="small head"), "KEY")
    # pencil: the cone's own flux, 378.9 lm and what is under the fall of 0.01° past it
    assert_allclose(light.flux_lm, 378.9, rtol=2e-3)
    assert light.power_w == 50.0
    assert "small.ies" in light.findings[0].says


def test_a_file_that_changed_since_is_told(tmp_path: Path) -> None:
    light = light_of(placer(tmp_path, name="small head", sha="0" * 64), "KEY")
    assert light.findings[0].weight is Weight.WARNING


@pytest.mark.parametrize(
    ("kit", "name", "says"),
    [
        ("", "big LED", "add `own_kit: van.kit.toml` to the scene"),
        ("other.kit.toml", "big LED", "there is no such kit file"),
        ("van.kit.toml", "large LED", "no fixture is called"),
    ],
)
def test_what_is_not_there_is_told(tmp_path: Path, kit: str, name: str, says: str) -> None:
    with pytest.raises(GeometryError) as caught:
        light_of(placer(tmp_path, name=name, kit=kit), "KEY")
    assert says in str(caught.value)


def test_a_kit_file_with_faults_is_told_by_its_own_lines(tmp_path: Path) -> None:
    room = placer(tmp_path, name="big LED")
    (tmp_path / "van.kit.toml").write_text("falloff_kit = 9\n", encoding="utf-8")
    with pytest.raises(DocumentError, match=r"van\.kit\.toml, line 1"):
        light_of(room, "KEY")
