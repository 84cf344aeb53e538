"""The day in a real browser: an hour is dragged, the picture and the readings follow, one step."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator
from pathlib import Path

import axe_core_python
import numpy as np
import pytest
from playwright.sync_api import Browser, Page, expect
from tests.page.conftest import PICTURE_PX, SETTLED, Open, Serve, Served, begin, pixels, until

from falloff.clock import clock_words
from falloff.day import Day, through_day
from falloff.document import arranged, read_document
from falloff.layers import keep_hours, open_passes
from falloff.session.meter import run_meter
from falloff.session.scene import setup_light
from falloff.stage import build_stage

SCENE = Path(__file__).with_name("day.scene.yaml")
AXE = next(Path(axe_core_python.__file__).parent.rglob("axe*.js"))
NOW = "falloff.days.minute(falloff.look.state.setup)"
READ = """() => {
  const { setup } = falloff.look.state;
  return falloff.days.of(setup) !== null && !falloff.days.stale.has(setup);
}"""
LEVELS = """async () => {
  const base = document.querySelector("script[type=module]").src;
  const { levelsOf } = await import(base.replace("main.js", "levels.js"));
  const setup = falloff.look.state.setup;
  const all = levelsOf(falloff, setup, falloff.gains(setup));
  return Object.fromEntries([...all].map(([name, one]) => [name, one.stops]));
}"""


@pytest.fixture(scope="module")
def by_day(tmp_path_factory: pytest.TempPathFactory, compiled: None) -> Iterator[Served]:
    """One server on a scene with an hour; every test goes back to the first step."""
    folder = tmp_path_factory.mktemp("day")
    path = folder / SCENE.name
    path.write_text(SCENE.read_text(encoding="utf-8"), encoding="utf-8")
    served = begin(path, folder)
    yield served
    served.stop()


@pytest.fixture
def page(by_day: Served, open_page: Open) -> Iterator[Page]:
    """The page as the scene was opened, its day open and read; it complained about nothing."""
    opened, watcher = open_page(by_day, width=1440, height=900)
    if opened.evaluate("falloff.status.value.at") > 0:
        opened.evaluate("falloff.back(0)")
        label = "falloff.status.value.steps[falloff.status.value.at]"
        until(opened, f"() => {label}.startsWith('back to')")
    opened.evaluate("falloff.look.set({setup: 'WIDE', dayOpen: true, spot: 'mark'})")
    settled(opened)
    yield opened
    assert [one for one in watcher.complaints if "willReadFrequently" not in one] == []


def settled(page: Page) -> None:
    """Light and day are of the scene as it is now."""
    until(page, "() => falloff.pending.size === 0 && falloff.days.held === null")
    until(page, SETTLED)
    until(page, READ)
    page.wait_for_timeout(100)


def levels(page: Page) -> dict[str, float]:
    """Every reading in stops, as the page reads it just now."""
    found: dict[str, float] = page.evaluate(LEVELS)
    return found


def steps(page: Page) -> int:
    """How many steps there are."""
    return int(page.evaluate("falloff.status.value.at"))


def x_of(page: Page, minute: float) -> float:
    """Where a minute stands in the graph, pixels of the window."""
    axis = page.locator(".day-key")
    box = page.locator(".day-graph").bounding_box()
    assert box is not None
    left, right = (float(axis.get_attribute(name) or "") for name in ("x1", "x2"))
    return box["x"] + left + (right - left) * minute / 1440.0


def hold(page: Page, minute: float) -> None:
    """Press on the graph at its hour and drag that line to another."""
    box = page.locator(".day-graph").bounding_box()
    assert box is not None
    y = box["y"] + 60.0
    now = float(page.evaluate(NOW))
    page.mouse.move(x_of(page, now), y)
    page.mouse.down()
    for share in (0.3, 0.7, 1.0):
        page.mouse.move(x_of(page, now + share * (minute - now)), y)
        page.wait_for_timeout(60)


GLANCE = """() => {
  const light = falloff.light.of('WIDE');
  return light.pass === 'coarse' && light.layers.get('sun').width < light.width;
}"""


def test_a_dragged_hour_moves_picture_and_readings_and_is_one_step(
    page: Page, by_day: Served
) -> None:
    scene = by_day.scene
    assert scene is not None
    written = scene.read_text(encoding="utf-8")
    begun, count = levels(page), steps(page)
    shown = pixels(page).mean()
    hold(page, 20 * 60 + 30)
    until(page, GLANCE)
    page.wait_for_timeout(400)
    held = levels(page)
    assert page.evaluate(NOW) == 20 * 60 + 30
    assert held["mark"] < begun["mark"] - 0.5
    assert pixels(page).mean() < shown - 5.0
    assert "20:30" in page.locator(".day-says").inner_text()
    assert steps(page) == count  # not an edit
    page.mouse.up()
    until(page, f"() => falloff.status.value.at === {count + 1}")
    settled(page)
    assert page.evaluate("falloff.tree.day.at.WIDE.at") == "20:30"
    found = levels(page)
    until(page, "() => falloff.status.value.saved")
    for name, level in metered(scene).items():
        assert found[name] == pytest.approx(level, abs=0.05), name
        # the glance has fewer rays, and only what it looks at of the sky's cells
        assert held[name] == pytest.approx(level, abs=0.25), name
    old, new = written.splitlines(), scene.read_text(encoding="utf-8").splitlines()
    changed = [line for line in difflib.ndiff(old, new) if line[0] in "+-"]
    assert len(changed) == 2
    assert changed[1] == "+ sky: {type: clear, at: 2026-06-21 20:30, north: 90 deg} # after lunch"
    page.keyboard.press("Control+z")
    until(page, "() => falloff.tree.day.at.WIDE.at === '13:40'")
    settled(page)
    assert levels(page)["mark"] == pytest.approx(begun["mark"], abs=1e-6)
    until(page, "() => falloff.status.value.saved")
    assert scene.read_text(encoding="utf-8") == written


def metered(scene: Path, setup: str = "WIDE") -> dict[str, float]:
    """What a fresh `falloff meter` reads, stops."""
    readings = next(one for one in run_meter(scene, setups=(setup,)).readings if one.setup == setup)
    found = {}
    for one in readings.readings:
        stops = one.stops_over_grey if one.instrument == "spot" else one.stops_over_key
        assert stops is not None
        found[one.name] = stops
    return found


def test_escape_leaves_no_step_and_brings_the_light_back(page: Page) -> None:
    begun, count, shown = levels(page), steps(page), pixels(page)
    hold(page, 6 * 60)
    until(page, GLANCE)
    page.keyboard.press("Escape")
    page.mouse.up()
    settled(page)
    until(page, "() => falloff.light.of('WIDE').pass === 'full'")
    page.wait_for_timeout(300)
    assert page.evaluate(NOW) == 820
    assert steps(page) == count
    assert levels(page) == begun
    assert np.array_equal(pixels(page), shown)


def test_the_hour_by_keyboard_alone(page: Page) -> None:
    count = steps(page)
    hour = page.get_by_role("slider", name="Hour", exact=True)
    hour.focus()
    for key in ("ArrowRight", "ArrowRight", "PageDown", "ArrowLeft"):
        page.keyboard.press(key)
    assert hour.evaluate("input => input.value") == str(12 * 60 + 45)
    page.wait_for_timeout(50)
    told = hour.get_attribute("aria-valuetext") or ""
    assert re.match(r"12:45, mark .*(over|under|at) ?key", told), told
    until(page, "() => falloff.tree.day.at.WIDE.at === '12:45'")
    assert steps(page) == count + 1  # one run of keys, one step


def test_the_last_minutes_of_the_hours_bar_are_those_of_the_same_day(page: Page) -> None:
    hour = page.get_by_role("slider", name="Hour", exact=True)
    for minute in (1438, 1439):
        hour.evaluate(
            "(input, minute) => { input.value = minute; input.dispatchEvent(new Event('input')); }",
            minute,
        )
        assert page.evaluate(NOW) == 1435
        assert hour.evaluate("input => input.value") == "1435"
    hour.evaluate("input => input.dispatchEvent(new Event('change'))")
    until(page, "() => falloff.tree.day.at.WIDE.at === '23:55'")


def python_day(path: Path, setup: str) -> Day:
    """The day of a setup as Python reads it, from the trace that the page makes."""
    document = arranged(read_document(path), setup)
    light = setup_light(document, setup)
    stage = build_stage(document)
    view = stage.views[light.camera]
    size = (PICTURE_PX, round(PICTURE_PX * view.tan_half_height / view.tan_half_width))
    last = next(
        one.live
        for one in open_passes(stage, light.camera, size=size)
        if one.live is not None and one.told == "full"
    )
    return through_day(keep_hours(last.layers()), document, light)


LINE = """(name) => {
  const line = document.querySelector(`.day-line[data-reading="${name}"]`);
  const key = Number(document.querySelector(".day-key").getAttribute("y1"));
  const lines = [...document.querySelectorAll(".day-grid")];
  const grid = lines.map((one) => Number(one.getAttribute("y1")));
  const step = Math.min(...grid.map((y) => Math.abs(y - key)));
  const path = line.getAttribute("d").slice(1).split("L");
  const points = path.map((at) => at.split(",").map(Number));
  return points.slice(1, -1).map(([, y]) => (key - y) / step);
}"""


def test_the_graph_is_pythons_day_and_follows_a_dim_at_once(page: Page, by_day: Served) -> None:
    assert by_day.scene is not None
    day = python_day(by_day.scene, "WIDE")
    drawn = page.evaluate(LINE, "mark")
    assert len(drawn) == len(day.moments)
    for k in (len(drawn) // 5, len(drawn) // 2, 4 * len(drawn) // 5):
        assert drawn[k] == pytest.approx(day.moments[k].levels["mark"].stops, abs=0.02)
    (held,) = day.targets
    told = page.locator(".day-says").inner_text()
    assert held.holds
    for stretch in held.holds:
        assert clock_words(stretch.start) in told
        assert clock_words(stretch.end) in told
    # The panel at nothing: the night is darker at once, before anything is traced.
    before = drawn[0]
    page.get_by_role("slider", name="PANEL, dim").evaluate(
        """(input) => {
          input.value = 5;
          input.dispatchEvent(new Event("input", { bubbles: true }));
          const next = () => new Promise(requestAnimationFrame);
          return next().then(next).then(next);
        }"""
    )
    assert page.evaluate(LINE, "mark")[0] < before - 2.0
    page.get_by_role("slider", name="PANEL, dim").dispatch_event("change")
    until(page, "() => falloff.pending.size === 0 && falloff.held.size === 0")


def test_a_spot_is_told_over_middle_grey(page: Page) -> None:
    """As `falloff day` tells it; beside readings over key the line at nought is key."""
    graph = page.locator(".day-graph")
    zero = "[...document.querySelectorAll('.day-stop')].map((one) => one.textContent)"
    for names, at, said in (
        (["mark", "wall"], "key", r"mark [-+.\d]+, wall [-+.\d]+ over middle grey$"),
        (["wall"], "grey", r": wall [-+.\d]+ over middle grey$"),
    ):
        page.evaluate("(names) => falloff.look.set({ dayReadings: names })", names)
        page.wait_for_timeout(100)
        told = graph.get_attribute("aria-label") or ""
        assert re.search(said, told), told
        assert "spots over middle grey" in told
        shown = page.evaluate(zero)
        assert at in shown
        assert {"key": "grey", "grey": "key"}[at] not in shown
    page.locator(".day-choice summary").click()
    chips = page.locator(".day-chip")
    expect(chips.first).to_be_visible()
    assert chips.filter(has_text="wall").inner_text() == "wall, over middle grey"
    assert chips.filter(has_text="mark").inner_text() == "mark"
    page.keyboard.press("Escape")
    expect(chips.first).to_be_hidden()
    page.evaluate("falloff.look.set({ dayReadings: null })")


def test_the_open_day_leaves_the_picture_its_room(page: Page) -> None:
    """pencil: 1000 px less 161 over the work, 264 of the day, 68 of setups, 116 in the work."""
    page.set_viewport_size({"width": 1600, "height": 1000})
    expect(page.locator(".day-graph")).to_be_visible()
    page.wait_for_timeout(200)
    box = page.locator(".picture-canvas").bounding_box()
    assert box is not None
    assert box["height"] > 380
    for row in (".source", ".in-readings tbody tr"):
        within = "one => one.scrollWidth <= one.clientWidth"
        assert page.locator(row).first.evaluate(within), row


def test_clocks_show_the_nearest_minute(page: Page) -> None:
    """Pencil; and so on the day that London's clock skips an hour, at 01:00."""
    told = page.evaluate(
        """async () => {
          const base = document.querySelector("script[type=module]").src;
          const { clockText } = await import(base.replace("main.js", "day-clock.js"));
          const plain = { length: 1440, ahead: [[0, 60]] };
          const spring = { length: 1380, ahead: [[0, 0], [60, 60]] };
          return [[plain, 820.4], [plain, 820.5], [spring, 59.4], [spring, 59.6]]
            .map(([clock, minute]) => clockText(clock, minute));
        }"""
    )
    assert told == ["13:40", "13:41", "00:59", "02:00"]


def test_a_setups_own_hour_is_rewritten_and_the_skys_stays(page: Page, by_day: Served) -> None:
    page.evaluate("falloff.look.set({setup: 'LATE'})")
    settled(page)
    assert page.evaluate("falloff.days.of('LATE').date") == "2026-06-21"
    page.locator(".day-time").fill("17:10")
    page.locator(".day-time").blur()
    until(page, "() => falloff.tree.day.at.LATE.at === '17:10'")
    assert page.evaluate("falloff.tree.day.at.WIDE.at") == "13:40"
    until(page, "() => falloff.status.value.saved")
    assert by_day.scene is not None
    assert 'LATE: {like: WIDE, at: "17:10"} # golden' in by_day.scene.read_text(encoding="utf-8")
    settled(page)
    found = levels(page)
    for name, level in metered(by_day.scene, "LATE").items():
        assert found[name] == pytest.approx(level, abs=0.05), name


def test_date_and_sky_are_chosen_and_a_skipped_hour_is_refused_in_words(page: Page) -> None:
    begun = levels(page)
    page.locator(".day-sky").select_option("overcast")
    until(page, "() => falloff.tree.day.sky === 'overcast'")
    settled(page)
    assert levels(page)["mark"] < begun["mark"]
    page.locator(".day-date").fill("2026-03-29")
    page.locator(".day-date").blur()
    until(page, "() => falloff.tree.day.date === '2026-03-29'")
    assert page.evaluate("falloff.tree.day.at.WIDE.clock") == {
        "length": 1380, "ahead": [[0, 0], [60, 60]]}  # fmt: skip
    page.locator(".day-time").fill("01:30")
    page.locator(".day-time").blur()
    until(page, "() => falloff.said.value.tone === 'refused'")
    assert "clocks went from 01:00 straight to 02:00" in page.evaluate("falloff.said.value.text")
    assert page.evaluate("falloff.tree.day.at.WIDE.at") == "13:40"
    page.evaluate("falloff.back(0)")
    until(page, "() => falloff.tree.day.date === '2026-06-21' && falloff.tree.day.sky === 'clear'")


def test_sun_lies_on_the_plan_and_moves_with_the_hour(page: Page) -> None:
    page.evaluate("falloff.look.set({plan: true})")
    until(page, "() => document.querySelectorAll('.plan-sun-patch').length > 0")
    name = "() => document.querySelector('.plan-sun-name')?.textContent"
    until(page, f"() => ({name})() === 'sun 13:40'")
    shape = "() => document.querySelector('.plan-sun-patch').getAttribute('d')"
    before = page.evaluate(shape)
    hold(page, 11 * 60 + 20)
    until(page, f"() => ({name})() === 'sun 11:20'")
    assert page.evaluate(shape) != before
    page.keyboard.press("Escape")
    page.mouse.up()
    until(page, f"() => ({name})() === 'sun 13:40'")
    page.evaluate("falloff.look.set({plan: false})")


def test_two_windows_agree_on_the_hour(page: Page, by_day: Served, open_page: Open) -> None:
    other, _ = open_page(by_day)
    until(other, READ)
    hold(page, 17 * 60)
    until(page, GLANCE)
    # What a hand drags is its own window's until it lets go.
    assert other.evaluate(NOW) == 820
    assert other.evaluate("falloff.light.of('WIDE').pass") == "full"
    page.mouse.up()
    for one in (page, other):
        until(one, "() => falloff.tree.day.at.WIDE.at === '17:00'")
        settled(one)
    assert levels(page) == levels(other)
    other.evaluate("falloff.undo()")
    until(page, "() => falloff.tree.day.at.WIDE.at === '13:40'")


def test_a_scene_without_a_location_says_what_it_lacks_and_takes_it(
    serve: Serve, open_page: Open, tmp_path: Path
) -> None:
    text = SCENE.read_text(encoding="utf-8").replace(', at: "16:30"', "")
    text = re.sub(r"location: .*\n", "", text)
    said = "outside: 12000 lx, sun: {altitude: 35 deg, azimuth: 200 deg}"
    text = text.replace("at: 2026-06-21 13:40", said)
    path = tmp_path / "nowhere.scene.yaml"
    path.write_text(text, encoding="utf-8")
    page, watcher = open_page(serve(None, own=path))
    until(page, SETTLED)
    assert page.evaluate("falloff.tree.day") is None
    said = page.locator(".day-lack > p").inner_text()
    assert "want of where and when. Whichever is missing" in said
    page.get_by_role("button", name="Say where and when").click()
    box = page.get_by_role("dialog", name="Where and when")
    assert box.get_by_label("Time zone").input_value()
    box.get_by_label("Latitude, degrees N or S").fill("33.9 S")
    box.get_by_label("Longitude, degrees E or W").fill("151.2")
    box.get_by_label("Time zone").fill("Australia/Sidney")
    box.get_by_label("Date").fill("2026-12-21")
    box.get_by_label("Time", exact=True).fill("15:40")
    box.get_by_label("Latitude, degrees N or S").fill("-33.9 S")
    box.get_by_role("button", name="Write it").click()
    until(page, "() => document.querySelector('.in-day .why').textContent.includes('51.5 N')")
    box.get_by_label("Latitude, degrees N or S").fill("33.9 S")
    box.get_by_role("button", name="Write it").click()
    until(page, "() => document.querySelector('.in-day .why').textContent.includes('Sydney')")
    box.get_by_label("Time zone").fill("Australia/Sydney")
    box.get_by_role("button", name="Write it").click()
    until(page, "() => falloff.tree.day?.at.WIDE.at === '15:40'")
    until(page, READ)
    until(page, "() => falloff.status.value.saved")
    written = path.read_text(encoding="utf-8")
    assert "location: {latitude: 33.9 S, longitude: 151.2 E, zone: Australia/Sydney}" in written
    assert "altitude" not in written
    assert "# The recce was in June." in written
    page.evaluate("falloff.undo()")
    until(page, "() => falloff.tree.day === null")
    assert watcher.complaints == []


def test_nothing_of_the_day_is_cut_or_bars_a_screen_reader(
    by_day: Served, browser: Browser
) -> None:
    # axe has to be put into the page, which its policy bars to everybody but this context.
    context = browser.new_context(bypass_csp=True, color_scheme="dark")
    page = context.new_page()
    page.goto(by_day.address)
    until(page, "() => window.falloff?.days?.of(falloff.look.state.setup)")
    for width, height in ((1280, 720), (1600, 1000), (390, 844)):
        page.set_viewport_size({"width": width, "height": height})
        for is_open in ("false", "true"):
            page.evaluate(f"falloff.look.set({{dayOpen: {is_open}}})")
            page.wait_for_timeout(200)
            over = page.evaluate(
                """() => {
                  const strip = document.querySelector(".in-day").getBoundingClientRect();
                  const all = ".in-day :is(button, input, select, p, text)";
                  const cut = [...document.querySelectorAll(all)]
                    .filter((one) => one.checkVisibility() && !one.closest("dialog"))
                    .filter((one) => {
                      const box = one.getBoundingClientRect();
                      return box.width > 1 && (
                        box.right > strip.right + 1 || box.left < strip.left - 1 ||
                        box.bottom > strip.bottom + 1 || box.top < strip.top - 1);
                    });
                  return cut.map((one) => `${one.tagName} ${one.textContent}`);
                }"""
            )
            assert over == [], (width, height, is_open)
    page.set_viewport_size({"width": 1600, "height": 1000})
    page.evaluate(AXE.read_text(encoding="utf-8"))
    told = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    context.close()
    serious = [
        (one["id"], [" ".join(map(str, node["target"])) for node in one["nodes"]])
        for one in told["violations"]
        if one["impact"] in {"serious", "critical"}
    ]
    assert serious == []
