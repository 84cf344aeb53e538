"""A real Chromium before a real server: each test works on a scene of its own."""

from __future__ import annotations

import base64
import os
import re
import shutil
import signal
import subprocess
import sys
import urllib.request
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, ConsoleMessage, Page, sync_playwright

from falloff.camera import Srgb8
from falloff.layers import warm_up

CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = [
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
]
ROOT = Path(__file__).resolve().parents[2]
TEST_ROOM = ROOT / "tests/reference/scenes/test_room.scene.yaml"
WORKSHOP = ROOT / "src/falloff/session/data/workshop.scene.yaml"
PICTURE_PX = 320


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Without a browser these tests are skipped with that reason; on a CI machine they fail."""
    if Path(CHROMIUM).exists() or os.environ.get("CI") == "true":
        return
    lacking = pytest.mark.skip(reason=f"there is no browser at {CHROMIUM}")
    for item in items:
        if Path(str(item.fspath)).parent == Path(__file__).parent and "browser" in getattr(
            item, "fixturenames", ()
        ):
            item.add_marker(lacking)


@dataclass(slots=True)
class Served:
    """A server of its own for one scene file."""

    process: subprocess.Popen[str]
    address: str
    scene: Path | None
    folder: Path

    @property
    def port(self) -> int:
        """The port it listens on."""
        return int(self.address.rstrip("/").rpartition(":")[2])

    def kill(self) -> None:
        """End it at once, as a crash would, its worker with it."""
        if os.name == "posix":
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.kill()
        self.process.wait(timeout=10)

    def stop(self) -> None:
        """End it as a person does."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)
            try:
                self.process.wait(timeout=10)
            except subprocess.TimeoutExpired:
                self.kill()
        if self.process.stdout is not None:
            self.process.stdout.close()


Serve = Callable[..., Served]


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One Chromium for all tests."""
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield opened
        opened.close()


def begin(path: Path | None, folder: Path, *, width: int = PICTURE_PX, port: int = 0) -> Served:
    """A server on a scene file, or on none, that answers; stop it when it has served.

    port: 0 takes a free one.
    """
    program = shutil.which("falloff", path=str(Path(sys.executable).parent))
    assert program, "the package is not installed beside this interpreter"
    options = [f"--width={width}", *([f"--port={port}"] if port else [])]
    process = subprocess.Popen(
        [program, "open", "--no-browser", *options, *([str(path)] if path else [])],
        stdout=subprocess.PIPE,
        text=True,
        cwd=folder,
        start_new_session=os.name == "posix",
    )
    served = Served(process, "", path, folder)
    assert process.stdout is not None
    line = ""
    while not (found := re.search(r"http://127\.0\.0\.1:\d+/", line)):
        line = process.stdout.readline()
        if not line:
            served.stop()
            raise AssertionError("the server ended before it told its address")
    served.address = found[0]
    with urllib.request.urlopen(served.address, timeout=10) as answer:
        assert answer.status == 200
    return served


@pytest.fixture(scope="session")
def compiled() -> None:
    """What the workers trace with is compiled once, not in the first test that waits for light."""
    warm_up()


@pytest.fixture
def serve(tmp_path: Path, compiled: None) -> Iterator[Serve]:
    """Start a server on a copy of a scene; all of them are stopped at the end."""
    started: list[Served] = []

    def start(
        scene: Path | None = TEST_ROOM,
        *,
        width: int = PICTURE_PX,
        own: Path | None = None,
        port: int = 0,
    ) -> Served:
        path = own
        if own is None and scene is not None:
            path = tmp_path / f"{len(started)}-{scene.name}"
            shutil.copy(scene, path)
        started.append(begin(path, tmp_path, width=width, port=port))
        return started[-1]

    yield start
    for one in started:
        one.stop()


@pytest.fixture(scope="module")
def same_server(tmp_path_factory: pytest.TempPathFactory, compiled: None) -> Iterator[Served]:
    """One server for all tests of a module that only look."""
    folder = tmp_path_factory.mktemp("served")
    path = folder / TEST_ROOM.name
    shutil.copy(TEST_ROOM, path)
    served = begin(path, folder)
    yield served
    served.stop()


@dataclass(slots=True)
class Watcher:
    """What a page complained about and what it asked for from elsewhere."""

    complaints: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)

    def hear(self, message: ConsoleMessage) -> None:
        """A line of the page's console."""
        if message.type in {"error", "warning"}:
            self.complaints.append(message.text)


Open = Callable[..., tuple[Page, Watcher]]


@pytest.fixture
def open_page(browser: Browser) -> Iterator[Open]:
    """Open a served page in a fresh profile; its pages are closed at the end."""
    contexts = []

    def start(
        served: Served, *, width: int = 1280, height: int = 720, wait: bool = True
    ) -> tuple[Page, Watcher]:
        context = browser.new_context(viewport={"width": width, "height": height})
        contexts.append(context)
        page, watcher = context.new_page(), Watcher()
        page.on("console", lambda message: watcher.hear(message))  # noqa: PLW0108  bound, it could not be kept
        page.on("pageerror", lambda error: watcher.complaints.append(str(error)))
        page.on("request", lambda request: watcher.asked.append(request.url))
        page.goto(served.address)
        if wait:
            page.locator(".place.picture canvas").first.wait_for(timeout=55_000)
            until(page, "() => falloff.light.of(falloff.look.state.setup)?.layers.size > 0")
        return page, watcher

    yield start
    for context in contexts:
        context.close()


SETTLED = """() => {
  const light = falloff.light.of(falloff.look.state.setup);
  const left = falloff.tree.setups[falloff.look.state.setup].without
    .filter((name) => falloff.tree.sources[name]);
  const there = light && light.pass === "full" && light.pending.size === 0;
  return there && falloff.exposure(falloff.look.state.setup) !== null &&
    [...light.layers.values()].every((layer) => layer.width === light.width) &&
    light.layers.size === falloff.tree.source_order.length - left.length;
}"""
_PIXELS = """(selector) => new Promise((resolve, reject) => {
  let frames = 0;
  requestAnimationFrame(function look() {
    frames += 1;
    const found = document.querySelector(selector);
    if (frames > 1800) return reject(new Error(`there is no ${selector}`));
    if (frames < 2 || !found) return requestAnimationFrame(look);
    const canvas = document.createElement("canvas");
    canvas.width = found.naturalWidth ?? found.width;
    canvas.height = found.naturalHeight ?? found.height;
    const context = canvas.getContext("2d");
    context.drawImage(found, 0, 0);
    const { data } = context.getImageData(0, 0, canvas.width, canvas.height);
    let text = "";
    for (let i = 0; i < data.length; i += 32768) {
      text += String.fromCharCode(...data.subarray(i, i + 32768));
    }
    resolve([canvas.width, canvas.height, btoa(text)]);
  });
})"""


def pixels(page: Page, selector: str = ".picture-canvas") -> Srgb8:
    """What a canvas or an image of the page shows, (h, w, 3): at the second frame, or the first
    after it in which there is one.
    """
    width, height, text = page.evaluate(_PIXELS, selector)
    raw = np.frombuffer(base64.b64decode(text), np.uint8)
    return np.asarray(raw.reshape(height, width, 4)[..., :3])


def until(page: Page, condition: str, *, timeout_s: float = 50.0) -> None:
    """Wait until a condition holds in the page; the page's policy bars the usual way."""
    for _ in range(int(timeout_s / 0.05)):
        if page.evaluate(condition):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"this did not come to hold: {condition}")
