"""The window's picture is Python's picture: the mixer in a real Chromium against camera/view.py."""

from __future__ import annotations

import functools
import http.server
import json
import threading
from collections.abc import Iterator, Mapping
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from playwright.sync_api import Browser

import falloff
from falloff.camera import (
    CameraSettings,
    develop,
    display_matrix,
    expose,
    mid_grey_luminance_nit,
    view,
)
from falloff.camera.tone_table import tone_table
from falloff.layers import trace_layers
from falloff.session.picture import sizes_of
from falloff.session.scene import open_scene
from falloff.transport import Budget
from falloff.types import Float32Array

STATIC = Path(falloff.__file__).parent / "page" / "static"
CAMERA = CameraSettings(4.0, 400, 1 / 48, balance_kelvin=4300, shadow_stops=7.0)
Layers = Mapping[str, Float32Array]
Gains = Mapping[str, list[float]]


class Desk:
    """A page with the mixer in it, and a server on this machine that hands it numbers."""

    def __init__(self, page: Any, blobs: dict[str, bytes], address: str) -> None:
        self.page = page
        self.blobs = blobs
        self.address = address
        page.goto(f"{address}/blank")
        page.evaluate(
            """async () => {
              const { Mixer } = await import("/mixer.js");
              const numbers = async (name) =>
                new Float32Array(await (await fetch(`/blob/${name}`)).arrayBuffer());
              const put = async (layers) => {
                for (const { name, key, width, height } of layers) {
                  desk.mixer.setLayer(name, await numbers(key), width, height);
                }
              };
              const open = async (width, height, view) => {
                desk.mixer = new Mixer(width, height);
                desk.image = new ImageData(width, height);
                desk.mixer.setView({ ...view, tone: await numbers("tone") });
              };
              const base64 = (bytes) => {
                let text = "";
                for (let i = 0; i < bytes.length; i += 32768) {
                  text += String.fromCharCode(...bytes.subarray(i, i + 32768));
                }
                return btoa(text);
              };
              const drawn = (gains) => {
                desk.mixer.setGains(gains);
                desk.mixer.draw(desk.image);
                return base64(new Uint8Array(desk.image.data.buffer));
              };
              const light = (gains) => {
                desk.mixer.setGains(gains);
                return base64(new Uint8Array(desk.mixer.linear().slice().buffer));
              };
              window.desk = { put, open, drawn, light };
            }"""
        )

    def open(self, shape: tuple[int, ...], camera: CameraSettings) -> None:
        self.shape = (shape[0], shape[1])
        table, first = tone_table(camera.highlight_stops, camera.shadow_stops)
        self.blobs["tone"] = table.tobytes()
        matrix = display_matrix(camera).ravel().tolist()
        self.page.evaluate(
            "([w, h, view]) => desk.open(w, h, view)",
            [shape[1], shape[0], {"matrix": matrix, "first": first}],
        )

    def put(self, layers: Layers) -> None:
        told = []
        for name, layer in layers.items():
            key = f"{name}-{len(self.blobs)}".replace(" ", "-")
            self.blobs[key] = np.ascontiguousarray(layer, dtype="<f4").tobytes()
            height, width = layer.shape[:2]
            told.append({"name": name, "key": key, "width": width, "height": height})
        self.page.evaluate("(layers) => desk.put(layers)", told)

    def drawn(self, gains: Gains) -> np.ndarray:
        raw = self._bytes("drawn", gains)
        picture = np.frombuffer(raw, np.uint8).reshape(*self.shape, 4)
        assert np.all(picture[..., 3] == 255)
        return picture[..., :3]

    def light(self, gains: Gains) -> Float32Array:
        return np.frombuffer(self._bytes("light", gains), "<f4").reshape(*self.shape, 3)

    def _bytes(self, what: str, gains: Gains) -> bytes:
        import base64

        return base64.b64decode(self.page.evaluate(f"(gains) => desk.{what}(gains)", dict(gains)))


class _Server(http.server.BaseHTTPRequestHandler):
    """Modules of the window, and blobs kept in memory."""

    def __init__(self, blobs: dict[str, bytes], *more: Any) -> None:
        self.blobs = blobs
        super().__init__(*more)

    def do_GET(self) -> None:
        if self.path.startswith("/blob/"):
            kind, body = "application/octet-stream", self.blobs[self.path.removeprefix("/blob/")]
        elif self.path.endswith(".js"):
            kind, body = "text/javascript", (STATIC / self.path.removeprefix("/")).read_bytes()
        else:
            kind, body = "text/html", b"<!doctype html><title>desk</title>"
        self.send_response(200)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_: Any) -> None:
        """Keep quiet."""


@pytest.fixture(scope="module")
def desk(browser: Browser) -> Iterator[Desk]:
    blobs: dict[str, bytes] = {}
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(_Server, blobs))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    page = browser.new_page()
    yield Desk(page, blobs, f"http://127.0.0.1:{server.server_port}")
    page.close()
    server.shutdown()
    server.server_close()


@pytest.fixture
def exact_curve(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The curve by a table so fine that develop's own steps, one code in 150, are gone."""
    monkeypatch.setattr(view, "_TABLE_SIZE", 1 << 20)
    view._curve_table.cache_clear()
    yield
    view._curve_table.cache_clear()


@pytest.fixture(scope="module")
def traced() -> tuple[dict[str, Float32Array], dict[str, Float32Array]]:
    """Direct and bounced light of every source of a shipped location, small and grainy."""
    shipped = resources.files("falloff.session").joinpath("data/workshop.scene.yaml")
    with resources.as_file(shipped) as path:
        standing = open_scene(path).arrangements[0]
    layers = trace_layers(
        standing.stage,
        Budget(view_rays=1, gather_rays=4, shadow_rays=1),
        sizes=sizes_of(standing, standing.setups[:1], 192),
    )
    (seen,) = layers.views.values()
    names = layers.names
    return dict(zip(names, seen.direct, strict=True)), dict(zip(names, seen.bounced, strict=True))


def made_up(seed: int, shape: tuple[int, int], count: int = 5) -> dict[str, Float32Array]:
    """Layers of any colour and from far under black to far over white."""
    rng = np.random.default_rng(seed)
    grey_nit = mid_grey_luminance_nit(CAMERA)
    found = {}
    for k in range(count):
        light = grey_nit * 2.0 ** rng.uniform(-14.0, 7.0, (*shape, 1))
        colour = 3.0 * rng.dirichlet([1.0, 1.0, 1.0], shape)
        found[f"S{k}"] = (light * colour * (rng.random((*shape, 1)) > 0.05)).astype(np.float32)
    return found


def some_gains(layers: Layers, seed: int) -> dict[str, list[float]]:
    rng = np.random.default_rng(seed)
    return {name: rng.uniform(0.0, 1.0, 3).tolist() for name in layers}


def agree(shown: np.ndarray, wanted: np.ndarray, equal_share: float) -> None:
    away = np.abs(shown.astype(int) - wanted.astype(int))
    assert away.max() <= 1
    assert np.mean(away == 0) > equal_share


def pictured(layers: Layers, gains: Gains, camera: CameraSettings = CAMERA) -> np.ndarray:
    return np.asarray(develop(expose(layers, gains, camera).picture, camera))


def test_made_up_layers(desk: Desk) -> None:
    """pencil: 1 code at most; develop's own table, in steps of 1/1170 stop, is off in 1 of 150."""
    layers = made_up(1, (120, 200))
    gains = some_gains(layers, 2)
    desk.open((120, 200), CAMERA)
    desk.put(layers)
    agree(desk.drawn(gains), pictured(layers, gains), 0.985)


def test_made_up_layers_by_the_curve_itself(desk: Desk, exact_curve: None) -> None:
    """pencil: against the curve without steps only rounding in single precision is left."""
    layers = made_up(3, (120, 200))
    gains = some_gains(layers, 4)
    desk.open((120, 200), CAMERA)
    desk.put(layers)
    agree(desk.drawn(gains), pictured(layers, gains), 0.999)


@pytest.mark.parametrize("camera", [
    CameraSettings(2.8, 800, 1 / 48),
    CameraSettings(5.6, 3200, 1 / 50, nd_stops=1.0, balance_kelvin=3200, highlight_stops=3.0),
])  # fmt: skip
def test_traced_layers(desk: Desk, traced: Any, camera: CameraSettings, exact_curve: None) -> None:
    """pencil: as above, on light as it is."""
    layers = {name: traced[0][name] + traced[1][name] for name in traced[0]}
    shape = next(iter(layers.values())).shape
    gains = some_gains(layers, 5)
    desk.open(shape, camera)
    desk.put(layers)
    agree(desk.drawn(gains), pictured(layers, gains, camera), 0.999)


def test_direct_is_the_sum_less_the_bounce(desk: Desk, traced: Any) -> None:
    """pencil: light is linear."""
    direct, bounced = traced
    whole = {name: direct[name] + bounced[name] for name in direct}
    shape = next(iter(whole.values())).shape
    gains = some_gains(whole, 6)
    lights = []
    for layers in (whole, direct, bounced):
        desk.open(shape, CAMERA)
        desk.put(layers)
        lights.append(desk.light(gains))
    assert_allclose(lights[1], lights[0] - lights[2], atol=1e-5 * float(lights[0].max()))


def test_every_way_to_the_same_gains_gives_the_same_light(desk: Desk) -> None:
    """pencil: what is kept of the light at rest is never stale, whoever moves."""
    layers = made_up(7, (60, 90))
    desk.open((60, 90), CAMERA)
    desk.put(layers)
    gains = some_gains(layers, 8)
    desk.drawn(gains)
    for k, name in enumerate(["S1", "S1", "S4", "S1", "S0"]):
        gains = gains | {name: [0.1 * k, 0.2, 0.3]}
        assert_allclose(desk.light(gains), expose(layers, gains, CAMERA).picture, rtol=3e-6)
    dark = {name: [0.0, 0.0, 0.0] for name in layers}
    assert_array_equal(desk.light(dark), 0.0)
    alone = dark | {"S2": [1.0, 1.0, 1.0]}
    assert_array_equal(desk.light(alone), layers["S2"])
    # Who is not named gives nothing; a layer put in anew or taken out is seen at once.
    assert_array_equal(desk.light({"S3": [1.0, 1.0, 1.0]}), layers["S3"])
    other = made_up(9, (60, 90))["S3"]
    desk.put({"S3": other})
    assert_array_equal(desk.light({"S3": [1.0, 1.0, 1.0]}), other)
    desk.page.evaluate("() => desk.mixer.dropLayer('S3')")
    assert_array_equal(desk.light({"S3": [1.0, 1.0, 1.0]}), 0.0)


def test_a_coarse_layer_is_spread_over_the_frame(desk: Desk) -> None:
    """pencil: a ramp stays a ramp between the middles of its pixels and level beyond them."""
    ramp = np.zeros((6, 8, 3), np.float32) + np.arange(8, dtype=np.float32)[:, np.newaxis]
    desk.open((24, 32), CAMERA)
    desk.put({"COARSE": ramp, "FINE": np.ones((24, 32, 3), np.float32)})
    light = desk.light({"COARSE": [1.0, 0.5, 0.0], "FINE": [0.0, 0.0, 2.0]})
    places = np.clip((np.arange(32) + 0.5) / 4.0 - 0.5, 0.0, 7.0)
    assert_allclose(light[..., 0], np.broadcast_to(places, (24, 32)), atol=1e-6)
    assert_allclose(light[..., 1], 0.5 * light[..., 0], atol=1e-6)
    assert_array_equal(light[..., 2], 2.0)


def test_each_source_s_part_at_a_place(desk: Desk) -> None:
    """pencil: the mean of a square of 3 by 3, cut off at the border, times the gain."""
    layers = made_up(10, (20, 30), count=2)
    desk.open((20, 30), CAMERA)
    desk.put(layers)
    desk.light({"S0": [1.0, 0.5, 0.25], "S1": [0.0, 0.0, 0.0]})
    parts = dict(desk.page.evaluate("() => [...desk.mixer.sample(0, 19, 1)]"))
    wanted = layers["S0"][18:20, 0:2].mean(axis=(0, 1)) * [1.0, 0.5, 0.25]
    assert_allclose(parts["S0"], wanted, rtol=1e-5)
    assert parts["S1"] == [0.0, 0.0, 0.0]


def test_how_long_a_picture_takes(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    """Measured and told, not judged: machines differ. One dim of twelve moves, 960 by 540."""
    coarse = made_up(11, (9, 16), count=12)
    desk.open((540, 960), CAMERA)
    desk.put(coarse)
    took_ms = desk.page.evaluate(
        """(gains) => {
          const took = [];
          for (let k = 0; k < 60; k += 1) {
            const start = performance.now();
            desk.mixer.setGains({ ...gains, S3: [k / 60, k / 60, k / 60] });
            desk.mixer.draw(desk.image);
            took.push(performance.now() - start);
          }
          return took.slice(20).sort((a, b) => a - b);
        }""",
        some_gains(coarse, 12),
    )
    with capsys.disabled():
        told = {"median_ms": round(took_ms[20], 1), "worst_ms": round(took_ms[-1], 1)}
        print(f"\nmixer, 960 x 540, 12 layers: {json.dumps(told)}")
    assert len(took_ms) == 40
