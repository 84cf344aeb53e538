"""Hours of the day in the pocket copy, on a phone: pictures, readings and words of each."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import axe_core_python
import numpy as np
import pytest
from playwright.sync_api import Browser, Page
from tests.page.test_pocket import FEW, NBSP, PHONE, TOUCH_PX, Phone
from tests.unit.session.test_pocket_hours import TEXT

from falloff.camera import Srgb8, develop, expose
from falloff.constants import LUMINANCE_WEIGHTS
from falloff.document import SceneDocument
from falloff.layers import LightLayers, cached_layers
from falloff.session.picture import sizes_of
from falloff.session.pocket import Pocket, run_pocket
from falloff.session.pocket_day import HourMaker
from falloff.session.scene import open_scene, setup_light
from falloff.types import Float32Array

AXE = next(Path(axe_core_python.__file__).parent.rglob("axe*.js"))


@dataclass(frozen=True, slots=True)
class DayCopy:
    """A copy with two hours besides each setup's own, and what makes any hour anew."""

    pocket: Pocket
    layers: LightLayers
    document: SceneDocument
    maker: HourMaker

    def picture(self, clock: str, *, panel: float = 1.0, day: float = 1.0) -> Srgb8:
        """The picture of DAY as Python mixes and develops it, with a dim of the panel."""
        setup = setup_light(self.document, "DAY")
        light: dict[str, Float32Array] = {
            "PANEL": self.layers.pictures("WIDE")["PANEL"],
            "daylight": self.maker.picture("WIDE", self.size, instant(clock)),
        }
        frame = expose(light, {"PANEL": panel, "daylight": day}, setup.settings)
        return develop(frame.picture, frame.settings)

    def value(self, clock: str, reading: str, *, panel: float = 1.0) -> float:
        """What a reading of DAY comes to."""
        names = [probe.name for probe in self.layers.probes.probes]
        k, s = names.index(reading), self.layers.names.index("PANEL")
        by = self.layers.colours[s] * np.array(LUMINANCE_WEIGHTS)
        probes = self.layers.probes
        lamp = (probes.direct[s, k] + probes.bounced[s, k]).mean(-1) @ by
        day = sum(one[k, 0] for one in self.maker.readings(instant(clock)).values())
        return float(panel * lamp + day)

    @property
    def size(self) -> tuple[int, int]:
        """Of the pictures."""
        height, width = self.layers.views["WIDE"].direct.shape[1:3]
        return width, height


def instant(clock: str) -> datetime:
    return datetime.fromisoformat(f"2026-06-21T{clock}+01:00")


@pytest.fixture(scope="module")
def day_copy(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DayCopy]:
    """A room traced with few rays, written with three hours."""
    folder = tmp_path_factory.mktemp("hours")
    path = folder / "hours.scene.yaml"
    path.write_text(TEXT, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("falloff.session.pocket.POCKET_BUDGET", FEW)
        patch.setattr("falloff.layers.store._cache_folder", lambda: folder / "cache")
        pocket = run_pocket(path, out=folder / "hours.html", hours=("09:00", "20:45", "02:00"))
        standing = open_scene(path).arrangement_of("DAY")
        layers, _ = cached_layers(
            standing.stage, FEW, sizes=sizes_of(standing, standing.setups, pocket.width_px)
        )
        maker = HourMaker.of(layers, standing.document)
        yield DayCopy(pocket, layers, standing.document, maker)


OpenPhone = Callable[..., Phone]


@pytest.fixture
def phone(browser: Browser, day_copy: DayCopy) -> Iterator[OpenPhone]:
    """Open the copy on a new phone."""
    contexts = []

    def opened(**how: Any) -> Phone:
        context = browser.new_context(viewport=PHONE, has_touch=True, accept_downloads=True, **how)
        contexts.append(context)
        page = context.new_page()
        one = Phone(page, day_copy.pocket.file.as_uri())
        page.on("request", lambda asked: one.requests.append(asked.url))
        page.on("pageerror", lambda error: one.complaints.append(str(error)))
        page.on("console", lambda told: one.complaints.append(told.text))
        one.open()
        return one

    yield opened
    for context in contexts:
        context.close()


def choose(one: Phone, clock: str) -> None:
    one.page.get_by_role("radio", name=clock).check()
    one.settle()


def check_within_a_code(shown: Srgb8, wanted: Srgb8) -> None:
    """Within a code value, but for what half floats round on a thousandth of the samples."""
    off = np.abs(shown.astype(np.int16) - wanted.astype(np.int16))
    assert shown.shape == wanted.shape
    assert (off > 1).mean() < 1e-3
    assert off.max() <= 2


def levels_of(page: Page) -> dict[str, float]:
    """Every reading's value as its row tells it, SI."""
    rows = page.locator("details.reading summary").all()
    found = {}
    for row in rows:
        name = row.locator(".name").inner_text()
        found[name] = float(row.locator(".count .under").inner_text().split()[0])
    return found


def test_an_hour_is_what_python_mixes(phone: OpenPhone, day_copy: DayCopy) -> None:
    one = phone()
    planned = one.picture()
    for clock in ("09:00", "20:45", "02:00"):
        choose(one, clock)
        shown = one.picture()
        assert (shown != planned).mean() > 0.3
        check_within_a_code(shown, day_copy.picture(clock))
    one.page.get_by_role("slider", name="PANEL, dim in per cent").fill("50")
    choose(one, "20:45")
    check_within_a_code(one.picture(), day_copy.picture("20:45", panel=0.5))
    one.page.get_by_role("button", name="Daylight: In").click()
    one.settle()
    check_within_a_code(one.picture(), day_copy.picture("20:45", panel=0.5, day=0.0))


def test_hours_are_all_in_the_file(phone: OpenPhone) -> None:
    one = phone()
    for setup in ("DAY", "LATE", "LOW"):
        one.page.get_by_label("Setup").select_option(setup)
        one.settle()
        for radio in one.page.get_by_role("radio").all():
            radio.check()
            one.settle()
    one.tab("Day")
    assert one.requests == [one.address]
    assert one.complaints == []


def test_readings_follow_the_hour(phone: OpenPhone, day_copy: DayCopy) -> None:
    one = phone()
    one.tab("Readings")
    before = levels_of(one.page)
    for clock in ("09:00", "20:45"):
        choose(one, clock)
        told = levels_of(one.page)
        for name, value in told.items():
            wanted = day_copy.value(clock, name)
            # pencil: told to three figures, which is 0.007 stop at most
            assert math.log2(value / wanted) == pytest.approx(0.0, abs=0.02)
            assert value != before[name]
        row = one.page.locator("details.reading", has_text="mark").first
        parts = [cell.inner_text() for cell in row.locator("tbody th").all()]
        assert parts == ["WINDOW", "SIDE", "sun", "PANEL"]
    assert "this sky" in one.page.locator("summary", has_text="mark").first.inner_text()


def test_the_line_tells_sun_sky_spread_targets_and_how_long(phone: OpenPhone) -> None:
    one = phone()
    line = one.page.locator(".hour-line")
    # source: the sun of London on that day, test_sun.py
    assert line.inner_text().startswith("Sun 61° up, south; clear sky; mark ")
    choose(one, "20:45")
    said = line.inner_text().replace(NBSP, " ")
    assert said.startswith("Sun 4° up, north-west; clear sky; mark ")
    assert "stop" in said
    assert "Mark at key perhaps holds" in said
    choose(one, "02:00")
    assert " down; clear sky" in line.inner_text()
    one.tab("Day")
    panel = one.page.get_by_role("tabpanel")
    assert "21 June 2026, 02:00" in panel.inner_text()
    assert "mark at key, give or take a third" in panel.inner_text()
    rows = [row.inner_text() for row in panel.locator("tbody th").all()]
    assert rows == ["02:00", "09:00", "13:40", "20:45"]
    choose(one, "20:45")
    assert "Mark stays within half a stop for" in panel.inner_text()


def test_back_to_the_plan_is_back_to_its_hour(phone: OpenPhone) -> None:
    """Its picture is mixed anew, in another order: a sample may round the other way."""
    one = phone()
    planned, said = one.picture(), one.answer()
    bar = one.page.locator(".changes")
    assert one.page.get_by_role("radio", name="13:40").is_checked()
    one.page.get_by_role("button", name="SIDE: In").click()
    choose(one, "09:00")
    # What is left out at the plan's hour is not counted at another.
    assert "1 change" in bar.inner_text()
    assert one.answer() != said
    choose(one, "13:40")
    assert "1 change" in bar.inner_text()
    choose(one, "20:45")
    late = one.picture()
    one.page.get_by_role("button", name="See plan").click()
    one.settle()
    check_within_a_code(one.picture(), planned)
    one.page.get_by_role("button", name="See now").click()
    one.settle()
    check_within_a_code(one.picture(), late)
    one.page.get_by_role("button", name="Back to the plan").click()
    one.settle()
    assert one.page.get_by_role("radio", name="13:40").is_checked()
    check_within_a_code(one.picture(), planned)
    assert one.answer() == said
    assert "As planned" in bar.inner_text()


def test_lights_list_windows_and_sun_at_the_hour(phone: OpenPhone) -> None:
    one = phone()
    names = one.page.locator(".light:visible .name")
    assert names.all_inner_texts() == ["PANEL", "WINDOW", "SIDE", "sun"]
    choose(one, "09:00")
    assert names.all_inner_texts() == ["PANEL", "Daylight", "WINDOW", "SIDE", "sun"]
    window = one.page.locator(".light", has_text="WINDOW")
    assert "of mark at 09:00" in window.inner_text()
    assert window.get_by_role("button").count() == 0
    choose(one, "02:00")
    assert "nothing to mark at 02:00" in one.page.locator(".light", has_text="sun").inner_text()


def test_setups_and_reloads_keep_their_hours(phone: OpenPhone, tmp_path: Path) -> None:
    one = phone()
    choose(one, "20:45")
    one.page.get_by_label("Setup").select_option("LATE")
    one.settle()
    assert one.page.get_by_role("radio", name="16:30").is_checked()
    one.tab("Metered")
    one.page.get_by_label("mark").fill("100")
    choose(one, "09:00")
    one.page.get_by_label("wall").fill("50")
    one.settle()
    one.open()
    assert one.page.get_by_role("radio", name="09:00").is_checked()
    one.page.get_by_label("Setup").select_option("DAY")
    one.settle()
    assert one.page.get_by_role("radio", name="20:45").is_checked()
    _, saved = one.save(tmp_path)
    assert [r.hour for r in saved.readings] == [None, "2026-06-21T09:00+01:00"]
    assert saved.readings[1].lit == ("WINDOW", "SIDE", "sun", "PANEL")


def test_the_keyboard_goes_through_the_day(phone: OpenPhone) -> None:
    one = phone()
    one.page.get_by_role("radio", name="13:40").focus()
    one.page.keyboard.press("ArrowRight")
    one.settle()
    assert one.page.get_by_role("radio", name="20:45").is_checked()
    group = one.page.get_by_role("radiogroup", name="the day:")
    assert group.get_by_role("radio").count() == 4


@pytest.mark.parametrize(("width", "height"), [(390, 844), (360, 740), (844, 390), (1280, 800)])
def test_a_thumb_finds_every_hour(phone: OpenPhone, width: int, height: int) -> None:
    one = phone()
    one.page.set_viewport_size({"width": width, "height": height})
    choose(one, "20:45")
    for name in ("Lights", "Camera", "Readings", "Metered", "Units", "Day"):
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
    fits = "(one) => one.scrollHeight <= one.clientHeight"
    assert one.page.locator(".hour-line").evaluate(fits)
    panel = one.page.get_by_role("tabpanel").bounding_box()
    assert panel is not None
    assert panel["height"] > 100


def test_hours_do_not_make_anything_jump(phone: OpenPhone) -> None:
    one = phone()
    places = """() => [...document.querySelectorAll(".hour, .changes button, .tabs *, .answer")]
      .map((one) => { const { x, y } = one.getBoundingClientRect(); return [x, y]; })"""
    before = one.page.evaluate(places)
    for clock in ("02:00", "20:45"):
        choose(one, clock)
        assert one.page.evaluate(places) == before


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_bars_a_screen_reader(phone: OpenPhone, scheme: str) -> None:
    # axe has to be put into the page, which its policy bars to everybody but this context.
    one = phone(color_scheme=scheme, bypass_csp=True)
    choose(one, "20:45")
    for name in ("Lights", "Camera", "Readings", "Metered", "Units", "Day"):
        one.tab(name)
        one.page.evaluate(AXE.read_text(encoding="utf-8"))
        told = one.page.evaluate("axe.run(document, {resultTypes: ['violations']})")
        assert [
            (each["id"], [" ".join(map(str, node["target"])) for node in each["nodes"]])
            for each in told["violations"]
            if each["impact"] in {"serious", "critical"}
        ] == []


def test_the_file_is_no_larger_than_a_message_carries(day_copy: DayCopy) -> None:
    # pencil: 2 · 4 and 3 layers of 480 · 270 · 8 bytes are 11.4 MB
    assert day_copy.pocket.width_px == 480
    assert day_copy.pocket.size_bytes <= 15_000_000
    assert day_copy.pocket.file.stat().st_size == day_copy.pocket.size_bytes
