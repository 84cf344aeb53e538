"""Remake the pictures of the page and of the pocket copy in docs/pictures/page.

Run: python tools/page_pictures.py          (two minutes; needs the `test` extra and a Chromium)
Every view at three sizes, the picture views in the light and in the dark theme, the pocket copy at
a phone's size. Look at them all.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

ROOT = Path(__file__).resolve().parent.parent
OUT = ROOT / "docs/pictures/page"
DATA = ROOT / "src/falloff/session/data"
CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = [
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
]
SIZES = {"small": (1280, 720), "middle": (1440, 900), "large": (1920, 1080)}
# What a view looks at, the theme, and the location it shows.
VIEWS: dict[str, tuple[str, str, dict[str, object]]] = {
    "picture": ("workshop", "light", {}),
    "picture-dark": ("kitchen", "dark", {}),
    "stops-map": ("kitchen", "dark", {"map": True}),
    "one-source": ("workshop", "light", {"alone": "WINDOW"}),
    "waveform": ("workshop", "dark", {"waveform": True}),
    "plan": ("workshop", "light", {"plan": True, "chosen": "BOOK"}),
    "plan-dark": ("stairwell", "dark", {"plan": True}),
    "section": ("workshop", "light", {"plan": True, "section": True, "chosen": "BOOK"}),
    "wanted": ("workshop", "light", {"wanted": "targets", "dayOpen": False}),
    "setups": ("workshop", "light", {"beside": True}),
}
PHONE = {"width": 390, "height": 844}


def main() -> None:
    """Serve, look, keep."""
    OUT.mkdir(parents=True, exist_ok=True)
    for old in OUT.glob("*.jpg"):
        old.unlink()
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        work = Path(folder)
        begin_page(browser, work)
        for location in ("workshop", "kitchen", "stairwell"):
            scene = work / f"{location}.scene.yaml"
            shutil.copy(DATA / scene.name, scene)
            process, address = serve(work, scene)
            for name, (where, theme, look) in VIEWS.items():
                if where == location:
                    view(browser, address, name, theme, look)
            process.terminate()
            process.wait(timeout=10)
        pocket(browser, work)
        browser.close()


def serve(folder: Path, scene: Path | None) -> tuple[subprocess.Popen[str], str]:
    """The page of a scene, or the offer to begin one, and its address."""
    program = shutil.which("falloff", path=str(Path(sys.executable).parent))
    assert program
    process = subprocess.Popen(
        [program, "open", "--no-browser", *([str(scene)] if scene else [])],
        stdout=subprocess.PIPE,
        text=True,
        cwd=folder,
    )
    assert process.stdout is not None
    line = ""
    while not (found := re.search(r"http://\S+/", line)):
        line = process.stdout.readline()
    return process, found[0]


def view(browser: Browser, address: str, name: str, theme: str, look: dict[str, object]) -> None:
    """One view at every size."""
    for size, (width, height) in SIZES.items():
        page = browser.new_page(viewport={"width": width, "height": height})
        page.goto(address)
        whole = "() => globalThis.falloff?.light?.of(falloff.look.state.setup)?.ground"
        wait(page, f"{whole} != null")
        page.evaluate("(look) => falloff.look.set(look)", {"theme": theme, **look})
        if look.get("beside"):
            wait(page, "() => falloff.tree.setup_order.every((s) => falloff.light.of(s)?.ground)")
        page.wait_for_timeout(1500)
        keep(page, f"{name}-{size}")
        page.close()


def begin_page(browser: Browser, folder: Path) -> None:
    """The page without a scene."""
    process, address = serve(folder, None)
    for size, (width, height) in SIZES.items():
        page = browser.new_page(viewport={"width": width, "height": height})
        page.goto(address)
        page.wait_for_timeout(600)
        keep(page, f"begin-{size}")
        page.close()
    process.terminate()
    process.wait(timeout=10)


def pocket(browser: Browser, folder: Path) -> None:
    """The pocket copy, each of its parts."""
    program = shutil.which("falloff", path=str(Path(sys.executable).parent))
    assert program
    copy = folder / "workshop.pocket.html"
    scene = folder / "workshop.scene.yaml"
    subprocess.run([program, "pocket", str(scene), "--out", str(copy)], check=True, cwd=folder)
    page = browser.new_page(viewport={"width": 390, "height": 844}, device_scale_factor=2)
    page.goto(copy.as_uri())
    page.wait_for_timeout(800)
    for part in ("Lights", "Camera", "Readings", "Metered", "Units"):
        page.get_by_text(part, exact=True).last.click()
        page.wait_for_timeout(400)
        keep(page, f"pocket-{part.lower()}")
    page.close()


def wait(page: Page, condition: str) -> None:
    """Until something holds, two minutes at most."""
    for _ in range(1200):
        if page.evaluate(condition):
            return
        page.wait_for_timeout(100)
    raise SystemExit(f"this did not come to hold: {condition}")


def keep(page: Page, name: str) -> None:
    """A picture of the page as it is."""
    page.screenshot(path=OUT / f"{name}.jpg", type="jpeg", quality=82)
    print(f"docs/pictures/page/{name}.jpg")


if __name__ == "__main__":
    main()
