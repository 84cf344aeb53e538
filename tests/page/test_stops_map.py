"""The stops map's field and lines in a real Chromium, against pencil and camera/stops_field.py."""

from __future__ import annotations

import base64
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from playwright.sync_api import Browser, Page

import falloff
from falloff.camera.stops_field import smooth_stops
from falloff.spectrum import luminance
from falloff.types import Float32Array

MODULE = Path(falloff.__file__).parent / "page" / "static" / "stops-field.js"
WEIGHTS = [0.2627, 0.6780, 0.0593]  # source: ITU-R BT.2020-2, table 3
LOWEST = -9.0


@pytest.fixture(scope="module")
def window(browser: Browser) -> Iterator[Page]:
    """A page in a real Chromium with the module in it."""
    page = browser.new_page()
    page.evaluate(
        """async (source) => {
          const url = URL.createObjectURL(new Blob([source], { type: "text/javascript" }));
          window.field = await import(url);
        }""",
        MODULE.read_text("utf-8"),
    )
    yield page
    page.close()


def asked(window: Page, picture: Float32Array) -> Any:
    """Field and lines of a picture with middle grey at 1 cd/m²."""
    height, width = picture.shape[:2]
    return window.evaluate(
        """([text, how]) => {
          const bytes = Uint8Array.from(atob(text), (one) => one.charCodeAt(0));
          const field = window.field.fieldOf(new Float32Array(bytes.buffer), how);
          const lines = window.field.levelLines(field, -6, 6);
          const plain = ({ level, x, y, closed }) => ({ level, x: [...x], y: [...y], closed });
          return { ...field, raw: null, stops: [...field.stops], lines: lines.map(plain) };
        }""",
        [
            base64.b64encode(np.ascontiguousarray(picture, "<f4").tobytes()).decode(),
            {
                "width": width,
                "height": height,
                "weights": WEIGHTS,
                "greyNit": 1.0,
                "lowest": LOWEST,
            },
        ],
    )


def grey(stops: np.ndarray) -> Float32Array:
    return np.repeat(np.exp2(stops)[..., np.newaxis], 3, axis=2).astype(np.float32)


def test_a_ramp_has_its_lines_where_its_stops_are(window: Page) -> None:
    """pencil: stops = (x - 100)/40, so that level n stands at x = 100 + 40·n, upright."""
    column = np.arange(300, dtype=np.float64)
    found = asked(window, grey(np.broadcast_to((column - 100.0) / 40.0, (60, 300))))
    assert (found["width"], found["height"], found["cell"]) == (300, 60, 1)
    assert sorted(line["level"] for line in found["lines"]) == [-2, -1, 0, 1, 2, 3, 4]
    for line in found["lines"]:
        # A cell's place is that of its middle; the border's smoothing bends the outermost.
        assert_allclose(line["x"], 100.0 + 40.0 * line["level"], atol=0.15)
        assert max(line["y"]) - min(line["y"]) == 59
        assert not line["closed"]


def test_a_hill_has_closed_lines(window: Page) -> None:
    """pencil: stops fall by one in 30 pixels from 2.5 in the middle: level n has 30·(2.5 - n)."""
    row, column = np.mgrid[:240, :240] - 119.5
    found = asked(window, grey(2.5 - np.hypot(row, column) / 30.0))
    closed = [line for line in found["lines"] if line["closed"]]
    assert {line["level"] for line in closed} == {-1, 0, 1, 2}
    for line in closed:
        radius = np.hypot(np.array(line["x"]) - 119.5, np.array(line["y"]) - 119.5)
        assert_allclose(radius, 30.0 * (2.5 - line["level"]), atol=1.5)


def test_an_edge_has_no_lines(window: Page) -> None:
    """pencil: from -2.5 to 2.5 within a pixel all five lines run together: the picture shows it."""
    stops = np.where(np.arange(200) < 100, -2.5, 2.5)
    assert asked(window, grey(np.broadcast_to(stops, (80, 200))))["lines"] == []


def test_the_field_is_that_of_python(window: Page) -> None:
    """pencil: the same filters; grain, hot pixels, an edge and darkness, cells of one pixel."""
    rng = np.random.default_rng(1)
    row, column = np.mgrid[:120, :320]
    stops = np.sin(row / 30.0) + column / 100.0 - 2.0 * (column > 200)
    stops = stops + 0.15 * rng.standard_normal(stops.shape)
    stops[rng.random(stops.shape) < 0.002] += 5.0
    picture = grey(stops)
    picture[:, :8] = 0.0
    light = luminance(picture.astype(np.float64))
    with np.errstate(divide="ignore"):
        wanted = smooth_stops(np.log2(light), lowest=LOWEST)
    found = np.array(asked(window, picture)["stops"]).reshape(wanted.shape)
    # The border differs: there the window keeps its own pixels where Python takes a median.
    inside = np.abs(found - wanted)[2:-2, 2:-2]
    assert inside.max() < 0.05
    assert inside.mean() < 0.003


def test_cells_of_a_large_picture(window: Page) -> None:
    """pencil: 640 across is 320 cells of two pixels, each the mean of its four in light."""
    picture = grey(np.zeros((90, 640)))
    picture[:, 1::2] *= 3.0
    found = asked(window, picture)
    assert (found["width"], found["height"], found["cell"]) == (320, 45, 2)
    assert_allclose(found["stops"], math.log2(2.0), atol=1e-3)
