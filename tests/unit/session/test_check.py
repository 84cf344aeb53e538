"""What check tells of a scene that can be read, and what it refuses."""

from __future__ import annotations

from pathlib import Path

import pytest

from falloff.errors import DocumentError, GeometryError
from falloff.readings import describe
from falloff.session import run_check, run_meter

SCENE = """
falloff: 2
title: A room
units: metric
sky: {type: overcast, outside: 10000 lx, colour: 6500 K}
room:
  floor: [[0 m, 0 m], [4 m, 0 m], [4 m, 4 m], [0 m, 4 m]]
  height: 2.6 m
  floor_surface: floor
  ceiling_surface: ceiling
  wall_surface: floor
materials:
  floor: {reflectance: 0.3}
  ceiling: {reflectance: WHITE}
openings:
  WINDOW:
    wall: 4
    along: 1 m
    width: 2 m
    sill: 0.9 m
    height: 1.2 m
    dressing: [{kind: sheer, straight: 0, scattered: 0.5}]
fixtures:
  KEY:
    light: panel
    size: [30 cm, 30 cm]
    output: LUMENS
    colour: 5600 K
    at: [2 m, 1 m, 2 m]
    aim: down
cameras:
  A: {at: [2 m, 0.4 m, 1.3 m], aim: [2 m, 3 m, 1.3 m], lens: LENS}
setups:
  ONE: {camera: A, stop: T2.8, iso: 800, shutter: 180 deg, dims: {KEY: 0 %}}
  TWO: {like: ONE, iso: ISO}
readings:
  by the window: {at: [1 m, 2 m, 1.3 m], normal: [-1, 0, 0]}
"""
USUAL = {"WHITE": "0.85", "LUMENS": "6000 lm", "LENS": "35 mm", "ISO": "400"}


def scene(folder: Path, **other: str) -> Path:
    text = SCENE
    for word, value in (USUAL | other).items():
        text = text.replace(word, value)
    path = folder / "room.scene.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def test_settings_that_no_camera_has_are_faults_of_their_setup(tmp_path: Path) -> None:
    with pytest.raises(DocumentError, match=r"setups\.TWO\.iso"):
        run_check(scene(tmp_path, ISO="8000000000"))


def test_places_and_settings_are_told_at_once(tmp_path: Path) -> None:
    path = scene(tmp_path, ISO="8000000000")
    text = path.read_text(encoding="utf-8").replace("at: [2 m, 1 m, 2 m]", "at: [9 m, 1 m, 2 m]")
    path.write_text(text, encoding="utf-8")
    with pytest.raises(GeometryError) as caught:
        run_check(path)
    assert "fixtures.KEY" in str(caught.value)
    assert "setups.TWO.iso" in str(caught.value)


@pytest.mark.parametrize(
    ("word", "value", "says"),
    [
        ("LUMENS", "9405000000 lm", "KEY gives"),
        ("LENS", "0.001 mm", "A has a lens"),
        ("WHITE", "1.0", "ceiling gives back 100 %"),
    ],
)
def test_figures_that_hardly_are_get_a_warning(
    tmp_path: Path, word: str, value: str, says: str
) -> None:
    usual = [one.says for one in run_check(scene(tmp_path)).findings]
    found = [one.says for one in run_check(scene(tmp_path, **{word: value})).findings]
    assert not any(says in one for one in usual)
    assert any(says in one for one in found)


def test_what_a_sheer_scatters_is_not_called_bounce(tmp_path: Path) -> None:
    readings = run_meter(scene(tmp_path), setups=("ONE",)).readings[0]
    reading = readings.readings[0]
    assert len(reading.fabrics) == 1
    assert reading.fabrics[0].endswith("WINDOW sheer 1")
    assert "comes scattered from" in describe(readings)
    assert "lives on bounce" not in describe(readings)
