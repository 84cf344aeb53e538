"""Hours in a pocket copy: which are chosen, what is written of each, and what has no room."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import msgspec
import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.clock import clock_words
from falloff.day import through_day
from falloff.document import SceneDocument, arranged, instant_of, parse_document
from falloff.errors import DaylightError, DocumentError
from falloff.layers import LightLayers, cached_layers, keep_hours
from falloff.session.picture import sizes_of
from falloff.session.pocket import run_pocket
from falloff.session.pocket_day import HourMaker
from falloff.session.pocket_fit import fitting, hours_key
from falloff.session.pocket_hours import PocketMoment, has_hours, moments_to_hold
from falloff.session.pocket_metered import MeteredReading
from falloff.session.scene import known_names, open_scene, setup_light

from .test_pocket import FEW, parts_of
from .test_scene import TEXT as NO_HOUR

LONDON = ZoneInfo("Europe/London")
TEXT = """\
falloff: 2
title: A room by the hour
units: metric
room:
  floor: [[0 m, 0 m], [5 m, 0 m], [5 m, 4 m], [0 m, 4 m]]
  height: 2.7 m
  floor_surface: planks
  ceiling_surface: white paint
  wall_surface: plaster
openings:
  WINDOW: {wall: 1, along: 1.6 m, width: 1.6 m, sill: 0.9 m, height: 1.3 m, glass: 0.85}
  SIDE: {wall: 4, along: 1.4 m, width: 1.0 m, sill: 1.0 m, height: 1.2 m, glass: 0.85}
location: {latitude: 51.5 N, longitude: 0.13 W, zone: Europe/London, height: 20 m}
sky: {type: clear, at: 2026-06-21 13:40, north: 90 deg}
fixtures:
  PANEL: {light: panel, size: [60 cm, 60 cm], output: 3000 lm, colour: 5600 K,
          at: [4.2 m, 3.2 m, 1.9 m], aim: [2.5 m, 2.0 m, 1.1 m]}
cameras:
  WIDE: {at: [4.4 m, 3.6 m, 1.5 m], aim: [2.2 m, 1.0 m, 1.1 m], lens: 24 mm, aspect: 16:9}
setups:
  DAY: {camera: WIDE, stop: T8, iso: 400, shutter: 180 deg}
  LATE: {like: DAY, at: "16:30"}
  LOW: {like: DAY, dims: {PANEL: 50 %}}
readings:
  mark: {at: [2.5 m, 2.2 m, 1.4 m], normal: [0, -1, 0]}
  wall: {at: {wall: 3, along: 2 m, height: 1.2 m}, instrument: spot}
targets:
  mark at key: {reading: mark, level: 0 stops}
"""


@pytest.fixture(autouse=True)
def _few_rays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("falloff.session.pocket.POCKET_BUDGET", FEW)
    monkeypatch.setattr("falloff.session.pocket_fit.WIDTH_PX", 160)
    monkeypatch.setattr("falloff.session.pocket_fit._LEAST_WIDTH_PX", 96)
    monkeypatch.setattr("falloff.layers.store._cache_folder", lambda: tmp_path / "cache")


def written(folder: Path, text: str = TEXT) -> Path:
    path = folder / "hours.scene.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def document_of(text: str = TEXT, setup: str = "DAY") -> SceneDocument:
    return arranged(parse_document(text, "hours.scene.yaml", known=known_names()), setup)


def clocks(document: SceneDocument, *asked: str) -> list[str]:
    return [one.clock for one in moments_to_hold(document, asked)]


def test_a_few_hours_are_chosen_while_there_is_light() -> None:
    # pencil: that day the sun is up 4:43 to 21:21, highest 13:02, and 6° down at 22:09
    assert clocks(document_of()) == ["21:45", "09:00", "18:30"]
    # An hour near the setup's own is not told twice.
    assert clocks(document_of(setup="LATE")) == ["21:45", "09:00", "18:30"]
    assert clocks(document_of(TEXT.replace("16:30", "18:20"), "LATE")) == ["21:45", "09:00"]
    winter = TEXT.replace("2026-06-21", "2026-12-21")
    # pencil: 8:04 to 15:53, highest at noon
    assert clocks(document_of(winter)) == ["16:15", "10:00", "14:30"]


def test_where_the_sun_stays_up_or_down() -> None:
    arctic = (
        TEXT.replace("51.5 N", "70 N")
        .replace("0.13 W", "20 E")
        .replace("Europe/London", "Europe/Oslo")
    )
    assert len(clocks(document_of(arctic))) == 2
    assert clocks(document_of(arctic.replace("2026-06-21", "2026-12-21"))) == []


def test_hours_are_asked_for_by_clock_and_by_word() -> None:
    found = moments_to_hold(document_of(), ("20:45", "9:00", "sunset", "dusk", "13:40", "9:00"))
    assert [(one.clock, one.word) for one in found] == [
        ("20:45", ""), ("09:00", ""), ("21:21", "sunset"), ("22:09", "dusk"),
    ]  # fmt: skip
    assert found[0].instant == datetime(2026, 6, 21, 20, 45, tzinfo=LONDON)


@pytest.mark.parametrize("text", ["9", "25:00", "2026-06-22 09:00", "tea time", "9:00+02:00", ""])
def test_what_is_no_hour_is_refused(tmp_path: Path, text: str) -> None:
    with pytest.raises(DaylightError):
        fitting(open_scene(written(tmp_path)), (text,))


def test_an_hour_that_the_day_does_not_have_is_refused() -> None:
    arctic = document_of(TEXT.replace("51.5 N", "70 N"))
    with pytest.raises(DaylightError, match="there is no sunset on 2026-06-21"):
        moments_to_hold(arctic, ("sunset",))


def test_a_scene_without_an_hour_has_none_to_ask_for(tmp_path: Path) -> None:
    path = written(tmp_path, NO_HOUR)
    assert not has_hours(open_scene(path).document)
    with pytest.raises(DocumentError, match="changes with the hour"):
        run_pocket(path, out=tmp_path / "a.html", hours=("09:00",))
    result = run_pocket(path, out=tmp_path / "a.html", setups=("ROOM",))
    said, _ = parts_of(result.file.read_text(encoding="utf-8"))
    assert "day" not in said["setups"][0]
    assert result.hours == result.hours_left_out == {}


@pytest.fixture
def copy(tmp_path: Path) -> tuple[dict[str, Any], list[np.ndarray], LightLayers, SceneDocument]:
    """A copy of two hours besides its own, and the layers of DAY."""
    path = written(tmp_path)
    result = run_pocket(path, out=tmp_path / "hours.html", hours=("20:45", "09:00"))
    assert result.hours == {
        "DAY": ("09:00", "13:40", "20:45"),
        "LATE": ("09:00", "16:30", "20:45"),
        "LOW": ("09:00", "13:40", "20:45"),
    }
    said, kept = parts_of(result.file.read_text(encoding="utf-8"))
    standing = open_scene(path).arrangement_of("DAY")
    layers, was_kept = cached_layers(
        standing.stage, FEW, sizes=sizes_of(standing, standing.setups, result.width_px)
    )
    assert was_kept
    return said, kept, layers, standing.document


Copied = tuple[dict[str, Any], list[np.ndarray], LightLayers, SceneDocument]


def test_an_hour_is_one_layer_that_alike_setups_share(copy: Copied) -> None:
    said, kept, layers, document = copy
    day, late, low = said["setups"]
    lights = [[one["light"] for one in setup["day"]["hours"]] for setup in (day, late, low)]
    assert lights[0] == lights[1] == lights[2]
    # pencil: two arrangements of two windows, sun and panel, and two hours
    assert len(kept) == 2 * 4 + 2
    assert [setup["day"]["own"] for setup in said["setups"]] == [1, 1, 1]
    assert lights[0][1] is None
    maker = HourMaker.of(layers, document)
    for hour in (day["day"]["hours"][0], day["day"]["hours"][2]):
        instant = datetime.fromisoformat(hour["instant"])
        wanted = maker.picture("WIDE", (day["width"], day["height"]), instant)
        found = kept[hour["light"]] * hour["scale"]
        assert_allclose(
            found.reshape(wanted.shape), wanted, rtol=2.0**-11, atol=hour["scale"] * 2.0**-25
        )


def test_the_plans_own_hour_comes_out_as_it_was_traced(copy: Copied) -> None:
    _, _, layers, document = copy
    own = instant_of(document)
    assert own is not None
    maker = HourMaker.of(layers, document)
    view = layers.views["WIDE"]
    size = view.direct.shape[2], view.direct.shape[1]
    made = maker.picture("WIDE", size, own).astype(np.float64)
    by_day = [s for s, name in enumerate(layers.names) if name != "PANEL"]
    traced = np.sum([layers.pictures("WIDE")[layers.names[s]] for s in by_day], axis=0)
    # Cells outside are half a degree wide: a pixel on an edge may look past it, the whole does not.
    assert made.mean() == pytest.approx(traced.mean(), rel=0.02)


def test_readings_of_an_hour_are_those_of_the_day(copy: Copied) -> None:
    said, _, layers, document = copy
    setup = said["setups"][0]
    told = through_day(keep_hours(layers), document, setup_light(document, "DAY"))
    (panel,) = (one for one in setup["sources"] if one["name"] == "PANEL")
    where = [one["name"] for one in setup["sources"]].index("PANEL")
    weights = np.array(said["luminance"])
    moments = {one.instant: one for one in told.moments}
    for hour in (setup["day"]["hours"][0], setup["day"]["hours"][2]):
        moment = moments[datetime.fromisoformat(hour["instant"])]
        for k, reading in enumerate(setup["readings"]):
            white = np.array(reading["direct"][where]) + np.array(reading["bounced"][where])
            lamp = float((white * np.array(panel["at_plan"])) @ weights)
            value, low, high = np.sum(hour["readings"][k], axis=0) + lamp
            level = moment.levels[reading["name"]]
            # A day has a quarter of the sunrays: within 0.003 stop.
            assert value == pytest.approx(level.value, rel=2e-3)
            assert low == pytest.approx(level.low, rel=2e-3)
            assert high == pytest.approx(level.high, rel=2e-3)
            assert low < value < high
    assert setup["day"]["sources"] == ["WINDOW", "SIDE", "sun"]
    (target,) = setup["day"]["targets"]
    (wanted,) = told.targets
    assert target["asks"] == wanted.asks
    assert [one[:2] for one in target["holds"]] == [
        [clock_words(one.start), clock_words(one.end)] for one in wanted.holds
    ]
    (stays,) = told.countdowns
    own = setup["day"]["hours"][setup["day"]["own"]]["stays"]
    assert own["reading"] == stays.reading == "mark"
    assert own["minutes"] == (
        None if stays.minutes is None else pytest.approx(stays.minutes, abs=0.06)
    )


@pytest.mark.parametrize(
    ("key", "first"), [("", "mark"), (", key: mark", "mark"), (", key: wall", "wall")]
)
def test_how_long_it_stays_is_told_of_the_reading_that_is_told_first(
    tmp_path: Path, key: str, first: str
) -> None:
    """A spot comes first in the file, and is told first where it is the setup's key alone."""
    mark, wall = (line for line in TEXT.splitlines() if line.startswith(("  mark: ", "  wall: ")))
    text = TEXT.replace(f"{mark}\n{wall}", f"{wall}\n{mark}").replace(
        "DAY: {camera: WIDE", f"DAY: {{camera: WIDE{key}"
    )
    made = run_pocket(written(tmp_path, text), setups=("DAY",), out=tmp_path / "h.html")
    (setup,) = parts_of(made.file.read_text(encoding="utf-8"))[0]["setups"]
    assert [one["name"] for one in setup["readings"]] == ["wall", "mark"]
    assert setup["readings"][setup["first"]]["name"] == first
    told = [one["stays"]["reading"] for one in setup["day"]["hours"] if one["stays"] is not None]
    assert set(told) == {first}


def test_a_clock_is_told_to_the_nearest_minute() -> None:
    """Pencil: as the day in the terminal tells it."""
    late = datetime(2026, 6, 21, 4, 43, 31, tzinfo=LONDON)
    assert PocketMoment(late, "sunrise").clock == clock_words(late) == "04:44"


def test_hours_are_left_out_before_setups(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("falloff.session.pocket_fit.WIDTH_PX", 480)
    monkeypatch.setattr("falloff.session.pocket_fit._LEAST_WIDTH_PX", 240)
    scene = open_scene(written(tmp_path))
    asked = ("20:45", "09:00", "sunset")
    whole = fitting(scene, asked)
    # pencil: 2 · 4 and 3 layers of 480 · 270 · 8 bytes are 11.4 MB
    assert (whole.setups, whole.width_px) == (("DAY", "LATE", "LOW"), 480)
    # pencil: at 240 · 135 · 8 = 259 kB a layer, 8 layers and 0.5 MB besides are 2.6 MB
    monkeypatch.setattr("falloff.session.pocket_fit.MOST_BYTES", 2_950_000)
    fewer = fitting(scene, asked)
    assert fewer.setups == whole.setups
    assert [one.clock for one in fewer.hours["DAY"]] == ["20:45"]
    assert [one.clock for one in fewer.hours_left_out["LATE"]] == ["09:00", "21:21"]
    monkeypatch.setattr("falloff.session.pocket_fit.MOST_BYTES", 2_000_000)
    assert fitting(scene, asked).setups == ("DAY",)


def test_a_copy_tells_which_hours_it_leaves_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("falloff.session.pocket_fit.MOST_BYTES", 800_000)
    result = run_pocket(
        written(tmp_path), out=tmp_path / "h.html", setups=("DAY",), hours=("noon", *ALL_DAY)
    )
    assert result.size_bytes <= 800_000
    out = result.hours_left_out["DAY"]
    assert 0 < len(out) < 12
    assert len(out) + len(result.hours["DAY"]) == 14
    said, _ = parts_of(result.file.read_text(encoding="utf-8"))
    assert said["setups"][0]["day"]["left_out"] == list(out)


ALL_DAY = tuple(f"{hour:02}:00" for hour in range(7, 19))


def test_a_meters_reading_is_of_its_own_hour() -> None:
    read = TEXT.replace("north: 90 deg}", "north: 90 deg, outside: 9000 lx}")
    for text, shared in ((TEXT, True), (read, False)):
        document = parse_document(text, "hours.scene.yaml", known=known_names())
        assert (hours_key(document, "DAY") == hours_key(document, "LATE")) is shared
        assert hours_key(document, "DAY") == hours_key(document, "LOW")


def test_a_metered_entry_may_tell_its_hour() -> None:
    fields = {
        "setup": "DAY", "name": "mark", "instrument": "flat", "unit": "lx", "value": 1.0,
        "planned_value": 1.0, "computed_value": 1.0, "time": "", "dims": {}, "lit": [],
        "settings": dict.fromkeys(("stop", "iso", "nd", "balance", "shutter"), ""),
    }  # fmt: skip
    assert msgspec.convert(fields, MeteredReading).hour is None
    at = {"hour": "2026-06-21T20:45+01:00"}
    assert msgspec.convert(fields | at, MeteredReading).hour == at["hour"]
