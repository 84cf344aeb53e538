"""The plan and the section in the page: a hand with the mouse, a hand with the keys."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import axe_core_python
import numpy as np
import pytest
from playwright.sync_api import Browser, Page
from tests.page.conftest import WORKSHOP, Open, Serve, Served, begin, until

from falloff.types import Float64Array

AXE = next(Path(axe_core_python.__file__).parent.rglob("axe*.js"))
ELSEWHERE = 'moved: {BOOK: {at: {from: MAKER, distance: 1.8 m, clock: "8", height: 1.7 m}}}'
CLOSE_UP = "dims: {BOOK: 90 %}}"
Spot = tuple[float, float]


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The workshop, in whose close-up BOOK stands elsewhere; tests go back to the first step."""
    folder = tmp_path_factory.mktemp("planned")
    path = folder / "workshop.scene.yaml"
    text = WORKSHOP.read_text(encoding="utf-8")
    assert CLOSE_UP in text
    path.write_text(text.replace(CLOSE_UP, f"{CLOSE_UP[:-1]}, {ELSEWHERE}}}"), encoding="utf-8")
    served = begin(path, folder)
    yield served
    served.stop()


@pytest.fixture
def page(shop: Served, open_page: Open) -> Iterator[Page]:
    """The page with the plan folded out, the scene as it was opened; it complained of nothing."""
    opened, watcher = open_page(shop, width=1440, height=900)
    if opened.evaluate("falloff.status.value.at") > 0:
        revision = opened.evaluate("falloff.rev")
        opened.evaluate("falloff.back(0)")
        until(opened, f"() => falloff.rev > {revision}")
    at_rest(opened)
    unfold(opened)
    yield opened
    assert watcher.complaints == []


def unfold(page: Page) -> None:
    """Fold the plan out with its key and wait until it is drawn."""
    page.keyboard.press("p")
    until(page, "() => document.querySelectorAll('.plan-item').length > 5")
    page.wait_for_timeout(100)


# Looking at the plan ---------------------------------------------------------------------


def plan(page: Page) -> dict[str, Any]:
    """The plan of the setup that is shown."""
    found: dict[str, Any] = page.evaluate(
        "falloff.tree.plans[falloff.tree.setups[falloff.look.state.setup].plan]"
    )
    return found


def thing(page: Page, name: str) -> dict[str, Any]:
    """The plan's record of a thing."""
    drawn = plan(page)
    groups = ("units", "subjects", "cameras", "bodies", "openings", "readings")
    found = [one for group in groups for one in drawn[group] if one["name"] == name]
    assert found, f"the plan has no {name}"
    record: dict[str, Any] = found[0]
    return record


def on_screen(page: Page, spot: Spot) -> Spot:
    """Where a point of the drawing, in metres, is in the window, in pixels."""
    x, y = page.evaluate(
        """([x, y]) => {
          const to = document.querySelector('.plan-world').getScreenCTM();
          return [to.a * x + to.c * y + to.e, to.b * x + to.d * y + to.f];
        }""",
        list(spot),
    )
    return (x, y)


def handle(page: Page, name: str) -> Spot:
    """The middle of a handle of what is chosen, in pixels."""
    box = page.locator(f'[data-handle="{name}"]').first.bounding_box()
    assert box is not None
    return (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)


def drag(page: Page, start: Spot, end: Spot, *, shift: bool = False, lift: bool = True) -> None:
    """Press, move in steps as a hand does, and let go (lift)."""
    page.mouse.move(*start)
    page.mouse.down()
    if shift:
        page.keyboard.down("Shift")
    page.mouse.move(*end, steps=12)
    if lift:
        page.mouse.up()
    if shift and lift:
        page.keyboard.up("Shift")


def choose(page: Page, name: str) -> None:
    """Choose a thing with a click in its middle."""
    record = thing(page, name)
    page.mouse.click(*on_screen(page, record.get("at") or record["mark"]))
    until(page, f"() => falloff.look.state.chosen === {name!r}")
    page.wait_for_timeout(120)


def at_rest(page: Page) -> None:
    """Everything sent has been answered and is in the file."""
    page.wait_for_timeout(100)
    until(page, "() => falloff.pending.size === 0")
    page.wait_for_timeout(200)  # the new state follows upon the answer
    until(page, "() => falloff.status.value.saved")


def steps(page: Page) -> list[str]:
    """The labels of all steps."""
    found: list[str] = page.evaluate("falloff.status.value.steps")
    return found


def written(served: Served) -> str:
    """The scene file."""
    assert served.scene is not None
    return served.scene.read_text(encoding="utf-8")


def line(text: str, word: str) -> str:
    """The one line of a text that begins with a word."""
    found = [one for one in text.splitlines() if one.strip().startswith(word)]
    assert len(found) == 1, found
    return found[0].strip()


def without(text: str, word: str) -> list[str]:
    """A text's lines but for those with a word in them."""
    return [one for one in text.splitlines() if word not in one]


# The mouse -------------------------------------------------------------------------------


def test_a_drag_is_one_step_in_the_unit_and_the_way_it_was_written(
    page: Page, shop: Served
) -> None:
    before, count = written(shop), len(steps(page))
    book = thing(page, "BOOK")
    start = on_screen(page, book["at"])
    drag(page, start, on_screen(page, (book["at"][0] + 0.5, book["at"][1] - 0.3)))
    at_rest(page)
    now = thing(page, "BOOK")
    assert math.dist(now["at"], (book["at"][0] + 0.5, book["at"][1] - 0.3)) < 0.3
    assert math.dist(now["at"], book["at"]) > 0.3
    assert len(steps(page)) == count + 1
    assert steps(page)[-1] == "BOOK moved"
    after = written(shop)
    told = re.search(
        r'at: \{from: MAKER, distance: ([\d.]+) m, clock: "([\d:]+)", height: 1.85 m\}', after
    )
    assert told, "the place is told from the subject no more"
    assert float(told[1]) == pytest.approx(now["distance"]["distance_m"], abs=2e-3)
    assert without(after, "from: MAKER, distance") == without(before, "from: MAKER, distance")
    page.keyboard.press("Control+z")
    until(page, f"() => Math.abs({_at(page, 'BOOK')}[0] - {book['at'][0]}) < 1e-6")
    at_rest(page)
    assert written(shop) == before


def _at(page: Page, name: str) -> str:
    k = next(k for k, one in enumerate(plan(page)["units"]) if one["name"] == name)
    return f"Object.values(falloff.tree.plans)[0].units[{k}].at"


def test_a_place_in_numbers_is_written_in_its_own_unit(page: Page, shop: Served) -> None:
    before = written(shop)
    head = thing(page, "WALL HEAD")
    start = on_screen(page, head["at"])
    drag(page, start, (start[0] - 70, start[1] + 40), shift=True)
    at_rest(page)
    x, y = thing(page, "WALL HEAD")["at"]
    assert f"at: [{x:g} m, {y:g} m, 2.4 m]" in written(shop)
    assert without(written(shop), "2.4 m") == without(before, "2.4 m")


def test_escape_puts_it_back_and_leaves_no_step(page: Page, shop: Served) -> None:
    before, count = written(shop), len(steps(page))
    book = thing(page, "BOOK")
    start = on_screen(page, book["at"])
    drag(page, start, (start[0] + 60, start[1] - 30), lift=False)
    until(page, f"() => falloff.status.value.steps.length === {count + 1}")
    page.keyboard.press("Escape")
    page.mouse.move(start[0] + 90, start[1], steps=3)
    page.mouse.up()
    at_rest(page)
    assert thing(page, "BOOK")["at"] == book["at"]
    assert len(steps(page)) == count
    assert written(shop) == before


def test_escape_leaves_alone_what_another_window_did_meanwhile(
    page: Page, shop: Served, open_page: Open
) -> None:
    other, _ = open_page(shop)
    book = thing(page, "BOOK")
    start = on_screen(page, book["at"])
    drag(page, start, (start[0] + 60, start[1] - 30), lift=False)
    at_rest(page)
    other.evaluate("falloff.edit([{do: 'dim', source: 'GLOBE', knob: 0.5}])")
    until(page, "() => falloff.tree.setups['WIDE SHOT'].dims.GLOBE.knob === 0.5")
    page.keyboard.press("Escape")
    page.mouse.up()
    at_rest(page)
    assert thing(page, "BOOK")["at"] == pytest.approx(book["at"], abs=2e-3)
    assert page.evaluate("falloff.tree.setups['WIDE SHOT'].dims.GLOBE.knob") == 0.5


def test_what_is_written_for_one_setup_is_moved_in_that_setup(page: Page, shop: Served) -> None:
    page.evaluate("falloff.look.set({setup: 'CLOSE-UP'})")
    page.wait_for_timeout(200)
    before = written(shop)
    book = thing(page, "BOOK")
    start = on_screen(page, book["at"])
    drag(page, start, (start[0] + 50, start[1] + 20))
    at_rest(page)
    assert "in this setup alone" in page.locator(".plan-facts-head").inner_text()
    after = written(shop)
    assert line(after, "CLOSE-UP:") != line(before, "CLOSE-UP:")
    assert "from: MAKER" in line(after, "CLOSE-UP:")
    assert without(after, "CLOSE-UP:") == without(before, "CLOSE-UP:")


def test_a_drag_sends_at_most_twelve_edits_a_second_and_tells_its_end(page: Page) -> None:
    page.evaluate(
        """() => {
          window.sent = [];
          const send = falloff.link.send.bind(falloff.link);
          falloff.link.send = (message) => {
            window.sent.push({ ...message, ms: performance.now() });
            return send(message);
          };
        }"""
    )
    start = on_screen(page, thing(page, "WALL HEAD")["at"])
    page.mouse.move(*start)
    page.mouse.down()
    for k in range(60):
        page.mouse.move(start[0] - 2 * k, start[1] + k)
        page.wait_for_timeout(15)
    page.mouse.up()
    at_rest(page)
    sent = page.evaluate("window.sent")
    edits = [one for one in sent if one["t"] == "edit"]
    assert len({one["gesture"] for one in edits}) == 1
    assert len(edits) > 4
    assert all(b["ms"] - a["ms"] > 75 for a, b in pairwise(edits[:-1]))
    told = [one["t"] for one in sent if one["t"] != "ask"]  # where the sun falls now
    assert told[-1] == "rest"
    x, y = (edits[-1]["changes"][0][key] for key in ("x_m", "y_m"))
    assert thing(page, "WALL HEAD")["at"] == pytest.approx([x, y], abs=1e-3)


def test_it_is_aimed_at_a_subject_by_dropping_the_handle_on_them(page: Page, shop: Served) -> None:
    before = written(shop)
    choose(page, "WALL HEAD")
    maker = thing(page, "MAKER")
    drag(page, handle(page, "aim"), on_screen(page, maker["face"]))
    at_rest(page)
    assert thing(page, "WALL HEAD")["aims_at"] == "MAKER.face"
    at = before.splitlines().index("    aim: [3.6 m, 4.6 m, 1.5 m]")
    assert written(shop).splitlines()[at] == "    aim: MAKER.face"
    # And off them again, to a point of the plan.
    drag(page, handle(page, "aim"), on_screen(page, (3.0, 1.0)))
    at_rest(page)
    assert thing(page, "WALL HEAD")["aims_at"] is None
    assert thing(page, "WALL HEAD")["aim"] == pytest.approx([3.0, 1.0], abs=0.06)


def test_a_prop_is_turned_by_its_handle(page: Page, shop: Served) -> None:
    choose(page, "CRATE")
    crate, count = thing(page, "CRATE"), len(steps(page))
    middle, end = on_screen(page, crate["at"]), handle(page, "turn")
    radius = math.dist(middle, end)
    way = math.radians(crate["turn_deg"] - 90.0 + 60.0)
    to = (middle[0] + radius * math.cos(way), middle[1] - radius * math.sin(way))
    drag(page, end, to)
    at_rest(page)
    assert thing(page, "CRATE")["turn_deg"] == pytest.approx(crate["turn_deg"] + 60.0, abs=5.0)
    assert len(steps(page)) == count + 1
    assert re.search(r"CRATE: .* turn: 6?\d+(\.\d)? deg", written(shop))


def test_places_snap_and_shift_lets_them_be(page: Page) -> None:
    plant = thing(page, "PLANT")
    choose(page, "PLANT")
    drag(page, on_screen(page, plant["at"]), on_screen(page, (1.234, 3.187)))
    at_rest(page)
    assert thing(page, "PLANT")["at"] == pytest.approx((1.2, 3.2), abs=1e-3)
    drag(page, on_screen(page, (1.2, 3.2)), on_screen(page, (1.537, 3.463)), shift=True)
    at_rest(page)
    assert thing(page, "PLANT")["at"] == pytest.approx((1.537, 3.463), abs=0.02)
    # A light that looks at someone snaps to half hours of their clock, and to half metres.
    maker = thing(page, "MAKER")
    way = math.radians(maker["facing_deg"] - 30.0 * (8.06 - 6.0))
    near = [one + 1.47 * part for one, part in zip(maker["mark"], _way(way), strict=True)]
    drag(page, on_screen(page, thing(page, "BOOK")["at"]), on_screen(page, (near[0], near[1])))
    at_rest(page)
    told = thing(page, "BOOK")["distance"]
    assert (told["distance_m"], told["clock_hour"]) == pytest.approx((1.5, 8.0), abs=2e-3)


def _way(angle_rad: float) -> Spot:
    return (math.cos(angle_rad), math.sin(angle_rad))


def test_a_prop_stands_against_a_wall(page: Page) -> None:
    choose(page, "PLANT")
    plant = thing(page, "PLANT")
    left = min(x for x, _ in plant["outline"])
    start = on_screen(page, plant["at"])
    to = on_screen(page, (plant["at"][0] - left + 0.04, plant["at"][1] - 0.43))
    drag(page, start, to)
    at_rest(page)
    assert min(x for x, _ in thing(page, "PLANT")["outline"]) == pytest.approx(0.005, abs=0.01)


def test_a_wall_and_a_corner_are_pulled(page: Page, shop: Served) -> None:
    page.mouse.click(*on_screen(page, (1.2, 0.0)))
    page.locator('[data-handle="wall"]').wait_for()
    start, count = handle(page, "wall"), len(steps(page))
    far = on_screen(page, (0.0, 0.0))[1] - on_screen(page, (0.0, 0.5))[1]
    drag(page, start, (start[0], start[1] + far))
    at_rest(page)
    assert np.array(plan(page)["rooms"][0]["floor"][:2]) == pytest.approx(
        np.array([[0, -0.5], [5.4, -0.5]]), abs=0.06
    )
    assert len(steps(page)) == count + 1
    assert re.search(r"floor: \[\[0 m, -0\.\d+ m\], \[5.4 m, -0\.\d+ m\]", written(shop))
    page.locator('[data-handle="corner 1"]').wait_for()
    drag(page, handle(page, "corner 1"), on_screen(page, (5.0, -0.2)))
    at_rest(page)
    assert plan(page)["rooms"][0]["floor"][1] == pytest.approx([5.0, -0.2], abs=0.06)


def test_a_window_slides_along_its_wall(page: Page, shop: Served) -> None:
    window = thing(page, "WINDOW")
    middle = (window["a"][0], window["a"][1] - 0.4)
    page.mouse.click(*on_screen(page, middle))
    until(page, "() => falloff.look.state.chosen === 'WINDOW'")
    page.wait_for_timeout(150)
    drag(page, on_screen(page, middle), on_screen(page, (middle[0], middle[1] - 0.4)))
    at_rest(page)
    assert thing(page, "WINDOW")["along_m"] == pytest.approx(window["along_m"] + 0.4, abs=0.06)
    assert "    along: 1.4 m\n    width: 1.7 m\n" in written(shop)
    # No further than the wall goes; a reading that lies over it does not come into the way.
    (reading,) = [one for one in plan(page)["readings"] if one["name"] == "the window"]
    middle = tuple(reading["at"])
    drag(page, on_screen(page, middle), on_screen(page, (middle[0], middle[1] - 3.0)))
    at_rest(page)
    assert thing(page, "the window")["at"] == reading["at"]
    assert thing(page, "WINDOW")["along_m"] == pytest.approx(4.6 - 1.7, abs=1e-3)


def test_it_measures(page: Page) -> None:
    page.get_by_role("button", name="Measure").click()
    from_spot, to_spot = (1.0, 0.6), (3.0, 3.4)
    drag(page, on_screen(page, from_spot), on_screen(page, to_spot), shift=True)
    told = page.locator(".plan-measure text").text_content()
    assert told is not None
    assert float(told.removesuffix(" m")) == pytest.approx(math.dist(from_spot, to_spot), abs=0.03)
    page.keyboard.press("Escape")
    # It measures from a corner to a corner where the hand is near enough.
    page.get_by_role("button", name="Measure").click()
    drag(page, on_screen(page, (0.03, 0.03)), on_screen(page, (5.37, 4.57)))
    assert page.locator(".plan-measure text").text_content() == f"{math.hypot(5.4, 4.6):.2f} m"


def test_a_reading_is_put_on_the_plan(page: Page, shop: Served) -> None:
    page.get_by_role("button", name="Reading", exact=True).click()
    page.mouse.click(*on_screen(page, (1.5, 1.2)))
    box = page.get_by_role("dialog", name="New reading")
    box.get_by_role("button", name="Take reading").click()
    until(page, "() => falloff.tree.reading_order.length === 12")
    at_rest(page)
    name = page.evaluate("falloff.tree.reading_order.at(-1)")
    assert thing(page, name)["at"] == pytest.approx([1.5, 1.2], abs=0.02)
    assert thing(page, name)["z_m"] == pytest.approx(thing(page, "MAKER")["face_z_m"], abs=1e-3)
    assert f"  {name}: " in written(shop)


def test_a_double_click_adds_from_the_kit_there(page: Page, shop: Served) -> None:
    page.mouse.dblclick(*on_screen(page, (4.0, 1.0)))
    box = page.get_by_role("dialog", name="add from the kit")
    box.get_by_role("searchbox").fill("300 W LED, open")
    box.get_by_role("button", name="300 W LED, open face", exact=True).click()
    until(page, "() => falloff.tree.plans['WIDE SHOT'].units.length === 4")
    at_rest(page)
    assert thing(page, "300 W LED")["at"] == pytest.approx([4.0, 1.0], abs=0.02)
    assert page.evaluate("falloff.look.state.chosen") == "300 W LED"
    assert 'kit: "300 W LED, open face"' in written(shop)


@pytest.mark.parametrize(
    ("section", "what", "group"),
    [
        ("practicals", "candle", "units"),
        ("grip", "bounce", "bodies"),
        ("props", "stool", "bodies"),
        ("subjects", "man standing", "subjects"),
    ],
)
def test_the_kit_has_more_than_lights(page: Page, section: str, what: str, group: str) -> None:
    names = {one["name"] for one in plan(page)[group]}
    count = len(names)
    page.get_by_role("button", name="Add", exact=True).click()
    box = page.get_by_role("dialog", name="add from the kit")
    box.get_by_role("searchbox").fill(what)
    box.get_by_role("button", name=re.compile(f"^{re.escape(what)}")).first.click()
    until(page, f"() => falloff.tree.plans['WIDE SHOT'].{group}.length === {count + 1}")
    (new,) = {one["name"] for one in plan(page)[group]} - names
    until(page, f"() => falloff.look.state.chosen === {new!r}")


def test_the_section_sets_heights(page: Page, shop: Served) -> None:
    before = written(shop)
    page.get_by_role("radio", name="From the front").check()
    head = thing(page, "WALL HEAD")
    start = on_screen(page, (head["at"][0], head["z_m"]))
    drag(page, start, on_screen(page, (head["at"][0] + 0.3, head["z_m"] - 0.5)), lift=False)
    page.keyboard.press("Escape")
    page.mouse.up()
    at_rest(page)
    assert written(shop) == before
    drag(page, start, on_screen(page, (head["at"][0] + 0.3, head["z_m"] - 0.5)))
    at_rest(page)
    now = thing(page, "WALL HEAD")
    assert now["z_m"] == pytest.approx(head["z_m"] - 0.5, abs=0.06)
    assert now["at"] == head["at"]
    assert f"at: [4.75 m, 2.95 m, {now['z_m']:g} m]" in written(shop)
    page.keyboard.press("PageUp")
    at_rest(page)
    assert thing(page, "WALL HEAD")["z_m"] == pytest.approx(now["z_m"] + 0.05, abs=2e-3)


# The keys --------------------------------------------------------------------------------


def test_all_of_it_by_keys(page: Page, shop: Served) -> None:
    before = written(shop)
    page.locator('.plan-item[tabindex="0"]').first.focus()
    page.keyboard.press("Enter")
    until(page, "() => falloff.look.state.chosen === 'BOOK'")
    page.keyboard.press("Tab")
    until(page, "() => falloff.look.state.chosen === 'WALL HEAD'")
    head, count = thing(page, "WALL HEAD"), len(steps(page))
    for _ in range(3):
        page.keyboard.press("ArrowLeft")
    page.keyboard.press("Shift+ArrowUp")
    at_rest(page)
    want = [head["at"][0] - 0.15, head["at"][1] + 0.01]
    assert thing(page, "WALL HEAD")["at"] == pytest.approx(want, abs=2e-3)
    assert len(steps(page)) == count + 1
    page.keyboard.press("[")
    page.keyboard.press("[")
    at_rest(page)
    turned = thing(page, "WALL HEAD")["pan_deg"] - _pan(want, head["aim"])
    assert turned == pytest.approx(10.0, abs=0.5)
    page.keyboard.press("]")
    page.keyboard.press("PageDown")
    at_rest(page)
    assert thing(page, "WALL HEAD")["z_m"] == pytest.approx(head["z_m"] - 0.05, abs=2e-3)
    page.keyboard.press("d")
    until(page, "() => falloff.look.state.chosen === 'WALL HEAD 2'")
    page.keyboard.press("ArrowUp")
    at_rest(page)
    assert "  WALL HEAD 2:" in written(shop)
    page.keyboard.press("Delete")
    until(page, "() => !falloff.tree.sources['WALL HEAD 2']")
    at_rest(page)
    for _ in range(len(steps(page)) - count):
        page.keyboard.press("Control+z")
    until(page, f"() => falloff.status.value.at === {count - 1}")
    at_rest(page)
    assert written(shop) == before


def _pan(at: list[float], aim: list[float]) -> float:
    return math.degrees(math.atan2(aim[1] - at[1], aim[0] - at[0]))


def test_aim_and_numbers_by_keys(page: Page, shop: Served) -> None:
    choose(page, "WALL HEAD")
    page.keyboard.press("a")
    until(page, "() => document.activeElement.classList.contains('plan-aim')")
    page.keyboard.press("Escape")
    page.locator(".plan-aim").select_option("MAKER.chest")
    at_rest(page)
    assert "aim: MAKER.chest" in written(shop)
    page.get_by_role("textbox", name="Above floor").fill("210 cm")
    page.keyboard.press("Enter")
    at_rest(page)
    assert "at: [4.75 m, 2.95 m, 2.1 m]" in written(shop)
    assert page.evaluate("document.activeElement.dataset.key") == "WALL HEAD"
    page.get_by_role("textbox", name="Aperture").fill("0.2")
    page.keyboard.press("Enter")
    at_rest(page)
    assert "aperture: 20 cm" in written(shop)
    page.get_by_role("textbox", name="Aperture").fill("wide")
    page.keyboard.press("Enter")
    assert page.get_by_role("textbox", name="Aperture").input_value() == "0.20 m"


def test_a_window_and_a_wall_by_keys(page: Page) -> None:
    page.evaluate("falloff.look.set({chosen: 'WINDOW'})")
    page.locator('.plan-item[data-key="WINDOW"]').focus()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    at_rest(page)
    assert thing(page, "WINDOW")["along_m"] == pytest.approx(1.1, abs=2e-3)
    page.locator('.plan-item[data-key="wall 1"]').focus()
    page.keyboard.press("Enter")
    count = len(steps(page))
    for _ in range(4):
        page.keyboard.press("ArrowDown")
    at_rest(page)
    assert plan(page)["rooms"][0]["floor"][0] == pytest.approx([0.0, -0.2], abs=2e-3)
    assert len(steps(page)) == count + 1


def test_tab_leads_out_of_the_drawing_after_escape(page: Page) -> None:
    choose(page, "BOOK")
    page.keyboard.press("Escape")
    assert page.evaluate("falloff.look.state.chosen") is None
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('.plan-sheet') === null")


# What is drawn ---------------------------------------------------------------------------


def test_beams_end_at_the_walls(page: Page) -> None:
    drawn = plan(page)
    floor = np.array(drawn["rooms"][0]["floor"])
    holes = [np.array(one["hole"]) for one in drawn["openings"]]
    for name in ("BOOK", "WALL HEAD", "GLOBE"):
        beam = np.array(thing(page, name)["beam"])
        inside = np.any([_inside(beam, one) for one in (floor, *holes)], axis=0)
        assert inside.all(), name
    choose(page, "BOOK")
    d = page.locator(".plan-beam.is-chosen").get_attribute("d")
    assert d is not None
    shown = np.array([[float(x) for x in one.split()] for one in d.strip("MZ").split("L")])
    assert shown.shape == np.array(thing(page, "BOOK")["beam"]).shape
    assert np.any([_inside(shown, one) for one in (floor, *holes)], axis=0).all()


def _inside(points: Float64Array, floor: Float64Array) -> np.ndarray[Any, np.dtype[np.bool_]]:
    """Which points (n, 2) lie within an outline (k, 2) without dents, or on it."""
    turn = floor[:, 0] @ np.roll(floor[:, 1], -1) - floor[:, 1] @ np.roll(floor[:, 0], -1)
    floor = floor if turn > 0.0 else floor[::-1]
    ways = np.roll(floor, -1, axis=0) - floor
    away = points[:, None] - floor
    return np.asarray((ways[:, 0] * away[..., 1] - ways[:, 1] * away[..., 0] > -5e-3).all(axis=1))


def test_zoom_pan_and_fit(page: Page) -> None:
    spot = on_screen(page, (2.0, 2.0))
    page.mouse.move(*spot)
    page.mouse.wheel(0, -300)
    page.wait_for_timeout(50)
    assert on_screen(page, (2.0, 2.0)) == pytest.approx(spot, abs=1.5)
    empty = on_screen(page, (4.4, 1.2))
    drag(page, empty, (empty[0] + 40, empty[1] - 25))
    assert on_screen(page, (2.0, 2.0)) == pytest.approx((spot[0] + 40, spot[1] - 25), abs=4)
    page.get_by_role("button", name="Fit").click()
    page.wait_for_timeout(50)
    assert on_screen(page, (2.0, 2.0)) == pytest.approx(spot, abs=1.5)
    assert len(steps(page)) == page.evaluate("falloff.status.value.at") + 1


def test_what_another_window_deletes_under_the_hand(
    page: Page, shop: Served, open_page: Open
) -> None:
    other, _ = open_page(shop)
    choose(page, "WALL HEAD")
    start = on_screen(page, thing(page, "WALL HEAD")["at"])
    drag(page, start, (start[0] - 40, start[1]), lift=False)
    at_rest(page)
    other.evaluate("falloff.edit([{do: 'delete', name: 'WALL HEAD'}])")
    until(page, "() => !falloff.tree.sources['WALL HEAD']")
    page.mouse.move(start[0] - 80, start[1] + 10, steps=5)
    page.mouse.up()
    page.keyboard.press("ArrowLeft")
    page.wait_for_timeout(300)
    assert page.evaluate("falloff.look.state.chosen") is None
    assert page.evaluate("falloff.said.value.tone") != "refused"
    assert page.locator(".plan-facts-hint").first.is_visible()
    choose(page, "BOOK")


def test_a_refusal_shows_it_where_it_is(page: Page) -> None:
    choose(page, "WALL HEAD")
    page.evaluate(
        """() => {
          const edit = falloff.edit.bind(falloff);
          falloff.edit = (changes, how) => edit([...changes, { do: 'nothing' }], how);
        }"""
    )
    at = on_screen(page, thing(page, "WALL HEAD")["at"])
    page.keyboard.press("ArrowLeft")
    until(page, "() => falloff.said.value.tone === 'refused'")
    group = page.locator('.plan-item[data-key="WALL HEAD"]')
    assert group.get_attribute("transform") is None
    assert on_screen(page, thing(page, "WALL HEAD")["at"]) == at


def test_feet_in_an_imperial_scene(page: Page, shop: Served) -> None:
    page.evaluate("falloff.edit([{do: 'put', path: ['units'], text: 'imperial'}])")
    until(page, "() => falloff.tree.units === 'imperial'")
    choose(page, "BOOK")
    assert page.locator(".plan-unit-mark").text_content() == "ft"
    assert page.get_by_role("textbox", name="Distance").input_value() == "6 ft 11 in"
    page.get_by_role("textbox", name="Distance").fill("7 ft")
    page.keyboard.press("Enter")
    at_rest(page)
    # It was written in metres, so it stays in metres.
    assert "distance: 2.134 m" in written(shop)
    drag(page, on_screen(page, (1.0, 0.3)), on_screen(page, (1.2, 0.4)))
    page.get_by_role("button", name="Measure").click()
    drag(page, on_screen(page, (0.03, 0.03)), on_screen(page, (5.37, 0.03)))
    assert page.locator(".plan-measure text").text_content() == "17 ft 9 in"


def test_nothing_bars_a_screen_reader(shop: Served, browser: Browser) -> None:
    # axe has to be put into the page, which its policy bars to everybody but this context.
    context = browser.new_context(
        viewport={"width": 1440, "height": 900}, bypass_csp=True, color_scheme="dark"
    )
    page = context.new_page()
    page.goto(shop.address)
    until(page, "() => window.falloff?.tree?.plans")
    until(page, "() => document.querySelector('.place.in-plan')")
    unfold(page)
    found = violations(page)
    page.evaluate("falloff.look.set({chosen: 'BOOK'})")
    found += violations(page)
    page.get_by_role("radio", name="From the front").check()
    found += violations(page)
    page.get_by_role("button", name="Add", exact=True).click()
    found += violations(page)
    context.close()
    assert found == []


def violations(page: Page) -> list[Any]:
    """What axe finds that matters."""
    page.wait_for_timeout(200)
    page.evaluate(AXE.read_text(encoding="utf-8"))
    told = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    return [
        (one["id"], [" ".join(map(str, node["target"])) for node in one["nodes"]])
        for one in told["violations"]
        if one["impact"] in {"serious", "critical"}
    ]


def test_two_rooms_fit(serve: Serve, open_page: Open) -> None:
    # A stairwell with a hall beside it, and a light above its skylight.
    page, watcher = open_page(serve(WORKSHOP.with_name("stairwell.scene.yaml")))
    unfold(page)
    box = page.locator(".plan-sheet").bounding_box()
    assert box is not None
    for room in plan(page)["rooms"]:
        for spot in room["floor"]:
            x, y = on_screen(page, spot)
            assert box["x"] < x < box["x"] + box["width"]
            assert box["y"] < y < box["y"] + box["height"]
    assert watcher.complaints == []
