"""Scenes opened: setups, arrangements, and faults that point at the line they come from."""

from __future__ import annotations

from pathlib import Path

import pytest
from numpy.testing import assert_allclose

from falloff.document import parse_document, write_entry
from falloff.errors import DocumentError, GeometryError
from falloff.findings import Weight
from falloff.session.check import run_check
from falloff.session.scene import known_names, open_scene, setup_light, setup_names

TEXT = """\
falloff: 2
title: Two ways
units: metric

room:
  floor: [[0 m, 0 m], [4 m, 0 m], [4 m, 3 m], [0 m, 3 m]]
  height: 2.5 m
  floor_surface: planks
  ceiling_surface: white paint
  wall_surface: plaster

props:
  BOX: {shape: box, size: [40 cm, 40 cm, 40 cm], at: [1 m, 2 m], surface: oak}

practicals:
  GLOBE: {light: globe, diameter: 20 cm, output: 800 lm, colour: 2700 K, at: [2 m, 1.5 m, 1.8 m]}

cameras:
  WIDE: {at: [0.4 m, 0.4 m, 1.5 m], aim: [3 m, 2.5 m, 1.2 m], lens: 18 mm, aspect: 16:9}
  LONG: {at: [3.6 m, 0.4 m, 1.5 m], aim: [1 m, 2.5 m, 1.2 m], lens: 50 mm, aspect: 2:1}

setups:
  ROOM: {camera: WIDE, stop: T2.8, iso: 800, shutter: 180 deg}
  LAMP LOW: {like: ROOM, moved: {GLOBE: {at: [2 m, 1.5 m, 1 m]}}}
  DIM: {like: ROOM, dims: {GLOBE: 25 %}}
  NO BOX: {like: LAMP LOW, camera: LONG, without: [BOX]}

readings:
  the wall: {at: {wall: 3, along: 2 m, height: 1.2 m}}
  on the box: {at: {on: BOX}}
"""


def written(folder: Path, text: str = TEXT) -> Path:
    """A scene file."""
    path = folder / "two ways.scene.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def test_setups_in_which_things_stand_alike_share_a_stage(tmp_path: Path) -> None:
    scene = open_scene(written(tmp_path))
    assert scene.setups == ("ROOM", "LAMP LOW", "DIM", "NO BOX")
    assert [one.setups for one in scene.arrangements] == [("ROOM", "DIM"), ("LAMP LOW",),
                                                          ("NO BOX",)]  # fmt: skip
    for name in scene.setups:
        assert name in scene.arrangement_of(name).setups
    low = scene.arrangement_of("LAMP LOW").stage
    # pencil: the centre as it was moved
    assert_allclose(low.sources[0].shape[:3], [2.0, 1.5, 1.0], atol=1e-6)
    assert "BOX" not in scene.arrangement_of("NO BOX").stage.bodies
    assert [probe.name for probe in scene.arrangement_of("NO BOX").stage.probes] == ["the wall"]


def test_only_what_is_asked_for_is_built(tmp_path: Path) -> None:
    scene = open_scene(written(tmp_path), ("NO BOX", "DIM", "NO BOX"))
    assert scene.setups == ("NO BOX", "DIM")
    assert [one.setups for one in scene.arrangements] == [("NO BOX",), ("DIM",)]


def test_unknown_setups_are_all_told_with_the_nearest_name() -> None:
    document = parse_document(TEXT, "x.scene.yaml", known=known_names())
    assert setup_names(document) == ("ROOM", "LAMP LOW", "DIM", "NO BOX")
    with pytest.raises(DocumentError) as caught:
        setup_names(document, ("ROM", "DIM", "NO BOXES"))
    told = [(fault.what, fault.fix) for fault in caught.value.faults]
    assert told == [
        ("there is no setup called 'ROM'", "did you mean 'ROOM'?"),
        ("there is no setup called 'NO BOXES'", "did you mean 'NO BOX'?"),
    ]


def test_a_scene_without_setups_has_no_exposure(tmp_path: Path) -> None:
    text = TEXT.partition("setups:")[0] + "".join(TEXT.partition("readings:")[1:])
    with pytest.raises(DocumentError, match="no setup, so there is no exposure"):
        open_scene(written(tmp_path, text))


def test_a_setups_settings_and_dims() -> None:
    document = parse_document(TEXT, "x.scene.yaml", known=known_names())
    light = setup_light(document, "DIM")
    assert (light.name, light.camera, light.dims) == ("DIM", "WIDE", {"GLOBE": 0.25})
    # pencil: 180° at 24 frames a second
    assert_allclose(light.settings.exposure_time_s, 1 / 48)


def test_a_setting_that_cannot_be_points_at_its_line() -> None:
    text = TEXT.replace("iso: 800", "iso: 800, balance: 900 K")
    with pytest.raises(DocumentError) as caught:
        parse_document(text, "x.scene.yaml", known=known_names())
    fault = caught.value.faults[0]
    assert "setups.ROOM.balance" in fault.where
    # pencil: the setup stands in the line of "ROOM:"
    assert fault.line == 1 + text[: text.index("  ROOM:")].count("\n")


def test_check_looks_at_every_arrangement(tmp_path: Path) -> None:
    text = TEXT.replace("GLOBE: {at: [2 m, 1.5 m, 1 m]}", "GLOBE: {at: [9 m, 1.5 m, 1 m]}")
    path = written(tmp_path, text)
    open_scene(path, ("ROOM",))  # nothing is wrong there
    with pytest.raises(GeometryError) as caught:
        run_check(path)
    assert any("GLOBE" in fault.what for fault in caught.value.faults)
    # Told once, though two setups have it.
    said = [fault.sentence() for fault in caught.value.faults]
    assert len(said) == len(set(said))


def test_check_tells_of_feet_written_as_metres(tmp_path: Path) -> None:
    checked = run_check(written(tmp_path, TEXT.replace("height: 2.5 m", "height: 40 m")))
    assert checked.elements > 0
    told = [one for one in checked.findings if one.weight == Weight.WARNING]
    assert any("40 m high" in one.says and "feet" in one.do for one in told)


def test_a_file_changed_by_another_is_not_written_over(tmp_path: Path) -> None:
    path = written(tmp_path)
    known = known_names()
    document = open_scene(path).document
    theirs = path.read_text(encoding="utf-8").replace("title: Two ways", "title: Theirs")
    path.write_text(theirs, encoding="utf-8")
    entry = "{at: {wall: 2, along: 1 m, height: 1 m}}"
    with pytest.raises(DocumentError, match="has changed on disk"):
        write_entry(document, ("readings", "another"), entry, known=known)
    assert path.read_text(encoding="utf-8") == theirs
    # Read again, it goes in, and what they wrote stays.
    write_entry(open_scene(path).document, ("readings", "another"), entry, known=known)
    assert "title: Theirs" in path.read_text(encoding="utf-8")
    assert "another" in open_scene(path).document.readings
