"""The picture in the window is Python's picture, and what is read off it is what is there."""

from __future__ import annotations

import math
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Page
from tests.page.conftest import PICTURE_PX, SETTLED, TEST_ROOM, Open, Serve, Served, pixels, until

from falloff.camera import Srgb8, develop, expose, mid_grey_luminance_nit
from falloff.constants import LUMINANCE_WEIGHTS
from falloff.document import PointPlace
from falloff.layers import LightLayers, trace_layers
from falloff.layers.live import LIVE_BUDGET
from falloff.session.picture import sizes_of
from falloff.session.scene import open_scene, setup_light
from falloff.stage import Stage
from falloff.transport import seen_reflectance
from falloff.types import Float32Array, Float64Array
from falloff.units import format_illuminance, format_stops_thirds

SETUP, CAMERA = "TEST", "CAMERA"


@dataclass(frozen=True, slots=True)
class Scene:
    """A scene file as Python traces it at the window's budget; size: of the picture, (w, h)."""

    path: Path
    stage: Stage
    layers: LightLayers
    size: tuple[int, int]

    @classmethod
    def of(cls, path: Path, width: int = PICTURE_PX) -> Scene:
        """Trace it."""
        (standing,) = open_scene(path).arrangements
        sizes = sizes_of(standing, standing.setups, width)
        layers = trace_layers(standing.stage, LIVE_BUDGET, sizes=sizes)
        return cls(path, standing.stage, layers, sizes[CAMERA])

    def light(self, path: Path | None = None) -> Float32Array:
        """The light of its picture (h, w, 3) under the setup that a scene file of it has."""
        setup = setup_light(open_scene(path or self.path).arrangements[0].document, SETUP)
        own = setup.coloured(self.layers)
        frame = expose(own.pictures(setup.camera), setup.dims, setup.settings)
        return np.asarray(frame.picture)

    def picture(self, path: Path | None = None) -> Srgb8:
        """The picture, as Python develops it."""
        setup = setup_light(open_scene(path or self.path).arrangements[0].document, SETUP)
        return develop(self.light(path), setup.settings)

    def grey_nit(self, path: Path | None = None) -> float:
        """The luminance of middle grey."""
        setup = setup_light(open_scene(path or self.path).arrangements[0].document, SETUP)
        return float(mid_grey_luminance_nit(setup.settings))

    def ray(self, x: float, y: float) -> tuple[Float64Array, Float64Array]:
        """Eye and direction of the ray through a place in the frame, shares from its upper left."""
        view = self.stage.views[CAMERA]
        across = (2.0 * x - 1.0) * view.tan_half_width * view.right
        return view.eye, view.forward + across + (1.0 - 2.0 * y) * view.tan_half_height * view.up


@pytest.fixture(scope="module")
def traced() -> Scene:
    """The witness's room as it is shipped."""
    return Scene.of(TEST_ROOM)


@pytest.fixture
def opened(serve: Serve, open_page: Open) -> Iterator[tuple[Served, Page]]:
    """A window on a scene of its own, its light there; it complains of nothing until the end."""
    served = serve()
    page, watcher = open_page(served)
    until(page, SETTLED)
    yield served, page
    assert watcher.complaints == []


def wait_for_rays(page: Page) -> None:
    """Until the worker has the rays itself: light kept from an earlier time is there before."""
    point = f"falloff.ask('point', {{ setup: '{SETUP}', x: 0.85, y: 0.4 }})"
    until(page, f"() => {point}.then(() => true, () => false)")


def file_of(served: Served) -> Path:
    """The scene file as the server has it now."""
    with urllib.request.urlopen(f"{served.address}scene", timeout=5) as answer:
        path = served.folder / "now.scene.yaml"
        path.write_bytes(answer.read())
    return path


def change(page: Page, *changes: dict[str, object]) -> None:
    """Ask for changes and wait for the word."""
    rev = page.evaluate("() => falloff.rev")
    page.evaluate("(changes) => falloff.edit(changes)", list(changes))
    until(page, f"() => falloff.pending.size === 0 && falloff.rev > {rev}")
    assert page.evaluate("() => falloff.said.value.text ?? ''") == ""


def alike(shown: Srgb8, wanted: Srgb8) -> None:
    """Within one code value everywhere, and equal nearly everywhere."""
    assert shown.shape == wanted.shape
    away = np.abs(shown.astype(int) - wanted.astype(int))
    assert away.max() <= 1
    assert np.mean(away == 0) > 0.97


def setting(key: str, text: str) -> dict[str, object]:
    return {"do": "setting", "key": key, "text": text}


def dim(source: str, knob: float) -> dict[str, object]:
    return {"do": "dim", "source": source, "knob": knob}


def test_the_canvas_shows_pythons_picture(opened: tuple[Served, Page], traced: Scene) -> None:
    """pencil: the same rays, the same sum, the same curve: one code value at most."""
    served, page = opened
    alike(pixels(page), traced.picture())
    for changes in (
        [dim("SOFTBOX", 0.35), dim("BEAM", 0.8), dim("GLOBE", 0.0)],
        [setting("stop", "T5.6"), setting("nd", "ND 0.3")],
        [setting("balance", "4300 K"), dim("SOFTBOX", 0.07)],
        [{"do": "colour", "source": "BEAM", "kelvin": 3200}],
    ):
        before = pixels(page)
        change(page, *changes)
        until(page, SETTLED)
        shown = pixels(page)
        assert np.mean(shown != before) > 0.1
        if changes[0]["do"] == "colour":  # another light, which is asked of the file anew
            alike(shown, Scene.of(file_of(served)).picture())
        else:
            alike(shown, traced.picture(file_of(served)))


def test_a_dragged_unit_is_followed_and_what_waits_is_marked(opened: tuple[Served, Page]) -> None:
    """pencil: coarse and marked while it moves; in the end what Python traces from nothing."""
    served, page = opened
    wait_for_rays(page)
    page.evaluate(
        """() => {
          window.told = [];
          window.passes = [];
          const badges = document.querySelector(".picture-badges");
          const look = () => told.push(badges.dataset.told ?? "");
          new MutationObserver(look).observe(badges, { childList: true });
          falloff.link.heard.watch((m) => m.t === "light" && passes.push([m.pass, m.whole]));
        }"""
    )
    for k in range(1, 5):
        page.evaluate(
            """(x) => falloff.edit([{ do: "place", name: "SOFTBOX", x_m: x, y_m: 1.2 }],
              { gesture: "drag" })""",
            4.6 - 0.1 * k,
        )
        until(page, "() => falloff.pending.size === 0")
        until(page, f"() => passes.filter(([pass]) => pass === 'coarse').length >= {min(k, 2)}")
    until(page, "() => told.some((text) => text.includes('waiting for the trace'))")
    until(page, "() => told.some((text) => text.includes('SOFTBOX: coarse'))")
    page.evaluate("() => falloff.rest()")
    moved = Scene.of(file_of(served)).picture()
    until(page, "() => passes.some(([, whole]) => whole)")
    for _ in range(40):  # light of a place before may come in between
        until(page, SETTLED)
        if np.abs(pixels(page).astype(int) - moved).max() <= 1:
            break
        page.wait_for_timeout(250)
    alike(pixels(page), moved)
    assert page.evaluate("() => document.querySelector('.picture-badges').dataset.told") == ""
    assert not any("SOFTBOX: waiting" in text for text in page.evaluate("() => told"))


def test_the_stops_map_says_what_is_clipped(opened: tuple[Served, Page], traced: Scene) -> None:
    """pencil: hatched where luminance is past the limit in Python's light, and nowhere else."""
    served, page = opened
    page.evaluate("() => falloff.look.set({ map: true })")
    darker = [setting("iso", "50"), setting("stop", "T8"), setting("shadow", "4 stops")]
    for changes, words in (
        ([setting("iso", "800")], "past highlight limit, 6 over"),
        (darker, "past shadow limit, 4 under"),
    ):
        change(page, *changes)
        until(page, SETTLED)
        drawn = pixels(page, ".picture-overlay[data-numbered]")
        assert np.mean((drawn == 16).all(axis=-1)) > 0.002  # the numbers' dark edges
        legend = page.locator(".picture-legend").inner_text()
        assert "0 = middle grey" in legend
        assert words in legend
        path = file_of(served)
        light = np.maximum(luminance(traced.light(path)), 1e-9)
        stops = np.log2(light / traced.grey_nit(path))
        high, wide = drawn.shape[:2]
        rows = np.minimum(np.arange(high) * stops.shape[0] // high, stops.shape[0] - 1)
        columns = np.minimum(np.arange(wide) * stops.shape[1] // wide, stops.shape[1] - 1)
        # Away from the edges of an area, which are smoothed.
        clipped = []
        for past, tint in ((stops - 6.0, (232, 142, 66)), (-4.0 - stops, (58, 158, 152))):
            if words.startswith("past highlight") and tint[0] == 58:
                continue  # its own limit is not 4 stops
            inside = eroded(np.asarray(past > 0.3))[rows][:, columns]
            outside = eroded(np.asarray(past < -0.3))[rows][:, columns]
            hatched = tinted(drawn, tint)
            assert not hatched[outside].any()
            clipped.append(bool(inside.any()))
            assert not inside.any() or in_each_block(hatched, inside)
        assert clipped in ([True], [False, True])
    # The picture comes back as it was.
    page.evaluate("() => falloff.look.set({ map: false })")
    alike(pixels(page), traced.picture(path))
    assert page.locator(".picture-legend").inner_text() == ""


def luminance(light: Float32Array) -> Float32Array:
    """cd/m² (h, w)."""
    return np.asarray(light @ np.array(LUMINANCE_WEIGHTS, np.float32))


def eroded(mask: np.ndarray, reach: int = 6) -> np.ndarray:
    """A mask without what lies within `reach` pixels of what is not in it."""
    found: np.ndarray = mask.copy()
    for _ in range(reach):
        padded = np.pad(found, 1, mode="edge")
        for row, column in ((0, 1), (2, 1), (1, 0), (1, 2)):
            found &= padded[row : row + mask.shape[0], column : column + mask.shape[1]]
    return found


def tinted(shown: Srgb8, tint: tuple[int, int, int]) -> np.ndarray:
    """Where the overlay has about a tint, which its hatching has in full."""
    return np.asarray(np.abs(shown.astype(int) - tint).max(axis=-1) < 40)


def in_each_block(hatched: np.ndarray, inside: np.ndarray, size: int = 24) -> bool:
    """Whether every block that lies inside has hatching in it."""
    high, wide = inside.shape[0] // size * size, inside.shape[1] // size * size
    shape = (high // size, size, wide // size, size)
    whole = inside[:high, :wide].reshape(shape).all(axis=(1, 3))
    has = hatched[:high, :wide].reshape(shape).any(axis=(1, 3))
    return bool(np.any(whole)) and not np.any(whole & ~has)


def test_the_waveform_draws_the_frame(same_server: Served, open_page: Open, traced: Scene) -> None:
    """pencil: median and share past the limit of every second row, in Python's light."""
    page, watcher = open_page(same_server)
    until(page, SETTLED)
    page.evaluate("() => falloff.look.set({ waveform: true })")
    until(page, "() => document.querySelector('.waveform-words').textContent !== ''")
    drawn = pixels(page, ".waveform-canvas")
    assert drawn.shape[0] > 80
    assert np.mean(drawn.max(axis=-1) > 150) > 0.01
    stops = np.log2(luminance(traced.light())[::2] / traced.grey_nit())
    words = page.locator(".waveform-words").inner_text().replace("\u00a0", " ")
    told = float(words.split("frame ")[1].split(";")[0].replace("−", "-"))
    assert told == pytest.approx(float(np.median(stops)), abs=0.15)
    past = float(words.split("highlight limit ")[1].split(" %")[0])
    assert past == pytest.approx(100.0 * float(np.mean(stops > 6.0)), abs=0.4)
    page.evaluate("() => falloff.look.set({ waveform: false })")
    page.wait_for_timeout(100)
    assert page.locator(".picture-waveform").is_hidden()
    assert watcher.complaints == []


def test_the_readout_says_what_is_under_the_pointer(
    same_server: Served, open_page: Open, traced: Scene
) -> None:
    """pencil: the mean of 3 by 3 pixels, over grey; π over the reflectance; who gives it."""
    page, _ = open_page(same_server)
    until(page, SETTLED)
    until(page, "() => falloff.light.of('TEST').ground !== null")
    width, height = traced.size
    seen = traced.layers.views[CAMERA]
    assert seen.trace is not None
    ground = seen_reflectance(seen.trace, traced.stage)
    parts = traced.layers.pictures(CAMERA)
    box = page.locator(".picture-canvas").bounding_box()
    assert box is not None
    for x, y in ((0.85, 0.35), (0.3, 0.45), (0.25, 0.92), (0.55, 0.8)):
        column, row = int(x * width), int(y * height)
        middle = ((column + 0.5) / width, (row + 0.5) / height)
        page.mouse.move(box["x"] + middle[0] * box["width"], box["y"] + middle[1] * box["height"])
        page.wait_for_timeout(120)
        here = (slice(row - 1, row + 2), slice(column - 1, column + 2))
        nit = {name: float(luminance(part[here]).mean()) for name, part in parts.items()}
        total = sum(nit.values())
        level = format_stops_thirds(math.log2(total / traced.grey_nit()), reference="middle grey")
        assert page.locator(".readout-level").inner_text().startswith(level)
        lux = math.pi * total / float(ground[row, column])
        light = page.locator(".readout-light").inner_text()
        assert light == f"{format_illuminance(lux)} on that surface"
        shares = page.locator(".readout-share").evaluate_all(
            "(items) => items.map((item) => item.dataset.words.replaceAll('\u00a0', ' '))"
        )
        told = {words.rsplit(" ", 2)[0]: float(words.rsplit(" ", 2)[1]) for words in shares}
        assert sum(told.values()) == pytest.approx(100.0, abs=1.1)
        assert list(told.values()) == sorted(told.values(), reverse=True)
        for name, percent in told.items():
            assert percent == pytest.approx(100.0 * nit[name] / total, abs=0.51)
    # On the window itself there is no surface: its luminance is told.
    page.mouse.move(box["x"] + 0.55 * box["width"], box["y"] + 0.35 * box["height"])
    page.wait_for_timeout(120)
    assert page.locator(".readout-light").inner_text().endswith("nit")
    page.mouse.move(5, 5)
    page.wait_for_timeout(120)
    assert "Point at the picture" in page.locator(".readout-light").inner_text()


def test_what_is_read_under_many_sources_adds_up(same_server: Served, open_page: Open) -> None:
    """pencil: of twelve even shares three are named; many small ones are others."""
    page, _ = open_page(same_server, wait=False)
    said = page.evaluate(
        """async () => {
          const main = [...document.scripts].find((s) => s.src.endsWith("main.js")).src;
          const { Readout } = await import(main.replace("main.js", "picture-readout.js"));
          const root = document.createElement("div");
          const readout = new Readout(root);
          const told = (nits) => {
            const parts = new Map(nits.map((nit, k) => [`S${k}`, [nit, nit, nit]]));
            const weights = [0.2, 0.7, 0.1];
            const grey = { reflectance: 0.5, weights, greyNit: 1, units: "metric", note: "" };
            readout.show({ parts, ...grey });
            return [...root.querySelectorAll("li")].map((item) => item.dataset.words
              .replaceAll("\\u00a0", " "));
          };
          return [told(Array(12).fill(1)), told([100, ...Array(10).fill(0.3)]), told([0, 0]),
            told([8, 0.01])];
        }"""
    )
    assert said[0] == ["S0 8.3 %", "S1 8.3 %", "S2 8.3 %", "others 75 %"]
    assert said[1] == ["S0 97 %", "others 2.9 %"]
    assert said[2] == []
    assert said[3] == ["S0 100 %"]


def test_keys_move_the_cross_and_put_a_reading_there(
    opened: tuple[Served, Page], traced: Scene
) -> None:
    """pencil: a ray through the cross meets the wall y = 5 m; a pixel is a cone about it."""
    served, page = opened
    wait_for_rays(page)
    width, height = traced.size
    page.locator(".picture-canvas").focus()
    for key, count in (("ArrowRight", 38), ("ArrowUp", 8), ("Shift+ArrowRight", 3)):
        for _ in range(count):
            page.keyboard.press(key)
    cross = page.evaluate("() => falloff.look.state.cross")
    assert cross["x"] == pytest.approx(0.5 + 0.38 + 3 / width)
    assert cross["y"] == pytest.approx(0.5 - 0.08 * width / height)
    page.wait_for_timeout(100)
    said = page.locator(".picture-said").inner_text()
    assert "middle grey" in said
    assert "lx on that surface" in said
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Take reading").click()
    until(page, "() => falloff.tree.reading_order.length === 1")

    def placed(index: int) -> tuple[Float64Array, Float64Array]:
        document = open_scene(file_of(served)).document
        reading = list(document.readings.values())[index]
        assert isinstance(reading.at, PointPlace)
        at = np.array([reading.at.x.si, reading.at.y.si, reading.at.z.si])
        assert reading.normal is not None
        return at, np.array(reading.normal)

    def hit(x: float, y: float) -> Float64Array:
        eye, way = traced.ray(x, y)
        return np.asarray(eye + (5.0 - eye[1]) / way[1] * way)

    at, normal = placed(0)
    assert at[1] == pytest.approx(5.0, abs=0.006)
    np.testing.assert_allclose(normal, [0.0, -1.0, 0.0], atol=1e-3)
    wanted = hit(cross["x"], cross["y"])
    # The pixel's ray lies anywhere in the pixel.
    pixel_m = np.abs(hit(cross["x"] + 1 / width, cross["y"] + 1 / height) - wanted).max()
    np.testing.assert_allclose(at, wanted, atol=1.1 * pixel_m + 0.006)
    # A click does the same where the pointer is.
    box = page.locator(".picture-canvas").bounding_box()
    assert box is not None
    x, y = 0.8, 0.3
    page.mouse.click(box["x"] + x * box["width"], box["y"] + y * box["height"])
    page.get_by_role("button", name="Take reading").click()
    until(page, "() => falloff.tree.reading_order.length === 2")
    np.testing.assert_allclose(placed(1)[0], hit(x, y), atol=1.1 * pixel_m + 0.012)
    # The reading is metered: what it says is what the picture's pixel says, but for its rays.
    until(page, "() => falloff.meter.of('TEST')?.readings.length === 2")
    lux = page.evaluate(
        """() => {
          const { direct, bounced } = falloff.meter.of("TEST");
          const { luminance } = falloff.tree.tables;
          const gains = falloff.gains("TEST");
          return falloff.meter.of("TEST").sources.reduce((sum, name, s) => sum + luminance.reduce(
            (all, w, c) => all + w * gains[name][c] * (direct[s][0][c] + bounced[s][0][c]), 0), 0);
        }"""
    )
    told = float(said.split(" lx")[0].split(", ")[1])
    assert lux == pytest.approx(told, rel=0.06)


def test_before_is_the_picture_as_it_was(opened: tuple[Served, Page], traced: Scene) -> None:
    _, page = opened
    before = traced.picture()
    change(page, dim("SOFTBOX", 0.3), dim("GLOBE", 0.1), setting("stop", "T4"))
    until(page, SETTLED)
    assert np.mean(pixels(page) != before) > 0.5
    steps = page.locator(".compare-steps")
    there = "() => document.querySelector('.compare-before').naturalWidth > 0"
    steps.select_option("0")
    until(page, there)
    alike(pixels(page, ".compare-before"), before)
    assert page.locator(".compare-label-before").inner_text() == "before: as opened"
    layer = page.locator(".compare-layer")
    assert layer.is_visible()
    divider = page.locator(".compare-range")
    divider.focus()
    page.keyboard.press("Home")
    assert layer.evaluate("(e) => e.style.getPropertyValue('--divider')") == "0%"
    page.keyboard.press("End")
    assert layer.evaluate("(e) => e.style.getPropertyValue('--divider')") == "100%"
    assert page.locator(".compare-label-now").is_hidden()
    # With part of the light there is nothing to compare.
    for look, back in (
        ("map: true", "map: false"), ("alone: 'GLOBE'", "alone: null"),
        ("unseen: ['BEAM']", "unseen: []"), ("light: 'bounced'", "light: 'all'"),
    ):  # fmt: skip
        page.evaluate(f"() => falloff.look.set({{ {look} }})")
        assert layer.is_hidden()
        page.evaluate(f"() => falloff.look.set({{ {back} }})")
        assert layer.is_visible()
    # A unit somewhere else: the earlier picture is traced anew, and is the same again.
    steps.select_option("")
    assert layer.is_hidden()
    change(page, {"do": "place", "name": "SOFTBOX", "x_m": 4.2, "y_m": 1.6})
    until(page, SETTLED)
    steps.select_option("0")
    until(page, there)
    alike(pixels(page, ".compare-before"), before)
    # What was undone and overwritten is another state: it is not shown as the old one.
    steps.select_option("1")
    until(page, there)
    page.evaluate("() => { falloff.undo(); falloff.undo(); }")
    until(page, "() => falloff.status.value.at === 0")
    change(page, setting("stop", "T11"))
    assert steps.input_value() == ""
    assert layer.is_hidden()


def test_the_full_size_is_pythons_and_can_be_cancelled(
    opened: tuple[Served, Page], tmp_path: Path
) -> None:
    served, page = opened
    wanted = Scene.of(file_of(served), 640).picture()
    wait_for_rays(page)
    page.get_by_role("button", name="Full size").click()
    # A width that a test can wait for.
    page.locator(".fullsize input").first.evaluate("(input) => { input.value = '640'; }")
    page.get_by_role("button", name="Trace it").click()
    until(page, "() => document.querySelector('.fullsize-progress').value > 0")
    page.locator(".fullsize").get_by_role("button", name="Cancel").click()
    assert page.locator(".fullsize-words").inner_text() == "Cancelled."
    assert page.locator(".fullsize-image").is_hidden()
    page.get_by_role("button", name="Trace it").click()
    until(page, "() => document.querySelector('.fullsize-image').naturalWidth > 0", timeout_s=60)
    alike(pixels(page, ".fullsize-image"), wanted)
    with page.expect_download() as saved:
        page.get_by_role("link", name="Save the picture").click()
    assert saved.value.suggested_filename == "TEST-640.png"
    saved.value.save_as(tmp_path / "saved.png")
    assert (tmp_path / "saved.png").read_bytes()[:4] == b"\x89PNG"
    page.keyboard.press("Escape")
    assert page.locator(".fullsize").is_hidden()
