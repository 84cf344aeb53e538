"""What the window promises: one scene in all of them, nothing lost, nothing from elsewhere."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Page
from tests.page.conftest import SETTLED, Open, Serve, Served, Watcher, pixels, until

SOURCE = "SOFTBOX"


def knob(page: Page, source: str = SOURCE) -> float:
    """The dim of a source as the window's tree has it."""
    return float(page.evaluate("(s) => falloff.tree.setups.TEST.dims[s].knob", source))


def dim(page: Page, value: float, source: str = SOURCE) -> None:
    """Ask for a dim and wait until the tree says it."""
    page.evaluate("([s, k]) => falloff.edit([{ do: 'dim', source: s, knob: k }])", [source, value])
    until(page, f"() => falloff.tree.setups.TEST.dims.{source}.knob === {value}")


def alike(shown: np.ndarray, wanted: np.ndarray) -> None:
    """Within one code value everywhere, and equal nearly everywhere."""
    away = np.abs(shown.astype(int) - wanted.astype(int))
    assert away.max() <= 1
    assert np.mean(away == 0) > 0.97


@pytest.fixture
def opened(serve: Serve, open_page: Open) -> tuple[Served, Page, Watcher]:
    """A window on a scene of its own, its light there."""
    served = serve()
    page, watcher = open_page(served)
    until(page, SETTLED)
    return served, page, watcher


def test_nothing_from_elsewhere_and_nothing_complains(serve: Serve, open_page: Open) -> None:
    served = serve()
    page, watcher = open_page(served, wait=False)
    page.evaluate(
        """() => {
          window.barred = [];
          const hear = (event) => barred.push(event.blockedURI);
          document.addEventListener("securitypolicyviolation", hear);
        }"""
    )
    until(page, "() => window.falloff && falloff.tree")
    until(page, SETTLED)
    for look in ("map: true", "map: false, waveform: true", "plan: true, light: 'direct'"):
        page.evaluate(f"() => falloff.look.set({{ {look} }})")
        page.wait_for_timeout(200)
    dim(page, 0.5)
    page.get_by_role("button", name="Steps").click()
    page.keyboard.press("Escape")
    page.wait_for_timeout(300)
    assert page.evaluate("() => barred") == []
    assert watcher.complaints == []
    assert len(watcher.asked) > 20
    assert [url for url in watcher.asked if not url.startswith(served.address)] == []
    # What the policy bars is heard of at all.
    page.evaluate("() => fetch('http://127.0.0.1:9/').catch(() => {})")
    until(page, "() => barred.length > 0")


def test_two_windows_agree_and_each_looks_for_itself(
    opened: tuple[Served, Page, Watcher], open_page: Open
) -> None:
    served, first, _ = opened
    second, _ = open_page(served)
    same = "() => JSON.stringify([falloff.tree, falloff.status.value.at, falloff.rev])"

    def agree() -> None:
        for page in (first, second):
            until(page, "() => falloff.pending.size === 0")
        for _ in range(100):
            if first.evaluate(same) == second.evaluate(same):
                return
            first.wait_for_timeout(50)
        assert first.evaluate(same) == second.evaluate(same)

    agree()
    first.evaluate("() => falloff.look.set({ map: true, alone: 'SOFTBOX' })")
    dim(first, 0.5)
    until(second, "() => falloff.tree.setups.TEST.dims.SOFTBOX.knob === 0.5")
    dim(second, 0.25, "BEAM")
    agree()
    first.evaluate("() => falloff.undo()")  # the other's step
    until(second, "() => falloff.tree.setups.TEST.dims.BEAM.knob === 1")
    agree()
    second.evaluate("() => falloff.undo()")
    until(first, "() => falloff.tree.setups.TEST.dims.SOFTBOX.knob === 1")
    agree()
    second.evaluate("() => falloff.redo()")
    until(first, "() => falloff.tree.setups.TEST.dims.SOFTBOX.knob === 0.5")
    agree()
    assert second.evaluate("() => [falloff.look.state.map, falloff.look.state.alone]") == [
        False,
        None,
    ]
    # A look outlives a reload of its window and is in no step.
    steps = first.evaluate("() => falloff.steps()")
    first.reload()
    until(first, "() => window.falloff && falloff.tree")
    assert first.evaluate("() => [falloff.look.state.map, falloff.look.state.alone]") == [
        True,
        "SOFTBOX",
    ]
    assert first.evaluate("() => falloff.steps()") == steps
    # Edits of both at once: each takes effect, both windows end alike.
    for k in range(5):
        for page, name in ((first, "BEAM"), (second, "GLOBE")):
            page.evaluate(
                "([s, k]) => falloff.edit([{ do: 'dim', source: s, knob: k }])",
                [name, 0.9 - 0.1 * k],
            )
    for page in (first, second):
        for name in ("BEAM", "GLOBE"):
            until(page, f"() => falloff.tree.setups.TEST.dims.{name}.knob === 0.5")
    agree()


def test_a_server_that_dies_is_told_of_and_comes_back(
    opened: tuple[Served, Page, Watcher], serve: Serve
) -> None:
    served, page, _ = opened
    assert served.scene is not None
    dim(page, 0.5)
    until(page, "() => falloff.status.value.saved")
    served.kill()
    until(page, "() => !falloff.status.value.open")
    assert page.locator(".saved").inner_text() == "Not linked"
    # Refused with a sentence; what a hand held goes back to what holds.
    page.evaluate(
        """() => {
          falloff.hold("SOFTBOX", { knob: 0.1 });
          window.went = falloff.edit([{ do: "dim", source: "SOFTBOX", knob: 0.1 }]);
          falloff.hold("SOFTBOX", null);
        }"""
    )
    assert page.evaluate("() => [went, falloff.held.size, falloff.pending.size]") == [False, 0, 0]
    assert "linked" in page.locator(".said").inner_text()
    assert page.get_by_role("button", name="Undo").is_disabled()
    why = page.evaluate(
        """() => falloff.ask("point", { setup: "TEST", x: 0.5, y: 0.5 })
          .then(() => "", (fault) => fault.message)"""
    )
    assert "linked" in why
    # Meanwhile the file is another one: the page must not hold on to its own.
    text = served.scene.read_text(encoding="utf-8")
    assert "50 %" in text
    served.scene.write_text(text.replace("50 %", "30 %"), encoding="utf-8")
    serve(own=served.scene, port=served.port)
    until(page, "() => falloff.status.value.open", timeout_s=10)
    until(page, "() => falloff.tree.setups.TEST.dims.SOFTBOX.knob === 0.3")
    dim(page, 0.8)
    until(page, SETTLED)


def test_work_on_its_way_is_told_to_have_ended(opened: tuple[Served, Page, Watcher]) -> None:
    served, page, _ = opened
    page.evaluate(
        """() => {
          window.ended = "";
          const { done } = falloff.job("full", { setup: "TEST", width: 1920 });
          done.catch((fault) => (window.ended = fault.message));
        }"""
    )
    served.kill()
    until(page, "() => ended.includes('linked')")


def test_a_gap_in_the_patches_makes_the_window_come_back(
    opened: tuple[Served, Page, Watcher],
) -> None:
    _, page, watcher = opened
    told = page.evaluate(
        """() => new Promise((resolve) => {
          const heard = [];
          falloff.link.heard.watch((m) => m.t === "hello" && resolve([...heard, m.rev]));
          falloff.store.watch((tree) => tree.title, (title) => heard.push(title));
          const patch = [[["title"], "Never"]];
          const { steps, at } = falloff.status.value;
          const gap = { t: "patch", rev: falloff.rev + 2, patch, window: null, seq: null };
          falloff.link.heard.tell({ ...gap, steps, at });
          heard.push(falloff.edit([{ do: "dim", source: "SOFTBOX", knob: 0.2 }]));
        })"""
    )
    # Between giving up the old link and the new hello nothing can be lost: it is refused.
    assert told == ["Test room", False, 0]
    dim(page, 0.4)
    # So does a patch that fits nowhere.
    page.evaluate(
        """() => {
          const { steps, at } = falloff.status.value;
          window.hellos = 0;
          falloff.link.heard.watch((m) => m.t === "hello" && (hellos += 1));
          falloff.link.heard.tell({ t: "patch", rev: falloff.rev + 1, steps, at, window: null,
            seq: null, patch: [[["no", "such", "place"], 1]] });
        }"""
    )
    until(page, "() => hellos === 1 && falloff.status.value.open")
    assert knob(page) == 0.4
    assert watcher.complaints == []


def test_patches_right_after_the_hello_are_not_lost(opened: tuple[Served, Page, Watcher]) -> None:
    """The hello's tables take their time; a patch that comes meanwhile belongs to its tree."""
    _, page, _ = opened
    said = page.evaluate(
        """async () => {
          const main = [...document.scripts].find((s) => s.src.endsWith("main.js")).src;
          const { App } = await import(main.replace("main.js", "app.js"));
          const app = new App();
          app.blobs = { get: () => new Promise(() => {}) };
          app.link.send = () => true;
          const tree = { ...falloff.tree, title: "One" };
          const steps = ["as opened"];
          app.hear({ t: "hello", version: "1", rev: 7, tree, steps, at: 0, saved: true });
          app.hear({ t: "patch", rev: 8, patch: [[["title"], "Two"]], steps: ["as opened", "title"],
            at: 1, window: null, seq: null });
          return [app.tree.title, app.rev];
        }"""
    )
    assert said == ["Two", 8]


def test_an_edit_of_what_another_has_deleted_is_refused(
    opened: tuple[Served, Page, Watcher], open_page: Open
) -> None:
    served, first, watcher = opened
    second, _ = open_page(served)
    second.evaluate("() => falloff.look.set({ alone: 'BEAM' })")
    first.evaluate("() => falloff.edit([{ do: 'delete', name: 'BEAM' }])")
    # Not waited for: its window may not know yet, and asks with the hand still on it.
    second.evaluate(
        """() => {
          falloff.hold("BEAM", { knob: 0.5 });
          falloff.edit([{ do: "dim", source: "BEAM", knob: 0.5 }]);
        }"""
    )
    until(second, "() => falloff.tree.sources.BEAM === undefined")
    until(second, "() => falloff.pending.size === 0 && falloff.held.size === 0")
    for page in (first, second):
        assert page.evaluate("() => Boolean(falloff.tree.sources.SOFTBOX)")
    # At worst it came first; once more it is too late for sure.
    second.evaluate("() => falloff.edit([{ do: 'dim', source: 'BEAM', knob: 0.4 }])")
    until(second, "() => falloff.said.value.tone === 'refused'")
    assert "BEAM" in second.locator(".said").inner_text()
    assert first.evaluate("() => falloff.said.value.text ?? ''") == ""
    # Looking at it alone ends with it: the others are there.
    assert second.evaluate("() => falloff.look.state.alone") is None
    until(second, "() => falloff.light.of('TEST')?.layers.size === 3")
    until(second, SETTLED)
    assert pixels(second).mean() > 50
    assert watcher.complaints == []


def test_a_scene_without_light_is_dark_and_not_awaited(
    opened: tuple[Served, Page, Watcher],
) -> None:
    _, page, watcher = opened
    names = ["WINDOW", "SOFTBOX", "BEAM", "GLOBE"]
    for name in names:
        page.evaluate("(name) => falloff.edit([{ do: 'delete', name }])", name)
    until(page, "() => falloff.tree.source_order.length === 0")
    until(page, "() => falloff.light.of('TEST')?.layers.size === 0")
    assert pixels(page).max() == 0
    assert page.locator(".picture-empty").is_hidden()
    assert watcher.complaints == []


def test_a_layer_that_comes_late_replaces_nothing_newer(
    same_server: Served, open_page: Open
) -> None:
    page, _ = open_page(same_server, wait=False)
    found = page.evaluate(
        """async () => {
          const main = [...document.scripts].find((s) => s.src.endsWith("main.js")).src;
          const { Light } = await import(main.replace("main.js", "light.js"));
          const waiting = new Map();
          const get = (key) => new Promise((resolve, reject) => {
            waiting.set(key, { resolve, reject });
          });
          const light = new Light({ get });
          const tick = () => new Promise((resolve) => setTimeout(resolve, 0));
          const come = async (key, value) => {
            waiting.get(key).resolve(new Float32Array([value, value, value]).buffer);
            await tick();
          };
          const hear = (key, more = {}) => light.hear({ t: "light", setup: "S", pass: "full",
            size: [1, 1], layers: { KEY: { sum: key, direct: `${key} direct` } }, pending: [],
            whole: true, ...more });
          const now = () => light.of("S")?.layers.get("KEY")?.sum[0] ?? null;
          const seen = [];
          hear("old", { ground: "old ground" });
          hear("new", { ground: "new ground" });
          await come("new", 2);
          seen.push(now());
          await come("old", 1);
          seen.push(now());
          await come("new ground", 0.2);
          await come("old ground", 0.1);
          seen.push(Math.fround(0.2) === light.of("S").ground[0]);
          // A late glance does not come over the full light, nor its direct light.
          hear("glance", { pass: "coarse", whole: false });
          light.wantDirect("S");
          hear("rested");
          await come("rested", 3);
          await come("rested direct", 2);
          await come("glance", 9);
          await come("glance direct", 9);
          seen.push(now(), light.of("S").layers.get("KEY").direct[0]);
          // One that failed is asked for again, unless something newer is wanted.
          hear("broken");
          waiting.get("broken").reject(new Error("gone"));
          waiting.delete("broken");
          await new Promise((resolve) => setTimeout(resolve, 700));
          seen.push(waiting.has("broken"));
          await come("broken", 4);
          await come("broken direct", 4);
          seen.push(now());
          // A source that is in no layers any more is gone, even where its light is on its way.
          hear("late");
          light.hear({ t: "light", setup: "S", pass: "full", size: [1, 1], layers: {}, pending: [],
            whole: true });
          await come("late", 5);
          await come("late direct", 5);
          seen.push(light.of("S").layers.size);
          return seen;
        }"""
    )
    assert found == [2, 2, True, 3, 2, True, 4, 0]


def test_what_a_hand_holds_is_shown_at_once(opened: tuple[Served, Page, Watcher]) -> None:
    _, page, _ = opened
    before = pixels(page)
    page.evaluate("() => falloff.look.set({ alone: 'SOFTBOX' })")
    page.evaluate("() => falloff.hold('SOFTBOX', { knob: 0.1 })")
    held = pixels(page)
    assert np.mean(held != before) > 0.5
    assert knob(page) == 1.0
    # The hand rests before the last word has come: what it holds stays until that word is there.
    gains = page.evaluate(
        """() => new Promise((resolve) => {
          const seen = [];
          const look = () => seen.push([falloff.tree.setups.TEST.dims.SOFTBOX.knob,
            falloff.gains("TEST").SOFTBOX[1]]);
          for (const knob of [0.3, 0.2, 0.1]) {
            falloff.edit([{ do: "dim", source: "SOFTBOX", knob }], { gesture: "test" });
          }
          falloff.hold("SOFTBOX", null);
          look();
          falloff.watchGains(() => {
            look();
            if (falloff.tree.setups.TEST.dims.SOFTBOX.knob === 0.1) resolve(seen);
          });
        })"""
    )
    assert [told for told, _ in gains] != [0.1] * len(gains)
    assert max(gain for _, gain in gains) - min(gain for _, gain in gains) < 1e-6
    until(page, "() => falloff.held.size === 0")
    assert knob(page) == 0.1
    alike(pixels(page), held)
    # Let go without a word: back at once.
    page.evaluate("() => falloff.hold('SOFTBOX', { knob: 1 })")
    assert np.mean(pixels(page) != held) > 0.5
    page.evaluate("() => falloff.hold('SOFTBOX', null)")
    alike(pixels(page), held)


def test_settings_move_the_picture_at_once(opened: tuple[Served, Page, Watcher]) -> None:
    """pencil: what is seen while it is moved is what is seen once it is set."""
    _, page, _ = opened
    for key, choice in (
        ("stop", "T5.6"), ("nd", "ND 0.9"), ("iso", "3200"), ("shutter", "90 deg"),
    ):  # fmt: skip
        before = pixels(page)
        page.evaluate(
            """([key, choice]) => {
              const { choices } = falloff.tree.tables;
              const [, stops] = choices[key].find(([text]) => text === choice);
              falloff.holdSettings({ [key]: stops });
            }""",
            [key, choice],
        )
        held, lux = pixels(page), page.evaluate("() => falloff.exposure('TEST').key_lux")
        assert np.mean(held != before) > 0.5
        set_now(page, key, choice)
        alike(pixels(page), held)
        now = page.evaluate("() => falloff.exposure('TEST').key_lux")
        assert now == pytest.approx(lux, rel=1e-4)


def test_white_balance_moves_the_picture_at_once(opened: tuple[Served, Page, Watcher]) -> None:
    """pencil: between the table's kelvins too, and out of no balance at all."""
    _, page, _ = opened
    page.evaluate("() => falloff.holdSettings({ stop: falloff.tree.setups.TEST.stop.stops + 2 })")
    set_now(page, "stop", "T5.6")
    for kelvin in (2950, 4333, 9970):
        before = pixels(page)
        page.evaluate("(kelvin) => falloff.holdSettings({ kelvin })", kelvin)
        held = pixels(page)
        assert np.mean(held != before) > 0.5
        set_now(page, "balance", f"{kelvin} K")
        alike(pixels(page), held)


def set_now(page: Page, key: str, text: str) -> None:
    """Let go of a setting as it is set, and wait for the word."""
    page.evaluate(
        """([key, text]) => {
          falloff.edit([{ do: "setting", key, text }]);
          falloff.holdSettings(null);
        }""",
        [key, text],
    )
    until(page, "() => falloff.pending.size === 0 && falloff.heldSettings === null")
    assert page.evaluate("(key) => falloff.tree.setups.TEST[key].text", key) == text


def test_direct_and_bounced_one_alone_and_one_left_out(
    opened: tuple[Served, Page, Watcher],
) -> None:
    _, page, watcher = opened

    def look(**changes: Any) -> np.ndarray:
        page.evaluate("(changes) => falloff.look.set(changes)", changes)
        until(page, "() => !document.querySelector('.picture-badges').dataset.told")
        return pixels(page)

    whole = look(light="all")
    direct = look(light="direct")
    bounced = look(light="bounced")
    assert direct.mean() < whole.mean()
    assert bounced.mean() < whole.mean()
    # In light, not in codes: the mixer's own sums.
    sums = page.evaluate(
        """async () => {
          const main = [...document.scripts].find((s) => s.src.endsWith("main.js")).src;
          const { Mixer } = await import(main.replace("main.js", "mixer.js"));
          const { layers, width, height } = falloff.light.of("TEST");
          const mixed = (pick) => {
            const mixer = new Mixer(width, height);
            for (const [name, layer] of layers) mixer.setLayer(name, pick(layer), width, height);
            mixer.setGains(falloff.gains("TEST"));
            return mixer.linear().slice();
          };
          const all = mixed(({ sum }) => sum);
          const direct = mixed(({ direct }) => direct);
          const bounced = mixed(({ sum, direct }) => sum.map((v, i) => Math.max(0, v - direct[i])));
          let most = 0;
          let off = 0;
          for (let i = 0; i < all.length; i += 1) {
            most = Math.max(most, all[i]);
            off = Math.max(off, Math.abs(all[i] - direct[i] - bounced[i]) / (all[i] + 1e-3));
          }
          return [most > 0, off];
        }"""
    )
    assert sums[0] is True
    assert sums[1] < 1e-4
    # The bounce of a room: light where no direct light is.
    dark = direct.max(axis=-1) == 0
    assert dark.any()
    assert bounced[dark].max() > 0

    alone = look(light="all", alone="GLOBE")
    assert page.evaluate(
        "() => Object.entries(falloff.gains('TEST')).filter(([, g]) => g[1] > 0)"
        ".map(([name]) => name)"
    ) == ["GLOBE"]
    assert alone.mean() < whole.mean()
    look(alone=None, unseen=["WINDOW", "SOFTBOX", "BEAM"])
    alike(pixels(page), alone)
    # Left out by the setup itself: dark at once, before it is traced without the unit.
    look(unseen=[])
    page.evaluate(
        """() => falloff.edit([{ do: "put", path: ["setups", "TEST", "without"],
          text: "[BEAM]" }])"""
    )
    until(page, "() => falloff.tree.setups.TEST.without.length === 1")
    assert page.evaluate("() => falloff.gains('TEST').BEAM") == [0, 0, 0]
    until(page, "() => !falloff.light.of('TEST').layers.has('BEAM')")
    until(page, SETTLED)
    assert pixels(page).mean() < whole.mean()
    assert watcher.complaints == []
