"""Choosing out of more: a wider offer never gives a worse package."""

from __future__ import annotations

from pathlib import Path

from falloff.balance import Package
from falloff.session import run_balance
from falloff.session.kit.choosing import ChooseAsked, run_kit_choose

OFFICE = """\
falloff: 2
title: Office at night
units: metric

room:
  floor: [[0 m, 0 m], [4 m, 0 m], [4 m, 3.4 m], [0 m, 3.4 m]]
  height: 2.5 m
  floor_surface: planks
  ceiling_surface: white paint
  wall_surface: plaster

house_power:
  supply: 230 V
  circuits:
    A: {breaker: 10 A}

props:
  DESK: {shape: table, at: [2 m, 1.6 m], size: [1.4 m, 0.7 m, 0.74 m], surface: walnut}

subjects:
  BEN: {figure: man seated, at: [2 m, 2.3 m], facing: 270 deg, skin: 0.25,
    hair: dark hair, top: white cotton, trousers: dark denim, seat: oak}

fixtures:
  KEY:
    kit: 100 W bi-colour LED, open face
    modifier: 60 cm soft box
    colour: 4000 K
    at: {from: BEN, distance: 1.5 m, clock: 4:30, height: 1.9 m}
    aim: BEN.face
    stand: true
  WASH:
    kit: 100 W RGBW LED, open face
    colour: {xy: [0.1494, 0.1697]}
    at: [0.5 m, 2 m, 0.4 m]
    aim: {wall: 3, along: 2.6 m, height: 1.4 m}
  TUNG:
    light: fresnel
    aperture: 15 cm
    beam: 30 deg
    output: 2000 lm
    colour: 3200 K
    warms: true
    at: [3.7 m, 3.1 m, 2.3 m]
    aim: BEN.hair_edge_left

practicals:
  DESK LAMP: {light: bulb in shade,
    shade: {top: 20 cm, bottom: 35 cm, height: 25 cm, fabric: bleached muslin},
    output: 800 lm, colour: 2700 K, warms: true, at: [1.5 m, 1.6 m, 1.1 m]}

cameras:
  A: {at: [2.4 m, 0.3 m, 1.3 m], aim: BEN.chest, lens: 24 mm, aspect: 16:9}

setups:
  WIDE: {camera: A, stop: T2.8, iso: 800, shutter: 180 deg, balance: 4000 K,
    dims: {KEY: 30 %, WASH: 20 %, TUNG: 50 %, DESK LAMP: 60 %}, key: key cheek}

readings:
  key cheek: {at: BEN.cheek_key}
  shadow cheek: {at: BEN.cheek_shadow}
  hair: {at: BEN.hair_edge_left}
  wall: {at: {wall: 3, along: 2.6 m, height: 1.4 m}}
  wall walk: {at: {wall: 3, along: 3.2 m, height: 1.4 m},
    to: {wall: 3, along: 1.8 m, height: 1.4 m}, points: 4}
  desk: {at: {on: DESK, offset: [30 cm, 0 cm]}}

targets:
  key: {reading: key cheek, level: 0 stops, tolerance: 1/4 stop, weight: 3}
  contrast: {reading: key cheek, ratio: 3:1, over: shadow cheek, of: key to fill}
  hair edge: {reading: hair, level: 1 stop, over: key cheek, limit: at least, tolerance: 1/2 stop}
  wall under: {reading: wall, level: -1 stop}
  wall even: {readings: [wall walk], even: 2 stops}
  blue wall: {reading: wall, hue: 240 deg, saturation: 0.5}
  key colour: {reading: key cheek, colour: 4000 K, green: 0 CC}
  desk kept: {reading: desk, keep: true}
"""
VAN = """\
falloff_kit = 1
currency = "GBP"
[[item]]
item = "60 W bi-colour LED, open face"
count = 2
[[item]]
item = "100 W RGBW LED, open face"
[[item]]
item = "100 W bi-colour LED, open face"
[[item]]
item = "60 cm soft box"
"""


def _held(package: Package) -> list[str]:
    return [one.name for one in package.targets if one.got.holds]


def test_offering_hire_besides_gives_no_worse_a_package(tmp_path: Path) -> None:
    """What the kit alone holds is held with the catalogue besides; it is one of its packages."""
    scene, van = tmp_path / "office.scene.yaml", tmp_path / "van.kit.toml"
    scene.write_text(OFFICE, encoding="utf-8")
    van.write_text(VAN, encoding="utf-8")
    alone = run_kit_choose(scene, ChooseAsked(own=van, kit_only=True)).choice
    wider = run_kit_choose(scene, ChooseAsked(own=van)).choice
    weight = {"key": 3}
    held = [
        sum(weight.get(name, 1) for name in _held(package)) for package in (alone.best, wider.best)
    ]
    assert held[1] >= held[0] > 0
    assert "at home" not in " ".join((*alone.says, *wider.says))  # while targets are missed


def test_a_head_that_mixes_colours_is_set_to_the_hue_wanted(tmp_path: Path) -> None:
    """A wall wanted blue, a head written white: it is packed, set blue, and written so."""
    white = OFFICE.replace("colour: {xy: [0.1494, 0.1697]}", "colour: 5600 K")
    start = white.index("targets:")
    assert white[:start] != OFFICE[:start]
    scene, out = tmp_path / "office.scene.yaml", tmp_path / "blue.scene.yaml"
    wanted = "targets:\n  blue wall: {reading: wall, hue: 240 deg, saturation: 0.5}\n"
    scene.write_text(white[:start] + wanted, encoding="utf-8")
    choice = run_kit_choose(scene, ChooseAsked(out=out)).choice
    assert choice.best.holds
    assert [one.item for one in choice.best.lines] == ["100 W RGBW LED, open face"]
    balanced = run_balance(out)
    assert all(one.before.holds for one in balanced.groups[0].result.targets)
