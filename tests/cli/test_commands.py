"""demo, meter and picture as a person runs them, and the JSON as docs/json.md tells it."""

from __future__ import annotations

import json
import math
import os
import re
import subprocess
import sys
from importlib.metadata import entry_points
from pathlib import Path
from typing import Any

import numpy as np
import OpenEXR
import pytest
from numpy.testing import assert_allclose
from PIL import Image

from falloff.findings import Finding
from falloff.readings import Contrast, Reading, Readings, Softness, SourcePart

from .conftest import Falloff

PAGE = (Path(__file__).parents[2] / "docs" / "json.md").read_text(encoding="utf-8")


def documented(title: str) -> set[str]:
    """Fields that the page tells under a heading."""
    section = re.split(rf"^##+ {re.escape(title)}\n", PAGE, flags=re.MULTILINE)[1]
    table = re.split(r"^##", section, flags=re.MULTILINE)[0]
    cells = [line.split("|")[1] for line in table.splitlines() if line.startswith("| `")]
    return {name for cell in cells for name in re.findall(r"`(\w+)`", cell)}


@pytest.mark.parametrize(
    ("title", "record"),
    [
        ("A set of readings", Readings),
        ("A reading", Reading),
        ("A part of a reading", SourcePart),
        ("A contrast", Contrast),
        ("A softness", Softness),
        ("A finding", Finding),
    ],
)
def test_the_page_tells_every_field(title: str, record: Any) -> None:
    # what the command tells besides of a reading's light, from its u'v'
    besides = {"kelvin", "green_cc"} if record is Reading else set()
    assert documented(title) == set(record.__struct_fields__) | besides


def check_readings(readings: dict[str, Any]) -> None:
    """The JSON of one setup has the fields of the page, at every depth, and adds up."""
    assert set(readings) == documented("A set of readings")
    for name, title in (
        ("readings", "A reading"),
        ("contrasts", "A contrast"),
        ("softness", "A softness"),
        ("findings", "A finding"),
    ):
        for one in readings[name]:
            assert set(one) == documented(title)
    for reading in readings["readings"]:
        assert [part["source"] for part in reading["parts"]] == readings["sources"]
        for part in reading["parts"]:
            assert set(part) == documented("A part of a reading")
        # pencil: a whole is the sum of its parts; stops are log2 of a ratio
        parts = sum(part["direct"] + part["bounced"] for part in reading["parts"])
        assert_allclose(parts, reading["value"], rtol=1e-6)
        assert_allclose(reading["direct"] + reading["bounced"], reading["value"], rtol=1e-6)
        over_key = reading["stops_over_key"]
        if reading["unit"] == "lx":
            assert_allclose(over_key, math.log2(reading["value"] / readings["key_lux"]), atol=1e-9)
        else:
            assert over_key is None
        assert 0.0 < reading["standard_error"] < 0.05 * reading["value"]
        assert sum(reading["bounce_from"].values()) <= reading["bounced"] / reading["value"] + 1e-6


def test_meter_prints_json_and_nothing_else(scene: Path, falloff: Falloff) -> None:
    told = falloff("meter", scene, "--json")
    assert (told.code, told.err) == (0, "")
    document = json.loads(told.out)
    assert set(document) == documented("falloff meter")
    assert document["falloff_json"] == 1
    assert [one["setup"] for one in document["readings"]] == ["ROOM", "DIM ROOM"]
    for readings in document["readings"]:
        check_readings(readings)
    assert os.listdir(scene.parent) == [scene.name]


def test_half_the_dim_is_half_the_light(scene: Path, falloff: Falloff) -> None:
    whole, half = json.loads(falloff("meter", scene, "--json").out)["readings"]
    assert half["dims"] == {"GLOBE": 0.5}
    for full, dimmed in zip(whole["readings"], half["readings"], strict=True):
        # pencil: light is linear, and half is one stop under
        assert_allclose(dimmed["value"], 0.5 * full["value"], rtol=1e-9)
        if full["unit"] == "lx":
            assert_allclose(dimmed["stops_over_key"], full["stops_over_key"] - 1.0, atol=1e-9)


def test_key_is_that_of_the_settings(scene: Path, falloff: Falloff) -> None:
    (readings,) = json.loads(falloff("meter", scene, "--setup", "ROOM", "--json").out)["readings"]
    # pencil: ISO 2720, E = C N² / (S t) = 250 · 2.8² / (800 / 48) = 117.6 lx
    assert_allclose(readings["key_lux"], 117.6, rtol=1e-12)
    # pencil: 0.18 · 117.6 / π
    assert_allclose(readings["mid_grey_nit"], 0.18 * 117.6 / math.pi, rtol=1e-12)


def test_meter_prints_every_reading_with_its_error(scene: Path, falloff: Falloff) -> None:
    told = falloff("meter", scene, "--setup", "ROOM")
    assert told.code == 0
    for said in ("Small room", "ROOM", "T2.8", "ISO 800", "C = 250", "the wall", "the corner",
                 "GLOBE", "± stop", "bounced", "lx"):  # fmt: skip
        assert said in told.out
    assert "DIM ROOM" not in told.out


def test_imperial_scenes_are_answered_in_footcandles(scene: Path, falloff: Falloff) -> None:
    text = scene.read_text(encoding="utf-8").replace("units: metric", "units: imperial")
    scene.write_text(text, encoding="utf-8")
    told = falloff("meter", scene, "--setup", "ROOM")
    # pencil: 117.6 lx / 10.7639 = 10.9 fc
    assert "Key at this exposure is 10.9 fc" in told.out


def test_picture_writes_five_files_a_setup_and_a_sheet(scene: Path, falloff: Falloff) -> None:
    out = scene.parent / "out"
    told = falloff("picture", scene, "--out", out, "--width", "160", "--json")
    assert (told.code, told.err) == (0, "")
    document = json.loads(told.out)
    assert set(document) == documented("falloff picture")
    written = document["files"]
    assert [one["setup"] for one in written] == ["ROOM", "DIM ROOM"]
    paths = set()
    for one in written:
        assert set(one) == documented("The files of a setup")
        assert 0.0 <= one["levels"]["clipped_share"] <= 1.0
        assert 0.0 <= one["levels"]["dark_share"] <= 1.0
        for kind in ("picture", "stops_map"):
            with Image.open(one[kind]) as picture:
                assert picture.size[0] == 160
                # pencil: 160 · 9/16; a legend may stand below a stops map
                assert picture.size[1] == 90 or (kind == "stops_map" and picture.size[1] > 90)
        paths |= {Path(path).name for kind, path in one.items() if kind not in ("setup", "levels")}
    assert set(os.listdir(out)) == paths | {Path(document["contact_sheet"]).name}


def test_linear_layers_hold_the_dims(scene: Path, falloff: Falloff) -> None:
    out = scene.parent / "out"
    told = falloff("picture", scene, "--out", out, "--width", "160", "--json")
    whole, half = (OpenEXR.File(one["layers"]).channels() for one in json.loads(told.out)["files"])
    assert any(name.startswith("GLOBE") for name in whole)
    for name, channel in whole.items():
        # pencil: light is linear; the file holds half floats of eleven bits, or better
        assert_allclose(half[name].pixels, 0.5 * np.asarray(channel.pixels), rtol=1e-3)


@pytest.fixture(scope="module")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the demo writes, kept for the tests of this module."""
    return tmp_path_factory.mktemp("demo")


def test_demo_prints_json_and_nothing_else(demo_folder: Path, falloff: Falloff) -> None:
    told = falloff("demo", "--out", demo_folder, "--width", "160", "--json")
    assert (told.code, told.err) == (0, "")
    document = json.loads(told.out)
    assert set(document) == documented("falloff demo")
    for readings in document["readings"]:
        check_readings(readings)
        assert readings["contrasts"]
        assert readings["softness"]
        assert readings["findings"]
    assert len(document["said"]) == len(document["readings"]) == 2
    assert [one["setup"] for one in document["files"]] == [document["readings"][0]["setup"]]
    assert all(said.strip() for said in document["said"])
    for one in document["files"]:
        for kind in ("picture", "stops_map", "layers"):
            assert Path(one[kind]).stat().st_size > 0
    assert Path(document["scene"]).is_file()


def test_demo_tells_table_paragraph_and_files(demo_folder: Path, falloff: Falloff) -> None:
    told = falloff("demo", "--out", demo_folder, "--width", "160")
    assert told.code == 0
    flat = re.sub(r"\s+", " ", told.out)
    for said in ("WINDOW", "BOOK", "GLOBE", "key cheek", "shadow cheek", "key and fill to fill",
                 "key to fill", "Size seen from", "picture", "stops map", "layers"):  # fmt: skip
        assert said in flat


def test_demo_keeps_a_scene_that_was_changed(demo_folder: Path, falloff: Falloff) -> None:
    scene = demo_folder / "workshop.scene.yaml"
    if not scene.exists():
        falloff("demo", "--out", demo_folder, "--width", "160", "--json")
    before = scene.read_text(encoding="utf-8")
    changed = before.replace("title: Workshop", "title: Mine")
    assert changed != before
    scene.write_text(changed, encoding="utf-8")
    document = json.loads(falloff("demo", "--out", demo_folder, "--width", "160", "--json").out)
    assert {one["scene"] for one in document["readings"]} == {"Workshop"}
    assert scene.read_text(encoding="utf-8") == changed
    scene.write_text(before, encoding="utf-8")


def test_the_command_is_installed_and_tells_its_commands() -> None:
    (script,) = entry_points(group="console_scripts", name="falloff")
    assert script.value == "falloff.cli:main"
    program = "from falloff.cli import main; main()"
    told = subprocess.run(
        [sys.executable, "-c", program, "--help"], capture_output=True, check=True, text=True,
        encoding="utf-8", env={**os.environ, "PYTHONIOENCODING": "utf-8", "NO_COLOR": "1"},
    )  # fmt: skip
    for command in ("demo", "meter", "picture"):
        assert command in told.stdout


@pytest.mark.parametrize("command", ["demo", "meter", "picture"])
def test_every_command_tells_its_options(command: str, falloff: Falloff) -> None:
    told = falloff(command, "--help")
    assert told.code == 0
    assert "--json" in told.out
