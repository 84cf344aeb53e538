"""The pocket copy as a file: whole by itself, true to the layers, within its size."""

from __future__ import annotations

import base64
import html
import json
import re
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.camera import CameraSettings, key_illuminance_lux, mid_grey_luminance_nit
from falloff.camera.tone_table import tone_table
from falloff.document import parse_document
from falloff.errors import BudgetExceeded, DocumentError, OutputError
from falloff.layers import cached_layers
from falloff.readings import take_readings
from falloff.session import pocket_fit
from falloff.session.picture import sizes_of
from falloff.session.pocket import pocket_stem, run_pocket
from falloff.session.pocket_exposure import pocket_exposure
from falloff.session.pocket_metered import read_metered
from falloff.session.pocket_page import SCRIPTS, STYLES, half_layer
from falloff.session.pocket_units import pocket_units
from falloff.session.scene import known_names, open_scene, setup_light
from falloff.transport import Budget

from .test_scene import TEXT, written

FEW = Budget(view_rays=1, gather_rays=2, shadow_rays=1, row_rays=16, reading_replicates=2)


@pytest.fixture(autouse=True)
def _few_rays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The file is looked at here, not the light; and the cache is kept apart."""
    monkeypatch.setattr("falloff.session.pocket.POCKET_BUDGET", FEW)
    monkeypatch.setattr("falloff.session.pocket_fit.WIDTH_PX", 160)
    monkeypatch.setattr("falloff.session.pocket_fit._LEAST_WIDTH_PX", 96)
    monkeypatch.setattr("falloff.layers.store._cache_folder", lambda: tmp_path / "cache")


def parts_of(page: str) -> tuple[dict[str, Any], list[np.ndarray]]:
    """What a copy says of its scene, and its layers as they are in it, flat."""
    found = re.search(r'<script type="application/json" id="scene">(.*?)</script>', page, re.DOTALL)
    assert found is not None
    layers = re.findall(r'<script type="text/plain" id="light-(\d+)">(.*?)</script>', page)
    assert [int(number) for number, _ in layers] == list(range(len(layers)))
    return json.loads(found[1]), [
        np.frombuffer(base64.b64decode(text), dtype="<f2").astype(np.float64) for _, text in layers
    ]


def test_the_file_needs_nothing_from_outside(tmp_path: Path) -> None:
    result = run_pocket(written(tmp_path), out=tmp_path / "two.html")
    page = result.file.read_text(encoding="utf-8")
    assert result.size_bytes == result.file.stat().st_size
    assert not re.search(r"https?:|//[a-z]+\.|@import|\bsrc=|<link|url\(", page)
    assert "default-src 'none'" in page
    assert "<!--" not in page.split("<style>")[1]  # every mark has its text
    script = page.rpartition("<script>")[2]
    assert not re.search(r"^(import|export)\b", script, flags=re.MULTILINE)


def test_every_part_of_the_page_is_put_in() -> None:
    folder = resources.files("falloff.session").joinpath("data/pocket")
    there = {one.name for one in folder.iterdir()}
    assert there == {*SCRIPTS, *STYLES, "pocket.html"}


def test_layers_are_those_that_were_traced(tmp_path: Path) -> None:
    path = written(tmp_path)
    result = run_pocket(path, out=tmp_path / "two.html")
    said, kept = parts_of(result.file.read_text(encoding="utf-8"))
    scene = open_scene(path)
    assert [one["name"] for one in said["setups"]] == list(scene.setups) == list(result.setups)
    for setup in said["setups"]:
        standing = scene.arrangement_of(setup["name"])
        names = tuple(standing.setups)
        layers, was_kept = cached_layers(
            standing.stage, FEW, sizes=sizes_of(standing, names, result.width_px)
        )
        assert was_kept
        view = layers.views[standing.document.setups[setup["name"]].camera]
        for s, scale in enumerate(setup["scales"]):
            traced = (view.direct[s] + view.bounced[s]).astype(np.float64)
            assert traced.shape == (setup["height"], setup["width"], 3)
            # pencil: rounding to 11 bits is half of 2^-10 at most; below 2^-14 steps are 2^-24
            found = (kept[setup["light"] + s] * scale).reshape(traced.shape)
            assert_allclose(found, traced, rtol=2.0**-11, atol=scale * 2.0**-25)


def test_setups_that_differ_in_dims_alone_share_their_layers(tmp_path: Path) -> None:
    result = run_pocket(written(tmp_path), out=tmp_path / "two.html")
    said, kept = parts_of(result.file.read_text(encoding="utf-8"))
    first = {one["name"]: one["light"] for one in said["setups"]}
    assert first["ROOM"] == first["DIM"]
    # pencil: three arrangements, each seen by one camera, with one source
    assert len(kept) == 3


def test_dims_and_readings_come_to_what_the_readings_say(tmp_path: Path) -> None:
    path = written(tmp_path)
    page = run_pocket(path, out=tmp_path / "two.html").file.read_text(encoding="utf-8")
    said, _ = parts_of(page)
    scene = open_scene(path, ("DIM",))
    standing = scene.arrangements[0]
    layers, _ = cached_layers(standing.stage, FEW, sizes={"WIDE": (160, 90)})
    taken = take_readings(layers, setup_light(standing.document, "DIM"))
    setup = next(one for one in said["setups"] if one["name"] == "DIM")
    (globe,) = setup["sources"]
    assert (globe["name"], globe["kind"], globe["dims"], globe["knob"]) == (
        "GLOBE", "practical", True, 0.25,
    )  # fmt: skip
    assert len(globe["gains"]) == 101
    # pencil: a globe dims in proportion
    assert_allclose(globe["gains"][25], globe["at_plan"], rtol=1e-6)
    assert_allclose(np.array(globe["gains"][50]), 0.5 * np.array(globe["gains"][100]), rtol=1e-6)
    weights = np.array(said["luminance"])
    for mine, reading in zip(setup["readings"], taken.readings, strict=True):
        white = np.array(mine["direct"]) + np.array(mine["bounced"])
        value = float((white * np.array([globe["at_plan"]])).sum(0) @ weights)
        assert value == pytest.approx(reading.value, rel=1e-5)
        assert mine["planned"] == pytest.approx(reading.value)


def test_words_cannot_break_out_of_the_page(tmp_path: Path) -> None:
    title = "</script><!--script--><b>&"
    path = written(tmp_path, TEXT.replace("title: Two ways", f"title: {title!r}"))
    page = run_pocket(path, out=tmp_path / "two.html", setups=("ROOM",)).file.read_text("utf-8")
    said, _ = parts_of(page)
    assert said["title"] == title
    assert f"<title>{html.escape(title)}</title>" in page
    # one for what is known, one for the only layer, one for the script
    assert page.count("</script>") == 3


def scene_of(tmp_path: Path, count: int, *, setups: int = 1) -> Path:
    """A scene with so many lamps, and so many setups in each of which the box stands elsewhere."""
    lamps = "\n".join(
        f"  LAMP {n}: {{light: globe, diameter: 5 cm, output: 100 lm, colour: 2700 K, "
        f"at: [{0.5 + 0.2 * n:.1f} m, 1.5 m, 2 m]}}"
        for n in range(count)
    )
    takes = "\n".join(
        f"  TAKE {n}: {{camera: WIDE, stop: T2.8, iso: 800, shutter: 180 deg, "
        f"moved: {{BOX: {{at: [{1 + 0.1 * n:.1f} m, 2 m]}}}}}}"
        for n in range(setups)
    )
    head = TEXT.split("practicals:")[0]
    cameras = "cameras:" + TEXT.split("cameras:")[1].split("setups:")[0]
    text = f"{head}practicals:\n{lamps}\n\n{cameras}setups:\n{takes}\n"
    return written(tmp_path, text)


def fitting(path: Path) -> tuple[tuple[str, ...], int]:
    fit = pocket_fit.fitting(open_scene(path))
    assert not fit.hours
    return fit.setups, fit.width_px


def test_twelve_sources_fit_at_full_width(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("falloff.session.pocket_fit.WIDTH_PX", 480)
    # pencil: 12 · 480 · 270 · 3 · 2 · 4/3 = 12.4 MB of 15
    assert fitting(scene_of(tmp_path, 12)) == (("TAKE 0",), 480)


def test_pictures_grow_small_before_setups_are_left_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("falloff.session.pocket_fit.WIDTH_PX", 480)
    monkeypatch.setattr("falloff.session.pocket_fit._LEAST_WIDTH_PX", 240)
    # pencil: 24 layers of 8 bytes a pixel in 14.4 MB: 75 000 pixels, 365 wide, in steps of 16
    assert fitting(scene_of(tmp_path, 12, setups=2)) == (("TAKE 0", "TAKE 1"), 352)
    # pencil: 240 · 135 · 8 · 12 and the gains are 3.25 MB a setup, so five have no room; four have
    # it at 256 · 144 · 8 · 48 = 14.2 MB and 0.8 MB besides
    names, width = fitting(scene_of(tmp_path, 12, setups=6))
    assert names == ("TAKE 0", "TAKE 1", "TAKE 2", "TAKE 3")
    assert width == 256


def test_a_copy_tells_what_it_leaves_out(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("falloff.session.pocket_fit.MOST_BYTES", 400_000)
    result = run_pocket(scene_of(tmp_path, 1, setups=4), out=tmp_path / "two.html")
    assert result.left_out
    assert result.setups + result.left_out == ("TAKE 0", "TAKE 1", "TAKE 2", "TAKE 3")
    said, _ = parts_of(result.file.read_text(encoding="utf-8"))
    assert said["left_out"] == list(result.left_out)
    assert result.size_bytes <= 400_000


def test_too_much_light_for_one_file_is_a_fault(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("falloff.session.pocket_fit.MOST_BYTES", 300_000)
    with pytest.raises(BudgetExceeded, match="more light than a pocket copy holds") as caught:
        run_pocket(scene_of(tmp_path, 9), out=tmp_path / "two.html")
    assert caught.value.faults[0].found == "9 sources"
    assert not (tmp_path / "two.html").exists()


def test_faults_are_told_before_anything_is_traced(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def traced(*_: Any, **__: Any) -> None:
        raise AssertionError("it was traced")

    monkeypatch.setattr("falloff.session.pocket.cached_layers", traced)
    path = written(tmp_path)
    with pytest.raises(DocumentError, match="no setup called 'ROM'"):
        run_pocket(path, out=tmp_path / "two.html", setups=("ROM",))
    with pytest.raises(OutputError, match="a folder stands where the file should go"):
        run_pocket(path, out=tmp_path)
    (tmp_path / "file").touch()
    with pytest.raises(OutputError):
        run_pocket(path, out=tmp_path / "file" / "two.html")


@pytest.mark.parametrize(
    ("name", "stem"),
    [("kitchen.scene.yaml", "kitchen"), ("two.ways.scene.yaml", "two.ways"), ("a.yaml", "a")],
)
def test_the_copy_is_called_as_its_scene(name: str, stem: str) -> None:
    assert pocket_stem(Path(name)) == stem


def test_half_floats_keep_dark_and_bright() -> None:
    layer = np.array([[[1e-3, 0.5, 100.0], [0.0, 3e5, 65504.0]]], dtype=np.float32)
    half, scale = half_layer(layer, 10.0)
    assert_allclose(half.astype(np.float64) * scale, layer, rtol=2.0**-11)
    # pencil: what is brighter than 20 stops over grey is kept at the end of the range
    hot, scale = half_layer(np.full((1, 1, 3), 1e9, dtype=np.float32), 0.01)
    assert np.isfinite(hot).all()
    assert 0.01 / scale >= 2.0**-4
    assert float(hot.max()) * scale >= 0.01 * 2.0**19
    nothing, _ = half_layer(np.zeros((1, 2, 3), dtype=np.float32), 5.0)
    assert not nothing.any()


def test_lists_hold_the_plans_own_settings() -> None:
    text = TEXT.replace(
        "stop: T2.8, iso: 800", "stop: f/2.7, iso: 850, nd: ND 1.0, balance: 4400 K"
    )
    document = parse_document(text, "x.scene.yaml", known=known_names())
    settings = setup_light(document, "ROOM").settings
    lists = pocket_exposure(document.setups["ROOM"], settings)
    assert lists.stop[lists.own["stop"]].text == "f/2.7"
    assert lists.iso[lists.own["iso"]].text == "850"
    assert lists.nd[lists.own["nd"]].text == "ND 1.0"
    assert lists.balance[lists.own["balance"]].text == "4400 K"
    for choices, place in ((lists.stop, "stop"), (lists.iso, "iso"), (lists.nd, "nd")):
        assert choices[lists.own[place]].stops == 0.0
        assert [one.stops for one in choices] == sorted(one.stops for one in choices)
    # pencil: stops of light go with the square of the number; f/5.6 against f/2.7
    told = {one.text: one.stops for one in lists.stop}
    assert told["f/5.6"] == pytest.approx(2.0 * np.log2(5.6 / 2.7))
    assert lists.key_lux == pytest.approx(float(key_illuminance_lux(settings)))
    assert lists.grey_nit == pytest.approx(float(mid_grey_luminance_nit(settings)))
    table, first = tone_table(settings.highlight_stops, settings.shadow_stops)
    assert (np.frombuffer(base64.b64decode(lists.tone), "<f4") == table).all()
    assert lists.first == first


def test_a_marked_stop_is_not_listed_twice() -> None:
    document = parse_document(TEXT, "x.scene.yaml", known=known_names())
    settings = CameraSettings(2.8, 800.0, 1 / 48)
    lists = pocket_exposure(document.setups["ROOM"], settings)
    assert [one.text for one in lists.stop].count("T2.8") == 1
    assert lists.balance[lists.own["balance"]].text == "D65, as the plan has none"


def test_units_are_told_as_one_sets_them_up() -> None:
    shipped = resources.files("falloff.session").joinpath("data/workshop.scene.yaml")
    with resources.as_file(shipped) as path:
        document = open_scene(path, ("WIDE SHOT",)).arrangements[0].document
    book, head, globe = pocket_units(document)
    # source: the scene file, which places BOOK at 2.1 m, 7:40, 1.85 m
    assert book.place == "2.10 m from MAKER, 7:40, 1.85 m up"
    assert book.aim.startswith("aimed at MAKER's face; ")
    assert book.aim.endswith(" down")
    assert (book.number, book.watts, book.circuit) == (1, 600.0, "BENCH")
    assert head.aim.startswith("aimed at a point ")
    assert (globe.section, globe.aim, globe.watts) == ("practical", "shines all round", 6.0)


def test_units_without_anybody_are_placed_by_x_and_y() -> None:
    document = parse_document(TEXT, "x.scene.yaml", known=known_names())
    (globe,) = pocket_units(document)
    assert globe.place == "x 2.00 m, y 1.50 m, 1.80 m up"
    assert globe.watts is None


def test_what_was_not_metered_by_us_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "two.metered.json"
    with pytest.raises(DocumentError, match="cannot be read as what was metered"):
        read_metered(path)
    path.write_text('{"falloff_metered": 2}', encoding="utf-8")
    with pytest.raises(DocumentError, match="version 1"):
        read_metered(path)


def test_no_part_of_the_page_hides_a_name_of_another() -> None:
    # All scripts are put into one scope.
    named = re.compile(r"^(?:export )?(?:async )?(?:function|class|const|let) (\w+)", re.MULTILINE)
    folder = resources.files("falloff.session").joinpath("data/pocket")
    names = [
        name
        for script in SCRIPTS
        for name in named.findall(folder.joinpath(script).read_text("utf-8"))
    ]
    assert sorted(names) == sorted(set(names))
