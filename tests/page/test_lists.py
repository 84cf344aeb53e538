"""The lists beside the picture in a real browser: dims, settings, readings, the beginning."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import axe_core_python
import pytest
from playwright.sync_api import Browser, Locator, Page, expect
from tests.page.conftest import TEST_ROOM, Open, Serve, Served, begin, until

READINGS = """
readings:
  face: {at: [2.5 m, 2.4 m, 1.2 m], normal: [0, -1, 0]}
  table: {at: {on: TABLE, offset: [10 cm, 0 cm]}}
  back wall: {at: {wall: 3, along: 1.5 m, height: 1.5 m}}

targets:
  face at key: {reading: face, level: 0 stops}
"""
AXE = next(Path(axe_core_python.__file__).parent.rglob("axe*.js"))
STEPS_TO_A_DIM = 80


@pytest.fixture(scope="module")
def metered(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """One server on the test room with readings; every test goes back to the first step."""
    folder = tmp_path_factory.mktemp("metered")
    path = folder / "metered.scene.yaml"
    path.write_text(TEST_ROOM.read_text(encoding="utf-8") + READINGS, encoding="utf-8")
    served = begin(path, folder)
    yield served
    served.stop()


@pytest.fixture
def page(metered: Served, open_page: Open) -> Iterator[Page]:
    """The page with light and levels, as the scene was opened; it complained about nothing."""
    opened, watcher = open_page(metered)
    if opened.evaluate("falloff.status.value.at") > 0:
        opened.evaluate("falloff.back(0)")
        label = "falloff.status.value.steps[falloff.status.value.at]"
        until(opened, f"() => {label}.startsWith('back to')")
    until(opened, "() => falloff.meter.of('TEST')?.readings.length === 3")
    until(opened, "() => document.querySelector('.in-readings td.col-level')?.textContent !== '…'")
    yield opened
    # Looking at the picture's numbers, as tests here do, is what a browser warns of.
    assert [one for one in watcher.complaints if "willReadFrequently" not in one] == []


def levels(page: Page) -> dict[str, float]:
    """Every reading's level in stops, as the table shows it."""
    rows = page.locator(".in-readings tbody tr")
    return {
        rows.nth(k).locator(".reading-text").inner_text(): number(
            rows.nth(k).locator("td.col-level").inner_text()
        )
        for k in range(rows.count())
    }


def number(text: str) -> float:
    """A level as it is written."""
    return float(text.replace("−", "-"))


def picture(page: Page) -> list[int]:
    """What the picture shows, as sums of its channels."""
    found: list[int] = page.evaluate(
        """() => {
          const canvas = document.querySelector('.picture-canvas');
          const { data } = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height);
          const sums = [0, 0, 0];
          for (let at = 0; at < data.length; at += 4) {
            for (let c = 0; c < 3; c += 1) sums[c] += data[at + c];
          }
          return sums;
        }"""
    )
    return found


def drag(range_input: Locator, value: float, *, done: bool) -> None:
    """Move a range as a hand does; done: the hand lets go."""
    range_input.evaluate(
        """(input, [value, done]) => {
          input.value = value;
          input.dispatchEvent(new Event('input', { bubbles: true }));
          if (done) input.dispatchEvent(new Event('change', { bubbles: true }));
          const next = () => new Promise(requestAnimationFrame);
          return next().then(next).then(next);
        }""",
        [value, done],
    )


def at_rest(page: Page) -> None:
    """Everything sent has been answered."""
    until(page, "() => falloff.pending.size === 0 && falloff.held.size === 0")


def test_a_dim_moves_levels_and_picture_at_once(page: Page) -> None:
    # Within three frames, before the server can have said anything of it.
    before, shown = levels(page), picture(page)
    dim = page.get_by_role("slider", name="SOFTBOX, dim")
    drag(dim, 25, done=False)
    moved, seen = levels(page), picture(page)
    assert moved["face"] < before["face"] - 0.3
    assert sum(seen) < sum(shown)
    assert page.get_by_label("SOFTBOX, per cent of its dimmer").input_value() == "25"
    drag(dim, 25, done=True)
    at_rest(page)
    assert page.evaluate("falloff.tree.setups.TEST.dims.SOFTBOX.knob") == pytest.approx(0.25)
    assert levels(page) == moved


def test_a_whole_drag_is_one_step_back(page: Page) -> None:
    before = levels(page)
    steps = page.evaluate("falloff.status.value.at")
    dim = page.get_by_role("slider", name="SOFTBOX, dim")
    for value in (90, 70, 50):
        drag(dim, value, done=value == 50)
        page.wait_for_timeout(170)
    at_rest(page)
    assert page.evaluate("falloff.status.value.at") == steps + 1
    page.get_by_role("button", name="Undo").click()
    until(page, f"() => falloff.status.value.at === {steps}")
    page.wait_for_timeout(100)
    assert levels(page) == before
    assert dim.input_value() == "100"


def test_a_dim_by_keyboard_alone(page: Page) -> None:
    # Tab from the head of the page to the dim, keys on it, undo by its key.
    for _ in range(STEPS_TO_A_DIM):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.ariaLabel") == "SOFTBOX, dim":
            break
    dim = page.get_by_role("slider", name="SOFTBOX, dim")
    assert dim.evaluate("input => input === document.activeElement")
    before = levels(page)
    for _ in range(4):
        page.keyboard.press("PageDown")
    page.keyboard.press("ArrowLeft")
    assert float(dim.input_value()) == pytest.approx(59.5, abs=0.6)
    at_rest(page)
    until(page, "() => falloff.tree.setups.TEST.dims.SOFTBOX.knob < 0.61")
    assert levels(page)["face"] < before["face"]
    page.keyboard.press("Control+z")
    until(page, "() => falloff.tree.setups.TEST.dims.SOFTBOX.knob === 1")


def test_stops_are_typed_as_people_say_them(page: Page) -> None:
    before = levels(page)
    field = page.get_by_label("SOFTBOX, stops of light under full")
    for text, shown in (("-1", "−1.0"), ("−1 1/3", "−1.3"), ("0", "0.0")):
        field.fill(text)
        field.press("Enter")
        at_rest(page)
        field.blur()
        until(page, f"() => document.querySelector('.source-stops input').value === '{shown}'")
    assert levels(page) == before
    field.fill("much")
    field.press("Enter")
    until(page, "() => falloff.said.value.tone === 'refused'")


def test_off_and_on_come_back_to_the_same_dim(page: Page) -> None:
    drag(page.get_by_role("slider", name="SOFTBOX, dim"), 60, done=True)
    at_rest(page)
    before = levels(page)
    switch = page.get_by_label("SOFTBOX on")
    switch.click()
    at_rest(page)
    assert levels(page)["face"] < before["face"] - 0.3
    assert page.evaluate("falloff.tree.setups.TEST.dims.SOFTBOX.knob") == 0
    switch.click()
    at_rest(page)
    assert page.evaluate("falloff.tree.setups.TEST.dims.SOFTBOX.knob") == pytest.approx(0.6)
    assert levels(page) == before


def test_one_source_alone_and_daylight_left_out(page: Page) -> None:
    before, shown = levels(page), picture(page)
    page.get_by_role("button", name="SOFTBOX alone").click()
    page.wait_for_timeout(150)
    alone = levels(page)
    assert alone["back wall"] < before["back wall"]
    assert page.locator(".in-readings .tag").inner_text() == "SOFTBOX alone"
    page.get_by_role("button", name="SOFTBOX alone").click()
    page.get_by_label("WINDOW shown").uncheck()
    page.wait_for_timeout(150)
    assert sum(picture(page)) < sum(shown)
    assert levels(page)["face"] <= before["face"]
    page.get_by_label("WINDOW shown").check()
    page.wait_for_timeout(150)
    assert levels(page) == before
    # The scene itself knows nothing of it.
    assert page.evaluate("falloff.pending.size") == 0


def test_a_stop_moves_every_level_by_the_same(page: Page) -> None:
    before = levels(page)
    assert "lx" in page.locator(".key-light").inner_text()
    page.get_by_label("Stop", exact=True).select_option("T4")
    page.wait_for_timeout(100)
    for name, level in levels(page).items():
        assert level - before[name] == pytest.approx(-1.0, abs=0.11)
    until(page, "() => falloff.tree.setups.TEST.stop.text === 'T4'")
    balance = page.get_by_role("slider", name="White balance")
    drag(balance, 4000, done=True)
    until(page, "() => falloff.tree.setups.TEST.balance?.kelvin === 4000")
    until(page, "() => falloff.heldSettings === null")


def test_a_reading_is_added_and_deleted(page: Page) -> None:
    page.locator(".picture-canvas").click(position={"x": 260, "y": 200})
    box = page.get_by_role("dialog", name="New reading")
    box.wait_for(timeout=10_000)
    box.get_by_role("textbox", name="Name").fill("where I clicked")
    box.get_by_label("Dome").check()
    box.get_by_label("Looks").select_option("camera")
    box.get_by_role("button", name="Take reading").click()
    until(page, "() => Boolean(falloff.tree.readings['where I clicked'])")
    until(page, "() => falloff.meter.of('TEST')?.readings.length === 4")
    page.wait_for_timeout(100)
    assert "where I clicked" in levels(page)
    assert page.locator("#sources-spot").input_value() == "where I clicked"
    page.get_by_role("button", name="Delete reading where I clicked").click()
    until(page, "() => !falloff.tree.readings['where I clicked']")
    page.wait_for_timeout(100)
    assert "where I clicked" not in levels(page)


def test_a_setup_is_made_shown_and_deleted(page: Page) -> None:
    page.get_by_role("button", name="New setup like this").click()
    box = page.get_by_role("dialog", name="New setup")
    box.get_by_role("textbox", name="Name").fill("AT NIGHT")
    box.get_by_role("button", name="Make it").click()
    until(page, "() => falloff.look.state.setup === 'AT NIGHT'")
    expect(page.locator(".setup[aria-pressed=true]")).to_contain_text("AT NIGHT")
    page.get_by_role("button", name="Delete setup", exact=True).click()
    until(page, "() => falloff.look.state.setup === 'TEST'")


def test_nothing_is_cut_off_or_scrolls_the_page(page: Page) -> None:
    for width, height in ((1280, 720), (1440, 900), (1920, 1080)):
        page.set_viewport_size({"width": width, "height": height})
        for plan in ("false", "true"):
            page.evaluate(f"falloff.look.set({{plan: {plan}}})")
            page.wait_for_timeout(150)
            over = page.evaluate(
                """() => {
                  const root = document.documentElement;
                  const out = [...document.querySelectorAll(
                    '.in-top *, .in-exposure *, .source *, .setups-tools *')].filter((one) => {
                      const box = one.getBoundingClientRect();
                      return box.width > 1 && !one.closest('dialog') && box.right > innerWidth + 1;
                    });
                  const { scrollHeight, scrollWidth } = root;
                  return [scrollHeight - innerHeight, scrollWidth - innerWidth, out.length];
                }"""
            )
            assert over == [0, 0, 0], (width, height, plan)


def test_nothing_bars_a_screen_reader(metered: Served, serve: Serve, browser: Browser) -> None:
    # axe has to be put into the page, which its policy bars to everybody but this context.
    context = browser.new_context(
        viewport={"width": 1280, "height": 720}, bypass_csp=True, color_scheme="dark"
    )
    page = context.new_page()
    page.goto(metered.address)
    until(page, "() => window.falloff?.meter?.of('TEST')?.readings.length > 0")
    found = violations(page)
    page.evaluate("falloff.look.set({plan: true, map: true, waveform: true})")
    page.evaluate("falloff.takeReading(null)")
    page.wait_for_timeout(300)
    found += violations(page)
    page.goto(serve(None).address)
    page.get_by_label("One person by a window").check()
    found += violations(page)
    context.close()
    assert found == []


def violations(page: Page) -> list[Any]:
    """What axe finds that matters."""
    page.evaluate(AXE.read_text(encoding="utf-8"))
    told = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    return [
        (one["id"], [" ".join(map(str, node["target"])) for node in one["nodes"]])
        for one in told["violations"]
        if one["impact"] in {"serious", "critical"}
    ]


def test_a_scene_is_begun_from_a_few_answers(serve: Serve, open_page: Open) -> None:
    served = serve(None)
    page, _ = open_page(served, wait=False)
    page.get_by_label("One person by a window").check()
    ceiling = page.get_by_label("How high is the ceiling?")
    assert ceiling.input_value() == "2.6 m"
    # An answer that cannot be read is told beside the form, and nothing typed is lost.
    ceiling.fill("high")
    page.get_by_role("button", name="Make the scene").click()
    until(page, "() => document.querySelector('.why').textContent.length > 0")
    assert ceiling.input_value() == "high"
    ceiling.fill("3 m")
    page.get_by_label("feet").check()
    assert page.get_by_label("How high is the ceiling?").input_value() == "3 m"
    page.get_by_label("metres").check()
    with page.expect_navigation():
        page.get_by_role("button", name="Make the scene").click()
    until(page, "() => Boolean(window.falloff?.tree)")
    assert list(served.folder.glob("*.scene.yaml"))
