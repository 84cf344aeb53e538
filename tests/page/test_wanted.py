"""What is wanted, in a real browser: targets set by clicking, and what is asked about them."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect
from tests.page.conftest import TEST_ROOM, Open, Served, begin, until

READINGS = """
readings:
  face: {at: [2.5 m, 2.4 m, 1.2 m], normal: [0, -1, 0]}
  table: {at: {on: TABLE, offset: [10 cm, 0 cm]}}
  back wall: {at: {wall: 3, along: 1.5 m, height: 1.5 m}}

targets:
  face at key: {reading: face, level: 0 stops}
"""
SETUP = "  TEST: {camera: CAMERA, stop: T2.8, iso: 800, shutter: 180 deg}\n"
KEYED = """  TEST: {camera: CAMERA, stop: T2.8, iso: 800, shutter: 180 deg, key: face}
  CLOSE: {like: TEST, dims: {SOFTBOX: 30 %}}
"""


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory, compiled: None) -> Iterator[Served]:
    """One server on the test room with readings; every test goes back to the first step."""
    folder = tmp_path_factory.mktemp("wanted")
    path = folder / "wanted.scene.yaml"
    text = TEST_ROOM.read_text(encoding="utf-8")
    assert SETUP in text
    path.write_text(text.replace(SETUP, KEYED) + READINGS, encoding="utf-8")
    started = begin(path, folder)
    yield started
    started.stop()


@pytest.fixture
def page(served: Served, open_page: Open) -> Iterator[Page]:
    """The page with light and levels, as the scene was opened; it complained about nothing."""
    opened, watcher = open_page(served)
    if opened.evaluate("falloff.status.value.at") > 0:
        opened.evaluate("falloff.back(0)")
        label = "falloff.status.value.steps[falloff.status.value.at]"
        until(opened, f"() => {label}.startsWith('back to')")
    until(opened, "() => falloff.meter.of('TEST')?.readings.length === 3")
    until(opened, "() => document.querySelector('.in-readings td.col-level')?.textContent !== '…'")
    until(opened, "() => falloff.idle")
    yield opened
    assert watcher.complaints == []


def row(page: Page, name: str) -> str:
    """The line of one target, in one line."""
    found = page.locator(".want").filter(has=page.locator("strong", has_text=name))
    return " ".join(found.inner_text().split())


def at_rest(page: Page) -> None:
    """Everything sent has been answered and shown."""
    until(page, "() => falloff.pending.size === 0")
    page.wait_for_timeout(60)


# Targets ---------------------------------------------------------------------------------


def test_a_target_is_set_by_clicking_a_reading(page: Page) -> None:
    page.get_by_role("button", name="Say what is wanted at table").click()
    form = page.get_by_role("form", name="What is wanted")
    assert form.get_by_label("Reading").input_value() == "table"
    # What it is now is offered, to the third; pencil: half a third either way.
    level = page.evaluate(
        "falloff.meter.of('TEST').readings.map((one) => one.name).indexOf('table')"
    )
    assert level == 1
    offered = form.get_by_label("Stops", exact=True).input_value()
    assert re.fullmatch(r"−?(?:\d+ ?)?(?:[12]/3)?", offered)
    form.get_by_label("How it is wanted").select_option("at most")
    form.get_by_label("Stops", exact=True).fill("−3 1/3")
    form.get_by_label("Over what").select_option("face")
    form.get_by_label("Within, stops").select_option(label="± 1/2")
    form.get_by_label("Counts").select_option(label="twice as much")
    form.get_by_role("button", name="Set").click()
    until(page, "() => 'table' in falloff.tree.targets")
    told = page.evaluate("falloff.tree.targets.table")
    assert (told["over"], told["limit"], told["weight"]) == ("face", "at most", 2)
    assert told["level_stops"] == pytest.approx(-10 / 3)
    assert told["tolerance_stops"] == pytest.approx(0.5)
    expect(page.locator(".want")).to_have_count(2)
    assert "wanted at most 3 1/3 under face" in row(page, "table")
    assert re.search(r"▲ [\d /]+ bright", row(page, "table"))
    # The table of readings has the same beside what is got.
    cell = page.locator(".in-readings tbody tr").nth(1).locator(".col-target")
    assert "≤ −3.3" in cell.inner_text()
    assert "bright" in cell.inner_text()
    page.get_by_role("button", name="Undo").click()
    until(page, "() => !('table' in falloff.tree.targets)")


def test_a_target_is_changed_and_deleted(page: Page) -> None:
    page.locator(".in-readings tbody tr").first.locator(".col-target button").click()
    form = page.get_by_role("form", name="What is wanted: face at key")
    field = form.get_by_label("Stops", exact=True)
    assert field.evaluate("input => input === document.activeElement")
    page.keyboard.type("much")
    page.keyboard.press("Enter")
    expect(form.get_by_role("alert")).to_contain_text("no number of stops")
    field.fill("1 1/3")
    page.keyboard.press("Enter")
    until(page, "() => Math.abs(falloff.tree.targets['face at key'].level_stops - 4 / 3) < 1e-9")
    assert "wanted 1 1/3 over key" in row(page, "face at key")
    page.get_by_role("button", name="Change face at key").click()
    page.get_by_role("button", name="Delete", exact=True).click()
    until(page, "() => Object.keys(falloff.tree.targets).length === 0")
    expect(page.locator(".wanted-part .empty").first).to_be_visible()
    page.keyboard.press("Control+z")
    until(page, "() => 'face at key' in falloff.tree.targets")


def test_wanted_and_got_follow_a_dim_in_motion(page: Page) -> None:
    page.keyboard.press("t")
    before = row(page, "face at key")
    got = page.evaluate(
        """() => {
          falloff.hold('SOFTBOX', {knob: 0});
          falloff.hold('GLOBE', {knob: 0});
          falloff.hold('BEAM', {knob: 0});
        }"""
    )
    assert got is None
    page.wait_for_timeout(100)
    assert row(page, "face at key") != before
    assert "dark" in row(page, "face at key")
    page.evaluate("for (const name of ['SOFTBOX', 'GLOBE', 'BEAM']) falloff.hold(name, null)")
    page.wait_for_timeout(100)
    assert row(page, "face at key") == before
    page.keyboard.press("t")
    expect(page.locator(".in-wanted")).to_be_hidden()


def test_a_click_in_the_picture_becomes_a_target(page: Page) -> None:
    box = page.locator(".picture-canvas").bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + 0.2 * box["width"], box["y"] + 0.3 * box["height"])
    page.get_by_role("dialog", name="New reading").get_by_label("Name").fill("clicked")
    page.get_by_role("button", name="Take, and say what is wanted").click()
    form = page.get_by_role("form", name="What is wanted")
    expect(form).to_be_visible()
    assert form.get_by_label("Reading").input_value() == "clicked"
    form.get_by_label("Stops", exact=True).fill("0")
    form.get_by_role("button", name="Set").click()
    until(page, "() => falloff.tree.targets.clicked?.reading === 'clicked'")
    until(page, "() => falloff.meter.of('TEST').readings.length === 4")
    at_rest(page)
    assert "got" in row(page, "clicked")
