"""Print the page's bars in one table: our time, the bar.

Run: python bench/page_bench.py     (two minutes; the machine should be otherwise idle)
A real Chromium and a real server; figures are medians of one run. Nothing here is a test.
"""

from __future__ import annotations

import argparse
import contextlib
import itertools
import json
import os
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, sync_playwright
from websockets.sync.client import connect

ROOT = Path(__file__).resolve().parent.parent
WORKSHOP = ROOT / "src/falloff/session/data/workshop.scene.yaml"
CHROMIUM = "/usr/bin/chromium"
DEBUG_PORT = 9333
ARGUMENTS = [
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
    f"--remote-debugging-port={DEBUG_PORT}",
]
# Counts finished pictures on the large canvas, and notes when each was put there.
COUNT = """
globalThis.puts = [];
const put = CanvasRenderingContext2D.prototype.putImageData;
CanvasRenderingContext2D.prototype.putImageData = function (...parts) {
  put.apply(this, parts);
  if (this.canvas.width >= 400) globalThis.puts.push(performance.now());
};
"""


def main() -> None:
    """Measure every bar and print the table."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--only", default="")
    options = asked.parse_args()
    rows: list[tuple[str, str, str]] = []
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        work = Path(folder)
        if options.only in {"", "drag"}:
            scene = work / "workshop.scene.yaml"
            shutil.copy(WORKSHOP, scene)
            served = Server(scene, 640)
            page = opened(browser, served)
            settled(page)
            page.close()
            served.stop()
            served = Server(scene, 640)
            rows.append(first_screen(browser, served))
            page = opened(browser, served)
            settled(page)
            rows += drag_rows(page)
            rows.append(ack_row(page))
            page.close()
            served.stop()
        if options.only in {"", "dims"}:
            scene = work / "twelve.scene.yaml"
            scene.write_text(twelve_sources(), encoding="utf-8")
            served = Server(scene, 960)
            page = opened(browser, served)
            settled(page)
            rows += dim_rows(page, served)
            served.stop()
        browser.close()
    width = max(len(row[0]) for row in rows)
    print(f"{os.cpu_count()} cores\n")
    for what, value, bar in rows:
        print(f"{what:<{width}}  {value:<44}  {bar}")


class Server:
    """A served scene; `pid` is the server's own process."""

    def __init__(self, scene: Path, width: int) -> None:
        program = shutil.which("falloff", path=str(Path(sys.executable).parent))
        assert program
        self.began = time.perf_counter()
        self.process = subprocess.Popen(
            [program, "open", str(scene), "--no-browser", f"--width={width}"],
            stdout=subprocess.PIPE,
            text=True,
        )
        line = ""
        assert self.process.stdout is not None
        while not (found := re.search(r"http://\S+/", line)):
            line = self.process.stdout.readline()
        self.address = found[0]
        self.pid = self.process.pid

    def cpu_s(self) -> float:
        """Processor time of the server alone (Linux)."""
        fields = Path(f"/proc/{self.pid}/stat").read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def stop(self) -> None:
        """End it."""
        self.process.terminate()
        self.process.wait(timeout=10)


def opened(browser: Any, served: Server) -> Page:
    """The page in a fresh profile."""
    page: Page = browser.new_context(viewport={"width": 1440, "height": 900}).new_page()
    page.add_init_script(COUNT)
    page.goto(served.address)
    return page


def settled(page: Page, *, timeout_s: float = 180.0) -> None:
    """Wait until the light is whole and full, and the worker has the rays for a drag."""
    for _ in range(int(timeout_s / 0.1)):
        if page.evaluate("() => globalThis.falloff?.idle === true"):
            page.wait_for_timeout(500)
            return
        page.wait_for_timeout(100)
    raise SystemExit("the light did not settle")


def first_screen(browser: Any, served: Server) -> tuple[str, str, str]:
    """From the server's first answer to a picture and an answer on the screen."""
    page = browser.new_context(viewport={"width": 1440, "height": 900}).new_page()
    page.add_init_script(COUNT)
    began = time.perf_counter()
    page.goto(served.address)
    while not page.evaluate(
        "() => puts.length > 0 && Boolean(document.querySelector('.in-answer')?.textContent)"
    ):
        page.wait_for_timeout(20)
    took = time.perf_counter() - began
    page.close()
    return ("first useful screen, warm cache", f"{took:.2f} s", "≤ 1.5 s")


def drag_rows(page: Page) -> list[tuple[str, str, str]]:
    """A unit moved by edits as a drag sends them: first picture and full one."""
    firsts, fulls, wholes = [], [], []
    for k in range(7):
        found = page.evaluate(
            """async (k) => {
              const app = globalThis.falloff, setup = app.look.state.setup;
              const state = { first: 0, full: 0, whole: 0 };
              let began = performance.now();
              const stop = app.link.heard.watch((m) => {
                if (m.t !== "light") return;
                const at = performance.now() - began;
                if (!m.whole && m.pass === "coarse") state.first ||= at;
                if (!m.whole && m.pass === "full") state.full ||= at;
                if (m.whole && state.first) state.whole = at;
              });
              app.look.set({ chosen: "BOOK" });
              await new Promise((r) => setTimeout(r, 300));
              const move = { do: "place", name: "BOOK", x_m: 1.2 + 0.07 * k, y_m: 0.9 };
              const before = globalThis.puts.length;
              began = performance.now();
              app.edit([move], { gesture: `bench${k}` });
              while (!state.full && !state.whole) await new Promise((r) => setTimeout(r, 5));
              const drawn = globalThis.puts.slice(before).map((t) => t - began);
              app.rest();
              while (!state.whole) await new Promise((r) => setTimeout(r, 20));
              stop();
              return { ...state, drawn };
            }""",
            k,
        )
        after = [t for t in found["drawn"] if t >= found["first"]]
        firsts.append(min(after) if after else found["first"])
        fulls.append(found["full"])
        wholes.append(found["whole"])
        page.wait_for_timeout(1500)
    return [
        ("dragged unit: first picture on the screen", ms(firsts), "≤ 150 ms"),
        ("  its own light full, 640 × 360", ms(fulls), "≤ 600 ms"),
        ("  let go: all sources exact", ms(wholes), "(told)"),
    ]


def ack_row(page: Page) -> tuple[str, str, str]:
    """Edits acknowledged while the worker traces."""
    took = page.evaluate(
        """async () => {
          const app = globalThis.falloff, times = [];
          app.edit([{ do: "place", name: "BOOK", x_m: 1.6, y_m: 1.0 }]);
          await new Promise((r) => setTimeout(r, 100));
          for (let k = 0; k < 40; k += 1) {
            const began = performance.now();
            const seq = app.link.seq + 1;
            const done = new Promise((resolve) => {
              const stop = app.link.heard.watch((m) => {
                if (m.t === "ack" && m.seq === seq) { stop(); resolve(performance.now() - began); }
              });
            });
            app.edit([{ do: "dim", source: "GLOBE", knob: 0.4 + 0.01 * k }], { gesture: "ack" });
            times.push(await done);
            await new Promise((r) => setTimeout(r, 60));
          }
          return times;
        }"""
    )
    ordered = sorted(took)
    told = f"{statistics.median(took):.1f} ms; 95 %: {ordered[int(0.95 * len(took))]:.1f} ms"
    return ("edits acknowledged while the worker traces", told, "≤ 20 ms")


def dim_rows(page: Page, served: Server) -> list[tuple[str, str, str]]:
    """A dim dragged with a real mouse for four seconds, 960 × 540, twelve sources."""
    sources = page.evaluate("() => falloff.tree.source_order.length")
    slider = page.locator(".in-sources input[type=range]").first
    box = slider.bounding_box()
    assert box is not None
    x0, x1, y = box["x"] + 6, box["x"] + box["width"] - 6, box["y"] + box["height"] / 2
    page.mouse.click(0.5 * (x0 + x1), y)  # the file has this dim now; writing it in costs once
    page.wait_for_timeout(1500)
    page.mouse.move(0.5 * (x0 + x1), y)
    page.mouse.down()
    cpu, began = served.cpu_s(), time.perf_counter()
    count = page.evaluate("() => globalThis.puts.length")
    moves = 0
    with hand_of(page) as move:
        while time.perf_counter() - began < 4.0:
            share = abs((moves % 120) / 60.0 - 1.0)
            move(x0 + share * (x1 - x0), y)
            moves += 1
            time.sleep(max(0.0, began + moves / 60.0 - time.perf_counter()))
    took = time.perf_counter() - began
    pictures = page.evaluate("() => globalThis.puts.length") - count
    used = (served.cpu_s() - cpu) / took
    page.mouse.up()
    return [
        (
            f"a dim dragged, 960 × 540, {sources} sources",
            f"{pictures / took:.1f} pictures a second ({moves / took:.0f} moves)",
            "≥ 30",
        ),
        ("  server's processor meanwhile", f"{100 * used:.0f} %", "< 10 %"),
    ]


@contextlib.contextmanager
def hand_of(page: Page) -> Iterator[Callable[[float, float], None]]:
    """A mouse that does not wait for the page, as a hand does not: real events, sixty a second."""
    with urllib.request.urlopen(f"http://127.0.0.1:{DEBUG_PORT}/json") as answer:
        pages = json.load(answer)
    url = next(one["webSocketDebuggerUrl"] for one in pages if one["url"] == page.url)
    with connect(url, max_size=None) as socket:
        threading.Thread(target=lambda: [None for _ in socket], daemon=True).start()
        numbers = itertools.count(1)

        def move(x: float, y: float) -> None:
            where = {"type": "mouseMoved", "x": x, "y": y, "button": "left", "buttons": 1}
            socket.send(
                json.dumps(
                    {"id": next(numbers), "method": "Input.dispatchMouseEvent", "params": where}
                )
            )

        yield move


def ms(times: list[float]) -> str:
    """Median and worst."""
    return f"{statistics.median(times):.0f} ms (worst {max(times):.0f})"


def twelve_sources() -> str:
    """The workshop with seven more globes."""
    text = WORKSHOP.read_text(encoding="utf-8")
    globes = "".join(
        f"  EXTRA {k}: {{light: globe, diameter: 10 cm, output: 300 lm, colour: 2700 K, "
        f"power: 4 W, at: [{0.8 + 0.55 * k:.2f} m, {0.5 + 0.3 * (k % 3):.2f} m, 2.3 m]}}\n"
        for k in range(7)
    )
    return text.replace("\ngrip:\n", f"{globes}\ngrip:\n")


if __name__ == "__main__":
    main()
