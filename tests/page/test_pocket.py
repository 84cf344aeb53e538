"""The pocket copy as a hand on set finds it: a real Chromium, the size of a phone, from disk."""

from __future__ import annotations

import base64
import json
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from importlib import resources
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
import pytest
from playwright.sync_api import Browser, Page, ViewportSize

from falloff.camera import CameraSettings, Srgb8, develop, expose
from falloff.layers import LightLayers, cached_layers
from falloff.readings import Readings, SetupLight, take_readings
from falloff.session.picture import sizes_of
from falloff.session.pocket import Pocket, run_pocket
from falloff.session.pocket_metered import MeteredFile, read_metered
from falloff.session.scene import open_scene, setup_light
from falloff.transport import Budget

FEW = Budget(
    view_rays=1,
    gather_rays=2,
    shadow_rays=1,
    row_rays=16,
    reading_replicates=2,
    reading_gather_rays=64,
)
PHONE: ViewportSize = {"width": 390, "height": 844}
TOUCH_PX = 44
NBSP = "\u00a0"


@dataclass(frozen=True, slots=True)
class Copy:
    """A copy of the shipped workshop, and what it was made from."""

    pocket: Pocket
    layers: LightLayers
    setups: dict[str, SetupLight]

    def picture(
        self, setup: str, dims: dict[str, float], settings: CameraSettings | None = None
    ) -> Srgb8:
        """The picture as Python develops it, with these dims besides the plan's."""
        one = self.setups[setup]
        frame = expose(
            self.layers.pictures(one.camera), {**one.dims, **dims}, settings or one.settings
        )
        return develop(frame.picture, frame.settings)

    def readings(self, setup: str, dims: dict[str, float]) -> Readings:
        """The readings as Python takes them."""
        one = self.setups[setup]
        lit = SetupLight(one.name, one.camera, one.settings, {**one.dims, **dims}, one.key)
        return take_readings(self.layers, lit)


@pytest.fixture(scope="module")
def pocket_copy(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Copy]:
    """The workshop traced with few rays, written as a pocket copy."""
    folder = tmp_path_factory.mktemp("pocket")
    shipped = resources.files("falloff.session").joinpath("data/workshop.scene.yaml")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("falloff.session.pocket.POCKET_BUDGET", FEW)
        patch.setattr("falloff.layers.store._cache_folder", lambda: folder / "cache")
        with resources.as_file(shipped) as path:
            pocket = run_pocket(path, out=folder / "workshop.pocket.html")
            (standing,) = open_scene(path).arrangements
        layers, _ = cached_layers(
            standing.stage, FEW, sizes=sizes_of(standing, standing.setups, pocket.width_px)
        )
        setups = {name: setup_light(standing.document, name) for name in standing.setups}
        yield Copy(pocket, layers, setups)


@dataclass(slots=True)
class Phone:
    """A copy open in a browser of a phone's size, and what it asked for and complained of."""

    page: Page
    address: str
    requests: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)

    def open(self) -> None:
        self.page.goto(self.address)
        self.settle()

    def settle(self) -> None:
        """Two frames and the rest before things are kept."""
        self.page.wait_for_timeout(300)

    def tab(self, name: str) -> None:
        self.page.get_by_role("tab", name=name, exact=True).click()

    def third_down(self, light: str, times: int = 1) -> None:
        for _ in range(times):
            self.page.get_by_role("button", name=f"{light}: a third of a stop down").click()
        self.settle()

    def answer(self) -> str:
        return self.page.locator(".answer").inner_text().replace(NBSP, " ")

    def picture(self) -> Srgb8:
        """What the canvas shows."""
        width, height, text = self.page.evaluate(
            """() => {
              const canvas = document.querySelector("canvas");
              const { width, height } = canvas;
              const { data } = canvas.getContext("2d").getImageData(0, 0, width, height);
              let raw = "";
              for (let i = 0; i < data.length; i += 32768) {
                raw += String.fromCharCode(...data.subarray(i, i + 32768));
              }
              return [width, height, btoa(raw)];
            }"""
        )
        pixels = np.frombuffer(base64.b64decode(text), dtype=np.uint8)
        return pixels.reshape(height, width, 4)[..., :3]

    def alone(self, reading: str, light: str) -> float:
        """The stops that a light gives alone at a reading, as its table tells."""
        row = self.page.locator("details", has_text=reading).locator("tbody tr", has_text=light)
        return float(row.first.locator("td").last.inner_text().replace("−", "-"))

    def save(self, folder: Path) -> tuple[str, MeteredFile]:
        """What comes down, and its name."""
        self.tab("Metered")
        with self.page.expect_download() as waiting:
            self.page.get_by_role("button", name="Save what I metered").click()
        path = folder / "metered.json"
        waiting.value.save_as(path)
        return waiting.value.suggested_filename, read_metered(path)


OpenPhone = Callable[..., Phone]


@pytest.fixture
def phone(browser: Browser, pocket_copy: Copy) -> Iterator[OpenPhone]:
    """Open the copy on a new phone; script: run before the page's own."""
    contexts = []

    def opened(script: str = "", **how: Any) -> Phone:
        context = browser.new_context(viewport=PHONE, has_touch=True, accept_downloads=True, **how)
        contexts.append(context)
        if script:
            context.add_init_script(script)
        page = context.new_page()
        one = Phone(page, pocket_copy.pocket.file.as_uri())
        page.on("request", lambda asked: one.requests.append(asked.url))
        page.on("pageerror", lambda error: one.complaints.append(str(error)))
        page.on("console", lambda told: one.complaints.append(told.text))
        one.open()
        return one

    yield opened
    for context in contexts:
        context.close()


def check_alike(shown: Srgb8, wanted: Srgb8) -> None:
    """Within a code value, but for what half floats round: two on a thousandth of the samples."""
    off = np.abs(shown.astype(np.int16) - wanted.astype(np.int16))
    assert shown.shape == wanted.shape
    assert off.max() <= 2
    assert (off > 1).mean() < 1e-3
    assert (off == 0).mean() > 0.95


def test_the_picture_is_pythons(phone: OpenPhone, pocket_copy: Copy) -> None:
    one = phone()
    check_alike(one.picture(), pocket_copy.picture("WIDE SHOT", {}))
    one.page.get_by_label("Setup").select_option("CLOSE-UP")
    one.settle()
    check_alike(one.picture(), pocket_copy.picture("CLOSE-UP", {}))


def test_dims_move_the_picture_as_python_would(phone: OpenPhone, pocket_copy: Copy) -> None:
    one = phone()
    before = one.picture()
    one.third_down("BOOK", 3)
    one.page.get_by_role("button", name="WALL HEAD: On").click()
    one.page.get_by_role("slider", name="GLOBE, dim in per cent").fill("40")
    one.settle()
    # pencil: three thirds of a stop are half of the light
    dims = {"BOOK": 0.5, "WALL HEAD": 0.0, "GLOBE": 0.4}
    after = one.picture()
    assert (after != before).mean() > 0.5
    check_alike(after, pocket_copy.picture("WIDE SHOT", dims))
    one.page.get_by_role("button", name="BACK WINDOW: In").click()
    one.settle()
    check_alike(one.picture(), pocket_copy.picture("WIDE SHOT", dims | {"BACK WINDOW": 0.0}))


def test_the_camera_moves_it_too(phone: OpenPhone, pocket_copy: Copy) -> None:
    one = phone()
    one.tab("Camera")
    one.page.get_by_label("Stop", exact=True).select_option("T2.8")
    one.page.get_by_label("ISO", exact=True).select_option("800")
    one.page.get_by_label("ND", exact=True).select_option("ND 0.9")
    one.page.get_by_label("White balance", exact=True).select_option("3200 K")
    one.settle()
    plan = pocket_copy.setups["WIDE SHOT"].settings
    settings = msgspec.structs.replace(
        plan, t_number=2.8, iso=800.0, nd_stops=0.9 / math.log10(2.0), balance_kelvin=3200.0
    )
    check_alike(one.picture(), pocket_copy.picture("WIDE SHOT", {}, settings))
    assert "4 changes" in one.page.locator(".changes").inner_text()


def test_the_key_down_a_stop_is_a_stop_less_of_its_own(phone: OpenPhone) -> None:
    one = phone()
    one.tab("Readings")
    before = one.alone("key cheek", "BOOK")
    other = one.alone("key cheek", "GLOBE")
    one.tab("Lights")
    one.third_down("BOOK", 3)
    row = one.page.locator(".light", has_text="BOOK")
    assert "50 %" in row.inner_text()
    assert "−1.0 stops" in row.inner_text()
    one.tab("Readings")
    assert one.alone("key cheek", "BOOK") - before == pytest.approx(-1.0, abs=0.051)
    assert one.alone("key cheek", "GLOBE") == other


def level(stops: float | None, reference: str) -> str:
    """A level in thirds as the copy says it."""
    assert stops is not None
    thirds = math.floor(abs(stops) * 3.0 + 0.5)
    if thirds == 0:
        return f"at {reference}"
    whole, rest = divmod(thirds, 3)
    size = " ".join(part for part in (str(whole or ""), ("", "1/3", "2/3")[rest]) if part)
    return f"{size} {'over' if stops > 0.0 else 'under'}"


def test_the_answer_stays_true(phone: OpenPhone, pocket_copy: Copy) -> None:
    one = phone()
    for times, dims in ((0, {}), (3, {"BOOK": 0.5}), (3, {"BOOK": 0.25})):
        one.third_down("BOOK", times)
        taken = {r.name: r for r in pocket_copy.readings("WIDE SHOT", dims).readings}
        key = level(taken["key cheek"].stops_over_key, "key")
        shadow = level(taken["shadow cheek"].stops_over_key, "key")
        said = one.answer()
        assert said.startswith(f"Key cheek {key}")
        assert f"shadow cheek {shadow}" in said
    # All others are in the table, in the same words.
    one.tab("Readings")
    for reading in taken.values():
        row = one.page.locator("summary", has_text=reading.name).first.inner_text()
        stops = reading.stops_over_grey if reading.unit == "cd/m²" else reading.stops_over_key
        reference = "grey" if reading.unit == "cd/m²" else "key"
        assert level(stops, reference) in row.replace(NBSP, " ")


def test_there_is_a_way_back_to_the_plan(phone: OpenPhone) -> None:
    one = phone()
    planned, said = one.picture(), one.answer()
    bar = one.page.locator(".changes")
    assert "As planned" in bar.inner_text()
    one.third_down("BOOK", 2)
    one.tab("Camera")
    one.page.get_by_label("ISO: the one after").click()
    one.settle()
    assert "2 changes" in bar.inner_text()
    moved = one.picture()
    one.page.get_by_role("button", name="See plan").click()
    one.settle()
    assert (one.picture() == planned).all()
    assert one.page.locator(".badge").is_visible()
    one.page.get_by_role("button", name="See now").click()
    one.settle()
    assert (one.picture() == moved).all()
    one.page.get_by_role("button", name="Back to the plan").click()
    one.settle()
    assert (one.picture() == planned).all()
    assert one.answer() == said
    assert "As planned" in bar.inner_text()


def test_what_was_metered_comes_down_as_a_file(
    phone: OpenPhone, pocket_copy: Copy, tmp_path: Path
) -> None:
    one = phone(timezone_id="Europe/Athens")
    one.third_down("BOOK", 3)
    one.page.get_by_role("button", name="WALL HEAD: On").click()
    one.tab("Metered")
    save = one.page.get_by_role("button", name="Save what I metered")
    assert save.is_disabled()
    one.page.get_by_label("key cheek").fill("431,5")
    one.page.get_by_label("the window").first.fill("2000")
    one.page.get_by_label("forehead").fill("bright")
    one.settle()
    assert "no number" in one.page.locator(".metered", has_text="forehead").inner_text()
    name, saved = one.save(tmp_path)
    assert name == "workshop.metered.json"
    assert saved.scene.title == pocket_copy.layers.solution.stage.title == "Workshop"
    assert saved.scene.file == "workshop.scene.yaml"
    assert len(saved.scene.checksum) == 64
    key, window = saved.readings
    assert (key.setup, key.name, key.instrument, key.unit) == (
        "WIDE SHOT", "key cheek", "flat", "lx",
    )  # fmt: skip
    assert key.value == 431.5
    assert (window.instrument, window.unit, window.value) == ("spot", "cd/m²", 2000.0)
    assert key.dims == {"BOOK": pytest.approx(0.5), "WALL HEAD": 0.0, "GLOBE": 1.0}
    assert key.lit == ("WINDOW", "BACK WINDOW", "BOOK", "GLOBE")
    assert (key.settings.stop, key.settings.iso, key.settings.balance) == ("T4", "400", "5000 K")
    assert key.time[-6:] in {"+02:00", "+03:00"}
    planned = pocket_copy.readings("WIDE SHOT", {}).readings[0].value
    now = pocket_copy.readings("WIDE SHOT", {"BOOK": 0.5, "WALL HEAD": 0.0}).readings[0].value
    assert key.planned_value == pytest.approx(planned, rel=1e-4)
    assert key.computed_value == pytest.approx(now, rel=1e-4)


def test_a_reload_loses_nothing(phone: OpenPhone, tmp_path: Path) -> None:
    one = phone()
    one.third_down("GLOBE", 3)
    one.tab("Metered")
    one.page.get_by_label("shadow cheek").fill("88")
    one.page.get_by_label("Setup").select_option("CLOSE-UP")
    one.settle()
    one.page.get_by_label("shadow cheek").fill("91")
    one.settle()
    one.open()
    assert one.page.get_by_label("Setup").input_value() == "CLOSE-UP"
    one.tab("Metered")
    assert one.page.get_by_label("shadow cheek").input_value() == "91"
    one.page.get_by_label("Setup").select_option("WIDE SHOT")
    one.settle()
    assert one.page.get_by_label("shadow cheek").input_value() == "88"
    assert "1 change" in one.page.locator(".changes").inner_text()
    _, saved = one.save(tmp_path)
    assert [(r.setup, r.value) for r in saved.readings] == [("WIDE SHOT", 88.0), ("CLOSE-UP", 91.0)]
    one.page.get_by_role("button", name="Clear").click()
    one.page.get_by_role("dialog").get_by_role("button", name="Clear").click()
    one.settle()
    assert one.page.get_by_label("shadow cheek").input_value() == ""
    one.open()
    one.tab("Metered")
    assert one.page.get_by_label("shadow cheek").input_value() == ""


REFUSES = """
Object.defineProperty(window, "localStorage", { get() { throw new Error("refused"); } });
"""
SPOILT = """
Storage.prototype.getItem = () => '{"setup": 7, "set": {"WIDE SHOT": {"knobs": 3}}, "metered": 0}';
"""


def test_a_browser_that_keeps_nothing_is_told_of(phone: OpenPhone, tmp_path: Path) -> None:
    one = phone(REFUSES)
    one.tab("Metered")
    one.page.get_by_label("key cheek").fill("400")
    one.settle()
    assert "keeps nothing" in one.page.locator(".held").inner_text()
    _, saved = one.save(tmp_path)
    assert saved.readings[0].value == 400.0
    assert one.complaints == []


def test_what_was_kept_badly_is_not_taken(phone: OpenPhone) -> None:
    one = phone(SPOILT)
    assert one.answer().startswith("Key cheek")
    one.tab("Metered")
    one.page.get_by_label("key cheek").fill("400")
    one.settle()
    assert one.complaints == []


def test_nothing_is_fetched_and_nothing_complains(phone: OpenPhone) -> None:
    one = phone()
    for name in ("Camera", "Readings", "Metered", "Units", "Lights"):
        one.tab(name)
    one.third_down("BOOK")
    one.page.get_by_label("Setup").select_option("CLOSE-UP")
    one.settle()
    assert one.requests == [one.address]
    assert one.complaints == []


@pytest.mark.parametrize(("width", "height"), [(390, 844), (360, 740), (844, 390), (1280, 800)])
def test_a_thumb_finds_everything(phone: OpenPhone, width: int, height: int) -> None:
    one = phone()
    one.page.set_viewport_size({"width": width, "height": height})
    one.settle()
    for name in ("Lights", "Camera", "Readings", "Metered", "Units"):
        one.tab(name)
        small = one.page.evaluate(
            """(least) => [...document.querySelectorAll("button, select, input, summary")]
              .map((one) => [one.outerHTML.slice(0, 80), one.getBoundingClientRect()])
              .filter(([, box]) => box.width > 0 && (box.width < least || box.height < least))
              .map(([text]) => text)""",
            TOUCH_PX,
        )
        assert small == []
        wide = one.page.evaluate(
            """() => [...document.querySelectorAll("body *")]
              .filter((one) => one.getBoundingClientRect().right > innerWidth + 0.5)
              .map((one) => one.outerHTML.slice(0, 80))"""
        )
        assert wide == []
    two_lines = "(one) => one.scrollHeight <= one.clientHeight"
    assert one.page.locator(".answer").evaluate(two_lines)
    assert one.page.locator("canvas").bounding_box() is not None


def test_controls_lie_below_and_the_picture_above(phone: OpenPhone) -> None:
    one = phone()
    picture = one.page.locator("canvas").bounding_box()
    first = one.page.get_by_role("slider").first.bounding_box()
    tabs = one.page.get_by_role("tablist").bounding_box()
    assert picture
    assert first
    assert tabs
    assert picture["y"] + picture["height"] < 0.4 * PHONE["height"]
    assert first["y"] > 0.4 * PHONE["height"]
    assert tabs["y"] + tabs["height"] == pytest.approx(PHONE["height"], abs=1.0)


def test_dims_do_not_make_anything_jump(phone: OpenPhone) -> None:
    one = phone()
    places = """() => [...document.querySelectorAll(".below button, .below input, .answer")]
      .map((one) => { const { x, y } = one.getBoundingClientRect(); return [x, y]; })"""
    before = one.page.evaluate(places)
    one.third_down("BOOK", 4)
    one.page.get_by_role("button", name="WALL HEAD: On").click()
    one.settle()
    assert one.page.evaluate(places) == before


def test_day_and_night(phone: OpenPhone) -> None:
    ground = "() => getComputedStyle(document.body).backgroundColor"
    day = phone(color_scheme="light").page.evaluate(ground)
    night = phone(color_scheme="dark").page.evaluate(ground)
    assert sum(json.loads(day.replace("rgb(", "[").replace(")", "]"))) > 600
    assert sum(json.loads(night.replace("rgb(", "[").replace(")", "]"))) < 150


def test_it_is_drawn_while_a_finger_moves(phone: OpenPhone) -> None:
    one = phone()
    spent_ms = one.page.evaluate(
        """async () => {
          const slider = document.querySelector("input[type=range]");
          const frame = () => new Promise((next) => requestAnimationFrame(next));
          const began = performance.now();
          for (let n = 0; n < 20; n += 1) {
            slider.value = String(90 - 3 * n);
            slider.dispatchEvent(new Event("input"));
            await frame();
          }
          return (performance.now() - began) / 20;
        }"""
    )
    print(f"a frame while a dim moves: {spent_ms:.1f} ms")
    assert "33 %" in one.page.locator(".light").first.inner_text()
